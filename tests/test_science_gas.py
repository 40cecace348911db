"""Total gas pressure: what is definition, which gas it is, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.science import gas
from tankwalk.science.oxygen import saturation, vapor_pressure
from tankwalk.science.salinity import density
from water_support import also, ask, edges, ends, only_refusals, refusal, value

any_number = st.floats(allow_nan=False, allow_infinity=False)


# Definition: total gas pressure in percent of the air's.
@pytest.mark.parametrize(
    ("mmhg", "excess", "percent"),
    [(760, 0, 100), (760, 24, 103.158), (745, 30, 104.027), (700, 70, 110), (760, -38, 95)],
)
def test_percent_of_the_air_is_by_definition(mmhg: float, excess: float, percent: float) -> None:
    asked = value("gas-pressure", delta_p=excess, pressure=mmhg)
    assert asked == pytest.approx(percent, abs=6e-4)
    back = ask("gas-pressure", total=f"{100 * (1 + excess / mmhg):.9f}", pressure=mmhg)
    assert back.value == pytest.approx(asked, abs=1e-8)
    assert back.also["delta_p"] == pytest.approx(excess, abs=1e-7)


def test_103_percent_at_740_is_22_mmhg() -> None:
    assert gas.delta_p(103, 740) == pytest.approx(22.2, abs=1e-9)
    assert gas.delta_p(103) == pytest.approx(22.8, abs=1e-9)
    assert gas.total_percent(22.8) == pytest.approx(103, abs=1e-9)
    assert value("gas-pressure", delta_p=22.8) == pytest.approx(103, abs=1e-9)


# Computed: our own output, as a guard.
@pytest.mark.parametrize(
    ("mmhg", "excess", "do", "t", "expected"),
    [
        (760, 0, 9.0924, 20, 100.043),
        (760, 30, 9.0924, 20, 105.156),
        (745, 40, 7.0, 18, 113.486),
    ],
)
def test_nitrogen_with_argon_is_what_it_was(
    mmhg: float, excess: float, do: float, t: float, expected: float
) -> None:
    found = also(
        "gas-pressure", "nitrogen_argon", delta_p=excess, pressure=mmhg, oxygen=do, temperature=t
    )
    assert found == pytest.approx(expected, abs=6e-4)


def test_the_pressure_of_oxygen_is_what_it_was() -> None:
    found = also("gas-pressure", "oxygen_pressure", delta_p=0, oxygen=7.5, temperature=18)
    assert found == pytest.approx(123.546, abs=6e-4)


def test_depth_holds_gas_down_by_what_the_water_weighs() -> None:
    assert gas.compensation_depth(40, 18) == pytest.approx(0.544568, abs=3e-6)
    assert gas.water_column(20) == pytest.approx(73.4239, abs=3e-4)
    for t, s in ((12.0, 0.0), (20.0, 35.0)):
        meter = density(t, s) * 9.80665 / 133.322
        inputs = {"delta_p": 40, "temperature": t, "salinity": s, "depth": 0.3}
        assert also("gas-pressure", "uncompensated", **inputs) == pytest.approx(40 - 0.3 * meter)
        assert gas.water_column(t, s) == pytest.approx(meter, rel=1e-13)
        assert also("gas-pressure", "compensation_depth", **inputs) == pytest.approx(
            40 / meter, rel=1e-12
        )


def test_without_a_temperature_the_column_is_taken_at_20_degrees_in_fresh_water() -> None:
    assert also("gas-pressure", "uncompensated", delta_p=40, depth=1) == pytest.approx(
        40 - density(20) * 9.80665 / 133.322, rel=1e-12
    )
    assert gas.water_column() == gas.water_column(20, 0)
    assert gas.uncompensated(40, 1) == gas.uncompensated(40, 1, 20, 0)
    assert gas.compensation_depth(40) == gas.compensation_depth(40, 20, 0)
    assert also("gas-pressure", "uncompensated", delta_p=40) == 40


def test_missing_gas_needs_no_depth() -> None:
    assert also("gas-pressure", "compensation_depth", delta_p=-10) == 0
    assert also("gas-pressure", "compensation_depth", delta_p=0) == 0


def test_water_in_balance_with_air_is_full_of_both_but_for_the_carbon_dioxide() -> None:
    parts = gas.parts(0, saturation(12, 0, 760), 12)
    assert parts.oxygen_percent == pytest.approx(100, abs=1e-9)
    assert parts.nitrogen_argon == pytest.approx(100 * (1 - 0.20946) / 0.7902, abs=1e-9)
    assert parts.oxygen_pressure == pytest.approx(0.20946 * (760 - vapor_pressure(12)), rel=1e-12)
    assert gas.parts(10, 8, 12) == gas.parts(10, 8, 12, 0, 760)
    assert gas.oxygen_pressure(8, 12) == gas.oxygen_pressure(8, 12, 0)


def test_without_oxygen_the_parts_have_no_value_and_the_rest_is_answered() -> None:
    done = ask("gas-pressure", delta_p=20, temperature=17)
    assert done.value == pytest.approx(102.6316, abs=1e-4)
    for key in ("oxygen_pressure", "oxygen_percent", "nitrogen_argon"):
        assert done.also[key] is None


def test_oxygen_that_is_more_than_all_the_gas_is_said() -> None:
    done = ask("gas-pressure", delta_p=-500, oxygen=20, temperature=17)
    assert done.also["nitrogen_argon"] is None
    assert done.also["oxygen_pressure"] == pytest.approx(322.0, abs=1.5)
    assert "oxygen and water vapor alone are more than all the gas: measure both again." in (
        done.warnings
    )
    # On the very edge there is nothing left, which is a legal nothing.
    edge = gas.oxygen_pressure(20, 17) + vapor_pressure(17) - 760
    assert gas.parts(edge + 1e-9, 20, 17).nitrogen_argon == pytest.approx(0, abs=1e-8)
    assert gas.parts(edge - 1e-4, 20, 17).nitrogen_argon is None


def test_one_of_the_two_and_only_one_is_asked() -> None:
    assert refusal("gas-pressure", delta_p=20, total=103).startswith("total is not asked")
    assert refusal("gas-pressure").startswith("delta_p is missing")
    words = refusal("gas-pressure", delta_p=20, oxygen=8)
    assert words.startswith("temperature is missing: oxygen")


def test_what_cannot_be_is_refused_by_its_name() -> None:
    ends("gas-pressure", "pressure", 200, 1000, delta_p=20)
    ends("gas-pressure", "total", 0, None)
    ends("gas-pressure", "depth", 0, None, delta_p=20)
    ends("gas-pressure", "salinity", 0, 300, delta_p=20)
    ends("gas-pressure", "temperature", -5, 100, delta_p=20)
    ends("gas-pressure", "oxygen", 0, None, delta_p=20, temperature=17)
    ends("gas-pressure", "delta_p", -750, None, pressure=750)
    with pytest.raises(Refusal, match="boils"):
        gas.parts(20, 8, 90, 0, 500)
    nothing = float("nan")
    with pytest.raises(Refusal, match=r"^delta_p"):
        gas.uncompensated(nothing, 1)
    with pytest.raises(Refusal, match=r"^delta_p"):
        gas.compensation_depth(nothing)
    with pytest.raises(Refusal, match=r"^delta_p"):
        gas.total_percent(nothing)


def test_outside_the_range_it_warns_and_answers() -> None:
    assert not ask("gas-pressure", delta_p=20, temperature=17, oxygen=9, depth=1).warnings
    edges("gas-pressure", "pressure", 380, 836, delta_p=20)
    edges("gas-pressure", "temperature", 0, 40, delta_p=20)
    edges("gas-pressure", "salinity", None, 40, delta_p=20)


def test_typed_units_give_the_same_answer() -> None:
    plain = ask("gas-pressure", delta_p=20, pressure=740, temperature=20, oxygen=9, depth=0.5)
    typed: dict[str, object] = {
        "delta_p": 20, "pressure": 740, "temperature": 20, "oxygen": 9, "depth": 0.5
    }  # fmt: skip
    for changed in (
        {"temperature": "68 degF"},
        {"delta_p": "2.666448 kPa"},
        {"pressure": "98.658576 kPa"},
        {"depth": "50 cm"},
        {"oxygen": "9000 ug/L"},
    ):
        done = ask("gas-pressure", **{**typed, **changed})
        assert done.value == pytest.approx(plain.value, rel=1e-7)
        for key in ("nitrogen_argon", "uncompensated", "compensation_depth"):
            assert done.also[key] == pytest.approx(plain.also[key], rel=1e-6)


@given(st.floats(-300, 300), st.floats(380, 836))
def test_percent_and_back_is_the_same_excess(excess: float, mmhg: float) -> None:
    assert gas.delta_p(gas.total_percent(excess, mmhg), mmhg) == pytest.approx(excess, abs=1e-9)


@given(st.floats(0.1, 300), st.floats(0, 40), st.floats(0, 40))
def test_at_the_compensation_depth_nothing_is_left(excess: float, t: float, s: float) -> None:
    depth = gas.compensation_depth(excess, t, s)
    assert gas.uncompensated(excess, depth, t, s) == pytest.approx(0, abs=1e-9)
    assert gas.uncompensated(excess, depth + 0.1, t, s) < 0


@given(any_number, any_number, any_number, any_number, any_number)
def test_whatever_is_typed_nothing_but_a_refusal_comes(
    a: float, b: float, c: float, d: float, e: float
) -> None:
    only_refusals(gas.total_percent, a, b)
    only_refusals(gas.delta_p, a, b)
    only_refusals(gas.uncompensated, a, b, c, d)
    only_refusals(gas.compensation_depth, a, b, c)
    only_refusals(gas.oxygen_pressure, a, b, c)
    only_refusals(lambda *n: gas.parts(*n).nitrogen_argon, a, b, c, d, e)


@given(
    st.floats(-1.7e308, 1.7e308), st.floats(0, 1.7e308), st.floats(-5, 100), st.floats(0, 300),
    st.floats(200, 1000),
)  # fmt: skip
def test_water_that_can_be_has_an_answer_or_a_refusal(
    a: float, b: float, t: float, s: float, mmhg: float
) -> None:
    only_refusals(gas.total_percent, a, mmhg)
    only_refusals(gas.delta_p, b, mmhg)
    only_refusals(gas.uncompensated, a, b, t, s)
    only_refusals(gas.compensation_depth, a, t, s)
    only_refusals(gas.oxygen_pressure, b, t, s)
    only_refusals(lambda *n: gas.parts(*n).nitrogen_argon, a, b, t, s, mmhg)
    only_refusals(lambda *n: gas.parts(*n).oxygen_percent, a, b, t, s, mmhg)
