"""Salinity, conductivity and density: there and back, at the join, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.science import salinity
from water_support import also, ask, edges, ends, only_refusals, refusal, value

any_number = st.floats(allow_nan=False, allow_infinity=False)


# Computed: our own output, as a guard.
@pytest.mark.parametrize(
    ("ec", "t", "expected"),
    [(850, 18, 981.184), (1200, 20, 1326.70), (400, 10, 560.617), (2000, 25, 2000)],
)
def test_conductivity_at_25_degrees_is_by_1_91_percent_a_degree(
    ec: float, t: float, expected: float
) -> None:
    assert value("conductivity-25", conductivity=ec, temperature=t) == pytest.approx(
        expected, abs=6e-3
    )
    assert salinity.conductivity_25(ec, t) == pytest.approx(ec / (1 + 0.0191 * (t - 25)), rel=1e-13)
    by_two = value("conductivity-25", conductivity=ec, temperature=t, coefficient=0.02)
    assert by_two == pytest.approx(ec / (1 + 0.02 * (t - 25)), rel=1e-13)


def test_a_meter_in_either_unit_gives_one_salinity() -> None:
    plain = value("salinity", conductivity=3.2, temperature=20)
    assert value("salinity", conductivity="3200 uS/cm", temperature="68 degF") == plain
    assert value("salinity", sc25="3.5 mS/cm") == value("salinity", sc25=3500)


def test_the_conductivity_at_25_that_is_shown_gives_the_salinity_again() -> None:
    for c, t in ((0.3, 8.0), (3.2, 17.0), (48.0, 25.0)):
        here = ask("salinity", conductivity=c, temperature=t)
        again = value("salinity", sc25=round(float(str(here.also["sc25"])), 9))
        assert again == pytest.approx(here.value, rel=1e-9)
    assert ask("salinity", sc25=3500).also["sc25"] == 3500
    assert also("conductivity", "sc25", salinity=2, temperature=17) == pytest.approx(
        1000 * value("conductivity", salinity=2, temperature=25)
    )


def test_a_temperature_beside_sc25_changes_nothing() -> None:
    assert value("salinity", sc25=3500, temperature=12) == value("salinity", sc25=3500)


def test_pure_water_is_a_legal_nothing() -> None:
    assert value("salinity", conductivity=0, temperature=17) == 0
    assert value("salinity", sc25=0) == 0
    assert value("conductivity", salinity=0, temperature=17) == 0
    # Below some 2 uS/cm the extension gives less than nothing, which no water is.
    assert value("salinity", conductivity=0.001, temperature=17) == 0
    assert value("conductivity-25", conductivity=0, temperature=17) == 0


@pytest.mark.parametrize("t", [-2.0, 5.0, 15.0, 25.0, 35.0])
def test_the_two_scales_meet_at_2(t: float) -> None:
    c = salinity.conductivity(2, t)
    for near in (c * (1 - 1e-9), c, c * (1 + 1e-9)):
        assert salinity.salinity(near, t) == pytest.approx(2, abs=1e-7)


def test_leaving_the_extension_out_would_show_in_fresh_water() -> None:
    """Hill takes 0.005 to 0.009 off below 200 uS/cm; the plain scale gives 0.0063 for nothing."""
    gsw = pytest.importorskip("gsw")
    for sc in (50, 100, 200):
        assert value("salinity", sc25=sc) == pytest.approx(float(gsw.SP_from_C(sc / 1000, 25, 0)))


def test_one_of_the_two_and_a_temperature_are_asked() -> None:
    assert refusal("salinity", conductivity=3, sc25=3500, temperature=20).startswith("sc25 is not")
    assert refusal("salinity", temperature=20).startswith("conductivity is missing")
    assert refusal("salinity", conductivity=3).startswith("temperature is missing")
    assert refusal("conductivity", salinity=3).startswith("temperature is missing")
    assert refusal("conductivity", temperature=3).startswith("salinity is missing")
    assert refusal("conductivity-25", temperature=3).startswith("conductivity is missing")
    assert refusal("water-density").startswith("temperature is missing")


def test_what_water_cannot_be_is_refused_by_its_name() -> None:
    ends("salinity", "conductivity", 0, None, temperature=20)
    ends("salinity", "sc25", 0, None)
    ends("salinity", "temperature", -5, 100, conductivity=3)
    ends("conductivity", "salinity", 0, 300, temperature=20)
    ends("conductivity", "temperature", -5, 100, salinity=5)
    ends("conductivity-25", "conductivity", 0, 300000, temperature=20)
    ends("conductivity-25", "temperature", -5, 100, conductivity=900)
    ends("conductivity-25", "coefficient", 0, 0.03, conductivity=900, temperature=20)
    ends("water-density", "temperature", -5, 100)
    ends("water-density", "salinity", 0, 300, temperature=20)
    ends("salinity", "conductivity", None, 300, temperature=90)
    with pytest.raises(Refusal, match=r"^sc25 has to be 0 to 300000"):
        salinity.from_sc25(300000.1)
    assert salinity.from_sc25(300000) > 0


def test_more_salt_than_water_takes_is_refused() -> None:
    """At 20 degC the scale, carried on, passes 300 at 257.9 mS/cm."""
    most = salinity.conductivity(300, 20)
    assert ask("salinity", conductivity=round(most - 1e-3, 6), temperature=20).value
    words = refusal("salinity", conductivity=round(most + 1e-3, 6), temperature=20)
    assert words.startswith("conductivity is more than any water has")
    most = salinity.conductivity(300, 25) * 1000
    assert ask("salinity", sc25=round(most - 1, 3)).value
    assert refusal("salinity", sc25=round(most + 1, 3)).startswith("sc25 is more than any water")


def test_outside_the_range_it_warns_and_answers() -> None:
    assert not ask("salinity", conductivity=3.2, temperature=17).warnings
    edges("salinity", "temperature", -2, 35, conductivity=3.2)
    edges("conductivity", "temperature", -2, 35, salinity=5)
    edges("conductivity", "salinity", None, 42, temperature=20)
    edges("conductivity-25", "temperature", 0, 30, conductivity=900)
    edges("conductivity-25", "coefficient", 0.015, 0.025, conductivity=900, temperature=20)
    edges("water-density", "temperature", -2, 40)
    edges("water-density", "salinity", None, 42, temperature=20)
    assert not ask("water-density", temperature=20, salinity=0).warnings
    assert not ask("conductivity", temperature=20, salinity=0).warnings
    full = salinity.conductivity(42, 25) * 1000
    assert not ask("salinity", sc25=round(full - 1, 3)).warnings
    assert ask("salinity", sc25=round(full + 1, 3)).warnings == (
        "salinity 42.0 is above 42, the range of the equation.",
    )


def test_what_a_meter_is_off_by_is_said() -> None:
    words = ask("salinity", conductivity=3.2, temperature=17).shaky
    assert words.startswith("temperature off by 0.5: 1.980 to 2.029")
    words = ask("conductivity-25", conductivity=450, temperature=17).shaky
    assert words.startswith("temperature off by 0.5: 525 to 537 uS/cm")


def test_fresh_water_is_heaviest_at_4_degrees_and_salt_is_0_where_nothing_is_said() -> None:
    assert max((3.5, 3.98, 4.5), key=salinity.density) == 3.98
    assert value("water-density", temperature=20) == salinity.density(20, 0)
    assert salinity.density(20) == salinity.density(20, 0)
    assert value("water-density", temperature="68 degF", salinity="5 ppt") == salinity.density(
        20, 5
    )


@given(st.floats(0, 42), st.floats(-2, 35))
def test_salinity_and_back_is_the_same(salt: float, t: float) -> None:
    c = salinity.conductivity(salt, t)
    assert salinity.salinity(c, t) == pytest.approx(salt, rel=1e-9, abs=1e-9)


@given(st.floats(0.02, 60), st.floats(-2, 34), st.floats(0.0001, 1))
def test_more_conductivity_is_more_salt_and_warmer_water_less(
    c: float, t: float, more: float
) -> None:
    here = salinity.salinity(c, t)
    assert salinity.salinity(c + more, t) > here
    assert salinity.salinity(c, t + more) < here


@given(st.floats(0, 42), st.floats(-2, 40), st.floats(0.01, 1))
def test_more_salt_is_heavier(salt: float, t: float, more: float) -> None:
    assert salinity.density(t, salt + more) > salinity.density(t, salt)


@given(any_number, any_number, any_number)
def test_whatever_is_typed_nothing_but_a_refusal_comes(a: float, b: float, c: float) -> None:
    only_refusals(salinity.salinity, a, b)
    only_refusals(salinity.conductivity, a, b)
    only_refusals(salinity.conductivity_25, a, b, c)
    only_refusals(salinity.from_sc25, a)
    only_refusals(salinity.sc25_of, a)
    only_refusals(salinity.density, a, b)


@given(st.floats(0, 300), st.floats(-5, 100), st.floats(0, 0.03))
def test_water_that_can_be_has_an_answer(a: float, t: float, k: float) -> None:
    only_refusals(salinity.salinity, a, t)
    assert salinity.conductivity(a, t) >= 0
    assert salinity.conductivity_25(a, t, k) >= 0
    assert salinity.density(t, a) > 900
