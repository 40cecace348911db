"""Oxygen: what it refuses, where it warns, that percent and mg/L go there and back."""

from __future__ import annotations

from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.science import oxygen
from water_support import also, ask, edges, ends, only_refusals, refusal, value

any_number = st.floats(allow_nan=False, allow_infinity=False)
ASKED: dict[str, dict[str, object]] = {
    "oxygen-saturation": {"temperature": 17},
    "oxygen-percent": {"oxygen": 8.3, "temperature": 17},
    "oxygen-from-percent": {"percent": 85, "temperature": 17},
}


def written(t: float, s: float, mmhg: float) -> float:
    """Benson and Krause as APHA 4500-O prints it, written down a second time."""
    k, p = t + 273.15, mmhg / 760
    fresh = (1.575701e5, -6.642308e7, 1.243800e10, -8.621949e11)
    top = -139.34411 + sum(f / k ** (i + 1) for i, f in enumerate(fresh))
    top -= s * (0.017674 - 10.754 / k + 2140.7 / k / k)
    vapor = exp(11.8571 - 3840.70 / k - 216961 / k / k)
    theta = 0.000975 - 1.426e-5 * t + 6.436e-8 * t * t
    return exp(top) * p * (1 - vapor / p) * (1 - theta * p) / (1 - vapor) / (1 - theta)


@pytest.mark.parametrize(
    ("t", "s", "mmhg"),
    [(0, 0, 760), (17, 0, 733), (20, 35, 600), (40, 40, 400), (30, 5, 400), (40, 0, 830)],
)
def test_the_equation_is_written_as_it_is_printed(t: float, s: float, mmhg: float) -> None:
    assert oxygen.saturation(t, s, mmhg) == pytest.approx(written(t, s, mmhg), rel=2e-12)


# Computed: our own output, as a guard.
@pytest.mark.parametrize(
    ("t", "mmhg", "expected"), [(15, 750, 9.94901), (20, 700, 8.35812), (15, 625, 8.26313)]
)
def test_fresh_water_under_other_air_holds_what_it_held(
    t: float, mmhg: float, expected: float
) -> None:
    assert value("oxygen-saturation", temperature=t, pressure=mmhg) == pytest.approx(
        expected, abs=1e-5
    )


@pytest.mark.parametrize(
    ("do", "t", "s", "mmhg", "expected"),
    [(7.5, 18, 0, 760, 79.2226), (6.0, 20, 2, 740, 68.6194), (9.09, 20, 0, 760, 99.9733)],
)
def test_percent_is_what_it_was(
    do: float, t: float, s: float, mmhg: float, expected: float
) -> None:
    found = value("oxygen-percent", oxygen=do, temperature=t, salinity=s, pressure=mmhg)
    assert found == pytest.approx(expected, abs=1e-4)


def test_air_at_an_elevation_is_the_printed_power() -> None:
    for h in (-400, 300, 1800, 5000):
        power = 751 * exp(5.25588 * log(1 - 2.25577e-5 * h))
        assert value("air-pressure", elevation=h, sea_level=751) == pytest.approx(power, rel=1e-11)
    assert value("air-pressure", elevation=0) == 760
    assert oxygen.station_pressure(0) == 760


def test_elevation_stands_in_for_a_barometer_and_760_for_both() -> None:
    here = oxygen.station_pressure(300)
    for name, asked in ASKED.items():
        by_height = ask(name, **asked, elevation="300 m")
        assert by_height.also["pressure"] == here
        by_air = value(name, **asked, pressure=round(here, 9))
        assert by_height.value == pytest.approx(by_air, rel=1e-9)
        assert ask(name, **asked).also["pressure"] == 760
        assert value(name, **asked) == value(name, **asked, pressure=760, salinity=0)
        words = refusal(name, **asked, pressure=750, elevation=300)
        assert words.startswith("elevation is not asked when pressure is given")


def test_the_functions_take_fresh_water_under_one_atmosphere_where_nothing_is_said() -> None:
    assert oxygen.saturation(17) == oxygen.saturation(17, 0, 760)
    assert oxygen.percent(8, 17) == oxygen.percent(8, 17, 0, 760)
    assert oxygen.from_percent(85, 17) == oxygen.from_percent(85, 17, 0, 760)


def test_the_vapor_is_shown_and_100_percent_too() -> None:
    vapor = also("oxygen-saturation", "vapour_pressure", temperature=17)
    k = 290.15
    assert vapor == pytest.approx(760 * exp(11.8571 - 3840.70 / k - 216961 / k / k), rel=1e-12)
    full = value("oxygen-saturation", temperature=17)
    assert also("oxygen-percent", "saturation", oxygen=8.3, temperature=17) == full


def test_what_a_meter_is_off_by_is_said() -> None:
    assert "temperature off by 0.5: 9.57 to 9.77" in ask("oxygen-saturation", temperature=17).shaky
    words = ask("oxygen-percent", oxygen=8.3, temperature=17).shaky
    assert words.startswith("oxygen off by 0.2: 83.8 to 87.9 %")
    words = ask("oxygen-from-percent", percent=85, temperature=17).shaky
    assert words.startswith("temperature off by 0.5: 8.13 to 8.30 mg/L")


def test_what_water_and_air_cannot_be_is_refused_by_its_name() -> None:
    for name, asked in ASKED.items():
        ends(name, "temperature", -5, None, **asked)
        ends(name, "salinity", 0, 300, **asked)
        ends(name, "pressure", 200, 1000, **asked)
        ends(name, "elevation", -500, 9000, **asked)
        assert refusal(name, **{**asked, "temperature": 101}).startswith("temperature has to be")
        for key in asked:
            left = {k: v for k, v in asked.items() if k != key}
            assert refusal(name, **left).startswith(f"{key} is missing")
    ends("oxygen-percent", "oxygen", 0, None, **ASKED["oxygen-percent"])
    ends("oxygen-from-percent", "percent", 0, None, **ASKED["oxygen-from-percent"])
    ends("air-pressure", "elevation", -500, 9000)
    ends("air-pressure", "sea_level", 200, 1000, elevation=0)
    assert refusal("air-pressure").startswith("elevation is missing")


def test_a_pressure_read_in_another_unit_is_caught() -> None:
    for bare in (101.3, 29.92, 1013.25):
        words = refusal("oxygen-saturation", temperature=17, pressure=bare)
        assert words.startswith("pressure has to be 200 to 1000 mmHg")


def test_boiling_water_holds_no_oxygen() -> None:
    """By the vapor equation 760 mmHg boils water at 99.8 degC, and 400 mmHg at 83.0."""
    assert "boils water at 760 mmHg" in refusal("oxygen-saturation", temperature=100)
    assert "boils water at 760 mmHg" in refusal("oxygen-saturation", temperature=99.9, pressure=800)
    assert "boils water at 400 mmHg" in refusal("oxygen-saturation", temperature=84, pressure=400)
    assert ask("oxygen-saturation", temperature=82, pressure=400).value

    def boils(mmhg: float) -> float:
        """degC at which the vapor has this pressure, by halving."""
        low, high = 50.0, 100.0
        for _ in range(60):
            t = (low + high) / 2
            k = t + 273.15
            low, high = (
                (t, high) if 760 * exp(11.8571 - 3840.70 / k - 216961 / k / k) < mmhg else (low, t)
            )
        return low

    for mmhg, air in ((760.0, 900.0), (400.0, 400.0)):
        assert oxygen.saturation(boils(mmhg) - 0.001, 0, air) > 0
        with pytest.raises(Refusal, match=r"^temperature .* boils"):
            oxygen.saturation(boils(mmhg) + 0.001, 0, air)


def test_outside_the_equations_range_it_warns_and_answers() -> None:
    for name, asked in ASKED.items():
        assert not ask(name, **asked).warnings
        edges(name, "temperature", 0, 40, **asked)
        edges(name, "salinity", None, 40, **asked)
        edges(name, "pressure", 380, 836, **asked)
        edges(name, "elevation", None, 5000, **asked)
    edges("air-pressure", "elevation", None, 5000)
    edges("air-pressure", "sea_level", 650, 815, elevation=0)
    assert not ask("air-pressure", elevation=-500).warnings


def test_a_high_place_is_warned_of_by_its_air_too() -> None:
    """The equation ends at 380 mmHg, which the standard atmosphere has at 5478 m."""
    low, high = 5000.0, 6000.0
    for _ in range(60):
        h = (low + high) / 2
        low, high = (h, high) if 760 * (1 - 2.25577e-5 * h) ** 5.25588 > 380 else (low, h)
    assert len(ask("oxygen-saturation", temperature=17, elevation=low - 0.01).warnings) == 1
    over = ask("oxygen-saturation", temperature=17, elevation=high + 0.01).warnings
    assert over[-1].startswith("elevation gives 380 mmHg of air, outside 380 to 836 mmHg")


def test_no_oxygen_is_a_legal_nothing() -> None:
    assert value("oxygen-percent", oxygen=0, temperature=17) == 0
    assert value("oxygen-from-percent", percent=0, temperature=17) == 0


def test_typed_units_give_the_same_answer() -> None:
    plain = value("oxygen-percent", oxygen=8.3, temperature=20, pressure=750)
    for changed in (
        {"temperature": "68 degF"},
        {"oxygen": "8300 ug/L"},
        {"oxygen": "8,3"},
        {"pressure": "750 mm Hg"},
        {"pressure": f"{750 * 0.1333224:.9f} kPa"},
    ):
        typed: dict[str, object] = {"oxygen": 8.3, "temperature": 20, "pressure": 750}
        assert value("oxygen-percent", **{**typed, **changed}) == pytest.approx(plain, rel=1e-8)
    feet = value("oxygen-saturation", temperature=20, elevation="1000 ft")
    assert feet == pytest.approx(value("oxygen-saturation", temperature=20, elevation=304.8))


waters = st.tuples(st.floats(0, 40), st.floats(0, 40), st.floats(380, 836))


@given(waters, st.floats(0.01, 40))
def test_thinner_air_gives_less(water: tuple[float, float, float], less: float) -> None:
    t, s, mmhg = water
    assert oxygen.saturation(t, s, mmhg - less) < oxygen.saturation(t, s, mmhg)


@given(st.floats(-500, 8990), st.floats(0.1, 10))
def test_higher_up_the_air_is_thinner(elevation: float, more: float) -> None:
    assert oxygen.station_pressure(elevation + more) < oxygen.station_pressure(elevation)


@given(any_number, any_number, any_number, any_number)
def test_whatever_is_typed_nothing_but_a_refusal_comes(
    a: float, b: float, c: float, d: float
) -> None:
    only_refusals(oxygen.saturation, b, c, d)
    only_refusals(oxygen.percent, a, b, c, d)
    only_refusals(oxygen.from_percent, a, b, c, d)
    only_refusals(oxygen.vapor_pressure, b)
    only_refusals(oxygen.station_pressure, a, b)


@given(st.floats(0, 1.7e308), st.floats(-5, 100), st.floats(0, 300), st.floats(200, 1000))
def test_water_and_air_that_can_be_have_an_answer_or_a_refusal(
    a: float, t: float, s: float, mmhg: float
) -> None:
    only_refusals(oxygen.percent, a, t, s, mmhg)
    only_refusals(oxygen.from_percent, a, t, s, mmhg)
    only_refusals(oxygen.saturation, t, s, mmhg)
