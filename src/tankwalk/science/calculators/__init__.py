"""Every calculator of the trade, declared once each, by topic."""

from __future__ import annotations

from tankwalk.science.calculators import (
    baths,
    carbonate,
    counts,
    doses,
    feeds,
    fish,
    tanks,
    trends,
    units,
    water,
)
from tankwalk.science.calculators.declare import Calculator

TOPICS: tuple[tuple[str, tuple[Calculator, ...]], ...] = (
    ("Water", (*water.CALCULATORS, *carbonate.CALCULATORS)),
    ("Doses and baths", (*doses.CALCULATORS, *baths.CALCULATORS)),
    ("Tanks and flow", tanks.CALCULATORS),
    ("Live feed", feeds.CALCULATORS),
    ("Fish", fish.CALCULATORS),
    ("Counts", counts.CALCULATORS),
    ("Trends and trial", trends.CALCULATORS),
    ("Units", units.CALCULATORS),
)
"""All calculators under the headings they are listed by."""

ALL: dict[str, Calculator] = {c.name: c for _, topic in TOPICS for c in topic}
"""All calculators by name, in the order they are listed."""
