"""How many tanks, how far and which way: when a move has one cause, and what it is called."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pytest

from site_support import NOW, moment
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan.model import Item, Limits
from tankwalk.practice.judging.baseline import usual
from tankwalk.practice.judging.shared_causes import Cause, Shift, find

NUMBER = Item("orp", "Redox", unit="mV", decimals=0, instrument="redox meter")
"""Read in whole steps, so that three steps are exactly three."""
AT = moment(NOW)
LIMITS = Limits(watch_below=-10.0, watch_above=30.0)
USUAL = 10.0


def shift(place: str, moved: float, meter: str | None = "A", loop: str = "L1") -> Shift:
    """A tank that always read the same, and what it reads now."""
    looks = [
        ValueSeen(n, USUAL, AT.utc - (20 - n) * 36000, 0, False, n, meter) for n in range(1, 13)
    ]
    return Shift(place, loop, meter, USUAL + moved, usual(NUMBER, looks, lambda _: 0.0))


def cause(
    moved: Sequence[float],
    meters: str = "",
    loops: str = "",
    *,
    limits: Limits | None = LIMITS,
    passes: Mapping[str, float] | None = None,
) -> Cause | None:
    """What the last of these tanks is part of; `passes` gives hours since each meter's pass.

    `meters` has a letter a tank (A where none is given), `loops` a digit (1).
    """
    meters, loops = meters or "A" * len(moved), loops or "1" * len(moved)
    every = [
        shift(f"T{n:02d}", far, meter, f"L{loop}")
        for n, (far, meter, loop) in enumerate(zip(moved, meters, loops, strict=True), 1)
    ]
    passed = {m: AT.utc - int(3600 * hours) for m, hours in (passes or {}).items()}
    return find(NUMBER, every[:-1], every[-1], limits, passed, AT)


def named(found: Cause | None) -> str:
    return "" if found is None else f"{found.kind} {found.code} {'up' if found.up else 'down'}"


# ---- a loop


@pytest.mark.parametrize(("moved", "what"), [
    ([8, 8, 8], "loop L1 up"),
    ([-8, -8, -8], "loop L1 down"),
    ([8, 8], ""),  # two are too few
    ([0, 0, 8, 8, 8], ""),  # 60 % is not more than 60 %
    ([0, 8, 8, 8], "loop L1 up"),
    ([8, 8, 8, 0], ""),  # the one that did not move is no part of it
    ([-8, 8, 8, 8, 8], "loop L1 up"),
    ([8, 8, 8, 8, -8], ""),  # it moved the other way
    ([3, 3, 3], ""),  # three steps of the meter are scatter
    ([3, 8, 8], ""),  # and are no part of what the others share
    ([7, 7, 7], "loop L1 up"),  # a third of the way to 30
    ([6, 6, 6], ""),
    ([-7, -7, -7], "loop L1 down"),
    ([-6, -6, -6], ""),
])  # fmt: skip
def test_tanks_of_a_loop_that_move_far_enough_together_are_the_loop(
    moved: list[float], what: str
) -> None:
    assert named(cause(moved)) == what


@pytest.mark.parametrize(("limit", "what"), [(31.0, "loop L1 up"), (31.1, "")])
def test_a_third_of_the_way_to_the_limit_is_far_enough_for_a_loop(limit: float, what: str) -> None:
    assert named(cause([7, 7, 7], limits=Limits(watch_above=limit))) == what


def test_a_loop_without_a_limit_on_that_side_is_not_told() -> None:
    assert cause([8, 8, 8], limits=None) is None
    assert cause([8, 8, 8], limits=Limits(watch_below=-10.0)) is None
    assert named(cause([-8, -8, -8], limits=Limits(watch_below=-10.0))) == "loop L1 down"
    assert named(cause([8, 8, 8], limits=Limits(act_above=30.0))) == "loop L1 up"


def test_tanks_of_another_loop_do_not_make_it_this_loop() -> None:
    assert cause([8, 8, 8, 8], loops="2221") is None
    assert named(cause([0, 0, 8, 8, 8], loops="22111")) == "loop L1 up"


def test_the_loop_names_its_tanks_and_how_far_they_moved() -> None:
    found = cause([0, 9, 8, 8])
    assert found is not None
    assert found.tanks == ("T02", "T03", "T04")
    assert found.sentence == (
        "3 of 4 tanks of L1 moved together: Redox up 8 to 9 in T02 T03 T04: "
        "look at loop L1, or check meter A that read them all"
    )


def test_tanks_that_moved_as_far_as_each_other_are_told_with_one_number() -> None:
    found = cause([8, 8, 8])
    assert found is not None
    assert "Redox up 8 in T01 T02 T03" in found.sentence


@pytest.mark.parametrize(("still", "both"), [(2, True), (3, False)])
def test_a_meter_that_read_three_still_tanks_of_other_water_is_not_named_with_the_loop(
    still: int, both: bool
) -> None:
    found = cause([*[0.0] * still, 8, 8, 8], loops="2" * still + "111")
    assert found is not None
    assert ("or check meter A" in found.sentence) == both


# ---- a meter


@pytest.mark.parametrize(("moved", "meters", "what"), [
    ([0, 0, 0, 8, 8, 8], "AAABBB", "meter B up"),
    ([0, 0, 0, -8, -8, -8], "AAABBB", "meter B down"),
    ([0, 0, 8, 8, 8], "AABBB", ""),  # two others are too few
    ([0, 0, 0, 8, 8], "AAABB", ""),
    ([0, 0, 0, 4, 4, 4], "AAABBB", "meter B up"),
    ([0, 0, 0, 3, 3, 3], "AAABBB", ""),  # three steps are scatter
    ([8, 8, 8, 0, 0, 0], "AAABBB", ""),  # the others moved, and not by this meter
    ([0, 0, 0, 8, 8, 8, 0], "AAABBBB", ""),  # this tank did not
    ([0, 0, 0, 0, 8, 8, 8, 0, 8], "AAAABBBBB", "meter B up"),
    ([0, 0, 0, 0, 0, 8, 8, 8], "AAABBBBB", ""),  # 60 % of its tanks
    ([0, 0, 0, -8, 8, 8, 8, 8], "AAABBBBB", "meter B up"),
    ([8, 8, 8, 8, 8, 8], "AAABBB", "loop L1 up"),  # both meters: it is the water
    ([-4, -4, -4, 4, 4, 4], "AAABBB", "meter B up"),
])  # fmt: skip
def test_a_meter_is_told_from_the_water_by_who_did_not_move(
    moved: list[float], meters: str, what: str
) -> None:
    assert named(cause(moved, meters)) == what


@pytest.mark.parametrize(
    ("hours", "what"), [(11.9, ""), (12, "meter B up"), (170, "meter B up"), (171, "")]
)
def test_the_time_of_its_last_pass_decides_whether_a_meter_can_be_suspected(
    hours: float, what: str
) -> None:
    """Trusted at first; and where fewer than three looks are older than the pass, nobody knows."""
    found = cause([0, 0, 0, 4, 4, 4], "AAABBB", passes={"B": hours})
    assert named(found) == what


def test_tanks_without_a_meter_are_never_put_down_to_one() -> None:
    every = [shift(f"T0{n}", 0, "A") for n in (1, 2, 3)]
    every += [shift(f"T0{n}", 4, None) for n in (4, 5, 6)]
    assert find(NUMBER, every[:-1], every[-1], LIMITS, {}, AT) is None


def test_the_meter_is_held_against_tanks_of_its_own_loops_alone() -> None:
    assert cause([0, 0, 0, 4, 4, 4], "AAABBB", "222111") is None


def test_the_meter_names_its_tanks_its_last_check_and_who_did_not_move() -> None:
    found = cause([0, 0, 0, 5, 4, 4], "AAABBB", passes={"B": 30})
    assert found is not None
    assert found.tanks == ("T04", "T05", "T06")
    assert found.sentence == (
        "3 tanks, one meter, same direction: suspect redox meter B, last checked 30 h ago. "
        "Redox up 4 to 5 in T04 T05 T06; 3 tanks by another meter did not move"
    )


# ---- the meter or the water


@pytest.mark.parametrize(("beside", "what"), [
    ([8, 8, 8], "loop L1 up"),  # read with another meter, and they moved along
    ([8, 8], "meter B up"),  # two tell nothing of the water
    ([0, 0, 8, 8, 8], "meter B up"),  # 60 % of them is not more than 60 %
    ([0, 8, 8, 8], "loop L1 up"),
])  # fmt: skip
def test_where_tanks_read_with_another_meter_moved_along_it_is_the_water(
    beside: list[float], what: str
) -> None:
    """Still water on the other loop, read by both meters, makes a meter of it at first."""
    still = [0.0] * 8
    moved = [*still, 8, *beside, *[8] * 12]
    meters = "A" * 8 + "B" + "A" * len(beside) + "B" * 12
    loops = "2" * 9 + "1" * (len(beside) + 12)
    assert named(cause(moved, meters, loops)) == what
