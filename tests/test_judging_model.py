"""One model of what tanks read: a tank, a loop and a meter are told from each other."""

from __future__ import annotations

from itertools import pairwise

import pytest

from model_support import LOOK, SETTINGS, WATER, rounds
from tankwalk.plan.judging import JudgingLimits
from tankwalk.practice.judging.model.adding import as_sums
from tankwalk.practice.judging.model.evidence import before, changes, held
from tankwalk.practice.judging.model.levels import (
    Block,
    Noise,
    Read,
    levels,
    noise,
    part_of_day,
)
from tankwalk.practice.judging.model.looks import (
    Change,
    Look,
    Pair,
    Part,
    Settings,
    Suspect,
    step_of,
)
from tankwalk.practice.judging.model.thresholds import MADE, score_for, settings_for
from tankwalk.science.changing import Shape


def told(found: tuple[Change, ...]) -> list[tuple[str, str]]:
    return [(one.kind.value, one.code) for one in found]


def test_quiet_rounds_are_quiet() -> None:
    alarms = [told(changes(rounds(20, seed=seed), SETTINGS)) for seed in range(12)]
    assert sum(bool(one) for one in alarms) <= 1


def test_a_tank_that_drifts_slowly_is_named_while_its_sisters_stay() -> None:
    def sinks(tank: str, _loop: str, _meter: str | None, number: int) -> float:
        return -0.05 * max(0, number - 9) if tank == "T05" else 0.0

    [found] = changes(rounds(20, sinks), SETTINGS)
    assert (found.kind, found.code, found.tanks) == (Part.TANK, "T05", ("T05",))
    assert found.shape is Shape.RAMP
    assert found.size == pytest.approx(-0.5, abs=0.15)
    assert 0.5 < found.a_day / -0.1 < 2  # its onset is not known to the day
    assert found.beside == 5


def test_a_tank_that_sinks_within_a_lasting_reference_does_not_become_usual() -> None:
    """Eight days of it: a usual that follows the last looks would have taken it in."""
    found = changes(rounds(40, lambda t, *_: 0.0), SETTINGS)
    assert told(found) == []
    slow = changes(
        rounds(40, lambda t, _l, _m, n: -0.03 * max(0, n - 23) if t == "T02" else 0.0), SETTINGS
    )
    assert told(slow) == [("tank", "T02")]


def test_a_loop_that_falls_is_the_loop_and_not_its_tanks_or_its_meters() -> None:
    fell = rounds(20, lambda _t, loop, _m, n: -0.6 * (loop == "L2" and n >= 18))
    [found] = changes(fell, SETTINGS)
    assert (found.kind, found.code, len(found.tanks)) == (Part.LOOP, "L2", 6)
    assert found.size == pytest.approx(-0.6, abs=0.15)
    assert found.shape is Shape.STEP
    assert found.rivals == ()


def test_a_meter_that_steps_is_named_by_who_did_not_move() -> None:
    [found] = changes(rounds(20, lambda _t, _l, m, n: 0.4 * (m == "B" and n >= 17)), SETTINGS)
    assert (found.kind, found.code) == (Part.METER, "B")
    assert found.tanks == ("T04", "T05", "T06", "T10", "T11", "T12")
    assert found.size == pytest.approx(0.4, abs=0.12)


def test_of_two_meters_that_read_too_low_the_one_further_off_is_told_first() -> None:
    """Beside them A looks too high: it is weighed against the one that explains more."""
    off = {"B": -0.8, "C": -0.5}
    for seed in range(12):
        looks = rounds(
            20,
            lambda _t, _l, m, n: off.get(m or "", 0.0) * (n >= 17),
            seed=seed, loops="1" * 12, meters="AAAAAABBBCCC",
        )  # fmt: skip
        assert told(changes(looks, SETTINGS))[:2] == [("meter", "B"), ("meter", "C")]


@pytest.mark.parametrize("seed", [1, 5])
def test_of_two_meters_that_left_each_other_by_as_much_either_may_be_it(seed: int) -> None:
    apart = {"A": -0.15, "B": 0.15}
    [found] = changes(
        rounds(20, lambda _t, _l, m, n: apart.get(m or "", 0.0) * (n >= 17), seed=seed), SETTINGS
    )
    assert (found.kind, found.code) == (Part.METER, "A")
    assert found.rivals == (Suspect(Part.METER, "B"),)


@pytest.mark.parametrize("first", [True, False])
def test_a_meter_that_reads_one_tank_a_side_is_enough(first: bool) -> None:
    meters = "BAAAAA" if first else "AAAAAB"
    found = changes(
        rounds(
            20, lambda _t, _l, m, n: 0.5 * (m == "B" and n >= 17), loops="111111", meters=meters
        ),
        SETTINGS,
    )
    assert found
    named = {Suspect(found[0].kind, found[0].code), *found[0].rivals}
    assert {(one.kind, one.code) for one in named} >= {
        (Part.METER, "B"),
        (Part.TANK, "T01" if first else "T06"),
    }


def test_one_meter_a_loop_cannot_be_told_from_the_loop_and_both_are_named() -> None:
    looks = rounds(
        20, lambda _t, loop, _m, n: -0.6 * (loop == "L2" and n >= 17), meters="A" * 6 + "B" * 6
    )
    [found] = changes(looks, SETTINGS)
    named = {(found.kind, found.code), *((one.kind, one.code) for one in found.rivals)}
    assert named == {(Part.LOOP, "L2"), (Part.METER, "B")}


def test_a_drifting_meter_is_not_told_again_of_each_of_its_tanks() -> None:
    found = changes(rounds(24, lambda _t, _l, m, n: 0.06 * max(0, n - 13) * (m == "B")), SETTINGS)
    assert told(found) == [("meter", "B")]


def test_a_meter_that_read_all_for_days_is_not_told_of_when_the_other_comes_back() -> None:
    """Alone it is its water, beside the other it is itself: a course of both is neither."""

    def sinks(_t: str, _l: str, _m: str | None, number: int) -> float:
        return -0.05 * max(0, number - 24)

    mended = {Suspect(Part.METER, "B"): 1_700_000_000 + 43_200 * 30}
    for seed in range(1, 7):
        every = rounds(34, sinks, seed=seed, loops="1" * 12, meters="AAAAAABBBBBB")
        looks = [k._replace(meter="A") if 24 <= k.round < 30 else k for k in every]
        assert ("meter", "A") not in told(changes(looks, SETTINGS, mended))


def test_what_came_at_once_is_told_beside_what_the_loop_does_slowly() -> None:
    def falls(_t: str, loop: str, _m: str | None, number: int) -> float:
        return (loop == "L1") * (-0.08 * max(0, number - 24) - 0.5 * (number == 39))

    found = changes(rounds(40, falls, loops="1" * 12, meters="A" * 12, water=0.04), SETTINGS)
    at_once = [one for one in found if one.looks == 1]
    assert [(one.kind, one.code) for one in at_once] == [(Part.LOOP, "L1")]
    assert at_once[0].size == pytest.approx(-0.5, abs=0.15)


def test_a_slow_loop_is_no_rival_of_a_meter_that_steps() -> None:
    def both(_t: str, _l: str, meter: str | None, number: int) -> float:
        return -0.05 * max(0, number - 24) + 0.6 * (meter == "B" and number == 39)

    found = changes(rounds(40, both, loops="1" * 12, meters="AAAAAABBBBBB", last=10), SETTINGS)
    [meter] = [one for one in found if one.kind is Part.METER]
    assert (meter.code, meter.rivals) == ("B", ())


def test_tanks_that_moved_too_are_not_said_to_have_stayed() -> None:
    def moves(tank: str, _l: str, _m: str | None, number: int) -> float:
        if number < 19:
            return 0.0
        return {"T05": -1.4, "T01": -0.8, "T02": -0.8, "T03": -0.8}.get(tank, 0.0)

    found = changes(rounds(20, moves, loops="1" * 6, meters="AAABBB"), SETTINGS)
    [t05] = [one for one in found if one.code == "T05"]
    assert (t05.beside, t05.stayed) == (5, 2)


def test_a_meter_swapped_for_a_day_raises_nothing() -> None:
    bias = {"A": 0.0, "B": 0.15}
    looks = rounds(20, lambda _t, _l, m, _n: bias[m or "A"])
    swapped = [
        look._replace(meter="B", value=round(look.value + 0.15, 1))
        if look.round in (16, 17) and look.meter == "A"
        else look
        for look in looks
    ]
    assert changes(swapped, SETTINGS) == ()


def test_a_meter_that_counts_anew_does_not_take_in_what_the_water_did_before() -> None:
    """The water sinks, and half of the tanks are read with a meter that was set right meanwhile."""
    looks = rounds(24, lambda _t, _l, m, n: -0.08 * n + 0.3 * (m == "B" and 6 <= n < 12))
    anew = {Suspect(Part.METER, "B"): next(k.at for k in looks if k.round == 12)}
    assert changes(looks, SETTINGS, anew) == ()


def test_a_tank_read_with_another_meter_for_once_has_a_level_from_what_that_meter_adds() -> None:
    """B reads 0.3 more than A. In the newest round T01 has B for the first time, and fell 0.8."""
    looks = [
        look._replace(meter="B", value=look.value + 0.3 + fell)
        if look.round == last and look.tank == "T01"
        else look
        for last, fell in ((19, -0.8),)
        for look in rounds(20, lambda _t, _l, m, _n: 0.3 * (m == "B"))
    ]
    crossed = [
        look._replace(meter="A" if look.meter == "B" else "B",
                      value=look.value + (-0.3 if look.meter == "B" else 0.3))
        if look.round in (5, 11) and look.tank != "T01"
        else look
        for look in looks
    ]  # fmt: skip
    known = levels([look for look in crossed if look.round < 19], SETTINGS)
    assert known.level["T01", "B", False] - known.level["T01", "A", False] == pytest.approx(
        0.3, abs=0.1
    )
    [found] = changes(crossed, SETTINGS)
    assert (found.kind, found.code) == (Part.TANK, "T01")
    assert found.size == pytest.approx(-0.8, abs=0.3)


def test_a_meter_that_no_other_was_held_against_adds_nothing_that_is_known() -> None:
    known = levels(rounds(20), SETTINGS)
    assert ("T01", "A", False) in known.level
    assert ("T01", "B", False) not in known.level


def rounded_off(looks: list[Look], numbers: set[int], step: float) -> list[Look]:
    return [
        look._replace(value=round(look.value / step) * step) if look.round in numbers else look
        for look in looks
    ]


def test_one_who_rounds_off_is_told_by_a_round_and_raises_nothing() -> None:
    by_half = {5, 6, 12, 17, 18, 19}
    for seed in range(8):
        looks = rounded_off(rounds(20, seed=seed), by_half, 0.5)
        known = levels(looks, SETTINGS)
        assert {block.round for block in known.blocks if block.rough} == by_half
        assert {block.rough for block in known.blocks if block.rough} == {0.25 / 4}
        assert known.noise.look == pytest.approx(LOOK**2, rel=0.5)
        assert changes(looks, SETTINGS) == ()


def test_what_was_taken_out_of_a_look_does_not_hide_that_it_was_rounded_off() -> None:
    looks = [
        look._replace(value=look.value - 0.13, typed=look.value)
        for look in rounded_off(rounds(12), {10}, 0.5)
    ]
    assert {block.round for block in levels(looks, SETTINGS).blocks if block.rough} == {10}


def test_a_loop_with_few_rounds_that_goes_far_is_told_at_once() -> None:
    """Five mornings that hardly differ, then half of a unit: far more than water ever did here."""
    fell = rounds(
        6, lambda _t, _l, _m, n: 0.5 * (n == 5), loops="111111", meters="A" * 6, water=0.02
    )
    morning = [look._replace(part="am", at=look.at + 43_200 * look.round) for look in fell]
    [found] = changes(morning, SETTINGS._replace(water=0.05))
    assert (found.kind, found.shape) == (Part.LOOP, Shape.STEP)
    assert Suspect(Part.METER, "A") in found.rivals


def test_noise_known_from_few_looks_makes_a_score_less_sure() -> None:
    """The same looks, known from a hundred differences and from five: t with 5 is no z."""
    looks = rounds(20, lambda _t, loop, _m, n: 0.4 * (loop == "L2" and n >= 18))
    known = levels(looks, SETTINGS)
    loop = Suspect(Part.LOOP, "L2")
    scores = []
    for rounds_known in (1e6, 5.0):
        noise = known.noise._replace(rounds=rounds_known)
        found = held(known._replace(noise=noise), loop, SETTINGS)
        assert found is not None
        scores.append(found.onset.score)
    assert 0.4 < scores[1] / scores[0] < 0.9


def test_one_wild_value_of_the_days_before_decides_nothing() -> None:
    looks = rounds(20)
    wild = [k._replace(value=k.value - 3) if (k.tank, k.round) == ("T04", 15) else k for k in looks]
    assert changes(wild, SETTINGS) == ()


def test_a_tank_that_was_skipped_changes_nothing_for_its_sisters() -> None:
    looks = [k for k in rounds(20) if (k.tank, k.round) not in (("T03", 18), ("T03", 19))]
    assert changes(looks, SETTINGS) == ()


def test_the_part_of_the_day_is_no_change() -> None:
    swing = rounds(21, lambda _t, _l, _m, n: -0.4 * (n % 2))
    assert changes(swing, SETTINGS) == ()
    assert changes(swing[:-12], SETTINGS) == ()


def test_fish_that_grow_are_no_change_of_their_loop() -> None:
    assert changes(rounds(24, lambda _t, _l, _m, n: -0.01 * n), SETTINGS) == ()


def test_a_value_read_so_far_in_a_round_counts_without_those_not_read_yet() -> None:
    fell = rounds(20, lambda t, _l, _m, n: -0.8 * (t == "T03" and n == 19), last=3)
    assert told(changes(fell, SETTINGS)) == [("tank", "T03")]


def test_a_tank_alone_in_its_water_is_held_against_its_own_past() -> None:
    alone = rounds(20, lambda _t, _l, _m, n: -0.5 * (n >= 17), loops="1", meters="A")
    found = changes(alone, SETTINGS)
    assert found
    assert {(found[0].kind, found[0].code), *((r.kind, r.code) for r in found[0].rivals)} >= {
        (Part.TANK, "T01")
    }


# ---- noise


def test_noise_and_what_a_loop_shares_are_told_from_the_looks_themselves() -> None:
    looks, waters = [], []
    for seed in range(8):
        known = levels(rounds(30, seed=seed), SETTINGS).noise
        looks.append(known.look**0.5)
        waters.append(known.loop**0.5)
    rounded = (LOOK**2 + 0.1**2 / 12) ** 0.5
    assert sum(looks) / 8 == pytest.approx(rounded, rel=0.12)
    # Water that is new each round is taken for water that goes on: twice its variance.
    assert sum(waters) / 8 == pytest.approx(WATER * 2**0.5, rel=0.25)


def test_of_one_difference_nothing_is_left_out() -> None:
    """A tank alone, read twice: half the square of how far it moved is all that is known."""
    blocks = [
        Block("L1", nth, (Read("T01", "A", 43_200 * nth, "am", off),), (off,))
        for nth, off in enumerate((0.0, 0.4))
    ]
    assert noise(blocks, 0.0).look == pytest.approx(0.4**2 / 2)


def test_what_a_meter_adds_anywhere_counts_as_eight_looks_beside_those_with_it_here() -> None:
    """B adds 0.2 in the middle of both tanks; beside T1 it read 0.4 more than A, beside T2 none."""
    read = {("T1", "A"): 0.0, ("T1", "B"): 0.4, ("T2", "A"): 0.0, ("T2", "B"): 0.0}
    level: dict[Pair, float] = {(*pair, False): value for pair, value in read.items()}
    found = as_sums(level, dict.fromkeys(level, 8))
    assert found["T1", "B", False] == pytest.approx((0.4 + 0.3) / 2, abs=1e-4)
    assert found["T2", "B", False] == pytest.approx((0.0 + 0.1) / 2, abs=1e-4)


def test_what_is_read_in_steps_is_never_finer_than_its_step() -> None:
    still = rounds(20, look=0.0, water=0.0)
    assert levels(still, SETTINGS).noise.look >= 0.1**2 / 12
    assert changes(still, SETTINGS) == ()


def test_a_swing_of_the_day_is_told_from_neighbors_and_not_from_a_few_looks() -> None:
    parts = ["am", "pm"] * 5
    values = [8.6, 8.3] * 5
    assert part_of_day(parts, values) == {"am": 0.0, "pm": pytest.approx(-0.3)}
    assert part_of_day(parts[:4], values[:4]) == {}
    assert part_of_day(["am"] * 10, values) == {}


@pytest.mark.parametrize(("look", "water"), [(0.01, 0.04), (0.04, 0.01), (0.02, 0.001)])
@pytest.mark.parametrize("code", ["T02", "B"])
def test_what_is_held_against_its_sisters_is_what_is_left_of_normal_values(
    code: str, look: float, water: float
) -> None:
    """V = look I + water 11' written out: the mean of these, given the others of their round.

    Of one or two others the middle is the mean, so that both are the same. Tolerance set before.
    """
    import numpy as np

    few = [k for k in rounds(20, seed=5) if k.tank in ("T01", "T02", "T04")]
    known = levels(few, SETTINGS)._replace(noise=Noise(look, water, water))
    part = Suspect(Part.TANK if code == "T02" else Part.METER, code)
    points = before(known, part, SETTINGS._replace(reach=100)).points
    assert len(points) == 20
    for point, block in zip(points, known.blocks, strict=True):
        off = np.array([read.off for read in block.reads])
        mine = np.array([code in (read.tank, read.meter) for read in block.reads])
        cov = look * np.eye(3) + water * np.ones((3, 3))
        weights = mine / mine.sum()
        of_others = np.linalg.solve(cov[np.ix_(~mine, ~mine)], cov[~mine] @ weights)
        left = weights @ cov @ weights - of_others @ (cov[~mine] @ weights)
        assert point.off == pytest.approx(weights @ off - of_others @ off[~mine], abs=1e-12)
        assert point.variance == pytest.approx(left, rel=1e-9)


def test_a_meter_that_reads_two_loops_in_a_round_is_as_sure_as_of_both_together() -> None:
    """Weights of independent values add up: 1 / variance."""
    looks, meter = rounds(20), Suspect(Part.METER, "B")

    def sure(*loops: str) -> list[float]:
        known = levels([k for k in looks if k.loop in loops], SETTINGS)
        same = known._replace(noise=Noise(0.01, 0.004, 0.004))
        return [1 / point.variance for point in before(same, meter, SETTINGS).points]

    both = [one + other for one, other in zip(sure("L1"), sure("L2"), strict=True)]
    assert sure("L1", "L2") == pytest.approx(both, rel=1e-9)


@pytest.mark.parametrize(("tanks", "told_as"), [(3, [("loop", "L1")]), (2, [])])
def test_three_tanks_of_an_only_loop_tell_that_it_fell_and_two_do_not(
    tanks: int, told_as: list[tuple[str, str]]
) -> None:
    fell = rounds(
        24, lambda _t, _l, _m, n: -0.9 * (n >= 21), loops="1" * tanks, meters="ABC"[:tanks]
    )
    assert [one for one in told(changes(fell, SETTINGS)) if one[0] == "loop"] == told_as


def test_one_meter_for_all_water_is_not_named_where_one_loop_alone_fell() -> None:
    fell = rounds(20, lambda _t, loop, _m, n: -0.6 * (loop == "L2" and n >= 17), meters="A" * 12)
    [found] = changes(fell, SETTINGS)
    assert (found.kind, found.code, found.rivals) == (Part.LOOP, "L2", ())


@pytest.mark.parametrize("other", ["A", "B"])
def test_where_one_meter_read_all_that_moved_the_water_is_named_beside_it(other: str) -> None:
    """A dose into all loops and a meter that reads high look alike, until B reads T12 as ever."""
    rose = rounds(20, lambda _t, _l, m, n: 0.9 * (n >= 18 and m == "A"), meters="A" * 11 + other)
    found = next(one for one in changes(rose, SETTINGS) if one.kind is Part.METER)
    loops = {one.code for one in found.rivals if one.kind is Part.LOOP}
    assert loops == ({"L1", "L2"} if other == "A" else set())


@pytest.mark.parametrize(("again", "rivals"), [
    (None, (Suspect(Part.METER, "B"),)), (18, ()), (19, ()),
])  # fmt: skip
def test_a_meter_that_read_no_other_tank_since_one_moved_may_be_it(
    again: int | None, rivals: tuple[Suspect, ...]
) -> None:
    """B was seldom used; it reads T01 as it falls, and T02 again in that round, or the next."""
    seldom = {(tank, n) for tank in ("T01", "T02") for n in (4, 8, 12)}
    by_b = seldom | {("T01", 18), ("T01", 19)} | ({("T02", again)} if again else set())
    fell = rounds(
        20, lambda t, _l, _m, n: -0.9 * (t == "T01" and n >= 18), loops="1" * 6, meters="A" * 6
    )
    looks = [k._replace(meter="B") if (k.tank, k.round) in by_b else k for k in fell]
    [found] = changes(looks, SETTINGS)
    assert (found.kind, found.code, found.rivals) == (Part.TANK, "T01", rivals)


# ---- what the model takes as given


@pytest.mark.parametrize(("values", "step"), [
    ([16.1, 16.4, 16.7, 16.3], 0.1),
    ([16.2, 16.4, 16.8, 17.6], 0.2),
    ([16.5, 17.0, 15.5, 18.0], 0.5),
    ([16.0, 17.0, 15.0, 18.0], 1.0),
    ([16.5] * 9 + [16.1], 0.5),  # one of ten was read more finely
    ([16.5] * 8 + [16.1] * 2, 0.1),
    ([], 0.1),
])  # fmt: skip
def test_the_step_is_what_nine_of_ten_looks_were_rounded_to(
    values: list[float], step: float
) -> None:
    assert step_of(values, 0.1) == pytest.approx(step)


@pytest.mark.parametrize(("score", "false_a_day"), MADE)
def test_a_score_is_what_chance_reached_so_often_in_the_quiet_seasons(
    score: float, false_a_day: float
) -> None:
    assert score_for(false_a_day) == pytest.approx(score)


def test_the_fewer_false_changes_are_wanted_the_higher_a_score_has_to_be() -> None:
    scores = [score_for(0.5 * 0.9**times) for times in range(50)]
    assert all(before < after for before, after in pairwise(scores))


def test_without_a_plan_the_model_takes_what_a_plan_says_that_says_nothing() -> None:
    by_plan = settings_for(JudgingLimits(), 0.1)
    assert Settings(step=0.1, score=by_plan.score) == by_plan
