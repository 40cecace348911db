"""Rooms the judgement was not tuned to: what is planted there is told, and quiet days stay quiet.

Every kind of fault, in the same consecutive seeds, held to a bound that was set before anybody saw
what they say: from the lower end of the interval that 251 rooms gave (docs/judging.md,
`python tests/bench/detect_walked.py 400 --most 12`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cache
from itertools import accumulate
from pathlib import Path
from random import Random

import pytest

from chance_faults import Fault, Planted
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
from shared_support import kept
from site_support import SMALL, clock_shows, go_to, opened, walking
from tankwalk.plan.load import read_plan
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.questions import AskSlip
from tankwalk.science.survival import wilson_limits

COUNTS_TWICE_A_DAY = SMALL.replace('tank = ["temp", "do"]', 'tank = ["temp", "do", "morts"]')


SEEDS = tuple(f"chance/{n}" for n in (1, 2, 3))
"""Consecutive, and the same for every fault: nobody picked them."""
TANKS = 8
"""In so small a room a season takes a second or two."""

LOWEST = {
    Fault.METER_DRIFT: 0.67,
    Fault.METER_STEP: 0.67,
    Fault.LOOP_OXYGEN: 0.77,
    Fault.LOOP_TEMP: 0.77,
    Fault.BICARBONATE: 0.67,
    Fault.TANK_OXYGEN: 0.77,
    Fault.TANK_DRIFT: 0.77,
    Fault.COPIED: 0.42,
    Fault.SLIP: 0.67,
    Fault.MORT_JUMP: 0.50,
    Fault.MORT_RISE: 0.50,
    Fault.TWICE: 0.29,
    Fault.NOT_SIPHONED: 0.31,
}
"""The lower end of the 95 % interval of each fault's sensitivity, from docs/judging.md."""
WITHIN_BUDGET = 0.90
"""The same of quiet days within the budget."""
WRONG_FIRST = wilson_limits(4, 134, 0.95)[1]
"""The upper end for seasons in which another cause was named first: 4 of 134 there."""
BY_CHANCE = 0.10
"""A judgement at that end of its interval falls below a bound this often at most."""


def least(rates: Sequence[float]) -> int:
    """How many of independent tries succeed at the least, but for `BY_CHANCE`."""
    chances = [1.0]
    for rate in rates:
        chances = [
            stays * (1 - rate) + comes * rate
            for stays, comes in zip([*chances, 0.0], [0.0, *chances], strict=True)
        ]
    below = list(accumulate(chances))
    return sum(one <= BY_CHANCE for one in below)


SURE = tuple(fault for fault in FAULTS if least([LOWEST[fault]] * len(SEEDS)) > 0)
"""Faults that so few seasons can say something of one by one; the others only together."""


@cache
def told(seed: str, fault: Fault) -> Outcome:
    """What became of a season in a small room, walked by one process of the run for all."""
    name = f"season {seed.replace('/', ' ')} {fault.name}"
    return kept(name, lambda _: outcome(seed, fault, TANKS))


def found(*faults: Fault) -> int:
    """In how many seasons they were named with their right name."""
    return sum(told(seed, fault).found is not None for fault in faults for seed in SEEDS)


def bound(*faults: Fault) -> int:
    return least([LOWEST[fault] for fault in faults for _ in SEEDS])


# ---- what is planted is told


@pytest.mark.parametrize("fault", SURE)
def test_a_plain_fault_is_named_as_often_as_many_seasons_say_at_the_least(fault: Fault) -> None:
    assert found(fault) >= bound(fault), [told(seed, fault).words for seed in SEEDS]


@pytest.mark.long
def test_faults_that_are_hard_to_tell_are_named_as_often_together() -> None:
    hard = [fault for fault in FAULTS if fault not in SURE]
    assert found(*hard) >= bound(*hard), {fault: found(fault) for fault in hard}


def test_all_faults_together_are_named_as_often() -> None:
    assert found(*FAULTS) >= bound(*FAULTS), {fault: found(fault) for fault in FAULTS}


def test_another_cause_is_seldom_named_before_the_right_one() -> None:
    every = [told(seed, fault) for fault in FAULTS for seed in SEEDS]
    right = sum(not one.wrong_first for one in every)
    assert right >= least([1 - WRONG_FIRST] * len(every)), [o.wrong for o in every if o.wrong]


def test_most_quiet_days_keep_to_the_budget() -> None:
    days = within = 0
    for seed in SEEDS:
        here = told(seed, Fault.QUIET)
        assert set(here.days) == {"quiet"}
        for day in range(len(here.days)):
            cries = [cry.flag for cry in here.false if cry.day == day]
            watched = sum(flag == Flag.WATCH for flag in cries)
            days += 1
            within += watched <= BUDGET["WATCH"] and max(cries, default=0) < Flag.ACT
    assert within >= least([WITHIN_BUDGET] * days)


# ---- the seasons themselves


def test_the_same_seed_is_the_same_season_to_the_last_word() -> None:
    first, second = (season(SEEDS[0], Fault.QUIET, TANKS) for _ in range(2))
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
    (METER_B, "meter", "B", "suspect oxygen meter B or A, last checked 2 h ago", "both"),
    (METER_B, "meter", "A", "suspect oxygen meter A or B", "both"),
    (METER_B, "meter", "B", "look at loop L1, or check meter B that read them all", "both"),
    (METER_B, "loop", "L1", "look at loop L1", "wrong"),
    (METER_B, "loop", "L1", "look at loop L1, or check meter B that read them all", "both"),
    (METER_B, "place", "T04", "Oxygen 9.9 mg/L", ""),
    (FALLING, "loop", "L1", "look at loop L1", "right"),
    (FALLING, "loop", "L1", "look at loop L1, or check meter A that read them all", "both"),
    (FALLING, "loop", "L2", "look at loop L2", "wrong"),
    (FALLING, "meter", "A", "suspect oxygen meter A", "wrong"),
    (FALLING, "meter", "A", "look at loop L1 and L2, or check meter A that read them all", "both"),
    (FALLING, "meter", "A", "look at loop L2, or check meter A that read them all", "wrong"),
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
    here = [told(seed, Fault.LOOP_OXYGEN) for seed in SEEDS]
    named = share(found(Fault.LOOP_OXYGEN), len(SEEDS))
    assert f"| oxygen falls in a loop | 3 | {found(Fault.LOOP_OXYGEN)} | {named} |" in (
        found_table(here)
    )
    assert "| WATCH | all |" in false_table(here)


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
        reply = walk.answer("1")
        assert (reply.flag, walk.question) == (Flag.CHECK, None)
        assert [seen.value for seen in walk.kept["T01", "morts"]] == [10.0]
