"""What a calculator says of itself: its inputs with units, its answer, equation, source and range.

One declaration feeds the command line, the Workings screen, the derived readings and the tests.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from enum import StrEnum

from tankwalk.rows import NamedTuple
from tankwalk.science.ceilings import Ceiling
from tankwalk.science.dose_kinds import DoseKind


class Form(StrEnum):
    """How an input is written."""

    NUMBER = "number"
    COUNT = "count"
    """A whole number of 0 or more."""
    SERIES = "series"
    """Numbers separated by blanks."""
    GROUPS = "groups"
    """Series separated by semicolons."""
    WORD = "word"
    """One of a few words."""
    UNIT = "unit"
    """The name of a unit."""
    AMOUNT = "amount"
    """A number with the unit it is written in."""
    LOOSE = "loose"
    """As an amount, but a number alone is meant in `unit`."""
    TIMES = "times"
    """How many times diluted: 10 or 1:10."""
    DAY = "day"
    """A calendar day, 2026-05-10."""
    NAME = "name"
    """What something is called, in any words."""


MEASURE = "measure"
"""What an input is of that is in the unit of a list of values: its point is a decimal point too."""


class Input(NamedTuple):
    """One thing a calculator asks.

    `unit` is what a bare number means. `default` stands where nothing is typed; an input with
    neither `default` nor `needed` may be left out. `valid` is the range of the equation: outside
    it there is a warning, never a refusal. `item` is the item code whose latest reading at a tank
    or its loop fills it; `fact` names what the plan knows ("volume", "elevation", "dph"). `meant`
    is what somebody here can mean at all (common practice, no source, and wide): outside it there
    is a warning too. `of` is what it is an amount of, so that nitrite is not taken for ammonia.
    `of_product` names what the plan says of a product: its "name", "strength", "gravity",
    "label_doses" or "form".
    """

    key: str
    words: str
    unit: str = ""
    form: Form = Form.NUMBER
    default: float | str | None = None
    needed: bool = True
    choices: tuple[str, ...] = ()
    valid: tuple[float, float] | None = None
    item: str = ""
    fact: str = ""
    meant: tuple[float, float] | None = None
    of: str = ""
    of_product: str = ""

    @property
    def most(self) -> float | None:
        """The most that can be meant, so that 7.125 of a pH is no seven thousand."""
        limits = self.meant or self.valid
        return None if limits is None else limits[1]


class Output(NamedTuple):
    """One number of the answer. `decimals` is for people; nothing is rounded before.

    `meant` is what can come of inputs that are right: a warning outside it.
    """

    key: str
    unit: str = ""
    decimals: int = 2
    words: str = ""
    meant: tuple[float, float] | None = None


Extra = float | str | bool | None | list[float] | list[dict[str, object]]
"""What can stand under `also`; None is "has no value"."""


class Answer(NamedTuple):
    """What the sum gives: the value, what else it gives by output key, and warnings in words.

    `notes` are said with the warnings, and do not keep a value out of the record.
    `unit` stands in place of the declared one where it was asked for, and so do `units` for what
    else it gives.
    """

    value: float | None
    also: Mapping[str, Extra] = {}
    warnings: tuple[str, ...] = ()
    unit: str | None = None
    units: Mapping[str, str] = {}
    notes: tuple[str, ...] = ()


class Given:
    """Inputs as read, by key. Each form has its own door, so that the sum is typed."""

    def __init__(self, values: Mapping[str, object]) -> None:
        self._values = values

    def has(self, key: str) -> bool:
        return self._values.get(key) is not None

    def number(self, key: str) -> float:
        value = self._values[key]
        assert isinstance(value, float)
        return value

    def maybe(self, key: str) -> float | None:
        return self.number(key) if self.has(key) else None

    def count(self, key: str) -> int:
        return round(self.number(key))

    def series(self, key: str) -> tuple[float, ...]:
        value = self._values[key]
        assert isinstance(value, tuple)
        return value

    def groups(self, key: str) -> tuple[tuple[float, ...], ...]:
        value = self._values[key]
        assert isinstance(value, tuple)
        return value

    def word(self, key: str) -> str:
        value = self._values[key]
        assert isinstance(value, str)
        return value

    def amount(self, key: str) -> tuple[float, str]:
        """A number and the unit it was typed in; for a loose one alone, its usual unit."""
        value = self._values[key]
        assert isinstance(value, tuple)
        number, unit = value
        assert isinstance(number, float)
        assert isinstance(unit, str)
        return number, unit

    def day(self, key: str) -> date:
        value = self._values[key]
        assert isinstance(value, date)
        return value


class Dose(NamedTuple):
    """How an answer becomes a dose in the record: what is weighed, into what, for which rise.

    `kind` says what goes in; each field after it names an input or an output ("value" is the
    answer itself). `item` is the item whose reading the dose moves.
    """

    kind: DoseKind
    amount: str
    expected: str = ""
    volume: str = "volume"
    item: str = ""


class Limit(NamedTuple):
    """The input or output that a ceiling is held against."""

    key: str
    ceiling: Ceiling


def never(_: Given) -> bool:
    """Whether a sum is dangerous, for most: never."""
    return False


def always(_: Given) -> bool:
    """Whether a sum is dangerous, whatever is typed."""
    return True


class Calculator(NamedTuple):
    """One sum of the trade. `work` may raise Refusal, naming the input, and nothing else.

    `example` is what one might type on a working day: key=value, with " | " between.

    `shaky` names the input the answer hangs on most and by how much a good meter is off, so that
    the working can say what that does. `caution` is what has to be read before the answer: four
    short lines at most, the hazard first; where `dangerous`, a page shows no answer before a key
    says that they were read. `limits` are the ceilings the answer is held against.
    `find` are other words by which people look for it.
    """

    name: str
    words: str
    inputs: tuple[Input, ...]
    output: Output
    equation: str
    source: str
    range: str
    work: Callable[[Given], Answer]
    example: str
    also: tuple[Output, ...] = ()
    shaky: tuple[str, float] | None = None
    caution: tuple[str, ...] = ()
    dose: Dose | None = None
    limits: tuple[Limit, ...] = ()
    dangerous: Callable[[Given], bool] = never
    product: DoseKind | None = None
    """What its product is, where it is no dose for water with fish."""
    find: str = ""

    @property
    def kind(self) -> DoseKind | None:
        """What the product it is worked for is; None where it is worked for none."""
        return self.dose.kind if self.dose is not None else self.product

    @property
    def typed(self) -> dict[str, str]:
        """The example, by key."""
        return dict(part.split("=", 1) for part in self.example.split(" | "))

    def input(self, key: str) -> Input | None:
        return next((i for i in self.inputs if i.key == key), None)
