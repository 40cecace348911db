"""Signals in a run of numbers: limits of counts, charts that add up, hours until a limit."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.distributions import binomial_quantile, poisson_quantile, probability
from tankwalk.science.limits import above_zero, finite, within, zero_or_more
from tankwalk.science.middle import median as median
from tankwalk.science.middle import some

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
