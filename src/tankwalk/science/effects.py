"""How large an effect is, beside whether there is one: Hedges g, omega squared, equal spreads."""

from __future__ import annotations

from collections.abc import Sequence
from math import asin, exp, fsum, lgamma, log, pi, sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.comparison import CONFIDENCE, described
from tankwalk.science.distributions import (
    SURE,
    beta_fraction,
    beta_steps,
    crossing,
    f_sf,
    noncentral_f_cdf,
    normal_cdf,
    poisson_ends,
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
    rest = df / (t * t + df)
    mean = shift * shift / 2
    if not mean:
        return min(1.0, below + beta_fraction(x, 0.5, df / 2) / 2)
    first, last = poisson_ends(mean)
    evens = beta_steps(x, rest, 0.5, df / 2, last)
    odds = beta_steps(x, rest, 1.0, df / 2, last)
    by, root = log(mean), shift / sqrt(2)
    total = 0.0
    for j in range(first, last + 1):
        weight = j * by - mean
        total += exp(weight - lgamma(j + 1)) * evens[j]
        total += root * exp(weight - lgamma(j + 1.5)) * odds[j]
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
    low, high = _shift(t, df, 1 - tail), _shift(t, df, tail)
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
        return crossing(
            lambda shift: share - noncentral_f_cdf(f, df, error, shift), 0.0, f * df + 1, SURE
        )

    if f > MOST_F:
        return Size(point, None, None)
    low, high = shift(1 - tail), shift(tail)
    return Size(point, low / (low + number), high / (high + number))


def _shift(t: float, df: float, share: float) -> float:
    """The noncentrality of which a `share` of all t lies below this one."""

    def short(shift: float) -> float:
        return share - noncentral_t_cdf(t, df, shift)

    step = 4.0
    low = t - step
    while short(low) > 0:
        step *= 2
        low -= step
    return crossing(short, low, low + step, SURE)


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
