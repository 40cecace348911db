"""Counts of tanks laid out by slot, and what some of them should have: values of the model."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from tankwalk.rows import NamedTuple


class Look(NamedTuple):
    """A count of one tank, and the slots it covers: those since it was counted before.

    `times` is how many fish the tank has now for each it had then, by those that came or went
    alive since: what it lost then is held against what it would lose now.
    """

    first: int
    last: int
    fish: int
    times: float = 1.0

    @property
    def now(self) -> float:
        """The dead, as if the tank had had as many fish then as it has now."""
        return self.fish * self.times


class Line(NamedTuple):
    """The looks of one tank, oldest first, the newest in the last slot; `arm` its treatment."""

    code: str
    arm: str
    looks: tuple[Look, ...]


class Planned(NamedTuple):
    """How many the plan expects to die in a tank in a slot; `own`: the site says so itself,
    `of_arm`: of the tank's treatment alone."""

    fish: float
    own: bool
    of_arm: bool = False


class Slots(NamedTuple):
    """The slots of a room, oldest first: part of the day, hours since the slot before, whether
    fish of this age are dying that never fed, and what the plan expects of a tank of each
    treatment ("" for any)."""

    parts: tuple[str, ...]
    hours: tuple[float, ...]
    dying: tuple[bool, ...]
    planned: Mapping[str, tuple[Planned | None, ...]] = MappingProxyType({})

    def plan(self, slot: int, arm: str) -> Planned | None:
        """What the plan expects of a tank of a treatment; None where it says nothing."""
        return self.planned[arm][slot] if arm in self.planned else None


class Expected(NamedTuple):
    """What some looks should have: their mean, and the variance of what is counted."""

    mean: float
    variance: float


class Window(NamedTuple):
    """The newest looks of a tank since a possible onset; `chance` that they have so many."""

    looks: int
    first: int
    fish: float
    expected: Expected
    chance: float
