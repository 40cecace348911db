"""What every sum of the trade refuses, in one sentence that names the input."""

from __future__ import annotations

from math import isfinite

from tankwalk.errors import Refusal


def finite(name: str, value: float) -> float:
    """`value`, or Refusal where it is no number at all (infinite, not a number)."""
    if not isfinite(value):
        raise Refusal(f"{name} has to be a number.")
    return value


def above_zero(name: str, value: float, unit: str = "") -> float:
    """`value`, or Refusal where it is 0 or less."""
    if not isfinite(value) or value <= 0:
        raise Refusal(f"{name} has to be above 0{_unit(unit)}, not {value:g}.")
    return value


def zero_or_more(name: str, value: float, unit: str = "") -> float:
    """`value`, or Refusal where it is negative; a zero is legal."""
    if not isfinite(value) or value < 0:
        raise Refusal(f"{name} has to be 0{_unit(unit)} or more, not {value:g}.")
    return value


def within(name: str, value: float, low: float, high: float, unit: str = "") -> float:
    """`value`, or Refusal where it lies outside what can be (the limits themselves can)."""
    if not isfinite(value) or not low <= value <= high:
        raise Refusal(f"{name} has to be {low:g} to {high:g}{_unit(unit)}, not {value:g}.")
    return value


def part(name: str, value: float) -> float:
    """`value` as a part of a whole, above 0 and at most 1, or Refusal."""
    if not 0 < value <= 1:
        raise Refusal(f"{name} has to be above 0 and at most 1, not {value:g}.")
    return value


def water_temperature(value: float, name: str = "temperature") -> float:
    """A temperature water can have, -5 to 100 degC; equations warn well inside it."""
    return within(name, value, -5, 100, "degC")


def salt(value: float, name: str = "salinity") -> float:
    """A salinity water can have, 0 g/kg to saturated brine at 300 g/kg."""
    return within(name, value, 0, 300, "g/kg")


def answer(value: float, *names: str) -> float:
    """`value` worked out from those inputs, or Refusal where no number can hold it."""
    if not isfinite(value):
        raise Refusal(f"{' and '.join(names)} together are too large or too small for an answer.")
    return value


def _unit(unit: str) -> str:
    return f" {unit}" if unit else ""
