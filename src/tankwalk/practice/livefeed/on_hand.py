"""What is in stock, cysts and dry feed: how long it lasts, and by when more is ordered."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from math import floor

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import BatchEvent, BatchKind, BatchSeen, MealSeen
from tankwalk.plan.feed_model import FeedKind
from tankwalk.plan.model import Plan
from tankwalk.practice.livefeed.batches import by_name
from tankwalk.practice.livefeed.cones import hatches as hatches_of
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import order_of
from tankwalk.rows import NamedTuple
from tankwalk.science.feeding import lasts

USED_DAYS = 40
"""What was used is taken off the last weighing so far back; older than that it is weighed anew."""

OWN_LAST = 5
"""The hatch of a lot is held against so many of its own before."""

POOR_SHARE = 0.7
"""A hatch below this part of the lot's own last five is told: a bad tin, cold, or pH.

Common practice, no source.
"""

WEIGH_DAYS = 14
"""What is left is weighed so often, as scoops add up. Common practice, no source."""


class Tin(NamedTuple):
    """One tin or bag: `grams` are what should be left, None where it was never weighed."""

    name: str
    of: str
    kind: BatchKind
    received: Instant
    opened: Instant | None
    grams: float | None
    weighed: Instant
    events: tuple[BatchSeen, ...]
    tested: float | None = None
    """What its test hatch gave in percent."""

    def to_weigh(self, now: Instant) -> bool:
        """Whether what is left of it is reckoned from a weighing that is long ago."""
        return self.opened is not None and now.hours_since(self.weighed) > 24 * WEIGH_DAYS


class Hatched(NamedTuple):
    """How a lot hatched last, against the mean of its own before, in percent."""

    batch: str
    percent: float
    usual: float
    many: int
    at: Instant

    @property
    def poor(self) -> bool:
        """Whether it is below 70 % of its own."""
        return self.percent < POOR_SHARE * self.usual


class Coming(NamedTuple):
    """More that is ordered: the entry that opened its follow-up, and the day it should come."""

    opened: int
    on: date | None
    who: str


class OnHand(NamedTuple):
    """A feed or a lot of cysts: `grams` there are of it, `use` in g a day by the plan.

    `days` it lasts at that use; `order_by` is None where the plan says nothing of ordering.
    """

    code: str
    label: str
    kind: BatchKind
    tins: tuple[Tin, ...]
    grams: float | None
    use: float | None
    days: float | None
    order_by: date | None
    hatched: Hatched | None = None
    coming: Coming | None = None
    """More of it that is ordered."""

    def order_now(self, today: date) -> bool:
        """Whether it is time to order more, and nobody has."""
        return self.coming is None and self.order_by is not None and self.order_by <= today


def on_hand(site: Site, now: Instant, use: Mapping[str, float]) -> tuple[OnHand, ...]:
    """Everything in stock by what it is of; `use` are g a day by code, as the plan needs them.

    A feed of the plan that nothing was received of is among them, with nothing known of it.
    """
    plan, feeding = site.plan, site.reader.feeding
    stock = [one for one in feeding.stock_batches(now.utc) if one.at.utc <= now.utc]
    since = now.utc - USED_DAYS * 86400
    cones = [one for one in feeding.batches(since) if one.at.utc <= now.utc]
    found: dict[str, list[Tin]] = {}
    for events in by_name(stock).values():
        tin = _tin(events)
        if not any(one.event == BatchEvent.EMPTY for one in events):
            found.setdefault(tin.of, []).append(tin)
    bags = [
        tin.weighed.utc
        for tins in found.values()
        for tin in tins
        if tin.kind is BatchKind.FEED and tin.opened is not None
    ]
    meals: list[MealSeen] = []
    if bags:  # meals are many: no further back than an open bag was weighed
        given = feeding.meals(max(since, min(bags)))
        meals = [one for one in given if one.at.utc <= now.utc]
    coming = _coming(site, now)
    every = (
        _of(
            plan, code, label, kind, found.get(code, []), _used(code, cones, meals), use, cones, now
        )
        for code, label, kind in _known(plan, found)
    )
    return tuple(one._replace(coming=coming.get(order_of(one.code))) for one in every)


def _coming(site: Site, now: Instant) -> dict[str, Coming]:
    """The orders that stand, by what they are about; of two of one thing the newer."""
    found = {}
    for one in site.reader.follow_ups.open():
        if one.about is not None:
            day = None if one.due_at is None else Instant(one.due_at, now.offset).day
            found[one.about] = Coming(one.opened, day, one.who)
    return found


def _known(plan: Plan, found: Mapping[str, Sequence[Tin]]) -> Iterable[tuple[str, str, BatchKind]]:
    """Every lot and feed of the plan, then what is there and not in it."""
    known: dict[str, tuple[str, BatchKind]] = {
        one.code: (one.label, BatchKind.CYSTS) for one in plan.cysts
    }
    for feed in plan.feeds:
        if feed.kind is not FeedKind.LIVE:
            known.setdefault(feed.code, (feed.label, BatchKind.FEED))
    for code, tins in found.items():
        known.setdefault(code, ("", tins[0].kind))
    return ((code, label, kind) for code, (label, kind) in known.items())


def _tin(events: Sequence[BatchSeen]) -> Tin:
    """A tin from what happened to it: `of` is the lot or feed that was said, else its own name."""
    first = events[0]
    opened = next((e.at for e in events if e.event == BatchEvent.OPENED), None)
    weighed = next((e for e in reversed(events) if e.grams is not None), first)
    tested = next(
        (e.hatch_percent for e in reversed(events) if e.event == BatchEvent.TEST_HATCH), None
    )
    kind = BatchKind(first.kind) if first.kind else BatchKind.FEED
    return Tin(
        first.batch, first.source or first.lot or first.batch, kind, first.at, opened,
        weighed.grams, weighed.at, tuple(events), tested,
    )  # fmt: skip


class _Use(NamedTuple):
    """Grams that were taken, when, and of which tin where that was said."""

    grams: float
    at: Instant
    tin: str | None


def _used(code: str, cones: Iterable[BatchSeen], meals: Iterable[MealSeen]) -> list[_Use]:
    """What was taken of a feed or a lot: cysts set, dry feed given."""
    found = [
        _Use(one.grams, one.at, one.source)
        for one in cones
        if one.event in (BatchEvent.SET, BatchEvent.TEST_HATCH)
        and one.grams
        and code in (one.lot, one.source)
    ]
    found += [
        _Use(meal.amount, meal.at, None)
        for meal in meals
        if meal.feed == code and meal.event is None and meal.unit == "g"
    ]
    return found


def _of(
    plan: Plan, code: str, label: str, kind: BatchKind, tins: Sequence[Tin],
    used: Sequence[_Use], use: Mapping[str, float], cones: Sequence[BatchSeen], now: Instant,
) -> OnHand:  # fmt: skip
    first_open = min(
        (t for t in tins if t.opened is not None),
        key=lambda t: t.opened or t.received,
        default=None,
    )
    kept = []
    for tin in sorted(tins, key=lambda t: (t.opened is None, t.received.utc, t.name)):
        taken = sum(
            one.grams
            for one in used
            if one.at.utc > tin.weighed.utc
            and (one.tin == tin.name or (one.tin in (None, code) and tin is first_open))
        )
        grams = None if tin.grams is None else max(0.0, tin.grams - taken)
        kept.append(tin._replace(grams=grams))
    known = [tin.grams for tin in kept if tin.grams is not None]
    grams = sum(known) if known else None
    a_day = use.get(code)
    terms = next((one for one in plan.stock if one.of == code), None)
    lead, keep = (0.0, 0.0) if terms is None else (terms.lead_days, terms.keep_days)
    left = None if grams is None or a_day is None else lasts(grams, (a_day,), lead, keep)
    order_in = None if left is None or terms is None else left.order
    return OnHand(
        code, label, kind, tuple(kept), grams, a_day, None if left is None else left.days,
        _order_by(plan, code, grams, order_in, now), _hatched(code, cones),
    )  # fmt: skip


def _order_by(
    plan: Plan, code: str, grams: float | None, days: float | None, now: Instant
) -> date | None:
    """By when to order, from the days until then by its use, or at once at the plan's grams."""
    lot = next((one for one in plan.cysts if one.code == code), None)
    if lot is not None and lot.order_at is not None and grams is not None and grams <= lot.order_at:
        return now.day
    return None if days is None else now.day + timedelta(days=floor(days))


def _hatched(code: str, cones: Sequence[BatchSeen]) -> Hatched | None:
    """The newest hatch of a lot of cysts, against its own before."""
    lots = {one.batch: one.lot for one in cones if one.event == BatchEvent.SET}
    hatches = [
        (one.batch, one.hatch_percent or 0.0, one.at)
        for one in hatches_of(cones)
        if code in (one.lot, lots.get(one.batch))
    ]
    before = [percent for _, percent, _ in hatches[:-1]][-OWN_LAST:]
    if not before:
        return None
    batch, percent, at = hatches[-1]
    return Hatched(batch, percent, sum(before) / len(before), len(before), at)
