"""The bench of judging: the ideal names what was planted, both makers of seasons are sound."""

from __future__ import annotations

from random import Random

import pytest
from detect_ideal import AtRound, Scored, counts, readings
from detect_learner import readings as learned
from detect_series import Series, of_walk, series
from detecting import alarms, can_be_told, ideal, named, outcome

import chance_hall_water
from chance_faults import Dead, Fault, Look, Truth
from chance_walk import season
from tankwalk.plan.load import read_plan

LIMIT = 6.0
"""Log likelihood ratio at which chance cries about once in five days of twelve tanks."""
ROUNDS = 12


def looks(off: dict[tuple[str, int], float], meters: str = "AABB") -> list[Look]:
    """Four tanks of one loop read for some rounds, 0 everywhere but for what is said."""
    found = []
    for number in range(ROUNDS):
        for nth, meter in enumerate(meters):
            tank = f"T{nth + 1:02d}"
            value = off.get((tank, number), off.get((meter, number), off.get(("L1", number), 0.0)))
            truth = Truth(0.0, 0.1, 0.1, 0.5)
            found.append(Look(tank, "L1", meter, number, "am", 43200 * number, value, truth))
    return found


def best(off: dict[tuple[str, int], float], meters: str = "AABB") -> Scored:
    return readings("do", looks(off, meters))[-1].found[0]


def since(code: str, first: int, off: float) -> dict[tuple[str, int], float]:
    return {(code, number): off for number in range(first, ROUNDS)}


def test_water_in_which_nothing_moved_says_nothing() -> None:
    assert best({}).score == 0.0


@pytest.mark.parametrize(("code", "kind"), [("T03", "place"), ("B", "meter"), ("L1", "loop")])
def test_what_moved_is_named_and_not_its_neighbors(code: str, kind: str) -> None:
    found = best(since(code, 9, 0.4))
    assert (found.kind, found.code) == (kind, code)
    assert found.score > LIMIT


@pytest.mark.parametrize(("code", "kind"), [("T03", "place"), ("B", "meter"), ("L1", "loop")])
def test_what_must_learn_its_levels_names_the_same_and_no_level_moves_it(
    code: str, kind: str
) -> None:
    """It is not told any level: what a tank always reads, or a meter adds, changes no score."""
    here = looks(since(code, 9, 0.5), "AABB")
    swapped = [
        k._replace(meter="B" if k.meter == "A" else "A") if k.round == 4 else k for k in here
    ]
    always = {"T01": 0.3, "T02": -0.2, "A": 0.15}
    moved = [
        k._replace(value=k.value + always.get(k.tank, 0.0) + always.get(k.meter or "", 0.0))
        for k in swapped
    ]
    plain, other = (learned("do", every)[-1].found for every in (swapped, moved))
    assert (plain[0].kind, plain[0].code) == (kind, code)
    assert plain[0].score > LIMIT
    assert [one.score for one in other] == pytest.approx([one.score for one in plain], rel=0.02)
    knows = readings("do", swapped)[-1].found[0]
    assert plain[0].score < knows.score


def test_what_all_tanks_do_for_a_round_is_the_water_and_no_tanks() -> None:
    every = readings("do", looks({("L1", 6): 0.25}))
    assert list(alarms(every, LIMIT)) == []


def test_one_meter_for_all_cannot_be_told_from_the_loop() -> None:
    found = best(since("L1", 9, 0.5), "AAAA")
    other = next(
        one for one in readings("do", looks(since("L1", 9, 0.5), "AAAA"))[-1].found
        if one.kind in ("loop", "meter") and one.kind != found.kind
    )  # fmt: skip
    assert found.score == pytest.approx(other.score)


def test_twice_the_dead_for_some_days_are_found_and_one_bad_day_is_weaker() -> None:
    def dead(*fish: int) -> float:
        every = [
            Dead("T01", "L1", "", n, "am", 86400 * n, n, 10, one, 10.0, 2.0)
            for n, one in enumerate(fish)
        ]
        return counts(every)[-1].found[0].score

    assert dead(10, 9, 11, 10) < 1
    assert dead(10, 20, 21, 19, 20) > LIMIT > dead(10, 9, 10, 10, 20)


def test_an_alarm_that_goes_on_is_new_once() -> None:
    one = Scored("place", "T01", "do", frozenset({"T01"}), 9.0)
    every = [AtRound(n, n, (one,)) for n in range(3)]
    assert [alarm.new for alarm in alarms(every, LIMIT)] == [True, False, False]


# ---- the makers


def test_every_hall_has_a_sound_plan() -> None:
    for seed in range(60):
        here = chance_hall_water.water(Random(seed), Fault.QUIET).room
        plan = read_plan(here.plan())
        assert [tank.code for tank in plan.tanks] == list(here.tanks)
        assert len({tank.treatment for tank in plan.tanks}) > 1


def test_the_same_hall_is_the_same_to_the_last_look() -> None:
    first, second = (series("7", Fault.QUIET, 9, chance_hall_water.water) for _ in range(2))
    assert first == second


@pytest.fixture(scope="module")
def drifting() -> Series:
    return series("3", Fault.METER_DRIFT, 12)


def test_a_drifting_meter_in_a_room_is_named_after_it_went_wrong(drifting: Series) -> None:
    told = outcome(drifting, ideal(drifting), LIMIT)
    bad = drifting.planted
    assert bad is not None
    assert can_be_told(drifting)
    assert told.hours is not None
    assert named(bad, "meter", bad.code, apart=True)
    assert not named(bad, "loop", drifting.room.loops[0], apart=True)


def test_a_walk_keeps_for_the_ideal_what_its_meters_showed() -> None:
    told = season("hall/1", Fault.QUIET, 8, chance_hall_water.water)
    kept = of_walk("hall/1", Fault.QUIET, told)
    assert {one.round for one in kept.looks["do"]} == set(range(len(told.room.stops)))
    off = [(one.value - one.truth.mean) / one.truth.sd for one in kept.looks["flow"]]
    assert abs(sum(off) / len(off)) < 0.5
    assert 0.7 < (sum(one * one for one in off) / len(off)) ** 0.5 < 1.3
