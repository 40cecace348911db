"""What is done first goes by the side a value lies on, and by the word that was answered."""

from __future__ import annotations

from pathlib import Path

import pytest

from site_support import NOW, SMALL, opened, standing_at
from tankwalk.plan import kinds
from tankwalk.plan.load import PlanFaults, read_plan
from tankwalk.plan.model import Band, Item, Limits, Side
from tankwalk.plan.responses import every, response, steps
from tankwalk.practice.board import board
from tankwalk.practice.handover import drafting
from tankwalk.practice.handover.lines import ResponseLine
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.verdict import first_steps, side_of

OXYGEN = Item(
    "do",
    "Oxygen",
    unit="mg/L",
    when_low=("open oxygen or air", "stop the feed"),
    when_high=("turn the oxygen down", "check the probe"),
)
PUMP = Item(
    "pump",
    "Main pump",
    kinds.CHOICE,
    choices=("A duty", "B duty", "problem"),
    watch_on=("B duty",),
    act_on=("problem",),
    when=(("B duty", ("write why A is out",)), ("problem", ("start the other pump",))),
)
BAND = Band(Limits(watch_below=7.0, act_below=6.0, watch_above=11.0), None, "our plan")

BY_SIDE = SMALL.replace(
    'first_response = "Open the oxygen, stop the feed."',
    'when_low = ["Open oxygen", "stop the feed"]\nwhen_high = "Turn the oxygen down."',
).replace('first_response = "Brush it now."', 'when.fouled = ["Brush it", "look in the drain"]')
OXYGEN_BOTH = '\n[[band]]\nitem = "do"\ntank = "T02"\nwatch_below = 7.0\nwatch_above = 11.0\n'


def test_too_little_and_too_much_are_answered_each_by_its_own_steps() -> None:
    assert first_steps(OXYGEN, 5.2, BAND) == OXYGEN.when_low
    assert first_steps(OXYGEN, 13.9, BAND) == OXYGEN.when_high
    assert response(OXYGEN.when_high) == "Turn the oxygen down, check the probe."
    assert response(()) == ""


def test_each_word_of_a_choice_has_steps_of_its_own() -> None:
    assert first_steps(PUMP, 1.0, None) == ("write why A is out",)
    assert first_steps(PUMP, 2.0, None) == ("start the other pump",)
    assert first_steps(PUMP, 0.0, None) == ()


@pytest.mark.parametrize(
    ("value", "rule", "moved", "side"),
    [
        (8.0, Rule.CHANGE, -2.5, Side.LOW),  # in its band, and it fell
        (8.0, Rule.DRIFT, 0.4, Side.HIGH),
        (11.5, Rule.CHANGE, -2.5, Side.HIGH),  # it fell, and still there is too much
        (8.0, Rule.LOOP_DOWN, 0.0, Side.LOW),
        (8.0, Rule.TOO_FEW, 0.0, Side.LOW),
        (8.0, Rule.JUMP, 0.0, Side.HIGH),
        (8.0, Rule.SISTERS, 0.0, None),
    ],
)
def test_the_side_is_that_of_the_band_and_else_the_way_it_went(
    value: float, rule: Rule, moved: float, side: Side | None
) -> None:
    assert side_of(value, BAND, rule, moved) is side


def test_where_the_side_is_not_known_only_what_holds_for_both_is_said() -> None:
    assert steps(OXYGEN, None) == ()
    both = OXYGEN._replace(when_high=OXYGEN.when_low)
    assert steps(both, None) == OXYGEN.when_low
    assert [first.words for first in every(both)] == ["Open oxygen or air, stop the feed."]
    assert [first.words for first in every(OXYGEN)] == [
        "low: Open oxygen or air, stop the feed.",
        "high: Turn the oxygen down, check the probe.",
    ]


def test_the_plan_takes_one_step_or_a_list_and_words_one_by_one() -> None:
    plan = read_plan(BY_SIDE)
    assert plan.item("do").when_low == ("Open oxygen", "stop the feed")
    assert plan.item("do").when_high == ("Turn the oxygen down",)
    assert plan.item("screen").when == (("fouled", ("Brush it", "look in the drain")),)


def test_a_plan_written_before_sides_says_the_same_on_both_and_for_each_bad_word() -> None:
    plan = read_plan(SMALL)
    assert plan.item("temp").when_low == plan.item("temp").when_high == ("Check the heater",)
    steps_of = ("Stop the feed, measure oxygen now",)
    assert plan.item("glance").when == (("odd", steps_of), ("bad", steps_of))


def test_a_word_that_is_no_choice_and_a_side_of_a_choice_are_refused_with_their_line() -> None:
    faulty = BY_SIDE.replace("when.fouled = [", 'when_low = "Brush it."\nwhen.foul = [')
    with pytest.raises(PlanFaults) as refused:
        read_plan(faulty)
    said = str(refused.value)
    assert 'when names "foul", which is none of the choices' in said
    assert "when_low means nothing for a choice" in said
    line = faulty[: faulty.index("when.foul")].count("\n") + 1
    assert f"line {line}, [[item]] screen: when names" in said


def test_words_given_one_by_one_keep_their_lines_when_something_else_is_wrong() -> None:
    faulty = BY_SIDE.replace("when.fouled =", 'when.cleaned = "Look again."\nwhen.fouled =')
    with pytest.raises(PlanFaults) as refused:
        read_plan(faulty.replace('label = "Oxygen"', 'label = "Oxygen"\ndecimals = 77'))
    assert len(refused.value.faults) == 1


def test_not_detected_by_a_coarse_kit_is_not_answered_as_too_high(tmp_path: Path) -> None:
    coarse = BY_SIDE.replace('code = "tan"', 'code = "tan"\nwhen_high = "Stop the feed."')
    with opened(tmp_path, coarse, NOW) as site:
        walk = standing_at(site, "L1", "tan")
        walk.answer("<1.0")
        assert "the kit has to see 0.50" in walk.answer("<1.0").sentence
        [flag] = [one for one in board(site).wrong if one.key.item == "tan"]
        assert flags.steps(site, flag) == ()


def test_oxygen_too_high_is_never_answered_with_more_oxygen(tmp_path: Path) -> None:
    with opened(tmp_path, BY_SIDE + OXYGEN_BOTH, NOW) as site:
        walk = standing_at(site, "T02", "do")
        walk.answer("12.1")
        said = walk.answer("12.1").sentence
        assert said.endswith("First: Turn the oxygen down.")
        [flag] = [one for one in board(site).wrong if one.key.item == "do"]
        assert flags.steps(site, flag) == ("Turn the oxygen down",)
        lines = drafting.draft(site).section("EXPECT").lines
        told = [line.steps for line in lines if isinstance(line, ResponseLine)]
        assert told == [("Turn the oxygen down",)]
