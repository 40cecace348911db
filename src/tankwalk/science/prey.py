"""Prey in the tank: how much to give, how fast it washes out, and whether a day's plan holds.

Names of parameters are the keys a person types.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, exp, expm1, isclose, isfinite, log, log1p
from typing import NamedTuple

from tankwalk.errors import Refusal
from tankwalk.science import livefeed
from tankwalk.science.limits import above_zero, answer, finite, zero_or_more

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


# ---- a day of feeding, from the tanks back to the cysts


class FeedDay(NamedTuple):
    """A day's live feed worked backwards from the tanks, and whether it holds.

    `left` is the density in per mL that a meal falls to before the next one, by tank, `hours` the
    time between meals, and `meals` the fewest that would hold the residual in every tank: None
    where none is needed, or where the target leaves nothing to fall. `holds` says whether the
    meals given are enough.
    """

    prey: float
    cysts: float
    water: float
    mix: livefeed.Decapsulation | None
    hours: float
    left: tuple[float, ...]
    holds: bool
    meals: int | None


def feed_day(
    volumes: Sequence[float],
    flows: Sequence[float],
    meals: float,
    target: float,
    residual: float,
    efficiency: float,
    bleach: float,
    *,
    recovery: float = 1,
    density: float = livefeed.HATCHING_DENSITY,
    eaten: float = 0,
) -> FeedDay:
    """From tanks and meals to prey, cysts, hatching water and the mix that takes shells off.

    Parameters: volumes in L and flows in L/min, one a tank; meals a day, 1 or more; target and
    residual in per mL; efficiency in nauplii per g; bleach in g/L; recovery as a fraction;
    density of cysts in g/L; eaten in prey per hour in each tank. Returns the day.
    Range: meals spread evenly, each filling up from the residual to the target. Where the meals
    do not hold the residual, the prey worked out is too little, and `holds` is False.
    Errors: Refusal as from each step, for no tanks, or for flows that do not match them.
    Source: the definitions and mass balances of this module and `livefeed`.
    """
    if not volumes:
        raise Refusal("volumes is empty: give the volume of each tank.")
    if len(flows) != len(volumes):
        raise Refusal("flows has to give one flow for each of the volumes.")
    if not finite("meals", meals) >= 1:
        raise Refusal(f"meals has to be 1 or more a day, not {meals:g}.")
    prey = answer(meals * sum(prey_needed(v, target, residual) for v in volumes), "meals")
    cysts = livefeed.cysts_needed(prey, efficiency, recovery)
    hours = 24 / meals
    tanks = tuple(zip(volumes, flows, strict=True))
    left = tuple(density_after(target, q, v, hours, eaten) for v, q in tanks)
    times = [hours_to(target, residual, q, v, eaten) for v, q in tanks]
    needed = [many for many in map(meals_a_day, times) if many is not None]
    return FeedDay(
        prey,
        cysts,
        livefeed.hatching_water(cysts, density),
        livefeed.decapsulation(cysts, bleach) if cysts > 0 else None,
        hours,
        left,
        all(now >= residual or isclose(now, residual) for now in left),
        max(needed, default=None),
    )
