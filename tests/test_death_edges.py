"""Counts of the dead at the edges of their rules: spread, usual, twins, the book, the die-off."""

from __future__ import annotations

import pytest

from mortality_support import AFTERNOON, NOW, days_before, known
from tankwalk.clock import Instant
from tankwalk.practice.judging.dead_counts import Counted, by_day, days_like, die_off, like_this
from tankwalk.practice.judging.mortality import dispersion, judge, usual_count
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag

STEP_TO_SD = 1.4826 / 2**0.5


# ---- how counts spread


@pytest.mark.parametrize(("own", "spread"), [
    ((10, 10, 10, 10, 10), 2.0),  # never less than that of clustered counts
    ((10, 20, 10, 20, 10), (STEP_TO_SD * 10) ** 2 / 10),
    ((10, 20, 10, 20), 2.0),  # four days tell nothing
    ((0, 6, 0, 6, 0), (STEP_TO_SD * 6) ** 2),  # over a mean of one at the least
])  # fmt: skip
def test_the_spread_of_own_days_is_told_from_the_middle_step(
    own: tuple[int, ...], spread: float
) -> None:
    assert dispersion(known(), own) == pytest.approx(spread, rel=1e-3)


@pytest.mark.parametrize(("sisters", "spread"), [
    ((10, 20, 30, 40, 50), (1.4826 * 10) ** 2 / 30),
    ((10, 20, 30, 40), 2.0),  # four sisters tell nothing
    ((0, 0, 0, 6, 9), 2.0),
    ((0, 4, 0, 4, 0), 2.0),
    ((0, 0, 4, 8, 8), (1.4826 * 4) ** 2 / 4),
])  # fmt: skip
def test_the_spread_of_sisters_is_told_from_their_distance_to_the_middle(
    sisters: tuple[int, ...], spread: float
) -> None:
    assert dispersion(known(sisters=sisters), ()) == pytest.approx(spread, rel=1e-3)


def test_the_wider_of_the_two_spreads_counts() -> None:
    wide, narrow = (10, 20, 30, 40, 50), (10, 20, 10, 20, 10)
    here = dispersion(known(sisters=wide), narrow)
    assert here == max(dispersion(known(sisters=wide), ()), dispersion(known(), narrow))


# ---- what is usual


@pytest.mark.parametrize(("counts", "usual"), [
    ((50, 1, 2, 3), 2.0),  # the last three days
    ((4, 6), 5.0),
    ((4,), None),
])  # fmt: skip
def test_usual_is_the_middle_of_the_last_three_days(
    counts: tuple[int, ...], usual: float | None
) -> None:
    here = known(*counts)
    assert usual_count(here, days_like(here)) == usual


@pytest.mark.parametrize(("days", "usual"), [((5, 4), 6.0), ((6, 4), None), ((9, 8, 5, 1), 6.0)])
def test_days_more_than_five_ago_are_not_usual(days: tuple[int, ...], usual: float | None) -> None:
    own = tuple(Counted(days_before(NOW, ago), "am", 6, "JQ") for ago in days)
    here = known(own=own)
    assert usual_count(here, days_like(here)) == usual


# ---- a jump, the odd one, the share


@pytest.mark.parametrize(("value", "rule"), [(29, None), (30, Rule.JUMP)])
def test_a_jump_is_three_times_the_usual(value: int, rule: Rule | None) -> None:
    found = judge(value, known(10, 10, 10, 10))
    assert (None if found is None else found.rule) == rule


def test_a_jump_is_acted_on_only_where_chance_is_ruled_out() -> None:
    watched, acted = judge(32, known(10, 10, 10, 10)), judge(33, known(10, 10, 10, 10))
    assert watched is not None
    assert acted is not None
    assert (watched.flag, acted.flag) == (Flag.WATCH, Flag.ACT)  # 4.9 and 5.1 spreads of 4.5


@pytest.mark.parametrize(("value", "percent", "flag"), [
    (29, 3, None), (30, 3, Flag.ACT), (49, 5, None), (50, 5, Flag.ACT),
])  # fmt: skip
def test_the_share_of_the_book_is_acted_on_from_its_percentage_on(
    value: int, percent: int, flag: Flag | None
) -> None:
    found = judge(value, known(best=1000, first_feeding=percent == 5))
    assert (None if found is None else found.flag) == flag
    assert found is None or (found.rule, f"{percent} % a day" in found.sentence) == (
        Rule.SHARE, True
    )  # fmt: skip


def test_no_book_and_no_dead_are_no_share() -> None:
    assert judge(500, known()) is None
    assert judge(0, known(best=0)) is None


@pytest.mark.parametrize(
    ("today", "told"), [(500, "50.0 % of the about 1,000"), (1001, "more than the")]
)
def test_more_than_the_book_is_said_only_where_it_is_more(today: int, told: str) -> None:
    found = judge(today, known(best=1000, best_days=3.0))
    assert found is not None
    assert told in found.sentence
    assert "(fish counted 3 d ago)" in found.sentence


# ---- the same count again


@pytest.mark.parametrize(("hours", "fish", "asked"), [
    (8.0, 12, True), (19.9, 12, True), (20.0, 12, False), (8.0, 13, False),
])  # fmt: skip
def test_an_equal_count_of_less_than_twenty_hours_ago_is_asked_about(
    hours: float, fish: int, asked: bool
) -> None:
    at = Instant(NOW.utc - int(3600 * hours), NOW.offset)
    found = judge(12, known(own=(Counted(at, "pm", fish, "JQ"),)))
    assert (found is not None and found.rule is Rule.TWICE) == asked


def test_of_two_equal_counts_the_newest_is_named_and_few_dead_are_not_asked_about() -> None:
    def own(fish: int) -> tuple[Counted, ...]:
        return tuple(
            Counted(Instant(NOW.utc - 3600 * hours, NOW.offset), f"p{hours}", fish, who)
            for hours, who in ((9, "JQ"), (5, "TS"))
        )

    found = judge(10, known(own=own(10)))
    assert found is not None
    assert "by TS?" in found.sentence
    assert judge(9, known(own=own(9))) is None


# ---- none dead


@pytest.mark.parametrize(("sisters", "siphoned", "words"), [
    ((10, 10, 10), None, "was it siphoned?"),
    ((10, 10, 10), True, "was it siphoned? The record says yes."),
    ((10, 10, 10), False, "was it siphoned? The record says no."),
    ((9, 9, 9), None, ""),
    ((10, 10), None, ""),
])  # fmt: skip
def test_none_dead_where_sisters_have_ten_is_asked_about(
    sisters: tuple[int, ...], siphoned: bool | None, words: str
) -> None:
    found = judge(0, known(sisters=sisters, siphoned=siphoned))
    assert ("" if found is None else found.sentence) == (
        f"0 dead; other tanks 10 in the middle: {words}" if words else ""
    )


# ---- days and ages


@pytest.mark.parametrize(("age", "dying"), [
    (6, False), (7, True), (12, True), (13, False), (None, False),
])  # fmt: skip
def test_larvae_that_never_fed_die_at_seven_to_twelve_days(age: int | None, dying: bool) -> None:
    assert die_off(age) == dying


def test_a_part_left_out_today_counts_to_the_next_and_a_later_one_never() -> None:
    morning = Counted(NOW, "am", 4, "JQ")
    afternoon = Counted(AFTERNOON, "pm", 7, "JQ")
    day = [morning, afternoon]
    assert like_this(day, "pm", {"am"}) == 7
    assert like_this(day, "pm", set()) == 11
    assert like_this(day, "am", set()) == 4
    assert like_this(day, "am", {"pm"}) == 4
    assert like_this(day, "night", set()) is None
    assert by_day(day) == {NOW.day: day}


def test_todays_own_counts_are_no_day_to_hold_a_count_against() -> None:
    here = known(5, own=(Counted(days_before(NOW, 1), "am", 5, "JQ"), Counted(NOW, "am", 9, "JQ")))
    assert days_like(here) == [(days_before(NOW, 1).day, 5)]
