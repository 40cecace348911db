"""The season entered act by act: each incident is told in time, ordinary days are quiet.

The season, its incidents and the times at which they have to be told are those of the invented
scenario; the budget of flags is common practice, no source.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

import pytest

from shared_support import kept
from tankwalk.practice.judging.verdict import Flag
from tankwalk_demo.days import moment, on
from tankwalk_demo.replay import Overdue, Raised, by_day, days, line, replay

pytestmark = pytest.mark.long

INCIDENT_DAYS = [8, 12, 14, 15]
"""Days on which what is due is looked at: those of the incidents that are told so."""


class Told(NamedTuple):
    """What came up while the season was entered."""

    flags: list[Raised]
    overdue: list[Overdue]


def _entered(folder: Path) -> Told:
    found = replay(folder, days_of_due=[on(day) for day in INCIDENT_DAYS])
    return Told(found.flags, found.overdue)


@pytest.fixture(scope="module")
def seen() -> Told:
    """Entered once a run: it takes ten seconds, and the tests of a file go to two processes."""
    return kept("replay", _entered)


def first(found: list[Raised] | list[Overdue], place: str, words: str) -> Raised | Overdue:
    """The first message of a place that says something."""
    return next(
        one
        for one in found
        if place in (one.place if isinstance(one, Raised) else one.what)
        and re.search(words, one.sentence)
    )


@pytest.mark.parametrize(
    ("place", "words", "day", "latest"),
    [
        ("meter B", "one meter, same direction: suspect oxygen meter B", 12, "07:55"),
        ("T07", r"Water below rim 4\.5 cm", 20, "15:05"),
        ("T07", r"Oxygen 6\.1 mg/L.*fell 2\.2 since last", 21, "06:55"),
        ("T07", "64 dead, 7 times its usual 10", 21, "06:58"),
        ("L1", r"NH3-N 0\.03.*12 of 12 tanks; TAN 0\.55 mg/L as N in band", 24, "11:00"),
    ],
)
def test_the_flag_of_each_incident_is_up_in_time(
    seen: Told, place: str, words: str, day: int, latest: str
) -> None:
    found = first(seen.flags, place, words)
    assert found.at <= moment(day, latest, 59), line(found)


@pytest.mark.parametrize(
    ("what", "words", "day", "latest"),
    [
        ("T04 feed", "overdue", 8, "10:00"),
        ("deviation", "wrong feed T05", 8, "08:15"),
        ("oxygen meter B", "check|overdue", 12, "06:00"),
        ("Cone A0503 out of band", r"23\.0 degC under 25, pH 7\.6", 14, "21:15"),
        ("Cone A0503 harvest", "expect instar II", 15, "10:30"),
        ("Cone A0503", "% short for every live-fed tank; chilled reserve, extra cone", 15, "13:15"),
    ],
)
def test_what_is_overdue_in_an_incident_is_told_in_time(
    seen: Told, what: str, words: str, day: int, latest: str
) -> None:
    found = first(seen.overdue, what, words)
    assert found.at <= moment(day, latest, 59), line(found)


def test_the_drifting_meter_flags_no_tank_and_is_one_message(seen: Told) -> None:
    between = [one for one in seen.flags if 10 <= one.day <= 15]
    assert [one.place for one in between] == ["meter B", "T03"]
    assert between[1].sentence == "Glance odd"  # larvae on the wall, another story


def test_the_overdose_is_a_few_messages_for_the_loop_and_not_one_a_tank(seen: Told) -> None:
    after = [one for one in seen.flags if one.day == 24]
    assert {one.place for one in after if one.flag >= Flag.ACT} == {"L1"}
    # Two tanks before the third shows that it is the loop, and one as it comes back.
    assert len(after) <= 7


def test_the_decoys_are_quiet(seen: Told) -> None:
    said = [(one.day, one.place, one.sentence) for one in seen.flags]
    dying_off = [one for one in said if "dead" in one[2] and one[0] <= 9]
    cooler_block = [one for one in said if "Temperature" in one[2]]
    not_confirmed = [one for one in said if one[0] == 17]
    assert (dying_off, cooler_block, not_confirmed) == ([], [], [])
    assert not [one for one in said if "Light" in one[2] or "Footbath" in one[2]]


def test_an_ordinary_day_keeps_to_the_budget(seen: Told) -> None:
    over = [day.number for day in by_day(seen.flags) if not day.within_budget]
    assert over == [21, 24]  # the blocked screen and the overdose
    assert sum(day.watch for day in by_day(seen.flags)) <= 20
    table = days(seen.flags)
    assert re.search(r"^ 24 +\d+ +2   over$", table, re.MULTILINE)
    assert len(table.splitlines()) == 32
