"""What is taken as people, scripts and kits write it, and what could be meant in two ways."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankwalk.quantity import UNITS, read, sure_text, thousands_or_decimal
from tankwalk.units import NEVER_THOUSANDS
from test_quantity import refused

# --- thousands or a decimal ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "unit", "sentence"),
    [
        ("1,200", "L", "'1,200': 1200 or 1.2? Type 1200 or 1.20."),
        ("1.200", "L", "'1.200': 1200 or 1.2? Type 1200 or 1.20."),
        ("600,000", "", "'600,000': 600000 or 600? Type 600000 or 600.00."),
        ("1,234 gal", "L", "'1,234 gal': 1234 or 1.234? Type 1234 gal or 1.2340 gal."),
        ("-1.250 mV", "mV", "'-1.250 mV': 1250 or 1.25? Type -1250 mV or -1.25 mV."),
        ("1.005", "mg/L", "'1.005': 1005 or 1.005? Type 1005 or 1.0050."),
    ],
)
def test_three_digits_after_one_mark_are_refused_with_both_readings(
    typed: str, unit: str, sentence: str
) -> None:
    assert refused(typed, unit) == sentence


@pytest.mark.parametrize(
    ("typed", "unit", "most", "value"),
    [
        ("0.200", "mg/L", None, 0.2),
        ("0,125", "L", None, 0.125),
        (".125", "L", None, 0.125),
        ("007.125", "L", None, 7.125),
        ("1.2", "L", None, 1.2),
        ("1.20", "L", None, 1.2),
        ("1.2000", "L", None, 1.2),
        ("1200.125", "L", None, 1200.125),
        ("17.125", "degC", None, 17.125),
        ("1.413 mS/cm", "uS/cm", None, 1413),
        ("7.125", "", 14, 7.125),
        ("1.250 ft", "m", 30, 0.381),
        ("1.250", "mg/L", 1249, 1.25),
    ],
)
def test_what_cannot_be_thousands_is_a_decimal(
    typed: str, unit: str, most: float | None, value: float
) -> None:
    assert read(typed, unit, most=most).value == pytest.approx(value)
    assert thousands_or_decimal(typed, unit, most=most) is None


def test_what_can_be_thousands_up_to_the_most_is_asked() -> None:
    assert "1250 or 1.25" in refused("1.250", "mg/L", most=1250)
    assert "1250 or 1.25" in refused("1.250 ft", "m", most=382)


@given(
    st.integers(min_value=1, max_value=999), st.integers(min_value=0, max_value=999),
    st.sampled_from(".,"), st.sampled_from([u for u in UNITS if u not in NEVER_THOUSANDS]),
)  # fmt: skip
def test_both_readings_can_be_typed_and_neither_is_asked_again(
    whole: int, part: int, mark: str, unit: str
) -> None:
    typed = f"{whole}{mark}{part:03d} {unit}".strip()
    two = thousands_or_decimal(typed, unit)
    assert two is not None
    assert read(two.thousands, unit).value == whole * 1000 + part
    assert read(two.decimal, unit).value == pytest.approx(whole + part / 1000, abs=1e-12)
    assert two.thousands in refused(typed, unit)


@given(st.floats(min_value=1e-6, max_value=1e9), st.sampled_from(UNITS))
def test_what_the_program_writes_for_itself_is_read_back(value: float, unit: str) -> None:
    assert read(sure_text(value, unit), unit).value == pytest.approx(value, rel=1e-9)


# --- as a script or a person writes it --------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [
        ("13.200000000000001", "degC", 13.2),
        ("0.30000000000000004", "mg/L", 0.3),
        ("0.1234567890", "mg/L", 0.123456789),
        ("1e-5", "L", 1e-5),
        ("1E3", "L", 1000),
        ("2.5e+2 mL", "L", 0.25),
        ("0.0000034567", "L", 3.4567e-6),
        ("1.200e3", "L", 1200),
        ("90 million", "", 90e6),
        ("1.250 million", "", 1.25e6),
        ("3 thousand L", "m3", 3),
        ("2 ft 6 in", "in", 30),
        ("2'6\"", "in", 30),
        ("2\u20326\u2033", "in", 30),
        ("2ft. 6in.", "in", 30),
        ("5 lb 8 oz", "lb", 5.5),
        ("1 h 30 min", "min", 90),
        ("2 gal 2 qt", "gal", 2.5),
        ('30"', "cm", 76.2),
        ("30 in.", "cm", 76.2),
        ("2 gal.", "L", 7.570823568),
        ("2 lb.", "kg", 0.90718474),
        ("2 ft.", "m", 0.6096),
        ("4 %", "%/d", 4),
    ],
)
def test_a_number_is_taken_as_scripts_and_people_write_it(
    typed: str, unit: str, value: float
) -> None:
    assert read(typed, unit).value == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize("typed", ["1'234", "2 ft 6", "2 ft 3 ft", "2 in 3 ft", "5 kg 3 oz"])
def test_two_amounts_that_do_not_go_together_are_refused(typed: str) -> None:
    for unit in ("m", "kg", ""):
        assert refused(typed, unit)


# NIST SP 811 (2008), appendix B.8, from memory: ft3, qt, fl oz, atm, ft3/s (cfs), ft3/min.
@pytest.mark.parametrize(
    ("typed", "kept", "value"),
    [
        ("1 ft3", "L", 28.316846592),
        ("1 cu ft", "L", 28.316846592),
        ("1 cu. ft.", "L", 28.316846592),
        ("1 qt", "L", 0.946352946),
        ("1 fl oz", "mL", 29.5735295625),
        ("1 fl. oz.", "mL", 29.5735295625),
        ("1 atm", "mmHg", 760.0000),
        ("1013 mb", "hPa", 1013),
        ("1 cfs", "L/s", 28.316846592),
        ("1 cfm", "L/min", 28.316846592),
        ("1 cu ft/s", "L/s", 28.316846592),
        ("2 lb/d", "g/d", 907.18474),
        ("2 lb/day", "g/d", 907.18474),
        ("1 oz/d", "g/d", 28.349523125),
        ("1 mL/s", "L/min", 0.06),
        ("3 litre/min", "L/min", 3),
        ("3 litres/minute", "L/min", 3),
        ("3 liters per hour", "L/h", 3),
        ("3 L min-1", "L/min", 3),
        ("0.3 d-1", "per d", 0.3),
        ("3 mg L-1", "mg/L", 3),
        ("3 mg\u00b7L\u207b\u00b9", "mg/L", 3),
        ("3 g m-3", "mg/L", 3),
        ("3 g/m3", "mg/L", 3),
        ("0.3 km", "m", 300),
        ("500 umhos/cm", "uS/cm", 500),
        ("12 mS", "uS/cm", 12000),
        ("12 rotifers/mL", "per mL", 12),
        ("12 brine shrimp/mL", "per mL", 12),
        ("200 cells per mL", "per mL", 200),
        ("2 weeks", "d", 14),
    ],
)
def test_a_unit_of_the_trade_is_taken(typed: str, kept: str, value: float) -> None:
    assert read(typed, kept).value == pytest.approx(value, rel=1e-6)


# --- what a field is an amount of ---------------------------------------------------------------


@pytest.mark.parametrize(
    "typed",
    [
        "0.5 mg/L NH3-N", "0.5 mg/L NH4-N", "0.5 mg/L TAN", "0.5 TAN", "0.5 NH3-N",
        "0.5 mg/L as NH3-N", "500 ug/L TAN", "0.5 mg/L", "0.5 mg/L as N", "0.5",
    ],
)  # fmt: skip
def test_ammonia_is_taken_in_the_ways_kits_write_it(typed: str) -> None:
    assert read(typed, "mg/L as N", of="ammonia").value == 0.5


@pytest.mark.parametrize(
    ("typed", "of", "sentence"),
    [
        ("0.5 mg/L NO2", "ammonia", "mg/L as NO2 is nitrite, and this value is ammonia."),
        ("0.5 mg/L as NO3", "ammonia", "mg/L as NO3 is nitrate, and this value is ammonia."),
        ("0.5 NO2-N", "ammonia", "mg/L as NO2-N is nitrite, and this value is ammonia."),
        ("0.5 mg/L NH3", "nitrite", "mg/L as NH3 is ammonia, and this value is nitrite."),
        ("0.5 mg/L TAN", "nitrate", "mg/L as NH3-N is ammonia, and this value is nitrate."),
        ("0.5 mg/L NO3", "nitrite", "mg/L as NO3 is nitrate, and this value is nitrite."),
    ],
)
def test_a_unit_of_another_substance_is_refused(typed: str, of: str, sentence: str) -> None:
    assert refused(typed, "mg/L as N", of=of) == sentence
    assert typed.split()[1] not in sentence or "type" not in sentence


def test_a_refused_unit_offers_none_of_another_substance() -> None:
    assert "NO" not in refused("5 foo", "mg/L as N", of="ammonia")
    assert "NO2" in refused("5 foo", "mg/L as N", of="nitrite")


# Molar masses of IUPAC, from memory: N 14.007, O2 31.998.
def test_micromoles_go_by_what_the_field_holds() -> None:
    assert read("100 umol/L", "mg/L as N", of="ammonia").value == pytest.approx(1.4007)
    assert read("100 \u00b5mol L-1", "mg/L as N", of="nitrite").value == pytest.approx(1.4007)
    assert read("250 umol/L", "mg/L", of="oxygen").value == pytest.approx(7.9995)
    assert "amount" in refused("250 umol/L", "mg/L")


def test_ppm_is_milligrams_a_liter_for_oxygen_alone() -> None:
    assert read("8 ppm", "mg/L", of="oxygen").value == 8
    assert "by mass or by volume" in refused("8 ppm", "mg/L")
