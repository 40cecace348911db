"""One tank against its own past and its sisters: what is told, and what is only the way back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import NOW, go_to, opened, seen_before, walking
from tankwalk.practice.board import board
from tankwalk.practice.doing.follow_ups import open_altered
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from weighing_support import PLAN, TANKS, checked, remembered, room, walked


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with room(tmp_path / "room") as quiet:
        yield quiet


# ---- a change of its own, in band


@pytest.mark.parametrize(("was", "reads", "flag"), [
    (15.9, 16.5, Flag.OK),  # back at its target
    (17.1, 16.5, Flag.OK),
    (16.5, 15.8, Flag.WATCH),
    (16.5, 17.2, Flag.WATCH),
])  # fmt: skip
def test_a_tank_that_leaves_its_target_is_watched_and_one_that_comes_back_is_not(
    site: Site, was: float, reads: float, flag: Flag
) -> None:
    for hours in range(15, 7, -1):
        remembered(site, "T12", "temp", was, hours)
    said = walked(site, lambda tank: reads if tank == "T12" else 16.5, code="warm")
    assert said["T12"].flag is flag
    left = "from what it was, 5 other tanks of its water stayed" in said["T12"].sentence
    assert left == (flag is Flag.WATCH)


@pytest.mark.parametrize(("words", "reads", "flag"), [
    ("Heater off, fish sick", 15.8, Flag.WATCH),  # it says nothing of the temperature
    ("Temperature let down for a fish that is sick", 15.8, Flag.OK),
    ("Chiller line open, 15.8 degC here", 15.8, Flag.OK),
    ("Chiller line open, 15.8 degC here", 14.2, Flag.ACT),  # beyond its limit all the same
])  # fmt: skip
def test_a_change_that_somebody_entered_as_altered_is_told_only_out_of_its_band(
    site: Site, words: str, reads: float, flag: Flag
) -> None:
    open_altered(site, "AB", words, "T12")
    said = walked(site, lambda tank: reads if tank == "T12" else 16.5, code="warm")
    assert said["T12"].flag is flag
    told = [one.place for one in board(site).wrong]
    assert told == (["T12"] if flag else [])  # nor by the round as a whole


def test_a_tank_whose_oxygen_comes_back_into_band_is_not_told_of(site: Site) -> None:
    for hours in range(15, 11, -1):
        walked_low = remembered(site, "T12", "do", 6.6, hours)
        assert walked_low
    walked(site, lambda _: 6.6, tanks=["T12"])
    said = walked(site, lambda tank: 8.6, tanks=TANKS[6:])
    assert said["T12"].flag is Flag.OK


# ---- a slip or a trend


@pytest.mark.parametrize(("was", "asked"), [(None, False), (8.0, True), (3.5, False)])
def test_a_level_near_the_last_one_is_not_asked_whether_it_is_inches(
    site: Site, was: float | None, asked: bool
) -> None:
    """3.2 cm is out of band, and 3.2 inches would be in the middle of it."""
    if was is not None:
        remembered(site, "T01", "level", was, 8)
    walk = go_to(walking(site, code="warm"), "T01", "level")
    walk.answer("3.2")
    assert walk.question is not None
    options = [words for _, words in walk.question.options()]
    inches = [words for words in options if words.startswith("8.1 cm if it was read in inches")]
    assert len(inches) == asked


def test_tanks_whose_second_reading_was_as_usual_have_not_moved(site: Site) -> None:
    """By their first readings of 6.9 all three moved together; by their second, T09 alone did."""
    walk = walking(site)
    for tank in ("T07", "T08"):
        go_to(walk, tank, "do").answer("6.9")
        walk.answer("8.6")
    go_to(walk, "T09", "do")
    assert walk.answer("7.1").flag is Flag.WATCH
    asked = walk.question
    assert asked is not None
    assert "Oxygen 7.1 mg/L fell 1.6 since last" in asked.words
    assert "moved together" not in asked.words


@pytest.mark.parametrize(("before", "now", "slip"), [
    (None, None, "8.8 mg/L if the decimal point is misplaced"),
    (10.0, None, "9.6 mg/L if it was % of saturation"),
    (10.0, "20", "7.8 mg/L if it was % of saturation"),
    (None, "20", "7.8 mg/L if it was % of saturation"),
])  # fmt: skip
def test_a_percent_of_saturation_is_turned_into_oxygen_by_the_tanks_newest_temperature(
    tmp_path: Path, before: float | None, now: str | None, slip: str
) -> None:
    with opened(tmp_path / "small") as small:
        if before is not None:
            seen_before(small, "T01", "temp", before, "2026-05-09T15:00")
        walk = walking(small)
        if now is not None:
            go_to(walk, "T01", "temp").answer(now)
            walk.answer(now)
        go_to(walk, "T01", "do").answer("88")
        assert walk.question is not None
        assert walk.question.options()[0][1].startswith(slip)


# ---- a slope toward a limit

NEAR = PLAN.replace("act_below = 6.0", "act_below = 6.9")
"""The action limit stands a tenth below the band."""


@pytest.mark.parametrize(("hours", "flag"), [(6, Flag.WATCH), (6.1, Flag.OK), (8, Flag.OK)])
def test_a_slope_is_told_from_a_look_of_the_last_six_hours_and_from_no_older_one(
    tmp_path: Path, hours: float, flag: Flag
) -> None:
    with opened(tmp_path / "near", NEAR, NOW) as site:
        remembered(site, "T01", "do", 8.4, hours)
        said = walked(site, lambda _: 7.0, tanks=["T01"])
        assert said["T01"].flag is flag
        assert ("an hour: 6.9 in about" in said["T01"].sentence) == (flag is Flag.WATCH)


@pytest.mark.parametrize(("minutes", "flag"), [(4, Flag.OK), (4.8, Flag.WATCH)])
def test_two_looks_within_five_minutes_make_no_slope(
    tmp_path: Path, minutes: float, flag: Flag
) -> None:
    with opened(tmp_path / "near", NEAR, NOW) as site:
        remembered(site, "T01", "do", 8.4, minutes / 60)
        said = walked(site, lambda _: 7.4, tanks=["T01"])
        assert said["T01"].flag is flag


def test_a_value_that_rises_to_its_action_limit_is_watched_as_one_that_falls(
    tmp_path: Path,
) -> None:
    with opened(tmp_path / "room", PLAN, NOW) as site:
        remembered(site, "T01", "temp", 16.5, 0.5)
        said = walked(site, lambda _: 17.4, tanks=["T01"], code="warm")
        assert said["T01"].flag is Flag.WATCH
        assert "rises 1.8 an hour: 18.5 in about 37 min" in said["T01"].sentence


def test_a_value_that_is_out_says_when_it_reaches_the_next_limit(tmp_path: Path) -> None:
    with opened(tmp_path / "room", PLAN, NOW) as site:
        remembered(site, "T01", "do", 8.4, 2)
        said = walked(site, lambda _: 6.9, tanks=["T01"])
        assert "at this rate 6.0 in about 1 h 12 min" in said["T01"].sentence


# ---- the same to the last digit


@pytest.mark.parametrize(("before", "asked"), [(5, False), (8, False), (9, True)])
def test_a_meter_known_for_too_few_steps_is_not_asked_whether_it_was_really_read(
    tmp_path: Path, before: int, asked: bool
) -> None:
    with opened(tmp_path / "room", PLAN, NOW) as site:
        values = [8.5 + 0.02 * (nth % 3) + 0.01 * nth for nth in range(before)]
        for nth, value in enumerate([*values, 8.71, 8.71, 8.71]):
            remembered(site, "T01", "do", round(value, 2), 20 - nth)
        reply = go_to(walking(site), "T01", "do").answer("8.71")
        assert ("the same to the last digit 4 times" in reply.sentence) == asked


def test_three_times_the_same_is_nothing_to_ask_about(tmp_path: Path) -> None:
    with opened(tmp_path / "room", PLAN, NOW) as site:
        checked(site, "A", hours_ago=30)
        for nth in range(12):
            remembered(site, "T01", "do", round(8.5 + 0.02 * (nth % 5), 2), 20 - nth)
        for hours in (4, 3):
            remembered(site, "T01", "do", 8.71, hours)
        reply = go_to(walking(site), "T01", "do").answer("8.71")
        assert reply.flag is Flag.OK
