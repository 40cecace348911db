"""What an oxygen meter should read in moist air, by temperature and the air pressure of the day."""

from __future__ import annotations

from tankwalk.errors import Refusal
from tankwalk.plan.model import Instrument
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

MOIST_AIR = "moist air"
"""The check whose right answer is known from temperature and air pressure."""

HIGHEST_SEA_LEVEL_MMHG = 790.0
"""Air pressure at sea level is hardly ever higher. Common practice, no source."""

ELEVATED_MMHG = 10.0
"""From this much below the sea-level figure on, a room's barometer is told from a forecast's."""


class Air(NamedTuple):
    """What an oxygen meter should read in moist air, and by which air pressure (mmHg)."""

    percent: float
    mg_l: float
    pressure: float
    sentence: str


def needs_air(meter: Instrument) -> bool:
    """Whether the right answer of its check is the day's: mg/L in moist air."""
    return meter.check.casefold() == MOIST_AIR and meter.check_unit == "mg/L"


def expected_air(site: Site, temperature: float, pressure: float | None = None) -> Air:
    """What an oxygen meter should read in moist air at a temperature (degC).

    In percent that is 100 at any pressure; in mg/L it is saturation at the station pressure, in
    mmHg: `pressure` by the barometer of this room, else what the site's elevation makes of
    standard air. Refusal for a pressure this elevation cannot have (a weather report's, reduced
    to sea level), and for a temperature water cannot have.
    """
    from tankwalk.science import oxygen

    elevation = site.plan.elevation_m
    usual = oxygen.station_pressure(elevation)
    if pressure is None:
        used = usual
        how = f"from the site's elevation of {elevation:g} m: the barometer of this room is better"
    else:
        used, how = oxygen.air(pressure), "by the barometer of this room"
        most = oxygen.station_pressure(elevation, HIGHEST_SEA_LEVEL_MMHG)
        if used > most:
            raise Refusal(
                f"{used:.0f} mmHg is a sea-level figure: at {elevation:g} m the air has about "
                f"{usual:.0f}, never above {most:.0f}. Read the barometer of this room."
            )
        at_sea_level = oxygen.ATMOSPHERE_MMHG
        if at_sea_level - usual >= ELEVATED_MMHG and used > (usual + at_sea_level) / 2:
            how = f"typed; {usual:.0f} is usual at {elevation:g} m: is it a weather report's?"
    full = oxygen.saturation(temperature, 0.0, used)
    words = f"{full:.2f} mg/L at {temperature:.1f} degC and {used:.0f} mmHg ({how})"
    return Air(100.0, full, used, f"Moist air should read 100 %, or {words}.")
