"""Lines of one's own on a handover, by number: what is asked, and where the words are kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import (
    SMALL,
    clock_shows,
    finish,
    moment,
    opened,
    seen_before,
    sign,
    standing_at,
    walking,
)
from tankwalk.ledger.entries import DoneAbout, Entry
from tankwalk.ledger.follow_up_kinds import FollowUpWhat
from tankwalk.pages.handover import draw, given, said
from tankwalk.pages.lines import plain
from tankwalk.practice.dialog import Asking, Hand
from tankwalk.practice.due.attendance import Away
from tankwalk.practice.handover import drafting, give_take
from tankwalk.practice.handover.drafting import GivenPage, draft
from tankwalk.practice.handover.handover_notes import SECTIONS
from tankwalk.practice.site import Site
from test_open_list import pressed

AB, CD, EF = "123"
STOCK, _, ALTERED, TO_DO, EXPECT, ADDED = "123456"
"""The sections by number, and what stands after them while something may be added."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path) as small:
        yield small


def line(site: Site, keys: str) -> Asking:
    return pressed(Asking(give_take.line(site, Hand())), keys)


def kept(site: Site) -> list[tuple[str, str, str]]:
    """The lines that stand: section, words, who."""
    return [(w.part, w.text, w.who) for w in site.reader.handovers.words(0)]


def test_a_line_is_kept_under_the_section_it_is_written_for(site: Site) -> None:
    asking = line(site, STOCK + CD)
    assert asking.step.choices == site.plan.canned_notes
    assert pressed(asking, "2").said == "Kept under STOCK, as CD adds it; / and 0 take it back."
    line(site, EXPECT + AB + "0fish come at ten=")
    assert kept(site) == [("STOCK", "feeder refilled", "CD"), ("EXPECT", "fish come at ten", "AB")]


def test_what_is_to_do_and_what_is_altered_is_carried_over(site: Site) -> None:
    line(site, TO_DO + AB + "1")
    line(site, ALTERED + AB + "52")
    found = site.reader.follow_ups.open()
    assert [(one.what, one.text, one.due_at) for one in found] == [
        (FollowUpWhat.ACTION, "look again in two hours", None),
        (FollowUpWhat.ALTERED, "lid off", moment("2026-05-10T09:00").utc),
    ]
    assert kept(site) == []
    pressed(Asking(give_take.to_do(site, Hand())), CD + "2")
    assert [one.text for one in site.reader.follow_ups.open()][-1] == "clean the screen"


@pytest.mark.parametrize(("now", "may"), [("2026-05-10T07:30", True), ("2026-05-10T07:31", False)])
def test_half_an_hour_long_the_giver_may_add_under_the_page(
    site: Site, now: str, may: bool
) -> None:
    assert line(site, "").step.choices == SECTIONS
    drafting.give(site, "AB", GivenPage("page", ()))
    clock_shows(site, now)
    asking = line(site, "")
    assert asking.step.choices == (*SECTIONS, *["add to the page AB gave at 07:00"] * may)
    if may:
        pressed(asking, ADDED + AB + "the lid is on again=")
        assert asking.said == "Added under the page, 07:30 AB."
        assert kept(site) == [("added", "the lid is on again", "AB")]


def test_the_last_line_is_taken_back_with_0(site: Site) -> None:
    line(site, STOCK + AB + "1")
    assert line(site, "0" + CD).said == "Taken back: siphoned late"
    assert kept(site) == []


# ---- what is asked before the room is given


def giving(site: Site) -> Asking:
    return Asking(give_take.give(site, draft(site), given))


def test_a_round_that_is_open_is_asked_about_before_the_room_is_given(site: Site) -> None:
    walking(site)
    talk = giving(site)
    assert "Morning round was begun 07:00 by AB and is not signed." in talk.step.told
    talk.type("1")
    assert (talk.over, talk.said) == (True, "Back: nothing was kept.")
    assert site.reader.handovers.last() is None
    talk = giving(site)
    talk.type("2")
    talk.type("1")
    assert talk.said.startswith("Given by AB.")


def test_enter_gives_the_room_as_the_one_who_has_it(site: Site) -> None:
    drafting.give(site, "AB", GivenPage("page", ()))
    last = site.reader.handovers.last()
    assert last is not None
    drafting.take(site, last, "CD", "in person")
    talk = giving(site)
    assert talk.step.enter == "CD, who has the room"
    assert pressed(talk, "=").said.startswith("Given by CD.")


def test_who_looks_at_what_is_out_of_band_is_asked_where_nobody_comes_for_long(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    for typed in ("6.6", "6.7"):
        walk.answer(typed)
    finish(walk)
    sign(walk)
    clock_shows(site, "2026-05-10T16:00")
    page = draft(site)
    assert page.away == Away(moment("2026-05-10T16:00"), moment("2026-05-11T07:00"))
    assert "Nobody here from 16:00 to Mon 07:00, 15 h." in plain(draw(page, 80))
    talk = giving(site)
    talk.type("1")
    assert talk.step.ask == "Who goes at 16:00?", "the look was due at 09:00: now"
    assert talk.step.told == "T01: nobody is to look before Mon 11 May 07:00."
    assert talk.step.choices[-1] == "nobody goes"
    talk.type("2")
    [look] = site.reader.follow_ups.open()
    assert (look.place, look.text, look.owner) == ("T01", "look at Oxygen again", "CD")
    page_kept = site.reader.handovers.last()
    assert page_kept is not None
    assert "T01 look at Oxygen again (CD, by" in page_kept.text, "the page that is kept says so"
    told = "Nobody here from 16:00 to Mon 07:00, 15 h, but CD at 16:00 to T01."
    assert told in " ".join(plain(draw(draft(site), 80)).split())
    assert draft(site).uncovered == (), "somebody goes: it is not asked again"
    clock_shows(site, "2026-05-10T17:01")
    assert draft(site).uncovered != (), "an hour late, CD did not go"
    assert " but CD" not in plain(draw(draft(site), 80))


def test_who_feeds_in_the_evening_is_there(tmp_path: Path) -> None:
    """A long stretch without anybody begins with the last meal, as with the last round."""
    meals = SMALL + "".join(f'\n[[meal]]\nat = "{at}"\n' for at in ("08:00", "17:00"))
    with opened(tmp_path, meals) as site:
        seen_before(site, "T01", "temp", 16.5, "2026-05-10T06:00")
        clock_shows(site, "2026-05-10T14:30")
        assert draft(site).away is None, "a round in half an hour, a meal after it"
        clock_shows(site, "2026-05-10T15:30")
        page = draft(site)
        assert page.away == Away(moment("2026-05-10T17:00"), moment("2026-05-11T07:00"))
        shown = plain(draw(page, 80))
        assert "Nobody here from 17:00 to Mon 07:00, 14 h." in shown
        assert "No check scheduled" not in shown, "one stretch is told once"


def test_that_nobody_goes_stands_on_the_page_too(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    for typed in ("6.6", "6.7"):
        walk.answer(typed)
    finish(walk)
    sign(walk)
    clock_shows(site, "2026-05-10T16:00")
    talk = giving(site)
    talk.type("1")
    talk.type(str(len(talk.step.choices)))
    page_kept = site.reader.handovers.last()
    assert page_kept is not None
    assert "Nobody looks at T01 before Mon 11 May 07:00." in page_kept.text


def test_a_call_and_what_was_done_about_a_flag_stand_below_it_on_the_page(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    for typed in ("6.6", "6.7"):
        walk.answer(typed)
    at = moment("2026-05-10T07:01")
    clock_shows(site, "2026-05-10T07:05")
    site.record(Entry("done", "AB", at, at, "T01", "do", "mg/L"), DoneAbout("valve opened", None))
    stock = [one.words for one in said(draft(site).section("STOCK"), site.now())]
    assert stock[1].startswith("T01 done: valve opened 07:01 (AB); Oxygen at T01 again by ")
