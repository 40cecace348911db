"""Rooms the judgement was not tuned to: what is planted there is told, and quiet days stay quiet.

A handful of seasons; `python tests/chance_seasons.py 200` prints what many say (docs/judging.md).
"""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path
from random import Random

import pytest

from chance_seasons import (
    BUDGET,
    FAULTS,
    Outcome,
    false_table,
    found_table,
    judged_name,
    outcome,
    schedule,
    share,
)
from chance_site import plan_text, room
from chance_walk import SAME_DEAD, Stood, season
from chance_water import Fault, Planted
from site_support import SMALL, clock_shows, go_to, opened, walking
from tankwalk.plan.load import read_plan
from tankwalk.practice.judging.flags import Key
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.questions import AskSlip

COUNTS_TWICE_A_DAY = SMALL.replace('tank = ["temp", "do"]', 'tank = ["temp", "do", "morts"]')


@cache
def told(seed: str, fault: Fault) -> Outcome:
    """What became of a season in a room of at most ten tanks."""
    return outcome(seed, fault, 10)


# ---- what is planted is told


@pytest.mark.parametrize(("seed", "fault", "hours"), [
    ("few/1", Fault.METER_STEP, 2),
    ("few/1", Fault.METER_DRIFT, 60),
    ("few/0", Fault.LOOP_OXYGEN, 4),
    ("few/1", Fault.LOOP_TEMP, 2),
    ("few/0", Fault.BICARBONATE, 4),
    ("few/2", Fault.TANK_OXYGEN, 12),
    ("few/0", Fault.SLIP, 0),
    ("few/2", Fault.TWICE, 0),
    ("few/0", Fault.NOT_SIPHONED, 0),
])  # fmt: skip
def test_a_large_fault_is_told_by_its_right_name_and_in_time(
    seed: str, fault: Fault, hours: float
) -> None:
    here = told(seed, fault)
    assert here.found is not None, here.words
    assert here.found <= hours
    assert here.wrong == ""


@pytest.mark.parametrize("fault", [Fault.METER_STEP, Fault.METER_DRIFT])
def test_a_faulty_meter_that_can_be_told_apart_is_named_alone_and_in_few_messages(
    fault: Fault,
) -> None:
    here = told("few/1", fault)
    assert not here.both
    assert here.messages <= 2


def test_a_quiet_season_cries_no_more_than_the_budget_allows() -> None:
    here = told("few/1", Fault.QUIET)
    watched = Counter(cry.day for cry in here.false if cry.flag == Flag.WATCH)
    acted = [cry for cry in here.false if cry.flag >= Flag.ACT]
    assert set(here.days) == {"quiet"}
    assert max(watched.values()) <= BUDGET["WATCH"]
    assert acted == []


# ---- the seasons themselves


def test_the_same_seed_is_the_same_season_to_the_last_word() -> None:
    first, second = (season("few/1", Fault.QUIET, 10) for _ in range(2))
    assert first == second
    assert first.readings > 500


def test_every_room_by_chance_has_a_sound_plan() -> None:
    for seed in range(60):
        here = room(Random(seed))
        plan = read_plan(plan_text(here))
        assert [tank.code for tank in plan.tanks] == list(here.tanks)
        assert all(len(here.of_loop(loop)) >= 3 for loop in here.loops)


def test_a_third_of_the_seasons_is_quiet_and_every_fault_comes_as_often_as_the_others() -> None:
    counts = Counter(fault for _, fault in schedule(195))
    assert counts[Fault.QUIET] == 65
    assert {counts[fault] for fault in FAULTS} == {10}


# ---- what counts as right


METER_B = Planted(
    Fault.METER_DRIFT, 1000, 0, 9, ("T04", "T05", "T06"), "do", "B", 0.3, "middle", ""
)
FALLING = METER_B._replace(fault=Fault.LOOP_OXYGEN, code="L1", tanks=("T01", "T02", "T03", "T04"))


@pytest.mark.parametrize(("bad", "kind", "code", "sentence", "named"), [
    (METER_B, "meter", "B", "suspect oxygen meter B", "right"),
    (METER_B, "meter", "A", "suspect oxygen meter A", "wrong"),
    (METER_B, "loop", "L1", "look at loop L1", "wrong"),
    (METER_B, "loop", "L1", "look at loop L1, or check meter B that read them all", "both"),
    (METER_B, "place", "T04", "Oxygen 9.9 mg/L", ""),
    (FALLING, "loop", "L1", "look at loop L1", "right"),
    (FALLING, "loop", "L1", "look at loop L1, or check meter A that read them all", "both"),
    (FALLING, "loop", "L2", "look at loop L2", "wrong"),
    (FALLING, "meter", "A", "suspect oxygen meter A", "wrong"),
    (None, "meter", "A", "suspect oxygen meter A", ""),
])  # fmt: skip
def test_a_message_is_right_only_where_it_names_what_was_planted(
    bad: Planted | None, kind: str, code: str, sentence: str, named: str
) -> None:
    flag = Stood(2000, Key(kind, code, "do"), Flag.WATCH, kind, sentence, ("T04",), True)
    assert judged_name(bad, flag) == named


def test_what_stood_before_it_went_wrong_is_not_about_it() -> None:
    key = Key("meter", "B", "do")
    early = Stood(999, key, Flag.WATCH, "meter", "suspect oxygen meter B", ("T04",), True)
    assert judged_name(METER_B, early) == ""


def test_a_fraction_is_shown_with_its_interval() -> None:
    assert share(8, 10) == "80% (49% to 94%)"
    assert share(0, 0) == "-"


def test_the_tables_count_what_was_told() -> None:
    here = told("few/1", Fault.METER_STEP)
    assert "| oxygen meter steps | 1 | 1 | 100% (21% to 100%) | 1 | 2 | 0 |" in found_table([here])
    assert "| WATCH | all |" in false_table([here])


# ---- what the seasons found


def test_a_count_that_is_the_same_by_chance_can_be_kept(tmp_path: Path) -> None:
    with opened(tmp_path / "room", COUNTS_TWICE_A_DAY, "2026-05-10T07:00") as site:
        walk = go_to(walking(site), "T01", "morts")
        walk.answer("10")
        clock_shows(site, "2026-05-10T15:00")
        walk = go_to(walking(site, "CD", "pm"), "T01", "morts")
        walk.answer("10")
        asked = walk.question
        assert isinstance(asked, AskSlip)
        assert asked.slip is not None
        assert asked.slip.name == SAME_DEAD
        reply = walk.answer("*")
        assert (reply.flag, walk.question) == (Flag.CHECK, None)
        assert [seen.value for seen in walk.kept["T01", "morts"]] == [10.0]
