"""Numbers of a working for people: rounded at the end, with their units, never NaN."""

from __future__ import annotations

from math import isfinite

from tankwalk.practice.workings.working_out import Working
from tankwalk.science.calculators.declare import Extra, Output

NO_VALUE = "no value"


def number(value: float | None, decimals: int) -> str:
    """A number with its decimals, and more where they would show a small number as 0."""
    if value is None or not isfinite(value):
        return NO_VALUE
    if abs(value) >= 1e12:
        return f"{value:.6g}"
    while value and decimals < 9 and abs(value) < 10.0 ** (1 - decimals) / 2:
        decimals += 1
    return f"{value:z.{decimals}f}"


def with_unit(shown: str, unit: str) -> str:
    """A number as written, with its unit where it has both."""
    return shown if not unit or shown == NO_VALUE else f"{shown} {unit}"


def answer(done: Working) -> str:
    """The answer in figures, with its unit."""
    return with_unit(number(done.value, done.calculator.output.decimals), done.unit)


def extra(value: Extra, output: Output) -> str:
    """One of the other numbers of an answer, with its unit."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None or isinstance(value, float | int):
        return with_unit(number(value, output.decimals), output.unit)
    if isinstance(value, str):
        return value
    numbers = [number(v, output.decimals) for v in value if isinstance(v, float | int)]
    return with_unit(" ".join(numbers), output.unit)


def named(output: Output) -> str:
    """What a number of the answer is called."""
    return output.words or output.key.replace("_", " ")


def is_table(value: Extra) -> bool:
    """Whether a value is rows of several numbers, such as the pairs of a comparison."""
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)


def extras(done: Working) -> list[tuple[str, str]]:
    """The other numbers of an answer by name, tables apart."""
    declared = {o.key: o for o in done.calculator.also}
    return [
        (named(output), extra(value, output._replace(unit=done.units.get(key, output.unit))))
        for key, value in done.also.items()
        if not is_table(value)
        for output in [declared.get(key, Output(key))]
    ]
