"""Prey in the tank: how much to give, how fast it washes out, and whether it fits the mouth.

Names of parameters are the keys a person types.
"""

from __future__ import annotations

from enum import StrEnum
from math import ceil, exp, expm1, isfinite, log, log1p

from tankwalk.rows import NamedTuple
from tankwalk.science.limits import above_zero, answer, zero_or_more

MOST_MEALS = 1440
"""Meals in a day, one a minute: a plan that needs more is a drip."""


def prey_needed(volume: float, target: float, residual: float) -> float:
    """Prey that brings a tank to its density, N = (target - residual) V 1000, never below 0.

    Parameters: volume in L, above 0; target and residual in per mL, 0 or more. Returns prey.
    Range: a residual that was counted, not assumed.
    Errors: Refusal outside it. Source: definition.
    """
    above_zero("volume", volume, "L")
    zero_or_more("target", target, "per mL")
    zero_or_more("residual", residual, "per mL")
    return answer(max(0.0, target - residual) * volume * 1000, "target", "volume")


def concentrate_needed(prey: float, concentrate: float) -> float:
    """Volume of a counted concentrate that holds so many prey, N / concentrate.

    Parameters: prey, 0 or more; concentrate in per mL, above 0. Returns mL.
    Range: all. Errors: Refusal outside it. Source: definition.
    """
    zero_or_more("prey", prey)
    return answer(prey / above_zero("concentrate", concentrate, "per mL"), "concentrate")


def _rates(flow: float, volume: float, eaten: float) -> tuple[float, float]:
    """Dilution k per hour, and what is eaten in per mL per hour."""
    above_zero("volume", volume, "L")
    dilution = answer(60 * zero_or_more("flow", flow, "L/min") / volume, "flow", "volume")
    eating = answer(zero_or_more("eaten", eaten, "per h") / 1000 / volume, "eaten", "volume")
    return dilution, eating


def density_after(
    start: float, flow: float, volume: float, hours: float, eaten: float = 0
) -> float:
    """Prey left after washout and eating, C = (C0 + g/k) exp(-k t) - g/k, never below 0.

    k = 60 Q / V per hour and g = eaten / (1000 V); with nothing eaten, C = C0 exp(-k t).
    Parameters: start in per mL, flow in L/min, hours and eaten in prey per hour, 0 or more;
    volume in L, above 0. Returns per mL.
    Range: a well-mixed tank, no prey coming in, eating at one rate.
    Errors: Refusal outside it. Source: mass balance of a stirred tank.
    """
    zero_or_more("start", start, "per mL")
    zero_or_more("hours", hours, "h")
    k, g = _rates(flow, volume, eaten)
    gone = answer(k * hours, "flow", "hours", "volume")
    # (1 - exp(-k t)) / (k t), which is 1 where there is hardly a flow.
    part = -expm1(-gone) / gone if gone > 0 else 1.0
    left = answer(start * exp(-gone) - g * hours * part, "start", "eaten", "hours")
    return max(0.0, left)


def hours_to(
    start: float, floor: float, flow: float, volume: float, eaten: float = 0
) -> float | None:
    """Time until washout and eating bring prey to a floor, t = V / (60 Q) ln(C0 / C1).

    With eating, t = ln((C0 + g/k) / (C1 + g/k)) / k; with no flow, t = (C0 - C1) / g.
    Parameters: start and floor in per mL, 0 or more; the rest as for `density_after`.
    Returns h, 0 where it is there already, None where it never comes.
    Range: as `density_after`. Errors: Refusal outside it.
    Source: mass balance of a stirred tank.
    """
    zero_or_more("start", start, "per mL")
    zero_or_more("floor", floor, "per mL")
    k, g = _rates(flow, volume, eaten)
    if start <= floor:
        return 0.0
    if k == 0:
        return None if g == 0 else _written((start - floor) / g)
    if g == 0:
        return None if floor == 0 else _written((log(start) - log(floor)) / k)
    # ln((C0 + g/k) / (C1 + g/k)) with k multiplied through, so that a small k keeps its digits.
    return _written(log1p((start - floor) * k / (floor * k + g)) / k)


def _written(hours: float) -> float | None:
    """A time, or None where it is so long that it never comes."""
    return hours if isfinite(hours) else None


def meals_a_day(hours: float | None) -> int | None:
    """Meals that keep prey above the floor, 24 / t rounded up.

    Parameters: hours from a meal to the floor, None where it never comes. Returns meals a day,
    None where no number of meals follows: the floor never comes, or comes within a minute.
    Range: meals spread evenly. Errors: none. Source: definition.
    """
    if hours is None or hours * MOST_MEALS < 24:
        return None
    # Rounded first: not one meal more for the last bit of a float.
    return max(1, ceil(round(24 / hours, 9)))


def drip(density: float, flow: float) -> float:
    """Prey that hold a density against the flow, Q x 1000 x C; what is eaten comes on top.

    Parameters: density in per mL and flow in L/min, 0 or more. Returns prey per min.
    Range: a well-mixed tank at its steady state. Errors: Refusal outside it.
    Source: mass balance of a stirred tank.
    """
    zero_or_more("density", density, "per mL")
    return answer(1000 * density * zero_or_more("flow", flow, "L/min"), "density", "flow")


class Gape(NamedTuple):
    """A mouth, mm."""

    width: float
    height: float


def gape(length: float) -> Gape:
    """Mouth of a yellow perch larva, width 0.081599 + 0.006664 L^2, height 0.060535 + 0.007155 L^2.

    Parameters: total length in mm, above 0. Returns mm.
    Range: yellow perch below 10 mm. Prey is judged by its width, most often a quarter to a half
    of the mouth.
    Errors: Refusal outside it.
    Source: Oetker 1998, thesis, Michigan State University, abstract.
    """
    above_zero("length", length, "mm")
    square = length * length
    wide = answer(0.081599 + 0.006664 * square, "length")
    return Gape(wide, answer(0.060535 + 0.007155 * square, "length"))


class Fit(StrEnum):
    """How a prey goes into a mouth: by its width against the width of the mouth."""

    FITS = "fits"
    MARGINAL = "marginal"
    TOO_WIDE = "too wide"


GAPE_OF = "yellow perch"
"""Whose mouth the equation is of."""
GAPE_LONGEST = 10.0
"""Length in mm above which it is not known to hold."""
EASY_PART = 0.5
"""The part of a mouth that a prey mostly takes at the most: common practice, no source."""


class Fitted(NamedTuple):
    """A prey held against a mouth.

    `part` is the width of the prey over the `mouth`'s, both in mm. `of` is the species whose mouth
    it is, `same` whether that is the fish asked about, and `beyond` whether the fish is longer than
    the equation is known to hold for.
    """

    fit: Fit
    part: float
    width: float
    mouth: float
    of: str
    same: bool
    beyond: bool


def fitted(width: float, length: float, species: str = GAPE_OF) -> Fitted:
    """Whether a prey fits into the mouth of a larva, by width / mouth.

    Fits up to half of the mouth; marginal above that; too wide where it is as wide as the mouth.
    Parameters: width of the prey in um and total length of the fish in mm, above 0; species, as
    profiles name it. Returns the fit with what it was held against.
    Range: yellow perch below 10 mm; for other species it is a yellow perch's mouth, and says so.
    Errors: Refusal outside it.
    Source: Oetker 1998, thesis, Michigan State University, abstract, for the mouth; its parts are
    common practice.
    """
    wide = above_zero("width", width, "um") / 1000
    mouth = gape(length).width
    part = answer(wide / mouth, "width", "length")
    fit = Fit.FITS if part <= EASY_PART else Fit.MARGINAL if part < 1 else Fit.TOO_WIDE
    same = species == GAPE_OF
    return Fitted(fit, part, wide, mouth, GAPE_OF, same, length >= GAPE_LONGEST)
