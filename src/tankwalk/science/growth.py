"""Age, size and growth of larvae: days post hatch, condition, growth rates, feed for them."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, expm1, fsum, log, pi, sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.distributions import Interval, t_quantile
from tankwalk.science.limits import (
    above_zero,
    answer,
    finite,
    water_temperature,
    within,
    zero_or_more,
)


class WeightLength(NamedTuple):
    """The usual weight at a length in a stock: W = a L^b."""

    a: float
    b: float


class Spread(NamedTuple):
    """How a sample of sizes spreads; None where one fish or a mean of 0 leaves no spread."""

    n: int
    mean: float
    sd: float | None
    cv: float | None
    """%"""


def growth_rate(start: float, end: float, days: float) -> float:
    """Specific growth rate, in %/d.

    Equation: SGR = 100 ln(end / start) / days.
    Parameters: `start`, `end` mean weights in mg (any one unit), above 0; `days` above 0.
    Range: any; a loss is negative. Errors: Refusal naming the input.
    Source: Ricker 1979, Growth rates and models, Fish Physiology 8:677 (from memory).
    """
    above_zero("start", start, "mg")
    above_zero("end", end, "mg")
    above_zero("days", days)
    return answer(100 * (log(end) - log(start)) / days, "start", "end", "days")


def daily_gain(rate: float) -> float | None:
    """What a fish puts on in a day, in % of itself, at a specific growth rate `rate` in %/d.

    Equation: 100 (exp(SGR / 100) - 1). None where it is too large for a number.
    Source: definition of exponential growth.
    """
    try:
        return 100 * expm1(finite("rate", rate) / 100)
    except OverflowError:
        return None


def condition(weight: float, length: float) -> float:
    """Fulton's condition factor K, in 100 g/cm3.

    Equation: K = 100 W / L^3.
    Parameters: `weight` in g, 0 or more; `length` in cm, above 0; say which length (total here).
    Range: fish of one stage and one kind of length; K of larvae is not that of adults.
    Errors: Refusal naming the input.
    Source: Fulton 1904, in 22nd Annual Report of the Fishery Board for Scotland (from memory);
    Piper et al. 1982, Fish Hatchery Management, p. 61.
    """
    zero_or_more("weight", weight, "g")
    above_zero("length", length, "cm")
    return answer(100 * weight / length / length / length, "weight", "length")


def relative_condition(weight: float, length: float, a: float, b: float) -> float:
    """Relative condition Kn: a fish against the usual weight at its length; 1 is usual.

    Equation: Kn = W / (a L^b).
    Parameters: `weight` in g, 0 or more; `length` in mm, above 0; `a` above 0 and `b` from the
    regression log W = log a + b log L of fish of the same stock, in g and mm.
    Range: the lengths that a and b were fitted to. Errors: Refusal naming the input.
    Source: Le Cren 1951, The length-weight relationship of the perch, J. Anim. Ecol. 20:201 (from
    memory).
    """
    zero_or_more("weight", weight, "g")
    above_zero("length", length, "mm")
    above_zero("a", a)
    finite("b", b)
    try:
        usual = answer(a * length**b, "length", "a", "b")
        return answer(weight / usual, "weight", "length", "a", "b")
    except (OverflowError, ZeroDivisionError):
        raise Refusal("length and b together are too large or too small for an answer.") from None


def weight_length(weights: Sequence[float], lengths: Sequence[float]) -> WeightLength | None:
    """The a and b of a stock from a sample of it, by least squares in logarithms.

    Equation: log W = log a + b log L.
    Parameters: `weights` in g and `lengths` in mm (or any other two units, kept to), above 0, as
    many of each. Returns None where all lengths are the same. Range: fish of one stage.
    Errors: Refusal naming the input. Source: Le Cren 1951, J. Anim. Ecol. 20:201 (from memory).
    """
    if len(weights) != len(lengths):
        raise Refusal(f"lengths has {len(lengths)} numbers and weights {len(weights)}: one each.")
    x = [log(above_zero("lengths", length)) for length in lengths]
    y = [log(above_zero("weights", weight)) for weight in weights]
    if not x or min(x) == max(x):
        return None
    at, level = fsum(x) / len(x), fsum(y) / len(y)
    across = fsum((one - at) * (other - level) for one, other in zip(x, y, strict=True))
    b = across / fsum((one - at) ** 2 for one in x)
    try:
        a = exp(level - b * at)
    except OverflowError:
        return None
    return WeightLength(a, b) if a > 0 else None


def thermal_growth(start: float, end: float, degree_days: float) -> float:
    """Thermal growth coefficient, times 1000, in g^(1/3) per degC d.

    Equation: TGC = 1000 (end^(1/3) - start^(1/3)) / sum T.
    Parameters: `start`, `end` mean weights in g, above 0; `degree_days` (base 0) above 0.
    Range: fish that keep their shape, well inside the temperatures they grow at; not larvae.
    Errors: Refusal naming the input.
    Source: Iwama & Tautz 1981, Can. J. Fish. Aquat. Sci. 38:649 (from memory); cautions: Jobling
    2003, Aquac. Res. 34:581. Texts that multiply by 100 are ten times lower.
    """
    above_zero("start", start, "g")
    above_zero("end", end, "g")
    above_zero("degree_days", degree_days, "degC d")
    gained = end ** (1 / 3) - start ** (1 / 3)
    return answer(1000 * gained / degree_days, "start", "end", "degree_days")


def thermal_weight(start: float, tgc: float, degree_days: float) -> float:
    """Weight foretold from a thermal growth coefficient, in g.

    Equation: W = (start^(1/3) + TGC / 1000 sum T)^3.
    Parameters: `start` in g, above 0; `tgc` times 1000, in g^(1/3) per degC d; `degree_days` 0 or
    more. Range, errors, source: as thermal_growth; Refusal where a loss would leave no fish.
    """
    above_zero("start", start, "g")
    zero_or_more("degree_days", degree_days, "degC d")
    root = start ** (1 / 3) + finite("tgc", tgc) / 1000 * degree_days
    if root < 0:
        raise Refusal(f"tgc {tgc:g} over these degree_days takes more than start, {start:g} g.")
    return answer(root * root * root, "start", "tgc", "degree_days")


def degree_days(temperatures: Sequence[float], base: float) -> float:
    """Degree-days above a base, in degC d.

    Equation: sum of max(0, T - base), one T a day.
    Parameters: `temperatures`, daily means in degC; `base` in degC.
    Range: any. Errors: Refusal for an empty list or a temperature water cannot have.
    Source: definition; common practice, no source.
    """
    if not temperatures:
        raise Refusal("temperatures has to hold at least one daily mean.")
    water_temperature(base, "base")
    return fsum(max(0.0, water_temperature(t, "temperatures") - base) for t in temperatures)


def spread(values: Sequence[float]) -> Spread:
    """Mean, standard deviation (n - 1) and coefficient of variation of sizes.

    Equation: CV = 100 s / mean.
    Parameters: `values`, one a fish, 0 or more, any one unit.
    Range: 2 fish or more have a spread. Errors: Refusal for an empty list or a size below 0.
    Source: definition.
    """
    if not values:
        raise Refusal("values has to hold at least one size.")
    for value in values:
        zero_or_more("values", value)
    n = len(values)
    mean = fsum(values) / n
    if n < 2:
        return Spread(n, mean, None, None)
    sd = sqrt(fsum((value - mean) ** 2 for value in values) / (n - 1))
    return Spread(n, mean, sd, 100 * sd / mean if mean > 0 else None)


def mean_limits(mean: float, sd: float, number: float) -> Interval:
    """95 % limits of a mean of sizes, mean -+ t(0.975, n - 1) s / sqrt(n).

    Parameters: `mean` and `sd`, 0 or more, in one unit; `number` of fish, 2 or more.
    Range: sizes about normal; fish of one tank, drawn at random.
    Errors: Refusal outside it. Source: Student 1908, Biometrika 6:1 (from memory).
    """
    zero_or_more("mean", mean)
    zero_or_more("sd", sd)
    if not number >= 2:
        raise Refusal(f"number has to be 2 or more, not {number:g}.")
    half = answer(t_quantile(0.975, number - 1) * sd / sqrt(number), "sd", "number")
    return Interval(mean - half, mean + half)


def feed_conversion(feed: float, start: float, end: float, dead: float) -> float | None:
    """Feed conversion ratio: feed given for what the fish put on, both in g.

    Equation: FCR = feed / (end - start + dead); with dead = 0 it is the economic one.
    Parameters: `feed`, `start` and `end` biomass (from a census, not from book numbers) and `dead`
    biomass removed, all in g and 0 or more. Returns None where nothing was put on.
    Range: any. Errors: Refusal naming the input. Source: definition.
    """
    for name, value in (("feed", feed), ("start", start), ("end", end), ("dead", dead)):
        zero_or_more(name, value, "g")
    gain = end - start + dead
    return feed / gain if gain > 0 else None


def ration(number: float, weight: float, percent: float) -> float:
    """Feed a day for a tank, in g/d.

    Equation: number x weight x percent of body weight; weight turned from mg into g.
    Parameters: `number` of fish, `weight` mean in mg, `percent` in %/d, all 0 or more.
    Range: any. Errors: Refusal naming the input. Source: definition.
    """
    zero_or_more("number", number)
    zero_or_more("weight", weight, "mg")
    zero_or_more("percent", percent, "%/d")
    return number * (weight / 1000) * (percent / 100)


# ---- forward by temperature; eggs by their size


def days_to(needed: float, done: float, temperature: float, base: float = 0) -> float:
    """Days until so many degree-days are reached, (needed - done) / (T - base).

    Parameters: degree-days needed and done, 0 or more; daily mean and base temperature, degC.
    Returns d; 0 where they are reached. Range: one steady temperature.
    Errors: Refusal outside it, and for a temperature not above the base.
    Source: definition.
    """
    zero_or_more("needed", needed, "degC d")
    zero_or_more("done", done, "degC d")
    warm = water_temperature(temperature) - finite("base", base)
    if warm <= 0:
        raise Refusal(f"temperature has to be above base, {base:g} degC: nothing adds up below it.")
    return answer(max(0.0, needed - done) / warm, "needed", "temperature")


EGG_PACKING = 0.614
"""Part of a measure that eggs fill, poured and not pressed. Spheres poured at random fill 0.60 to
0.64 of it (Scott 1960, Nature 188:908, from memory); where between is common practice."""


def eggs_in_a_liter(diameter: float) -> float:
    """Eggs in a drained liter by their diameter, 0.614 x 10^6 / (pi d^3 / 6).

    Parameters: diameter of the swollen egg in mm, 0.1 to 30. Returns eggs per L.
    Range: round eggs, swollen and drained, poured and not pressed; give or take 5 %.
    Errors: Refusal outside it. Source: as `EGG_PACKING`.
    """
    within("diameter", diameter, 0.1, 30, "mm")
    return answer(EGG_PACKING * 1e6 / (pi * diameter * diameter * diameter / 6), "diameter")
