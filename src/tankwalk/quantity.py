"""The one strict door from typed text to a number and a unit: understood whole, or refused."""

from __future__ import annotations

import math
import re
from functools import cache
from typing import TYPE_CHECKING, Final, NamedTuple

from tankwalk.errors import Refusal
from tankwalk.text import clean

if TYPE_CHECKING:
    import pint


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


class _Unit(NamedTuple):
    """One unit the trade writes: what it measures, its other spellings, how pint says it."""

    name: str
    measures: str
    spellings: tuple[str, ...] = ()
    formula: str = ""
    # What it can be turned within; an amount as N belongs to three substances.
    families: tuple[str, ...] = ()

    def shares_with(self, other: _Unit) -> bool:
        """Say whether a value in this unit can be turned into the other."""
        mine = self.families or (self.measures,)
        theirs = other.families or (other.measures,)
        return not set(mine).isdisjoint(theirs)


# Spellings are written as _spelling() leaves them: lower case, u for the mu signs,
# "deg" for the degree sign, "/" for per.
_TABLE: Final = (
    _Unit("", "nothing"),
    _Unit("%", "fraction", ("percent", "pct"), "percent"),
    _Unit("fraction", "fraction", (), "fraction"),
    _Unit("degC", "temperature", ("c", "deg c", "celsius", "degrees c"), "degC"),
    _Unit("degF", "temperature", ("f", "deg f", "fahrenheit", "degrees f"), "degF"),
    _Unit("degC d", "degree-days", ("deg c d", "degree-days", "degree days")),
    _Unit("m", "length", ("meter", "meters", "metre", "metres"), "meter"),
    _Unit("cm", "length", ("centimeter", "centimeters"), "centimeter"),
    _Unit("mm", "length", ("millimeter", "millimeters"), "millimeter"),
    _Unit("um", "length", ("micron", "microns", "micrometer", "micrometers"), "micrometer"),
    _Unit("ft", "length", ("foot", "feet"), "foot"),
    _Unit("in", "length", ("inch", "inches"), "inch"),
    _Unit("kg", "mass", ("kilogram", "kilograms"), "kilogram"),
    _Unit("g", "mass", ("gram", "grams"), "gram"),
    _Unit("mg", "mass", ("milligram", "milligrams"), "milligram"),
    _Unit("ug", "mass", ("mcg", "microgram", "micrograms"), "microgram"),
    _Unit("lb", "mass", ("lbs", "pound", "pounds"), "pound"),
    _Unit("oz", "mass", ("ounce", "ounces"), "ounce"),
    _Unit("m3", "volume", ("m^3", "cubic meter", "cubic meters"), "cubic_meter"),
    _Unit("L", "volume", ("liter", "liters", "litre", "litres"), "liter"),
    _Unit("mL", "volume", ("cc", "milliliter", "milliliters"), "milliliter"),
    _Unit("uL", "volume", ("microliter", "microliters"), "microliter"),
    _Unit("gal", "volume", ("gals", "gallon", "gallons"), "gallon"),
    _Unit("d", "time", ("day", "days"), "day"),
    _Unit("h", "time", ("hr", "hrs", "hour", "hours"), "hour"),
    _Unit("min", "time", ("mins", "minute", "minutes"), "minute"),
    _Unit("s", "time", ("sec", "secs", "second", "seconds"), "second"),
    _Unit("L/min", "flow", ("lpm", "liters/minute"), "liter / minute"),
    _Unit("L/h", "flow", ("lph", "l/hr", "liters/hour"), "liter / hour"),
    _Unit("L/d", "flow", ("lpd", "l/day", "liters/day"), "liter / day"),
    _Unit("L/s", "flow", ("lps", "l/sec"), "liter / second"),
    _Unit("mL/min", "flow", (), "milliliter / minute"),
    _Unit("m3/h", "flow", ("m3/hr",), "cubic_meter / hour"),
    _Unit("m3/d", "flow", ("m3/day",), "cubic_meter / day"),
    _Unit("gal/min", "flow", ("gpm", "gallons/minute"), "gallon / minute"),
    _Unit("gal/h", "flow", ("gph", "gal/hr", "gallons/hour"), "gallon / hour"),
    _Unit("mmHg", "pressure", ("mm hg", "torr"), "millimeter_mercury"),
    _Unit("inHg", "pressure", ("in hg",), "inch_mercury"),
    _Unit("kPa", "pressure", ("kilopascal",), "kilopascal"),
    _Unit("hPa", "pressure", ("hectopascal",), "hectopascal"),
    _Unit("mbar", "pressure", ("millibar",), "hectopascal"),
    _Unit("bar", "pressure", (), "bar"),
    _Unit("psi", "pressure", (), "psi"),
    _Unit("mS/cm", "conductivity", ("ds/m",), "millisiemens_per_cm"),
    _Unit("uS/cm", "conductivity", (), "microsiemens_per_cm"),
    _Unit("g/kg", "salinity", ("ppt", "psu", "permil"), "gram / kilogram"),
    _Unit("kg/m3", "concentration", (), "kilogram / cubic_meter"),
    _Unit("g/L", "concentration", ("mg/ml",), "gram / liter"),
    _Unit("mg/L", "concentration", ("ug/ml",), "milligram / liter"),
    _Unit("ug/L", "concentration", ("mcg/l",), "microgram / liter"),
    _Unit(
        "mg/L as N",
        "nitrogen",
        ("mg/l n", "mg/l-n", "mg n/l", "mg-n/l"),
        "milligram_n / liter",
        ("ammonia", "nitrite", "nitrate"),
    ),
    _Unit(
        "ug/L as N",
        "nitrogen",
        ("ug/l n", "ug/l-n", "ug n/l", "ug-n/l"),
        "microgram_n / liter",
        ("ammonia", "nitrite", "nitrate"),
    ),
    _Unit("mg/L as NH3", "ammonia", ("mg/l nh3", "mg nh3/l"), "milligram_nh3 / liter"),
    _Unit("mg/L as NH4", "ammonia", ("mg/l nh4", "mg nh4/l"), "milligram_nh4 / liter"),
    _Unit("mg/L as NO2", "nitrite", ("mg/l no2", "mg no2/l"), "milligram_no2 / liter"),
    _Unit("mg/L as NO3", "nitrate", ("mg/l no3", "mg no3/l"), "milligram_no3 / liter"),
    _Unit("mg/L as CaCO3", "alkalinity", ("mg/l caco3", "mg caco3/l"), "milligram_caco3 / liter"),
    _Unit("mg/L as HCO3", "alkalinity", ("mg/l hco3", "mg hco3/l"), "milligram_hco3 / liter"),
    _Unit("meq/L", "alkalinity", (), "milliequivalent / liter"),
    _Unit("dKH", "alkalinity", ("deg kh", "deg dkh"), "german_degree / liter"),
    _Unit("mL/L", "volume in a volume", (), "milliliter / liter"),
    _Unit("uL/mL", "volume in a volume", (), "microliter / milliliter"),
    _Unit("uL/L", "volume in a volume", (), "microliter / liter"),
    _Unit("per mL", "number in a volume", ("cells/ml", "ind/ml"), "1 / milliliter"),
    _Unit("per L", "number in a volume", ("cells/l", "ind/l"), "1 / liter"),
    _Unit("per g", "number in a mass", ("nauplii/g",), "1 / gram"),
    _Unit("kg/d", "mass in a time", ("kg/day",), "kilogram / day"),
    _Unit("g/d", "mass in a time", ("g/day",), "gram / day"),
    _Unit("mg/d", "mass in a time", ("mg/day",), "milligram / day"),
    _Unit("mg/h", "mass in a time", ("mg/hr",), "milligram / hour"),
    _Unit("g/h", "mass in a time", ("g/hr",), "gram / hour"),
    _Unit("per d", "rate", ("/day",), "fraction / day"),
    _Unit("per h", "rate", ("/hr", "/hour"), "fraction / hour"),
    _Unit("%/d", "rate", ("%/day", "percent/day"), "percent / day"),
    _Unit("mL/g", "volume for a mass", (), "milliliter / gram"),
    _Unit("g/g", "mass for a mass", (), "gram / gram"),
    _Unit("g per million per d", "ration", ("g/million/day",)),
    _Unit("NTU", "turbidity"),
    _Unit("lux", "light", ("lx",)),
    _Unit("mV", "voltage", ("millivolt", "millivolts")),
)

UNITS: Final = tuple(unit.name for unit in _TABLE)
"""The canonical names of all units a field can be kept in; "" is none."""

_BY_NAME: Final = {unit.name: unit for unit in _TABLE}

# Factors, from memory: NIST SP 811 (2008), appendix B.8, with the conventional mmHg and
# inHg; the exact gallon, pound and ounce of NIST Handbook 44, appendix C. pint's own
# registry is not used: it has hundreds of units no one here types, and another meaning
# for some that are ("C", "ppt").
_DEFINITIONS: Final = (
    "fraction = [fraction]",
    "percent = 0.01 * fraction",
    "degC = [temperature]",
    "degF = 5 / 9 * degC; offset: -160 / 9",
    "meter = [length]",
    "centimeter = 0.01 * meter",
    "millimeter = 0.001 * meter",
    "micrometer = 1e-6 * meter",
    "foot = 0.3048 * meter",
    "inch = 0.0254 * meter",
    "gram = [mass]",
    "kilogram = 1000 * gram",
    "milligram = 0.001 * gram",
    "microgram = 1e-6 * gram",
    "pound = 453.59237 * gram",
    "ounce = 28.349523125 * gram",
    "liter = [volume]",
    "cubic_meter = 1000 * liter",
    "milliliter = 0.001 * liter",
    "microliter = 1e-6 * liter",
    "gallon = 3.785411784 * liter",  # US liquid
    "second = [time]",
    "minute = 60 * second",
    "hour = 3600 * second",
    "day = 86400 * second",
    "pascal = [pressure]",
    "hectopascal = 100 * pascal",
    "kilopascal = 1000 * pascal",
    "bar = 100000 * pascal",
    "psi = 6894.757 * pascal",
    "millimeter_mercury = 133.3224 * pascal",
    "inch_mercury = 3386.389 * pascal",
    "microsiemens_per_cm = [conductivity]",
    "millisiemens_per_cm = 1000 * microsiemens_per_cm",
    # Molar masses in g/mol, from memory.
    "milligram_n = [nitrogen]",
    "microgram_n = 0.001 * milligram_n",
    "milligram_nh3 = 14.007 / 17.031 * milligram_n",
    "milligram_nh4 = 14.007 / 18.039 * milligram_n",
    "milligram_no2 = 14.007 / 46.006 * milligram_n",
    "milligram_no3 = 14.007 / 62.005 * milligram_n",
    # From memory: half a mole of CaCO3 (100.087 g) or one of HCO3 (61.017 g) takes up one
    # equivalent; a German degree is 10 mg CaO in a liter, 17.848 mg as CaCO3.
    "milliequivalent = [alkalinity]",
    "milligram_caco3 = milliequivalent / 50.0435",
    "milligram_hco3 = milliequivalent / 61.017",
    "german_degree = 17.848 * milligram_caco3",
)

_BLANKS: Final = " \u00a0\u2009\u202f"
_NUMBER: Final = re.compile(
    rf"(?P<below><)?[{_BLANKS}]*(?P<sign>[-+\u2212])?"
    rf"(?P<whole>[0-9]*)(?:(?P<mark>[.,])(?P<part>[0-9]*))?[{_BLANKS}]*(?P<rest>.*)",
    re.DOTALL,
)
# What may begin a unit; anything else after the number belongs to a number gone wrong.
_UNIT_START: Final = re.compile(r"(?:/ ?)?[^\W\d_]|[%\u2030\u00b0\u00ba\u2103\u2109]")
_EXPONENT: Final = re.compile(r"[eE][-+\u2212]?[0-9]")
# Capital M is mega, and a megaliter is not a milliliter. Longer names (mm, mmHg, meq)
# leave no doubt, in any case.
_MEGA: Final = re.compile(r"\bM[gGlLsSvV]\b")
_PER: Final = re.compile(r" ?(?:/|\bper\b) ?")
_SIGNS: Final = str.maketrans(
    {
        "\u00b5": "u",  # micro sign
        "\u03bc": "u",  # Greek mu
        "\u00b0": "deg ",
        "\u00ba": "deg ",  # the ordinal sign of many keyboards, taken for a degree
        "\u2103": "degc",
        "\u2109": "degf",
        "\u2030": "permil",
        "\u00b3": "3",
    }
)

_MOST_WHOLE_DIGITS: Final = 12
_MOST_DECIMALS: Final = 9
_ECHO_LENGTH: Final = 40


def canonical(text: str) -> str | None:
    """Return the canonical name of a unit in any of its spellings, or None if there is none.

    A capital M for milli ("ML", "MS/cm") and "ppm" are no unit: what is meant is not sure.
    """
    if _MEGA.search(text):
        return None
    return _BY_SPELLING.get(_spelling(text))


def read(
    text: str,
    unit: str,
    *,
    whole: bool = False,
    allow_below: bool = False,
    allow_negative: bool = True,
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

    Raises:
        Refusal: anything that was not wholly understood, in one sentence.
    """
    kept_in = _unit(unit)
    typed = text.strip()
    echo = _echo(typed)
    if not echo:
        raise Refusal("Nothing was typed.")
    match = _NUMBER.fullmatch(typed)
    if match is None or not (match["whole"] or match["part"]):
        raise Refusal(f"'{echo}' is not a number.")
    rest = match["rest"]
    if rest and not _UNIT_START.match(rest):
        raise Refusal(
            f"'{echo}' is not one number; type plain digits with at most one decimal mark."
        )
    if _EXPONENT.match(rest):
        raise Refusal(f"'{echo}' has an exponent; type the number out in plain digits.")
    number = _number(match, echo, whole=whole)
    below = match["below"] is not None
    if below and not allow_below:
        raise Refusal(f"'{echo}' is below a detection limit, and this value has none.")
    if below and number <= 0:
        raise Refusal(f"'{echo}' does not say a detection limit; type a number above 0 after <.")
    typed_in = _typed_unit(rest, kept_in) if rest else None
    value = _turn(number, typed_in, kept_in) if typed_in else number
    if value < 0 and not allow_negative:
        raise Refusal(f"'{echo}' is below zero, which this value cannot be.")
    if whole and not value.is_integer():
        raise Refusal(f"'{echo}' is not a whole number of {unit}.")
    return Quantity(value, unit, typed, below, typed_in.name if typed_in else None)


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Return `value` in `from_unit` as a number in `to_unit` (both canonical names).

    The result is rounded to 12 significant digits.

    Raises:
        Refusal: a unit is not a canonical name, the two do not measure the same, or the
            result is not a finite number.
    """
    given, wanted = _unit(from_unit), _unit(to_unit)
    if not given.shares_with(wanted):
        raise Refusal(
            f"{given.name or 'A bare number'} cannot be turned into"
            f" {wanted.name or 'a bare number'}, because one measures {given.measures}"
            f" and the other {wanted.measures}."
        )
    if given is wanted:
        return value
    turned = float(_registry().Quantity(value, given.formula).to(wanted.formula).magnitude)
    if not math.isfinite(turned):
        raise Refusal(f"The number is too large or not a number, so it has no value in {to_unit}.")
    # So that 68 degF is 20 degC to the last bit and does not fall outside a band at 20.
    return float(f"{turned:.12g}")


def number_text(value: float) -> str:
    """Return a number as the record writes it, to ten significant digits."""
    return f"{value:.10g}"


def show(value: float | None, unit: str, decimals: int) -> str:
    """Return `value` with `decimals` decimals and its unit, as "16.7 degC".

    No value, or one that is not finite, shows as "--"; `unit` is only written, not checked.
    """
    if value is None or not math.isfinite(value):
        return "--"
    # "z" (PEP 682) drops the sign of a negative number that rounds to zero.
    number = f"{value:z.{decimals}f}"
    return f"{number} {unit}" if unit else number


def _spelling(text: str) -> str:
    """Return a unit's text in the one form the table of spellings is kept in."""
    plain = " ".join(re.split(rf"[{_BLANKS}]+", text.translate(_SIGNS))).strip(_BLANKS)
    # lower() would also turn the Kelvin sign into a k: what is not ASCII stays unknown.
    return _PER.sub("/", plain.lower()) if plain.isascii() else plain


_BY_SPELLING: Final = {
    _spelling(spelling): unit.name for unit in _TABLE for spelling in (unit.name, *unit.spellings)
}


def _unit(name: str) -> _Unit:
    try:
        return _BY_NAME[name]
    except KeyError:
        raise Refusal(f"'{_echo(name)}' is not the name of a unit a value is kept in.") from None


def _echo(text: str) -> str:
    """Return what was typed, safe to quote in a sentence and no longer than 40 characters."""
    # Cut first: a pasted file is not worth cleaning for 40 characters of it.
    safe = clean(text[: 10 * _ECHO_LENGTH])
    return safe if len(safe) <= _ECHO_LENGTH else safe[: _ECHO_LENGTH - 2] + ".."


def _number(match: re.Match[str], echo: str, *, whole: bool) -> float:
    """Return the matched digits as a float, or refuse them."""
    digits, mark, part = match["whole"], match["mark"], match["part"] or ""
    if whole and mark == ",":
        grouped = len(part) == 3 and digits.lstrip("0") == digits != ""
        meant = f"type {digits}{part}" if grouped else "type whole digits alone"
        raise Refusal(
            f"'{echo}' is not a whole number, because a comma is a decimal comma; {meant}."
        )
    if whole and mark:
        raise Refusal(f"'{echo}' has a decimal mark; a count is typed as whole digits alone.")
    if len(digits) > _MOST_WHOLE_DIGITS or len(part) > _MOST_DECIMALS:
        raise Refusal(
            f"'{echo}' has too many digits; at most {_MOST_WHOLE_DIGITS} before"
            f" and {_MOST_DECIMALS} after the decimal mark are taken."
        )
    number = float(f"{digits or '0'}.{part or '0'}")
    negative = match["sign"] in ("-", "\u2212")
    return -number if negative and number else number


def _typed_unit(rest: str, kept_in: _Unit) -> _Unit:
    """Return the unit typed after the number, or refuse it."""
    echo = _echo(rest)
    spelling = _spelling(rest)
    if spelling == "ppm":
        raise Refusal("'ppm' does not say by mass or by volume; type mg/L or uL/L.")
    if spelling == "ppb":
        raise Refusal("'ppb' does not say by mass or by volume; type ug/L.")
    name = canonical(rest)
    if name:
        return _BY_NAME[name]
    if _MEGA.search(rest) and spelling in _BY_SPELLING:
        raise Refusal(f"'{echo}' has a capital M, which is mega; type {_BY_SPELLING[spelling]}.")
    if not kept_in.name:
        raise Refusal(f"'{echo}' was not understood; type the number alone.")
    known = [unit.name for unit in _TABLE if unit.shares_with(kept_in)]
    raise Refusal(f"'{echo}' was not understood as a unit; type {_either(known)}.")


def _turn(number: float, typed_in: _Unit, kept_in: _Unit) -> float:
    """Return the number in the unit the field is kept in, or refuse the unit."""
    amount, says_basis, _ = kept_in.name.partition(" as ")
    if says_basis and typed_in.measures == "concentration":
        # The field says the basis, so a plain mg/L or ug/L is meant in it.
        return convert(number, typed_in.name, amount)
    if not kept_in.name:
        raise Refusal(f"{typed_in.name} was typed, and this value has no unit.")
    if not typed_in.shares_with(kept_in):
        raise Refusal(
            f"{typed_in.name} measures {typed_in.measures}; this value is kept in"
            f" {kept_in.name}, which measures {kept_in.measures}."
        )
    return convert(number, typed_in.name, kept_in.name)


def _either(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def make_ready() -> None:
    """Load what converts units, so that the first value in another unit does not wait for it."""
    _registry()


@cache
def _registry() -> pint.UnitRegistry[float]:
    """Return the registry that converts, made on the first conversion of the run."""
    # Imported late: pint costs a fifth of a second, and most values come in their own unit.
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    for definition in _DEFINITIONS:
        registry.define(definition)
    return registry
