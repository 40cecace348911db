"""Corrections and late entries: both times, who and why, wherever a value is shown."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from page_support import give
from sheet_support import typed_in
from site_support import (
    GOOD,
    SMALL,
    clock_shows,
    go_to,
    moment,
    opened,
    seen_before,
    walk_drawn,
    walking,
)
from tankwalk import plain as plain_walk
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.pages import find as find_page
from tankwalk.pages import handover as handover_page
from tankwalk.pages import help as help_page
from tankwalk.pages import incident_words, story_words, tank_table
from tankwalk.pages import sheet as sheet_page
from tankwalk.pages.lines import plain
from tankwalk.practice.finding.finding import Finder
from tankwalk.practice.handover import drafting
from tankwalk.practice.handover.lines import FlagLine
from tankwalk.practice.incidents.incident import incident
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.past import view as past
from tankwalk.practice.site import Site
from tankwalk.practice.transcribing import beginning
from tankwalk.practice.transcribing.blank import blank
from tankwalk.practice.transcribing.sheet_walk import SheetWalk


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


# ---- what a handover says of them


def tasks(site: Site) -> list[str]:
    """The lines of a handover that tell of values entered late."""
    lines = handover_page.text_of(drafting.draft(site)).splitlines()
    return [one.strip() for one in lines if "entered late" in one or "typed in from paper" in one]


def test_a_value_entered_late_is_a_line_of_the_handover_and_says_which_lacked_it(
    room: Site,
) -> None:
    seen_late(room, 10)
    assert tasks(room) == [], "ten minutes are not late"
    clock_shows(room, "2026-05-10T08:00")
    give(room, "AB")
    clock_shows(room, "2026-05-10T09:30")
    seen_late(room, 120, "8.1")
    said = "1 value of 07:30 entered late, 09:30 by EF; all in band"
    assert tasks(room) == [f"{said}; the handover that AB gave 08:00 did not have it"]
    clock_shows(room, "2026-05-10T09:40")
    seen_late(room, 125, "8.2")
    give(room, "EF")
    assert len(tasks(room)) == 1
    assert tasks(room)[0].startswith("2 values of 07:30 entered late, 09:35 by EF")
    clock_shows(room, "2026-05-11T18:00")
    assert tasks(room) == [], "of the shift in which they were entered, and a day at least"


def test_a_round_from_paper_is_a_line_with_its_values_and_what_of_them_is_out(room: Site) -> None:
    clock_shows(room, "2026-05-10T08:00")
    give(room, "EF")
    clock_shows(room, "2026-05-10T14:20")
    checklist = room.plan.checklist("am")
    found = beginning.begin(room, checklist, "AB", "CD", moment("2026-05-10T07:00"))
    walk = SheetWalk(room, found, "AB", "CD")
    sheet = {(s.place, s.item.code): GOOD.get(s.item.code, "+") for s in walk.slots}
    for _ in typed_in(walk, sheet | {("T01", "do"): "4.4"}, lambda _: "+"):
        pass
    kept = room.reader.readings.of_round(found.number, found.first)
    many = sum(one.value is not None for one in kept)
    assert tasks(room) == [
        f"{many} values of Morning round of 07:00 typed in from paper 14:20 by CD; "
        "1 out of band: T01 Oxygen 4.4 mg/L; the handover that EF gave 08:00 did not have them"
    ]


# ---- beside the value that is taken


def test_a_look_before_says_beside_its_value_how_it_came_into_the_record(tmp_path: Path) -> None:
    """In a word, or its first letter where the past leaves no room; help says what they are."""
    with opened(tmp_path, SMALL, "2026-05-10T07:00") as site:
        for hour in range(24):
            seen_before(site, "T02", "do", 8.0, f"2026-05-09T{hour:02}:00")
        go_to(walking(site), "T02", "do").answer("8.3")
        walk = go_to(walking(site), "T02", "do")
        walk.answer("8.1")
        walk.answer("1")
        clock_shows(site, "2026-05-10T10:00")
        seen_late(site, 120)
        clock_shows(site, "2026-05-10T15:00")
        later = go_to(walking(site, code="pm"), "T02", "do")
        for size, amended, late in (
            ((80, 24), "amended 07:00 8.1", "late 07:30 8.0"),
            ((120, 40), "amended 07:00 8.1", "late 07:30 8.0"),
            ((60, 20), "amended 8 h 8.1", "l 8 h 8.0"),
        ):
            drawn = plain(walk_drawn(later, "", *size)).split("\n")
            for words in (amended, late):
                assert any(words in " ".join(row.split()) for row in drawn), "\n".join(drawn)
    told = plain(help_page.draw("walk", None, 80))
    assert "entered more than 15 min after it was seen" in told


# ---- what it was, wherever a corrected value is shown


def test_a_corrected_value_says_what_it_was_wherever_it_stands(tmp_path: Path) -> None:
    with opened(tmp_path, SMALL, "2026-05-10T07:00") as site:
        corrected(site, "7.9", "4.4")
        said = "was 7.9, amended 08:10 CD: mis-keyed"
        printed = plain(tank_table.draw(past.place_view(site, "T01", 14), 120))
        assert "4.4 !!! amended" in printed
        assert "Oxygen was 7.9 mg/L, amended 08:10 CD: mis-keyed; now 4.4." in printed
        assert "!!! URGENT  Oxygen 4.4 mg/L" in printed
        assert said in printed, "beside its flag"
        (flag,) = [one for one in drafting.draft(site).section("STOCK").lines
                   if isinstance(one, FlagLine)]  # fmt: skip
        assert said in handover_page.line_words(flag, site.now())
        assert said in plain(sheet_page.draw(blank(site, site.plan.checklist("am")), 100))
        about = incident(site, Key("place", "T01", "do"))
        assert about is not None
        told = [incident_words.told(one, ("T01",))[0] for one in about.story]
        assert any(said in one for one in told), told
        with closing(Finder(site, None)) as finder:
            for _ in finder.steps():
                pass
            found = plain(find_page.print_out(finder.find("mis-keyed"), 80))
        assert "reason: was 7.9, now 4.4" in found
        clock_shows(site, "2026-05-10T15:00")
        lines: list[str] = []
        plain_walk.walk(site, iter(["16.5"]), lines.append, "EF", "pm")
        assert any(said in one for one in lines), lines
