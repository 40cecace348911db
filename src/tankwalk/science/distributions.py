"""Distributions that counts and comparisons need, from incomplete gamma and beta functions.

Written here, and not taken from a library, because a laptop in a hatchery gets no 100 MB of
libraries for six quantiles, and because the program has to start at once. The tests hold every
function of this file to scipy.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import erfc, exp, inf, isfinite, lgamma, log, log1p, pi, sqrt, ulp

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.limits import above_zero, finite, zero_or_more

_LARGE = 100_000
"""Above this many counts the sums take too many terms, and the cube-root normal form serves."""
_TIGHT = ulp(2)
"""A factor this near 1 changes nothing any more."""
_HIGHEST_Z = 9
"""Normal scores beyond it, up or down, hold less than a float can add to 1."""
_STEP_Z, _STEP_LOG, _STEP_SD = 0.2, 0.1, 0.35
"""Steps of the trapezoid rule for the studentized range; halved, no digit of the sum moves."""
_WIDEST_Z = 0.7
"""Over the root of the groups, the step in z that is as good: what the rule leaves out of a product
of k bell curves is about exp(-2 pi^2 / (k step^2))."""
SURE = 1e-13
"""A part found as near as this to the one looked for will do."""


class Interval(NamedTuple):
    """What a count or a fraction may truly be, at a confidence."""

    low: float
    high: float


def probability(name: str, value: float) -> float:
    """`value`, or Refusal where it does not lie between 0 and 1, both left out."""
    if not isfinite(value) or not 0 < value < 1:
        raise Refusal(f"{name} has to be between 0 and 1, not {value:g}.")
    return value


# ---- normal


def normal_cdf(z: float) -> float:
    """P(Z <= z) of the standard normal. Source: definition, through erfc."""
    return erfc(-z / sqrt(2)) / 2


def normal_quantile(p: float) -> float:
    """The z below which a fraction `p` of the standard normal lies, 0 < p < 1."""
    probability("p", p)
    if p > 0.5:
        return -normal_quantile(1 - p)
    if p == 0.5:
        return 0.0
    return -_rising(lambda z: -normal_cdf(-z), -p)


# ---- gamma: chi-square and Poisson


def gamma_fraction(a: float, x: float) -> tuple[float, float]:
    """The regularized incomplete gamma functions (P(a, x), Q(a, x)), which add to 1.

    Parameters: `a` above 0; `x` 0 or more. Series below `a`, continued fraction above it.
    Range: from `a` 100 000 on, the cube root taken as normal, within 1e-7.
    Source: Abramowitz & Stegun 1964, Handbook of Mathematical Functions, 6.5.29 and 6.5.31 (from
    memory); Wilson & Hilferty 1931, PNAS 17:684 (from memory).
    """
    if x <= 0:
        return 0.0, 1.0
    if a > _LARGE:
        z = ((x / a) ** (1 / 3) - (1 - 1 / (9 * a))) * 3 * sqrt(a)
        return normal_cdf(z), normal_cdf(-z)
    scale = exp(a * log(x) - x - lgamma(a))
    if x < a:
        term = total = 1 / a
        n = a
        while term > total * _TIGHT:
            n += 1
            term *= x / n
            total += term
        return total * scale, 1 - total * scale
    # Lentz's way through the continued fraction; nothing in it can be 0 while x is not below a.
    b = x + 1 - a
    c, d = inf, 1 / b
    whole, factor = d, inf
    n = 0
    while abs(factor - 1) > _TIGHT:
        n += 1
        top = n * (a - n)
        b += 2
        d = 1 / (top * d + b)
        c = b + top / c
        factor = c * d
        whole *= factor
    return 1 - whole * scale, whole * scale


def chi2_cdf(x: float, df: float) -> float:
    """P(X <= x) of chi-square with `df` degrees of freedom (above 0)."""
    return gamma_fraction(above_zero("df", df) / 2, finite("x", x) / 2)[0]


def chi2_sf(x: float, df: float) -> float:
    """P(X > x) of chi-square, which keeps its digits where it is small."""
    return gamma_fraction(above_zero("df", df) / 2, finite("x", x) / 2)[1]


def chi2_quantile(p: float, df: float) -> float:
    """The x with P(X <= x) = `p` (0 < p < 1) of chi-square with `df` degrees of freedom."""
    probability("p", p)
    above_zero("df", df)
    return _nearer(p, lambda x: chi2_cdf(x, df), lambda x: chi2_sf(x, df))


def poisson_cdf(count: float, mean: float) -> float:
    """P(X <= count) of Poisson with `mean` 0 or more; 0 for a count below 0."""
    zero_or_more("mean", mean)
    if finite("count", count) < 0:
        return 0.0
    return gamma_fraction(count // 1 + 1, mean)[1]


def poisson_quantile(p: float, mean: float) -> int:
    """The smallest count c with P(X <= c) >= `p` (0 < p < 1) of Poisson with `mean`."""
    probability("p", p)
    zero_or_more("mean", mean)
    return _first(lambda c: poisson_cdf(c, mean) >= p)


def poisson_limits(count: float, confidence: float) -> Interval:
    """Exact limits of the mean behind one Poisson count.

    Parameters: `count` 0 or more; `confidence` such as 0.95. Returns low (0 for no count) and high.
    Equation: low = chi2(alpha/2; 2 c) / 2, high = chi2(1 - alpha/2; 2 c + 2) / 2.
    Source: Garwood 1936, Biometrika 28:437, Fiducial limits for the Poisson distribution
    (from memory). Errors: Refusal for a count below 0 or a confidence outside 0 to 1.
    """
    zero_or_more("count", count)
    tail = (1 - probability("confidence", confidence)) / 2
    low = chi2_quantile(tail, 2 * count) / 2 if count > 0 else 0.0
    return Interval(low, chi2_quantile(1 - tail, 2 * count + 2) / 2)


# ---- beta: t, F and binomial


def beta_fraction(x: float, a: float, b: float) -> float:
    """The regularized incomplete beta function I_x(a, b), 0 at x = 0 and 1 at x = 1.

    Parameters: `a`, `b` above 0. Continued fraction, from the side where it closes fast.
    Range: where both are 100 000 or more, the cube root of F taken as normal, within 1e-6.
    Source: Abramowitz & Stegun 1964, Handbook of Mathematical Functions, 26.5.8 and 26.6.15 (from
    memory).
    """
    return _beta(x, 1 - x, a, b)


def _beta(x: float, rest: float, a: float, b: float) -> float:
    """I_x(a, b) with 1 - x handed in, which keeps the digits of whichever is small."""
    if x <= 0:
        return 0.0
    if rest <= 0:
        return 1.0
    if min(a, b) > _LARGE:
        root = (b * x / (a * rest)) ** (1 / 3)
        up, down = 1 / (9 * b), 1 / (9 * a)
        return normal_cdf(((1 - up) * root - (1 - down)) / sqrt(up * root**2 + down))
    if x > a / (a + b):
        return 1 - _beta_below(rest, x, b, a)
    return _beta_below(x, rest, a, b)


def _beta_below(x: float, rest: float, a: float, b: float) -> float:
    """I_x(a, b) for an x that is not above the mean, but for rounding."""
    near = log1p(-rest) if rest < x else log(x)
    far = log1p(-x) if x < rest else log(rest)
    scale = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * near + b * far) / a
    c, d = 1.0, 1 / (1 - (a + b) * x / (a + 1))
    whole = d
    factor = inf
    m = 0
    while abs(factor - 1) > _TIGHT:
        m += 1
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        factor = 1.0
        for top in (even, odd):
            d = 1 / (1 + top * d)
            c = 1 + top / c
            factor *= c * d
        whole *= factor
    return whole * scale


def beta_quantile(p: float, a: float, b: float) -> float:
    """The x with I_x(a, b) = `p` (0 < p < 1)."""
    probability("p", p)
    above_zero("a", a)
    above_zero("b", b)
    return _nearer(p, lambda x: _beta(x, 1 - x, a, b), lambda x: _beta(1 - x, x, b, a))


def t_sf(t: float, df: float) -> float:
    """P(T > t) of Student's t with `df` degrees of freedom (above 0, whole or not)."""
    above_zero("df", df)
    square = finite("t", t) ** 2
    tail = _beta(df / (df + square), square / (df + square), df / 2, 1 / 2) / 2
    return tail if t > 0 else 1 - tail


def t_cdf(t: float, df: float) -> float:
    """P(T <= t) of Student's t with `df` degrees of freedom (above 0, whole or not)."""
    return t_sf(-t, df)


@lru_cache(1024)  # a sample that grows asks for the same few at every fish
def t_quantile(p: float, df: float) -> float:
    """The t with P(T <= t) = `p` (0 < p < 1) of Student's t with `df` degrees of freedom."""
    probability("p", p)
    above_zero("df", df)
    if p == 0.5:
        return 0.0
    if p < 0.5:
        return -_rising(lambda t: -t_sf(t, df), -p)
    return _rising(lambda t: -t_sf(t, df), p - 1)


def f_cdf(f: float, df1: float, df2: float) -> float:
    """P(X <= f) of Fisher's F with `df1` and `df2` degrees of freedom (above 0)."""
    return _f(f, df1, df2)[0]


def f_sf(f: float, df1: float, df2: float) -> float:
    """P(X > f) of Fisher's F, which keeps its digits where it is small."""
    return _f(f, df1, df2)[1]


def _f(f: float, df1: float, df2: float) -> tuple[float, float]:
    top = above_zero("df1", df1) * max(finite("f", f), 0.0)
    x, rest = top / (top + above_zero("df2", df2)), df2 / (top + df2)
    return _beta(x, rest, df1 / 2, df2 / 2), _beta(rest, x, df2 / 2, df1 / 2)


def noncentral_f_cdf(f: float, df1: float, df2: float, shift: float) -> float:
    """P(X <= f) of F with noncentrality `shift` 0 or more: what a test sees of a real effect.

    Source: Abramowitz & Stegun 1964, 26.6.20 (from memory): F with Poisson(shift / 2) more pairs of
    degrees of freedom. With df1 = 1, f is the square of a noncentral t.
    """
    zero_or_more("shift", shift)
    top = above_zero("df1", df1) * max(finite("f", f), 0.0)
    x, rest = top / (top + above_zero("df2", df2)), df2 / (top + df2)
    mean = shift / 2
    if not mean:
        return _beta(x, rest, df1 / 2, df2 / 2)
    first, last = poisson_ends(mean)
    steps = beta_steps(x, rest, df1 / 2, df2 / 2, last)
    by = log(mean)
    total = 0.0
    for pairs in range(first, last + 1):
        total += exp(pairs * by - mean - lgamma(pairs + 1)) * steps[pairs]
    return total


def poisson_ends(mean: float) -> tuple[int, int]:
    """Counts outside of which a Poisson of this mean holds less than rounding."""
    wide = 10 * sqrt(mean + 1)
    return max(0, int(mean - wide)), int(mean + wide + 25)


def beta_steps(x: float, rest: float, a: float, b: float, last: int) -> tuple[float, ...]:
    """I_x(a, b), I_x(a + 1, b) and on, up to a + `last` or beyond; `rest` is 1 - x.

    One is worked out at the far end, the others by what each holds more than the next, from there
    down: sums of positive terms lose nothing. What is asked again for another shift is kept.
    Source: Abramowitz & Stegun 1964, 26.5.16 (from memory).
    """
    return _steps(x, rest, a, b, 1 << max(5, last.bit_length()))


@lru_cache(8)
def _steps(x: float, rest: float, a: float, b: float, last: int) -> tuple[float, ...]:
    if x <= 0 or rest <= 0:
        return (0.0 if x <= 0 else 1.0,) * (last + 1)
    near = log1p(-rest) if rest < x else log(x)
    far = b * (log1p(-x) if x < rest else log(rest)) - lgamma(b)
    part = _beta(x, rest, a + last, b)
    found = [part]
    for n in range(last - 1, -1, -1):
        here = a + n
        part += exp(lgamma(here + b) - lgamma(here + 1) + here * near + far)
        found.append(part)
    found.reverse()
    return tuple(found)


@lru_cache(256)
def noncentrality(power: float, df: float, alpha: float) -> float:
    """The shift of t, in its standard errors, that a two-sided t test finds with `power`.

    Parameters: `power` above `alpha` to below 1; `df` above 0; `alpha` such as 0.05.
    Source: Cohen 1988, Statistical power analysis for the behavioral sciences, ch. 2 (from memory).
    """
    probability("alpha", alpha)
    if probability("power", power) <= alpha:
        raise Refusal(f"power has to be above alpha, {alpha:g}, not {power:g}.")
    edge = t_quantile(1 - alpha / 2, df) ** 2
    normal = normal_quantile(power) + normal_quantile(1 - alpha / 2)
    # What a normal would need is a little less than what is looked for.
    return crossing(
        lambda shift: 1 - power - noncentral_f_cdf(edge, 1, df, shift**2),
        0.0, max(0.5, normal), SURE * min(power, 1 - power),
    )  # fmt: skip


def binomial_cdf(count: float, number: int, chance: float) -> float:
    """P(X <= count) of binomial: `number` fish, each with `chance` (0 to 1) of being counted."""
    if finite("count", count) < 0:
        return 0.0
    if count >= number:
        return 1.0
    return _beta(1 - chance, chance, number - count // 1, count // 1 + 1)


def binomial_quantile(p: float, number: int, chance: float) -> int:
    """The smallest count c with P(X <= c) >= `p` (0 < p < 1) of binomial."""
    probability("p", p)
    return _first(lambda c: binomial_cdf(c, number, chance) >= p)


# ---- studentized range


def studentized_range_cdf(q: float, groups: int, df: float) -> float:
    """P(Q <= q) of the range of `groups` means over their standard error.

    Parameters: `q` 0 or more; `groups` 2 or more; `df` of the standard error, above 0.
    Equation: the integral over s = sqrt(chi2 / df) of W(q s), W(r) = k integral of
    phi(z) (Phi(z + r) - Phi(z))^(k - 1) dz. Both by the trapezoid rule, the outer in log s, where
    it gains digits as fast as it gains points. Source: Tukey 1953, The problem of multiple
    comparisons; the integral as in Lund & Lund 1983, Applied Statistics 32:204, AS 190 (both from
    memory).
    """
    above_zero("df", df)
    if groups < 2:
        raise Refusal(f"groups has to be 2 or more, not {groups}.")
    if finite("q", q) <= 0:
        return 0.0
    apart, nodes = _nodes(groups)
    root, power = sqrt(2), groups - 1

    def below(r: float) -> float:
        r /= root
        total = 0.0
        for z, at, height in nodes:
            total += height * (erfc(z - r) - at) ** power
        return groups * total * apart

    step = min(_STEP_LOG, _STEP_SD / sqrt(df))
    height = log(2) + df / 2 * log(df / 2) - lgamma(df / 2)
    total = 0.0
    for way in (1, -1):
        i = 0 if way > 0 else -1
        while True:
            u = i * step
            # exp(2 u) is written out so that df (u - exp(2 u) / 2) loses nothing at a large df.
            weight = exp(height + df * (u - exp(2 * u) / 2))
            if weight < _TIGHT * step:
                break
            total += weight * below(q * exp(u))
            i += way
    return min(1.0, total * step)


@lru_cache(64)
def _nodes(groups: int) -> tuple[float, list[tuple[float, float, float]]]:
    """The step in z over root 2 pi, and of each z: -z / root 2, twice its part below, its height.

    The height is over 2 to the groups less 1, for the halves that erfc leaves out. High up, where
    the other means too would have to lie beyond z, nothing is left.
    """
    step = max(_STEP_Z, _WIDEST_Z / sqrt(groups))
    found = []
    for i in range(-round(_HIGHEST_Z / step), round(_HIGHEST_Z / step) + 1):
        z = i * step
        height = exp(-(z**2) / 2)
        if height * normal_cdf(-z) ** (groups - 1) > _TIGHT**2:
            found.append((-z / sqrt(2), erfc(-z / sqrt(2)), height / 2 ** (groups - 1)))
    return step / sqrt(2 * pi), found


@lru_cache(256)
def studentized_range_quantile(p: float, groups: int, df: float) -> float:
    """The q with P(Q <= q) = `p` (0 < p < 1) of the studentized range."""
    probability("p", p)
    sure = SURE * min(p, 1 - p)
    return crossing(lambda q: studentized_range_cdf(q, groups, df) - p, 0.0, 4.0, sure)


# ---- looking for an argument


def _nearer(p: float, below: Callable[[float], float], above: Callable[[float], float]) -> float:
    """Where the part below is `p`, looked for in the smaller part, which keeps more digits."""
    if p > 0.5:
        return _rising(lambda x: -above(x), p - 1)
    return _rising(below, p)


def _rising(function: Callable[[float], float], wanted: float) -> float:
    """The x of 0 or more at which a rising function reaches `wanted`, halving what holds it."""
    low, high = 0.0, 1.0
    while function(high) < wanted:
        low = high
        high += high
    while low < (middle := (low + high) / 2) < high:
        if function(middle) < wanted:
            low = middle
        else:
            high = middle
    return high


def crossing(function: Callable[[float], float], low: float, high: float, sure: float) -> float:
    """The x from `low` on at which a rising function that is below 0 there comes to 0.

    `high` is a guess, moved on by twice the way until the function is above 0. False position, an
    end halved where it is kept; ends where the function is within `sure` of 0, or x is within
    rounding.
    Source: the Illinois rule, Dowell & Jarratt 1971, BIT 11:168 (from memory).
    """
    below = function(low)
    while (above := function(high)) < 0:
        low, below, high = high, above, high + 2 * (high - low)
    kept = 0
    while above - below > 0:
        middle = (low * above - high * below) / (above - below)
        if not low < middle < high or high - low < 4 * _TIGHT * abs(middle):
            break
        there = function(middle)
        if abs(there) <= sure:
            return middle
        if there < 0:
            low, below = middle, there
            above, kept = (above / 2 if kept < 0 else above), -1
        else:
            high, above = middle, there
            below, kept = (below / 2 if kept > 0 else below), 1
    return high


def _first(reached: Callable[[int], bool]) -> int:
    """The smallest whole number of 0 or more for which `reached` says yes."""
    low, high = -1, 1
    while not reached(high):
        low = high
        high += high
    while (middle := (low + high) // 2) > low:
        if reached(middle):
            high = middle
        else:
            low = middle
    return high
