"""A guided procedure: its steps, what each asks, and where it stands by what the record holds.

Two are known: shells taken off cysts, and gear disinfected. Each step and each temperature is an
entry, so that where it stands is worked out anew from the record, whatever happened meanwhile.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum, StrEnum

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import BatchEvent, BatchSeen
from tankwalk.plan.model import Plan, Product
from tankwalk.plan.procedures import Decapsulation, Disinfection
from tankwalk.rows import NamedTuple
from tankwalk.science import livefeed

TESTED_DAYS = 30
"""A bleach tested longer ago has to be tested again: it loses strength. Common practice."""

PRINTED_LEAST, PRINTED_MOST = 0.17, 0.60
"""Chlorine for a gram of cysts in recipes in print, g: they differ more than threefold."""

EVERY_S = 60
"""A temperature is wanted so many seconds after the last one."""

APART_S = 30
"""Two temperatures that tell how fast a bath warms are so many seconds apart, or more."""

BRINE_G_KG = 300.0
"""Salinity of the brine shelled cysts are kept in: FAO Fisheries Technical Paper 361, memory."""


class Procedure(Enum):
    """What is guided."""

    SHELL = "shell"
    GEAR = "gear"


class Mark(StrEnum):
    """What happened at a step, by the word the record keeps; it never changes."""

    HYDRATING = "hydrating"
    GEAR_BEGUN = "gear to disinfect"
    ROUND = "cysts are round"
    READ = "caution read"
    CHILLED = "bath made and chilled"
    IN_BATH = "cysts in the bath"
    GEAR_IN = "gear in the bath"
    TEMPERATURE = "temperature of the bath"
    BROWN = "color brown"
    GRAY = "color gray"
    ORANGE = "color orange"
    STOPPED = "bath stopped"
    RINSED = "rinsed until no smell"
    NEUTRALIZED = "neutralized"
    CLEAN = "test found no chlorine"
    FOUND = "test found chlorine"
    TO_HATCH = "rinsed, to the hatch"
    IN_COLD = "rinsed, in the cold in sea water"
    IN_BRINE = "rinsed, in the cold in brine"
    HUNG = "rinsed, hung to dry"
    GIVEN_UP = "given up"


COLORS = (Mark.BROWN, Mark.GRAY, Mark.ORANGE)
"""How cysts look as their shells go, in this order."""

BEGINS = (Mark.HYDRATING, Mark.GEAR_BEGUN)
PLACES = (Mark.TO_HATCH, Mark.IN_COLD, Mark.IN_BRINE)
ENDS = (*PLACES, Mark.HUNG, Mark.GIVEN_UP)


class Stage(Enum):
    """Where a procedure stands: what is to be done now."""

    HYDRATE = "hydrate"
    READ = "read"
    CHILL = "chill"
    READY = "ready"
    BATH = "bath"
    RINSE = "rinse"
    NEUTRALIZE = "neutralize"
    TEST = "test"
    PLACE = "place"
    OVER = "over"


AFTER = {
    Mark.HYDRATING: Stage.HYDRATE,
    Mark.ROUND: Stage.READ,
    Mark.GEAR_BEGUN: Stage.READ,
    Mark.CHILLED: Stage.READY,
    Mark.IN_BATH: Stage.BATH,
    Mark.GEAR_IN: Stage.BATH,
    Mark.STOPPED: Stage.RINSE,
    Mark.RINSED: Stage.NEUTRALIZE,
    Mark.NEUTRALIZED: Stage.TEST,
    Mark.FOUND: Stage.RINSE,
    Mark.CLEAN: Stage.PLACE,
} | dict.fromkeys(ENDS, Stage.OVER)
"""What is to be done after each; what is not here changes nothing. READ differs by procedure."""

STEPS: dict[Procedure, tuple[tuple[Stage, ...], ...]] = {
    Procedure.SHELL: (
        (Stage.HYDRATE,),
        (Stage.READ,),
        (Stage.CHILL,),
        (Stage.READY, Stage.BATH),
        (Stage.RINSE,),
        (Stage.NEUTRALIZE, Stage.TEST),
        (Stage.PLACE,),
    ),
    Procedure.GEAR: (
        (Stage.READ,),
        (Stage.READY, Stage.BATH),
        (Stage.RINSE,),
        (Stage.NEUTRALIZE, Stage.TEST),
        (Stage.PLACE,),
    ),
}
"""The numbered steps of each, and the stages that belong to one."""


class Heat(NamedTuple):
    """One temperature of the bath, in degC."""

    value: float
    at: Instant


class Mix(NamedTuple):
    """What goes together: bleach and water in mL, caustic in g, of so much strength in g/L."""

    product: Product
    bleach: float
    water: float
    caustic: float

    @property
    def whole(self) -> float:
        """All of the bath, in mL."""
        return self.bleach + self.water


class Done(NamedTuple):
    """One step as the record holds it."""

    n: int
    mark: Mark
    at: Instant
    who: str


class Guide(NamedTuple):
    """One procedure under way, as its entries tell: `due` is when the stage's time is over.

    `amount` is grams of cysts, or liters of the bath of gear; `second` the person beside.
    """

    procedure: Procedure
    batch: str
    lot: str | None
    source: str | None
    amount: float
    stage: Stage
    done: tuple[Done, ...]
    heats: tuple[Heat, ...]
    due: Instant | None
    second: str = ""

    @property
    def begun(self) -> Instant:
        return self.done[0].at

    @property
    def who(self) -> str:
        """Who did the last step."""
        return self.done[-1].who

    def last(self, *marks: Mark) -> Done | None:
        """The newest of some steps."""
        return next((one for one in reversed(self.done) if one.mark in marks), None)

    @property
    def color(self) -> Done | None:
        """How the cysts looked last in this bath."""
        return self.last(*COLORS)

    @property
    def number(self) -> int:
        """Which of the numbered steps it is at, from 1; one more than there are when it is over."""
        steps = STEPS[self.procedure]
        return next(
            (nth for nth, stages in enumerate(steps, 1) if self.stage in stages), len(steps) + 1
        )

    def minutes(self, now: Instant) -> float:
        """Minutes in the bath, or hydrating."""
        began = self.last(Mark.IN_BATH, Mark.GEAR_IN) or self.done[0]
        return (now.utc - began.at.utc) / 60

    @property
    def next_heat(self) -> Instant | None:
        """When the next temperature of a bath with cysts is wanted."""
        if self.stage is not Stage.BATH or self.procedure is not Procedure.SHELL:
            return None
        began = self.last(Mark.IN_BATH)
        last = self.heats[-1].at if self.heats else None
        if began is None:
            return None
        after = began.at if last is None or last.utc < began.at.utc else last
        return Instant(after.utc + EVERY_S, after.offset)


def guides(events: Sequence[BatchSeen]) -> list[Guide]:
    """Procedures in these events, oldest first: those that are over as well."""
    found: dict[str, list[BatchSeen]] = {}
    for one in events:
        if one.event != BatchEvent.STEP or one.text is None:
            continue
        if mark_of(one) in BEGINS:
            found[one.batch] = [one]
        elif one.batch in found:
            found[one.batch].append(one)
    return [_guide(steps) for steps in found.values()]


def mark_of(one: BatchSeen) -> Mark | None:
    """Which step an entry is; None for words this program does not know."""
    word = (one.text or "").partition("; ")[0]
    return Mark(word) if word in _KNOWN else None


_KNOWN = {mark.value for mark in Mark}


def _guide(steps: Sequence[BatchSeen]) -> Guide:
    begun = steps[0]
    first = mark_of(begun)
    procedure = Procedure.SHELL if first is Mark.HYDRATING else Procedure.GEAR
    stage, due, second = Stage.OVER, None, ""
    done, heats = [], []
    for one in steps:
        mark = mark_of(one)
        if mark is None:
            continue
        done.append(Done(one.n, mark, one.at, one.who))
        if one.temperature is not None:
            heats.append(Heat(one.temperature, one.at))
        if mark is Mark.READ:
            stage = Stage.CHILL if procedure is Procedure.SHELL else Stage.READY
            second = (one.text or "").partition("; ")[2]
        elif mark in AFTER:
            stage = AFTER[mark]
        if mark is not Mark.TEMPERATURE and mark not in COLORS:
            due = None if one.due_at is None else Instant(one.due_at, one.at.offset)
    amount = begun.grams if procedure is Procedure.SHELL else begun.litres
    words = (begun.text or "").partition("; ")[2]
    return Guide(procedure, begun.batch, begun.lot, words or None, amount or 0.0, stage,
                 tuple(done), tuple(heats), due, second)  # fmt: skip


# ---- the bath's temperature


class Danger(Enum):
    """What the temperature of a bath asks for, the mildest first."""

    NONE = "none"
    RISING = "rising"
    ORANGE = "orange"
    LONG = "long"
    WARM = "warm"
    STOP = "stop"


class Bath(NamedTuple):
    """A bath judged: what it asks for, how fast it warms (degC a minute), when it is too warm."""

    danger: Danger
    rate: float | None
    warm_at: Instant | None


def bath(guide: Guide, recipe: Decapsulation, now: Instant) -> Bath:
    """What a bath with cysts in it asks for, by its temperatures, its color and the clock."""
    began = guide.last(Mark.IN_BATH)
    heats = tuple(one for one in guide.heats if began is not None and one.at.utc >= began.at.utc)
    rate = rate_of(heats)
    warm_at = None
    if heats and rate is not None and rate > 0 and heats[-1].value < recipe.warn:
        left = (recipe.warn - heats[-1].value) / rate * 60
        warm_at = Instant(heats[-1].at.utc + round(left), now.offset)
    newest = heats[-1].value if heats else None
    if newest is not None and newest >= recipe.stop:
        danger = Danger.STOP
    elif newest is not None and newest >= recipe.warn:
        danger = Danger.WARM
    elif guide.due is not None and now.utc >= guide.due.utc:
        danger = Danger.LONG
    elif guide.color is not None and guide.color.mark is Mark.ORANGE:
        danger = Danger.ORANGE
    elif warm_at is not None and (guide.due is None or warm_at.utc < guide.due.utc):
        danger = Danger.RISING
    else:
        danger = Danger.NONE
    return Bath(danger, rate, warm_at)


def rate_of(heats: Sequence[Heat]) -> float | None:
    """How fast the bath warms, in degC a minute: from its last temperature and one well before."""
    if not heats:
        return None
    last = heats[-1]
    for before in reversed(heats[:-1]):
        seconds = last.at.utc - before.at.utc
        if seconds >= APART_S:
            return (last.value - before.value) / seconds * 60
    return None


# ---- the recipe, and whether it may be used


def recipe_of(plan: Plan) -> Decapsulation:
    """The lab's recipe for cysts; Refusal where the plan has none."""
    if plan.decapsulation is None:
        raise Refusal("The plan has no [decapsulation]: the lab's own recipe is written there.")
    return plan.decapsulation


def gear_of(plan: Plan) -> Disinfection:
    """The lab's bath for gear; Refusal where the plan has none."""
    if plan.disinfection is None:
        raise Refusal("The plan has no [disinfection]: the lab's own bath is written there.")
    return plan.disinfection


def bleach_of(plan: Plan, code: str, now: Instant) -> Product:
    """The bleach that is poured; Refusal where its strength was never tested, or to come."""
    product = plan.find_product(code)
    if product is None or product.strength is None:
        raise Refusal(f"{code} has no strength in the plan: test the bleach, write strength there.")
    if product.tested is None:
        raise Refusal(
            f"{product.label} has no day of its test in the plan: a label is no test. Test it, "
            "write strength and tested there."
        )
    if product.tested > now.day:
        raise Refusal(
            f"{product.label} is tested on {product.tested:%d %b %Y} by the plan, which is to "
            "come: mend the plan."
        )
    return product


def tested_days(product: Product, now: Instant) -> int:
    """How many days ago its strength was tested."""
    return 0 if product.tested is None else (now.day - product.tested).days


def shell_mix(plan: Plan, grams: float, now: Instant) -> Mix:
    """The bath for so many grams of cysts by the lab's recipe.

    Refusal where the plan has no recipe or no tested bleach, or the bleach is too weak for it.
    """
    recipe = recipe_of(plan)
    product = bleach_of(plan, recipe.bleach, now)
    strength = product.strength or 0.0
    made = livefeed.decapsulation(grams, strength, recipe.chlorine, recipe.caustic, recipe.volume)
    return Mix(product, made.bleach, made.water, made.caustic)


def gear_mix(plan: Plan, liters: float, now: Instant) -> Mix:
    """The bath for gear of so many liters: chlorine of the plan by the strength of the bleach."""
    recipe = gear_of(plan)
    product = bleach_of(plan, recipe.bleach, now)
    poured = recipe.chlorine * liters / (product.strength or 1.0)
    if poured > liters * 1000:
        raise Refusal(f"{product.label} is too weak for {recipe.chlorine:g} mg/L.")
    return Mix(product, poured, liters * 1000 - poured, 0.0)
