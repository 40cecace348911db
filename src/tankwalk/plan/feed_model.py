"""What is meant about feeding: feeds, meals, rations, and how live feed is hatched."""

from __future__ import annotations

from datetime import date, time
from enum import StrEnum

from tankwalk.rows import NamedTuple

MASS_WORDS = ("mass", "weight")
"""Words of a plan for what a fish weighs, as a sample is called; the first is the usual one."""


def on_weekday(weekdays: tuple[int, ...], day: date) -> bool:
    """Whether a day is among ISO weekdays (1 Monday), of which none means every day."""
    return not weekdays or day.isoweekday() in weekdays


class FeedKind(StrEnum):
    """What a feed is, and so how it is given and in which unit it is counted."""

    LIVE = "live"
    DRY = "dry"
    PASTE = "paste"


class Feed(NamedTuple):
    """A feed, and at which ages (dph, first and last) the fish of a treatment get it.

    One feed may be planned several times, for one treatment each; without a treatment it is
    for every tank whose own treatment has no line for this feed. `width_um` is how wide it is, in
    um. Live feed is hatched from cysts, unless it is `cultured`.
    """

    code: str
    label: str
    treatment: str | None
    dph: tuple[int, int]
    kind: FeedKind = FeedKind.DRY
    width_um: float | None = None
    cultured: bool = False

    @property
    def hatched(self) -> bool:
        """Whether it comes out of cones, and so out of the cold store."""
        return self.kind is FeedKind.LIVE and not self.cultured

    @property
    def unit(self) -> str:
        """What it is kept in: thousand animals where it lives, else g."""
        return "thousand" if self.kind is FeedKind.LIVE else "g"


class MealTime(NamedTuple):
    """When the tanks are fed; ISO weekdays (1 Monday), empty means every day.

    `before` and `after` are codes of items that are asked at each tank before it is fed and
    after it.
    """

    at: time
    weekdays: tuple[int, ...] = ()
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()

    def is_on(self, day: date) -> bool:
        """Whether this meal is given on a local day."""
        return on_weekday(self.weekdays, day)


class Sampling(NamedTuple):
    """A sample that is due every so many days; `what` is the word samples are kept under.

    With a `unit` fish are measured, and mean and SD kept; without one they are looked at, and kept
    is how many of them had it.
    """

    what: str
    label: str
    every_days: float
    dph: tuple[int, int] | None = None
    unit: str | None = None


class RationBy(StrEnum):
    """What a ration is reckoned by.

    An amount a day: thousand nauplii or g (tank), nauplii (fish), g (1000 fish), % of what the
    fish weigh (biomass). DENSITY is a target in per mL that each meal fills the water up to.
    """

    TANK = "tank"
    FISH = "fish"
    THOUSAND_FISH = "1000 fish"
    BIOMASS = "biomass"
    DENSITY = "density"


class Ration(NamedTuple):
    """How much of a feed the fish of a treatment get, by age.

    `points` are (dph, amount) in the order of age; straight lines between them, none outside.
    `grows` is the part by which fish gain weight in a day after their last mass sample; `eats`
    is how many prey a fish takes in an hour, for what is left in the water between meals.
    """

    feed: str
    treatment: str | None
    by: RationBy
    points: tuple[tuple[int, float], ...]
    grows: float = 0.0
    eats: float = 0.0
    source: str = ""

    def at(self, age: int) -> float | None:
        """The amount at an age in dph; None outside the points."""
        (first, amount), (last, _) = self.points[0], self.points[-1]
        if not first <= age <= last:
            return None
        for (d0, v0), (d1, v1) in zip(self.points, self.points[1:], strict=False):
            if age <= d1:
                return v0 + (v1 - v0) * (age - d0) / (d1 - d0)
        return amount


class Hatching(NamedTuple):
    """How cysts are hatched here: the water, how long it takes, and what is set beyond the need.

    `margin` is a part of 1 on top of the need, `ready_min` the minutes from harvest to the
    first tank (counted, rinsed, measured out), `cones_l` the cones there are, in L.
    """

    grams_per_l: float = 2.0
    """FAO freshwater prawn manual, annex 4."""
    hours: float = 24.0
    """From water to harvest. Common practice, no source."""
    temperature: float = 28.0
    """degC; FAO Fisheries Technical Paper 361, from memory: 25 to 28."""
    ph: float = 8.0
    """At least; the same source."""
    salinity: float = 25.0
    """g/kg. Common practice; 5 to 35 hatches."""
    light_lux: float = 2000.0
    """At the surface in the first hours; the same source."""
    margin: float = 0.05
    ready_min: float = 60.0
    harvest: time | None = None
    """When cones are harvested by habit; None: so that the first meal of the day is met."""
    cones_l: tuple[float, ...] = ()
    evening: time = time(16, 0)
    """From when on tomorrow's cones stand on the board. Common practice: at the handover."""


class Cysts(NamedTuple):
    """A lot of cysts: nauplii from a gram if all hatch, and the part of them that should.

    `order_at` is how many g are left when it is time to order more.
    """

    code: str
    label: str = ""
    per_gram: float = 0.0
    hatch: float = 0.0
    order_at: float | None = None
    source: str = ""
