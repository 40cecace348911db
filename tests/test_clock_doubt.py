"""A clock that was set back, or leapt ahead: said on the board, asked before anything is kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import NOW, SMALL, clock_shows, entries, moment, opened, seen_before, tankwalk
from tankwalk import plain
from tankwalk.clock import AHEAD, ago_short, past
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, Note
from tankwalk.ledger.handovers import HandoverSeen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.pages import board as board_page
from tankwalk.pages import who as who_page
from tankwalk.pages.lines import plain as words_of
from tankwalk.pages.room_words import waiting, with_whom
from tankwalk.pages.when import age_words
from tankwalk.practice.board import board
from tankwalk.practice.site import SITE, Site
from tankwalk.screens.board import BoardScreen
from tankwalk.screens.clock import ClockScreen
from tankwalk.screens.feed_pages import FeedWeekScreen, RationScreen, TomorrowScreen
from tankwalk.screens.find import FindScreen
from tankwalk.screens.help import HelpScreen
from tankwalk.screens.season import SeasonScreen
from tankwalk.screens.still import StillScreen
from tankwalk.screens.tank import TankScreen
from tankwalk.screens.trial import TrialScreen
from tankwalk.screens.workings import WorkingScreen, WorkingsScreen
from test_actions import SCREENS
from test_screens import Room, at_the_screen


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """A room whose last entry is of Sunday noon, by CD; its clock then reads seven."""
    with opened(tmp_path / "site", SMALL, "2026-05-10T12:00") as at:
        seen_before(at, "T01", "temp", 16.4, "2026-05-10T12:00")
        clock_shows(at, NOW)
        yield at


def marks(site: Site) -> list[tuple[object, ...]]:
    """The marks of a clock that a person answered for."""
    found = entries(site, "who, reason, n")
    texts = dict(site.ledger.db.execute("SELECT entry, text FROM note"))
    return [(who, texts[n]) for who, reason, n in found if reason == "clock"]


def board_text(site: Site) -> str:
    return " ".join(words_of(board_page.draw(board(site), 80, None)).split())


@pytest.mark.parametrize(
    ("now", "asked"),
    [
        ("2026-05-10T11:59", False),
        ("2026-05-10T11:58", False),
        ("2026-05-10T11:57", True),
        ("2026-05-10T11:00", True),
        ("1990-01-01T06:00", True),
        ("2026-05-24T12:00", False),
        ("2026-05-24T12:01", True),
        ("2062-05-10T12:00", True),
    ],
)
def test_two_minutes_back_and_two_weeks_ahead_are_no_doubt(
    site: Site, now: str, asked: bool
) -> None:
    clock_shows(site, now)
    assert (site.clock_doubt() is not None) == asked
    assert ("CLOCK? It reads" in board_text(site)) == asked


def test_an_empty_record_says_nothing_against_any_clock(tmp_path: Path) -> None:
    with opened(tmp_path / "site", SMALL, "1990-01-01T06:00") as at:
        assert at.clock_doubt() is None


def test_the_board_says_what_speaks_against_the_clock_and_no_age_of_what_is_ahead(
    site: Site,
) -> None:
    seen_before(site, "T02", "temp", 16.4, "2026-05-10T12:00")
    said = board_text(site)
    assert (
        "CLOCK? It reads Sun 10 May 2026, 07:00. The last entry, by CD, is of Sun 10 May 2026, "
        "12:00: 5 h ahead of it. Asked before anything is kept." in said
    )
    assert "ok 0m" not in said
    assert "T01 ? T02" in said
    assert "longest unchecked not known by this clock" in " ".join(said.split())
    assert "WRONG nothing, by this clock" in " ".join(said.split())
    assert [ago_short(hours) for hours in (-5, -0.04, -0.03, 0)] == ["?", "?", "0m", "0m"]


def test_no_length_is_said_of_what_is_ahead_of_the_clock(site: Site) -> None:
    """A length has no direction: the room "given 28 h ago" was given in 28 hours."""
    given = moment("2026-05-10T16:05")
    back = HandoverSeen(1, "page", given, "RO", None, None, None)
    for now, room, waits in (
        ("2026-05-10T16:10", "RO gave it 16:05, 5 min ago", "NOT ACCEPTED for 5 min"),
        ("2026-05-10T07:00", "RO gave it 16:05, ahead of this clock",
         "ahead of this clock, not accepted yet"),
    ):  # fmt: skip
        assert with_whom(back, moment(now)).text == f"not taken over: {room}"
        assert waiting(given, moment(now)) == waits
    assert [past(hours) for hours in (-28, -0.03, 0.5)] == [AHEAD, "just now", "30 min ago"]
    assert age_words(-28) == "?"


def test_a_clock_set_back_while_the_program_is_open_lets_nothing_be_kept(site: Site) -> None:
    before = len(entries(site))
    now = site.now()
    with pytest.raises(Refusal, match=r"nothing was kept\. Go to the board"):
        site.record(Entry("note", "AB", now, now, SITE), Note("lid off"))
    assert len(entries(site)) == before


def line_by_line(site: Site, *answers: str) -> tuple[int, list[str]]:
    said: list[str] = []
    return plain.walk(site, iter(answers), said.append, "CD", "pm"), said


def test_the_plain_walk_asks_and_keeps_a_mark_before_the_first_value(site: Site) -> None:
    status, said = line_by_line(site, "what?", "1", "16.5")
    assert said[0] == (
        "The clock reads Sun 10 May 2026, 07:00. The last entry, by CD, is of Sun 10 May 2026, "
        "12:00: 5 h ahead of it. Is the clock right? 1 the clock is right: go on, with a mark in "
        "the record; 2 stop, and set the clock"
    )
    assert said[1] == said[0]
    assert status == 1
    assert marks(site) == [
        ("CD", "The clock is right, says CD. The last entry before, Sun 10 May 2026, 12:00, is "
               "later than this."),
    ]  # fmt: skip
    assert [kind for (kind,) in entries(site)][-3:] == ["note", "round", "reading"]
    assert site.clock_doubt() is None


@pytest.mark.parametrize("answers", [("2",), (), ("", "2")])
def test_the_plain_walk_keeps_nothing_where_the_clock_is_to_be_set(
    site: Site, answers: tuple[str, ...]
) -> None:
    before = entries(site)
    status, said = line_by_line(site, *answers)
    assert status == 1
    assert said[-1] == "Nothing was kept: set the clock, then start again."
    assert entries(site) == before


def test_a_command_that_keeps_is_refused_with_what_to_do(site: Site, tmp_path: Path) -> None:
    folder = str(site.folder)
    ran = tankwalk(
        tmp_path, "meters", "A", "--found", "8.2", "--who", "AB", "--site", folder, "--now", NOW
    )
    assert ran.returncode == 2
    assert b"Nothing was kept: set the clock, or open tankwalk" in ran.stderr
    assert len(ran.stderr.splitlines()) == 1


@pytest.mark.parametrize("key", ["enter", "3", "5", "6"])
def test_every_way_from_the_board_to_where_something_is_kept_asks_first(
    site: Site, key: str
) -> None:
    before = entries(site)

    async def act(room: Room) -> None:
        assert "CLOCK? It reads Sun 10 May 2026, 07:00." in room.flowing
        await room.press(key)
        assert "Is the clock right?" in room.text
        await room.press("enter")
        assert "nothing is kept by silence" in room.text
        await room.press("2")
        assert room.page.scope == "board"
        assert "Nothing is kept until the clock is set" in room.flowing
        await room.press(key, "escape")
        assert room.page.scope == "board"

    at_the_screen(site, act)
    assert entries(site) == before


def test_saying_that_the_clock_is_right_leads_on_and_is_asked_once(site: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("enter", "1")
        assert "Who says so?" in room.text
        await room.press("2")
        assert room.page.scope == "who"
        assert len(marks(site)) == 1
        await room.press("escape", "3")
        assert room.page.scope == "handover"
        await room.press("escape")
        assert "CLOCK?" not in room.text

    at_the_screen(site, act)
    assert marks(site)[0][0] == "CD"


def test_no_page_where_something_is_kept_opens_by_a_clock_in_doubt() -> None:
    free = {scope for scope, screen in SCREENS.items() if not screen.keeps}
    pages = (
        BoardScreen, HelpScreen, ClockScreen, WorkingsScreen, WorkingScreen, TomorrowScreen,
        RationScreen, FeedWeekScreen, FindScreen, SeasonScreen, StillScreen, TankScreen,
        TrialScreen,
    )  # fmt: skip
    assert free == {vars(page)["scope"] for page in pages}


@pytest.mark.parametrize(
    ("now", "said"),
    [
        ("2026-05-10T06:52", "Begun by PB at 06:50, 2 min ago, not signed yet."),
        (
            "1990-01-01T06:00",
            "Begun by PB on Sun 10 May 2026, 06:50, which is ahead of this clock, not signed yet.",
        ),
    ],
)
def test_a_round_begun_ahead_of_the_clock_is_told_by_its_date(
    site: Site, now: str, said: str
) -> None:
    [asked, *_] = site.plan.checklists
    begun = RoundSeen(1, 1, asked.code, "PB", moment("2026-05-10T06:50"), None, None)
    page = who_page.draw(site.plan.people, asked, begun, "", "", "", moment(now), (80, 24))
    assert said in " ".join(words_of(page).split())
