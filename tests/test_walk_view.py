"""What a page shows of a walk: one frozen value, and a page that asks nothing while it draws."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Iterator
from datetime import date
from enum import Enum
from pathlib import Path

import pytest
from textual.pilot import Pilot

from site_support import (
    again,
    asked_of,
    clock_shows,
    finish,
    go_to,
    good_answer,
    moment,
    opened,
    seen_before,
    sign,
    standing_at,
    walk_drawn,
    walking,
)
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.pages import walk as page
from tankwalk.pages.lines import plain
from tankwalk.pages.walk_past import MAIN, PICTURED, SHAPE, room_of
from tankwalk.plan.kinds import Kind
from tankwalk.practice.round import rounds
from tankwalk.practice.round.held import Snapshot
from tankwalk.practice.round.view import EndView, StopView
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site
from tankwalk.screens import ahead
from tankwalk.screens.app import TankwalkApp
from tankwalk.screens.walk import WalkScreen
from weighing_support import checked

SIZES = ((80, 24), (60, 20), (120, 40), (200, 60))

PLAIN = (str, int, float, type(None), date, Enum)
"""What a frozen value may hold besides tuples of the same: none of it can change."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path) as room:
        for tank in ("T01", "T02"):
            seen_before(room, tank, "temp", 16.4, "2026-05-09T20:00")
            seen_before(room, tank, "do", 8.2, "2026-05-09T20:00")
        yield room


def stop_of(walk: Walk) -> StopView:
    here = walk.view().here
    assert isinstance(here, StopView)
    return here


def end_of(walk: Walk) -> EndView:
    here = walk.view().here
    assert isinstance(here, EndView)
    return here


def changeable(value: object, where: str = "view") -> list[str]:
    """Which parts of a value could be changed, by name."""
    if isinstance(value, Kind):
        return []  # it is one of a few, and what it holds besides words are functions
    if isinstance(value, tuple):
        names = getattr(value, "_fields", range(len(value)))
        return [
            bad
            for name, part in zip(names, value, strict=True)
            for bad in changeable(part, f"{where}.{name}")
        ]
    return [] if isinstance(value, PLAIN) else [f"{where}: {type(value).__name__}"]


def round_in_every_state(site: Site) -> Iterator[tuple[str, Walk]]:
    """A round as it is asked, flagged, asked again, corrected, noted, ended and signed."""
    walk = walking(site)
    yield "the glance lap", walk
    go_to(walk, "T01", "temp").answer("62.1")
    yield "a slip", walk
    walk.back()
    walk.answer("16.5")
    walk.answer("6.1")
    yield "asked again", walk
    walk.answer("/")
    yield "no second reading", walk
    walk.answer("2")
    go_to(walk, "T01", "temp").answer("16.7")
    yield "a correction", walk
    walk.back()
    walk.answer("-")
    yield "a problem", walk
    walk.note()
    yield "a note", walk
    walk.back()
    yield "the end", finish(go_to(walk, "T01", "flow"))
    yield "signed", sign(walk)


# ---- drawing asks nothing


def test_a_page_is_drawn_from_its_view_and_the_record_is_asked_nothing(site: Site) -> None:
    for what, walk in round_in_every_state(site):
        for width, height in SIZES:
            view = walk.view(*room_of(width, height))
            with asked_of(site.ledger.db) as asked:
                for typed in ("", "1", "12", "12.5"):
                    page.draw(view, typed, width, height)
            assert asked == [], what


def test_a_stop_come_to_is_asked_for_once_and_not_again_for_a_digit_or_a_question(
    site: Site,
) -> None:
    walk = go_to(walking(site), "T01", "do")
    with asked_of(site.ledger.db) as first:
        walk.view(20)
    assert len(first) > len(stop_of(walk).lines), "each line's past, the meters and the history"
    with asked_of(site.ledger.db) as more:
        walk.view(20)
        walk.answer("/")
        walk.view(20)
        walk.back()
        walk.view(20)
    assert more == []


def test_a_page_can_be_drawn_when_the_record_is_closed(tmp_path: Path) -> None:
    with opened(tmp_path) as site:
        walk = standing_at(site, "T01", "temp")
        open_page = walk_drawn(walk, "1", 120, 40)
        view = walk.view(*room_of(120, 40))
    with pytest.raises(sqlite3.ProgrammingError):
        site.ledger.db.execute("SELECT 1")
    assert page.draw(view, "1", 120, 40) == open_page


def test_twenty_digit_keys_ask_the_record_nothing(site: Site) -> None:
    async def whole() -> tuple[list[str], list[str], str]:
        first = (rounds.begin(site, site.plan.checklist("am"), "AB"), "AB")
        app = TankwalkApp(site, first)
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.pause(4 * ahead.TIMERS_SECONDS)  # what runs by the clock was read
            screen = app.screen
            assert isinstance(screen, WalkScreen)
            go_to(screen.walk, "T01", "temp")
            with asked_of(site.ledger.db) as arriving:
                screen.draw()
            while app.reads_ahead:  # what the next Enter shows, while nobody types
                await pilot.pause(ahead.READ_SECONDS)
            app.reads_ahead = True  # as if it went on: between keys nothing is read that a key asks
            with asked_of(site.ledger.db) as typing:
                for digit in "12345678901234567890":
                    await press(pilot, digit)
            return arriving, typing, screen.sheet.text()

    arriving, typing, shown = asyncio.run(whole())
    assert arriving, "what the record is asked is counted"
    assert typing == []
    assert "12345678901234567890_" in shown


# ---- what is read ahead


def read_ahead(walk: Walk, size: tuple[int, int] = (80, 24)) -> None:
    """Draw the walk, and read all that is read ahead of the next key while nobody types."""
    walk.view(*room_of(*size))
    for _ in walk.ahead(*room_of(*size)):
        pass


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_what_was_read_ahead_is_not_asked_again_after_an_enter_and_at_the_next_stop(
    site: Site, size: tuple[int, int]
) -> None:
    walk = go_to(walking(site), "T01", "temp")
    for keys in ("16.5", "right"):
        read_ahead(walk, size)
        if keys == "right":
            walk.move(keys)
        else:
            walk.answer(keys)
        with asked_of(site.ledger.db) as after:
            walk.view(*room_of(*size), worked=False)
        assert after == []


def again_elsewhere(other: Site, way: str) -> None:
    """What somebody else does on the office's laptop that bears on the temperature of T02."""
    at, now = moment("2026-05-09T20:00"), other.now()
    old = other.reader.readings.newest("T02", "temp", "degC")
    assert old is not None
    if way == "another reading":
        seen_before(other, "T02", "temp", 17.9, "2026-05-10T05:00")
    elif way == "a correction":
        other.record(
            Entry("reading", "CD", at, now, "T02", "temp", "degC", None, old.n, "mis-keyed"),
            Reading(15.1, ""),
        )
    else:
        checked(other, "B", passed=False)


@pytest.mark.parametrize("by", ["right", "Enter"])
@pytest.mark.parametrize(
    ("way", "item"),
    [("another reading", "temp"), ("a correction", "temp"), ("a meter that failed", "do")],
)
def test_what_another_laptop_does_after_it_was_read_ahead_is_shown(
    site: Site, tmp_path: Path, way: str, item: str, by: str
) -> None:
    last = [slot for slot in walking(site).slots if slot.place == "T01"][-1]
    walk = go_to(walking(site), "T01", last.item.code)
    read_ahead(walk, (120, 40))
    stood = walk_drawn(standing_at(site, "T02", item), "", 120, 40)
    with opened(tmp_path, laptop="office") as other:
        again_elsewhere(other, way)
    if by == "right":
        walk.move("right")
    else:
        walk.answer(good_answer(walk))
    assert (walk.slot.place, walk.slot.item.code) == ("T02", "temp")
    anew = walk_drawn(go_to(again(walk), "T02", item), "", 120, 40)
    shown, rows = walk_drawn(go_to(walk, "T02", item), "", 120, 40), slice(2, 19)
    assert plain(shown[rows]) == plain(anew[rows])
    assert plain(shown[rows]) != plain(stood[rows])


async def press(pilot: Pilot[str], key: str) -> None:
    await pilot.press(key)
    await pilot.pause()


# ---- a view is frozen


def test_a_view_holds_nothing_that_can_change_and_can_be_hashed(site: Site) -> None:
    seen = set()
    for what, walk in round_in_every_state(site):
        view = walk.view(20)
        assert changeable(view) == [], what
        seen.add(view)
    assert len(seen) == 9


def test_the_look_for_what_can_change_finds_it() -> None:
    assert changeable((1, ("a", [2]))) == ["view.1.1: list"]
    assert changeable(({},)) == ["view.0: dict"]


def test_a_view_shows_what_stood_when_it_was_made_whatever_happens_after(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    view = walk.view()
    before = page.draw(view, "", 80, 24)
    walk.answer("16.5")
    assert page.draw(view, "", 80, 24) == before
    assert page.draw(walk.view(), "", 80, 24) != before


def test_two_programs_that_know_the_same_of_a_round_have_equal_views(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.answer("6.1")
    mine, theirs = walk.view(20), again(walk).view(20)
    assert theirs._replace(said=mine.said) == mine
    assert hash(theirs._replace(said=mine.said)) == hash(mine)


def test_a_view_stays_the_same_until_an_act_a_look_at_the_record_or_another_minute(
    site: Site,
) -> None:
    walk = standing_at(site, "T01", "temp")
    view = walk.view(20)
    assert walk.view(20) is view
    clock_shows(site, "2026-05-10T07:01")
    later = walk.view(20)
    assert (later.now.hm(), later.here) == ("07:01", view.here)
    for act in (
        lambda: walk.answer("16.5"), lambda: walk.move("up"), walk.note, walk.back, walk.undo,
        walk.next_meter, walk.reload,
    ):  # fmt: skip
        known = walk.view(20)
        act()
        assert walk.view(20) is not known, act


# ---- what it says


def test_a_stop_says_what_is_held_what_was_before_and_what_is_wanted_again(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.answer("6.1")
    view, stop = walk.view(20), stop_of(walk)
    assert (view.label, view.who, view.done, view.asked) == ("Morning round", "AB", 2, 14)
    assert (view.flags, stop.number, view.stops) == (1, walk.page_of[walk.at] + 1, 5)
    assert (stop.title, stop.age, stop.at) == ("T01", 9, 1)
    temp, do, *rest = stop.lines
    assert [s.typed for s in temp.held] == ["16.5"]
    assert temp.before is not None
    assert temp.before.value == 16.4
    assert do.again
    assert stop.entry.line is do
    assert stop.entry.meter == "A"
    assert not any(line.held or line.again or line.before for line in rest)
    past = walk.view(20).here
    assert isinstance(past, StopView)
    assert [s.value for s in past.entry.past or ()] == [8.2, 6.1]
    assert stop.entry.past is None, "no room was asked for"


def test_a_choice_has_its_words_of_before_beside_it_and_what_was_not_taken(site: Site) -> None:
    walk = standing_at(site, "T01", "screen")
    walk.answer("3")
    go_to(walk, "T01", "screen").answer("/")
    walk.answer("2")
    here = go_to(walk, "T01", "screen").view(20).here
    assert isinstance(here, StopView)
    assert [(one.value, one.why) for one in here.entry.past or ()] == [(None, "not looked")]


def test_the_end_lists_what_is_flagged_left_out_and_open(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.answer("6.1")
    walk.answer("/")
    walk.answer("2")
    while not walk.at_end:
        walk.move("right")
    end = end_of(walk)
    [flagged] = end.flagged
    assert (flagged.slot.place, flagged.slot.item.code, flagged.again) == ("T01", "do", False)
    [(slot, seen)] = end.left_out
    assert (slot.item.code, seen.qualifier, seen.recheck) == ("do", "not looked", True)
    assert len(end.open) == walk.view().asked - 2


# ---- what a round holds


def test_what_is_held_after_each_act_is_what_the_record_holds(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    for typed in ("16.5", "6.1", "7.9", "2.5", "+", "3"):
        walk.answer(typed)
        assert walk.held == again(walk).held
    go_to(walk, "T01", "temp").answer("16.9")
    walk.answer("1")
    assert walk.held == again(walk).held
    for _ in range(8):
        walk.undo()
        assert walk.held == again(walk).held
    assert len(walk.held.open_slots) == len(walk.slots)


def test_a_snapshot_is_read_once_for_one_thing_and_anew_for_another() -> None:
    read: list[str] = []

    def reading(what: str) -> int:
        read.append(what)
        return len(read)

    snapshot = Snapshot(reading)
    assert [snapshot.of(what) for what in ("a", "a", "b", "b", "a")] == [1, 1, 2, 2, 3]
    assert read == ["a", "b", "a"]


def test_what_another_terminal_entered_is_seen_when_the_walk_comes_to_the_front_again(
    site: Site, tmp_path: Path
) -> None:
    async def whole() -> tuple[str, str]:
        first = (rounds.begin(site, site.plan.checklist("am"), "AB"), "AB")
        app = TankwalkApp(site, first)
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            screen = app.screen
            assert isinstance(screen, WalkScreen)
            go_to(screen.walk, "T01", "flow")
            with opened(tmp_path, laptop="office") as other:
                standing_at(other, "T01", "temp", "CD").answer("16.7")
            screen.draw()
            unread = screen.sheet.text()
            app.open("board")
            await pilot.pause()
            app.open("walk")
            await pilot.pause()
            return unread, screen.sheet.text()

    unread, shown = asyncio.run(whole())
    assert "16.7" not in unread
    assert "16.7  degC" in shown


def test_a_wide_page_shows_as_many_past_readings_as_it_has_room_for(site: Site) -> None:
    for day in range(1, 9):
        for hour in range(6, 14):
            value = 16.0 + day / 10
            seen_before(site, "T01", "temp", value, f"2026-05-{day:02d}T{hour:02d}:00")
    walk = standing_at(site, "T01", "temp")
    tanks = sum(slot.item.code == "temp" for slot in walk.slots)
    for height in (20, 24, 40):
        rows = plain(walk_drawn(walk, "", 120, height)).split("\n")[:-1]
        aside = [row[MAIN:] for row in rows]
        under = next(i for i, row in enumerate(aside) if "newest last" in row)
        shown = [row for row in aside[under + 1 :] if row.strip()]
        picture = [row for row in aside if "14 days" in row]
        drawn = SHAPE.rows + 3 if picture else 0  # its title, its days, a blank row
        assert under == 2 + tanks + drawn + 2, "one row a tank stands above, then the picture"
        assert bool(picture) == (height - 2 - tanks - 3 >= PICTURED)
        assert len(shown) == height - 1 - under - 1, "down to the keys"
        assert "16.4" in shown[-1], "the newest is last"
        assert all("16.8" in row for row in shown[-9:-1])


@pytest.mark.parametrize("passed", [True, False])
def test_the_entry_says_of_the_meter_in_hand_whether_it_failed_its_check(
    site: Site, passed: bool
) -> None:
    checked(site, "A", hours_ago=1, passed=passed)
    stop = standing_at(site, "T01", "temp").view().here
    assert isinstance(stop, StopView)
    assert (stop.entry.meter, stop.entry.off) == ("A", not passed)
