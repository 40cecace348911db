"""Bands that are no edge: a value that doubled, fell by a part, or lacks another beside it."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant, ago
from tankwalk.ledger.readings import Seen, ValueSeen
from tankwalk.plan.model import Band, Item, Plan
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

ROUNDS_BACK = 2
"""A fall is told from the last look and from the one before it."""
FALL_HOURS = 36.0
"""These are at most so old. Common practice, no source."""
BESIDE_DAYS = 8
"""What is held beside a value was read within so many days: chloride is asked once a week. Common
practice, no source."""


class Beyond(NamedTuple):
    """A limit that a value is beyond though no edge of its band says so."""

    rule: Rule
    flag: Flag
    words: str


def beyond(
    site: Site,
    item: Item,
    value: float,
    place: str,
    band: Band | None,
    now: Instant,
    before: int,
    since: int = -1,
) -> Beyond | None:
    """The worst of what a value is beyond, by looks entered before entry `before`; else None.

    Only looks from after a UTC second count, `since`: the plan wanted something else until then.
    """
    if band is None:
        return None
    limits = band.limits
    looks: Sequence[ValueSeen] = ()
    if limits.doubled_within is not None or _falls(band):
        every = site.reader.readings.looks(place, item.code, item.unit, LOOKS_BACK, before, now.utc)
        looks = [look for look in every if look.at > since]
    found = (
        doubled(item, value, band, looks, now),
        fell(item, value, band, looks, now),
        _ratio(site, item, value, place, band, now),
    )
    return max((one for one in found if one is not None), key=lambda one: one.flag, default=None)


LOOKS_BACK = 40
"""Looks back over which a doubling is looked for."""


def _falls(band: Band) -> bool:
    limits = band.limits
    return limits.watch_fall_percent is not None or limits.act_fall_percent is not None


def doubled(
    item: Item, value: float, band: Band, looks: Sequence[ValueSeen], now: Instant
) -> Beyond | None:
    """Whether a value is twice the lowest look of the hours that its band names."""
    within = band.limits.doubled_within
    if within is None:
        return None
    near = [look for look in looks if 0 < look.value and now.utc - look.at <= 3600 * within]
    lowest = min(near, key=lambda look: look.value, default=None)
    if lowest is None or round(value - 2 * lowest.value, 9) < 0:
        return None
    was, hours = item.shown(lowest.value, bare=True), (now.utc - lowest.at) / 3600
    return Beyond(Rule.DOUBLED, Flag.WATCH, f"doubled: {was} {ago(hours)} ago")


def fell(
    item: Item, value: float, band: Band, looks: Sequence[ValueSeen], now: Instant
) -> Beyond | None:
    """Whether a value fell by more than its band allows, over a round or over two."""
    if not _falls(band):
        return None
    near = [
        look
        for look in looks[-ROUNDS_BACK:]
        if look.value > 0 and now.utc - look.at <= 3600 * FALL_HOURS
    ]
    highest = max(near, key=lambda look: look.value, default=None)
    if highest is None:
        return None
    part = round(100 * (1 - value / highest.value), 9)
    act, watch = band.limits.act_fall_percent, band.limits.watch_fall_percent
    if act is not None and part > act:
        flag = Flag.ACT
    elif watch is not None and part > watch:
        flag = Flag.WATCH
    else:
        return None
    hours = (now.utc - highest.at) / 3600
    was = item.shown(highest.value, bare=True)
    return Beyond(Rule.FELL_BY, flag, f"{part:.0f} % less than {was} {ago(hours)} ago")


def _ratio(
    site: Site, item: Item, value: float, place: str, band: Band, now: Instant
) -> Beyond | None:
    """Whether another item is too little beside a value."""
    code = band.limits.ratio_of
    other = None if code is None else site.plan.find_item(code)
    if other is None or value <= 0:
        return None
    beside = _beside(site, other, place, now)
    if beside is None or beside.value is None:
        return None
    return ratio(item, value, band, other, beside, now)


def ratio(
    item: Item, value: float, band: Band, other: Item, beside: Seen, now: Instant
) -> Beyond | None:
    """The same, of a reading of the other item that is known."""
    if beside.value is None or value <= 0:
        return None
    times = round(beside.value / value, 9)
    act, watch = band.limits.act_ratio_below, band.limits.watch_ratio_below
    if act is not None and times < act:
        flag, limit = Flag.ACT, act
    elif watch is not None and times < watch:
        flag, limit = Flag.WATCH, watch
    else:
        return None
    words = (
        f"{other.label} {other.shown(beside.value)} ({beside.at.told(now)}) is {times:.3g} times "
        f"it, under {limit:g}"
    )
    return Beyond(Rule.RATIO, flag, words)


def _beside(site: Site, other: Item, place: str, now: Instant) -> Seen | None:
    """The newest reading of another item at a place, else of its loop, else of the site."""
    for where in _around(site.plan, place):
        seen = site.reader.readings.newest(where, other.code, other.unit)
        if seen is not None and 0 <= now.hours_since(seen.at) <= 24 * BESIDE_DAYS:
            return seen
    return None


def _around(plan: Plan, place: str) -> tuple[str, ...]:
    tank = plan.find_tank(place)
    return (place, SITE) if tank is None else (place, tank.loop, SITE)
