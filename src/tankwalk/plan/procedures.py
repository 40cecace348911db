"""Guided procedures of a site, as frozen values: shells taken off cysts, gear disinfected."""

from __future__ import annotations

from tankwalk.rows import NamedTuple


class Decapsulation(NamedTuple):
    """The lab's own way of taking the shells off cysts; temperatures in degC, times in minutes.

    `bleach` is the code of a product. `chlorine` and `caustic` are g and `volume` mL for each g
    of dry cysts; `neutralizer` is % of thiosulfate in the dip.
    """

    bleach: str
    chlorine: float
    caustic: float
    volume: float
    start: float = 10.0
    """The bath is begun at no more than this."""
    warn: float = 35.0
    stop: float = 40.0
    minutes: float = 15.0
    """The longest in the bath."""
    hydrate: float = 60.0
    neutralizer: float = 0.1
    cold_days: float = 7.0
    """How long shelled cysts keep in the cold in sea water, and in brine."""
    brine_days: float = 30.0
    sop: str = ""


class Disinfection(NamedTuple):
    """The lab's own bath for nets and sieves: chlorine in mg/L, minutes, thiosulfate in %."""

    bleach: str
    chlorine: float
    minutes: float
    neutralizer: float = 0.1
    sop: str = ""
