"""Every tank at a glance: its worst flag, its last check, and the past of the item that matters."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.plan.bands import band_for, open_side
from tankwalk.plan.model import Band, Item, Level, Limits, Tank
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.due import all_due, attendance
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.standing.life import looks_of
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

PAST = 8
"""So many readings of a tank are drawn."""

GAUGES = ("do", "temp", "ph")
"""What is read of every tank and kills first when it is wrong: the first of these in the plan."""


class Tile(NamedTuple):
    """One tank at a glance.

    `value` is its newest reading of the item that matters, in words; `past` are the newest ones by
    their place in the band of today: 0 at its low limit, 1 at its high, None where it has none.
    `late` is whether a check that the plan wants was missed since it was looked at.
    """

    tank: Tank
    dph: int | None
    flag: Flag
    items: tuple[str, ...]
    looked: Instant | None
    value: str = ""
    past: tuple[float | None, ...] = ()
    late: bool = False


class Gauge(NamedTuple):
    """The item that every tile shows, and its band where most tanks have the same."""

    item: Item
    band: Band | None


def place_in(limits: Limits | None, value: float) -> float | None:
    """Where a value lies in its band: 0 at the low limit, 1 at the high, outside beyond these.

    With one limit only the other end is where the band is drawn to, and what is inside stays so.
    """
    if limits is None:
        return None
    low, high = limits.watch_below, limits.watch_above
    if low is not None and high is not None and high > low:
        return (value - low) / (high - low)
    if low is not None:
        inside = (value - low) / open_side(low, limits.act_below)
        return -1.0 if value < low else min(1.0, inside)
    if high is not None:
        inside = 1 - (high - value) / open_side(high, limits.act_above)
        return 2.0 if value > high else max(0.0, inside)
    return None


def tiles(
    site: Site, newest: dict[tuple[str, str], Seen], wrong: Sequence[Standing], now: Instant
) -> tuple[tuple[Tile, ...], Gauge | None]:
    """Every tank in walking order, and what their readings are of."""
    plan = site.plan
    looked = {look.place: look.last for look in all_due.looks(plan, newest)}
    item = _gauge(plan.items)
    past = {} if item is None else site.reader.readings.lately(item.code, item.unit, PAST)
    wanted = _wanted(site, now)
    found, bands = [], []
    for tank in walking_order(plan, now.day):
        here = [one for one in wrong if tank.code in one.places]
        worst = max((one.flag for one in here), default=Flag.OK)
        last = looked.get(tank.code)
        late = last is not None and wanted is not None and last.utc < wanted
        words = tuple(one.sentence for one in here)
        tile = Tile(tank, plan.age(tank, now.day), worst, words, last, late=late)
        if item is not None:
            band = band_for(plan, item, tank=tank, loop=None, on=now.day)
            bands.append(band)
            seen = [look.reading for look in looks_of(item, past.get(tank.code, ()))][-PAST:]
            limits = None if band is None else band.limits
            tile = tile._replace(
                value=item.shown(seen[-1].value, bare=True) if seen else "",
                past=tuple(place_in(limits, one.value) for one in seen),
            )
        found.append(tile)
    return tuple(found), None if item is None else Gauge(item, _shared(bands))


def _gauge(items: Sequence[Item]) -> Item | None:
    of = {one.code: one for one in items if one.level is Level.TANK and not one.derived}
    return next((of[code] for code in GAUGES if code in of), None)


def _shared(bands: Sequence[Band | None]) -> Band | None:
    """The band that all tanks have; None where they differ."""
    limits = {None if band is None else band.limits for band in bands}
    return bands[0] if len(limits) == 1 else None


def _wanted(site: Site, now: Instant) -> int | None:
    """Until when (UTC second) a tank should have been looked at: the last check that is overdue."""
    due = now.utc - int(all_due.LATE_HOURS * 3600)
    planned = attendance.looks(site.plan, now.day - timedelta(days=7), now.day)
    past = [one.utc for one in planned if one.utc <= due]
    return past[-1] - int(all_due.EARLY_HOURS * 3600) if past else None
