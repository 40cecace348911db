"""Cultures: what a count says of a vessel, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from itertools import pairwise

from tankwalk.clock import Instant, ago
from tankwalk.ledger.feeding import BatchSeen, CountOf, CountSeen
from tankwalk.plan.vessels import Culture, CultureKind
from tankwalk.rows import NamedTuple

LATELY = 7
"""So many counts of a culture are looked at: a week of them."""

EGGS_WATCH, EGGS_ACT = 0.2, 0.13
"""Eggs per female: below 0.13 a culture declines, 0.13 to 0.5 is a standstill.

A rotifer culture manual; it lags stress by 18 to 24 h, so that 0.2 is told before.
"""

FALLING = 3
"""So many counts of which each had fewer eggs than the one before are told. Common practice."""

HALF = 0.5
"""A count of less than this part of the one before is told. Common practice, no source."""


class CultureFault(Enum):
    """What is wrong with a culture."""

    EGGS_FEW = "eggs few"
    EGGS_LOW = "eggs low"
    EGGS_FALLING = "eggs falling"
    DROPPED = "dropped"
    ALONE = "alone"

    @property
    def restart(self) -> bool:
        """Whether it is begun again from its backup."""
        return self is CultureFault.EGGS_FEW

    @property
    def hold(self) -> bool:
        """Whether nothing is harvested before it was counted again."""
        return self in (CultureFault.EGGS_LOW, CultureFault.EGGS_FALLING, CultureFault.DROPPED)


class CultureCount(NamedTuple):
    """One count of a culture: per mL, and eggs per female where eggs were counted."""

    n: int
    per_ml: float
    eggs: float | None
    at: Instant
    who: str


def culture_count(one: BatchSeen, counts: Sequence[CountSeen]) -> CultureCount:
    """A count with what was counted beside it."""
    by_what = {found.what: found for found in counts}
    females, eggs = by_what.get(CountOf.ROTIFERS), by_what.get(CountOf.EGGS)
    ratio = None
    if females is not None and eggs is not None:
        # Of one volume each: eggs and females may have been counted in samples of two sizes.
        many, few = (sum(c.counts) * c.dilution / (c.ml * len(c.counts)) for c in (females, eggs))
        ratio = few / many if many > 0 else None
    return CultureCount(one.n, one.per_ml or 0.0, ratio, one.at, one.who)


def faults_of(
    vessel: Culture, counts: Sequence[CultureCount], *, alone: bool
) -> tuple[CultureFault, ...]:
    """What is wrong with a culture by its counts, oldest first, the worst first."""
    found = []
    eggs = [one.eggs for one in counts if one.eggs is not None]
    if eggs and vessel.kind is CultureKind.ROTIFERS:
        if eggs[-1] < EGGS_ACT:
            found.append(CultureFault.EGGS_FEW)
        elif eggs[-1] < EGGS_WATCH:
            found.append(CultureFault.EGGS_LOW)
        if falls(eggs):
            found.append(CultureFault.EGGS_FALLING)
    if len(counts) >= 2 and counts[-1].per_ml < HALF * counts[-2].per_ml:
        found.append(CultureFault.DROPPED)
    if alone:
        found.append(CultureFault.ALONE)
    return tuple(found)


def falling_for(counts: Sequence[CultureCount]) -> str:
    """Since how long the eggs fall: "3 d", by the counts of which each had fewer."""
    eggs = [one for one in counts if one.eggs is not None]
    since = len(eggs) - 1
    while since > 0 and (eggs[since - 1].eggs or 0) > (eggs[since].eggs or 0):
        since -= 1
    return ago(eggs[-1].at.hours_since(eggs[since].at)) if eggs else ""


def falls(eggs: Sequence[float]) -> bool:
    """Whether each of the last counts had fewer eggs than the one before."""
    last = eggs[-(FALLING + 1) :]
    return len(last) == FALLING + 1 and all(b < a for a, b in pairwise(last))
