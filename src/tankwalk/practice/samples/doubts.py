"""A number typed of a fish that can hardly be meant: what speaks against it, and what it may be.

A guess never silences: the number as typed stays to be chosen, and measuring again is the easy key.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import Enum
from math import log, sqrt
from typing import TYPE_CHECKING

from tankwalk.practice.samples.fish import Look, condition_of, standing
from tankwalk.rows import NamedTuple
from tankwalk.science.distributions import t_quantile

if TYPE_CHECKING:
    from tankwalk.ledger.samples import FishSeen


class Why(Enum):
    """What speaks against a number."""

    FAR = "far from the others"
    MOST = "the largest so far"
    LEAST = "the smallest so far"
    SHAPE = "length and mass do not go together"


class Slip(Enum):
    """How a number may have come about."""

    TENFOLD = "the decimal mark a place too far right"
    TENTH = "the decimal mark a place too far left"
    CM = "read in cm"
    GRAMS = "read in g"


class Guess(NamedTuple):
    """What may have been meant, in the look's unit."""

    value: float
    slip: Slip


class Doubt(NamedTuple):
    """A number in doubt: which fish and what of it, as first typed, and what it was held against.

    `against` is the usual size here, the largest or smallest before it, or the condition factor
    that length and mass give. `second` is a second number that does not agree with the first.
    """

    nth: int
    look: Look
    first: float
    why: Why
    against: float
    guesses: tuple[Guess, ...] = ()
    second: float | None = None

    @property
    def choices(self) -> tuple[float, ...]:
        """The numbers to choose from, as typed first; none where one simply measures again."""
        if self.second is not None:
            return (self.first, self.second)
        return (self.first, *(guess.value for guess in self.guesses)) if self.guesses else ()


MOST = {Look.LENGTH: 2000.0, Look.MASS: 50_000_000.0}
"""More than any fish of a hatchery measures, in mm and mg."""

FAR = {Look.LENGTH: 2.5, Look.MASS: 8.0}
"""So many times the usual size, or a part of it, is asked about. Common practice, no source."""
NEAR = {Look.LENGTH: 1.8, Look.MASS: 4.0}
"""A guess lies within so many times the usual size. Common practice, no source."""

ALIKE = {Look.LENGTH: 0.03, Look.MASS: 0.06}
"""Two measurements of one fish agree within this part of it. Common practice, no source."""

SHAPE = (0.3, 2.0)
"""Condition factors of fish with the shape of a fish. Common practice, no source."""

STANDS_OUT = 0.975
"""What so many of fish like the others stay below stands out, by Student's t of one more fish.

With `GAP`, so many SD to the next. Common practice, no source: of fish that spread by chance, in
two samples of 20 about one number is asked again.
"""
GAP = 0.5
FEWEST = 5
"""Fish that say how the others spread."""


def usual(fish: Sequence[FishSeen], look: Look, nth: int, before: float | None) -> float | None:
    """The usual size here: the middle of the fish so far, else what was found before."""
    others = sorted(standing(fish, look, nth))
    if len(others) >= 3:
        return others[len(others) // 2]
    return before


def doubt(
    fish: Sequence[FishSeen], nth: int, look: Look, value: float, before: float | None
) -> Doubt | None:
    """What speaks against a value of a fish, the strongest first; None where nothing does.

    `before` is the mean to be expected from what was found last, None where nothing is known.
    """
    here = usual(fish, look, nth, before)
    if here is not None and not here / FAR[look] <= value <= here * FAR[look]:
        return Doubt(nth, look, value, Why.FAR, here, _guesses(look, value, here))
    if (odd := _shape(fish, nth, look, value)) is not None:
        return Doubt(nth, look, value, Why.SHAPE, odd, _guesses(look, value, here))
    others = standing(fish, look, nth)
    if len(others) < FEWEST:
        return None
    # Masses lean to the large ones, and their logarithms do not.
    scaled: Callable[[float], float] = log if look is Look.MASS else float
    several = [scaled(one) for one in others]
    n, mean = len(several), sum(several) / len(several)
    sd = sqrt(sum((one - mean) ** 2 for one in several) / (n - 1))
    far = t_quantile(STANDS_OUT, n - 1) * sd * sqrt(1 + 1 / n)
    away, top, bottom = scaled(value) - mean, max(others), min(others)
    if away > far and scaled(value) - scaled(top) > GAP * sd:
        return Doubt(nth, look, value, Why.MOST, top)
    if -away > far and scaled(bottom) - scaled(value) > GAP * sd:
        return Doubt(nth, look, value, Why.LEAST, bottom)
    return None


def _guesses(look: Look, value: float, here: float | None) -> tuple[Guess, ...]:
    """What may have been meant, nearest to the usual size first."""
    if here is None:
        return ()
    slips = [(value / 10, Slip.TENFOLD), (value * 10, Slip.TENTH)]
    if look is Look.LENGTH:
        slips[1] = (value * 10, Slip.CM)
    else:
        slips.append((value * 1000, Slip.GRAMS))
    found = [
        Guess(float(f"{meant:.10g}"), slip)
        for meant, slip in slips
        if here / NEAR[look] <= meant <= here * NEAR[look]
    ]
    return tuple(sorted(found, key=lambda one: abs(log(one.value / here))))


def _shape(fish: Sequence[FishSeen], nth: int, look: Look, value: float) -> float | None:
    """The condition factor of a fish that is no fish's, None where it is, or is not known."""
    this = next((one for one in fish if one.nth == nth), None)
    if this is None:
        return None
    length = value if look is Look.LENGTH else this.length
    mass = value if look is Look.MASS else this.mass
    if length is None or mass is None:
        return None
    found = condition_of(length, mass)
    return None if SHAPE[0] <= found <= SHAPE[1] else found


def agree(look: Look, one: float, other: float) -> bool:
    """Whether two measurements of one fish are the same."""
    return abs(one - other) <= ALIKE[look] * max(one, other) + 1e-9
