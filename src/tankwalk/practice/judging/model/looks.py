"""What the model is given and what it finds: looks, its settings, changes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum

from tankwalk.rows import NamedTuple
from tankwalk.science.changing import Shape


class Part(StrEnum):
    """Which part of the model changed."""

    TANK = "tank"
    LOOP = "loop"
    METER = "meter"


class Look(NamedTuple):
    """One look at one item, in the item's unit, with what the plan moved since taken out.

    `round` numbers the rounds of all tanks in order of time; `part` is the part of the day, "" for
    none; `at` a UTC second.
    """

    tank: str
    loop: str
    meter: str | None
    round: int
    part: str
    at: int
    value: float
    typed: float | None = None
    """As it was written down, before anything was taken out; None for the value itself."""

    @property
    def written(self) -> float:
        """As it was written down: the step of whoever wrote it shows in that."""
        return self.value if self.typed is None else self.typed


class Settings(NamedTuple):
    """What the model takes as given; common practice, no source, where none is named."""

    step: float = 0.0
    """The smallest step that is read or written, in the item's unit."""
    water: float = 0.0
    """How far water is thought to go from round to round, in the item's unit: a standard deviation
    that counts as `WATER_LOOKS` until rounds tell it; 0.0 for not known."""
    score: float = 3.5
    """Standard deviations from which a change is told: see `thresholds`."""
    reference: int = 4
    """Fewest looks before an onset."""
    newest: int = 16
    """Onsets are looked for among so many newest looks."""
    reach: int = 40
    """Looks back that the model is given at most."""
    clip: float = 3.5
    """A look that stands so many of its standard deviations off both its neighbors says no more."""
    margin: float = 2.0
    """Two parts whose log likelihood ratios are closer than this are not told apart: 7 to 1."""


class Suspect(NamedTuple):
    """A part that may have changed."""

    kind: Part
    code: str


Pair = tuple[str, str | None, bool]
"""A tank, the meter that read it, and whether that meter was set right and counts anew."""

Meter = tuple[str | None, bool]
"""A meter, and whether it was set right and counts anew."""

Anew = Mapping[Suspect, int]
"""From which UTC second on the looks of a part count: what was before was told and seen to."""


class Change(NamedTuple):
    """A part that changed, since when and how far."""

    kind: Part
    code: str
    tanks: tuple[str, ...]
    """The tanks whose looks show it."""
    since: int
    """UTC second of the first look that is part of it."""
    looks: int
    """How many looks are part of it, of the tank, or rounds of the loop or meter."""
    shape: Shape
    size: float
    """How far it has gone by the newest look, in the item's unit."""
    a_day: float
    """How fast; 0.0 for a step."""
    score: float
    """In standard deviations; half its square is the log likelihood ratio."""
    beside: int
    """How many other tanks it was held against in the newest round."""
    rivals: tuple[Suspect, ...] = ()
    """What explains as much and cannot be told apart from it."""
    stayed: int = 0
    """How many of these others are where they were before."""


WHOLE_STEPS = (10, 5, 2)
"""People round to ten, five or two of the last digit."""
ROUNDED = 0.9
"""Of the looks so many are on the step that people round to."""


def step_of(values: Sequence[float], finest: float) -> float:
    """The step that values are read in: the finest that is written, or what people round to."""
    for many in WHOLE_STEPS:
        step = many * finest
        on = sum(abs(value / step - round(value / step)) < 1e-6 for value in values)
        if values and on >= ROUNDED * len(values):
            return step
    return finest
