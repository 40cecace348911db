"""A calculator worked: what was typed read, the sum done, and its working put beside the answer."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from math import isfinite

from tankwalk import quantity, text
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.practice.workings.inputs import Taken, read_input
from tankwalk.rows import NamedTuple
from tankwalk.science.calculators import ALL
from tankwalk.science.calculators.declare import (
    Answer,
    Calculator,
    Extra,
    Given,
    Input,
    Limit,
)
from tankwalk.science.ceilings import Ceiling

MOST_NAMED = 4
"""Names offered where what was typed is none."""

LOW_PH, HIGH_PH = 6.0, 9.2
"""Between these the pH of hatchery water lies (common practice, no source)."""


class Held(NamedTuple):
    """What is held against a ceiling: the input or output, its value there, and the ceiling."""

    key: str
    value: float
    ceiling: Ceiling

    @property
    def passed(self) -> bool:
        """Whether it lies above its ceiling."""
        return self.value > self.ceiling.most * (1 + 1e-9)

    @property
    def words(self) -> str:
        """It above its ceiling, in one sentence: what, how much, above what, and who says so."""
        most = self.ceiling
        shown = f"{number_text(float(f'{self.value:.4g}'))} {most.unit}".strip()
        return f"{most.of} {shown}, above {most.most:g} ({most.source})."


class Working(NamedTuple):
    """An answer with everything a reviewer asks: inputs, equation, source, range, warnings."""

    calculator: Calculator
    value: float | None
    unit: str
    also: Mapping[str, Extra]
    inputs: tuple[Taken, ...]
    warnings: tuple[str, ...]
    shaky: str = ""
    held: tuple[Held, ...] = ()
    """What of it is held against a ceiling."""
    dangerous: bool = False
    """Whether its caution has to be read before the answer is shown."""
    units: Mapping[str, str] = {}
    """Units of what stands in `also`."""
    notes: tuple[str, ...] = ()

    @property
    def said(self) -> tuple[str, ...]:
        """Warnings and notes, as a person reads them."""
        return self.warnings + self.notes


def found(sought: str) -> list[Calculator]:
    """The calculators that letters stand for: names that begin so, then words, then anywhere."""
    letters = sought.lower().strip()
    if not letters:
        return list(ALL.values())
    names, first, then = [], [], []
    for one in ALL.values():
        words = f"{one.name} {one.words} {one.name.replace('-', ' ')} {one.find}".lower()
        if one.name.startswith(letters.replace(" ", "-")):
            names.append(one)
        elif f" {letters}" in f" {words}":
            first.append(one)
        elif letters in words:
            then.append(one)
    return names + first + then


def calculator(name: str) -> Calculator:
    """The calculator of a name; Refusal names the nearest."""
    asked = ALL.get(name.strip().lower())
    if asked is not None:
        return asked
    from difflib import get_close_matches

    words = [one.name for one in found(name)][:MOST_NAMED] if name.strip() else []
    near = words or get_close_matches(name.lower(), ALL, 1, 0.5)
    mend = f"Is it {' or '.join(near)}?" if near else "List them with: tankwalk calc"
    raise Refusal(f"There is no calculator {text.clean(name)[:30]!r}. {mend}")


def work(name: str, typed: Mapping[str, str], today: date | None = None) -> Working:
    """Work a calculator on what was typed, by input key; an empty text is not typed.

    `today` is the day that the word means, for a field that holds a day.

    Refusal: no such calculator, an input missing, unknown or not understood, or a sum that has
    no answer. The sentence names the input by its key.
    """
    asked = calculator(name)
    keys = [i.key for i in asked.inputs]
    for key in typed:
        if key not in keys:
            raise Refusal(
                f"{asked.name} takes no {text.clean(key)[:30]!r}; it takes {', '.join(keys)}."
            )
    taken = [read_input(one, typed.get(one.key, ""), today) for one in asked.inputs]
    given = {t.key: t.value for t in taken if t is not None}
    answer = solve(asked, given)
    kept = tuple(t for t in taken if t is not None)
    held = tuple(h for h in (_held(limit, given, answer) for limit in asked.limits) if h)
    above = [f"{one.words}{_ABOVE if asked.dose else ''}" for one in held if one.passed]
    warnings = (
        *above,
        *_outside(asked, given),
        *answer.warnings,
        *_strange(asked, answer),
    )
    unit = asked.output.unit if answer.unit is None else answer.unit
    return Working(
        asked,
        answer.value,
        unit,
        answer.also,
        kept,
        warnings,
        shakiness(asked, given, answer),
        held,
        asked.dangerous(Given(given)),
        {**{o.key: o.unit for o in asked.also}, **answer.units},
        answer.notes,
    )


_ABOVE = " A dose above it needs a name and a reason."


def _held(limit: Limit, given: Mapping[str, object], answer: Answer) -> Held | None:
    """What of this working a limit concerns; None where it has no such number."""
    value = answer.value if limit.key == "value" else answer.also.get(limit.key)
    if value is None:
        value = _amount_of(given.get(limit.key), limit.ceiling.unit)
    if not isinstance(value, float | int):
        return None
    return Held(limit.key, float(value), limit.ceiling)


def _amount_of(value: object, unit: str) -> float | None:
    """A number that was typed; an amount in the unit of its ceiling, or by volume as it stands."""
    match value:
        case float() as number:
            return number
        case (float() as number, str() as typed):
            for wanted in (unit, "uL/L"):
                try:
                    return quantity.convert(number, typed, wanted)
                except Refusal:
                    continue
    return None


def solve(asked: Calculator, given: Mapping[str, object]) -> Answer:
    """The sum itself, with whatever has no finite value refused or left empty."""
    try:
        answer = asked.work(Given(given))
    except (OverflowError, ZeroDivisionError):
        answer = None
    except ValueError as fault:
        if "math domain" not in str(fault):
            raise
        answer = None
    if answer is None or (answer.value is not None and not isfinite(answer.value)):
        keys = ", ".join(i.key for i in asked.inputs if i.key in given)
        raise Refusal(f"{asked.name} has no answer that can be written: look at {keys}.")
    also = {key: _finite(value) for key, value in answer.also.items()}
    return answer._replace(also=also)


def _finite(value: Extra) -> Extra:
    return None if isinstance(value, float) and not isfinite(value) else value


def _outside(asked: Calculator, given: Mapping[str, object]) -> list[str]:
    """A warning for each input that nobody means here, or outside the range of the equation."""
    found = []
    for one in asked.inputs:
        value = given.get(one.key)
        values = value if isinstance(value, tuple) else (value,)
        for number in values:
            if not isinstance(number, float):
                continue
            if said := _unmeant(one.key, number, one.unit, one.meant):
                found.append(f"{said}: check the number and its unit.")
                break
            if said := _beyond(one, number):
                found.append(said)
                break
    return [*found, *_swapped(given)]


def _unmeant(name: str, value: float, unit: str, meant: tuple[float, float] | None) -> str:
    """What is said of a number that cannot be meant; a zero always can."""
    if meant is None or value == 0 or meant[0] <= value <= meant[1]:
        return ""
    unit = f" {unit}" if unit else ""
    low, high, shown = (number_text(n) for n in (*meant, float(f"{value:.6g}")))
    return f"{name} {shown}{unit} is outside what can be meant here, {low} to {high}{unit}"


def _beyond(one: Input, value: float) -> str:
    if one.valid is None or one.valid[0] <= value <= one.valid[1]:
        return ""
    low, high = one.valid
    unit = f" {one.unit}" if one.unit else ""
    return (
        f"{one.key} {value:g}{unit} is outside {low:g} to {high:g}{unit}, "
        "the range of the equation."
    )


def _swapped(given: Mapping[str, object]) -> list[str]:
    """A pH above what waters here have beside a temperature that would be a usual pH."""
    ph, temperature = given.get("ph"), given.get("temperature")
    if not isinstance(ph, float) or not isinstance(temperature, float):
        return []
    if ph > HIGH_PH and LOW_PH <= temperature <= HIGH_PH:
        return [f"ph {ph:g} and temperature {temperature:g} degC: are the two swapped?"]
    return []


def _strange(asked: Calculator, answer: Answer) -> list[str]:
    """A warning for each number of the answer that right inputs do not give."""
    values: dict[str, Extra] = {"value": answer.value, **answer.also}
    said = []
    for one in (asked.output, *asked.also):
        value = values.get(one.key)
        if isinstance(value, float):
            name = one.words or ("the answer" if one.key == "value" else one.key)
            if words := _unmeant(name, value, one.unit, one.meant):
                said.append(f"{words}: check what it is made from, and the units.")
    return said


def shakiness(asked: Calculator, given: Mapping[str, object], answer: Answer) -> str:
    """What an error of the shakiest input does to the answer, in words; "" where it has none."""
    if asked.shaky is None or not answer.value:
        return ""
    key, step = asked.shaky
    at = given.get(key)
    if not isinstance(at, float):
        return ""
    ends = []
    for moved in (at - step, at + step):
        try:
            value = solve(asked, {**given, key: moved}).value
        except Refusal:
            return ""
        if value is None:
            return ""
        ends.append(value)
    low, high = sorted(ends)
    show = asked.output.decimals
    unit = answer.unit or asked.output.unit
    worst = max(abs(end - answer.value) for end in ends) / abs(answer.value)
    return (
        f"{key} off by {step:g}: {low:.{show}f} to {high:.{show}f}{' ' + unit if unit else ''}, "
        f"up to {worst:.0%} away."
    )


# ---- the working as one object


def listed() -> list[dict[str, object]]:
    """Every calculator with what it asks and gives."""
    return [
        {
            "name": c.name,
            "words": c.words,
            "inputs": {
                i.key: {"unit": i.unit, "words": i.words, "usual": i.default, "needed": i.needed}
                for i in c.inputs
            },
            "unit": c.output.unit,
            "also": {o.key: o.unit for o in c.also},
        }
        for c in ALL.values()
    ]


def as_json(done: Working) -> dict[str, object]:
    """The working as the command line prints it with --json."""
    asked = done.calculator
    return {
        "name": asked.name,
        "value": done.value,
        "unit": done.unit,
        "also": {key: _extra(value, done.units.get(key, "")) for key, value in done.also.items()},
        "inputs": {t.key: {"value": _json(t.value), "unit": t.unit} for t in done.inputs},
        "equation": asked.equation,
        "source": asked.source,
        "range": asked.range,
        "warnings": list(done.said),
        **({"caution": " ".join(asked.caution)} if asked.caution else {}),
        **({"dangerous": True} if done.dangerous else {}),
        **({"sensitivity": done.shaky} if done.shaky else {}),
    }


def _extra(value: Extra, unit: str) -> object:
    """A number with its unit; a table (the pairs of a comparison) as it stands."""
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return value
    return {"value": value, "unit": unit}


def _json(value: object) -> object:
    match value:
        case date():
            return value.isoformat()
        case (float() as number, str()):  # an amount: its unit stands beside it
            return number
    return value
