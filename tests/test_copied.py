"""Values copied forward: what chance does seldom is asked about, what the water does is not."""

from __future__ import annotations

from random import Random

import pytest
from scipy import stats

from site_support import NOW, moment
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan import kinds
from tankwalk.plan.model import Item
from tankwalk.practice.judging.baseline import Usual
from tankwalk.practice.judging.copied import Copies, at_least, of_person, of_tank, repeat

AT = moment(NOW).utc
FLOW = Item("flow", "Flow", unit="L/min")
PH = Item("ph", "pH", decimals=2, instrument="pH meter")
WATER = ("T01", "T02", "T03")
LONG = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 9.0)
"""Looks of which none is the one before: a chance of 2 in 12."""


def past(*values: float) -> Usual:
    looks = [
        ValueSeen(n, value, AT - 3600 * (len(values) - n), 0, False, None, None)
        for n, value in enumerate(values)
    ]
    return Usual(tuple(looks))


def ask(copies: Copies, place: str, item: Item, value: float, *before: float) -> str:
    return copies.at(place, item, value, past(*before), WATER)


def fresh() -> Copies:
    return Copies(0.01)


# ---- one tank


def test_flow_that_has_no_meter_is_asked_about_too_by_itself_at_the_fourth_look_alike() -> None:
    copies = fresh()
    assert ask(copies, "T02", FLOW, 9.5, *LONG) == ""
    assert ask(copies, "T01", FLOW, 5.0, *LONG, 5.0, 5.0) == ""  # 2 in 12, twice
    said = ask(copies, "T01", FLOW, 5.0, *LONG, 5.0, 5.0, 5.0)
    assert said == "the same to the last digit 4 times: is it really read?"


def test_a_run_that_was_asked_about_is_not_asked_about_at_each_look_that_follows() -> None:
    for flag, asked in ((0, True), (1, False), (2, True)):
        known = past(*LONG, 5.0, 5.0, 5.0)
        looks = (*known.looks[:-1], known.looks[-1]._replace(flag=flag))
        copies = fresh()
        ask(copies, "T02", FLOW, 9.5, *LONG)
        said = copies.at("T01", FLOW, 5.0, known._replace(looks=looks), WATER)
        assert bool(said) is asked


def test_a_question_about_other_values_before_is_none_about_this_run() -> None:
    known = past(*LONG, 5.0, 5.0, 5.0)
    before = len(LONG) - 1
    asked = [k._replace(flag=int(n == before)) for n, k in enumerate(known.looks)]
    copies = fresh()
    ask(copies, "T02", FLOW, 9.5, *LONG)
    said = copies.at("T01", FLOW, 5.0, known._replace(looks=tuple(asked)), WATER)
    assert said.startswith("the same to the last digit 4 times")


def test_two_items_alike_are_asked_about_at_the_third_look_where_one_would_not_be() -> None:
    copies = fresh()
    for item in (FLOW, PH):
        ask(copies, "T02", item, 8.5, *LONG)
    assert ask(copies, "T01", FLOW, 5.0, *LONG, 5.0, 5.0) == ""
    assert "3 times" in ask(copies, "T01", PH, 5.0, *LONG, 5.0, 5.0)


def test_at_the_third_look_a_sister_has_to_have_moved_first() -> None:
    copies = fresh()
    ask(copies, "T01", FLOW, 5.0, *LONG, 5.0, 5.0)
    assert ask(copies, "T01", PH, 5.0, *LONG, 5.0, 5.0) == ""


def test_an_item_that_moved_beside_it_speaks_for_the_reader() -> None:
    copies = fresh()
    for item in (FLOW, PH):
        ask(copies, "T02", item, 8.5, *LONG)
    assert ask(copies, "T01", FLOW, 5.0, *LONG, 5.0, 5.0) == ""
    assert ask(copies, "T01", PH, 5.1, *LONG, 5.0, 5.0) == ""


def test_where_the_sisters_stand_still_as_well_it_is_the_water() -> None:
    copies = fresh()
    for place in ("T02", "T03"):
        ask(copies, place, FLOW, 9.0, *LONG)
    assert ask(copies, "T01", FLOW, 5.0, *LONG, 5.0, 5.0, 5.0) == ""


def test_where_too_little_is_known_and_of_words_nothing_is_asked() -> None:
    copies = fresh()
    ask(copies, "T02", FLOW, 9.5, *LONG)
    assert ask(copies, "T01", FLOW, 5.0, *LONG[:8], 5.0, 5.0, 5.0) == ""
    screen = Item("screen", "Outlet screen", kinds.CHOICE, choices=("clean", "fouled"))
    assert repeat("T01", screen, 0.0, past(*LONG, 0.0, 0.0)) is None


# ---- one person


def test_a_column_that_is_the_last_round_over_is_asked_about_before_its_third_look() -> None:
    copies = fresh()
    said = [ask(copies, f"T{n:02d}", FLOW, 9.0, *LONG) for n in range(1, 13)]
    assert said[:5] == [""] * 5
    assert "6 values of this round are those of the last one" in said[5]
    assert ask(copies, "T13", FLOW, 9.5, *LONG) == ""  # this one was read


def test_values_of_the_round_that_moved_are_not_counted_with_those_that_are_over() -> None:
    copies = fresh()
    assert ask(copies, "T01", FLOW, 9.5, *LONG) == ""
    said = [ask(copies, f"T{n:02d}", FLOW, 9.0, *LONG) for n in range(2, 12)]
    assert said[-1].startswith("10 values of this round are those of the last one")


def test_of_a_hundred_honest_rounds_hardly_one_is_asked_about() -> None:
    luck = Random(11)  # the chance that a tenth repeats where a look spreads by 0.3: about 1 in 10
    asked = 0
    for _ in range(100):
        copies = fresh()
        for n in range(1, 13):
            looks = [round(9 + luck.gauss(0, 0.3), 1) for _ in range(17)]
            asked += bool(ask(copies, f"T{n:02d}", FLOW, looks[-1], *looks[:-1]))
    assert asked <= 4


# ---- the chance itself


@pytest.mark.parametrize(("count", "many", "chance"), [(0, 5, 0.3), (3, 10, 0.2), (10, 10, 0.4)])
def test_equal_chances_are_the_binomial_tail(count: int, many: int, chance: float) -> None:
    # scipy.stats.binom.sf, an independent implementation.
    assert at_least(count, [chance] * many) == pytest.approx(
        stats.binom.sf(count - 1, many, chance), rel=1e-9
    )


def test_unequal_chances_are_those_of_every_way_it_can_happen() -> None:
    a, b, c = 0.1, 0.3, 0.6
    two = a * b * (1 - c) + a * (1 - b) * c + (1 - a) * b * c
    assert at_least(2, [a, b, c]) == pytest.approx(two + a * b * c)


def test_fewer_than_six_values_say_nothing_of_a_person() -> None:
    here = repeat("T01", FLOW, 9.0, past(*LONG))
    assert here is not None
    assert of_person([here] * 5) == 1.0
    assert of_person([here] * 6) == pytest.approx((2 / 11) ** 6)
    assert of_tank(here, [], [here]) == 1.0
