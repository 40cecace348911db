"""Samples of fish: what each tank owes, what was found there last, and what of a new one is odd."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from enum import Enum
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.plan.model import Plan, Sampling, Tank
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.ledger.entries import Sample
    from tankwalk.ledger.feeding import SampleSeen
    from tankwalk.practice.samples.growth_table import TankGrowth
    from tankwalk.science.distributions import Interval

Last = Mapping[tuple[str, str], "SampleSeen"]
"""The newest sample of a kind by (place, what)."""

GO_ON_HOURS = 24
"""Fish that are looked at after so long are those of another day. Common practice, no source."""

MOST_FISH = 5000
"""More than anybody looks at of one tank."""


def days_late(one: Sampling, age: int, last: date | None, today: date) -> float:
    """Days a sample is late, below 0 where it is not due yet.

    The first one is due at the first age of the plan's line, or at once.
    """
    if last is not None:
        return (today - last).days - one.every_days
    return float(age - one.dph[0]) if one.dph is not None else 0.0


def newest(site: Site, now: Instant) -> Last:
    """The newest sample of each kind, as far back as the plan's lines reach."""
    longest = max((one.every_days for one in site.plan.samplings), default=0.0)
    since = now.utc - int((2 * longest + 30) * 86400)
    # Oldest first: the newest of a kind is the one that stays.
    return {(one.place, one.what): one for one in site.reader.feeding.samples(since)}


# ---- the page


class Cell(NamedTuple):
    """One kind of sample in one tank: the newest, and days late; None where it is not asked now."""

    sampling: Sampling
    last: SampleSeen | None
    late: float | None

    @property
    def due(self) -> bool:
        return self.late is not None and self.late >= 0


class Row(NamedTuple):
    """A tank with its cells, one for each kind of sample."""

    tank: Tank
    age: int
    cells: tuple[Cell, ...]


class SamplesView(NamedTuple):
    """All samples of all tanks in walking order."""

    now: Instant
    kinds: tuple[str, ...]
    rows: tuple[Row, ...]
    blind: bool = False
    growth: tuple[TankGrowth, ...] = ()

    @property
    def due(self) -> int:
        return sum(cell.due for row in self.rows for cell in row.cells)

    def next_due(self, at: tuple[int, int]) -> tuple[int, int]:
        """The sample to take after one: of the same tank, then of those after it; else none moves.

        Fish that are in the dish are measured, weighed and looked at in one go.
        """
        wide = len(self.kinds)
        begin = at[0] * wide + at[1]
        for step in range(len(self.rows) * wide):
            y, x = divmod((begin + step) % (len(self.rows) * wide), wide)
            if self.rows[y].cells[x].due:
                return y, x
        return at


def view(site: Site, *, blind: bool = False) -> SamplesView:
    """Every sample the plan asks for, tank by tank, with what was found last.

    A `blind` one comes in an order by lot, the same all day, so that who measures need not know
    what comes next.
    """
    plan, now = site.plan, site.now()
    kinds = tuple(dict.fromkeys(one.what for one in plan.samplings))
    last = newest(site, now)
    rows = tuple(
        Row(tank, age, tuple(_cell(plan, kind, tank, age, last, now.day) for kind in kinds))
        for tank in walking_order(plan, now.day)
        if (age := plan.age(tank, now.day)) is not None
    )
    if blind:
        # `random` is loaded where it is wanted: the board asks here too.
        from random import Random

        rows = tuple(Random(now.day.isoformat()).sample(rows, len(rows)))
    return SamplesView(now, kinds, rows if kinds else (), blind)


def _cell(plan: Plan, kind: str, tank: Tank, age: int, last: Last, today: date) -> Cell:
    """A kind of sample in a tank, by the plan's line that holds at its age."""
    lines = [one for one in plan.samplings if one.what == kind]
    seen = last.get((tank.code, kind))
    here = next((one for one in lines if asked_at(one, age)), None)
    if here is None:
        return Cell(lines[0], seen, None)
    return Cell(here, seen, days_late(here, age, None if seen is None else seen.at.day, today))


def asked_at(one: Sampling, age: int) -> bool:
    """Whether a line of the plan holds at an age."""
    return one.dph is None or one.dph[0] <= age <= one.dph[1]


# ---- what a sample says


def limits(sample: Sample | SampleSeen) -> Interval | None:
    """95 % limits of the mean (Student's), or of the part that had it (Wilson's); None of one fish.

    The fish of a tank are no trial of each other: this says how sure the number is, no more.
    """
    if sample.with_it is not None:
        from tankwalk.science.survival import wilson_limits

        return wilson_limits(sample.with_it, sample.looked_at, 0.95)
    from tankwalk.science.growth import mean_limits

    if sample.mean is None or sample.sd is None or sample.looked_at < 2:
        return None
    return mean_limits(sample.mean, sample.sd, sample.looked_at)


class Odd(Enum):
    """What makes a sample be asked about before it is kept. Common practice, no source."""

    TENFOLD = "a tenth or ten times of the last one"
    SHRANK = "less than the last one"
    LEAPT = "grown faster than fish grow"
    SPREAD = "a spread like no sample of one tank"
    EVEN = "no spread at all"
    UNLIKE = "far from the last one"


SHRINKS = 0.95
"""Of the last mean: fish that are measured well are no shorter."""
GROWS = {"mm": 1.10, None: 1.35}
"""Most that a mean grows in a day: a length, and anything else, which goes by mass."""
WIDEST = {"mm": 50.0, None: 120.0}
"""Most percent of the mean that an SD comes to: of a length, and of anything else."""


def oddities(sample: Sample, last: SampleSeen | None, now: Instant) -> list[Odd]:
    """What speaks against a sample as typed, held against the tank's last of its kind."""
    if sample.with_it is not None:
        return _unlike(sample, last)
    found: list[Odd] = []
    mean, unit = sample.mean or 0.0, sample.unit
    if last is not None and last.mean and last.unit == unit:
        ratio = mean / last.mean
        days = max(1.0, now.hours_since(last.at) / 24)
        if not 0.15 < ratio < max(7.0, GROWS.get(unit, GROWS[None]) ** days):
            found.append(Odd.TENFOLD)
        elif ratio < SHRINKS:
            found.append(Odd.SHRANK)
        elif ratio > GROWS.get(unit, GROWS[None]) ** days:
            found.append(Odd.LEAPT)
    if sample.sd is not None and sample.looked_at > 1:
        if sample.sd == 0:
            found.append(Odd.EVEN)
        elif mean > 0 and 100 * sample.sd / mean > WIDEST.get(unit, WIDEST[None]):
            found.append(Odd.SPREAD)
    return found


def _unlike(sample: Sample, last: SampleSeen | None) -> list[Odd]:
    """A share whose limits lie apart from those of the last one."""
    now_, before = limits(sample), None if last is None else limits(last)
    if now_ is None or before is None or last is None or last.with_it is None:
        return []
    return [Odd.UNLIKE] if now_.low > before.high or now_.high < before.low else []
