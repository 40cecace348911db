"""What a handover says of feed: what is on hand, the next meal, what was not given as planned."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.feeding import MealSeen
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import RESPONSE, Plan
from tankwalk.practice.doing import deviations
from tankwalk.practice.doing.deviations import DeviationKind
from tankwalk.practice.feeding import feed_off, meals
from tankwalk.practice.feeding.feed_off import FeedOff
from tankwalk.practice.handover.lines import (
    EatenLine,
    FeedGivenLine,
    FeedOffLine,
    NextMealLine,
    NotGivenLine,
    OnHandLine,
    PageLine,
    ShortLine,
    StockLine,
)
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

NOT_GIVEN = (DeviationKind.MISSED_FEED, DeviationKind.LATE_FEED, DeviationKind.SHORT_FEED)
"""Drafts that say of a meal that it was not given as planned."""

EATEN_HOURS = 24.0
"""A response that is older says nothing of how they eat now."""

GAVE_DAYS = 8
"""So far back one looks for who gave the same meal: a week and a day. Common practice."""


class FeedLines(NamedTuple):
    """The lines of each section that are about feed."""

    stock: tuple[PageLine, ...] = ()
    tasks: tuple[PageLine, ...] = ()
    altered: tuple[PageLine, ...] = ()
    expect: tuple[PageLine, ...] = ()


def feed_lines(
    site: Site, now: Instant, since: Instant, newest: Mapping[tuple[str, str], Seen]
) -> FeedLines:
    """All that a page says of feed; nothing where the plan has no meals."""
    plan = site.plan
    if not plan.meals:
        return FeedLines()
    tz = zone(plan.zone)
    back = now.day - timedelta(days=GAVE_DAYS)
    by_place = meals.read(site, at(back, 0, 0, tz).utc, now)
    seen = meals.in_order(by_place)
    late = deviations.drafts(site, now, since)
    coming = meals.next_open(plan, by_place, now)
    tasks: list[PageLine] = [_given(plan, by_place, since, now)]
    tasks += [NotGivenLine(one) for one in late if one.kind in NOT_GIVEN]
    altered: list[PageLine] = []
    if coming is not None:
        done = feed_off.done_lately(site, now)
        off: dict[FeedOff, list[str]] = {}
        fed = 0
        for tank in plan.tanks:
            if not meals.is_fed(plan, tank, coming.day):
                continue
            why = feed_off.off(plan, tank, coming, by_place, done)
            fed += why is None
            if why is not None:
                off.setdefault(why, []).append(tank.code)
        altered = [FeedOffLine(why, tuple(tanks)) for why, tanks in off.items()]
        tasks.append(NextMealLine(coming, fed, _gave_last(seen, coming)))
    there, short = _live(site, now)
    return FeedLines(
        tuple(_eaten(plan, now, newest)), tuple([*tasks, *there]), tuple(altered), tuple(short)
    )


def _given(
    plan: Plan, seen: Mapping[str, list[MealSeen]], since: Instant, now: Instant
) -> FeedGivenLine:
    """How many planned meals of the shift were given to any tank, of how many."""
    planned = [
        one
        for one in meals.times(plan, since.day, now.day)
        if since.utc < one.utc <= now.utc
        and any(meals.is_fed(plan, tank, one.day) for tank in plan.tanks)
    ]
    fed = [tank for tank in plan.tanks if tank.lot is not None]
    missing = meals.not_served_of(plan, fed, planned, seen).values() if planned else ()
    given = sum(not all(one in these for these in missing) for one in planned)
    return FeedGivenLine(given, len(planned))


def _gave_last(seen: list[MealSeen], coming: Instant) -> str:
    """Who gave the meal of this hour last; "" where nobody did of late."""
    found = [
        one
        for one in seen
        if one.meal_at is not None and one.event is None and (coming.utc - one.meal_at) % 86400 == 0
    ]
    return found[-1].who if found else ""


def _eaten(plan: Plan, now: Instant, newest: Mapping[tuple[str, str], Seen]) -> list[PageLine]:
    """Tanks whose last response was not the best and raised no flag: flags stand by themselves."""
    item = plan.find_item(RESPONSE)
    if item is None or not item.kind.by_words:
        return []
    words: dict[int, list[str]] = {}
    for tank in plan.tanks:
        one = newest.get((tank.code, RESPONSE))
        if one is None or not one.value or now.hours_since(one.at) > EATEN_HOURS:
            continue
        if one.flag < Flag.WATCH and int(one.value) < len(item.choices):
            words.setdefault(int(one.value), []).append(tank.code)
    if not words:
        return []
    worst_first = sorted(words, reverse=True)
    return [EatenLine(item.label, tuple((item.choices[n], tuple(words[n])) for n in worst_first))]


def _live(site: Site, now: Instant) -> tuple[list[PageLine], list[PageLine]]:
    """What feed there is and what hatches; and for which meals it will not be enough."""
    if not site.plan.feeds:
        return [], []
    from tankwalk.practice.feeding.tomorrow import tomorrow
    from tankwalk.practice.livefeed.on_hand import on_hand

    found = tomorrow(site)
    lines: list[PageLine] = []
    if found.store or found.standing or found.dry:
        lines.append(OnHandLine(found.store, found.standing, found.dry, found.chill))
    stock = [one for one in on_hand(site, now, found.use) if one.grams is not None]
    if stock:
        lines.append(StockLine(tuple(sorted(stock, key=lambda one: not one.order_now(now.day)))))
    return lines, [ShortLine(one, found.remedies) for one in found.short[:1]]
