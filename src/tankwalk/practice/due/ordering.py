"""Stock that is to be ordered: read after the board stands, as it changes by the day."""

from __future__ import annotations

from tankwalk.practice.livefeed.on_hand import on_hand
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import OrderDue, of_days


def orders_due(site: Site) -> list[OrderDue]:
    """What is to be ordered today or was to be before, and nobody has; the latest first.

    Nothing is read where the plan says of nothing when it is ordered.
    """
    plan, now = site.plan, site.now()
    if not plan.stock and all(one.order_at is None for one in plan.cysts):
        return []
    from tankwalk.practice.feeding.tomorrow import tomorrow

    found = []
    with site.ledger.reading():
        stock = on_hand(site, now, tomorrow(site).use)
    for one in stock:
        if one.order_by is None or one.grams is None or not one.order_now(now.day):
            continue
        late = (now.day - one.order_by).days
        found.append(
            OrderDue(one.code, one.grams, one.days, one.order_by, of_days(late), float(late))
        )
    return sorted(found, key=lambda one: -one.days)
