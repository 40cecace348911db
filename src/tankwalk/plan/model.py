"""What is meant: the site, its tanks, items, bands and checklists, as frozen values."""

from __future__ import annotations

from datetime import date, datetime, time
from enum import StrEnum
from typing import TYPE_CHECKING

from tankwalk.plan import kinds
from tankwalk.plan.backups import Backups
from tankwalk.plan.feed_model import Cysts as Cysts
from tankwalk.plan.feed_model import Feed as Feed
from tankwalk.plan.feed_model import FeedKind as FeedKind
from tankwalk.plan.feed_model import Hatching as Hatching
from tankwalk.plan.feed_model import MealTime as MealTime
from tankwalk.plan.feed_model import Ration as Ration
from tankwalk.plan.feed_model import RationBy as RationBy
from tankwalk.plan.feed_model import Sampling as Sampling
from tankwalk.plan.feed_model import on_weekday
from tankwalk.plan.judging import JudgingLimits
from tankwalk.plan.loss_model import Loss
from tankwalk.plan.on_call import LOOKS as LOOKS
from tankwalk.plan.on_call import Looks as Looks
from tankwalk.plan.on_call import OnCall as OnCall
from tankwalk.plan.people import DUTIES as DUTIES
from tankwalk.plan.people import IDLE_MINUTES
from tankwalk.plan.people import Person as Person
from tankwalk.plan.procedures import Decapsulation, Disinfection
from tankwalk.plan.trial import Trial
from tankwalk.plan.vessels import Culture, Ordered
from tankwalk.rows import NamedTuple
from tankwalk.science.age import dph
from tankwalk.science.dose_kinds import DoseKind

if TYPE_CHECKING:
    from tankwalk.plan.loggers import Logger
    from tankwalk.quantity import Quantity, TwoReadings


class Side(StrEnum):
    """On which side of what is wanted a value lies, and so which first response it has."""

    LOW = "low"
    HIGH = "high"


Steps = tuple[str, ...]
"""What is done first, a short step each, in the order it is done."""


class Level(StrEnum):
    """Whom an item is asked of: each tank, each loop once, or the site once."""

    TANK = "tank"
    LOOP = "loop"
    SITE = "site"


class Instrument(NamedTuple):
    """A meter with a name of its own; `kind` is what items ask for ("oxygen meter").

    `check` is what it is checked against ("moist air"), `checks` the item the check concerns;
    it passes when it shows `reference` give or take `within`, both in `check_unit`.
    """

    code: str
    kind: str
    label: str = ""
    tanks: tuple[str, ...] = ()
    """Tanks it is used on by habit; empty means all."""
    check: str = ""
    checks: str = ""
    reference: float | None = None
    within: float | None = None
    check_unit: str = ""
    check_every_days: float | None = None


class Loop(NamedTuple):
    """A body of shared water; volume in L."""

    code: str
    label: str = ""
    volume_l: float | None = None


class Lot(NamedTuple):
    """Fish of one hatch. `hatched` is the day half the lot had hatched: 0 dph."""

    code: str
    species: str
    hatched: date | None = None

    def dph(self, on: date) -> int | None:
        """Days post hatch on a local date; None before hatch or while the date is open."""
        return None if self.hatched is None else dph(self.hatched, on)


class Protocol(NamedTuple):
    """The protocol for animals: its own code, and how many it approves (0: it does not say)."""

    code: str = ""
    approved: int = 0


class Treatment(NamedTuple):
    """One arm of a trial."""

    code: str
    label: str = ""


class Tank(NamedTuple):
    """One tank; volume in L."""

    code: str
    loop: str
    volume_l: float
    lot: str | None = None
    treatment: str | None = None
    block: str | None = None
    where: str = ""
    quarantine: bool = False


class Hazard(StrEnum):
    """What can hurt the one who looks at an item; `NIGHT` is of the hour, and no item has it."""

    NIGHT = "night"
    ELECTRICITY = "electricity"
    OXYGEN = "oxygen"
    DEAD = "dead"


ITEM_HAZARDS = (Hazard.ELECTRICITY, Hazard.OXYGEN, Hazard.DEAD)


RESPONSE = "response"
"""Code of the item by which a plan asks how fish go for their feed: words from best to worst."""


class Item(NamedTuple):
    """One thing that is looked at or measured.

    `plausible` is what nature allows, in `unit`; outside it a value is never kept.
    `kind` says how it is read, judged, shown and printed (`kinds.py`).
    For a choice, `choices[0]` is "all right"; words in `watch_on`/`act_on` raise a flag.
    """

    code: str
    label: str
    kind: kinds.Kind = kinds.NUMBER
    level: Level = Level.TANK
    unit: str = ""
    decimals: int = 1
    plausible: tuple[float, float] | None = None
    instrument: str | None = None
    every_days: float | None = None
    dph: tuple[int, int] | None = None
    choices: tuple[str, ...] = ()
    watch_on: tuple[str, ...] = ()
    act_on: tuple[str, ...] = ()
    act_dph: tuple[int, int] | None = None
    """Ages at which a word of `watch_on` calls for action too: a film while bladders fill."""
    when_low: Steps = ()
    """What is done first when it is too low; `plan/responses.py` answers which steps hold."""
    when_high: Steps = ()
    when: tuple[tuple[str, Steps], ...] = ()
    """For a choice: what is done first, by the word that was answered."""
    derived: str = ""
    """Calculator that works it out, for what is never asked; see `plan/derived.py`."""
    deadband: float | None = None
    """How far inside its limit a value has to be, in `unit`, before a flag clears."""
    see: tuple[str, ...] = ()
    """Items to look at when this one is out: water that stands high is the screen."""
    hazard: Hazard | None = None
    """What can hurt at it, said where a round that asks it begins."""
    twice: bool = False
    """Whether it is typed in a second time where a round is typed in from its paper sheet."""

    looks: Looks = Looks()
    """Minutes until it is looked at again, where not those of the site."""

    def read(self, typed: str) -> Quantity:
        """What was typed as a value in the item's unit; Refusal where it is none."""
        return self.kind.read(self, typed)

    def two_readings(self, typed: str) -> TwoReadings | None:
        """Both readings of "1,200", where both can be meant here; `read` refuses such a number."""
        if self.kind.whole or self.kind.by_words:
            return None
        from tankwalk.quantity import thousands_or_decimal

        most = self.plausible[1] if self.plausible else None
        return thousands_or_decimal(typed, self.unit, most=most)

    def shown(self, value: float, typed: str = "", *, bare: bool = False) -> str:
        """A value in words, with its unit unless `bare`; `typed` for where it has none any more."""
        return self.kind.show(self, value, typed, "" if bare else self.unit)

    @property
    def answers(self) -> tuple[kinds.KeyWord, ...]:
        """Keys of the pad that stand for a word, each with its word; () for what is a number."""
        return self.kind.answers(self)

    def at_age(self, age: int | None) -> Item:
        """The item as it is judged for fish of this age (dph)."""
        if self.act_dph is None or age is None or not self.act_dph[0] <= age <= self.act_dph[1]:
            return self
        return self._replace(watch_on=(), act_on=self.watch_on + self.act_on)

    def asked_at(self, age: int | None) -> bool:
        """Whether the item belongs to fish of this age (dph)."""
        if self.dph is None:
            return True
        return age is not None and self.dph[0] <= age <= self.dph[1]


MASS_EVENT = Item(
    "mass event",
    "Mass event",
    kinds.COUNT,
    unit="dead",
    decimals=0,
    when_high=(
        "Measure oxygen",
        "stop the feed",
        "keep some of the dead cold for the veterinarian",
    ),
    looks=Looks(urgent=30.0),
)
"""Many dead at once, as they were entered in the stock: no plan has it and no round asks for it.

Its steps and its minutes are common practice, no source.
"""


class Product(NamedTuple):
    """What goes into water; the record holds a dose of it by its label.

    `strength` is g/L for brine and bleach, else a part of 1; `ceiling` is the site's own, in the
    unit of the ceiling of its kind.
    """

    code: str
    label: str
    kind: DoseKind
    strength: float | None = None
    gravity: float | None = None
    label_doses: str = ""
    """"product" or "active": what a dose on its label is of."""
    form: str = ""
    """Which thiosulfate a neutralizer is."""
    ceiling: float | None = None
    source: str = ""
    tested: date | None = None
    """The day its strength was last tested."""


class Checklist(NamedTuple):
    """What one round asks: a glance lap first, then site, loop and tank items in order."""

    code: str
    label: str
    at: time
    glance: str | None = None
    """Item asked of every tank in one quick lap before any measuring."""
    site: tuple[str, ...] = ()
    loop: tuple[str, ...] = ()
    tank: tuple[str, ...] = ()
    weekdays: tuple[int, ...] = ()
    """ISO weekdays (1 Monday) on which the round is due; empty means every day."""

    def is_on(self, day: date) -> bool:
        """Whether the round is due on a local day."""
        return on_weekday(self.weekdays, day)


class Limits(NamedTuple):
    """Absolute limits in the item's unit; None where there is none on that side.

    A value equal to a limit is inside it. Changes are since the last look, in the item's
    unit; `change_way` is "either", "fall" or "rise".
    """

    watch_below: float | None = None
    watch_above: float | None = None
    act_below: float | None = None
    act_above: float | None = None
    urgent_below: float | None = None
    urgent_above: float | None = None
    watch_change: float | None = None
    act_change: float | None = None
    change_way: str = "either"
    sees: float | None = None
    """Detection limit, in the item's unit, that a kit needs: "below" it or a finer one is right."""
    doubled_within: float | None = None
    """Hours: watched where a value is twice the lowest look of so many hours before."""
    watch_fall_percent: float | None = None
    """Part by which a value may be less than the last look, or than the one before it."""
    act_fall_percent: float | None = None
    ratio_of: str | None = None
    """The item that has to be so many times this one: chloride, beside nitrite."""
    watch_ratio_below: float | None = None
    act_ratio_below: float | None = None
    watch_share_percent: float | None = None
    """Part of the fish left that may be dead in a day: for counts of the dead."""
    act_share_percent: float | None = None

    @property
    def needed(self) -> float | None:
        """Detection limit a kit needs here: what is stated, else the first limit above."""
        above = (self.watch_above, self.act_above, self.urgent_above)
        first = next((limit for limit in above if limit is not None), None)
        return first if self.sees is None else self.sees


class Ramp(NamedTuple):
    """A planned target that moves: straight lines between dated points, flat outside them."""

    points: tuple[tuple[date, float], ...]

    def at(self, on: date) -> float:
        """Target on a local date."""
        first, last = self.points[0], self.points[-1]
        if on <= first[0]:
            return first[1]
        for (d0, v0), (d1, v1) in zip(self.points, self.points[1:], strict=False):
            if on <= d1:
                return v0 + (v1 - v0) * ((on - d0).days / (d1 - d0).days)
        return last[1]


class BandRule(NamedTuple):
    """A band as the plan states it: for which item, whom, which age, with its owner and source.

    Scope is the narrowest of tank, treatment, loop, site; a profile's rule is wider than all.
    Limits are absolute, or within a distance (or percent) of `target` or of a `ramp`.
    """

    item: str
    limits: Limits = Limits()
    target: float | None = None
    ramp: Ramp | None = None
    watch_within: float | None = None
    act_within: float | None = None
    urgent_within: float | None = None
    watch_within_percent: float | None = None
    act_within_percent: float | None = None
    tank: str | None = None
    treatment: str | None = None
    loop: str | None = None
    species: str | None = None
    dph: tuple[int, int] | None = None
    owner: str = ""
    source: str = "common practice"
    dated: date | None = None
    note: str = ""
    """What sources disagree on, or why this value was chosen."""
    line: int = 0
    """Line of the plan file that states it; 0 for a shipped profile."""


class Band(NamedTuple):
    """The band in force for one place, item and day: plain limits and where they come from."""

    limits: Limits
    target: float | None
    source: str
    owner: str = ""


class Stage(NamedTuple):
    """A named stretch of life of a species, dph first to last."""

    name: str
    dph: tuple[int, int]


class Profile(NamedTuple):
    """Seed bands of one species, to be edited by the site that uses them."""

    species: str
    label: str
    stages: tuple[Stage, ...]
    bands: tuple[BandRule, ...]
    losses: tuple[Loss, ...] = ()

    def stage(self, age: int) -> str:
        """Name of the stage at an age in dph, "" outside all."""
        for stage in self.stages:
            if stage.dph[0] <= age <= stage.dph[1]:
                return stage.name
        return ""


class Plan(NamedTuple):
    """The whole plan in force. Lookups are by code; `text` and `digest` are the file's own."""

    name: str
    zone: str
    elevation_m: float
    people: tuple[Person, ...]
    loops: tuple[Loop, ...]
    tanks: tuple[Tank, ...]
    lots: tuple[Lot, ...]
    treatments: tuple[Treatment, ...]
    instruments: tuple[Instrument, ...]
    items: tuple[Item, ...]
    checklists: tuple[Checklist, ...]
    bands: tuple[BandRule, ...]
    profiles: tuple[Profile, ...]
    canned_notes: tuple[str, ...]
    emergency: str
    text: str
    digest: str
    rehearsal: str | None = None
    """Instant a rehearsal site starts at; None for a working site."""
    parts_age_hours: float = 2.0
    """Oldest part a derived reading is worked out from."""
    idle_minutes: float = IDLE_MINUTES
    """After so long without a key who is at the screen is asked again."""
    feeds: tuple[Feed, ...] = ()
    meals: tuple[MealTime, ...] = ()
    samplings: tuple[Sampling, ...] = ()
    products: tuple[Product, ...] = ()
    decapsulation: Decapsulation | None = None
    disinfection: Disinfection | None = None
    on_call: tuple[OnCall, ...] = ()
    looks: Looks = LOOKS
    rations: tuple[Ration, ...] = ()
    hatching: Hatching = Hatching()
    cysts: tuple[Cysts, ...] = ()
    cultures: tuple[Culture, ...] = ()
    stock: tuple[Ordered, ...] = ()
    trial: Trial | None = None
    protocol: Protocol = Protocol()
    judging: JudgingLimits = JudgingLimits()
    losses: tuple[Loss, ...] = ()
    loggers: tuple[Logger, ...] = ()
    backups: Backups = Backups()

    def called_at(self, wall: datetime) -> Person | None:
        """Who is on call at a wall-clock moment: the first line of the plan that covers it."""
        found = next((line.who for line in self.on_call if line.holds(wall)), None)
        return None if found is None else self.find_person(found)

    def tank(self, code: str) -> Tank:
        return next(t for t in self.tanks if t.code == code)

    def item(self, code: str) -> Item:
        return next(i for i in (*self.items, MASS_EVENT) if i.code == code)

    def find_tank(self, place: str) -> Tank | None:
        """The tank of a code; None for a loop, the site, or what the plan no longer has."""
        return next((t for t in self.tanks if t.code == place), None)

    def find_item(self, code: str) -> Item | None:
        """The item of a code; None for what neither the plan nor every site has."""
        return next((i for i in (*self.items, MASS_EVENT) if i.code == code), None)

    def people_on(self, day: date) -> tuple[Person, ...]:
        """Who may sign on a day: those who have come and have not left."""
        return tuple(one for one in self.people if one.there_on(day))

    def find_person(self, initials: str) -> Person | None:
        """The person of these initials; None for whom the plan no longer has."""
        return next((p for p in self.people if p.initials == initials), None)

    def feeds_of(self, tank: Tank) -> tuple[Feed, ...]:
        """The feeds planned for a tank at any age: its treatment's lines, else everybody's."""
        arm = tank.treatment
        own = {f.code for f in self.feeds if arm is not None and f.treatment == arm}
        return tuple(f for f in self.feeds if f.treatment == (arm if f.code in own else None))

    def find_product(self, code: str) -> Product | None:
        """The product of a code; None for what the plan does not have."""
        return next((p for p in self.products if p.code == code), None)

    def find_feed(self, code: str) -> Feed | None:
        """A line of the feed of a code; None for what the plan does not have."""
        return next((f for f in self.feeds if f.code == code), None)

    def ration_of(self, tank: Tank, feed: str, age: int) -> Ration | None:
        """How much of a feed a tank gets at an age: its treatment's line, else everybody's."""
        arm = tank.treatment
        mine = [r for r in self.rations if r.feed == feed and arm and r.treatment == arm]
        mine = mine or [r for r in self.rations if r.feed == feed and r.treatment is None]
        return next((r for r in mine if r.at(age) is not None), None)

    def checklist(self, code: str) -> Checklist:
        return next(c for c in self.checklists if c.code == code)

    def lot_of(self, tank: Tank) -> Lot | None:
        return next((lot for lot in self.lots if lot.code == tank.lot), None)

    def age(self, tank: Tank, on: date) -> int | None:
        """Age of a tank's fish in dph on a local date; None for eggs or an empty tank."""
        lot = self.lot_of(tank)
        return None if lot is None else lot.dph(on)
