"""What can be compared of a trial: one value a tank, or the reason why there is none."""

from __future__ import annotations

from datetime import date
from enum import Enum, StrEnum

from tankwalk.plan.model import Item, Tank
from tankwalk.rows import NamedTuple


class What(StrEnum):
    """Which measure; its value is the code one asks for."""

    CENSUS = "census"
    CENSUS_LESS = "census-less"
    SEEN = "seen"
    UNACCOUNTED = "unaccounted"
    LENGTH = "length"
    MASS = "mass"
    CONDITION = "k"
    CV_LENGTH = "cv-length"
    CV_MASS = "cv-mass"
    SGR = "sgr"
    TGC = "tgc"
    GAIN = "gain"
    SHARE = "share"  # of fish looked at that had it: swim bladder, gut fill
    LIVE = "live"
    DRY = "dry"
    OF_PLAN = "of-plan"
    MISSED = "missed"
    FCR = "fcr"
    WATER = "water"  # the mean of an item
    OUT = "out"  # the share of looks at an item that were out of band
    STOCKED = "stocked"


class Topic(Enum):
    """Which table of the report a measure belongs to."""

    SURVIVAL = "survival"
    GROWTH = "growth"
    FEED = "feed"
    WATER = "water"
    START = "start"


class Missing(Enum):
    """Why a tank has no value of a measure."""

    NOT_STOCKED = "no stocking was entered"
    NOT_COUNTED = "not counted at this census"
    NO_CENSUS = "no census yet, and the book holds fish that are gone"
    NOT_SAMPLED = "not sampled that day"
    ONE_SAMPLE = "sampled once: nothing to grow from"
    NO_LOOKS = "no reading that counts"
    NO_PLAN = "no planned amount was kept"
    MOVED_IN = "fish were moved in later"
    LIVE_FEED = "live feed was eaten too, and nobody weighed it"
    NO_GAIN = "no gain to divide by"


class TankValue(NamedTuple):
    """A tank's value of a measure, in its unit; None and why where there is none."""

    tank: Tank
    value: float | None
    why: Missing | None = None


class Measure(NamedTuple):
    """One value a tank. `on` is the day it is of, `age` its age in dph, where it has one day.

    `item` is what was read of water, `sample` the kind of a share. `days` is the stretch it sums.
    """

    code: str
    what: What
    topic: Topic
    unit: str
    decimals: int
    values: tuple[TankValue, ...]
    on: date | None = None
    age: int | None = None
    item: Item | None = None
    sample: str = ""

    @property
    def known(self) -> tuple[TankValue, ...]:
        """Tanks that have a value."""
        return tuple(one for one in self.values if one.value is not None)
