"""The water of each tank in a trial: mean, spread, ends, and the part of looks out of band."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import fsum, log10, sqrt

from tankwalk.clock import Instant, at, zone
from tankwalk.plan.bands import band_for, edges
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import Item, Level, Limits, Plan, Tank
from tankwalk.practice.judging.standing.life import looks_of
from tankwalk.practice.meters.suspects import Marks, mark_of, marks_by_meter
from tankwalk.practice.site import Site
from tankwalk.practice.stock.dead import MORTS
from tankwalk.rows import NamedTuple

LOOKS_A_DAY = 12
"""Readings of one item in one tank that are read for a day, at the most."""

PH = "ph"


def mean(code: str, values: Sequence[float]) -> float:
    """The mean of an item's values; of pH by its hydrogen ions, as pH is their logarithm."""
    if code == PH:
        return -log10(fsum(10**-value for value in values) / len(values))
    return fsum(values) / len(values)


class Look(NamedTuple):
    """One look that counts: when, the value, whether it lay in its band (None without one)."""

    at: Instant
    value: float
    inside: bool | None


class Water(NamedTuple):
    """One item in one tank. `suspect` are the UTC seconds of looks that were left out here."""

    tank: Tank
    item: Item
    looks: tuple[Look, ...]
    suspect: tuple[int, ...]

    @property
    def mean(self) -> float | None:
        """The mean of the looks, see `mean`."""
        return mean(self.item.code, [one.value for one in self.looks]) if self.looks else None

    @property
    def sd(self) -> float | None:
        """The spread of the looks (n - 1), about their plain mean."""
        if len(self.looks) < 2:
            return None
        values = [one.value for one in self.looks]
        mean = fsum(values) / len(values)
        return sqrt(fsum((value - mean) ** 2 for value in values) / (len(values) - 1))

    @property
    def out_percent(self) -> float | None:
        """The part of looks out of band, in percent; None where no look had a band."""
        judged = [one.inside for one in self.looks if one.inside is not None]
        return 100 * judged.count(False) / len(judged) if judged else None


def items(plan: Plan) -> tuple[Item, ...]:
    """What is read of the water of tanks as a number that has a band."""
    banded = {rule.item for rule in plan.bands} | {
        rule.item for profile in plan.profiles for rule in profile.bands
    }
    return tuple(
        one
        for one in plan.items
        if one.level is Level.TANK
        and one.code in banded
        and one.code != MORTS
        and one.code != "density"
        and one.kind.by_band
        and not one.kind.by_words
        and not one.kind.of_animals
    )


def water(site: Site, tanks: Sequence[Tank], first: date, until: Instant) -> tuple[Water, ...]:
    """Every item of every tank from a local day to a moment, by item, then by tank."""
    plan, marks = site.plan, marks_by_meter(site)
    since = at(first, 0, 0, zone(plan.zone)).utc
    limit = LOOKS_A_DAY * ((until.day - first).days + 1)
    measured: list[Item] = []
    derived: list[Item] = []
    for item in items(plan):
        (derived if item.code in BY_CODE else measured).append(item)
    found: dict[tuple[str, str], Water] = {}
    for item in (*measured, *derived):  # what is worked out goes by what it was worked out from
        parts = [code for _, code in BY_CODE[item.code].items] if item in derived else []
        for tank in tanks:
            doubted = [
                second
                for part in parts
                if (one := found.get((part, tank.code))) is not None
                for second in one.suspect
            ]
            one = _of(site, tank, item, since, until, limit, marks, doubted)
            found[item.code, tank.code] = one
    return tuple(found.values())


def _of(
    site: Site,
    tank: Tank,
    item: Item,
    since: int,
    until: Instant,
    limit: int,
    marks: Marks,
    doubted: Sequence[int],
) -> Water:
    seen = site.reader.readings.looks(tank.code, item.code, item.unit, limit, until=until.utc)
    bands: dict[date, Limits | None] = {}
    looks: list[Look] = []
    suspect: list[int] = []
    reach = site.plan.parts_age_hours * 3600
    for reading, _ in looks_of(item, [one for one in seen if one.at >= since]):
        here = marks.get((reading.instrument or "", item.code), ())
        marked = mark_of(here, reading.instrument, item.code, reading.at) is not None
        if marked or any(abs(reading.at - second) <= reach for second in doubted):
            suspect.append(reading.at)
            continue
        when = Instant(reading.at, until.offset)
        day = when.day
        if day not in bands:
            band = band_for(site.plan, item, tank=tank, loop=None, on=day)
            bands[day] = None if band is None else band.limits
        looks.append(Look(when, reading.value, _inside(reading.value, bands[day])))
    return Water(tank, item, tuple(looks), tuple(suspect))


def _inside(value: float, limits: Limits | None) -> bool | None:
    """Whether a value is in the band; the first limit on each side is its edge."""
    if limits is None:
        return None
    low, high = edges(limits)
    if low is None and high is None:
        return None
    return (low is None or value >= low) and (high is None or value <= high)


class Step(NamedTuple):
    """A band from a day on: its edges (None where there is none on that side), and its source.

    A ramp that moves by as much every day is one step: `last`, `low_then` and `high_then` are its
    last day and the edges of that day, as of a band that stays.
    """

    day: date
    low: float | None
    high: float | None
    source: str
    last: date
    low_then: float | None
    high_then: float | None


ROUNDED = 0.011
"""Edges of a ramp are rounded: so far off its line a day may be, in the item's unit."""


class Bands(NamedTuple):
    """The bands in force for an item of a tank, a step for each day on which they change."""

    item: str
    tank: str
    steps: tuple[Step, ...]


def bands_of(plan: Plan, item: Item, tank: Tank, first: date, last: date) -> Bands:
    """The bands from one local day to another."""
    found: list[Step] = []
    for n in range((last - first).days + 1):
        day = date.fromordinal(first.toordinal() + n)
        band = band_for(plan, item, tank=tank, loop=None, on=day)
        low, high = (None, None) if band is None else edges(band.limits)
        step = Step(day, low, high, "" if band is None else band.source, day, low, high)
        if found and (longer := _longer(found[-1], step)) is not None:
            found[-1] = longer
        else:
            found.append(step)
    return Bands(item.code, tank.code, tuple(found))


def _longer(before: Step, one: Step) -> Step | None:
    """A step with one more day, where that goes on as it went so far; else None."""
    days = (before.last - before.day).days
    if before.source != one.source:
        return None
    for first, then, now in (
        (before.low, before.low_then, one.low), (before.high, before.high_then, one.high),
    ):  # fmt: skip
        if first is None or then is None or now is None:
            if (first, then, now) != (None, None, None):
                return None
        # Of the second day alone nobody knows whether it goes on so: it is taken as a beginning.
        elif days and abs(now - then - (then - first) / days) > ROUNDED:
            return None
    return before._replace(last=one.last, low_then=one.low, high_then=one.high)
