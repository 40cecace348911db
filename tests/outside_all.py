"""All outside values and all known differences, gathered from their topics."""

from __future__ import annotations

import outside_blocks
import outside_counts
import outside_feeding
import outside_feeds
import outside_fish
import outside_plans
import outside_tanks
import outside_trends
import outside_water
from outside import Differs, Source

SOURCES: tuple[Source, ...] = (
    *outside_water.SOURCES,
    *outside_tanks.SOURCES,
    *outside_feeds.SOURCES,
    *outside_feeding.SOURCES,
    *outside_fish.SOURCES,
    *outside_counts.SOURCES,
    *outside_trends.SOURCES,
    *outside_blocks.SOURCES,
    *outside_plans.SOURCES,
)
DIFFERS: tuple[Differs, ...] = (
    *outside_water.DIFFERS,
    *outside_tanks.DIFFERS,
    *outside_feeds.DIFFERS,
    *outside_fish.DIFFERS,
    *outside_counts.DIFFERS,
    *outside_trends.DIFFERS,
    *outside_blocks.DIFFERS,
)
