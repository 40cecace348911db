"""The units the trade writes: their names and spellings, what turns into what, and the turning."""

from __future__ import annotations

import math
import re
from functools import cache
from typing import TYPE_CHECKING, Final

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.text import clean

if TYPE_CHECKING:
    import pint

ECHO_LENGTH: Final = 40


class Unit(NamedTuple):
    """One unit the trade writes: what it measures, its other spellings, how pint says it."""

    name: str
    measures: str
    spellings: tuple[str, ...] = ()
    formula: str = ""
    # What it can be turned within; an amount as N belongs to three substances.
    families: tuple[str, ...] = ()

    def shares_with(self, other: Unit) -> bool:
        """Say whether a value in this unit can be turned into the other."""
        mine = self.families or (self.measures,)
        theirs = other.families or (other.measures,)
        return not set(mine).isdisjoint(theirs)


# Spellings are written as spelling() leaves them: lower case, u for the mu signs,
# "deg" for the degree sign, "/" for per.
TABLE: Final = (
    Unit("", "nothing"),
    Unit("%", "fraction", ("percent", "pct"), "percent"),
    Unit("fraction", "fraction", (), "fraction"),
    Unit("degC", "temperature", ("c", "deg c", "celsius", "degrees c"), "degC"),
    Unit("degF", "temperature", ("f", "deg f", "fahrenheit", "degrees f"), "degF"),
    Unit("degC d", "degree-days", ("deg c d", "degree-days", "degree days")),
    Unit("m", "length", ("meter", "meters", "metre", "metres"), "meter"),
    Unit("km", "length", ("kilometer", "kilometers", "kilometre"), "kilometer"),
    Unit("cm", "length", ("centimeter", "centimeters"), "centimeter"),
    Unit("mm", "length", ("millimeter", "millimeters"), "millimeter"),
    Unit("um", "length", ("micron", "microns", "micrometer", "micrometers"), "micrometer"),
    Unit("ft", "length", ("foot", "feet", "'"), "foot"),
    Unit("in", "length", ("inch", "inches", '"'), "inch"),
    Unit("kg", "mass", ("kilogram", "kilograms"), "kilogram"),
    Unit("g", "mass", ("gram", "grams"), "gram"),
    Unit("mg", "mass", ("milligram", "milligrams"), "milligram"),
    Unit("ug", "mass", ("mcg", "microgram", "micrograms"), "microgram"),
    Unit("lb", "mass", ("lbs", "pound", "pounds"), "pound"),
    Unit("oz", "mass", ("ounce", "ounces"), "ounce"),
    Unit("m3", "volume", ("m^3", "cubic meter", "cubic meters"), "cubic_meter"),
    Unit("L", "volume", ("liter", "liters", "litre", "litres"), "liter"),
    Unit("mL", "volume", ("cc", "milliliter", "milliliters"), "milliliter"),
    Unit("uL", "volume", ("microliter", "microliters"), "microliter"),
    Unit("gal", "volume", ("gals", "gallon", "gallons"), "gallon"),
    Unit("qt", "volume", ("qts", "quart", "quarts"), "quart"),
    Unit("fl oz", "volume", ("floz", "fluid ounce", "fluid ounces"), "fluid_ounce"),
    Unit("ft3", "volume", ("cu ft", "ft^3", "cubic foot", "cubic feet"), "cubic_foot"),
    Unit("week", "time", ("weeks", "wk", "wks"), "week"),
    Unit("d", "time", ("day", "days"), "day"),
    Unit("h", "time", ("hr", "hrs", "hour", "hours"), "hour"),
    Unit("min", "time", ("mins", "minute", "minutes"), "minute"),
    Unit("s", "time", ("sec", "secs", "second", "seconds"), "second"),
    Unit("L/min", "flow", ("lpm", "liters/minute"), "liter / minute"),
    Unit("L/h", "flow", ("lph", "l/hr", "liters/hour"), "liter / hour"),
    Unit("L/d", "flow", ("lpd", "l/day", "liters/day"), "liter / day"),
    Unit("L/s", "flow", ("lps", "l/sec"), "liter / second"),
    Unit("mL/min", "flow", (), "milliliter / minute"),
    Unit("mL/s", "flow", (), "milliliter / second"),
    Unit("m3/h", "flow", ("m3/hr",), "cubic_meter / hour"),
    Unit("m3/d", "flow", ("m3/day",), "cubic_meter / day"),
    Unit("gal/min", "flow", ("gpm", "gallons/minute"), "gallon / minute"),
    Unit("gal/h", "flow", ("gph", "gal/hr", "gallons/hour"), "gallon / hour"),
    Unit("ft3/s", "flow", ("cfs",), "cubic_foot / second"),
    Unit("ft3/min", "flow", ("cfm",), "cubic_foot / minute"),
    Unit("mmHg", "pressure", ("mm hg", "torr"), "millimeter_mercury"),
    Unit("inHg", "pressure", ("in hg",), "inch_mercury"),
    Unit("kPa", "pressure", ("kilopascal",), "kilopascal"),
    Unit("hPa", "pressure", ("hectopascal",), "hectopascal"),
    Unit("mbar", "pressure", ("mb", "millibar", "millibars"), "hectopascal"),
    Unit("bar", "pressure", (), "bar"),
    Unit("atm", "pressure", ("atmosphere", "atmospheres"), "atmosphere"),
    Unit("psi", "pressure", (), "psi"),
    Unit("mS/cm", "conductivity", ("ds/m", "ms", "mmhos/cm", "mmho/cm"), "millisiemens_per_cm"),
    Unit("uS/cm", "conductivity", ("us", "umhos/cm", "umho/cm"), "microsiemens_per_cm"),
    Unit("g/kg", "salinity", ("ppt", "psu", "permil"), "gram / kilogram"),
    Unit("kg/m3", "concentration", (), "kilogram / cubic_meter"),
    Unit("g/L", "concentration", ("mg/ml",), "gram / liter"),
    Unit("mg/L", "concentration", ("ug/ml", "g/m3"), "milligram / liter"),
    Unit("ug/L", "concentration", ("mcg/l", "mg/m3"), "microgram / liter"),
    Unit(
        "mg/L as N",
        "nitrogen",
        ("mg/l n", "mg/l-n", "mg n/l", "mg-n/l"),
        "milligram_n / liter",
        ("ammonia", "nitrite", "nitrate"),
    ),
    Unit(
        "ug/L as N",
        "nitrogen",
        ("ug/l n", "ug/l-n", "ug n/l", "ug-n/l"),
        "microgram_n / liter",
        ("ammonia", "nitrite", "nitrate"),
    ),
    Unit(
        "mg/L as NH3-N",
        "ammonia",
        (
            "mg/l nh3-n",
            "mg/l nh4-n",
            "mg/l tan",
            "mg nh3-n/l",
            "mg nh4-n/l",
            "mg tan/l",
            "nh3-n",
            "nh4-n",
            "tan",
            "mg/l nh3 n",
            "mg/l nh4 n",
        ),
        "milligram_n / liter",
    ),
    Unit(
        "ug/L as NH3-N",
        "ammonia",
        ("ug/l nh3-n", "ug/l nh4-n", "ug/l tan", "ug nh3-n/l", "ug nh4-n/l", "ug tan/l"),
        "microgram_n / liter",
    ),
    Unit(
        "mg/L as NO2-N",
        "nitrite",
        ("mg/l no2-n", "mg no2-n/l", "no2-n", "mg/l no2 n"),
        "milligram_n / liter",
    ),
    Unit("ug/L as NO2-N", "nitrite", ("ug/l no2-n", "ug no2-n/l"), "microgram_n / liter"),
    Unit(
        "mg/L as NO3-N",
        "nitrate",
        ("mg/l no3-n", "mg no3-n/l", "no3-n", "mg/l no3 n"),
        "milligram_n / liter",
    ),
    # Of the nitrogen; what else it may count, a field has to say.
    Unit("umol/L", "amount", (), "micromole_n / liter", ("ammonia", "nitrite", "nitrate")),
    Unit("mg/L as NH3", "ammonia", ("mg/l nh3", "mg nh3/l"), "milligram_nh3 / liter"),
    Unit("mg/L as NH4", "ammonia", ("mg/l nh4", "mg nh4/l"), "milligram_nh4 / liter"),
    Unit("mg/L as NO2", "nitrite", ("mg/l no2", "mg no2/l"), "milligram_no2 / liter"),
    Unit("mg/L as NO3", "nitrate", ("mg/l no3", "mg no3/l"), "milligram_no3 / liter"),
    Unit("mg/L as CaCO3", "alkalinity", ("mg/l caco3", "mg caco3/l"), "milligram_caco3 / liter"),
    Unit("mg/L as HCO3", "alkalinity", ("mg/l hco3", "mg hco3/l"), "milligram_hco3 / liter"),
    Unit("meq/L", "alkalinity", (), "milliequivalent / liter"),
    Unit("dKH", "alkalinity", ("deg kh", "deg dkh"), "german_degree / liter"),
    Unit("mL/L", "volume in a volume", (), "milliliter / liter"),
    Unit("uL/mL", "volume in a volume", (), "microliter / milliliter"),
    Unit("uL/L", "volume in a volume", (), "microliter / liter"),
    Unit("per mL", "number in a volume", (), "1 / milliliter"),
    Unit("per L", "number in a volume", (), "1 / liter"),
    Unit("per g", "number in a mass", (), "1 / gram"),
    Unit("kg/d", "mass in a time", ("kg/day",), "kilogram / day"),
    Unit("g/d", "mass in a time", ("g/day",), "gram / day"),
    Unit("lb/d", "mass in a time", (), "pound / day"),
    Unit("oz/d", "mass in a time", (), "ounce / day"),
    Unit("mg/d", "mass in a time", ("mg/day",), "milligram / day"),
    Unit("mg/h", "mass in a time", ("mg/hr",), "milligram / hour"),
    Unit("g/h", "mass in a time", ("g/hr",), "gram / hour"),
    Unit("per d", "rate", ("/day",), "fraction / day"),
    Unit("per h", "rate", ("/hr", "/hour"), "fraction / hour"),
    Unit("%/d", "rate", ("%/day", "percent/day"), "percent / day"),
    Unit("mL/g", "volume for a mass", (), "milliliter / gram"),
    Unit("g/g", "mass for a mass", (), "gram / gram"),
    Unit("g per million per d", "ration", ("g/million/day",)),
    Unit("NTU", "turbidity"),
    Unit("lux", "light", ("lx",)),
    Unit("mV", "voltage", ("millivolt", "millivolts")),
)

UNITS: Final = tuple(unit.name for unit in TABLE)
"""The canonical names of all units a field can be kept in; "" is none."""

BY_NAME: Final = {unit.name: unit for unit in TABLE}

_TENS: Final = {
    "%": -2, "fraction": 0,
    "kg": 3, "g": 0, "mg": -3, "ug": -6,
    "m3": 3, "L": 0, "mL": -3, "uL": -6,
}  # fmt: skip
"""Units that are a power of ten of what they measure: a point is moved, and pint is not loaded.

A plan of such values ("25 %", "500 mg") is checked at a start.
"""

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
    "kilometer = 1000 * meter",
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
    "quart = gallon / 4",
    "fluid_ounce = gallon / 128",
    "cubic_foot = 28.316846592 * liter",
    "second = [time]",
    "minute = 60 * second",
    "hour = 3600 * second",
    "day = 86400 * second",
    "week = 604800 * second",
    "pascal = [pressure]",
    "hectopascal = 100 * pascal",
    "kilopascal = 1000 * pascal",
    "bar = 100000 * pascal",
    "atmosphere = 101325 * pascal",
    "psi = 6894.757 * pascal",
    "millimeter_mercury = 133.3224 * pascal",
    "inch_mercury = 3386.389 * pascal",
    "microsiemens_per_cm = [conductivity]",
    "millisiemens_per_cm = 1000 * microsiemens_per_cm",
    # Molar masses in g/mol, from memory.
    "milligram_n = [nitrogen]",
    "microgram_n = 0.001 * milligram_n",
    "micromole_n = 0.014007 * milligram_n",
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

NEVER_THOUSANDS: Final = frozenset(
    "%|fraction|degC|degF|m3/h|psi|inHg|bar|atm|mS/cm|g/kg|mg/L as N|mg/L as NH3-N|mg/L as NO2-N|"
    "mg/L as NO3-N|mg/L as NH3|mg/L as NH4|mg/L as NO2|meq/L|dKH|per d|per h|%/d|g/g|mL/g|week|km|"
    "g per million per d".split("|")
)
"""Units in which nothing here goes into the thousands: 1.200 of them is 1.2."""

_BLANKS: Final = " \u00a0\u2009\u202f"
# Capital M is mega, and a megaliter is not a milliliter. Longer names (mm, mmHg, meq)
# leave no doubt, in any case.
_MEGA: Final = r"\bM[gGlLsSvV]\b"
_PER: Final = r" ?(?:/|\bper\b) ?"
_POINT: Final = r"(?<=[a-z])\.(?=[ /]|$)"
# "mg L-1", "g m-3"
_POWER: Final = r"(?:^| )([a-z]+) ?\^?-([123])(?=[ /]|$)"
_ANIMALS: Final = (
    "(?:rotifers?|nauplii|artemia|brine shrimp|copepods?|larvae?|cells?|algae|eggs?|prey|ind"
    "|individuals|fish|cysts|number|no)(/(?:ml|l|g))"
)
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
        "\u00b9": "1",
        "\u207b": "-",  # superscript minus
        "\u2212": "-",
        "\u00b7": " ",  # a dot between units
        "\u2032": "'",
        "\u2019": "'",
        "\u2033": '"',
        "\u201d": '"',
    }
)


def canonical(text: str) -> str | None:
    """Return the canonical name of a unit in any of its spellings, or None if there is none.

    A capital M for milli ("ML", "MS/cm") and "ppm" are no unit: what is meant is not sure.
    """
    return None if re.search(_MEGA, text) else _named(spelling(text))


def _named(spelled: str) -> str | None:
    name = _by_spelling().get(spelled)
    if name is not None or "/" not in spelled:
        return name
    animals = re.fullmatch(_ANIMALS, spelled)
    if animals:
        return _by_spelling().get(animals[1])
    # "litre/minute" is "l/min": each part by its own name.
    parts = [_by_spelling().get(part, part) for part in spelled.split("/")]
    return _by_spelling().get("/".join(parts).lower())


def mega(text: str) -> str | None:
    """The unit that a text would name if its capital M were a small one; None where it has none."""
    return _named(spelling(text)) if re.search(_MEGA, text) else None


def spelling(text: str) -> str:
    """Return a unit's text in the one form the table of spellings is kept in."""
    plain = " ".join(re.split(rf"[{_BLANKS}]+", text.translate(_SIGNS))).strip(_BLANKS)
    # lower() would also turn the Kelvin sign into a k: what is not ASCII stays unknown.
    if not plain.isascii():
        return plain
    plain = re.sub(_POWER, _over, re.sub(_POINT, "", plain.lower()))
    return re.sub(_PER, "/", plain)


def _over(match: re.Match[str]) -> str:
    power = match[2] if match[2] != "1" else ""
    return f"/{match[1]}{power}"


@cache
def _by_spelling() -> dict[str, str]:
    """Canonical names by each of their spellings: made when a unit is first looked up, as no start
    does."""
    return {
        spelling(spelled): unit.name for unit in TABLE for spelled in (unit.name, *unit.spellings)
    }


def named(name: str) -> Unit:
    """The unit of a canonical name; Refusal where there is none."""
    try:
        return BY_NAME[name]
    except KeyError:
        raise Refusal(f"'{echo(name)}' is not the name of a unit a value is kept in.") from None


def echo(text: str) -> str:
    """Return what was typed, safe to quote in a sentence and no longer than 40 characters."""
    # Cut first: a pasted file is not worth cleaning for 40 characters of it.
    safe = clean(text[: 10 * ECHO_LENGTH])
    return safe if len(safe) <= ECHO_LENGTH else safe[: ECHO_LENGTH - 2] + ".."


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Return `value` in `from_unit` as a number in `to_unit` (both canonical names).

    The result is rounded to 12 significant digits.

    Raises:
        Refusal: a unit is not a canonical name, the two do not measure the same, or the
            result is not a finite number.
    """
    given, wanted = named(from_unit), named(to_unit)
    if not given.shares_with(wanted):
        raise Refusal(
            f"{given.name or 'A bare number'} cannot be turned into"
            f" {wanted.name or 'a bare number'}, because one measures {given.measures}"
            f" and the other {wanted.measures}."
        )
    if given is wanted:
        return value
    if given.name in _TENS and wanted.name in _TENS:
        tens = _TENS[given.name] - _TENS[wanted.name]
        turned = value * 10.0**tens if tens >= 0 else value / 10.0**-tens
    else:
        turned = float(_registry().Quantity(value, given.formula).to(wanted.formula).magnitude)
    if not math.isfinite(turned):
        raise Refusal(f"The number is too large or not a number, so it has no value in {to_unit}.")
    # So that 68 degF is 20 degC to the last bit and does not fall outside a band at 20.
    return float(f"{turned:.12g}")


def load() -> None:
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
