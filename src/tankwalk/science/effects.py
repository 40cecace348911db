"""How large an effect is, beside whether there is one: Hedges g, omega squared, equal spreads."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import asin, exp, fsum, lgamma, log, pi, sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.comparison import CONFIDENCE, described
from tankwalk.science.distributions import (
    beta_fraction,
    f_sf,
    noncentral_f_cdf,
    normal_cdf,
)
from tankwalk.science.limits import above_zero, finite, within
from tankwalk.science.middle import median

MOST_SHIFT = 200.0
"""A shift of t beyond this is none that a trial could tell from another."""


MOST_F = 1000.0
"""Beyond this F the limits of omega squared lie at 1 for anybody's eye, and take long to find."""


class Size(NamedTuple):
    """The size of an effect with its 95 % limits; these are None where none can be given."""

    value: float
    low: float | None
    high: float | None


class Spreads(NamedTuple):
    """Whether groups scatter alike: F of the distances from each median."""

    statistic: float | None
    p: float | None


def noncentral_t_cdf(t: float, df: float, shift: float) -> float:
    """P(T <= t) of t with `df` degrees of freedom (above 0) and noncentrality `shift`.

    Range: `shift` between -200 and 200. Source: Lenth 1989, Appl. Stat. 38:185, algorithm AS 243
    (from memory): Poisson weights of incomplete beta functions, forward and half a step on.
    """
    above_zero("df", df)
    within("shift", shift, -MOST_SHIFT, MOST_SHIFT)
    if t < 0:
        return 1 - noncentral_t_cdf(-t, df, -shift)
    x = t * t / (t * t + df)
    below = normal_cdf(-shift)
    if not x:
        return below
    mean = shift * shift / 2
    total = 0.0
    # Far enough on both sides of the middle of the weights that the rest is below rounding.
    last = int(mean + 10 * sqrt(mean + 1) + 25)
    first = max(0, int(mean - 10 * sqrt(mean + 1)))
    for j in range(first, last + 1):
        if mean:
            even = exp(j * log(mean) - mean - lgamma(j + 1))
            odd = shift / sqrt(2) * exp(j * log(mean) - mean - lgamma(j + 1.5))
        else:
            even, odd = float(j == 0), 0.0
        total += even * beta_fraction(x, j + 0.5, df / 2)
        total += odd * beta_fraction(x, j + 1, df / 2)
    return min(1.0, max(0.0, below + total / 2))


def hedges(first: Sequence[float], second: Sequence[float]) -> Size | None:
    """Hedges g of two groups of tank means: their difference in standard deviations of a tank.

    Equation: g = J d, d = (m1 - m2) / s, s pooled, m = n1 + n2 - 2,
    J = Gamma(m/2) / (sqrt(m/2) Gamma((m-1)/2)); limits: J times those of the shift of t
    (noncentral t), times sqrt(1/n1 + 1/n2).
    Parameters: one number a tank, any one unit, 2 or more in each group. Returns g and its 95 %
    limits; None where tanks do not scatter at all.
    Range: about normal tank means of like spread; with few tanks the limits are wide, as they
    should be. Errors: Refusal naming groups.
    Source: Hedges 1981, J. Educ. Stat. 6:107; limits: Steiger & Fouladi 1997 (both from memory).
    """
    a, b = described([first, second])
    df = a.n + b.n - 2
    if df < 2:
        return None
    pooled = sqrt(((a.n - 1) * a.variance + (b.n - 1) * b.variance) / df)
    if not pooled:
        return None
    d = (a.mean - b.mean) / pooled
    exact = exp(lgamma(df / 2) - lgamma((df - 1) / 2)) / sqrt(df / 2)
    root = sqrt(1 / a.n + 1 / b.n)
    t = d / root
    if abs(t) > MOST_SHIFT / 4:
        return Size(exact * d, None, None)
    tail = (1 - CONFIDENCE) / 2
    low = _falling(lambda shift: noncentral_t_cdf(t, df, shift), 1 - tail, t)
    high = _falling(lambda shift: noncentral_t_cdf(t, df, shift), tail, t)
    return Size(exact * d, exact * root * low, exact * root * high)


def omega_squared(f: float, df: int, error: int) -> Size:
    """The part of the scatter between tanks that the treatment explains (partial omega squared).

    Equation: (F - 1) df / ((F - 1) df + df + error + 1), not below 0; limits: shift / (shift + df
    + error + 1), from the noncentral F that has this F at 0.975 and at 0.025.
    Parameters: `f` 0 or more, degrees of freedom of the treatment and of the error, 1 or more.
    Returns parts of 1. With blocks it is the part of what blocks left.
    Range: about normal tank means of like spread. Errors: Refusal naming the input.
    Source: Steiger 2004, Psychol. Methods 9:164 (from memory).
    """
    if finite("f", f) < 0:
        raise Refusal(f"f has to be 0 or more, not {f:g}.")
    above_zero("df", df)
    above_zero("error", error)
    number = df + error + 1
    point = max(0.0, (f - 1) * df / ((f - 1) * df + number))
    tail = (1 - CONFIDENCE) / 2

    def shift(share: float) -> float:
        if noncentral_f_cdf(f, df, error, 0.0) < share:
            return 0.0  # so small an F that even no effect at all gives a larger one
        high = 1.0
        while noncentral_f_cdf(f, df, error, high) > share and high < MOST_SHIFT**2:
            high *= 2
        low = 0.0
        for _ in range(60):
            half = (low + high) / 2
            if noncentral_f_cdf(f, df, error, half) > share:
                low = half
            else:
                high = half
        return (low + high) / 2

    if f > MOST_F:
        return Size(point, None, None)
    low, high = shift(1 - tail), shift(tail)
    return Size(point, low / (low + number), high / (high + number))


def _falling(function: Callable[[float], float], wanted: float, near: float) -> float:
    """Where a function that falls from 1 to 0 has a value: false position, an end halved if kept.

    Source: the Illinois rule, Dowell & Jarratt 1971, BIT 11:168 (from memory).
    """
    low = high = near
    step = 1.0
    while (above := function(low) - wanted) < 0 and low > -MOST_SHIFT:
        low, step = max(-MOST_SHIFT, low - step), 2 * step
    step = 1.0
    while (below := function(high) - wanted) > 0 and high < MOST_SHIFT:
        high, step = min(MOST_SHIFT, high + step), 2 * step
    kept = 0
    while high - low > 1e-9 and above > below:
        middle = (low * below - high * above) / (below - above)
        there = function(middle) - wanted
        if abs(there) < 1e-13:
            return middle
        if there > 0:
            low, above = middle, there
            below, kept = (below / 2 if kept > 0 else below), 1
        else:
            high, below = middle, there
            above, kept = (above / 2 if kept < 0 else above), -1
    return (low + high) / 2


def equal_spreads(groups: Sequence[Sequence[float]]) -> Spreads:
    """Whether groups of tanks scatter alike (Brown & Forsythe: Levene's test about medians).

    Equation: one-way F of |x - median of its group|.
    Parameters: two groups or more of 2 tanks or more. Returns F and p, None without any scatter of
    the distances. Range: with fewer than about 10 tanks a group it finds only gross differences.
    Errors: Refusal naming groups.
    Source: Brown & Forsythe 1974, J. Am. Stat. Assoc. 69:364 (from memory).
    """
    found = described([[abs(value - median(group)) for value in group] for group in groups])
    number = sum(g.n for g in found)
    grand = fsum(g.n * g.mean for g in found) / number
    between = fsum(g.n * (g.mean - grand) ** 2 for g in found)
    rest = fsum((g.n - 1) * g.variance for g in found)
    df, error = len(found) - 1, number - len(found)
    if rest <= 0:
        return Spreads(None, None)
    f = between / df / (rest / error)
    return Spreads(f, f_sf(f, df, error))


def arcsine(percent: float) -> float:
    """The arcsine of the square root of a share, in degrees: an option for survival, no more.

    Equation: asin(sqrt(percent / 100)). Parameters: `percent` 0 to 100. Returns 0 to 90.
    Range: shares of which many lie below 20 % or above 80 %; between those it changes little.
    Errors: Refusal outside it. Source: Sokal & Rohlf 1995, Biometry, 13.10 (from memory).
    """
    return asin(sqrt(within("percent", percent, 0, 100, "%") / 100)) * 180 / pi
