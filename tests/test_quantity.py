"""The one door for numbers: what is understood, what is refused and in which words."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from typing import Any

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from tankwalk import units
from tankwalk.errors import Refusal
from tankwalk.figures import show
from tankwalk.quantity import (
    UNITS,
    Quantity,
    canonical,
    convert,
    read,
)
from tankwalk.text import clean


def refused(text: str, unit: str = "mg/L", **how: Any) -> str:
    """Return the sentence `text` is refused with."""
    with pytest.raises(Refusal) as refusal:
        read(text, unit, **how)
    return str(refusal.value)


# --- numbers ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("17,4", 17.4),
        ("17.4", 17.4),
        (" 17.4 ", 17.4),
        ("0", 0.0),
        (".5", 0.5),
        (",5", 0.5),
        ("5.", 5.0),
        ("5,", 5.0),
        ("007", 7.0),
        ("-1.5", -1.5),
        ("\u22121.5", -1.5),
        ("+1.5", 1.5),
        ("999999999999.999999999", 999999999999.999999999),
    ],
)
def test_a_number_is_read_as_typed(typed: str, value: float) -> None:
    assert read(typed, "degC") == Quantity(value, "degC", typed.strip())


def test_minus_zero_is_zero() -> None:
    assert math.copysign(1, read("-0,0", "degC").value) == 1


@pytest.mark.parametrize(
    "typed",
    [
        "1,234.5", "1.234,5", "1.2.3", "1,2,3", "1 234", "1'234", "1_000", "1e",
        "nan", "inf", "-inf", "infinity", "1/2", "1/0", "\u00bd", "12:30", "0x10", "9**9**9",
        ".", ",", "-", "--5", "- 5", "5-", "5 5", "(5)", "=5", "5+5", "1.5,", "1..5", "~5",
        ">5", "\u0665", "\uff15", "5\u0665", "\u00b2", "1\u066b5", "\ufeff5", "1\u200b5",
        "5\n5", "5\x00", "\ud800", "five", "12345678901234", "1e400", "1e-400", "1e13", "1" * 5000,
    ],
)  # fmt: skip
def test_what_is_not_wholly_one_number_is_refused(typed: str) -> None:
    assert refused(typed)


@pytest.mark.parametrize("typed", ["", " ", "\t\n", "\u3000", "\x00", "\u200b"])
def test_an_empty_field_is_not_a_number(typed: str) -> None:
    assert refused(typed) == "Nothing was typed."


def test_two_decimal_marks_are_refused_in_words() -> None:
    assert refused("1,234.5") == (
        "'1,234.5' is not one number; type plain digits with at most one decimal mark."
    )


def test_a_value_that_cannot_be_negative_is_refused_in_the_unit_it_is_kept_in() -> None:
    assert refused("-1", allow_negative=False) == (
        "'-1' is below zero, which this value cannot be."
    )
    assert "below zero" in refused("20 degF", "degC", allow_negative=False)
    assert read("-1 degC", "degF", allow_negative=False).value == pytest.approx(30.2)


# --- counts ----------------------------------------------------------------------------


def test_a_count_is_whole_digits() -> None:
    assert read("4400", "", whole=True, allow_negative=False).value == 4400


def test_a_comma_in_a_count_is_a_decimal_comma() -> None:
    assert refused("4,400", "", whole=True) == (
        "'4,400' is not a whole number, because a comma is a decimal comma; type 4400."
    )


@pytest.mark.parametrize("typed", ["31.0", "31.", "4.400", "4,5", "0,400", ",400"])
def test_a_decimal_mark_in_a_count_is_refused(typed: str) -> None:
    assert "whole digits alone" in refused(typed, "", whole=True)


def test_a_count_of_days_typed_in_hours_has_to_come_out_whole() -> None:
    assert read("48 h", "d", whole=True).value == 2
    assert refused("36 h", "d", whole=True) == "'36 h' is not a whole number of d."


# --- below detection -------------------------------------------------------------------


def test_below_detection_keeps_the_limit_and_says_so() -> None:
    assert read("<0,05", "mg/L", allow_below=True) == Quantity(0.05, "mg/L", "<0,05", below=True)
    assert read("< 50 ug/L", "mg/L", allow_below=True) == Quantity(
        0.05, "mg/L", "< 50 ug/L", below=True, typed_unit="ug/L"
    )


def test_below_detection_is_refused_where_nothing_is_detected() -> None:
    assert "below a detection limit" in refused("<5", "degC")


@pytest.mark.parametrize("typed", ["<0", "<-1", "<", "<<1", "1<"])
def test_a_detection_limit_is_a_number_above_zero(typed: str) -> None:
    assert refused(typed, allow_below=True)


# --- units as the trade writes them ------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "unit", "name"),
    [
        ("17.4 C", "degC", "degC"),
        ("17.4c", "degC", "degC"),
        ("17.4 \u00b0C", "degC", "degC"),
        ("17.4 \u00baC", "degC", "degC"),
        ("17.4\u2103", "degC", "degC"),
        ("17.4 deg C", "degC", "degC"),
        ("64 F", "degF", "degF"),
        ("64\u00b0f", "degF", "degF"),
        ("64 DEGF", "degF", "degF"),
        ("30 ppt", "g/kg", "g/kg"),
        ("30 PSU", "g/kg", "g/kg"),
        ("30 \u2030", "g/kg", "g/kg"),
        ("5 l", "L", "L"),
        ("5 L", "L", "L"),
        ("5 gpm", "gal/min", "gal/min"),
        ("5 gal / min", "gal/min", "gal/min"),
        ("5 lpm", "L/min", "L/min"),
        ("5 l/min", "L/min", "L/min"),
        ("5 L per min", "L/min", "L/min"),
        ("5\u00a0mg/l", "mg/L", "mg/L"),
        ("5 UG/L", "ug/L", "ug/L"),
        ("5 \u00b5g/L", "ug/L", "ug/L"),
        ("5 \u03bcg/L", "ug/L", "ug/L"),
        ("5 ntu", "NTU", "NTU"),
        ("5 lx", "lux", "lux"),
        ("760 mmhg", "mmHg", "mmHg"),
        ("29.9 INHG", "inHg", "inHg"),
        ("48 mS/cm", "mS/cm", "mS/cm"),
        ("48 ms/cm", "mS/cm", "mS/cm"),
        ("5 m\u00b3", "m3", "m3"),
        ("95%", "%", "%"),
        ("12/mL", "per mL", "per mL"),
        ("12 per ml", "per mL", "per mL"),
        ("2 meq/l", "meq/L", "meq/L"),
        ("7 dkh", "dKH", "dKH"),
        ("0.5 mg/L as n", "mg/L as N", "mg/L as N"),
        ("0.5 mg/L N", "mg/L as N", "mg/L as N"),
        ("0.5 mg-N/L", "mg/L as N", "mg/L as N"),
        ("120 mg/L CaCO3", "mg/L as CaCO3", "mg/L as CaCO3"),
    ],
)
def test_a_unit_is_known_in_the_spellings_of_the_trade(typed: str, unit: str, name: str) -> None:
    quantity = read(typed, unit)
    assert quantity.typed_unit == canonical(name) == name
    assert f"{quantity.value:g}" in typed


@pytest.mark.parametrize("unit", UNITS)
def test_every_unit_reads_its_own_name(unit: str) -> None:
    assert canonical(unit) == unit
    assert read(f"1.5 {unit}", unit).value == 1.5
    assert convert(1.5, unit, unit) == 1.5


def test_the_units_of_the_calculators_are_all_here() -> None:
    named = (
        "mg/L, ug/L, g/L, g/kg, ppt, uL/L, mL/L, meq/L, dKH, mS/cm, uS/cm, mL, L, gal, m3, g,"
        " kg, lb, oz, mmHg, inHg, kPa, hPa, mbar, m, cm, ft, in, degC, degF, L/min, L/h,"
        " gal/min, %, h, min, d, mm, um, mg, ug, uL, NTU, lux, bar, psi, s, mV, kg/m3, L/d"
    )
    assert [name for name in named.split(", ") if canonical(name) is None] == []


@pytest.mark.parametrize("text", ["ppm", "ppb", "MS/cm", "ML", "Mg/L", "foo", "\u212a", "g\x00"])
def test_a_unit_that_is_not_sure_has_no_name(text: str) -> None:
    assert canonical(text) is None


@pytest.mark.parametrize(
    ("typed", "unit", "sentence"),
    [
        ("2.5 L", "L/min", "L measures volume; this value is kept in L/min, which measures flow."),
        ("5 ppm", "mg/L", "'ppm' does not say by mass or by volume; type mg/L or uL/L."),
        ("5 MS/cm", "mS/cm", "'MS/cm' has a capital M, which is mega; type mS/cm."),
        ("5 ML", "L", "'ML' has a capital M, which is mega; type mL."),
        ("5 foo", "degC", "'foo' was not understood as a unit; type degC or degF."),
        ("5 K", "degC", "'K' was not understood as a unit; type degC or degF."),
        (
            "5 foo",
            "ft",
            "'foo' was not understood as a unit; type m, km, cm, mm, um, ft or in.",
        ),
        ("5 ft 13 in", "m", "'5 ft 13 in' has 13 in, and 12 are one ft."),
        ("5 foo", "NTU", "'foo' was not understood as a unit; type NTU."),
        ("7.5 pH", "", "'pH' was not understood; type the number alone."),
        ("7.5 mg/L", "", "mg/L was typed, and this value has no unit."),
    ],
)
def test_a_refusal_says_what_was_not_understood(typed: str, unit: str, sentence: str) -> None:
    assert refused(typed, unit) == sentence


def test_a_long_text_is_quoted_short_and_safe() -> None:
    assert refused("\x1b[31m" + "x" * 100_000) == f"'[31m{'x' * 34}..' is not a number."


def test_a_field_kept_in_an_unknown_unit_is_refused_in_words() -> None:
    assert refused("5", "mgl") == "'mgl' is not the name of a unit a value is kept in."


# --- as N, as CaCO3 ----------------------------------------------------------------------


def test_a_plain_concentration_is_taken_in_the_basis_of_the_field() -> None:
    assert read("0.5 mg/L", "mg/L as N") == Quantity(
        0.5, "mg/L as N", "0.5 mg/L", typed_unit="mg/L"
    )
    assert read("500 ug/L", "mg/L as N").value == 0.5
    assert read("0.5 mg/L", "ug/L as N").value == 500
    assert read("120 mg/L", "mg/L as CaCO3").value == 120


def test_a_basis_is_not_dropped_where_the_field_has_none() -> None:
    assert refused("0.5 mg/L as N", "mg/L") == (
        "mg/L as N measures nitrogen; this value is kept in mg/L, which measures concentration."
    )
    assert "alkalinity" in refused("100 mg/L", "meq/L")


@pytest.mark.parametrize(
    ("value", "typed", "kept", "expected"),
    [
        (17.031, "mg/L as NH3", "mg/L as N", 14.007),
        (18.039, "mg/L as NH4", "mg/L as NH3", 17.031),
        (46.006, "mg/L as NO2", "mg/L as N", 14.007),
        (14.007, "mg/L as N", "mg/L as NO3", 62.005),
        (1.0, "meq/L", "mg/L as CaCO3", 50.0435),
        (1.0, "dKH", "mg/L as CaCO3", 17.848),
        (50.0435, "mg/L as CaCO3", "meq/L", 1.0),
    ],
)
def test_a_basis_turns_by_molar_mass(value: float, typed: str, kept: str, expected: float) -> None:
    assert convert(value, typed, kept) == pytest.approx(expected, rel=1e-11)


def test_published_limits_in_two_bases_agree() -> None:
    # WHO, Guidelines for Drinking-water Quality (from memory): nitrate 50 mg/L as the ion is
    # 11 mg/L as N; nitrite 3 mg/L as the ion is 0.9 mg/L as N.
    assert show(convert(50, "mg/L as NO3", "mg/L as N"), "", 0) == "11"
    assert show(convert(3, "mg/L as NO2", "mg/L as N"), "", 1) == "0.9"
    # Common practice in water supply: 1 dKH is 0.357 meq/L.
    assert show(convert(1, "dKH", "meq/L"), "", 3) == "0.357"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("mg/L as NH3", "mg/L as NO2"),
        ("mg/L as NO2", "mg/L as NO3"),
        ("mg/L as N", "mg/L as CaCO3"),
        ("meq/L", "mg/L as N"),
        ("mg/L", "mg/L as N"),
        ("g/kg", "g/L"),
        ("uL/L", "mg/L"),
        ("%", "g/kg"),
        ("L", "kg"),
        ("degC", ""),
        ("", "%"),
        ("degC d", "degC"),
    ],
)
def test_one_substance_is_not_turned_into_another(typed: str, kept: str) -> None:
    with pytest.raises(Refusal, match="cannot be turned into"):
        convert(1.0, typed, kept)


# --- conversions, against NIST ------------------------------------------------------------


# NIST Special Publication 811 (2008), appendix B.8, and for the exact gallon, pound and ounce
# NIST Handbook 44, appendix C; the figures are from memory.
@pytest.mark.parametrize(
    ("typed", "kept", "factor"),
    [
        ("gal", "L", 3.785411784),
        ("gal", "m3", 3.785411784e-3),
        ("gal/min", "L/min", 3.785411784),
        ("lb", "g", 453.59237),
        ("oz", "g", 28.349523125),
        ("in", "mm", 25.4),
        ("ft", "m", 0.3048),
        ("inHg", "kPa", 3.386389),
        ("mmHg", "hPa", 1.333224),
        ("psi", "kPa", 6.894757),
        ("bar", "kPa", 100.0),
        ("mbar", "hPa", 1.0),
        ("h", "s", 3600.0),
        ("d", "s", 86400.0),
    ],
)
def test_conversion_follows_nist(typed: str, kept: str, factor: float) -> None:
    assert convert(1.0, typed, kept) == pytest.approx(factor, rel=1e-11)
    assert read(f"1 {typed}", kept).value == pytest.approx(factor, rel=1e-11)


# NIST SP 811, appendix B.8: t/degC = (t/degF - 32) / 1.8.
@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(68, 20.0), (32, 0.0), (212, 100.0), (-40, -40.0), (59, 15.0)]
)
def test_a_temperature_in_fahrenheit_is_exact_in_celsius(fahrenheit: float, celsius: float) -> None:
    assert convert(fahrenheit, "degF", "degC") == celsius
    assert convert(celsius, "degC", "degF") == fahrenheit
    assert read(f"{fahrenheit} \u00b0F", "degC").value == celsius


def test_prefixes_are_powers_of_ten() -> None:
    assert convert(1, "kg", "ug") == 1e9
    assert convert(1, "m", "um") == 1e6
    assert convert(1, "m3", "uL") == 1e9
    assert convert(1, "mS/cm", "uS/cm") == 1000
    assert convert(1, "kg/m3", "mg/L") == 1000
    assert convert(1, "mL/L", "uL/L") == 1000
    assert convert(45, "%", "fraction") == 0.45
    assert convert(1, "per mL", "per L") == 1000
    assert convert(24, "L/d", "L/h") == 1


@pytest.mark.parametrize("value", [math.nan, math.inf, 1e308])
def test_no_conversion_ends_in_infinity(value: float) -> None:
    with pytest.raises(Refusal, match="too large"):
        convert(value, "m3", "uL")


def pairs() -> list[tuple[str, str]]:
    """Return every two units one of which turns into the other."""
    found = []
    for one in UNITS:
        for other in UNITS:
            try:
                convert(1.0, one, other)
            except Refusal:
                continue
            found.append((one, other))
    return found


PAIRS = pairs()
numbers = st.decimals(min_value=-(10**6), max_value=10**6, places=4).map(lambda d: f"{d:f}")


@given(numbers, st.sampled_from(sorted(units._TENS)), st.sampled_from(sorted(units._TENS)))
def test_a_moved_point_says_what_the_table_of_units_says(number: str, one: str, other: str) -> None:
    given_in, kept_in = units.named(one), units.named(other)
    assume(given_in.shares_with(kept_in))
    by_pint = units._registry().Quantity(float(number), given_in.formula).to(kept_in.formula)
    assert convert(float(number), one, other) == pytest.approx(by_pint.magnitude, rel=1e-11)


@given(st.sampled_from(PAIRS), numbers)
def test_what_is_typed_in_another_unit_comes_back(pair: tuple[str, str], number: str) -> None:
    typed, kept = pair
    quantity = read(f"{number} {typed}", kept)
    back = convert(quantity.value, kept, typed)
    assert back == pytest.approx(float(number), rel=1e-9, abs=1e-9)


# --- laws ----------------------------------------------------------------------------------

any_character = st.characters(exclude_categories=())
near_numbers = st.text(
    alphabet=st.one_of(st.sampled_from("0123456789.,-+<eE_ /%mgLlNasCF\u00b0\u00b5"), any_character)
)


@given(st.one_of(st.text(any_character), near_numbers), st.sampled_from(UNITS), st.booleans())
@example("9" * 100_000, "L", False)
@example("1" + " " * 100_000 + "x", "L", False)
@example("\ud800" * 1000, "L", False)
@example("5 " + "\x1b" * 1000, "L", True)
def test_whatever_is_typed_is_one_number_or_one_sentence(text: str, unit: str, whole: bool) -> None:
    try:
        quantity = read(text, unit, whole=whole, allow_below=True)
    except Refusal as refusal:
        sentence = str(refusal)
        assert sentence.endswith(".")
        assert clean(sentence) == sentence
        assert len(sentence) < 250
    else:
        assert math.isfinite(quantity.value)
        assert quantity.unit == unit
        assert quantity.typed == clean(text.strip()) == text.strip()
        assert quantity.typed_unit is None or quantity.typed_unit in UNITS


@given(numbers, st.sampled_from(UNITS))
def test_a_comma_is_a_point(number: str, unit: str) -> None:
    with_point, with_comma = read(number, unit), read(number.replace(".", ","), unit)
    assert with_comma.value == with_point.value == float(number)


@given(st.integers(min_value=0, max_value=10**12 - 1))
def test_every_count_is_kept_to_the_last_digit(count: int) -> None:
    assert read(str(count), "", whole=True).value == count


@given(st.text(any_character))
def test_a_unit_is_known_or_it_is_not(text: str) -> None:
    assert canonical(text) in (None, *UNITS)


# --- showing --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "shown"),
    [
        (16.74, "degC", 1, "16.7 degC"),
        (7.52, "", 2, "7.52"),
        (4400.0, "", 0, "4400"),
        (-0.0, "degC", 1, "0.0 degC"),
        (-0.04, "degC", 1, "0.0 degC"),
        (-0.06, "degC", 1, "-0.1 degC"),
        (None, "mg/L", 2, "--"),
        (math.nan, "mg/L", 2, "--"),
        (math.inf, "h", 2, "--"),
        (95.0, "%", 0, "95 %"),
        (0.021, "mg/L as N", 3, "0.021 mg/L as N"),
    ],
)
def test_a_value_is_shown_with_its_unit(
    value: float | None, unit: str, decimals: int, shown: str
) -> None:
    assert show(value, unit, decimals) == shown


@given(numbers, st.sampled_from([unit for unit in UNITS if unit]))
def test_what_is_shown_can_be_typed(number: str, unit: str) -> None:
    assert read(show(float(number), unit, 4), unit).value == float(number)


# --- start-up ---------------------------------------------------------------------------------


def test_reading_a_value_in_its_own_unit_loads_nothing_heavy() -> None:
    program = (
        "import sys, tankwalk.figures as f, tankwalk.quantity as q, tankwalk.text as t\n"
        "q.read('17,4', 'degC'); q.read('17.4 C', 'degC'); q.read('0.5 mg/L', 'mg/L as N')\n"
        "q.read('25 %', 'fraction'); q.read('500 mg', 'g'); q.read('60000 mL', 'L')\n"
        "f.show(17.4, 'degC', 1); t.pad(t.clean('tank 4'), 10); t.wrap('tank 4', 3)\n"
        "print(*sorted({'pint', 'rich', 'textual', 'wcwidth'} & set(sys.modules)))\n"
        "q.read('68 F', 'degC')\n"
        "print('pint' in sys.modules)\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        check=True,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    assert ran.stdout == "\nTrue\n"
