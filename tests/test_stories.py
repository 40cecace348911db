"""One line for one story: all that is out at a tank, with what was altered, noted and stopped."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import NOW, opened
from tankwalk.ledger.entries import Entry, Note, Reading
from tankwalk.pages import handover as handover_page
from tankwalk.pages import open_list as open_page
from tankwalk.pages.board import draw
from tankwalk.pages.lines import plain
from tankwalk.practice.board import board
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.handover.drafting import draft
from tankwalk.practice.incidents import acting
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.open_list import OpenSection, open_list
from tankwalk.practice.site import Site
from weighing_support import PLAN, later, remembered, walked

FED = PLAN.replace(
    'first_response = "Open the oxygen."', 'when_low = ["Open the oxygen.", "Stop the feed."]'
) + (
    '\n[[feed]]\ncode = "ART"\nlabel = "Artemia"\nkind = "live"\ndph = [0, 60]\n'
    '[[meal]]\nat = "09:00"\n[[meal]]\nat = "15:00"\n'
)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path / "room", PLAN, NOW) as one:
        for tank in ("T05", "T06"):
            for hours in (40, 32, 24, 16):
                remembered(one, tank, "do", 8.6, hours)
        yield one


def wrong(site: Site) -> list[str]:
    """The rows of the board's WRONG."""
    rows = [row.strip() for row in plain(draw(board(site), 100, None)).splitlines()]
    first = next(nth for nth, row in enumerate(rows) if row.startswith("WRONG"))
    last = next(nth for nth, row in enumerate(rows) if nth > first and row.startswith("TANKS"))
    return [row for row in rows[first + 1 : last] if row]


def noted(site: Site, place: str, words: str) -> None:
    now = site.now()
    site.record(Entry("note", "AB", now, now, place), Note(words))


def test_what_is_out_at_one_tank_is_one_story_the_worst_first(site: Site) -> None:
    now = site.now()
    level = Reading(5.2, "5.2", flag=2)
    site.record(Entry("reading", "AB", now, now, "T05", "level", "cm"), level)
    walked(site, lambda _: 5.8, tanks=["T05"])
    [story] = board(site).stories
    assert story.worst.flag is Flag.ACT
    assert [(one.key.item, one.flag) for one in story.also] == [("level", Flag.WATCH)]
    rows = wrong(site)
    assert sum(row.startswith(("!", "!!")) and "T05" in row for row in rows) == 1
    assert any("! Water below rim 5.2 cm" in row for row in rows)
    assert any(row.startswith("do") and "Open the oxygen" in row for row in rows)


def test_flags_of_two_tanks_are_two_stories(site: Site) -> None:
    walked(site, lambda _: 6.8, tanks=["T05", "T06"])
    assert [one.worst.place for one in board(site).stories] == ["T05", "T06"]


def test_the_newest_note_of_the_tank_or_its_loop_belongs_to_its_story(site: Site) -> None:
    noted(site, "T07", "elsewhere")
    noted(site, "T05", "fish at the surface")
    walked(site, lambda _: 6.8, tanks=["T05"])
    assert "Note 07:00 AB: fish at the surface." in wrong(site)
    later(site, 1)
    noted(site, "L1", "blower is off")
    assert "Note 08:00 AB: blower is off." in wrong(site)


def test_a_note_of_long_before_the_flag_is_none_of_its_story(site: Site) -> None:
    noted(site, "T05", "lid was cracked")
    later(site, 13)
    walked(site, lambda _: 6.8, tanks=["T05"])
    assert board(site).stories[0].note is None


def test_what_was_altered_there_and_is_overdue_belongs_to_it(site: Site) -> None:
    follow_ups.open_altered(site, "AB", "valve half shut", "T05", site.now().utc + 3600)
    walked(site, lambda _: 6.8, tanks=["T05"])
    assert board(site).stories[0].altered == ()
    later(site, 3)
    assert "altered: valve half shut, back overdue 2 h." in " ".join(wrong(site))
    [story] = board(site).stories
    assert [one.seen.text for one in story.altered] == ["valve half shut"]


def test_a_tank_whose_feed_was_stopped_says_since_when(tmp_path: Path) -> None:
    with opened(tmp_path / "fed", FED, NOW) as site:
        remembered(site, "T05", "do", 8.6, 16)
        walked(site, lambda _: 6.8, tanks=["T05"])
        assert board(site).stories[0].feed is None
        [incident] = board(site).incidents
        later(site, 0.5)
        acting.did(site, "MV", incident, incident.steps[1].words, 2)
        assert "No feed since 07:30 (MV)." in wrong(site)


# ---- where else flags are told


def level_and_oxygen(site: Site) -> None:
    """T06 short of oxygen and its level off, T05 short of oxygen, a valve there not put back."""
    follow_ups.open_altered(site, "AB", "valve half shut", "T06", site.now().utc + 3600)
    later(site, 3)
    now = site.now()
    level = Reading(5.2, "5.2", flag=2)
    site.record(Entry("reading", "AB", now, now, "T06", "level", "cm"), level)
    walked(site, lambda tank: 5.8 if tank == "T06" else 6.8, tanks=["T05", "T06"])


def test_a_handover_tells_the_flags_of_one_tank_in_one_line(site: Site) -> None:
    level_and_oxygen(site)
    text = handover_page.text_of(draft(site))
    told = [row for row in text.splitlines() if row.startswith(("  T06 !", "  T05 !"))]
    assert len(told) == 2
    assert told[0].startswith("  T06 !! ACT  Oxygen 5.8 mg/L")
    assert ". ! Water below rim 5.2 cm" in told[0]
    shown = plain(handover_page.draw(draft(site), 120))
    assert ". ! Water below rim 5.2 cm" in shown


def test_the_open_list_has_the_flags_of_one_tank_together_each_with_its_number(site: Site) -> None:
    level_and_oxygen(site)
    seen = open_list(site)
    rows = [row for _, row in seen.of(OpenSection.FLAGS)]
    flags = [row.about for row in rows if isinstance(row.about, Standing)]
    assert [f"{one.place} {one.key.item}" for one in flags] == ["T06 do", "T06 level", "T05 do"]
    said = [open_page.terms(row, seen) for row in rows]
    assert said[0].endswith(". altered: valve half shut, back overdue 2 h")
    assert [" altered: " in words for words in said] == [True, False, False]
