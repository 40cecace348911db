"""Which rule spoke of a value, as the record keeps it beside the reading."""

from __future__ import annotations

from enum import Enum, StrEnum

from tankwalk.plan.model import Side


class Shared(StrEnum):
    """What tanks that move together share."""

    METER = "meter"
    LOOP = "loop"
    BATCH = "batch"
    TREATMENT = "treatment"
    LOT = "lot"


FEWEST_TANKS = 3
"""Fewer tanks that move the same way are no sign of a shared cause. Common practice, no source."""

SHARE = 0.6
"""More than this part of the tanks has to share it. Common practice, no source."""


def most(moved: int, of: int) -> bool:
    """Whether so many tanks are most of them."""
    return moved > SHARE * of


def is_shared(moved: int, of: int) -> bool:
    """Whether so many tanks of those that were read have one cause: three, and most of them."""
    return moved >= FEWEST_TANKS and most(moved, of)


class Way(Enum):
    """Which way a value went."""

    UP = "up"
    DOWN = "down"


class Rule(StrEnum):
    """A rule by its word in the record, which never changes. Those of the dead speak in this
    order: of two with the same flag the first."""

    BAND = "band"
    CHANGE = "change"
    SETTING = "setting"
    SLIP = "slip"
    SLOPE = "slope"
    """Of programs that held a limit against the next hour; AHEAD holds it against the next look."""
    AHEAD = "ahead"
    DOUBLED = "doubled"
    FELL_BY = "fell by"
    RATIO = "ratio"
    DRIFT = "drift"
    SISTERS = "sisters"
    UNCHANGED = "unchanged"
    METER_UP = "meter up"
    METER_DOWN = "meter down"
    METER_PASSED = "meter passed"
    """What one meter read moved, and it had passed its check a few hours before."""
    LOOP_UP = "loop up"
    LOOP_DOWN = "loop down"
    TANK_UP = "tank up"
    TANK_DOWN = "tank down"
    JUMP = "morts: jump"
    ODD = "morts: odd one out"
    SHARE = "morts: share of the book"
    RISE = "morts: slow rise"
    TOO_FEW = "morts: too few"
    TWICE = "morts: counted twice"
    TREATMENT = "morts: treatment"
    LOT = "morts: lot"
    RESPONSE = "response fell"
    BATCH = "batch"
    LOGGER = "logger"
    """What a logger wrote disagrees with the looks of people."""
    OTHER = "other"
    """A word of a program that knew more rules than this one."""

    @property
    def shared(self) -> Shared | None:
        """What tanks share that this rule names; None for a rule about one place."""
        return _SHARED[self][0] if self in _SHARED else None

    @property
    def way(self) -> Way | None:
        """Which way it went; None for a rule that does not say."""
        return _SHARED[self][1] if self in _SHARED else _WAYS.get(self)

    @property
    def side(self) -> Side | None:
        """Which side a value lies on that it speaks of while the value is in its band."""
        return _SIDES.get(self)

    @property
    def of_the_dead(self) -> bool:
        """Whether it speaks of a count of the dead."""
        return self.value.startswith("morts:")


_SHARED = {
    Rule.METER_UP: (Shared.METER, Way.UP),
    Rule.METER_DOWN: (Shared.METER, Way.DOWN),
    Rule.LOOP_UP: (Shared.LOOP, Way.UP),
    Rule.LOOP_DOWN: (Shared.LOOP, Way.DOWN),
    Rule.BATCH: (Shared.BATCH, Way.DOWN),
    Rule.TREATMENT: (Shared.TREATMENT, Way.UP),
    Rule.LOT: (Shared.LOT, Way.UP),
}
_SIDES = {Rule.DOUBLED: Side.HIGH, Rule.FELL_BY: Side.LOW, Rule.RATIO: Side.HIGH}
_WAYS = {Rule.TANK_UP: Way.UP, Rule.TANK_DOWN: Way.DOWN}
_WORDS = {rule.value: rule for rule in Rule}


def rule_of(shared: Shared, *, up: bool) -> Rule:
    """The rule that names a shared cause and the way it went."""
    way = Way.UP if up else Way.DOWN
    return next(rule for rule, found in _SHARED.items() if found == (shared, way))


def recorded(word: str | None) -> Rule | None:
    """The rule behind a word of the record; None for a reading that no rule spoke of."""
    return None if word is None else _WORDS.get(word, Rule.OTHER)
