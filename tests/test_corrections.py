"""Corrections and late entries: both times, who and why, wherever a value is shown."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import SMALL, clock_shows, go_to, moment, opened, walking
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.pages import handover as handover_page
from tankwalk.pages import story_words, tank_table
from tankwalk.pages.lines import plain
from tankwalk.practice.handover import drafting
from tankwalk.practice.past import view as past
from tankwalk.practice.site import Site


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, SMALL, "2026-05-10T07:00") as site:
        yield site


def corrected(site: Site, first: str = "8.4", then: str = "8.1") -> None:
    """AB reads oxygen in T01, and CD sees an hour later that it was mis-keyed."""
    go_to(walking(site), "T01", "do").answer(first)
    clock_shows(site, "2026-05-10T08:10")
    walk = go_to(walking(site, "CD"), "T01", "do")
    walk.answer(then)
    walk.answer("1")


def seen_late(site: Site, minutes: int, typed: str = "8.0") -> None:
    """Oxygen of T02, seen at 07:30 and entered so many minutes after."""
    at = moment("2026-05-10T07:30")
    entered = at._replace(utc=at.utc + minutes * 60)
    entry = Entry("reading", "EF", at, entered, "T02", "do", "mg/L")
    site.record(entry, Reading(float(typed), typed), sure=True)


def story(site: Site, place: str) -> list[str]:
    told = past.place_view(site, place, 14).story
    return [f"{one.at.hm()} {one.who} {story_words.told(one, place).whole}" for one in told]


def page(site: Site) -> str:
    return plain(handover_page.draw(drafting.draft(site), 200))


def test_a_correction_stands_in_the_story_of_its_tank_with_what_it_was(room: Site) -> None:
    corrected(room)
    said = "08:10 CD Oxygen was 8.4 mg/L, amended 08:10 CD: mis-keyed; now 8.1"
    assert said in story(room, "T01")
    assert not any("amended" in one for one in story(room, "T02"))


def test_a_correction_of_the_shift_stands_on_its_handover(room: Site) -> None:
    corrected(room)
    assert "T01 Oxygen was 8.4 mg/L, amended 08:10 CD: mis-keyed; now 8.1" in page(room)


def test_what_was_undone_at_once_is_no_line_of_the_handover(room: Site) -> None:
    walk = go_to(walking(room), "T01", "do")
    walk.answer("8.4")
    walk.undo()
    assert "taken back" not in page(room)
    assert any("taken back 07:00 AB: undone" in one for one in story(room, "T01"))


@pytest.mark.parametrize(("minutes", "late"), [(15, False), (16, True), (120, True)])
def test_what_is_entered_more_than_a_quarter_of_an_hour_later_is_late(
    room: Site, minutes: int, late: bool
) -> None:
    clock_shows(room, "2026-05-10T10:00")
    seen_late(room, minutes)
    told = [one for one in story(room, "T02") if "late" in one]
    assert bool(told) == late
    printed = plain(tank_table.draw(past.place_view(room, "T02", 14), 100))
    assert ("late: Oxygen" in printed) == late
    if minutes == 120:
        assert told == ["09:30 EF Oxygen 8.0 mg/L seen 07:30, entered 09:30: late 2 h"]


def test_a_correction_is_not_late_itself(room: Site) -> None:
    corrected(room)
    assert not any("late" in one for one in story(room, "T01"))
