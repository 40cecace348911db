"""Gas in the water, all together: what a saturometer reads, and which gas it is."""

from __future__ import annotations

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science import oxygen as dissolved
from tankwalk.science.limits import answer, finite, zero_or_more
from tankwalk.science.salinity import density

OXYGEN_IN_AIR = 0.20946
NITROGEN_ARGON_IN_AIR = 0.7902
"""Parts of dry air by volume, from memory; CO2 is the rest, so both full give 100.04 %."""

GRAVITY = 9.80665
PASCAL_PER_MMHG = 133.322
USUAL_TEMPERATURE = 20.0
"""degC of a water column whose temperature is not said: 5 degC away moves it by 0.1 %."""


def total_percent(delta_p: float, pressure: float = 760) -> float:
    """Total gas pressure as a part of the air's, 100 (BP + dP) / BP.

    Parameters: delta_p, the excess over the air in mmHg (below 0 where gas is missing), and
    station pressure in mmHg. Returns %. Range: any.
    Errors: Refusal for a pressure air cannot have, or a delta_p that would leave less than no gas.
    Source: Colt 1984, American Fisheries Society Special Publication 14; CCME 1999, guideline for
    dissolved gas supersaturation, eq. 1.
    """
    dissolved.air(pressure)
    if finite("delta_p", delta_p) < -pressure:
        raise Refusal(
            f"delta_p {delta_p:g} mmHg would be less than no gas at {pressure:g} mmHg of air."
        )
    return answer(100 * (pressure + delta_p) / pressure, "delta_p")


def delta_p(total: float, pressure: float = 760) -> float:
    """Excess gas pressure from the total in percent, BP (total / 100 - 1).

    Parameters: total gas pressure in % and station pressure in mmHg. Returns mmHg.
    Range: any. Errors: Refusal for a total below 0 or a pressure air cannot have.
    Source: the inverse of `total_percent`.
    """
    dissolved.air(pressure)
    return answer(pressure * (zero_or_more("total", total, "%") / 100 - 1), "total")


def water_column(temperature: float = USUAL_TEMPERATURE, salinity: float = 0) -> float:
    """Pressure of a meter of water, rho g / 133.322.

    Parameters: temperature in degC, salinity in g/kg. Returns mmHg/m. Range and errors: as
    `tankwalk.science.salinity.density`.
    Source: Colt 1984, American Fisheries Society Special Publication 14, from memory.
    """
    return density(temperature, salinity) * GRAVITY / PASCAL_PER_MMHG


def uncompensated(
    delta_p: float, depth: float, temperature: float = USUAL_TEMPERATURE, salinity: float = 0
) -> float:
    """Excess gas pressure that a depth does not hold down, dP - (rho g / 133.322) Z.

    Parameters: delta_p in mmHg at the surface, depth of the fish in m, and the water's
    temperature in degC and salinity in g/kg. Returns mmHg; below 0 bubbles cannot grow.
    Range: any. Errors: Refusal for a depth below 0. Source: Colt 1984, from memory.
    """
    zero_or_more("depth", depth, "m")
    column = water_column(temperature, salinity)
    return answer(finite("delta_p", delta_p) - column * depth, "delta_p", "depth")


def compensation_depth(
    delta_p: float, temperature: float = USUAL_TEMPERATURE, salinity: float = 0
) -> float:
    """Depth below which no bubble grows, dP / (rho g / 133.322); 0 where no gas is in excess.

    Parameters: delta_p in mmHg, temperature in degC, salinity in g/kg. Returns m.
    Range: any. Errors: Refusal as for `water_column`. Source: Colt 1984, from memory.
    """
    return max(0.0, finite("delta_p", delta_p) / water_column(temperature, salinity))


def oxygen_pressure(oxygen: float, temperature: float, salinity: float = 0) -> float:
    """Pressure of the dissolved oxygen, DO / C(t, S, 1 atm) x 0.20946 (760 - Pw).

    Parameters: oxygen in mg/L, temperature in degC, salinity in g/kg. Returns mmHg.
    Range and errors: as `tankwalk.science.oxygen.saturation`; Refusal for oxygen below 0.
    Source: Colt 1984, American Fisheries Society Special Publication 14, with the solubility of
    Benson & Krause 1984.
    """
    full = dissolved.percent(oxygen, temperature, salinity) / 100
    air = dissolved.ATMOSPHERE_MMHG - dissolved.vapor_pressure(temperature)
    return answer(full * (OXYGEN_IN_AIR * air), "oxygen")


class Parts(NamedTuple):
    """Gases apart: mmHg of oxygen, and both in % of what the moist air would give."""

    oxygen_pressure: float
    oxygen_percent: float
    nitrogen_argon: float | None


def parts(
    delta_p: float,
    oxygen: float,
    temperature: float,
    salinity: float = 0,
    pressure: float = 760,
) -> Parts:
    """Which gas it is: oxygen by its reading, nitrogen with argon as what is left.

    N2+Ar % = 100 (BP + dP - pO2 - Pw) / (0.7902 (BP - Pw)); O2 % = 100 pO2 / (0.20946 (BP - Pw)).

    Parameters: delta_p in mmHg, oxygen in mg/L, temperature in degC, salinity in g/kg, station
    pressure in mmHg. Returns mmHg, % and %; nitrogen_argon is None where oxygen and vapor alone
    are more than the total. Range and errors: as `total_percent` and
    `tankwalk.science.oxygen.saturation`.
    Source: Colt 1984, American Fisheries Society Special Publication 14.
    """
    total_percent(delta_p, pressure)
    dissolved.saturation(temperature, salinity, pressure)  # refuses water that would boil here
    vapor = dissolved.vapor_pressure(temperature)
    o2 = oxygen_pressure(oxygen, temperature, salinity)
    left = pressure + delta_p - o2 - vapor
    moist = pressure - vapor
    nitrogen = None if left < 0 else answer(100 * left / (NITROGEN_ARGON_IN_AIR * moist), "delta_p")
    return Parts(o2, answer(100 * o2 / (OXYGEN_IN_AIR * moist), "oxygen"), nitrogen)
