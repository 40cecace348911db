"""Counts that come in clusters: negative binomial, by mean and variance.

Where the variance is not above the mean, all of these are those of Poisson: deaths that have
nothing to do with one another.
"""

from __future__ import annotations

from math import inf, lgamma, log, log1p

from tankwalk.science.distributions import beta_fraction, gamma_fraction, probability
from tankwalk.science.limits import above_zero, finite, zero_or_more

_POISSON = 1e6
"""From this many times the mean on, a size changes no digit that matters: Poisson."""


def size(mean: float, variance: float) -> float:
    """The size r of a negative binomial, mean^2 / (variance - mean); infinite for Poisson.

    Parameters: `mean` above 0, `variance` 0 or more. Errors: Refusal naming the input.
    Source: Johnson, Kemp & Kotz 2005, Univariate Discrete Distributions, ch. 5 (from memory).
    """
    above_zero("mean", mean)
    more = zero_or_more("variance", variance) - mean
    if more <= 0 or mean * mean / more > _POISSON * max(1.0, mean):
        return inf
    return mean * mean / more


def log_chance(count: int, mean: float, variance: float) -> float:
    """The log of P(X = count), count 0 or more.

    Equation: lgamma(x + r) - lgamma(r) - lgamma(x + 1) + r ln(r / (r + m)) + x ln(m / (r + m)).
    Parameters and source as `size`. Errors: Refusal naming the input.
    """
    zero_or_more("count", count)
    r = size(mean, variance)
    if r == inf:
        return count * log(mean) - mean - lgamma(count + 1)
    return (
        lgamma(count + r)
        - lgamma(r)
        - lgamma(count + 1)
        - r * log1p(mean / r)
        - count * log1p(r / mean)
    )


def at_least(count: float, mean: float, variance: float) -> float:
    """P(X >= count), which keeps its digits where it is small; 1 for 0 and less.

    Equation: the incomplete beta function I(m / (r + m); count, r), of Poisson the incomplete
    gamma function P(count, m). Parameters and errors as `size`.
    Source: Abramowitz & Stegun 1964, 26.5.26 (from memory).
    """
    r = size(mean, variance)
    if finite("count", count) <= 0:
        return 1.0
    if r == inf:
        return gamma_fraction(count, mean)[0]
    return beta_fraction(mean / (r + mean), count, r)


def at_most(count: float, mean: float, variance: float) -> float:
    """P(X <= count), which keeps its digits where it is small; 0 below 0. As `at_least`."""
    r = size(mean, variance)
    if finite("count", count) < 0:
        return 0.0
    if r == inf:
        return gamma_fraction(count // 1 + 1, mean)[1]
    return beta_fraction(r / (r + mean), r, count // 1 + 1)


def quantile(p: float, mean: float, variance: float) -> int:
    """The smallest count c with P(X <= c) >= `p` (0 < p < 1). Parameters and errors as `size`."""
    probability("p", p)
    low, high = -1, 1
    # Above the middle by what lies beyond, which keeps its digits near 1.
    while not _reached(p, high, mean, variance):
        low, high = high, 2 * high
    while (middle := (low + high) // 2) > low:
        if _reached(p, middle, mean, variance):
            high = middle
        else:
            low = middle
    return high


def _reached(p: float, count: int, mean: float, variance: float) -> bool:
    if p > 0.5:
        return at_least(count + 1, mean, variance) <= 1 - p
    return at_most(count, mean, variance) >= p
