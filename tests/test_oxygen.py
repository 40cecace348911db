"""Oxygen at saturation against published tables, each named beside its values."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.science.oxygen import from_percent, percent, saturation, station_pressure

MMHG_PER_HPA = 0.750062


# EN 25814 / ISO 5814, table of oxygen saturation, fresh water at 1 atm, two decimals (as printed
# in the manuals of two meters).
@pytest.mark.parametrize(
    ("temperature", "table"),
    [
        (0, 14.62),
        (10, 11.29),
        (12, 10.78),
        (15, 10.08),
        (18, 9.47),
        (20, 9.09),
        (22, 8.74),
        (25, 8.26),
        (30, 7.56),
    ],
)
def test_fresh_water_at_one_atmosphere_holds_what_the_iso_table_says(
    temperature: float, table: float
) -> None:
    assert saturation(temperature) == pytest.approx(table, abs=0.006)


# APHA Standard Methods 4500-O, table after Benson & Krause 1984, three decimals; from memory.
@pytest.mark.parametrize(
    ("temperature", "table"), [(0, 14.621), (15, 10.084), (20, 9.092), (30, 7.559)]
)
def test_fresh_water_at_one_atmosphere_holds_what_the_apha_table_says(
    temperature: float, table: float
) -> None:
    assert saturation(temperature) == pytest.approx(table, abs=0.0006)


# Garcia & Gordon 1992 (another fit of the same measurements), by gsw 3.6.23: O2sol times rho.
@pytest.mark.parametrize(
    ("temperature", "salinity", "other"),
    [(10, 0, 11.287), (18, 2, 9.3537), (20, 5, 8.8279), (25, 3, 8.1229), (20, 35, 7.395)],
)
def test_salty_water_holds_what_an_independent_fit_says(
    temperature: float, salinity: float, other: float
) -> None:
    assert saturation(temperature, salinity) == pytest.approx(other, abs=0.003)


# Yokogawa DO402 manual, table 6-2: saturation by temperature and elevation, one decimal.
@pytest.mark.parametrize(
    ("temperature", "elevation", "table"),
    [(10, 300, 10.9), (10, 900, 10.2), (20, 1200, 7.9), (20, 1800, 7.4)],
)
def test_high_places_hold_less_as_the_table_by_elevation_says(
    temperature: float, elevation: float, table: float
) -> None:
    here = station_pressure(elevation)
    assert saturation(temperature, 0, here) == pytest.approx(table, abs=0.16)


# US Standard Atmosphere 1976, table of pressure by altitude, in hPa; from memory.
@pytest.mark.parametrize(
    ("elevation", "table"),
    [(0, 1013.25), (500, 954.61), (1000, 898.76), (1500, 845.59), (3000, 701.21)],
)
def test_air_pressure_by_elevation_is_that_of_the_standard_atmosphere(
    elevation: float, table: float
) -> None:
    hpa = station_pressure(elevation) / MMHG_PER_HPA
    assert hpa == pytest.approx(table, abs=0.13)


# A second route: vapor pressure of water by the Buck equation (Buck 1981, J. Appl. Meteorol.
# 20:1527), and the shortcut C = C1 (P - Pw) / (760 - Pw) of many meter manuals.
@pytest.mark.parametrize(
    ("temperature", "pressure", "vapor"),
    [(20, 625, 17.54), (15, 700, 12.79), (18, 740, 15.48), (10, 780, 9.21)],
)
def test_the_pressure_correction_agrees_with_the_shortcut_of_meter_manuals(
    temperature: float, pressure: float, vapor: float
) -> None:
    shortcut = saturation(temperature) * (pressure - vapor) / (760 - vapor)
    assert saturation(temperature, 0, pressure) == pytest.approx(shortcut, abs=0.004)


def test_percent_is_what_is_there_over_what_the_table_holds() -> None:
    # EN 25814 gives 9.47 mg/L at 18 degC and 9.09 mg/L at 20 degC.
    assert percent(9.47, 18) == pytest.approx(100, abs=0.06)
    assert percent(9.09 / 2, 20) == pytest.approx(50, abs=0.03)
    assert from_percent(50, 20) == pytest.approx(9.09 / 2, abs=0.003)


def test_a_weather_reports_sea_level_pressure_would_flatter_a_high_lab() -> None:
    # At 1500 m the standard atmosphere has 845.59 of 1013.25 hPa: 83.5 % of sea level.
    lab = percent(7.0, 18, 0, station_pressure(1500))
    assert percent(7.0, 18) / lab == pytest.approx(0.835, abs=0.005)


@pytest.mark.parametrize(
    ("temperature", "salinity", "pressure", "what"),
    [
        (-5.1, 0, 760, "temperature has to be -5 to 100 degC"),
        (100.1, 0, 760, "temperature has to be -5 to 100 degC"),
        (20, -0.1, 760, "salinity has to be 0 to 300 g/kg"),
        (20, 300.1, 760, "salinity has to be 0 to 300 g/kg"),
        (20, 0, 199, "pressure has to be 200 to 1000 mmHg"),
        (20, 0, 1001, "pressure has to be 200 to 1000 mmHg"),
        (float("nan"), 0, 760, "temperature has to be -5 to 100 degC"),
        (20, float("nan"), 760, "salinity has to be 0 to 300 g/kg"),
        (20, 0, float("nan"), "pressure has to be 200 to 1000 mmHg"),
    ],
)
def test_what_water_and_air_cannot_be_is_refused_in_words(
    temperature: float, salinity: float, pressure: float, what: str
) -> None:
    with pytest.raises(Refusal, match=what):
        saturation(temperature, salinity, pressure)
    with pytest.raises(Refusal, match=what):
        percent(8.0, temperature, salinity, pressure)


@pytest.mark.parametrize("wrong", [-0.01, float("nan")])
def test_less_than_nothing_is_refused(wrong: float) -> None:
    with pytest.raises(Refusal, match="oxygen has to be 0 mg/L or more"):
        percent(wrong, 18)
    with pytest.raises(Refusal, match="percent has to be 0 % or more"):
        from_percent(wrong, 18)


@pytest.mark.parametrize("elevation", [-501, 9001, float("nan")])
def test_an_elevation_no_lab_has_is_refused(elevation: float) -> None:
    with pytest.raises(Refusal, match="elevation has to be -500 to 9000 m"):
        station_pressure(elevation)


waters = st.tuples(st.floats(0, 40), st.floats(0, 40), st.floats(380, 836))


@given(waters, st.floats(0, 40), st.floats(0.01, 40))
def test_warmer_or_saltier_water_holds_less(
    water: tuple[float, float, float], temperature: float, more: float
) -> None:
    warm, salt, pressure = water
    here = saturation(warm, salt, pressure)
    assert 0 < here < 17
    if warm + more <= 40:
        assert saturation(warm + more, salt, pressure) < here
    if salt + more <= 40:
        assert saturation(warm, salt + more, pressure) < here


@given(waters, st.floats(0, 300))
def test_percent_and_back_is_the_same_oxygen(
    water: tuple[float, float, float], share: float
) -> None:
    assert percent(from_percent(share, *water), *water) == pytest.approx(share)
