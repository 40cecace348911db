"""Is a count of the dead a signal: each rule by its sentence, and any counts at all."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mortality_support import AFTERNOON, NOW, days_before, known, mornings
from tankwalk.practice.judging.dead_counts import Counted, DeadKnown
from tankwalk.practice.judging.mortality import LOOK, Signal, judge
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag


def said(value: int, here: DeadKnown) -> tuple[Rule, Flag, str]:
    """Rule, flag and sentence of what has to be a signal."""
    found = judge(value, here)
    assert found is not None
    return found.rule, found.flag, found.sentence


# ---- (a) far above its own usual


def test_seven_times_its_usual_is_acted_on() -> None:
    here = known(9, 9, 10, 9, sisters=(8, 10, 8))
    assert judge(64, here) == Signal(
        Rule.JUMP,
        Flag.ACT,
        "64 dead, 7 times its usual 9 a round; other tanks 8 to 10.",
        "Count again. Look at the fish, then oxygen, flow and screen; keep some of the dead and "
        "tell the lead.",
    )


def test_three_times_its_usual_is_watched_and_less_is_quiet() -> None:
    here = known(9, 9, 10, 9)
    assert said(27, here) == (
        Rule.JUMP,
        Flag.WATCH,
        "27 dead, 3 times its usual 9 a round; too few other tanks counted.",
    )
    assert judge(26, here) is None


def test_three_times_its_usual_is_acted_on_where_it_is_the_odd_one_out_as_well() -> None:
    alike = known(9, 9, 10, 9, sisters=(8, 9, 9, 10))
    assert said(27, alike)[:2] == (Rule.JUMP, Flag.ACT)
    unlike = known(9, 9, 10, 9, sisters=(24, 25, 26, 27))
    assert said(27, unlike)[:2] == (Rule.JUMP, Flag.WATCH)


def test_fewer_than_ten_dead_are_no_jump() -> None:
    assert judge(9, known(1, 1, 1, 1)) is None
    assert said(10, known(0, 0, 0, 0)) == (
        Rule.JUMP,
        Flag.ACT,
        "10 dead, its usual is 0 a round; too few other tanks counted.",
    )


def test_two_days_are_a_usual_and_one_is_not_nor_are_days_long_ago() -> None:
    assert judge(60, known(9)) is None
    assert judge(60, known(9, 9)) is not None
    old = known()._replace(own=tuple(_moved(one, 5) for one in mornings(9, 9, 9)))
    assert judge(60, old) is None


def _moved(one: Counted, days: int) -> Counted:
    return one._replace(at=days_before(one.at, days))


def test_one_bad_day_does_not_hide_the_next() -> None:
    """The median and the steps from day to day do not take 64 for usual, nor for wild counts."""
    assert said(60, known(9, 10, 9, 9, 64, 14, 11))[:2] == (Rule.JUMP, Flag.ACT)
    assert judge(14, known(9, 10, 9, 9, 64)) is None, "the day after is no slow rise"
    assert judge(11, known(9, 10, 9, 9, 64, 14)) is None


def test_a_tank_whose_counts_jump_about_has_to_jump_further() -> None:
    wild = known(2, 24, 4, 30, 3, 22, 5, 11, 12)
    assert judge(36, wild) is None
    assert judge(36, known(11, 12, 11, 13, 10, 12, 11, 11, 12)) is not None


def test_parts_of_the_day_are_kept_apart() -> None:
    own = [
        counted
        for days in (3, 2, 1)
        for counted in (
            Counted(days_before(NOW, days), "am", 40, "JQ"),
            Counted(days_before(AFTERNOON, days), "pm", 3, "RO"),
        )
    ]
    this_morning = Counted(NOW, "am", 41, "PB")
    afternoon = DeadKnown(AFTERNOON, "pm", (*own, this_morning))
    assert (
        said(18, afternoon)[2]
        == "18 dead, 6 times its usual 3 a round; too few other tanks counted."
    )
    assert judge(18, DeadKnown(NOW, "am", tuple(own))) is None


def test_an_afternoon_after_a_morning_left_out_stands_against_both() -> None:
    own = [
        counted
        for days in (3, 2, 1)
        for counted in (
            Counted(days_before(NOW, days), "am", 14, "JQ"),
            Counted(days_before(AFTERNOON, days), "pm", 2, "RO"),
        )
    ]
    assert judge(16, DeadKnown(AFTERNOON, "pm", tuple(own))) is None
    assert judge(16, DeadKnown(AFTERNOON, "pm", (*own, Counted(NOW, "am", 13, "JQ")))) is not None


# ---- (b) the odd one out


def test_far_above_its_sisters_is_the_odd_one_out() -> None:
    here = known(24, 25, 26, sisters=(6, 9, 9, 12))
    assert judge(25, here) == Signal(
        Rule.ODD,
        Flag.WATCH,
        "25 dead; 4 other tanks 6 to 12, 9 in the middle: the odd one out (z 3.8).",
        LOOK[Rule.ODD],
    )
    assert judge(23, here) is None


def test_two_sisters_are_too_few_and_nine_dead_are_too_few() -> None:
    assert judge(60, known(sisters=(9, 9))) is None
    assert judge(9, known(sisters=(0, 0, 0, 0))) is None
    assert said(10, known(sisters=(0, 0, 0, 0)))[0] is Rule.ODD


def test_sisters_that_differ_among_themselves_leave_more_room() -> None:
    assert judge(30, known(sisters=(2, 4, 9, 14, 16))) is None
    assert said(30, known(sisters=(8, 9, 9, 9, 10)))[0] is Rule.ODD


# ---- (c) the share of the book


def test_three_percent_a_day_is_acted_on_with_the_age_of_the_book() -> None:
    here = known(100, 100, 100, best=3700, best_days=14.0, age=25)
    assert judge(111, here) == Signal(
        Rule.SHARE,
        Flag.ACT,
        "111 dead today, 3.0 % of the about 3,700 fish left (fish counted 14 d ago); "
        "3 % a day is acted on (any age).",
        LOOK[Rule.SHARE],
    )
    assert judge(110, here) is None


def test_at_first_feeding_five_percent_is_acted_on() -> None:
    here = known(100, 100, 100, best=4000, age=9, first_feeding=True)
    assert judge(199, here) is None
    assert said(200, here) == (
        Rule.SHARE,
        Flag.ACT,
        "200 dead today, 5.0 % of the about 4,000 fish left; "
        "5 % a day is acted on (first feeding).",
    )


def test_the_day_is_one_however_often_it_is_counted() -> None:
    morning = Counted(NOW, "am", 100, "PB")
    here = DeadKnown(AFTERNOON, "pm", (morning,), best=4000)
    assert judge(19, here) is None
    assert said(20, here)[2].startswith("120 dead today, 3.0 % of the about 4,000")


def test_more_dead_than_the_book_holds_is_said_so() -> None:
    assert said(12, known(best=7, best_days=1.0))[2] == (
        "12 dead today, more than the about 7 fish left (fish counted 24 h ago); "
        "3 % a day is acted on (any age)."
    )
    assert said(1, known(best=0))[:2] == (Rule.SHARE, Flag.ACT)
    assert judge(0, known(best=0)) is None
    assert judge(9, known(best=None)) is None


# ---- (d) a slow rise


def test_what_creeps_up_day_by_day_is_a_slow_rise() -> None:
    here = known(9, 8, 10, 9, 9, 14, 18, 19, 20)
    assert judge(22, here) == Signal(
        Rule.RISE,
        Flag.WATCH,
        "22 dead, a slow rise: 14, 18, 19, 20, 22 in a row, 9 a day before.",
        LOOK[Rule.RISE],
    )


def test_a_slow_rise_needs_five_days_before_it_and_more_than_one_day_in_it() -> None:
    assert judge(23, known(9, 8, 10, 9)) is None
    assert judge(26, known(9, 8, 10, 9, 9)) is None
    assert judge(26, known(9, 8, 10, 9, 9, 9, 9, 9)) is None


def test_a_rise_that_is_over_is_over() -> None:
    assert judge(9, known(9, 8, 10, 9, 9, 20, 24, 24, 24)) is None


def test_a_few_dead_more_a_day_are_no_rise() -> None:
    assert judge(3, known(1, 0, 1, 1, 0, 3, 3, 3, 3)) is None


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
    assert judge(1, here) is None


def test_none_dead_is_no_question_where_sisters_have_few_or_are_few() -> None:
    assert judge(0, known(sisters=(9, 9, 9))) is None
    assert judge(0, known(sisters=(20, 20))) is None


def test_the_count_of_the_morning_again_is_asked() -> None:
    morning = Counted(NOW, "am", 12, "PB")
    here = DeadKnown(AFTERNOON, "pm", (morning,))
    assert judge(12, here) == Signal(
        Rule.TWICE,
        Flag.CHECK,
        "12 dead again: already counted at 06:58 by PB?",
        "Enter only those found since; 0 if there were none.",
    )
    assert judge(11, here) is None
    assert judge(9, DeadKnown(AFTERNOON, "pm", (morning._replace(fish=9),))) is None


def test_the_count_of_last_afternoon_again_is_asked_and_of_last_morning_is_not() -> None:
    last = Counted(days_before(AFTERNOON, 1), "pm", 25, "RO")
    assert said(25, DeadKnown(NOW, "am", (last,)))[2] == (
        "25 dead again: already counted at 15:20 by RO?"
    )
    assert judge(25, known(25, 25, 25, 25)) is None


def test_the_question_of_a_copied_count_hides_no_signal() -> None:
    own = (
        *(Counted(days_before(AFTERNOON, days), "pm", 1, "RO") for days in (3, 2, 1)),
        Counted(NOW, "am", 64, "PB"),
    )
    found = judge(64, DeadKnown(AFTERNOON, "pm", own))
    assert found is not None
    assert (found.rule, found.flag) == (Rule.TWICE, Flag.ACT)
    assert found.sentence == (
        "64 dead again: already counted at 06:58 by PB? If these are others: 64 dead, 64 times "
        "its usual 1 a round; too few other tanks counted."
    )
    assert found.do == f"{LOOK[Rule.TWICE]} Else: {LOOK[Rule.JUMP]}"


# ---- the die-off of larvae that never fed

DIED = (24, 25, 24, 25, 24)


def test_a_die_off_that_sisters_share_is_quiet_but_for_the_share_of_the_book() -> None:
    shared = known(*DIED, age=9, sisters=(70, 74, 80, 85), best=4000, first_feeding=True)
    assert judge(80, shared) is None
    assert said(200, shared._replace(sisters=(190, 200, 210)))[0] is Rule.SHARE


def test_a_die_off_that_sisters_do_not_share_is_no_die_off() -> None:
    here = known(*DIED, age=9, sisters=(24, 25, 26))
    assert said(80, here)[:2] == (Rule.JUMP, Flag.ACT)
    assert said(80, here._replace(sisters=()))[1:] == (
        Flag.WATCH,
        "80 dead, 3 times its usual 24 a round; too few other tanks counted yet to tell it from "
        "larvae that never fed.",
    )


def test_the_sisters_of_yesterday_speak_for_those_not_counted_yet() -> None:
    assert judge(80, known(*DIED, age=9, sisters=(79,), sisters_before=(70, 74, 80))) is None


def test_at_any_other_age_what_all_share_is_a_signal_all_the_same() -> None:
    """All tanks at once is the water or the feed: "normal for age" hides nothing."""
    for age in (6, 13, None):
        assert said(80, known(*DIED, age=age, sisters=(70, 74, 80, 85)))[0] is Rule.JUMP


def test_at_the_ages_of_the_die_off_a_rise_is_one_above_the_sisters() -> None:
    counts = (24, 25, 24, 25, 24, 60, 62, 66)
    days = tuple((one.at.day, 61.0) for one in mornings(*counts)[5:])
    here = known(*counts, age=10, sisters=(60, 61, 62), sister_days=days)
    assert judge(64, here) is None
    assert said(64, here._replace(sister_days=(), sisters=(24, 25, 26)))[0] is Rule.ODD
    assert said(40, here._replace(sister_days=(), sisters=(24, 25, 26)))[0] is Rule.RISE


# ---- any counts at all

FISH = st.integers(0, 4000) | st.integers(0, 40) | st.integers(0, 10**12)
ANY = st.builds(
    lambda own, sisters, before, best, age, first: known(
        *own, sisters=sisters, sisters_before=before, best=best, age=age, first_feeding=first
    ),
    st.lists(FISH, max_size=10),
    st.lists(FISH, max_size=11).map(tuple),
    st.lists(FISH, max_size=11).map(tuple),
    st.none() | FISH,
    st.none() | st.integers(0, 40),
    st.booleans(),
)


@given(ANY, FISH, FISH)
@settings(deadline=None, max_examples=400)
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
