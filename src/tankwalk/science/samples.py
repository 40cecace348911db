"""A sample of fish, fish by fish: spread and shape of sizes, how many are enough, who eats whom."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, fsum, log, sqrt
from typing import NamedTuple

from tankwalk.errors import Refusal
from tankwalk.science.distributions import Interval, poisson_limits, t_quantile
from tankwalk.science.limits import above_zero, answer, finite, zero_or_more

MEAN_LENGTH_FISH = 19
"""Fish that gave the mean length again in skewed juveniles."""
MASS_FISH = 30
"""Fish that gave the mass again in skewed juveniles (about)."""

MOST_FISH = 5000
"""More than anybody looks at of one tank."""

PREY_SLOPE, PREY_MM = 0.478, 1.83
"""Longest prey of a cannibal by its total length, in mm."""
PREY_FROM, PREY_TO = 10.0, 62.0
"""Lengths of cannibals in mm that it was tested on."""


def median(values: Sequence[float]) -> float:
    """The value in the middle; of an even number the mean of the two there.

    Range: one value or more. Errors: Refusal for none. Source: definition.
    """
    if not values:
        raise Refusal("values has to hold at least one size.")
    several = sorted(values)
    half = len(several) // 2
    return several[half] if len(several) % 2 else (several[half - 1] + several[half]) / 2


def skew(values: Sequence[float]) -> float | None:
    """How far a sample leans; above 0 its upper end is the long one.

    Equation: G1 = sqrt(n (n - 1)) / (n - 2) x m3 / m2^1.5, with moments about the mean, by n.
    None of fewer than 3 values, and where all are alike. Errors: none.
    Source: Joanes & Gill 1998, The Statistician 47:183 (from memory), G1.
    """
    n = len(values)
    if n < 3:
        return None
    mean = fsum(values) / n
    m2 = fsum((one - mean) ** 2 for one in values) / n
    # Where all are alike the mean may lie a bit beside them.
    if m2 <= (1e-12 * mean) ** 2:
        return None
    m3 = fsum((one - mean) ** 3 for one in values) / n
    return sqrt(n * (n - 1)) / (n - 2) * m3 / (m2 * sqrt(m2))


def half_width(cv: float, number: float) -> float:
    """Half of the 95 % range of a mean as a part of it, t(0.975, n - 1) CV / sqrt(n), in %.

    Parameters: `cv` in %, 0 or more; `number` of fish, 2 or more. Returns %.
    Range: sizes about normal, fish drawn at random. Errors: Refusal outside it.
    Source: Student 1908, Biometrika 6:1 (from memory).
    """
    zero_or_more("cv", cv, "%")
    if not number >= 2:
        raise Refusal(f"number has to be 2 or more, not {number:g}.")
    return answer(t_quantile(0.975, number - 1) * cv / sqrt(number), "cv", "number")


def fish_needed(cv: float, wanted: float) -> int | None:
    """The fewest fish whose 95 % range is `wanted` % of the mean or less either way.

    The first n with t(0.975, n - 1) CV / sqrt(n) <= wanted, the spread staying as it is; None where
    nobody measures that many. Parameters: both in %, `cv` 0 or more, `wanted` above 0.
    Range: sizes about normal. Errors: Refusal outside it.
    Source: Cochran 1977, Sampling Techniques, 4.6 with Student's t (from memory).
    """
    zero_or_more("cv", cv, "%")
    above_zero("wanted", wanted, "%")
    # t falls towards 1.96, so fewer than this are never enough.
    n = max(2, int((1.959 * cv / wanted) ** 2)) if cv < wanted * 1e6 else MOST_FISH + 1
    while n <= MOST_FISH:
        if half_width(cv, n) <= wanted:
            return n
        n += 1
    return None


class Fit(NamedTuple):
    """Weight by length in a sample, W = a L^b, with 95 % limits of b and the part explained."""

    a: float
    b: float
    n: int
    low: float
    high: float
    r2: float


def weight_by_length(weights: Sequence[float], lengths: Sequence[float]) -> Fit | None:
    """The a and b of W = a L^b by least squares in logarithms, with the limits of b.

    Equation: log W = log a + b log L; limits b -+ t(0.975, n - 2) s / sqrt(sum (x - mean)^2).
    Parameters: `weights` and `lengths` in any two units, kept to; above 0, as many of each. None of
    fewer than 3 fish, where all lengths are alike, or where a has no number.
    Range: fish of one stage; 3 is the b of fish that keep their shape. Errors: Refusal naming the
    input. Source: Le Cren 1951, J. Anim. Ecol. 20:201 (from memory); least squares by definition.
    """
    if len(weights) != len(lengths):
        raise Refusal(f"lengths has {len(lengths)} numbers and weights {len(weights)}: one each.")
    n = len(lengths)
    if n < 3:
        return None
    x = [log(above_zero("lengths", one)) for one in lengths]
    y = [log(above_zero("weights", one)) for one in weights]
    at, level = fsum(x) / n, fsum(y) / n
    wide = fsum((one - at) ** 2 for one in x)
    if wide <= 1e-18:
        return None
    tall = fsum((one - level) ** 2 for one in y)
    b = fsum((one - at) * (other - level) for one, other in zip(x, y, strict=True)) / wide
    rest = fsum((other - level - b * (one - at)) ** 2 for one, other in zip(x, y, strict=True))
    half = t_quantile(0.975, n - 2) * sqrt(rest / (n - 2) / wide)
    try:
        a = exp(level - b * at)
    except OverflowError:
        return None
    return Fit(a, b, n, b - half, b + half, 1 - rest / tall if tall > 0 else 1.0)


def longest_prey(length: float) -> float:
    """The longest fish of its own kind that a percid swallows whole, 0.478 TL + 1.83, in mm.

    Parameters: total length in mm, above 0. Returns mm.
    Range: cannibals of 10 to 62 mm. Errors: Refusal outside 0.
    Source: as read for yellow perch cannibals, 0.478 TL + 1.829 (from memory: job notes, R22).
    """
    return answer(PREY_SLOPE * above_zero("length", length, "mm") + PREY_MM, "length")


class Eaten(NamedTuple):
    """Who could be eaten by the longest of a sample.

    `longest` and its longest prey in mm; `number` of `n` fish are no longer than that; `beyond`
    says whether the longest lies outside the lengths that the rule was tested on.
    """

    longest: float
    prey: float
    number: int
    n: int
    beyond: bool

    @property
    def share(self) -> float:
        return self.number / self.n


def could_eat(lengths: Sequence[float]) -> Eaten | None:
    """How many of a sample the longest of it could swallow; None of fewer than 2 fish.

    Parameters: total lengths in mm, above 0. Range, errors, source: as `longest_prey`.
    """
    if len(lengths) < 2:
        return None
    longest = max(lengths)
    prey = longest_prey(longest)
    several = sum(above_zero("lengths", one) <= prey for one in lengths)
    return Eaten(longest, prey, several, len(lengths), not PREY_FROM <= longest <= PREY_TO)


class Bulk(NamedTuple):
    """A mean mass from lots weighed whole, with its 95 % limits; None of a single lot."""

    mean: float
    n: int
    lots: int
    limits: Interval | None


def bulk_mass(weights: Sequence[float], numbers: Sequence[float]) -> Bulk:
    """The mean mass of fish from lots that were weighed together, as a ratio of two sums.

    Equation: m = sum W / sum n; error t(0.975, k - 1) sqrt(sum (W - m n)^2 / (k - 1) / k) / mean n.
    Parameters: `weights` net, above 0, in one unit; `numbers` of fish, above 0, as many of each.
    Range: lots drawn at random, of about the same number; a lot says nothing of how fish spread.
    Errors: Refusal naming the input. Source: Cochran 1977, Sampling Techniques, 6.3 (from memory).
    """
    if len(weights) != len(numbers) or not weights:
        raise Refusal(f"numbers has {len(numbers)} lots and weights {len(weights)}: one each.")
    for weight, number in zip(weights, numbers, strict=True):
        above_zero("weights", weight)
        above_zero("numbers", number)
    k, of = len(weights), fsum(numbers)
    mean = answer(fsum(weights) / of, "weights", "numbers")
    if k < 2:
        return Bulk(mean, round(of), k, None)
    off = fsum((w - mean * n) ** 2 for w, n in zip(weights, numbers, strict=True))
    half = t_quantile(0.975, k - 1) * sqrt(off / (k - 1) / k) / (of / k)
    return Bulk(mean, round(of), k, Interval(mean - half, mean + half))


def growth_a_day(start: float, end: float, days: float) -> float:
    """What a mean length gained in a day, (end - start) / days, in mm/d.

    Parameters: lengths in mm, days above 0. Errors: Refusal naming the input. Source: definition.
    """
    return answer((finite("end", end) - finite("start", start)) / above_zero("days", days), "end")


# ---- fish counted in sub-samples


class SafeLimits(NamedTuple):
    """95 % limits of a mean count, and whether the spread of the counts is the wider of the two."""

    low: float
    high: float
    by_spread: bool

    @property
    def half(self) -> float:
        """Half of the range."""
        return (self.high - self.low) / 2


def safe_limits(counts: Sequence[float]) -> SafeLimits:
    """The wider of two 95 % limits of the mean of some counts: exact Poisson, and Student's t.

    Poisson is what chance alone does where animals are well mixed; Student's goes by how the counts
    spread, m +/- t s / sqrt(n), not below 0. A few counts seldom show that animals clump: by six
    counts of 117 that scatter 1.5 times as Poisson does, limits that are Poisson until a test
    speaks against it hold the mean in 91 of 100 cases, the wider of the two in 96 (simulated,
    tests/test_science_samples.py). Well mixed they hold it in 98.
    Parameters: counts, whole numbers of 0 or more. Returns limits of the mean of one subsample.
    Range: subsamples of one size, small beside the volume.
    Errors: Refusal outside it.
    Source: Garwood 1936, Biometrika 28:437; Student 1908, Biometrika 6:1; the choice is ours.
    """
    if not counts:
        raise Refusal("counts is empty: give one count or more.")
    n, found = len(counts), 0
    for one in counts:
        if zero_or_more("counts", one) != int(one):
            raise Refusal(f"counts has to be whole numbers, and {one:g} is not.")
        found += int(one)
    low, high = poisson_limits(found, 0.95)
    chance = SafeLimits(low / n, high / n, by_spread=False)
    if n == 1:
        return chance
    mean = found / n
    spread = sqrt(sum((one - mean) ** 2 for one in counts) / (n - 1))
    half = t_quantile(0.975, n - 1) * spread / sqrt(n)
    wider = SafeLimits(max(0.0, mean - half), mean + half, by_spread=True)
    return wider if wider.half > chance.half else chance
