"""Every calculator of the trade, declared once each, by topic."""

from __future__ import annotations

from tankwalk.science.calculators import (
    baths,
    carbonate,
    counts,
    cultures,
    doses,
    feeds,
    fish,
    mixing,
    planning,
    tanks,
    trends,
    units,
    water,
)
from tankwalk.science.calculators.declare import Calculator

TOPICS: tuple[tuple[str, tuple[Calculator, ...]], ...] = (
    ("Water", (*water.CALCULATORS, *carbonate.CALCULATORS)),
    ("Doses and baths", (*doses.CALCULATORS, *baths.CALCULATORS)),
    ("Tanks and flow", (*tanks.CALCULATORS, *mixing.CALCULATORS)),
    ("Live feed", (*feeds.CALCULATORS, *cultures.CALCULATORS)),
    ("Fish", (*fish.CALCULATORS, *planning.FISH)),
    ("Counts", (*counts.CALCULATORS, *planning.COUNTS)),
    ("Trends and trial", (*trends.CALCULATORS, *planning.TRIAL)),
    ("Units", units.CALCULATORS),
)
"""All calculators under the headings they are listed by."""

ALL: dict[str, Calculator] = {c.name: c for _, topic in TOPICS for c in topic}
"""All calculators by name, in the order they are listed."""
