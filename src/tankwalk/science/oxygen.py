"""Dissolved oxygen: what water holds at saturation, and percent saturation.

Source: Benson & Krause 1984, Limnology and Oceanography 29:620-632, in the form of APHA Standard
Methods 4500-O (equation and pressure correction). Station pressure from elevation: US Standard
Atmosphere 1976.
"""

from __future__ import annotations

from math import exp, log

ATMOSPHERE_MMHG = 760.0


def saturation(temperature: float, salinity: float = 0.0, pressure: float = 760.0) -> float:
    """Oxygen in mg/L in water in equilibrium with moist air.

    Parameters: temperature in degC (0 to 40), salinity (practical, 0 to 40), station pressure in
    mmHg (380 to 836; never the sea-level figure of a weather report).
    Raises ValueError outside those ranges. Equation: Benson & Krause 1984, APHA 4500-O.
    """
    if not 0 <= temperature <= 40:
        raise ValueError("temperature must be 0 to 40 degC")
    if not 0 <= salinity <= 40:
        raise ValueError("salinity must be 0 to 40")
    if not 380 <= pressure <= 836:
        raise ValueError("station pressure must be 380 to 836 mmHg")
    kelvin = temperature + 273.15
    ln_sea_level = (
        -139.34411
        + 1.575701e5 / kelvin
        - 6.642308e7 / kelvin**2
        + 1.243800e10 / kelvin**3
        - 8.621949e11 / kelvin**4
        - salinity * (1.7674e-2 - 1.0754e1 / kelvin + 2.1407e3 / kelvin**2)
    )
    atm = pressure / ATMOSPHERE_MMHG
    vapour = exp(11.8571 - 3840.70 / kelvin - 216961 / kelvin**2)
    theta = 0.000975 - 1.426e-5 * temperature + 6.436e-8 * temperature**2
    corrected = (1 - vapour / atm) * (1 - theta * atm) / ((1 - vapour) * (1 - theta))
    return exp(ln_sea_level) * atm * corrected


def percent(
    oxygen: float, temperature: float, salinity: float = 0.0, pressure: float = 760.0
) -> float:
    """Percent saturation of `oxygen` mg/L; other parameters and errors as `saturation`."""
    if not oxygen >= 0:
        raise ValueError("oxygen must not be negative")
    return 100 * oxygen / saturation(temperature, salinity, pressure)


def from_percent(
    percent: float, temperature: float, salinity: float = 0.0, pressure: float = 760.0
) -> float:
    """Oxygen in mg/L at `percent` saturation; other parameters and errors as `saturation`."""
    if not percent >= 0:
        raise ValueError("percent must not be negative")
    return percent / 100 * saturation(temperature, salinity, pressure)


def station_pressure(elevation: float, sea_level: float = 760.0) -> float:
    """Air pressure in mmHg at an elevation in m (-500 to 5000).

    Source: US Standard Atmosphere 1976. Raises ValueError outside the range.
    """
    if not -500 <= elevation <= 5000:
        raise ValueError("elevation must be -500 to 5000 m")
    return float(sea_level * exp(5.25588 * log(1 - 2.25577e-5 * elevation)))
