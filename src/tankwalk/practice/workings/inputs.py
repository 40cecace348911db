"""What was typed into a field of a calculator, read by the form the field has."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from tankwalk import quantity, text
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.rows import NamedTuple
from tankwalk.science import salinity
from tankwalk.science.calculators.declare import MEASURE, Form, Input

MOST_NUMBERS = 1000
"""A list of numbers holds at most this many."""


class Taken(NamedTuple):
    """One input as it went into the sum; `baseline` where it was not typed."""

    key: str
    value: object
    unit: str
    shown: str
    usual: bool


def read_input(one: Input, typed: str, today: date | None = None) -> Taken | None:
    """One input from its text; None where it may be left out and was. Refusal names the key."""
    words = text.clean(typed)
    if not words:
        return _left_out(one)
    try:
        value, unit, shown = _read(one, words, today)
    except Refusal as refusal:
        raise Refusal(f"{one.key}: {refusal}") from None
    return Taken(one.key, value, unit, shown, usual=False)


def _left_out(one: Input) -> Taken | None:
    if one.default is not None:
        value, unit, shown = _read(one, _plain(one.default))
        return Taken(one.key, value, unit, shown, usual=True)
    if not one.needed:
        return None
    raise Refusal(f"{one.key} is missing: {one.words}{_in_words(one)}.")


def _in_words(one: Input) -> str:
    if one.choices:
        return f", one of {', '.join(one.choices)}"
    if one.form is Form.DAY:
        return ", such as 2026-05-10"
    return f" in {one.unit}" if one.unit else ""


def _plain(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.9f}".rstrip("0").rstrip(".")


def _read(one: Input, words: str, today: date | None = None) -> tuple[object, str, str]:
    """Value, unit and how it is shown; Refusal without the key."""
    match one.form:
        case Form.NUMBER | Form.COUNT:
            if salt := _salt(one, words):
                return salt
            whole = one.form is Form.COUNT
            read = quantity.read(
                words, one.unit, whole=whole, most=one.most, of=one.of, in_list=one.of == MEASURE
            )
            if one.form is Form.COUNT and read.value < 0:
                raise Refusal("a count cannot be less than 0.")
            return read.value, one.unit, _shown(read.value, one.unit)
        case Form.SERIES:
            series = _series(words, one)
            return series, one.unit, _listed(series, one.unit)
        case Form.GROUPS:
            groups = tuple(_series(part, one) for part in words.split(";"))
            return groups, one.unit, "; ".join(_listed(g, "") for g in groups)
        case Form.WORD:
            word = _choice(words, one.choices)
            return word, "", word
        case Form.NAME:
            return words, "", words
        case Form.UNIT:
            unit = quantity.canonical(words)
            if not unit:
                raise Refusal(f"{words[:30]!r} is no unit.")
            return unit, "", unit
        case Form.AMOUNT | Form.LOOSE:
            amount = _loose(words, one.unit) if one.form is Form.LOOSE else _amount(words)
            return amount, amount[1], _shown(*amount)
        case Form.DAY:
            day = _day(words, today)
            return day, "", day.isoformat()
        case Form.TIMES:
            times = _times(words)
            return times, "", f"{number_text(times)} times (1 part in {number_text(times)})"


def _day(words: str, today: date | None) -> date:
    """A calendar day, as 2026-05-10 or 2026-5-10, or the word today."""
    if today is not None and words.lower() == "today":
        return today
    match = _DAY.fullmatch(words)
    try:
        if match is None:
            raise ValueError(words)
        return date(*(int(part) for part in match.groups()))
    except ValueError:
        raise Refusal(f"{words[:30]!r} is no day; write it as 2026-05-10.") from None


def _times(words: str) -> float:
    """How many times something is diluted: 10, 1:10 (one part in ten in all), 10x."""
    match = _TIMES.fullmatch(words.lower())
    return quantity.read(match[1] or match[2] if match else words, "").value


def _choice(words: str, choices: Sequence[str]) -> str:
    def same(word: str) -> str:
        return " ".join(word.lower().replace(" as ", " ").split())

    for choice in choices:
        if same(choice) == same(words):
            return choice
    raise Refusal(f"{words[:30]!r} is not one of {', '.join(choices)}.")


def _salt(one: Input, words: str) -> tuple[float, str, str] | None:
    """Salt typed by the liter where it is meant by the kilogram, or the other way round."""
    turned = {"g/kg": (salinity.by_kilogram, "g/L"), "g/L": (salinity.by_liter, "g/kg")}
    if one.of != "salt" or one.unit not in turned:
        return None
    turn, other = turned[one.unit]
    found = _NUMBER.match(words)
    unit = quantity.canonical(words[found.end() :]) if found else None
    if not unit or quantity.canonical(unit) == one.unit:
        return None
    try:
        amount = quantity.read(words, other).value
    except Refusal:
        return None
    value = turn(amount)
    shown = f"{value:.4g} {one.unit} ({number_text(amount)} {other} at 20 degC)"
    return value, one.unit, shown


_DAY = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})")
_TIMES = re.compile(r"(?:1 ?[:/] ?([0-9.,]+)|([0-9.,]+) ?(?:x|times|fold|-fold))")
_NUMBER = re.compile(r"[-+\u2212]?[0-9.,]+")


def _series(words: str, one: Input) -> tuple[float, ...]:
    """Numbers separated by blanks, each alone or all with one unit at the end."""
    # "31, 28, 36": a comma before a blank only parts them; within a number it is a decimal comma.
    parts = re.sub(r",(?=\s)", " ", words).rstrip(", ").split()
    if not parts:
        raise Refusal("a list is empty.")
    if len(parts) > MOST_NUMBERS:
        raise Refusal(f"a list holds at most {MOST_NUMBERS} numbers.")
    end = len(parts)
    while end > 1 and not _NUMBER.match(parts[end - 1]):
        end -= 1
    said = " ".join(parts[end:])
    return tuple(
        quantity.read(
            f"{part} {said}".strip(), one.unit, most=one.most, of=one.of, in_list=True
        ).value
        for part in parts[:end]
    )


def _amount(words: str) -> tuple[float, str]:
    found = _NUMBER.match(words)
    if found is None:
        raise Refusal(f"{words[:30]!r} is not a number with its unit.")
    unit = quantity.canonical(words[found.end() :])
    if not unit:
        raise Refusal(f"{words[:30]!r} needs a unit after the number, such as 2.5 gal/min.")
    return quantity.read(words, unit).value, unit


def _loose(words: str, usual: str) -> tuple[float, str]:
    """A number in any unit, or alone in the usual one."""
    found = _NUMBER.match(words)
    unit = quantity.canonical(words[found.end() :]) if found else None
    return quantity.read(words, unit or usual).value, unit or usual


def _shown(value: float, unit: str) -> str:
    return f"{value:.10g} {unit}".strip()


def _listed(series: Sequence[float], unit: str) -> str:
    return (" ".join(f"{v:.10g}" for v in series) + f" {unit}").strip()
