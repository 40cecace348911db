"""Where a value is going before anybody reads it again: its limit against the next planned look.

The slope is that since the last look, less what it usually is at this time of day, and less two of
its standard errors: what two noisy looks alone can feign is no slope.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from math import sqrt

from tankwalk import figures
from tankwalk.clock import Instant, ago
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan.model import Band, Item, Level, Limits, Plan
from tankwalk.practice.judging.baseline import Usual, deadband, resolution
from tankwalk.practice.judging.change import away
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import median

# Seeds, to be tuned by a site. Common practice, no source.

SLOPE_HOURS = (0.08, 6.0)
"""A slope is told from a look between 5 minutes and 6 hours old; older ones tell no rate."""
ERRORS = 2.0
"""Standard errors that a slope is taken to be smaller than it looks."""
STEADY_HOURS = 12.0
"""Looks farther apart than this make no steady slope."""
SAME_TIME_HOURS = 1.5
"""Looks of other days this close to a time of day tell how a value usually goes then."""
DAYS = 5
"""How many days back these are looked for; two of them are enough."""
NEXT_HOURS = 1.0
"""A round that is due sooner is the one in hand."""
FARTHEST_HOURS = 24.0
"""What is read in no round is looked at again within a day."""


class Ahead(NamedTuple):
    """A limit that is passed before the next look: which, and in how many hours.

    `rate` is in the item's unit an hour, below 0 for a fall; `next_look` is when it is read again.
    `steady`: the look before went the same way, so that it is no step that is over by now.
    """

    limit: float
    hours: float
    rate: float
    next_look: Instant
    steady: bool = False


def next_look(plan: Plan, item: Item, place: str, now: Instant) -> Instant:
    """When a round of the plan reads an item at a place again, within a day."""
    tank = plan.find_tank(place)
    wall = now.wall
    times = []
    for day in (wall.date(), wall.date() + timedelta(days=1)):
        if tank is not None and not item.asked_at(plan.age(tank, day)):
            continue
        for one in plan.checklists:
            codes = {Level.TANK: one.tank, Level.LOOP: one.loop, Level.SITE: one.site}[item.level]
            if one.is_on(day) and item.code in (*codes, one.glance):
                at = datetime.combine(day, one.at, wall.tzinfo)
                times.append((at - wall).total_seconds() / 3600)
    soonest = min((h for h in times if h > NEXT_HOURS), default=FARTHEST_HOURS)
    hours = soonest if item.every_days is None else FARTHEST_HOURS
    return Instant(now.utc + round(3600 * min(hours, FARTHEST_HOURS)), now.offset)


def ahead(
    item: Item, value: float, band: Band | None, usual: Usual, now: Instant, until: Instant
) -> Ahead | None:
    """The limit to act on that a value passes next, where that is before it is read again."""
    last = usual.looks[-1] if usual.looks else None
    if band is None or last is None or abs(value - last.value) <= deadband(item):
        return None
    hours = (now.utc - last.at) / 3600
    if not SLOPE_HOURS[0] <= hours <= SLOPE_HOURS[1] or not away(value, last.value, band, usual):
        return None
    moved = value - last.value - usually(usual.looks, last.at, now.utc)
    scatter = max(usual.scatter, resolution(item)) if usual.recent is not None else deadband(item)
    slowest = (abs(moved) - ERRORS * sqrt(2) * scatter) / hours
    if slowest <= 0 or (moved > 0) != (value > last.value):
        return None
    for limit in _limits(band.limits, up=moved > 0):
        way = limit - value if moved > 0 else value - limit
        if way > 0 and way / slowest <= until.hours_since(now):
            rate = moved / hours
            steady = _steady(usual, scatter, up=moved > 0)
            return Ahead(limit, way / abs(rate), rate, until, steady)
    return None


def _steady(usual: Usual, scatter: float, *, up: bool) -> bool:
    """Whether the last look had gone the same way from the one before it, beyond its error."""
    if len(usual.looks) < 2:
        return False
    before, last = usual.looks[-2:]
    went = last.value - before.value
    near = last.at - before.at <= 3600 * STEADY_HOURS
    return near and (went > 0) == up and abs(went) > sqrt(2) * scatter


def _limits(limits: Limits, *, up: bool) -> list[float]:
    """The limits that are acted on, on the way a value goes, the nearest first."""
    act, urgent = (
        (limits.act_above, limits.urgent_above) if up else (limits.act_below, limits.urgent_below)
    )
    return [limit for limit in (act, urgent) if limit is not None]


def usually(looks: tuple[ValueSeen, ...], begun: int, ended: int) -> float:
    """How far a value usually goes between two times of day, by the days before; 0.0 unknown."""
    found = []
    for day in range(1, DAYS + 1):
        ends = [_near(looks, at - 86400 * day) for at in (begun, ended)]
        if ends[0] is not None and ends[1] is not None and ends[0].n != ends[1].n:
            found.append(ends[1].value - ends[0].value)
    return median(found) if len(found) > 1 else 0.0


def _near(looks: tuple[ValueSeen, ...], at: int) -> ValueSeen | None:
    near = min(looks, key=lambda look: abs(look.at - at), default=None)
    return near if near is not None and abs(near.at - at) <= 3600 * SAME_TIME_HOURS else None


def words(item: Item, found: Ahead, now: Instant) -> str:
    """ "falls 0.9 an hour: 6.0 in about 2 h, before it is read next at 15:00"."""
    way = "falls" if found.rate < 0 else "rises"
    limit = figures.show(found.limit, "", item.decimals)
    return (
        f"{way} {abs(found.rate):.{item.decimals}f} an hour: {limit} in about {ago(found.hours)}, "
        f"before it is read next at {found.next_look.told(now)}"
    )
