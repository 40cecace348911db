"""Treatments compared by tank means: Welch, one-way analysis of variance, Tukey's pairs."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.distributions import (
    f_sf,
    noncentrality,
    normal_quantile,
    studentized_range_cdf,
    studentized_range_quantile,
    t_quantile,
    t_sf,
)
from tankwalk.science.limits import above_zero, finite

MOST_GROUPS = 30
"""More groups than this are no trial; the pairs would fill pages."""
CONFIDENCE = 0.95
"""Of every interval here."""
POWER = 0.8
"""How sure a difference called detectable is to be found."""


class Welch(NamedTuple):
    """Two groups: the t test that does not take their spreads as alike."""

    statistic: float | None
    df: float | None
    p: float | None
    difference: float
    low: float | None
    high: float | None


class Anova(NamedTuple):
    """All groups at once: F between groups over within."""

    statistic: float | None
    df_between: int
    df: int
    """Within groups."""
    p: float | None
    mean_square: float
    """Within groups: the square of the pooled standard deviation."""


class Pair(NamedTuple):
    """Two groups of several, counted from 1: the first minus the second."""

    first: int
    second: int
    difference: float
    low: float
    high: float
    p: float | None


class Group(NamedTuple):
    """A group of tanks."""

    n: int
    mean: float
    variance: float


def described(groups: Sequence[Sequence[float]]) -> list[Group]:
    """Number, mean and variance (n - 1) of each group of tank means.

    Refusal naming groups: fewer than 2 groups, more than 30, or fewer than 2 tanks in one.
    """
    if not 2 <= len(groups) <= MOST_GROUPS:
        raise Refusal(f"groups has to be 2 to {MOST_GROUPS} groups of tanks, not {len(groups)}.")
    found = []
    for i, group in enumerate(groups):
        n = len(group)
        if n < 2:
            raise Refusal(f"groups has {n} in group {i + 1}; a group needs 2 tanks or more.")
        for value in group:
            finite("groups", value)
        # Tanks that are all alike have no spread at all, not one left over from rounding.
        mean = group[0] if min(group) == max(group) else fsum(group) / n
        found.append(Group(n, mean, fsum((value - mean) ** 2 for value in group) / (n - 1)))
    return found


def welch(groups: Sequence[Sequence[float]]) -> Welch:
    """Welch's t test of two groups of tank means.

    Equation: t = (m1 - m2) / sqrt(v1 + v2), v = s^2/n; df = (v1 + v2)^2 / sum of v^2/(n - 1).
    Parameters: two `groups`, one number a tank, any one unit. Returns t, df, the two-sided p and
    the difference with its 95 % limits. Without any spread t, df and the limits are None, and p is
    0 where the groups differ, None where they do not.
    Range: tank means that are about normal. Errors: Refusal naming groups.
    Source: Welch 1947, Biometrika 34:28 (from memory).
    """
    first, second, *rest = described(groups)
    if rest:
        raise Refusal(f"groups has to be two for Welch's test, not {len(groups)}.")
    difference = first.mean - second.mean
    v1, v2 = first.variance / first.n, second.variance / second.n
    if v1 + v2 == 0:
        return Welch(None, None, 0.0 if difference else None, difference, None, None)
    # In shares of the whole, so that no square of a tiny variance is lost.
    share = v1 / (v1 + v2)
    df = 1 / (share**2 / (first.n - 1) + (1 - share) ** 2 / (second.n - 1))
    error = sqrt(v1 + v2)
    t = difference / error
    half = t_quantile((1 + CONFIDENCE) / 2, df) * error
    return Welch(t, df, 2 * t_sf(abs(t), df), difference, difference - half, difference + half)


def anova(groups: Sequence[Sequence[float]]) -> Anova:
    """One-way analysis of variance of two or more groups of tank means.

    Equation: F = (SS between / (k - 1)) / (SS within / (N - k)).
    Parameters: `groups`, one number a tank, any one unit. Returns F, degrees of freedom, p and the
    mean square within. Without any spread within, F is None, and p is 0 where the groups differ,
    None where they do not.
    Range: about normal tank means of like spread. Errors: Refusal naming groups.
    Source: Fisher 1925, Statistical methods for research workers (from memory).
    """
    found = described(groups)
    number = sum(g.n for g in found)
    grand = fsum(g.n * g.mean for g in found) / number
    between = fsum(g.n * (g.mean - grand) ** 2 for g in found)
    within = fsum((g.n - 1) * g.variance for g in found)
    df_between, df = len(found) - 1, number - len(found)
    mean_square = within / df
    if mean_square == 0:
        means = [g.mean for g in found]
        differ = min(means) < max(means)
        return Anova(None, df_between, df, 0.0 if differ else None, mean_square)
    f = between / df_between / mean_square
    return Anova(f, df_between, df, f_sf(f, df_between, df), mean_square)


def tukey(groups: Sequence[Sequence[float]]) -> list[Pair]:
    """Every pair of groups, by Tukey's honestly significant difference (Tukey-Kramer).

    Equation: difference -+ q(0.95; k, N - k) sqrt(MSE / 2 (1/n1 + 1/n2)).
    Parameters and errors as anova. Returns each pair with its 95 % limits and p, for all pairs
    together. Without any spread within, the limits are the difference itself, and p is 0 where it
    is not 0, None where it is.
    Source: Tukey 1953, The problem of multiple comparisons; Kramer 1956, Biometrics 12:307 (both
    from memory).
    """
    found = described(groups)
    whole = anova(groups)
    k = len(found)
    q = studentized_range_quantile(CONFIDENCE, k, whole.df)
    pairs = []
    for i, first in enumerate(found):
        for j, second in enumerate(found[i + 1 :], i + 1):
            difference = first.mean - second.mean
            error = sqrt(whole.mean_square / 2 * (1 / first.n + 1 / second.n))
            p: float | None = 0.0 if difference else None
            if error:
                p = 1 - studentized_range_cdf(abs(difference) / error, k, whole.df)
            low, high = difference - q * error, difference + q * error
            pairs.append(Pair(i + 1, j + 1, difference, low, high, p))
    return pairs


def detectable(groups: Sequence[Sequence[float]]) -> float | None:
    """The difference between two groups that as many tanks would find, in the unit of the values.

    Equation: delta with 80 % power in the two-sided t test at 0.05: noncentral t with
    delta / (s sqrt(2 / n)) and N - k degrees of freedom; s the pooled standard deviation, n the
    mean number of tanks in a group.
    Parameters and errors as anova. Returns None without any spread within.
    Range: about normal tank means of like spread; for one pair, planned before.
    Source: Cohen 1988, Statistical power analysis for the behavioral sciences, ch. 2 (from memory).
    """
    whole = anova(groups)
    if whole.mean_square == 0:
        return None
    n = (whole.df + len(groups)) / len(groups)
    return findable(whole.mean_square, whole.df, n)


def findable(
    mean_square: float, df: int, n: float, power: float = POWER, alpha: float = 1 - CONFIDENCE
) -> float:
    """The difference between two treatments of n tanks that an error mean square lets one find.

    Equation, range and source as `detectable`; with blocks the error and its degrees of freedom
    are those of the analysis with blocks. Returns 0 without any error.
    """
    return noncentrality(power, df, alpha) * sqrt(mean_square) * sqrt(2 / above_zero("n", n))


def tanks_needed(
    difference: float, sd: float, power: float, alpha: float, groups: int, *, blocked: bool = False
) -> int:
    """Tanks a treatment for a wanted difference between two of them, before the trial.

    The smallest n whose two-sided t test finds it with that power: difference at least noncentral
    shift x s sqrt(2 / n), with groups (n - 1) degrees of freedom, or (groups - 1) (n - 1) where
    each treatment stands once in each of n blocks and sd is what blocks leave.
    Parameters: difference and sd between tanks of one treatment, one unit, above 0; power above
    alpha and below 1; groups 2 or more. Returns tanks, 2 or more.
    Range: about normal tank means of like spread; one pair, planned before; no correction for
    several pairs.
    Errors: Refusal outside it, and for more than 1000 tanks.
    Source: Cohen 1988, Statistical power analysis for the behavioral sciences, ch. 2 (from memory).
    """
    above_zero("difference", difference)
    above_zero("sd", sd)
    if groups < 2:
        raise Refusal(f"groups has to be 2 or more, not {groups}.")
    # The normal shift needs no fewer tanks than there are: begin a little below it.
    normal = normal_quantile(power) + normal_quantile(1 - alpha / 2) if power > alpha else 0.0
    start = 2 * (normal * sd / difference) ** 2 - 2
    if start > MOST_TANKS:
        raise Refusal(f"difference is so small beside sd that it takes over {MOST_TANKS} tanks.")
    for n in range(max(2, int(start)), MOST_TANKS + 1):
        if difference >= found_with(n, sd, power, alpha, groups, blocked=blocked):
            return n
    raise Refusal(f"difference is so small beside sd that it takes over {MOST_TANKS} tanks.")


MOST_TANKS = 1000
"""More tanks a treatment than any room has."""


def found_with(
    n: int, sd: float, power: float, alpha: float, groups: int, *, blocked: bool = False
) -> float:
    """The difference that n tanks a treatment find with that power; all as `tanks_needed`."""
    df = (groups - 1 if blocked else groups) * (n - 1)
    return findable(sd * sd, df, n, power, alpha)
