"""Dissolved oxygen: what water holds at saturation, and percent saturation.

Source: Benson & Krause 1984, Limnology and Oceanography 29:620-632, in the form of APHA Standard
Methods 4500-O (equation and pressure correction). Station pressure from elevation: US Standard
Atmosphere 1976.
"""

from __future__ import annotations

from math import exp, log

from tankwalk.errors import Refusal
from tankwalk.science.limits import answer, salt, water_temperature, within, zero_or_more

ATMOSPHERE_MMHG = 760.0


def air(value: float, name: str = "pressure") -> float:
    """An air pressure in mmHg that people live under, or Refusal; equations warn well inside it.

    Pressures read in kPa, inHg or hPa at sea level fall outside, and are caught.
    """
    return within(name, value, 200, 1000, "mmHg")


def _vapor_atm(kelvin: float) -> float:
    return exp(11.8571 - 3840.70 / kelvin - 216961 / kelvin**2)


def vapor_pressure(temperature: float) -> float:
    """Pressure of water vapor over water, ln Pw = 11.8571 - 3840.70/T - 216961/T^2 (atm).

    Parameters: temperature in degC. Returns mmHg.
    Range: 0 to 40 degC; salt lowers it by less than 2 % at 35 g/kg, which is left out.
    Errors: Refusal for a temperature water cannot have.
    Source: Benson & Krause 1984, as in APHA Standard Methods 4500-O.
    """
    return _vapor_atm(water_temperature(temperature) + 273.15) * ATMOSPHERE_MMHG


def saturation(temperature: float, salinity: float = 0.0, pressure: float = 760.0) -> float:
    """Oxygen in mg/L in water in equilibrium with moist air.

    Parameters: temperature in degC, salinity (practical, or g/kg), station pressure in mmHg
    (never the sea-level figure of a weather report). Returns mg/L.
    Range: 0 to 40 degC, salinity 0 to 40, 380 to 836 mmHg.
    Errors: Refusal for what water or air cannot be, and where the water would boil.
    Source: Benson & Krause 1984, Limnology and Oceanography 29:620-632; APHA 4500-O.
    """
    kelvin = water_temperature(temperature) + 273.15
    salt(salinity)
    atm = air(pressure) / ATMOSPHERE_MMHG
    vapor = _vapor_atm(kelvin)
    if vapor >= min(atm, 1):
        raise Refusal(
            f"temperature {temperature:g} degC boils water at {min(pressure, 760):g} mmHg: "
            "it holds no oxygen."
        )
    ln_sea_level = (
        -139.34411
        + 1.575701e5 / kelvin
        - 6.642308e7 / kelvin**2
        + 1.243800e10 / kelvin**3
        - 8.621949e11 / kelvin**4
        - salinity * (1.7674e-2 - 1.0754e1 / kelvin + 2.1407e3 / kelvin**2)
    )
    theta = 0.000975 - 1.426e-5 * temperature + 6.436e-8 * temperature**2
    corrected = (1 - vapor / atm) * (1 - theta * atm) / ((1 - vapor) * (1 - theta))
    return exp(ln_sea_level) * atm * corrected


def percent(
    oxygen: float, temperature: float, salinity: float = 0.0, pressure: float = 760.0
) -> float:
    """Percent saturation of `oxygen`, 100 DO / C.

    Parameters: oxygen in mg/L, the others as `saturation`. Returns %. Range, errors and source:
    as `saturation`; Refusal for oxygen below 0.
    """
    zero_or_more("oxygen", oxygen, "mg/L")
    return answer(100 * (oxygen / saturation(temperature, salinity, pressure)), "oxygen")


def from_percent(
    percent: float, temperature: float, salinity: float = 0.0, pressure: float = 760.0
) -> float:
    """Oxygen at `percent` saturation, percent x C / 100.

    Parameters: percent of saturation, the others as `saturation`. Returns mg/L. Range, errors and
    source: as `saturation`; Refusal for a percent below 0.
    """
    zero_or_more("percent", percent, "%")
    return answer(percent / 100 * saturation(temperature, salinity, pressure), "percent")


def station_pressure(elevation: float, sea_level: float = 760.0) -> float:
    """Air pressure at an elevation, P0 (1 - 2.25577e-5 h)^5.25588.

    Parameters: elevation in m, pressure reduced to sea level in mmHg. Returns mmHg.
    Range: -500 to 5000 m, sea level 650 to 815 mmHg.
    Errors: Refusal for an elevation outside -500 to 9000 m or a pressure air cannot have.
    Source: US Standard Atmosphere 1976, troposphere.
    """
    within("elevation", elevation, -500, 9000, "m")
    air(sea_level, "sea_level")
    return float(sea_level * exp(5.25588 * log(1 - 2.25577e-5 * elevation)))
