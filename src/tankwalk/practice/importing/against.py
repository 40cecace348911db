"""A logger held against the looks: one that disagrees by more than both allow is said once."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.ledger.imports import SeriesSeen
from tankwalk.plan.loggers import find_logger
from tankwalk.plan.model import Instrument, Item, Plan
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.standing import found
from tankwalk.practice.judging.standing.found import LOGGER, Found, Key
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meters.suspects import mark_of
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

DAYS = 14
"""Looks of so many days are held against a logger: an older difference calls for nobody now."""

BESIDE_S = 900
"""A value of a logger is beside a look when it lies within so many seconds of it."""

FEWEST = 3
"""So many looks have to disagree: one may be a slip."""

NEWEST = 6
"""So many of the newest looks are held against it; all have to lie on the same side."""

USUAL = {"temp": 0.5, "do": 0.4, "ph": 0.2, "salinity": 0.5}
"""What a logger may be off where the plan does not say, in the item's usual unit, by its code.

Common practice, no source.
"""

DO = "Hold the logger beside a checked meter in one bucket."


class Beside(NamedTuple):
    """A look with what a logger wrote nearest to it; both in the item's unit."""

    at: int
    look: float
    logged: float
    meter: str | None


class Disagrees(NamedTuple):
    """A logger against the looks at one place: by how much, the middle of `looks` differences.

    `allowed` is what both may be off together, in the item's unit.
    """

    source: str
    place: str
    item: Item
    by: float
    looks: int
    allowed: float


def say(site: Site, who: str, n: int) -> None:
    """Say what an import shows of its logger, or that nothing speaks against it any more."""
    of: dict[tuple[str, str], list[SeriesSeen]] = {}
    for one in site.reader.imports.series(n):
        of.setdefault((one.source, one.item), []).append(one)
    for (source, code), those in of.items():
        item = site.plan.find_item(code)
        if item is None:
            continue
        places = list(dict.fromkeys(one.place for one in those))
        held = [disagrees(site, source, place, item) for place in places]
        off = [bad for bad in held if bad is not None]
        key = Key(LOGGER, source, code)
        if off:
            found.keep_found(site, who, _told(key, off))
        else:
            found.end(site, who, key)


def disagrees(site: Site, source: str, place: str, item: Item) -> Disagrees | None:
    """Whether a logger and the newest looks at a place disagree; None where they do not."""
    allowed = allowance(site.plan, source, item)
    if allowed is None:
        return None
    pairs = beside(site, source, place, item)[-NEWEST:]
    differences = sorted(one.logged - one.look for one in pairs)
    if len(pairs) < FEWEST:
        return None
    meter = next((i for i in site.plan.instruments if i.code == pairs[-1].meter), None)
    both = allowed + _meter_allows(meter, item, pairs[-1].look)
    if not (differences[0] > both or differences[-1] < -both):
        return None
    middle = differences[len(differences) // 2]
    return Disagrees(source, place, item, middle, len(pairs), both)


def beside(site: Site, source: str, place: str, item: Item) -> list[Beside]:
    """Looks of the last days that a logger wrote beside, oldest first; none of a suspect meter."""
    now = site.now().utc
    since = now - DAYS * 86400
    reader = site.reader
    if not reader.imports.series_at(place, item.code, item.unit, since):
        return []
    marks = reader.meters.marks(since)
    pairs = []
    for one in reader.readings.past(place, item.code, item.unit, since, now):
        if one.value is None or one.qualifier is not None:
            continue
        if mark_of(marks, one.instrument, item.code, one.at.utc) is not None:
            continue
        near = reader.imports.nearest(place, item.code, item.unit, one.at.utc, BESIDE_S, source)
        if near is not None and not near.below:
            pairs.append(Beside(one.at.utc, one.value, near.value, one.instrument))
    return pairs


def allowance(plan: Plan, source: str, item: Item) -> float | None:
    """What a logger may be off, in the item's unit; None where nobody says."""
    logger = find_logger(plan, source)
    if logger is not None and logger.within is not None:
        return logger.within
    return USUAL.get(item.code)


def _meter_allows(meter: Instrument | None, item: Item, value: float) -> float:
    """What the meter of a look may be off, in the item's unit: as its check allows."""
    if meter is None or meter.within is None or meter.checks != item.code:
        return 10.0**-item.decimals
    if meter.check_unit == "%":
        return abs(value) * meter.within / 100
    return meter.within if meter.check_unit in ("", item.unit) else 10.0**-item.decimals


def _told(key: Key, off: Sequence[Disagrees]) -> Found:
    """The flag of a logger, worst place first."""
    worst = max(off, key=lambda one: abs(one.by))
    item, way = worst.item, "above" if worst.by > 0 else "below"
    by, allowed = item.shown(abs(worst.by), bare=True), item.shown(worst.allowed, bare=True)
    sentence = (
        f"{item.label} by {worst.source} {by} {item.unit}".rstrip()
        + f" {way} the last {worst.looks} looks at {worst.place}, {allowed} allowed"
    )
    if len(off) > 1:
        sentence += f"; {len(off)} places"
    places = tuple(one.place for one in off)
    return Found(key, Rule.LOGGER, Flag.CHECK, sentence, DO, places, item.code)
