"""Signals in a run of numbers: limits of counts, charts that add up, sisters, slopes."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, log, sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.distributions import binomial_quantile, poisson_quantile, probability
from tankwalk.science.limits import above_zero, finite, within, zero_or_more
from tankwalk.science.middle import MAD_TO_SD, some
from tankwalk.science.middle import median as median

MOST_FISH = 10_000_000
"""The binomial limit is worked out for up to this many fish."""
FEWEST_SISTERS = 3
"""Fewer values have no middle and spread to hold one against."""

_SIGMAS = 3
"""How far the limits of a chart stand from its middle, in standard deviations."""


class Smoothed(NamedTuple):
    """A run of weighted means, with limits where a standard deviation was given."""

    points: list[float]
    low: float | None
    high: float | None


class Sums(NamedTuple):
    """Both sides of a cumulative sum: what has piled up above the mean, and below it."""

    high: list[float]
    low: list[float]


# ---- counts of dead fish


def poisson_limit(expected: float, quantile: float) -> int:
    """The most deaths that chance alone explains: an alarm is more than these.

    Equation: the smallest c with P(X <= c) >= quantile, X Poisson with mean `expected`.
    Parameters: `expected` deaths, 0 or more (own usual rate x fish at risk); `quantile` 0 to 1.
    Range: deaths that do not come in clusters; with variance above the mean it alarms too often,
    and a baseline of fewer than 5 days is no baseline. Errors: Refusal naming the input.
    Source: definition of the Poisson quantile.
    """
    return poisson_quantile(
        probability("quantile", quantile), zero_or_more("expected", expected, "deaths")
    )


def binomial_limit(expected: float, number: int, quantile: float) -> int:
    """As poisson_limit, for few fish: X binomial, `number` fish with chance expected / number.

    Parameters: `expected` 0 to `number`; `number` 1 to ten million. Errors: Refusal naming the
    input. Source: definition of the binomial quantile.
    """
    probability("quantile", quantile)
    within("number", number, 1, MOST_FISH)
    if zero_or_more("expected", expected, "deaths") > number:
        raise Refusal(f"expected is {expected:g}, more than the {number} fish in number.")
    return binomial_quantile(quantile, number, expected / number)


# ---- charts


def ewma(values: Sequence[float], start: float, weight: float, sd: float | None = None) -> Smoothed:
    """Exponentially weighted moving average, in the unit of the values.

    Equation: z_i = w x_i + (1 - w) z_(i-1), z_0 = start; limits start -+ 3 s sqrt(w / (2 - w)).
    Parameters: `values` in order of time; `start` the target; `weight` above 0 to 1; `sd` of single
    values, 0 or more, for the limits, which are those of a long run.
    Range: values that do not depend on one another. Errors: Refusal naming the input.
    Source: Roberts 1959, Technometrics 1:239 (from memory); NIST/SEMATECH e-Handbook 6.3.2.4.
    """
    some("values", values)
    finite("start", start)
    if above_zero("weight", weight) > 1:
        raise Refusal(f"weight has to be at most 1, not {weight:g}.")
    points = []
    at = start
    for value in values:
        at = weight * value + (1 - weight) * at
        points.append(at)
    if sd is None:
        return Smoothed(points, None, None)
    half = _SIGMAS * zero_or_more("sd", sd) * sqrt(weight / (2 - weight))
    return Smoothed(points, start - half, start + half)


def cusum(values: Sequence[float], mean: float, slack: float) -> Sums:
    """Tabular cumulative sums, in the unit of the values.

    Equation: S_i = max(0, S_(i-1) + x_i - mean - k), low side max(0, S_(i-1) + mean - k - x_i).
    Parameters: `values` in order of time; `mean` the target; `slack` k, 0 or more, usually half the
    shift to be found. A signal is a sum above h, usually 4 to 5 standard deviations.
    Range: values that do not depend on one another. Errors: Refusal naming the input.
    Source: Page 1954, Biometrika 41:100 (from memory); NIST/SEMATECH e-Handbook 6.3.2.3.
    """
    some("values", values)
    finite("mean", mean)
    zero_or_more("slack", slack)
    high: list[float] = []
    low: list[float] = []
    up = down = 0.0
    for value in values:
        up = max(0.0, up + value - mean - slack)
        down = max(0.0, down + mean - slack - value)
        high.append(up)
        low.append(down)
    return Sums(high, low)


def poisson_reference(usual: float, alarming: float) -> float:
    """The reference value k of a cumulative sum of Poisson counts: S = max(0, S + count - k).

    Equation: k = (m1 - m0) / ln(m1 / m0).
    Parameters: `baseline` m0 and `alarming` m1, mean counts above 0, m1 above m0.
    Returns deaths, between the two. Errors: Refusal naming the input.
    Source: Lucas 1985, Counted data CUSUM's, Technometrics 27:129 (from memory).
    """
    above_zero("usual", usual)
    if finite("alarming", alarming) <= usual:
        raise Refusal(f"alarming has to be above usual, {usual:g}, not {alarming:g}.")
    return (alarming - usual) / log(alarming / usual)


# ---- sisters


def robust_z(value: float, sisters: Sequence[float], floor: float) -> float | None:
    """How far one tank stands from its sisters, in standard deviations that outliers do not move.

    Equation: z = (x - median) / max(floor, 1.4826 median |x_i - median|).
    Parameters: `value`; `sisters` the values of the other tanks; `floor` above 0, the spread below
    which sisters are taken as alike (the resolution of the meter, a death or two), in the same
    unit. Returns None with fewer than 3 sisters. Errors: Refusal naming the input.
    Source: Iglewicz & Hoaglin 1993, How to detect and handle outliers (from memory); 1.4826 is
    1 / normal quantile of 0.75.
    """
    above_zero("floor", floor)
    finite("value", value)
    if len(sisters) < FEWEST_SISTERS:
        return None
    middle = median(sisters)
    spread = MAD_TO_SD * median([abs(one - middle) for one in sisters])
    return (value - middle) / max(floor, spread)


# ---- slopes


def theil_sen(hours: Sequence[float], values: Sequence[float]) -> float | None:
    """Slope per hour that one wild reading does not turn: the median of all slopes of two.

    Parameters: `hours` and `values` of the last readings, as many of each, in any order. Returns
    the unit of the values per hour; None where there are not two different times.
    Errors: Refusal naming the input.
    Source: Sen 1968, J. Am. Stat. Assoc. 63:1379 (from memory).
    """
    _pairs(hours, values)
    slopes = [
        (values[j] - values[i]) / (hours[j] - hours[i])
        for j in range(len(hours))
        for i in range(j)
        if hours[j] != hours[i]
    ]
    return median(slopes) if slopes else None


def least_squares(hours: Sequence[float], values: Sequence[float]) -> float | None:
    """Slope per hour of the line with the least squares.

    Equation: sum (t - mean t)(x - mean x) / sum (t - mean t)^2.
    Parameters, returns and errors as theil_sen. Source: definition.
    """
    _pairs(hours, values)
    if not hours or min(hours) == max(hours):
        return None
    at, level = fsum(hours) / len(hours), fsum(values) / len(values)
    across = fsum((t - at) * (x - level) for t, x in zip(hours, values, strict=True))
    return across / fsum((t - at) ** 2 for t in hours)


def hours_until(value: float, slope: float, limit: float) -> float | None:
    """Hours until a value reaches a limit at a slope per hour; None when it moves away or stands.

    Equation: (limit - value) / slope. 0 when it is there already.
    Parameters: `value`, `limit` in one unit; `slope` in that unit per hour. Range: a slope that
    holds; it seldom does for long. Errors: Refusal naming the input. Source: definition.
    """
    left = finite("limit", limit) - finite("value", value)
    if left == 0:
        return 0.0
    if finite("slope", slope) == 0 or (left > 0) != (slope > 0):
        return None
    return left / slope


def _pairs(hours: Sequence[float], values: Sequence[float]) -> None:
    if len(hours) != len(values):
        raise Refusal(f"hours has {len(hours)} numbers and values {len(values)}: one each.")
    for name, numbers in (("hours", hours), ("values", values)):
        for number in numbers:
            finite(name, number)
