"""Age, size and growth: what the sums give, refuse and undo, alone and through the calculators."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, timedelta
from math import cbrt, exp, isfinite, log

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.science import age, growth
from tankwalk.science.calculators import fish

sizes = st.floats(1e-6, 1e6)
anything = st.floats(allow_nan=False, allow_infinity=False)


def near(value: float, relative: float = 1e-12) -> object:
    return pytest.approx(value, rel=relative)


def value(name: str, **typed: str) -> float:
    found = working_out.work(name, typed).value
    assert found is not None
    return found


# ---- days post hatch


def test_the_day_half_the_lot_had_hatched_is_day_0() -> None:
    hatched = date(2026, 4, 19)
    assert age.dph(hatched, hatched) == 0
    assert age.dph(hatched, date(2026, 5, 10)) == 21
    assert age.dph(hatched, date(2026, 4, 18)) is None


def test_before_the_hatch_there_is_no_age_but_a_warning() -> None:
    done = working_out.work("dph", {"hatched": "2026-05-10", "on": "2026-05-07"})
    assert done.value is None
    assert done.warnings == ("on is 3 d before the hatch.",)
    assert working_out.work("dph", {"hatched": "2026-05-10", "on": "2026-05-10"}).value == 0


@given(st.dates(date(1900, 1, 1), date(2100, 1, 1)), st.integers(0, 400))
def test_age_grows_by_one_a_day(hatched: date, days: int) -> None:
    assert age.dph(hatched, hatched + timedelta(days)) == days


# ---- condition


@pytest.mark.parametrize(
    ("weight", "length", "k"),
    [(0.1005, 2.4, 0.726997), (0.012, 1.15, 0.789019), (250, 28, 1.13885)],
)
def test_condition_by_definition(weight: float, length: float, k: float) -> None:
    assert growth.condition(weight, length) == near(k, 1e-5)


def test_pipers_constant_turns_k_of_mm_and_g_into_c_of_in_and_lb() -> None:
    k = growth.condition(453.59237, 2.54)  # a fish of 1 lb and 1 in
    assert 1 / (k / 100 / 1000) == near(36.1273, 1e-6)


def test_condition_of_a_fish_in_other_units() -> None:
    assert value("condition", weight="250000 mg", length="280 mm") == near(
        value("condition", weight="250", length="28")
    )
    assert value("condition", weight="0", length="28") == 0


def test_a_usual_fish_has_a_relative_condition_of_1() -> None:
    usual = 8e-6 * 54**3.05
    assert growth.relative_condition(usual, 54, 8e-6, 3.05) == near(1)
    assert growth.relative_condition(1.1 * usual, 54, 8e-6, 3.05) == near(1.1)
    assert value("relative-condition", weight="0.5", length="5.4 cm", a="0.000008", b="3") == near(
        0.5 / (8e-6 * 54**3), 1e-11
    )


@given(sizes, st.floats(1.5, 4), st.lists(st.floats(1, 1e3), min_size=2, max_size=9, unique=True))
def test_a_regression_finds_the_a_and_b_that_made_the_fish(
    a: float, b: float, lengths: list[float]
) -> None:
    if max(lengths) < 1.01 * min(lengths):
        return
    found = growth.weight_length([a * length**b for length in lengths], lengths)
    assert found is not None
    assert found.b == pytest.approx(b, rel=1e-6)
    assert found.a == pytest.approx(a, rel=1e-4)


def test_fish_of_one_length_tell_no_exponent() -> None:
    assert growth.weight_length([1, 2], [50, 50]) is None
    assert growth.weight_length([], []) is None
    assert growth.weight_length([1e-300, 1e300], [999.9999999, 1000]) is None
    with pytest.raises(Refusal, match="lengths has 1 numbers and weights 2"):
        growth.weight_length([1, 2], [50])
    with pytest.raises(Refusal, match="weights has to be above 0"):
        growth.weight_length([1, 0], [50, 60])
    with pytest.raises(Refusal, match="lengths has to be above 0"):
        growth.weight_length([1, 1], [50, -1])


# ---- rates


def test_growth_rate_by_definition() -> None:
    assert growth.growth_rate(0.5, 12, 14) == near(100 * log(24) / 14)
    assert growth.growth_rate(0.5, 12, 14) == near(22.7004, 1e-5)
    assert growth.growth_rate(10, 10, 7) == 0
    assert growth.daily_gain(15.37) == near(16.6141, 1e-5)
    assert growth.daily_gain(5) == near(100 * (exp(0.05) - 1))
    assert growth.daily_gain(1e6) is None


def test_a_loss_is_answered_with_a_warning() -> None:
    done = working_out.work("growth-rate", {"start": "10", "end": "9", "days": "2"})
    assert done.value == near(50 * log(0.9))
    assert any(w.startswith("end is below start") for w in done.warnings)
    assert not working_out.work("growth-rate", {"start": "9", "end": "9", "days": "2"}).warnings


def test_a_gain_too_large_for_a_number_is_null_and_the_rest_is_answered() -> None:
    typed = {"start": "0.000000001", "end": "999999999", "days": "0.00001"}
    done = working_out.work("growth-rate", typed)
    assert done.value == near(100 * log(999999999e9) / 1e-5, 1e-9)
    assert done.also["daily_gain"] is None


@given(sizes, sizes, st.floats(0.1, 100))
def test_growing_back_undoes_growing(start: float, end: float, days: float) -> None:
    assert growth.growth_rate(start, end, days) == pytest.approx(
        -growth.growth_rate(end, start, days), abs=1e-9
    )


def test_growth_does_not_depend_on_the_unit_it_is_typed_in() -> None:
    assert value("growth-rate", start="0.002 g", end="9.8", days="336 h") == near(
        value("growth-rate", start="2 mg", end="0.0098 g", days="14")
    )


@pytest.mark.parametrize(
    ("start", "end", "warmth", "tgc"), [(0.5, 12, 420, 3.56126), (0.001, 0.1005, 570, 0.64023)]
)
def test_thermal_growth_by_definition(start: float, end: float, warmth: float, tgc: float) -> None:
    assert growth.thermal_growth(start, end, warmth) == near(tgc, 1e-5)
    assert growth.thermal_growth(start, end, warmth) == near(
        1000 * (cbrt(end) - cbrt(start)) / warmth, 1e-11
    )
    assert growth.thermal_weight(1, 4, 500) == near(27)
    assert growth.thermal_weight(8, 2, 1000) == near(64)


@given(st.floats(1e-3, 1e4), st.floats(1e-3, 1e4), st.floats(1, 1e4))
def test_a_coefficient_foretells_the_weight_it_came_from(
    start: float, end: float, warmth: float
) -> None:
    tgc = growth.thermal_growth(start, end, warmth)
    assert growth.thermal_weight(start, tgc, warmth) == pytest.approx(end, rel=1e-9)


@given(st.floats(1e-3, 1e4), st.floats(0, 10), st.floats(0, 5e3), st.floats(0, 5e3))
def test_warmth_never_makes_a_fish_lighter(
    start: float, tgc: float, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    assert growth.thermal_weight(start, tgc, low) <= growth.thermal_weight(start, tgc, high)


def test_thermal_growth_warns_below_a_gram() -> None:
    for name, rest in (
        ("thermal-growth", {"end": "2", "degree_days": "300"}),
        ("thermal-weight", {"tgc": "1", "degree_days": "300"}),
    ):
        for start, warned in (("0.9999", True), ("1", False), ("1.0005", False)):
            warnings = working_out.work(name, {"start": start, **rest}).warnings
            assert any("was not tried on larvae" in w for w in warnings) is warned, start


def test_a_loss_down_to_no_fish_is_refused_and_down_to_nothing_is_0() -> None:
    with pytest.raises(Refusal, match=r"tgc -10.* takes more than start"):
        growth.thermal_weight(8, -10, 300)
    assert growth.thermal_weight(8, -2, 1000) == pytest.approx(0, abs=1e-30)
    assert growth.thermal_weight(8, -2, 999.9) > 0
    with pytest.raises(Refusal, match=r"tgc"):
        growth.thermal_weight(8, -2, 1000.1)


def test_degree_days_count_only_what_is_above_the_base() -> None:
    assert growth.degree_days([16.0, 16.5, 17.0, 18.0, 18.5], 0) == 86
    assert growth.degree_days([4, 5, 7.5], 5) == 2.5
    assert growth.degree_days([-1], 0) == 0
    # The usual base is 0 degC.
    assert value("degree-days", temperatures="16 16.5") == 32.5
    assert value("degree-days", temperatures="61.7 60.8 degF") == pytest.approx(32.5, abs=1e-9)


@given(st.lists(st.floats(-5, 40), min_size=1, max_size=20), st.floats(-5, 40), st.floats(-5, 40))
def test_a_higher_base_never_leaves_more_degree_days(
    temperatures: list[float], one: float, other: float
) -> None:
    low, high = sorted((one, other))
    warm = growth.degree_days(temperatures, high)
    assert 0 <= warm <= growth.degree_days(temperatures, low)


# ---- spread


def test_spread_by_definition() -> None:
    found = growth.spread([10.2, 11.5, 9.8, 12.1, 10.9])
    assert found.cv == near(8.58178, 1e-6)
    assert found.n == 5
    assert found.mean == near(10.9)


def test_what_has_no_spread_says_so() -> None:
    assert growth.spread([3]) == (1, 3, None, None)
    assert growth.spread([3, 3]) == (2, 3, 0, 0)
    assert growth.spread([0, 0]) == (2, 0, 0, None)
    for values, why in (("3", "one fish"), ("0 0", "a mean of 0")):
        done = working_out.work("size-spread", {"values": values})
        assert done.value is None
        assert done.warnings == (f"values: {why} has no coefficient of variation.",)
    done = working_out.work("size-spread", {"values": "0 0.0005"})
    assert done.value == near(100 * 2**0.5)
    assert done.warnings == ()
    assert working_out.work("size-spread", {"values": "1 3"}).value == near(100 * 2**0.5 / 2)


@given(st.lists(st.floats(0.1, 100), min_size=2, max_size=20), st.floats(0.01, 100))
def test_the_unit_of_sizes_does_not_change_their_spread(sizes: list[float], unit: float) -> None:
    one, other = growth.spread(sizes), growth.spread([size * unit for size in sizes])
    assert one.cv == pytest.approx(other.cv, abs=1e-6)


# ---- feed


def test_feed_conversion_by_definition() -> None:
    assert growth.feed_conversion(120, 80, 180, 0) == near(1.2)
    assert growth.feed_conversion(120, 80, 180, 20) == near(1)
    assert growth.feed_conversion(0, 80, 180, 0) == 0
    # Without dead, none are counted.
    assert value("feed-conversion", feed="120", start="80", end="180") == near(1.2)


def test_nothing_put_on_has_no_conversion() -> None:
    for end in ("80", "79"):
        done = working_out.work("feed-conversion", {"feed": "120", "start": "80", "end": end})
        assert done.value is None
        assert any("nothing was put on" in w for w in done.warnings)
    done = working_out.work("feed-conversion", {"feed": "1", "start": "80", "end": "80.0005"})
    assert done.value == near(2000, 1e-6)
    assert not any("nothing was put on" in w for w in done.warnings)


def test_ration_by_definition() -> None:
    assert growth.ration(4000, 5, 20) == near(4)
    assert growth.ration(1800, 100.5, 8) == near(14.472)
    assert growth.ration(0, 5, 20) == 0
    assert value("ration", number="1800", weight="0.1005 g", percent="8 %/d") == near(14.472)


# ---- refusals


@pytest.mark.parametrize(
    ("name", "typed", "key"),
    [
        ("growth-rate", "start=0 | end=2 | days=3", "start"),
        ("growth-rate", "start=1 | end=0 | days=3", "end"),
        ("growth-rate", "start=1 | end=2 | days=0", "days"),
        ("condition", "weight=-1 | length=2", "weight"),
        ("condition", "weight=1 | length=0", "length"),
        ("relative-condition", "weight=-1 | length=50 | a=1 | b=3", "weight"),
        ("relative-condition", "weight=1 | length=0 | a=1 | b=3", "length"),
        ("relative-condition", "weight=1 | length=50 | a=0 | b=3", "a"),
        ("relative-condition", "weight=1 | length=50 | a=1 | b=900000", "length"),
        ("relative-condition", "weight=1 | length=50 | a=1 | b=-900000", "length"),
        ("thermal-growth", "start=0 | end=2 | degree_days=100", "start"),
        ("thermal-growth", "start=1 | end=0 | degree_days=100", "end"),
        ("thermal-growth", "start=1 | end=2 | degree_days=0", "degree_days"),
        ("thermal-weight", "start=0 | tgc=2 | degree_days=100", "start"),
        ("thermal-weight", "start=1 | tgc=2 | degree_days=-1", "degree_days"),
        ("degree-days", "temperatures=16 101", "temperatures"),
        ("degree-days", "temperatures=16 | base=-6", "base"),
        ("size-spread", "values=1 -1", "values"),
        ("feed-conversion", "feed=-1 | start=1 | end=2", "feed"),
        ("feed-conversion", "feed=1 | start=-1 | end=2", "start"),
        ("feed-conversion", "feed=1 | start=1 | end=-2", "end"),
        ("feed-conversion", "feed=1 | start=1 | end=2 | dead=-1", "dead"),
        ("ration", "number=-1 | weight=1 | percent=2", "number"),
        ("ration", "number=1 | weight=-1 | percent=2", "weight"),
        ("ration", "number=1 | weight=1 | percent=-2", "percent"),
        ("dph", "hatched=10 May | on=2026-05-10", "hatched"),
    ],
)
def test_a_refusal_names_the_input(name: str, typed: str, key: str) -> None:
    given_ = dict(part.split("=", 1) for part in typed.split(" | "))
    with pytest.raises(Refusal, match=rf"^{key}\b"):
        working_out.work(name, given_)


def test_empty_lists_are_refused() -> None:
    with pytest.raises(Refusal, match="temperatures has to hold"):
        growth.degree_days([], 0)
    with pytest.raises(Refusal, match="values has to hold"):
        growth.spread([])


@given(anything, anything, anything, anything)
@settings(max_examples=300)
def test_whatever_numbers_are_given_there_is_an_answer_or_a_refusal(
    a: float, b: float, c: float, d: float
) -> None:
    asks: tuple[Callable[[], float | None], ...] = (
        lambda: growth.growth_rate(a, b, c),
        lambda: growth.daily_gain(a),
        lambda: growth.condition(a, b),
        lambda: growth.relative_condition(a, b, c, d),
        lambda: growth.thermal_growth(a, b, c),
        lambda: growth.thermal_weight(a, b, c),
    )
    for ask in asks:
        try:
            found = ask()
        except Refusal:
            continue
        assert found is None or isfinite(found)


# ---- the calculators


def test_every_calculator_of_fish_can_be_written_as_json() -> None:
    for asked in fish.CALCULATORS:
        done = working_out.work(asked.name, asked.typed)
        words = json.dumps(working_out.as_json(done), allow_nan=False)
        assert asked.equation.split("\n")[0] in json.loads(words)["equation"]
        assert set(done.also) == {output.key for output in asked.also}
        assert all(len(one.words) <= 40 for one in asked.inputs)


@given(st.data())
@settings(max_examples=150, deadline=None)
def test_whatever_is_typed_the_calculators_answer_or_refuse(data: st.DataObject) -> None:
    numbers = st.decimals(-(10**11), 10**11, places=6).map(lambda d: f"{d:f}")
    asked = data.draw(st.sampled_from(fish.CALCULATORS))
    typed = {
        one.key: " ".join(data.draw(st.lists(numbers, min_size=1, max_size=3)))
        for one in asked.inputs
        if asked.name != "dph"
    }
    try:
        done = working_out.work(asked.name, typed)
    except Refusal:
        return
    json.dumps(working_out.as_json(done), allow_nan=False)


def test_the_units_that_are_shown() -> None:
    assert [(c.name, c.output.unit) for c in fish.CALCULATORS] == [
        ("growth-rate", "%/d"),
        ("condition", ""),
        ("relative-condition", ""),
        ("dph", "d"),
        ("thermal-growth", ""),
        ("thermal-weight", "g"),
        ("degree-days", "degC d"),
        ("size-spread", "%"),
        ("feed-conversion", ""),
        ("ration", "g/d"),
    ]
