"""The shift at a glance: what is wrong, what is due, and how long nobody has looked."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from page_support import due_said
from site_support import (
    ROOM,
    SMALL,
    clock_shows,
    finish,
    go_to,
    moment,
    opened,
    seen_before,
    sign,
    standing_at,
    walking,
)
from tankwalk.ledger.entries import Calibration, Entry, FollowUp, Reading
from tankwalk.pages import due_words, meter_words
from tankwalk.practice.board import Board, board
from tankwalk.practice.due import all_due
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.round.rounds import begin
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.tasks import DueKind


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, SMALL) as site:
        yield site


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, ROOM) as site:
        yield site


def out_of_band(
    site: Site, place: str, item: str, value: float, flag: Flag, when: str = "2026-05-10T06:00"
) -> None:
    """A flagged reading as a round left it."""
    at, unit = moment(when), site.plan.item(item).unit
    site.record(Entry("reading", "CD", at, at, place, item, unit), Reading(value, "", flag=flag))


# ---- rounds due


def rounds_due(site: Site) -> list[str]:
    return [due_words.what(one) for one in all_due.due_rounds(site, site.now())]


@pytest.mark.parametrize(
    ("now", "sentence", "overdue"),
    [
        ("05:00", "in 2 h", False),
        ("05:59", "in 1 h 01 min", False),
        ("06:00", "due now", False),
        ("07:00", "due now", False),
        ("08:00", "due now", False),
        ("08:01", "overdue 1 h 01 min", True),
        ("16:30", "overdue 9 h 30 min", True),
    ],
)
def test_a_round_is_still_to_come_then_due_then_overdue(
    small: Site, now: str, sentence: str, overdue: bool
) -> None:
    clock_shows(small, f"2026-05-10T{now}")
    first = all_due.due_rounds(small, small.now())[0]
    assert due_said([first], small.now()) == [("07:00 Morning round", sentence)]
    assert (first.kind, first.overdue) == (DueKind.ROUND, overdue)


def test_todays_rounds_come_in_the_order_of_their_times(room: Site) -> None:
    clock_shows(room, "2026-05-11T07:00")
    assert rounds_due(room) == [
        "07:00 Morning round",
        "10:00 Deep clean",
        "15:00 Afternoon round",
    ]


def test_a_round_of_certain_weekdays_is_due_on_those_alone(room: Site) -> None:
    for day, there in (("2026-05-11", True), ("2026-05-12", False), ("2026-05-10", False)):
        clock_shows(room, f"{day}T10:00")
        named = rounds_due(room)
        assert ("10:00 Deep clean" in named) is there


def test_a_round_begun_says_by_whom_and_a_signed_one_is_due_no_more(small: Site) -> None:
    walk = walking(small)
    clock_shows(small, "2026-05-10T09:30")
    assert due_said(all_due.due_rounds(small, small.now()), small.now())[0] == (
        "07:00 Morning round",
        "begun 07:00 by AB, not signed",
    )
    sign(walk)
    assert [due_words.what(one) for one in all_due.due_rounds(small, small.now())] == [
        "15:00 Afternoon round"
    ]
    clock_shows(small, "2026-05-11T07:00")
    assert "07:00 Morning round" in [
        due_words.what(one) for one in all_due.due_rounds(small, small.now())
    ]


def test_a_round_never_signed_is_told_for_a_week(small: Site) -> None:
    begin(small, small.plan.checklist("am"), "AB")
    assert all_due.left_unsigned(small, small.now()) == []
    for later, told in (("2026-05-11", True), ("2026-05-17", True), ("2026-05-18", False)):
        clock_shows(small, f"{later}T07:00")
        found = due_said(all_due.left_unsigned(small, small.now()), small.now())
        said = [("Morning round", "begun Sun 10 May 07:00 by AB, never signed")]
        assert found == (said if told else [])


# ---- checks due


def test_checks_of_every_few_days_are_told_when_due_the_latest_first(room: Site) -> None:
    def told() -> list[tuple[str, str]]:
        now = room.now()
        found = all_due.due_checks(room, now, room.reader.readings.newest_of_all())
        return due_said(found, now)

    assert ("Generator test run", "not done yet") in told()
    seen_before(room, "site", "generator", 0, "2026-05-09T17:00")
    seen_before(room, "T03", "scrub", 0, "2026-05-09T17:00")
    seen_before(room, "T02", "scrub", 0, "2026-05-07T17:00")
    assert told() == [("Wall scrub T02", "due today, last Thu 7 May 17:00")]
    clock_shows(room, "2026-05-16T07:00")
    assert told() == [
        ("Wall scrub T02", "overdue 6 d, last Thu 7 May 17:00"),
        ("Wall scrub T03", "overdue 4 d, last Sat 9 May 17:00"),
        ("Generator test run", "due today, last Sat 9 May 17:00"),
    ]


def test_a_check_for_an_age_is_not_told_of_a_tank_the_round_will_not_ask_it_of(
    room: Site,
) -> None:
    found = all_due.due_checks(room, room.now(), room.reader.readings.newest_of_all())
    assert sorted(due_words.what(one) for one in found) == [
        "Generator test run",
        "Wall scrub T02",
        "Wall scrub T03",
    ]


# ---- looks


def test_the_longest_gap_is_the_tank_nobody_looked_at_for_longest(small: Site) -> None:
    seen_before(small, "T01", "temp", 16.5, "2026-05-09T06:00")
    first = board(small).longest
    assert first is not None
    assert (first.tank.code, first.looked) == ("T02", None)
    seen_before(small, "T02", "do", 8.0, "2026-05-09T05:00")
    seen_before(small, "T02", "temp", 16.5, "2026-05-09T21:00")
    second = board(small).longest
    assert second is not None
    assert (second.tank.code, second.looked) == ("T01", moment("2026-05-09T06:00"))
    seen_before(small, "T01", "temp", 16.5, "2026-05-09T22:00")
    third = board(small).longest
    assert third is not None
    assert (third.tank.code, third.looked) == ("T02", moment("2026-05-09T21:00"))


def test_a_glance_is_a_look_and_a_not_taken_is_none(small: Site) -> None:
    walk = walking(small)
    walk.answer("+")
    walk.answer("/")
    walk.answer("2")
    looked = {t.tank.code: t.looked for t in board(small).tiles}
    assert looked == {"T01": moment("2026-05-10T07:00"), "T02": None}


def test_hours_since_a_look_are_counted_and_never_is_never(small: Site) -> None:
    seen_before(small, "T01", "temp", 16.5, "2026-05-09T19:00")
    looks = all_due.looks(small.plan, small.ledger.reader.readings.newest_of_all())
    assert [(look.place, look.hours(small.now())) for look in looks] == [
        ("T01", 12.0),
        ("T02", None),
    ]


# ---- what is wrong


def wrong(found: Board) -> list[tuple[str, str, str]]:
    return [(w.flag.short, w.place, w.sentence) for w in found.wrong]


def test_what_is_wrong_comes_worst_first_then_in_walking_order(room: Site) -> None:
    out_of_band(room, "T05", "do", 6.5, Flag.WATCH)
    out_of_band(room, "T03", "do", 6.6, Flag.WATCH)
    out_of_band(room, "L1", "sump", 30, Flag.WATCH)
    out_of_band(room, "T03", "temp", 27, Flag.URGENT)
    out_of_band(room, "T04", "do", 5.5, Flag.ACT)
    assert wrong(board(room)) == [
        ("!!!", "T03", "Temperature 27.0 degC"),
        ("!!", "T04", "Oxygen 5.5 mg/L"),
        ("!", "L1", "Sump level 30 cm"),
        ("!", "T03", "Oxygen 6.6 mg/L"),
        ("!", "T05", "Oxygen 6.5 mg/L"),
    ]


def test_a_newer_value_in_band_takes_the_flag_off_the_board(small: Site) -> None:
    walk = standing_at(small, "T01", "do")
    walk.answer("6.1")
    assert wrong(board(small)) == [("!", "T01", "Oxygen 6.1 mg/L")]
    walk.answer("7.4")
    assert wrong(board(small)) == []


def test_a_flag_stays_when_the_next_look_took_no_value(small: Site) -> None:
    out_of_band(small, "T01", "do", 6.1, Flag.WATCH)
    walk = standing_at(small, "T01", "do")
    walk.answer("/")
    walk.answer("2")
    assert wrong(board(small)) == [("!", "T01", "Oxygen 6.1 mg/L")]


def test_an_undone_value_does_not_stay_on_the_board(small: Site) -> None:
    walk = standing_at(small, "T01", "do")
    walk.answer("6.1")
    walk.undo()
    assert wrong(board(small)) == []


def test_a_flag_of_a_fortnight_ago_is_a_gap_and_no_longer_wrong_now(small: Site) -> None:
    out_of_band(small, "T01", "do", 6.1, Flag.WATCH, "2026-04-26T07:00")
    out_of_band(small, "T02", "do", 6.1, Flag.WATCH, "2026-04-26T06:59")
    assert [w.place for w in board(small).wrong] == ["T01"]


def test_a_tank_or_item_that_left_the_plan_is_not_on_the_board(small: Site) -> None:
    out_of_band(small, "T01", "do", 6.1, Flag.WATCH)
    out_of_band(small, "T02", "do", 6.1, Flag.WATCH)
    out_of_band(small, "T02", "temp", 26.5, Flag.URGENT)
    plan = small.plan
    small.plan = plan._replace(
        tanks=plan.tanks[1:], items=tuple(i for i in plan.items if i.code != "temp")
    )
    assert wrong(board(small)) == [("!", "T02", "Oxygen 6.1 mg/L")]


def test_each_tile_shows_its_tank_with_its_worst_flag_in_walking_order(room: Site) -> None:
    out_of_band(room, "T04", "do", 6.5, Flag.WATCH)
    out_of_band(room, "T04", "temp", 20, Flag.ACT)
    tiles = board(room).tiles
    assert [(t.tank.code, t.dph, t.flag.short) for t in tiles] == [
        ("T01", None, ""),
        ("T02", 30, ""),
        ("T04", 9, "!!"),
        ("T03", 30, ""),
        ("T06", None, ""),
        ("T05", 9, ""),
    ]
    assert tiles[2].items == ("Temperature 20.0 degC", "Oxygen 6.5 mg/L")


# ---- the rest of the board


def test_the_board_shows_the_unsigned_round_and_the_emergency_line(small: Site) -> None:
    assert board(small).unsigned is None
    walk = walking(small)
    found = board(small).unsigned
    assert found is not None
    assert (found.number, found.who) == (1, "AB")
    assert board(small).emergency == "Phone Ruth, 555-0100, day and night"
    sign(walk)
    assert board(small).unsigned is None


def test_what_is_altered_and_what_is_to_do_stand_apart(small: Site) -> None:
    now = small.now()
    entry = Entry("follow-up", "AB", now, now, "T01")
    small.record(entry, FollowUp("altered", "open", "lid off"))
    small.record(entry, FollowUp("action", "open", "change the probe"))
    found = board(small)
    assert [f.seen.text for f in found.altered] == ["lid off"]
    assert [f.seen.text for f in found.actions] == ["change the probe"]


def test_a_meter_that_failed_or_was_not_checked_for_two_days_is_named(small: Site) -> None:
    def check(meter: str, when: str, passed: bool) -> None:
        entry = Entry("calibration", "AB", moment(when), moment(when), SITE)
        small.record(entry, Calibration(meter, "oxygen", 100, 97, 100, "%", passed))

    def told() -> list[str]:
        return [meter_words.altered(one, small.now()) for one in board(small).meters]

    assert board(small).meters == ()
    check("A", "2026-05-08T07:00", True)
    check("B", "2026-05-09T07:00", False)
    assert told() == ["oxygen meter B failed its check Sat 9 May 07:00"]
    clock_shows(small, "2026-05-10T08:00")
    assert told() == [
        "oxygen meter A last checked 49 h ago",
        "oxygen meter B failed its check Sat 9 May 07:00",
    ]
    check("B", "2026-05-10T07:30", True)
    assert len(board(small).meters) == 1


def test_a_value_is_said_with_its_unit_its_word_or_its_reason(small: Site) -> None:
    walk = go_to(walking(small), "L1", "tan")
    walk.answer("<0.05")
    walk.answer("16.5")
    walk.answer("/")
    walk.answer("3")
    go_to(walk, "T01", "screen").answer("2")
    said = [value_words(slot.item, seen) for slot in walk.slots for seen in walk.of(slot)]
    assert said == ["< 0.05 mg/L as N", "16.5 degC", "could not", "cleaned"]


def test_a_word_that_left_the_plan_is_said_as_it_was_typed(small: Site) -> None:
    walk = go_to(walking(small), "T01", "screen")
    walk.answer("3")
    [seen] = walk.of(walk.slots[walk.at - 1])
    shorter = small.plan.item("screen")._replace(choices=("clean",))
    assert value_words(shorter, seen) == "fouled"


def test_a_quiet_finished_morning_leaves_nothing_wrong(small: Site) -> None:
    seen_before(small, "site", "generator", 0, "2026-05-09T19:00")
    sign(finish(walking(small)))
    found = board(small)
    assert found.wrong == ()
    assert due_said(found.due, found.now) == [("15:00 Afternoon round", "in 8 h")]
    assert {t.flag for t in found.tiles} == {Flag.OK}
