"""Outside values of the water: ammonia, gases, salt and carbonate, and the units they come in."""

from __future__ import annotations

import outside_carbonate
import outside_gases
import outside_nitrogen
import outside_salt
from outside import Differs, Source

SOURCES: tuple[Source, ...] = (
    *outside_nitrogen.SOURCES,
    *outside_gases.SOURCES,
    *outside_salt.SOURCES,
    *outside_carbonate.SOURCES,
)
DIFFERS: tuple[Differs, ...] = (
    *outside_nitrogen.DIFFERS,
    *outside_gases.DIFFERS,
    *outside_carbonate.DIFFERS,
)
