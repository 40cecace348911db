"""Is a count of the dead a signal: each rule by its sentence and at its edge, and any counts."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from math import exp

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mortality_support import AFTERNOON, NOW, beside, days_before, known, mornings
from tankwalk.clock import Instant
from tankwalk.plan.judging import COUNTED_PART, JudgingLimits
from tankwalk.practice.judging.dead.counts import (
    Counted,
    DeadKnown,
    Tally,
    die_off,
    laid_out,
)
from tankwalk.practice.judging.dead.model import FORECAST
from tankwalk.practice.judging.dead.mortality import ACT_PART, LOOK, Signal, fitted, judge
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag
from tankwalk.science import negative_binomial as nb

TAIL = JudgingLimits().tail


def said(value: int, here: DeadKnown) -> tuple[Rule, Flag, str]:
    """Rule, flag and sentence of what has to be a signal."""
    found = judge(value, here)
    assert found is not None
    return found.rule, found.flag, found.sentence


def edge(here: DeadKnown, flag: Flag, most: int = 400) -> int:
    """The first count that is flagged so, or worse."""
    return next(
        fish for fish in range(most) if (one := judge(fish, here)) is not None and one.flag >= flag
    )


def in_days(own: tuple[int, ...], *sisters: tuple[int, ...]) -> DeadKnown:
    """Mornings of a tank and, beside each, those of its sisters, today's the last of theirs."""
    return known(
        *own,
        sisters=(),
    )._replace(
        sisters=tuple(
            Tally(f"S{nth}", "", (*mornings(*counts[:-1]), Counted(NOW, "am", counts[-1], "JQ")))
            for nth, counts in enumerate(sisters)
        )
    )


# ---- (a) a jump


def test_seven_times_its_usual_is_acted_on() -> None:
    assert judge(64, known(9, 9, 10, 9, sisters=(8, 10, 8))) == Signal(
        Rule.JUMP,
        Flag.ACT,
        "64 dead, 7 times its usual 9 a round; other tanks 8 to 10.",
        "Count again. Look at the fish, then oxygen, flow and screen; keep some of the dead and "
        "tell the lead.",
    )


def test_a_jump_is_watched_where_chance_brings_it_seven_times_in_ten_thousand() -> None:
    here = known(9, 9, 10, 9, sisters=(8, 10, 8, 9))
    watched, acted = edge(here, Flag.WATCH), edge(here, Flag.ACT)

    def chance(fish: int) -> float:
        return fitted(fish, here, JudgingLimits()).windows[0].chance

    assert chance(watched) < TAIL <= chance(watched - 1)
    assert chance(acted) < ACT_PART * TAIL <= chance(acted - 1)
    assert said(watched, here)[0] is Rule.JUMP


def test_where_a_plan_watches_what_chance_brings_once_in_twenty_its_edge_is_there_too() -> None:
    here, often = known(9, 9, 10, 9, sisters=(8, 10, 8, 9)), JudgingLimits(tail=0.05)
    watched = next(fish for fish in range(10, 40) if judge(fish, here, often) is not None)
    mean, variance = fitted(watched, here, often).windows[0].expected
    assert watched < mean + 3 * variance**0.5
    assert nb.at_least(watched, mean, variance) < 0.05


def test_the_plan_says_how_rare_a_jump_is_and_how_many_times_its_usual() -> None:
    here = known(60, 60, 60, 60, 60, sisters=(60, 61, 59, 60, 62))
    wide = JudgingLimits(tail=0.00001)
    some = edge(here, Flag.WATCH)
    assert judge(some, here, wide) is None
    more = edge(here, Flag.WATCH)
    assert judge(more, here, JudgingLimits(ratio=4.0)) is None, "less than twice its usual"


def test_fewer_than_five_dead_are_no_signal_and_fewer_than_ten_are_not_acted_on() -> None:
    here = known(0, 0, 0, 0, sisters=(0, 0, 0, 0))
    often = JudgingLimits(tail=0.05)
    told = [judge(fish, here, often) for fish in range(12)]
    flags = [None if one is None else one.flag for one in told]
    assert flags == [None] * 5 + [Flag.WATCH] * 5 + [Flag.ACT] * 2
    assert told[6] is not None
    assert told[6].sentence == "6 dead, its usual is 0 a round; other tanks 0."


def test_what_sisters_have_as_well_is_the_day_and_not_the_tank() -> None:
    assert judge(30, known(9, 9, 10, 9, sisters=(24, 25, 26, 27))) is None
    assert said(30, known(9, 9, 10, 9, sisters=(8, 9, 9, 10)))[:2] == (Rule.JUMP, Flag.ACT)


def test_a_tank_that_always_has_more_than_its_sisters_is_usual_at_that() -> None:
    always = in_days((18, 20, 22, 19, 21, 20), *[(10, 11, 9, 10, 10, 11, 10)] * 4)
    as_others = in_days((10, 11, 9, 10, 10, 11), *[(10, 11, 9, 10, 10, 11, 10)] * 4)
    assert edge(always, Flag.WATCH) > 1.3 * edge(as_others, Flag.WATCH)
    assert judge(22, always) is None


def test_sisters_of_another_treatment_say_less_than_those_of_its_own() -> None:
    """All its own treatment has more today; the others go on as before."""
    mates = beside((20, 20, 20), 10, 10, 10, 10)
    others = tuple(
        one._replace(code=f"O{n}", arm="M14")
        for n, one in enumerate(beside((10, 10, 10), 10, 10, 10, 10))
    )
    own = known(10, 10, 10, 10)._replace(arm="", sisters=(*mates, *others))
    crossed = own._replace(arm="M14")
    assert edge(own, Flag.WATCH) > edge(crossed, Flag.WATCH)


def test_one_wild_sister_hides_nothing() -> None:
    calm = known(9, 9, 10, 9, sisters=(8, 10, 8, 9))
    wild = known(9, 9, 10, 9, sisters=(8, 10, 8, 400))
    assert edge(wild, Flag.WATCH) <= edge(calm, Flag.WATCH) + 8


def test_a_tank_with_one_day_of_its_own_is_the_odd_one_out_and_with_two_it_has_a_usual() -> None:
    beside_it = (8, 10, 8, 9)
    assert said(40, known(9, sisters=beside_it))[::2] == (
        Rule.ODD,
        "40 dead; 4 other tanks 8 to 10: the odd one out.",
    )
    assert said(40, known(9, 9, sisters=beside_it))[0] is Rule.JUMP


def test_two_days_are_a_usual_and_one_is_not() -> None:
    assert judge(60, known(9)) is None
    assert said(60, known(9, 9))[1:] == (
        Flag.ACT,
        "60 dead, 7 times its usual 9 a round; too few other tanks counted.",
    )


def test_one_bad_day_does_not_hide_the_next_and_is_no_rise_for_the_days_after() -> None:
    assert said(60, known(9, 10, 9, 9, 64, 14, 11))[:2] == (Rule.JUMP, Flag.ACT)
    assert judge(14, known(9, 10, 9, 9, 64)) is None
    assert judge(11, known(9, 10, 9, 9, 64, 14)) is None


def test_a_jump_that_was_told_is_no_part_of_a_rise_after_it() -> None:
    """The same days with 20 in place of 64, which were too few to be told, are a rise by now."""
    sisters = [(10, 9, 10, 11, 10, 9, 10, 10, 10)] * 5
    assert judge(18, in_days((10, 9, 10, 11, 10, 9, 10, 64), *sisters)) is None
    assert said(18, in_days((10, 9, 10, 11, 10, 9, 10, 20), *sisters))[0] is Rule.RISE


def test_what_a_tank_of_many_dead_was_told_of_yesterday_is_no_rise_today() -> None:
    """Four times its sisters: how unsure theirs are counts at its own level, and no more."""
    before, sisters = (40, 40, 26, 26), ((11, 12, 6, 8, 10, 12), (12, 8, 7, 9, 15, 12))
    yesterday = in_days(before, *(counts[:-1] for counts in sisters))
    assert said(52, yesterday)[0] is Rule.JUMP
    assert judge(52, in_days((*before, 52), *sisters)) is None


def test_a_look_is_told_by_itself_at_the_very_chance_of_a_jump_and_ends_what_adds_up() -> None:
    calm = (10, 9, 10, 11, 10, 9, 10)
    sisters = [(*calm, 10)] * 5
    first = next(fish for fish in range(11, 60) if judge(fish, in_days(calm, *sisters)) is not None)

    def windows(fish: int) -> int:
        later = [(*calm, 10, 10, 10)] * 5
        return len(fitted(10, in_days((*calm, fish, 10), *later), JudgingLimits()).windows)

    # A fish or two beside the edge, for the clumps of all days are estimated from one day more.
    assert windows(first + 2) == 2
    assert windows(first - 2) > 2


def test_a_tank_whose_counts_jump_about_has_to_jump_further() -> None:
    assert judge(36, known(2, 24, 4, 30, 3, 22, 5, 11, 12)) is None
    assert judge(36, known(11, 12, 11, 13, 10, 12, 11, 11, 12)) is not None


def test_counts_that_clump_at_this_site_leave_more_room() -> None:
    """The middle is the same; what the sisters' counts are apart from it is not."""
    calm = in_days((10,) * 6, *[(10,) * 7] * 5)
    wild = in_days((10,) * 6, *[(3, 22, 6, 14, 2, 16, 10), (20, 2, 15, 5, 19, 4, 9)] * 3)
    assert edge(wild, Flag.WATCH) > edge(calm, Flag.WATCH) + 2


# ---- the odd one out, of a tank with no days of its own


def test_a_new_tank_far_above_its_sisters_is_the_odd_one_out() -> None:
    assert said(40, known(sisters=(6, 9, 9, 12))) == (
        Rule.ODD,
        Flag.ACT,
        "40 dead; 4 other tanks 6 to 12: the odd one out.",
    )
    assert judge(20, known(sisters=(6, 9, 9, 12))) is None
    assert judge(60, known(sisters=(9,))) is None, "one sister is too few"


# ---- parts of the day, what was left out


def _two_a_day(morning: int, afternoon: int) -> tuple[Counted, ...]:
    return tuple(
        counted
        for days in (3, 2, 1)
        for counted in (
            Counted(days_before(NOW, days), "am", morning, "JQ"),
            Counted(days_before(AFTERNOON, days), "pm", afternoon, "RO"),
        )
    )


def test_parts_of_the_day_are_kept_apart() -> None:
    own = _two_a_day(40, 3)
    here = DeadKnown(AFTERNOON, "pm", (*own, Counted(NOW, "am", 41, "PB")))
    assert said(18, here)[2] == (
        "18 dead, 6 times its usual 3 a round; too few other tanks counted."
    )
    assert judge(22, DeadKnown(NOW, "am", own)) is None


def test_an_afternoon_after_a_morning_left_out_stands_against_both() -> None:
    own = _two_a_day(14, 2)
    assert judge(24, DeadKnown(AFTERNOON, "pm", own)) is None
    assert judge(16, DeadKnown(AFTERNOON, "pm", (*own, Counted(NOW, "am", 13, "JQ")))) is not None


def test_where_no_tank_was_counted_in_the_morning_the_afternoon_is_expected_to_have_both() -> None:
    own = _two_a_day(14, 2)
    sisters = tuple(Tally(f"S{n}", "", own) for n in range(4))
    both, afternoon = (
        fitted(fish, DeadKnown(AFTERNOON, "pm", of, sisters=others), JudgingLimits()).windows[0]
        for fish, of, others in (
            (16, own, sisters),
            (
                2,
                (*own, Counted(NOW, "am", 14, "JQ")),
                tuple(one._replace(counts=(*own, Counted(NOW, "am", 14, "JQ"))) for one in sisters),
            ),
        )
    )
    assert both.expected.mean == pytest.approx(16, rel=0.1)
    assert afternoon.expected.mean == pytest.approx(2, rel=0.1)


def test_what_one_tank_left_out_is_in_its_next_count() -> None:
    """Yesterday this tank was not siphoned; its sisters were: today it has two days."""
    own = (*mornings(10, 10, 10, 10)[:-1],)
    sisters = beside((10, 10, 10, 10), 10, 10, 10, 10)
    assert judge(22, known(sisters=())._replace(own=own, sisters=sisters)) is None
    assert judge(26, known(10, 10, 10, 10)._replace(sisters=sisters)) is not None


def test_a_tank_nobody_counted_for_days_is_held_against_six_rounds_at_most() -> None:
    """What lay there longer is gone."""
    first, sisters = mornings(*[10] * 11)[:1], beside([10] * 4, *[10] * 11)
    here = known()._replace(own=first, sisters=sisters)
    assert fitted(60, here, JudgingLimits()).windows[0].expected.mean == pytest.approx(60, rel=0.02)


def test_days_on_which_a_tank_was_counted_alone_say_nothing_of_its_share_beside_others() -> None:
    beside_all = [10] * 6
    with_days = known(*beside_all, sisters=())._replace(sisters=beside([10] * 4, *beside_all[:3]))
    without = with_days._replace(own=with_days.own[3:])
    means = [fitted(10, one, JudgingLimits()).windows[0].expected for one in (with_days, without)]
    assert means[0].mean == pytest.approx(means[1].mean, rel=1e-9)


def test_the_days_before_are_less_sure_of_a_round_the_fewer_dead_they_had() -> None:
    """Nobody is counted yet: the newest slot is expected to be as the mornings before it."""

    def spread(fish: int) -> float:
        tallies = [Tally(f"T{n}", "", mornings(*[fish] * 5)) for n in range(5)]
        found = laid_out(tallies, NOW, "am", None, 3.5, 0).room.level(0, 5)
        assert found is not None
        assert found[0] == pytest.approx(fish, rel=0.05)
        return found[1]

    assert spread(1) > spread(10) > spread(1000)
    assert spread(1000) == pytest.approx(FORECAST**2, rel=0.01)


def test_dead_found_between_rounds_count_to_the_next_one() -> None:
    """Nobody else was counted at noon: the tank's noon and afternoon are one look."""
    noon = Counted(Instant(NOW.utc + 5 * 3600, NOW.offset), "before noon", 6, "JQ")
    own = (*_two_a_day(9, 3), Counted(NOW, "am", 9, "PB"), noon)
    sisters = tuple(
        Tally(f"S{n}", "", (*_two_a_day(9, 3), Counted(NOW, "am", 9, "PB"))) for n in range(4)
    )
    laid = laid_out([Tally("", "", own), *sisters], AFTERNOON, "pm", None, 3.5, 0)
    assert laid.room.slots.parts == ("am", "pm") * 3 + ("am", "pm")
    mine = Counted(AFTERNOON, "pm", 2, "JQ")
    laid = laid_out([Tally("", "", (*own, mine)), *sisters], AFTERNOON, "pm", None, 3.5, 0)
    assert laid.room.lines[0].looks[-1].fish == 8


def test_after_a_day_without_any_round_twice_as_many_are_usual() -> None:
    own = tuple(Counted(days_before(NOW, days), "am", 10, "JQ") for days in (6, 5, 4, 3, 2))
    gap = DeadKnown(NOW, "am", own)
    assert edge(gap, Flag.WATCH) > 1.5 * edge(known(10, 10, 10, 10, 10), Flag.WATCH)


# ---- (c) the share of the fish


def test_three_percent_a_day_is_acted_on_with_the_age_of_the_count() -> None:
    here = known(100, 100, 100, best=3700, best_days=14.0, age=25)
    assert judge(111, here) == Signal(
        Rule.SHARE,
        Flag.ACT,
        "111 dead today, 3.0 % of the about 3,700 fish left (fish counted 14 d ago); "
        "3 % a day is acted on (any age).",
        LOOK[Rule.SHARE],
    )
    assert judge(110, here) is None


@pytest.mark.parametrize(("value", "percent", "flag"), [
    (29, 3, None), (30, 3, Flag.ACT), (49, 5, None), (50, 5, Flag.ACT),
])  # fmt: skip
def test_the_share_is_acted_on_from_its_percentage_on(
    value: int, percent: int, flag: Flag | None
) -> None:
    found = judge(value, known(best=1000, first_feeding=percent == 5))
    assert (None if found is None else found.flag) == flag
    ages = "first feeding" if percent == 5 else "any age"
    told = f"{percent} % a day is acted on ({ages})."
    assert found is None or (found.rule, found.sentence.endswith(told)) == (Rule.SHARE, True)


@pytest.mark.parametrize(("shares", "value", "flag"), [
    ((1.0, 2.0), 9, None), ((1.0, 2.0), 10, Flag.WATCH), ((1.0, 2.0), 19, Flag.WATCH),
    ((1.0, 2.0), 20, Flag.ACT), ((None, 8.0), 79, None), ((None, 8.0), 80, Flag.ACT),
    ((1.0, None), 900, Flag.WATCH),
])  # fmt: skip
def test_the_plan_says_which_share_of_the_fish_left_is_watched_and_acted_on(
    shares: tuple[float | None, float | None], value: int, flag: Flag | None
) -> None:
    found = judge(value, known(best=1000, shares=shares))
    assert (None if found is None else found.flag) == flag
    done = "acted on" if flag is Flag.ACT else "watched"
    assert found is None or found.sentence.endswith(f"% a day is {done} (by the plan).")


def test_the_share_adds_up_the_day() -> None:
    morning = Counted(NOW, "am", 80, "PB")
    assert said(40, DeadKnown(AFTERNOON, "pm", (morning,), best=4000))[0] is Rule.SHARE
    assert judge(39, DeadKnown(AFTERNOON, "pm", (morning,), best=4000)) is None


@pytest.mark.parametrize(
    ("today", "told"), [(500, "50.0 % of the about 1,000"), (1001, "more than the about 1,000")]
)
def test_more_than_all_is_said_only_where_it_is_more(today: int, told: str) -> None:
    found = judge(today, known(best=1000, best_days=3.0))
    assert found is not None
    assert told in found.sentence
    assert "(fish counted 3 d ago)" in found.sentence


def test_no_estimate_and_no_dead_are_no_share() -> None:
    assert judge(500, known()) is None
    assert judge(0, known(best=0)) is None
    assert said(1, known(best=0))[:2] == (Rule.SHARE, Flag.ACT)


# ---- (d) a slow rise


def rising(*own: int) -> DeadKnown:
    """A tank beside five sisters that go on as before."""
    return in_days(own, *[(9, 8, 10, 9, 9, 8, 10, 9, 9, 9)[-len(own) - 1 :]] * 5)


def test_what_creeps_up_beside_its_sisters_is_a_slow_rise() -> None:
    here = rising(9, 8, 10, 9, 9, 15, 14, 16, 15)
    assert said(17, here) == (
        Rule.RISE,
        Flag.WATCH,
        "17 dead, a slow rise since Wed 6 May 06:58: 77 in 5 counts, usual 45.",
    )


def test_a_rise_that_the_sisters_share_is_age_and_quiet() -> None:
    own = (9, 8, 10, 9, 9, 14, 18, 19, 20)
    assert judge(22, in_days(own, *[(*own, 21)] * 5)) is None


def test_a_count_no_higher_than_usual_ends_the_rise() -> None:
    assert judge(8, rising(9, 8, 10, 9, 9, 18, 19, 19, 20)) is None


def test_a_tank_alone_has_to_rise_longer() -> None:
    own = (9, 8, 10, 9, 9, 14, 18, 16)
    assert said(17, rising(*own))[0] is Rule.RISE
    assert judge(17, known(*own)) is None
    assert said(20, known(*own, 18, 19, 20, 19, 20))[0] is Rule.RISE


def test_many_dead_that_rise_by_less_than_the_plan_minds_are_no_rise() -> None:
    """A quarter more is beyond chance where there are a hundred; it is no news by itself."""
    here = in_days((*[100] * 6, *[128] * 6), *[(100,) * 13] * 5)
    assert judge(128, here) is None
    found = judge(128, here, JudgingLimits(ratio=1.2))
    assert found is not None
    assert found.rule is Rule.RISE


def test_a_few_dead_more_a_day_are_no_rise() -> None:
    assert (
        judge(2, in_days((1, 0, 1, 1, 0, 2, 1, 2, 1), *[(1, 0, 1, 1, 0, 1, 1, 0, 1, 1)] * 5))
        is None
    )


# ---- (e) too few, (f) counted twice


@pytest.mark.parametrize(
    ("siphoned", "words"),
    [(None, ""), (True, " The record says yes."), (False, " The record says no.")],
)
def test_none_dead_where_sisters_have_some_asks_for_the_siphon(
    siphoned: bool | None, words: str
) -> None:
    here = known(12, 12, 12, sisters=(10, 12, 14), siphoned=siphoned)
    assert judge(0, here) == Signal(
        Rule.TOO_FEW,
        Flag.CHECK,
        f"0 dead; other tanks 12 in the middle: was it siphoned?{words}",
        "Look at the floor. Not siphoned is not 0: press / and say why.",
    )
    assert judge(4, here) is None


def test_five_keyed_for_forty_five_are_asked_about() -> None:
    here = known(45, 45, 45, sisters=(40, 48, 45))
    assert said(5, here) == (
        Rule.TOO_FEW,
        Flag.CHECK,
        "5 dead; other tanks 45 in the middle: a digit missing, or not all siphoned?",
    )
    assert judge(25, here) is None


def test_none_dead_is_no_question_where_few_are_usual() -> None:
    assert judge(0, known(3, 3, 3, sisters=(3, 2, 4))) is None
    assert said(0, known(20, 20, 20, 20))[2] == "0 dead; its usual is 20 a round: was it siphoned?"


def test_the_count_of_the_morning_again_is_asked_where_chance_seldom_brings_it() -> None:
    own = (*_two_a_day(12, 3), Counted(NOW, "am", 12, "PB"))
    assert judge(12, DeadKnown(AFTERNOON, "pm", own)) is not None
    few = (*_two_a_day(8, 1), Counted(NOW, "am", 7, "PB"))
    assert said(7, DeadKnown(AFTERNOON, "pm", few))[2].startswith(
        "7 dead again: already counted at 06:58 by PB?"
    ), "fewer than ten, and yet not by chance"
    alike = (*_two_a_day(6, 6), Counted(NOW, "am", 6, "PB"))
    assert judge(6, DeadKnown(AFTERNOON, "pm", alike)) is None, "every other afternoon has six"


def test_an_equal_count_is_asked_about_at_the_chance_of_the_plan() -> None:
    own = (*_two_a_day(12, 4), Counted(NOW, "am", 9, "PB"))
    here = DeadKnown(AFTERNOON, "pm", own)
    mean, variance = fitted(9, here, JudgingLimits()).windows[0].expected
    chance = exp(nb.log_chance(9, mean, variance))
    above, below = (
        JudgingLimits(false_check_a_day=chance * times / COUNTED_PART) for times in (1.01, 0.99)
    )
    assert judge(9, here, above) is not None
    assert judge(9, here, below) is None


@pytest.mark.parametrize(("hours", "fish", "asked"), [
    (8.0, 12, True), (11.9, 12, True), (12.0, 12, False), (8.0, 13, False),
])  # fmt: skip
def test_where_nothing_is_usual_an_equal_count_of_less_than_twelve_hours_ago_is_asked(
    hours: float, fish: int, asked: bool
) -> None:
    at = Instant(NOW.utc - int(3600 * hours), NOW.offset)
    found = judge(12, known(own=(Counted(at, "pm", fish, "JQ"),)))
    assert (found is not None and found.rule is Rule.TWICE) == asked
    few = judge(9, known(own=(Counted(at, "pm", 9, "JQ"),)))
    assert few is None


def test_of_two_equal_counts_the_newest_is_named() -> None:
    own = tuple(
        Counted(Instant(NOW.utc - 3600 * hours, NOW.offset), f"p{hours}", 10, who)
        for hours, who in ((9, "JQ"), (5, "TS"))
    )
    found = judge(10, known(own=own))
    assert found is not None
    assert "by TS?" in found.sentence


def test_the_question_of_a_copied_count_hides_no_signal() -> None:
    own = (
        *(Counted(days_before(AFTERNOON, days), "pm", 2, "RO") for days in (3, 2, 1)),
        Counted(NOW, "am", 64, "PB"),
    )
    found = judge(64, DeadKnown(AFTERNOON, "pm", own))
    assert found is not None
    assert (found.rule, found.flag) == (Rule.TWICE, Flag.ACT)
    assert found.sentence.startswith(
        "64 dead again: already counted at 06:58 by PB? If these are others: 64 dead, "
    )
    assert found.do == f"{LOOK[Rule.TWICE]} Else: {LOOK[Rule.JUMP]}"


# ---- the die-off of larvae that never fed

DIED = (24, 25, 24, 25, 24)


def test_a_die_off_that_sisters_share_is_quiet_but_for_the_share_of_the_fish() -> None:
    shared = known(*DIED, age=9, sisters=(70, 74, 80, 85), best=4000, first_feeding=True)
    assert judge(80, shared) is None
    more = known(*DIED, age=9, sisters=(190, 200, 210), best=4000, first_feeding=True)
    assert said(200, more)[0] is Rule.SHARE


def test_a_die_off_that_sisters_do_not_share_is_no_die_off() -> None:
    here = known(*DIED, age=9, sisters=(24, 25, 26))
    assert said(80, here)[:2] == (Rule.JUMP, Flag.ACT)


def test_before_sisters_are_counted_the_ages_of_the_die_off_leave_room_and_others_do_not() -> None:
    early = known(*DIED, sisters=())._replace(
        sisters=tuple(one._replace(counts=one.counts[:-1]) for one in beside((0, 0, 0), *DIED))
    )
    assert judge(60, early._replace(age=9)) is None
    assert said(60, early._replace(age=20))[0] is Rule.JUMP
    late = said(200, early._replace(age=9))
    assert late[1:] == (
        Flag.WATCH,
        "200 dead, 8 times its usual 24 a round; too few other tanks counted yet to tell it from "
        "larvae that never fed.",
    )


@pytest.mark.parametrize(("age", "dying"), [
    (6, False), (7, True), (12, True), (13, False), (None, False),
])  # fmt: skip
def test_larvae_that_never_fed_die_at_seven_to_twelve_days(age: int | None, dying: bool) -> None:
    assert die_off(age) == dying


def test_slots_know_their_age_and_their_hours() -> None:
    laid = laid_out([Tally("", "", _two_a_day(9, 3))], NOW, "am", 13, 3.5)
    assert laid.room.slots.parts == ("am", "pm", "am", "pm", "am", "pm", "am")
    assert laid.room.slots.dying == (True, True, True, True, True, True, False)
    assert laid.room.slots.hours[1:3] == pytest.approx((8 + 22 / 60, 15 + 38 / 60))
    assert [after.hours_since(one) for one, after in pairwise(laid.began)] == pytest.approx(
        laid.room.slots.hours[1:]
    )
    assert laid.began[0].day == NOW.day - timedelta(days=3)


# ---- any counts at all

FISH = st.integers(0, 4000) | st.integers(0, 40) | st.integers(0, 10**9)
ANY = st.builds(
    lambda own, sisters, best, age, first: known(
        *own, sisters=sisters, best=best, age=age, first_feeding=first
    ),
    st.lists(FISH, max_size=10),
    st.lists(FISH, max_size=11),
    st.none() | FISH,
    st.none() | st.integers(0, 40),
    st.booleans(),
)


@given(ANY, FISH, FISH)
@settings(deadline=None, max_examples=300)
def test_more_dead_is_never_a_lesser_flag_but_for_the_two_questions(
    here: DeadKnown, one: int, other: int
) -> None:
    fewer, more = (judge(value, here) for value in sorted((one, other)))
    if fewer is not None and fewer.flag >= Flag.WATCH:
        assert more is not None
        assert more.flag >= fewer.flag
    for found in (fewer, more):
        assert found is None or (found.sentence.endswith((".", "?")) and found.do.endswith("."))
        assert found is None or found.flag > Flag.CHECK or found.rule in (Rule.TOO_FEW, Rule.TWICE)


@given(st.lists(st.integers(0, 60), min_size=3, max_size=10), st.integers(3, 8))
@settings(deadline=None, max_examples=60)
def test_a_tank_that_has_what_all_its_sisters_have_is_never_flagged(
    days: list[int], tanks: int
) -> None:
    here = in_days(tuple(days[:-1]), *[tuple(days)] * tanks)
    found = judge(days[-1], here)
    assert found is None or found.rule is Rule.TWICE
