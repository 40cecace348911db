"""The one strict door from typed text to a number and a unit: understood whole, or refused."""

from __future__ import annotations

import re
from typing import Final

from tankwalk import units
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.rows import NamedTuple


class Quantity(NamedTuple):
    """A number that was typed, in the unit its field is kept in.

    Attributes:
        value: the number, in `unit`; for `below`, the detection limit itself.
        unit: canonical name of the unit it is kept in, "" for none.
        typed: the text as typed, without blanks around it.
        below: typed with a leading "<", so below the detection limit `value`.
        typed_unit: canonical name of the unit that was typed, None when none was.
    """

    value: float
    unit: str
    typed: str
    below: bool = False
    typed_unit: str | None = None


_BLANKS: Final = " \u00a0\u2009\u202f"
# Patterns are compiled at the first value that is read: a start reads none.
_NUMBER: Final = (
    rf"(?P<below><)?[{_BLANKS}]*(?P<sign>[-+\u2212])?"
    rf"(?P<whole>[0-9]*)(?:(?P<mark>[.,])(?P<part>[0-9]*))?"
    rf"(?:[eE](?P<power>[-+\u2212]?[0-9]{{1,3}})(?![0-9]))?[{_BLANKS}]*"
    rf"(?:(?P<scale>thousand|million|billion)s?(?![a-zA-Z])[{_BLANKS}]*)?(?P<rest>.*)"
)
_NUMBER_FLAGS: Final = re.DOTALL | re.ASCII
# What may begin a unit; anything else after the number belongs to a number gone wrong.
_UNIT_START: Final = (
    r"(?:/ ?)?[^\W\d_]|[%\u2030\u00b0\u00ba\u2103\u2109]|[\"'\u2032\u2033\u2019\u201d]$"
)
_SCALES: Final = {"thousand": 10.0**3, "million": 10.0**6, "billion": 10.0**9}
# "2 ft 6 in", "2'6\"", "5 lb 3 oz", "1 h 30 min": a whole number, and less than one of it.
_TWO: Final = (
    rf"(?P<many>[0-9]+)[{_BLANKS}]*(?P<large>[a-zA-Z.'\u2032\u2019]+)[{_BLANKS}]*"
    rf"(?P<few>[0-9]+(?:[.,][0-9]+)?)[{_BLANKS}]*(?P<small>[a-zA-Z.\"\u2033\u201d]+)"
)
_IN_ONE: Final = {
    ("ft", "in"): 12,
    ("lb", "oz"): 16,
    ("h", "min"): 60,
    ("min", "s"): 60,
    ("d", "h"): 24,
    ("week", "d"): 7,
    ("gal", "qt"): 4,
}

_MOST_WHOLE_DIGITS: Final = 12
_MOST_DECIMALS: Final = 40
_EXACT_DIGITS: Final = 15
_SMALLEST: Final = 1e-18


class TwoReadings(NamedTuple):
    """A number that was typed so that it can be read in two ways, each as a text that can't."""

    thousands: str
    decimal: str


def thousands_or_decimal(text: str, unit: str, *, most: float | None = None) -> TwoReadings | None:
    """Both readings of a number with three digits after its one mark: "1,200" is 1200 or 1.2.

    None where one of them is out of the question: the number begins with 0, nothing in its unit
    goes into the thousands, or the larger reading is above `most`, in `unit`.

    Raises:
        Refusal: there is no unit of that name.
    """
    match = re.fullmatch(_NUMBER, text.strip(), _NUMBER_FLAGS)
    return None if match is None else _two_readings(match, units.named(unit), most)


def _two_readings(
    match: re.Match[str], kept_in: units.Unit, most: float | None
) -> TwoReadings | None:
    whole, part = match["whole"], match["part"] or ""
    sure = match["power"] or match["scale"] or whole.startswith("0")
    if sure or len(part) != 3 or not 1 <= len(whole) <= 3:
        return None
    rest = match["rest"]
    name = units.canonical(rest) if rest else kept_in.name
    if name is None or name in units.NEVER_THOUSANDS:
        return None
    if most is not None:
        large = float(whole + part)
        if name != kept_in.name:
            large = _turn(large, units.named(name), kept_in, "")
        if large > most:
            return None
    # 1.20 and 1.2340 can be read in one way alone.
    decimal = f"{whole}.{part[:2] if part.endswith('0') else part + '0'}"
    before = f"{match['below'] or ''}{match['sign'] or ''}"
    after = f" {units.echo(rest)}" if rest else ""
    return TwoReadings(f"{before}{whole}{part}{after}", f"{before}{decimal}{after}")


def make_ready() -> None:
    """Compile what reads a value, so that the first one that is typed does not wait for it."""
    read("1 L/min", "L/min")
    re.fullmatch(_TWO, "")


def read(
    text: str,
    unit: str,
    *,
    whole: bool = False,
    allow_below: bool = False,
    allow_negative: bool = True,
    most: float | None = None,
    of: str = "",
    in_list: bool = False,
) -> Quantity:
    """Return the number typed in `text`, turned into `unit`.

    "1,5" and "1.5" are the same. A unit after the number is optional; without one the
    number is in `unit`. A plain concentration typed where the field says "as N" (or "as
    CaCO3") is taken in the field's own basis.

    Args:
        text: as typed, from a key, a CSV cell, the plan or the command line.
        unit: canonical name of the unit the field is kept in, "" for none.
        whole: a count; a decimal mark is refused.
        allow_below: a leading "<" is allowed, for below the detection limit.
        allow_negative: a value below zero, in `unit`, is allowed.
        most: the most the field can mean, in `unit`: what would be more than that in
            thousands (1.200) is no thousands.
        of: what it is an amount of ("ammonia", "nitrite", "nitrate", "oxygen"), "" where the
            field does not say: units of another substance are refused.
        in_list: one of a list, in which a point is a decimal point.

    Raises:
        Refusal: anything that was not wholly understood, in one sentence.
    """
    kept_in = units.named(unit)
    typed = text.strip()
    echo = units.echo(typed)
    if not echo:
        raise Refusal("Nothing was typed.")
    match = re.fullmatch(_NUMBER, typed, _NUMBER_FLAGS)
    if match is None or not (match["whole"] or match["part"]):
        raise Refusal(f"'{echo}' is not a number.")
    two = re.fullmatch(_TWO, typed)
    both = two and _compound(two, kept_in)
    if both:
        value, typed_in = both
        return _checked(Quantity(value, unit, typed, typed_unit=typed_in), echo, whole=whole)
    rest = match["rest"]
    if rest and not re.match(_UNIT_START, rest):
        raise Refusal(
            f"'{echo}' is not one number; type plain digits with at most one decimal mark."
        )
    number = _number(match, echo, whole=whole)
    below = match["below"] is not None
    if below and not allow_below:
        raise Refusal(f"'{echo}' is below a detection limit, and this value has none.")
    if below and number <= 0:
        raise Refusal(f"'{echo}' does not say a detection limit; type a number above 0 after <.")
    unit_typed = _typed_unit(rest, kept_in, of) if rest else None
    value = _turn(number, unit_typed, kept_in, of) if unit_typed else number
    asked = not whole and not (in_list and match["mark"] == ".")
    if asked and (two_readings := _two_readings(match, kept_in, most)):
        raise Refusal(
            f"'{echo}': {_plain_number(match, thousands=True)} or"
            f" {_plain_number(match, thousands=False)}?"
            f" Type {two_readings.thousands} or {two_readings.decimal}."
        )
    if value < 0 and not allow_negative:
        raise Refusal(f"'{echo}' is below zero, which this value cannot be.")
    name = unit_typed.name if unit_typed else None
    return _checked(Quantity(value, unit, typed, below, name), echo, whole=whole)


def _checked(found: Quantity, echo: str, *, whole: bool) -> Quantity:
    if whole and not found.value.is_integer():
        raise Refusal(f"'{echo}' is not a whole number of {found.unit}.")
    return found


def _plain_number(match: re.Match[str], *, thousands: bool) -> str:
    digits = f"{match['whole']}{'' if thousands else '.'}{match['part']}"
    return f"{float(digits):.10g}"


def _compound(two: re.Match[str], kept_in: units.Unit) -> tuple[float, str] | None:
    """The sum of "2 ft 6 in" in the unit it is kept in; None where the two do not go together."""
    large, small = units.canonical(two["large"]), units.canonical(two["small"])
    if large is None or small is None or (large, small) not in _IN_ONE:
        return None
    if not kept_in.shares_with(units.named(large)):
        return None
    few = float(two["few"].replace(",", "."))
    most = _IN_ONE[large, small]
    if few >= most:
        raise Refusal(f"'{units.echo(two[0])}' has {few:g} {small}, and {most} are one {large}.")
    whole = convert(float(two["many"]), large, kept_in.name)
    value = whole + convert(few, small, kept_in.name)
    return float(f"{value:.12g}"), large


convert = units.convert
canonical = units.canonical
load_units = units.load
UNITS: Final = units.UNITS


def sure_text(value: float, unit: str) -> str:
    """Return a number as `number_text` does, so that `read` takes it back: 1.125 is 1.1250."""
    written = number_text(value)
    two = thousands_or_decimal(written, unit)
    return two.decimal if two else written


def _number(match: re.Match[str], echo: str, *, whole: bool) -> float:
    """Return the matched digits as a float, or refuse them."""
    digits, mark, part = match["whole"], match["mark"], match["part"] or ""
    if whole and mark and not match["scale"]:
        grouped = len(part) == 3 and digits.lstrip("0") == digits != ""
        if mark == ",":
            meant = f"type {digits}{part}" if grouped else "type whole digits alone"
            raise Refusal(
                f"'{echo}' is not a whole number, because a comma is a decimal comma; {meant}."
            )
        raise Refusal(f"'{echo}' has a decimal mark; a count is typed as whole digits alone.")
    if len(digits) > _MOST_WHOLE_DIGITS or len(part) > _MOST_DECIMALS:
        raise Refusal(
            f"'{echo}' has too many digits; at most {_MOST_WHOLE_DIGITS} before"
            f" and {_MOST_DECIMALS} after the decimal mark are taken."
        )
    power = (match["power"] or "0").replace("\u2212", "-")
    number = float(f"{digits or '0'}.{part or '0'}e{power}") * _SCALES.get(match["scale"], 1.0)
    if number > 10.0**_MOST_WHOLE_DIGITS:
        raise Refusal(f"'{echo}' is too large a number to be meant.")
    if number < _SMALLEST and (digits + part).strip("0"):
        raise Refusal(f"'{echo}' is too small a number to be meant.")
    if len((digits + part).strip("0")) > _EXACT_DIGITS:
        # A script writes 13.200000000000001 for 13.2.
        number = float(f"{number:.{_EXACT_DIGITS}g}")
    negative = match["sign"] in ("-", "\u2212")
    return -number if negative and number else number


def _typed_unit(rest: str, kept_in: units.Unit, of: str) -> units.Unit:
    """Return the unit typed after the number, or refuse it."""
    echo = units.echo(rest)
    spelled = units.spelling(rest)
    if spelled == "ppm" and of == "oxygen":
        return units.named("mg/L")
    if spelled == "ppm":
        raise Refusal("'ppm' does not say by mass or by volume; type mg/L or uL/L.")
    if spelled == "ppb":
        raise Refusal("'ppb' does not say by mass or by volume; type ug/L.")
    name = units.canonical(rest)
    if name:
        return units.named(name)
    if meant := units.mega(rest):
        raise Refusal(f"'{echo}' has a capital M, which is mega; type {meant}.")
    if not kept_in.name:
        raise Refusal(f"'{echo}' was not understood; type the number alone.")
    known = [u.name for u in units.TABLE if u.shares_with(kept_in) and _is_of(u, of)]
    raise Refusal(f"'{echo}' was not understood as a unit; type {_either(known)}.")


_SUBSTANCES: Final = frozenset(("ammonia", "nitrite", "nitrate"))
_OXYGEN: Final = 31.998e-3
"""mg in a micromole of O2, from memory."""


def _is_of(unit: units.Unit, of: str) -> bool:
    """Whether a unit can be one of a field that holds that substance."""
    mine = _SUBSTANCES.intersection(unit.families or (unit.measures,))
    return not mine or of not in _SUBSTANCES or of in mine


def _turn(number: float, typed_in: units.Unit, kept_in: units.Unit, of: str) -> float:
    """Return the number in the unit the field is kept in, or refuse the unit."""
    amount, says_basis, _ = kept_in.name.partition(" as ")
    if says_basis and typed_in.measures == "concentration":
        # The field says the basis, so a plain mg/L or ug/L is meant in it.
        return convert(number, typed_in.name, amount)
    if not kept_in.name:
        raise Refusal(f"{typed_in.name} was typed, and this value has no unit.")
    if not _is_of(typed_in, of):
        raise Refusal(f"{typed_in.name} is {typed_in.measures}, and this value is {of}.")
    if typed_in.name == "umol/L" and of == "oxygen":
        return convert(number * _OXYGEN, "mg/L", kept_in.name)
    if typed_in.name == "%" and kept_in.name == "%/d":
        # A ration is said in percent alone, and always a day.
        return number
    if not typed_in.shares_with(kept_in):
        raise Refusal(
            f"{typed_in.name} measures {typed_in.measures}; this value is kept in"
            f" {kept_in.name}, which measures {kept_in.measures}."
        )
    return convert(number, typed_in.name, kept_in.name)


def _either(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
