"""Artemia and rotifers: shells taken off, hatches and cultures counted, what to set and to feed.

Names of parameters are the keys a person types.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import exp, expm1, log, log1p, sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.distributions import Interval, chi2_quantile, poisson_limits, t_quantile
from tankwalk.science.limits import above_zero, answer, finite, part, within, zero_or_more

CHLORINE = 0.5
"""Active chlorine for a gram of dry cysts, g: FAO Fisheries Technical Paper 361, from memory."""
CAUSTIC = 0.15
"""Sodium hydroxide for a gram of dry cysts with liquid bleach, g; the same source."""
TOTAL = 14.0
"""Volume a gram of dry cysts is made up to, mL; the same source."""
HOTTEST_BATH = 40.0
"""The hottest a decapsulation bath may get, degC; the same source."""
HATCHING_DENSITY = 2.0
"""Cysts in a liter of hatching water, g: FAO freshwater prawn manual, annex 4."""

# The weakest bleach is printed as 35.7 g/L; 0.5 g in 14 mL is 35.714.
_PRINTED = 0.0005


class Decapsulation(NamedTuple):
    """What goes together: bleach, water and the whole in mL, caustic in g."""

    bleach: float
    caustic: float
    water: float
    total: float


def decapsulation(
    cysts: float,
    bleach: float,
    chlorine: float = CHLORINE,
    caustic: float = CAUSTIC,
    total: float = TOTAL,
) -> Decapsulation:
    """The mix that takes the shells off Artemia cysts.

    bleach = 1000 m chlorine / c; caustic = 0.15 m; whole = 14 m; water = whole - bleach.
    Parameters: cysts in g dry; bleach in g/L of available chlorine; chlorine and caustic in g
    and total in mL for each gram of cysts. Returns bleach, water and whole in mL, caustic in g.
    Range: liquid bleach; published recipes use 0.17 to 0.6 g of chlorine and 7 to 14 mL. The
    water that a caustic solution brings is left out.
    Errors: Refusal for what is not above 0 (caustic may be 0), and for a bleach so weak that
    it leaves no room: below 35.7 g/L with the usual figures.
    Source: Lavens and Sorgeloos 1996, FAO Fisheries Technical Paper 361, worksheet 4.3.2,
    after Bruggeman, Sorgeloos and Vanhaecke 1980; from memory.
    """
    above_zero("cysts", cysts, "g")
    above_zero("bleach", bleach, "g/L")
    above_zero("chlorine", chlorine, "g/g")
    zero_or_more("caustic", caustic, "g/g")
    whole = answer(above_zero("total", total, "mL/g") * cysts, "total", "cysts")
    poured = answer(1000 * chlorine * cysts / bleach, "chlorine", "cysts", "bleach")
    if poured > whole * (1 + _PRINTED):
        weakest = 1000 * chlorine / total
        raise Refusal(
            f"bleach of {bleach:g} g/L is too weak: {chlorine:g} g of chlorine in {total:g} mL "
            f"for each gram of cysts needs {weakest:.1f} g/L or more."
        )
    alkali = answer(caustic * cysts, "caustic", "cysts")
    return Decapsulation(poured, alkali, max(0.0, whole - poured), max(whole, poured))


def hatch_percent(nauplii: float, umbrella: float, embryos: float) -> float:
    """Hatching percentage, H = 100 N / (N + U + E).

    Parameters: nauplii, umbrella stages and embryos not hatched, counts or means of counts, 0
    or more. Returns %.
    Range: embryos counted after their shells are dissolved.
    Errors: Refusal below 0, or where nothing was counted.
    Source: Lavens and Sorgeloos 1996, FAO Fisheries Technical Paper 361, worksheet 4.3.4; from
    memory.
    """
    zero_or_more("nauplii", nauplii)
    zero_or_more("umbrella", umbrella)
    zero_or_more("embryos", embryos)
    counted = answer(nauplii + umbrella + embryos, "nauplii", "umbrella", "embryos")
    if counted == 0:
        raise Refusal("nauplii, umbrella and embryos are all 0: nothing was counted.")
    return 100 * (nauplii / counted)


def hatch_efficiency(count: float, subsample: float, volume: float, cysts: float) -> float:
    """Nauplii from a gram of cysts, HE = N / subsample x volume / cysts.

    Parameters: count is the mean of the subsamples, 0 or more; subsample and volume in mL and
    cysts in g, above 0. Returns nauplii per g.
    Range: a well-mixed cone, the subsample no larger than it.
    Errors: Refusal outside it.
    Source: Lavens and Sorgeloos 1996, FAO Fisheries Technical Paper 361, worksheet 4.3.4 (N x 4
    x 80 / 1.6); from memory.
    """
    zero_or_more("count", count)
    _part_of_volume(subsample, volume, "mL")
    found = count / subsample * volume / above_zero("cysts", cysts, "g")
    return answer(found, "count", "volume", "cysts")


def hatch_output(efficiency: float, weight: float) -> float:
    """Dry weight of nauplii from a gram of cysts, HE x weight / 1000.

    Parameters: efficiency in nauplii per g, weight of one in ug, 0 or more. Returns mg/g.
    Range: newly hatched nauplii; 1.6 to 3.3 ug by strain.
    Errors: Refusal outside it.
    Source: Lavens and Sorgeloos 1996, FAO Fisheries Technical Paper 361, worksheet 4.3.4; from
    memory.
    """
    zero_or_more("efficiency", efficiency, "per g")
    return answer(efficiency * zero_or_more("weight", weight, "ug") / 1000, "weight")


def hatch_yield(nauplii: float, cysts: float, per_gram: float) -> float:
    """The part of a tin's cysts that came out as nauplii, 100 N / (m F).

    Parameters: nauplii harvested, 0 or more; cysts in g and per_gram, the nauplii a gram gives
    when every cyst hatches, above 0. Returns %.
    Range: what is lost in the harvest counts as not hatched: compare a lot with its own cones.
    Above 100 the count, the grams or the figure of the tin are wrong.
    Errors: Refusal outside it. Source: definition.
    """
    zero_or_more("nauplii", nauplii)
    whole = above_zero("cysts", cysts, "g") * above_zero("per_gram", per_gram, "per g")
    return answer(100 * nauplii / answer(whole, "cysts", "per_gram"), "nauplii")


def cysts_needed(nauplii: float, efficiency: float, recovery: float = 1) -> float:
    """Cysts to set for so many nauplii, m = N / (HE recovery).

    Parameters: nauplii, 0 or more; efficiency in nauplii per g, above 0; recovery, the part
    that is harvested, above 0 to 1. Returns g.
    Range: all. Errors: Refusal outside it. Source: definition.
    """
    zero_or_more("nauplii", nauplii)
    above_zero("efficiency", efficiency, "per g")
    part("recovery", recovery)
    return answer(nauplii / efficiency / recovery, "nauplii", "efficiency", "recovery")


def hatching_water(cysts: float, density: float = HATCHING_DENSITY) -> float:
    """Water to hatch them in, cysts / density.

    Parameters: cysts in g, 0 or more; density in g/L, above 0. Returns L.
    Range: 2 g/L, and up to 5 g/L below 20 L. Errors: Refusal outside it.
    Source: FAO freshwater prawn manual, annex 4.
    """
    zero_or_more("cysts", cysts, "g")
    return answer(cysts / above_zero("density", density, "g/L"), "cysts", "density")


# ---- counts in subsamples


class Aliquots(NamedTuple):
    """A population from subsamples; `dispersion`, `cv` and `mixed` where two counts allow it."""

    total: float
    density: float
    low: float
    high: float
    cv: float | None
    dispersion: float | None
    mixed: bool | None


def aliquots(
    counts: Sequence[float], subsample: float, volume: float, dilution: float = 1
) -> Aliquots:
    """What a volume holds, from counts in subsamples of it, with 95 % limits.

    density = mean / subsample x dilution; dispersion = sum (x - m)^2 / m. While that stays below
    the 97.5 % point of chi-square with n - 1 degrees of freedom, the sum of the counts is taken
    as Poisson, with exact limits; else the limits are Student's, m +/- t s / sqrt(n), not below 0.
    Parameters: counts, whole numbers of 0 or more; subsample in mL, above 0; volume in L, above
    0; dilution 1 or more. Returns total and its limits, density in per mL, cv of the counts in
    %, dispersion, and whether the counts look well mixed (None: one count, or all are 0).
    Range: subsamples of one size, small beside the volume.
    Errors: Refusal outside it.
    Source: Fisher 1950, Biometrics 6:17, index of dispersion; Garwood 1936, Biometrika 28:437,
    exact limits, (chi2(0.025, 2k)/2, chi2(0.975, 2k+2)/2).
    """
    if not counts:
        raise Refusal("counts is empty: give one count or more.")
    for one in counts:
        if zero_or_more("counts", one) != int(one):
            raise Refusal(f"counts has to be whole numbers, and {one:g} is not.")
    _part_of_volume(subsample, 1000 * above_zero("volume", volume, "L"), "mL")
    if not finite("dilution", dilution) >= 1:
        raise Refusal(f"dilution has to be 1 or more, not {dilution:g}.")
    n = len(counts)
    found = answer(sum(counts), "counts")
    mean = found / n
    to_total = answer(dilution / subsample * 1000 * volume, "dilution", "subsample", "volume")
    cv = dispersion = mixed = None
    squares = answer(sum((one - mean) * (one - mean) for one in counts), "counts")
    spread = sqrt(squares / (n - 1)) if n >= 2 else None
    if spread is not None and mean > 0:
        cv = 100 * spread / mean
        dispersion = squares / mean
        mixed = dispersion < chi2_quantile(0.975, n - 1)
    low, high = _limits(mean, n, spread if mixed is False else None)
    return Aliquots(
        answer(mean * to_total, "counts", "volume"),
        answer(mean / subsample * dilution, "counts", "subsample"),
        low * to_total,
        answer(high * to_total, "counts", "volume"),
        cv,
        dispersion,
        mixed,
    )


def _limits(mean: float, n: int, spread: float | None) -> Interval:
    """95 % limits of a mean of `n` counts: Student's by their spread, or exact Poisson by none."""
    if spread is not None and n >= 2:
        half = t_quantile(0.975, n - 1) * spread / sqrt(n)
        return Interval(max(0.0, mean - half), mean + half)
    low, high = poisson_limits(round(mean * n), 0.95)
    return Interval(low / n, high / n)


MOST_MORE = 50
"""More subsamples than anybody counts of one cone."""


def aliquots_with(counts: Sequence[float], more: int) -> Interval:
    """The limits to expect of the mean count, were so many more subsamples like those so far.

    Parameters: counts as for `aliquots`; more, 0 or more, whole. Returns 95 % limits of the mean
    of one subsample: for a density or a total, multiply as the mean is.
    Range: the mean and the spread stay what they are, which no further count promises; which
    limits are used is decided as in `aliquots`.
    Errors: Refusal as from `aliquots`, or below 0.
    Source: as `aliquots`.
    """
    if more != int(zero_or_more("more", more)):
        raise Refusal(f"more has to be a whole number, and {more:g} is not.")
    now = aliquots(counts, 1, 1)
    mean = sum(counts) / len(counts)
    spread = mean * now.cv / 100 if now.mixed is False and now.cv is not None else None
    return _limits(mean, len(counts) + int(more), spread)


def aliquots_more(counts: Sequence[float], error: float) -> int | None:
    """How many more subsamples bring half the width of the 95 % limits to a part of the mean.

    Parameters: counts as for `aliquots`; error as a fraction, above 0. Returns the fewest, 0 where
    it is so narrow already; None where nothing was counted, or 50 more would not do.
    Range and errors: as `aliquots_with`. Source: as `aliquots`.
    """
    above_zero("error", error)
    mean = sum(counts) / len(counts) if counts else 0.0
    for more in range(MOST_MORE + 1):
        low, high = aliquots_with(counts, more)
        if mean > 0 and (high - low) / 2 <= error * mean:
            return more
    return None


def aliquots_needed(mean: float, error: float) -> float:
    """Subsamples that bring the standard error of the mean to a part of it, n = 1 / (m D^2).

    Parameters: mean count of one subsample and error as a fraction, both above 0.
    Returns subsamples, not rounded.
    Range: well-mixed water, counts that scatter as Poisson.
    Errors: Refusal outside it.
    Source: Elliott 1977, Some Methods for the Statistical Analysis of Samples of Benthic
    Invertebrates; from memory.
    """
    above_zero("mean", mean)
    above_zero("error", error)
    return answer(1 / mean / error / error, "mean", "error")


def _part_of_volume(subsample: float, volume: float, unit: str) -> None:
    above_zero("subsample", subsample, unit)
    above_zero("volume", volume, unit)
    if subsample > volume:
        raise Refusal(f"subsample of {subsample:g} {unit} is more than the volume it is from.")


# ---- rotifers


class Growth(NamedTuple):
    """A culture's rate per day, its doubling time in days, the harvest a day that holds it."""

    rate: float
    doubling: float | None
    harvest: float


def rotifer_growth(start: float, end: float, days: float) -> Growth:
    """Growth of a culture, r = ln(Nt / N0) / t; doubling ln 2 / r; harvest 1 - exp(-r).

    Parameters: start and end in per mL and days, all above 0. Returns r per day, doubling in
    days (None while it does not grow) and the fraction a day that holds it (0 then).
    Range: nothing harvested or diluted meanwhile. Errors: Refusal outside it.
    Source: definition of exponential growth.
    """
    above_zero("start", start, "per mL")
    above_zero("end", end, "per mL")
    rate = answer((log(end) - log(start)) / above_zero("days", days, "d"), "days")
    if rate <= 0:
        return Growth(rate, None, 0.0)
    return Growth(rate, answer(log(2) / rate, "days"), -expm1(-rate))


class Taken(NamedTuple):
    """A harvest of a culture: the water taken in L, the animals in it, the density after filling
    up again in per mL."""

    water: float
    number: float
    density: float


def culture_harvest(density: float, volume: float, part_taken: float) -> Taken:
    """What a harvest takes, V h and 1000 C V h, and leaves once filled up again, C (1 - h).

    Parameters: density in per mL, 0 or more; volume in L, above 0; part_taken, the part of the
    water that is taken, above 0 to 1. Returns L, animals, per mL.
    Range: a well-mixed culture, filled up with water without animals.
    Errors: Refusal outside it. Source: definition.
    """
    zero_or_more("density", density, "per mL")
    water = above_zero("volume", volume, "L") * part("part_taken", part_taken)
    number = answer(1000 * density * water, "density", "volume")
    return Taken(water, number, density * (1 - part_taken))


def culture_dilution(density: float, volume: float, wanted: float) -> float:
    """Water to take out and fill up again so that a culture comes to a density, V (1 - Cw / C).

    Parameters: density in per mL and volume in L, above 0; wanted in per mL, 0 or more.
    Returns L, 0 where it is thinner already.
    Range: a well-mixed culture, filled up with water without animals.
    Errors: Refusal outside it. Source: definition.
    """
    above_zero("density", density, "per mL")
    above_zero("volume", volume, "L")
    return max(0.0, volume * (1 - zero_or_more("wanted", wanted, "per mL") / density))


def rotifer_forecast(start: float, r: float, days: float) -> float:
    """What a culture grows to, Nt = N0 exp(r t).

    Parameters: start in per mL, 0 or more; r per day, of either sign; days, 0 or more.
    Returns per mL.
    Range: food, water and room enough; r of 1.02 a day is the most reported (Rothhaupt 1990).
    Errors: Refusal outside it, or for a number beyond writing.
    Source: definition of exponential growth.
    """
    zero_or_more("start", start, "per mL")
    power = answer(finite("r", r) * zero_or_more("days", days, "d"), "r", "days")
    if power > 700:  # exp(710) is the last that can be written
        raise Refusal("r and days together are too large for an answer.")
    return answer(start * exp(power), "start", "r", "days")


def egg_ratio(eggs: float, females: float) -> float:
    """Eggs carried by a female, E = eggs / females.

    Parameters: eggs, 0 or more, and females, above 0, of one sample. Returns eggs per female.
    Range: a sample drawn at random, loose eggs counted with those carried.
    Errors: Refusal outside it. Source: Edmondson 1960, Mem. Ist. Ital. Idrobiol. 12:21; from
    memory.
    """
    zero_or_more("eggs", eggs)
    return answer(eggs / above_zero("females", females), "eggs", "females")


def birth_rate(ratio: float, development: float) -> float:
    """Births from the egg ratio, b = ln(1 + E) / D.

    Parameters: ratio in eggs per female, 0 or more; development of an egg in days, above 0.
    Returns per day.
    Range: steady growth, all eggs alike. Errors: Refusal outside it.
    Source: Paloheimo 1974, Limnology and Oceanography 19:692; from memory.
    """
    zero_or_more("ratio", ratio)
    above_zero("development", development, "d")
    return answer(log1p(ratio) / development, "ratio", "development")


def rotifer_ration(number: float, ration: float) -> float:
    """Feed for a culture in a day, number / 1 000 000 x ration.

    Parameters: number of rotifers, ration in g per million per day, both 0 or more. Returns g/d.
    Range: baker's yeast about 1, yeast with oil 0.8 to 2.0 g per million per day.
    Errors: Refusal outside it.
    Source: Lavens and Sorgeloos 1996, FAO Fisheries Technical Paper 361; from memory.
    """
    zero_or_more("number", number)
    zero_or_more("ration", ration, "g per million per d")
    return answer(number / 1e6 * ration, "number", "ration")


# ---- hatching, algae, enrichment


class Hatching(NamedTuple):
    """Hours to a tenth, a half and nine tenths of the hatch; None where it began beyond it."""

    t10: float | None
    t50: float | None
    t90: float | None


def hatching_times(times: Sequence[float], hatched: Sequence[float]) -> Hatching:
    """When a tenth, a half and nine tenths of a hatch were out, on straight lines between counts.

    Parameters: times in h since the cysts were set, rising; hatched, the nauplii counted at each
    (or their percent), of which the most is the whole hatch. Returns h; None where more than that
    part was out at the first count.
    Range: counts an hour or two apart, from the first nauplii until none are added.
    Errors: Refusal for lists of two lengths or below 2, times that do not rise, counts below 0, or
    no nauplii.
    Source: Lavens and Sorgeloos 1996, FAO Fisheries Technical Paper 361, hatching rate, T10 and
    T90; from memory.
    """
    if len(times) != len(hatched) or len(times) < 2:
        raise Refusal("times and hatched have to be as many, 2 or more.")
    if any(later <= earlier for earlier, later in pairwise(times)):
        raise Refusal("times have to rise from one count to the next.")
    most = above_zero("hatched", max(zero_or_more("hatched", one) for one in hatched))

    def reached(part_of_it: float) -> float | None:
        wanted = part_of_it * most
        if hatched[0] > wanted:
            return None
        for (t0, h0), (t1, h1) in pairwise(zip(times, hatched, strict=True)):
            if h0 <= wanted <= h1:
                return t0 if h1 == h0 else t0 + (t1 - t0) * (wanted - h0) / (h1 - h0)
        return None

    return Hatching(reached(0.1), reached(0.5), reached(0.9))


SQUARE = 1e-4
"""mL over one square millimeter of a counting chamber that is 0.1 mm deep: by definition."""


MOST_CELLS = 1e6
"""More than anybody counts."""


class Cells(NamedTuple):
    """Cells in a mL, with 95 % limits."""

    density: float
    low: float
    high: float


def cells_counted(count: float, squares: float, dilution: float = 1, depth: float = 0.1) -> Cells:
    """Cells in a mL from a counting chamber, count / squares / (depth / 1000) x dilution.

    Parameters: cells counted in all, 0 to 1 million, whole; squares of 1 mm x 1 mm, above 0;
    dilution 1 or more; depth in mm, above 0 (0.1: 10 000 for a cell a square). Returns per mL.
    Range: single cells, some 100 or more of them. Errors: Refusal outside it.
    Source: definition of the chamber; Garwood 1936, Biometrika 28:437, exact Poisson limits.
    """
    within("count", count, 0, MOST_CELLS)
    above_zero("squares", squares)
    above_zero("depth", depth, "mm")
    if not finite("dilution", dilution) >= 1:
        raise Refusal(f"dilution has to be 1 or more, not {dilution:g}.")
    to_ml = answer(dilution / squares / (depth / 1000), "squares", "dilution")
    low, high = poisson_limits(count, 0.95)
    return Cells(answer(count * to_ml, "count", "dilution"), low * to_ml, high * to_ml)
