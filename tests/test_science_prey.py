"""Prey given, washed out and eaten, and a day's feeding worked back to the cysts."""

from __future__ import annotations

import json
from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculator_support import declared, never_fails, refuses_or_answers, warns_of
from outside import typed
from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.science import prey

BASE = {
    "prey-dose": typed(volume=800, target=10, residual=4, concentrate=8000),
    "prey-washout": typed(start=10, flow=4, volume=800, hours=4, floor=4),
    "prey-drip": typed(density=1, flow=2),
    "gape": typed(length=6),
    "prey-day": typed(volume=220, flow=0.6, target=5, meals=[8, 12, 16, 20], eaten=90000),
}
NAMES = tuple(BASE)


def work(name: str, **inputs: object) -> working_out.Working:
    return working_out.work(name, {**BASE[name], **typed(**inputs)})


def value(name: str, **inputs: object) -> float:
    found = work(name, **inputs).value
    assert found is not None
    return found


def test_a_meal_fills_up_from_what_was_counted() -> None:
    done = work("prey-dose")
    assert done.value == pytest.approx(600, rel=1e-12)
    assert done.also["prey"] == pytest.approx(4.8e6, rel=1e-12)
    full = work("prey-dose", residual=11)
    assert (full.value, full.also["prey"]) == (0, 0)


def test_washout_as_a_stirred_tank() -> None:
    done = work("prey-washout")
    assert done.value == pytest.approx(10 * exp(-1.2), rel=1e-12)
    assert done.also["hours_to_floor"] == pytest.approx(log(2.5) / 0.3, rel=1e-12)
    assert done.also["meals_per_day"] == 8  # 24 / 3.054 = 7.86
    assert work("prey-washout", floor=9.9).also["meals_per_day"] == 717  # 24 x 0.3 / ln(10/9.9)


def test_nothing_is_eaten_unless_said() -> None:
    assert prey.density_after(10, 4, 800, 4) == pytest.approx(10 * exp(-1.2), rel=1e-12)
    assert prey.hours_to(10, 4, 4, 800) == pytest.approx(log(2.5) / 0.3, rel=1e-12)
    assert prey.hours_to(10, 4, 0, 800) is None


def test_eating_takes_its_own() -> None:
    """C = (C0 + g/k) exp(-k t) - g/k with k 0.3 per h and g 0.5 per mL per h."""
    done = work("prey-washout", eaten=400000)
    g_k = 0.5 / 0.3
    assert done.value == pytest.approx((10 + g_k) * exp(-1.2) - g_k, rel=1e-12)
    hours = log((10 + g_k) / (4 + g_k)) / 0.3
    assert done.also["hours_to_floor"] == pytest.approx(hours, rel=1e-12)
    assert work("prey-washout", eaten=400000, hours=24).value == 0


def test_without_a_flow_only_eating_brings_prey_down() -> None:
    still = work("prey-washout", flow=0)
    assert still.value == 10
    assert (still.also["hours_to_floor"], still.also["meals_per_day"]) == (None, None)
    eaten = work("prey-washout", flow=0, eaten=800000)
    assert eaten.value == pytest.approx(6)
    assert eaten.also["hours_to_floor"] == pytest.approx(6)
    assert eaten.also["meals_per_day"] == 4
    # 0.0004 volumes pass: eating has (1 - exp(-0.0004)) / 0.0004 of its time.
    little = prey.density_after(10, 4 / 3000, 800, 4, 800000)
    assert little == pytest.approx(10 * exp(-0.0004) - (1 - exp(-0.0004)) / 0.0001, rel=1e-9)
    # A trickle is all but no flow, and keeps its digits.
    trickle = prey.density_after(10, 1e-12, 800, 4, 800000)
    assert trickle == pytest.approx(6, rel=1e-9)
    assert prey.hours_to(10, 4, 1e-12, 800, 800000) == pytest.approx(6, rel=1e-9)


def test_a_floor_that_is_never_reached_or_is_there_already() -> None:
    assert work("prey-washout", floor=0).also["hours_to_floor"] is None
    there = work("prey-washout", floor=10)
    assert there.also["hours_to_floor"] == 0
    assert there.also["meals_per_day"] is None
    no_floor = {k: v for k, v in BASE["prey-washout"].items() if k != "floor"}
    assert working_out.work("prey-washout", no_floor).also["hours_to_floor"] is None
    assert work("prey-washout", floor=0, eaten=400000).also["hours_to_floor"] == pytest.approx(
        log((10 + 0.5 / 0.3) / (0.5 / 0.3)) / 0.3, rel=1e-12
    )


@pytest.mark.parametrize(
    ("hours", "meals"),
    [(24, 1), (8, 3), (7.999, 4), (8.001, 3), (100, 1), (0, None), (None, None), (1e-9, None),
     (24 / 1439.5, 1440), (24 / 1440.5, None),
     (24 / 7, 7), (1e300, 1)],
)  # fmt: skip
def test_meals_are_whole(hours: float | None, meals: int | None) -> None:
    assert prey.meals_a_day(hours) == meals


@pytest.mark.parametrize(("density", "flow", "per_min"), [(1, 2, 2000), (0.1, 4, 400), (0, 4, 0)])
def test_a_drip_makes_up_for_the_flow(density: float, flow: float, per_min: float) -> None:
    assert value("prey-drip", density=density, flow=flow) == pytest.approx(per_min, rel=1e-12)


@pytest.mark.parametrize(
    ("length", "width", "height"),
    [(5.5, 0.283185, 0.27697375), (6.0, 0.321503, 0.318115), (8.0, 0.508095, 0.518455),
     (9.5, 0.683025, 0.70627375)],
)  # fmt: skip
def test_a_mouth_by_its_regression(length: float, width: float, height: float) -> None:
    done = work("gape", length=length)
    assert done.value == pytest.approx(width, rel=1e-9)
    assert done.also["height"] == pytest.approx(height, rel=1e-9)


# ---- prey and mouths


@pytest.mark.parametrize(
    ("width", "fit"),
    [
        (100, prey.Fit.FITS),
        (160.7515, prey.Fit.FITS),  # half of 0.321503 mm
        (160.76, prey.Fit.MARGINAL),
        (321.502, prey.Fit.MARGINAL),
        (321.503, prey.Fit.TOO_WIDE),
        (430, prey.Fit.TOO_WIDE),
    ],
)
def test_a_prey_fits_up_to_half_of_the_mouth_and_never_as_wide_as_it(
    width: float, fit: prey.Fit
) -> None:
    found = prey.fitted(width, 6)
    assert found.fit is fit
    assert found.part == pytest.approx(width / 321.503, rel=1e-9)
    assert (found.width, found.mouth) == pytest.approx((width / 1000, 0.321503), rel=1e-9)


def test_it_is_said_whose_mouth_a_prey_was_held_against() -> None:
    own = prey.fitted(180, 6, "yellow perch")
    assert (own.of, own.same, own.beyond) == ("yellow perch", True, False)
    assert not prey.fitted(180, 6, "sauger").same
    assert prey.fitted(180, 10).beyond
    assert not prey.fitted(180, 9.99).beyond


def test_the_calculator_says_how_a_prey_fits() -> None:
    alone = work("gape")
    assert (alone.also["part"], alone.also["fit"]) == (None, None)
    assert work("gape", width=180).also["fit"] == "marginal"
    assert work("gape", width="0.18 mm").also["part"] == pytest.approx(0.18 / 0.321503)


# ---- a day in a tank


def test_a_day_is_filled_from_what_each_meal_finds() -> None:
    """200 L at 10 L/min turn over three times an hour: every meal finds nothing left."""
    found = work("prey-day", volume=200, flow=10, target=5, meals="8 12 16", eaten=0)
    assert found.value == pytest.approx(3 * 5 * 200 * 1000, rel=1e-4)
    assert found.also["washed"] == pytest.approx(1, rel=1e-12)
    slow = work("prey-day", volume=100, flow=1, target=10, meals="8 20", eaten=0)
    # 0.6 an hour: exp(-7.2) of 10 per mL is left after each half of the day.
    left = 10 * exp(-7.2)
    assert slow.value == pytest.approx(2 * (10 - left) * 100000, rel=1e-12)
    assert slow.also["lowest"] == pytest.approx(left, rel=1e-9)
    assert slow.also["empty"] == 0
    eaten = work("prey-day", volume=100, flow=0, target=10, meals="8 20", eaten=100000)
    # 10 hours of food in each 12: nothing is washed out, two hours are hungry, twice.
    assert eaten.value == pytest.approx(2e6)
    assert (eaten.also["washed"], eaten.also["eaten_part"]) == pytest.approx((0, 1))
    assert eaten.also["empty"] == pytest.approx(4)


@pytest.mark.parametrize("meals", ["8 8", "12 8", "24", "-1"])
def test_meals_are_hours_of_one_day_in_order(meals: str) -> None:
    with pytest.raises(Refusal, match=r"^meals\b"):
        work("prey-day", meals=meals)


# ---- what may be declared, and what is refused


def test_usual_values_and_ranges_are_those_of_the_sources() -> None:
    assert declared(NAMES) == {
        ("prey-washout", "eaten"): (0, None),
        ("gape", "length"): (None, (0, 10)),
        ("prey-day", "eaten"): (0, None),
    }
    assert not warns_of("gape", {}, "length", 10)
    assert warns_of("gape", {}, "length", 10.001)


@pytest.mark.parametrize(
    ("name", "key", "bad"),
    [
        ("prey-dose", "volume", "0"),
        ("prey-dose", "target", "-1"),
        ("prey-dose", "residual", "-1"),
        ("prey-dose", "concentrate", "0"),
        *(("prey-washout", key, "-1") for key in ("start", "flow", "hours", "floor", "eaten")),
        ("prey-washout", "volume", "0"),
        ("prey-drip", "density", "-1"),
        ("prey-drip", "flow", "-1"),
        ("gape", "length", "0"),
        ("gape", "width", "0"),
        ("prey-day", "volume", "0"),
        *(("prey-day", key, "-1") for key in ("flow", "target", "eaten")),
    ],
)
def test_a_refusal_names_the_input_by_its_key(name: str, key: str, bad: str) -> None:
    with pytest.raises(Refusal, match=rf"^{key}\b"):
        working_out.work(name, {**BASE[name], key: bad})


def test_a_residual_is_counted_and_never_assumed() -> None:
    short = {k: v for k, v in BASE["prey-dose"].items() if k != "residual"}
    with pytest.raises(Refusal, match=r"^residual is missing"):
        working_out.work("prey-dose", short)


@pytest.mark.parametrize("name", NAMES)
def test_each_answer_can_be_written(name: str) -> None:
    json.dumps(working_out.as_json(working_out.work(name, BASE[name])), allow_nan=False)


# ---- properties


@given(st.floats(0.1, 50), st.floats(0.01, 0.99), st.floats(0.1, 20), st.floats(10, 2000),
       st.floats(0, 1e6))  # fmt: skip
def test_at_the_time_of_the_floor_the_floor_is_there(
    start: float, part: float, flow: float, volume: float, eaten: float
) -> None:
    floor = start * part
    hours = prey.hours_to(start, floor, flow, volume, eaten)
    assert hours is not None
    left = prey.density_after(start, flow, volume, hours, eaten)
    assert left == pytest.approx(floor, rel=1e-6)
    assert prey.density_after(start, flow, volume, hours + 1, eaten) <= left


@given(st.floats(0, 20), st.floats(0, 20), st.floats(1, 2000))
def test_a_meal_brings_the_tank_to_its_target(target: float, left: float, volume: float) -> None:
    many = prey.prey_needed(volume, target, left)
    assert left + many / volume / 1000 == pytest.approx(max(target, left))


@given(st.floats(3, 9), st.floats(0.01, 1))
def test_a_longer_larva_has_a_wider_mouth(length: float, more: float) -> None:
    assert prey.gape(length + more).width > prey.gape(length).width
    assert prey.gape(length + more).height > prey.gape(length).height


@pytest.mark.parametrize(
    ("name", "there", "same"),
    [
        ("prey-dose", {"volume": "0.8 m3", "concentrate": "8000000 per L"}, {}),
        ("prey-washout", {"flow": "240 L/h", "hours": "240 min"}, {}),
        ("prey-drip", {"flow": "2000 mL/min"}, {}),
        ("gape", {"length": "0.6 cm"}, {}),
    ],
)
def test_the_unit_it_is_typed_in_changes_nothing(
    name: str, there: dict[str, str], same: dict[str, str]
) -> None:
    values = [working_out.work(name, {**BASE[name], **one}).value for one in (there, same)]
    assert values[0] == pytest.approx(values[1], rel=1e-11)


def test_whatever_is_typed_there_is_an_answer_or_a_refusal() -> None:
    never_fails(NAMES)


@pytest.mark.parametrize(
    ("name", "many"),
    [
        ("prey_needed", 3), ("concentrate_needed", 2), ("density_after", 5), ("hours_to", 5),
        ("drip", 2), ("gape", 1),
    ],
)  # fmt: skip
def test_a_sum_gives_a_number_or_a_refusal(name: str, many: int) -> None:
    refuses_or_answers(getattr(prey, name), many)


def test_a_fit_is_a_number_or_a_refusal() -> None:
    refuses_or_answers(lambda *n: prey.fitted(*n)[1:4], 2)


def test_meals_follow_from_any_time() -> None:
    refuses_or_answers(prey.meals_a_day, 1)
