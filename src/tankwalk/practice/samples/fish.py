"""Fish of a sample one by one: what is looked at in each, and what those so far come to.

Nothing here touches a record: rows in, values out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum
from typing import TYPE_CHECKING

from tankwalk.plan.feed_model import MASS_WORDS
from tankwalk.rows import NamedTuple
from tankwalk.science import growth, samples
from tankwalk.science.survival import wilson_limits

if TYPE_CHECKING:
    from tankwalk.ledger.samples import FishSeen
    from tankwalk.science.distributions import Interval
    from tankwalk.science.samples import Eaten, Fit


class Look(Enum):
    """What is looked at in a fish, by the code a sitting keeps; in the order one asks."""

    LENGTH = "length"
    MASS = "mass"
    BLADDER = "bladder"
    GUT = "gut"
    DEFORMED = "deformed"

    @property
    def unit(self) -> str:
        """What it is measured in; "" where a fish has it or has it not."""
        return _UNITS.get(self, "")

    @property
    def measured(self) -> bool:
        return self in _UNITS

    @property
    def as_it_should_be(self) -> int:
        """What is kept of a fish that is right: a bladder and a full gut, and no deformity."""
        return 0 if self is Look.DEFORMED else 1

    @property
    def word(self) -> str:
        """The word that samples of it are kept under, where the plan has none of its own."""
        return SAMPLED_AS[self][0]


_UNITS = {Look.LENGTH: "mm", Look.MASS: "mg"}

SAMPLED_AS = {
    Look.LENGTH: ("length", "total length"),
    Look.MASS: MASS_WORDS,
    Look.BLADDER: ("swim bladder", "gas bladder", "bladder"),
    Look.GUT: ("gut fill", "gut"),
    Look.DEFORMED: ("deformed", "deformities", "deformity"),
}
"""Words of the plan for what is looked at; the first is the usual one."""

ASKED_AGAIN = "asked again"
"""Why a number in doubt stays out of the sums until a second one decides."""

WANTED = {Look.LENGTH: 5.0, Look.MASS: 10.0}
"""Half of the 95 % range, in % of the mean, that is narrow enough. Common practice, no source."""

USUAL = {Look.LENGTH: samples.MEAN_LENGTH_FISH, Look.MASS: samples.MASS_FISH}
"""Fish that gave mean length and mass again in skewed juveniles: fewer are few."""

FEWEST = 5
"""Fewer fish say little of how they spread, however alike they are. Common practice, no source."""

EATEN_CV = 20.0
"""Lengths have to spread by more than this, in %, for the longest to be told apart as eaters."""
EATEN_WATCH, EATEN_ACT = 0.05, 0.15
"""The part of a sample that its longest could swallow, from which it is watched and acted on.

Common practice, no source.
"""


def looks_of(codes: Iterable[str]) -> tuple[Look, ...]:
    """What a sitting looks at, in the order one asks; a code nobody knows here is passed over."""
    known = set(codes)
    return tuple(look for look in Look if look.value in known)


def value_of(fish: FishSeen, look: Look) -> float | None:
    """What was found in a fish, None where it was not looked at."""
    found: float | None = getattr(fish, look.value)
    return found


def standing(fish: Sequence[FishSeen], look: Look, but: int | None = None) -> list[float]:
    """What was found in all fish that count, in their order; `but` leaves one out by its number."""
    return [
        value
        for one in fish
        if one.left_out is None and one.nth != but and (value := value_of(one, look)) is not None
    ]


class Enough(Enum):
    """Whether so many fish tell the mean."""

    FEW = "few"
    WIDE = "wide"
    ENOUGH = "enough"


class Sizes(NamedTuple):
    """What measured fish come to; in the look's unit, K in 100 g/cm3.

    `half` is half of the 95 % range in % of the mean, `needed` how many fish in all bring it to
    `wanted`, None where it cannot be told.
    """

    n: int
    mean: float
    sd: float | None
    cv: float | None
    limits: Interval | None
    median: float
    skew: float | None
    least: float
    most: float
    half: float | None = None
    wanted: float | None = None
    needed: int | None = None
    enough: Enough | None = None


class Share(NamedTuple):
    """How many of those looked at had it (were not as they should be: `wrong`), 95 % Wilson."""

    look: Look
    had: int
    of: int
    limits: Interval


class Worked(NamedTuple):
    """What the fish of a sitting come to, each None where it was not looked at or too few were."""

    fish: int
    left_out: int
    lengths: Sizes | None
    masses: Sizes | None
    condition: Sizes | None
    fit: Fit | None
    shares: tuple[Share, ...]
    eaten: Eaten | None

    @property
    def eaters(self) -> int:
        """How much the longest are to be feared: 0, 1 watch, 2 act."""
        return eaters(self.eaten, self.lengths)

    def sizes(self, look: Look) -> Sizes | None:
        return self.lengths if look is Look.LENGTH else self.masses


def eaters(eaten: Eaten | None, lengths: Sizes | None) -> int:
    """How much cannibals are to be feared: 0, 1 watch, 2 act."""
    if eaten is None or lengths is None or (lengths.cv or 0.0) <= EATEN_CV:
        return 0
    return (eaten.share > EATEN_WATCH) + (eaten.share > EATEN_ACT)


def condition_of(length: float, mass: float) -> float:
    """Fulton's K of a fish of so many mm and mg."""
    return growth.condition(mass / 1000, length / 10)


def pairs(fish: Iterable[FishSeen]) -> list[tuple[float, float]]:
    """Length and mass of each fish that counts and has both."""
    return [
        (one.length, one.mass)
        for one in fish
        if one.left_out is None and one.length is not None and one.mass is not None
    ]


def work(fish: Sequence[FishSeen]) -> Worked:
    """What the fish so far come to."""
    both = pairs(fish)
    shares = []
    for look in Look:
        found = [] if look.measured else standing(fish, look)
        if found:
            had = int(sum(found))
            shares.append(Share(look, had, len(found), wilson_limits(had, len(found), 0.95)))
    lengths = standing(fish, Look.LENGTH)
    return Worked(
        sum(one.left_out is None for one in fish),
        sum(one.left_out is not None for one in fish),
        sizes(lengths, Look.LENGTH),
        sizes(standing(fish, Look.MASS), Look.MASS),
        sizes([condition_of(*one) for one in both]),
        samples.weight_by_length([mass for _, mass in both], [length for length, _ in both]),
        tuple(shares),
        samples.could_eat(lengths),
    )


def sizes(values: Sequence[float], look: Look | None = None) -> Sizes | None:
    """What measured values come to; whether they are enough where `look` says what is wanted."""
    if not values:
        return None
    found = growth.spread(values)
    limits = None if found.sd is None else growth.mean_limits(found.mean, found.sd, found.n)
    known = Sizes(
        found.n, found.mean, found.sd, found.cv, limits, samples.median(values),
        samples.skew(values), min(values), max(values),
    )  # fmt: skip
    if look is None or found.cv is None:
        return known
    wanted, half = WANTED[look], samples.half_width(found.cv, found.n)
    needed = samples.fish_needed(found.cv, wanted)
    enough = Enough.ENOUGH if half <= wanted else Enough.WIDE
    if found.n < FEWEST or (found.n < USUAL[look] and enough is not Enough.ENOUGH):
        enough = Enough.FEW
    return known._replace(half=half, wanted=wanted, needed=needed, enough=enough)
