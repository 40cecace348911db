"""What a part did first and later is told once, by how far it stands from what it was."""

from __future__ import annotations

import pytest

from model_support import SETTINGS, rounds
from tankwalk.practice.judging.model.evidence import changes
from tankwalk.practice.judging.model.looks import Change, Look, Part, Suspect

MANY = 30


def bump(size: float, left: float, *, begun: int = 18, back: int = 24) -> list[Look]:
    """Loop L1 goes so far at once, and rounds later stands where `left` of that is left."""

    def moves(_t: str, loop: str, _m: str | None, number: int) -> float:
        if loop != "L1" or number < begun:
            return 0.0
        return size if number < back else left

    return rounds(MANY, moves, water=0.04)


def of_loop(found: tuple[Change, ...]) -> list[Change]:
    return [one for one in found if (one.kind, one.code) == (Part.LOOP, "L1")]


@pytest.mark.parametrize(("size", "left"), [(0.8, 0.0), (-0.8, 0.0), (0.9, 0.4), (-0.9, -0.4)])
def test_water_that_came_back_is_not_told_by_how_far_it_had_been(size: float, left: float) -> None:
    [one] = of_loop(changes(bump(size, left), SETTINGS))
    assert one.size == pytest.approx(left, abs=0.15)


def test_water_that_moved_twice_the_same_way_is_told_by_both() -> None:
    [one] = of_loop(changes(bump(-0.5, -1.1), SETTINGS))
    assert one.size == pytest.approx(-1.1, abs=0.15)


def test_what_another_part_did_meanwhile_is_told_beside_it() -> None:
    """T02 fell for good while its loop went up and came back."""
    looks = [
        one._replace(value=one.value - 0.9) if one.tank == "T02" and one.round >= 20 else one
        for one in bump(0.8, 0.0)
    ]
    found = changes(looks, SETTINGS)
    [tank] = [one for one in found if one.kind is Part.TANK]
    assert (tank.code, len(of_loop(found))) == ("T02", 1)
    assert tank.size == pytest.approx(-0.9, abs=0.15)


def test_asked_about_some_parts_no_other_is_looked_for_and_these_are_told_the_same() -> None:
    def moves(tank: str, loop: str, _m: str | None, number: int) -> float:
        return -0.9 * (loop == "L1" and number >= 26) - 0.9 * (tank == "T09" and number >= 27)

    looks = rounds(MANY, moves, water=0.04)
    every = changes(looks, SETTINGS)
    assert {(one.kind, one.code) for one in every} == {(Part.LOOP, "L1"), (Part.TANK, "T09")}
    for kind, code in ((Part.LOOP, "L1"), (Part.TANK, "T09")):
        mine = [one for one in every if (one.kind, one.code) == (kind, code)]
        asked = changes(looks, SETTINGS, of=(Suspect(kind, code),))
        assert [one for one in asked if (one.kind, one.code) == (kind, code)] == mine
    assert changes(looks, SETTINGS, of=(Suspect(Part.TANK, "T11"),)) == ()
