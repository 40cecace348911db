"""A board starts with what it shows: no room of the walk, nothing that reads what is typed."""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import NOW, demo_in
from tankwalk.clock import FixedClock, parse_instant, zone
from tankwalk.ledger.entries import Entry, Note
from tankwalk.ledger.store import Station
from tankwalk.practice import board
from tankwalk.practice.site import SITE, Site, open_site
from tankwalk.practice.tasks import DueKind
from tankwalk.screens import ahead
from tankwalk.screens.app import TankwalkApp
from tankwalk.screens.board import BoardScreen

START = """
import asyncio, json, sys
from pathlib import Path
from tankwalk.ledger.store import Station
from tankwalk.practice.site import open_site
from tankwalk.screens import ahead
from tankwalk.screens.app import TankwalkApp

ahead.AFTER_SECONDS = 3600.0  # what is loaded after the board is another matter

async def main():
    folder, now, plans = sys.argv[1:]
    site = open_site(Path(folder), Station("x", "x"), now, plans=Path(plans))
    app = TankwalkApp(site, "board")
    async with app.run_test(size=(80, 24)) as pilot:
        while app.screen.board is None:
            await pilot.pause(0.02)
        await pilot.pause()
        shown = (m for m in sys.modules if m.startswith("tankwalk.") or m == "_hashlib")
        print(json.dumps(sorted(shown)))

asyncio.run(main())
"""

IN_PART = {
    "practice.handover": {"handover_notes"},
    "practice.due": {"all_due", "attendance", "live", "owed"},
    "practice.feeding": {
        "feed_off", "forecast", "meals", "rations", "setting", "sharing",
    },
    "practice.incidents": {"incident", "looking", "owed"},
    "practice.livefeed": {"batches", "cold_store", "cones", "cultures", "guided", "timers"},
    "practice.meters": {"meter_checks", "suspects"},
    "practice.round": {"rounds"},
    "practice.stock": {"dead", "numbers"},
    "practice.workings": set(),
}  # fmt: skip
"""Rooms of which a board needs some files, and which."""

NEVER = {
    "quantity", "units", "plain", "exchange", "ledger.append", "ledger.chain", "ledger.entries",
    "plan.load", "practice.clock_check", "practice.dialog", "practice.feeding.tomorrow",
    "practice.judging.assess", "practice.judging.slips",
}  # fmt: skip
"""Doors and files that a board has no use for: they read, judge, ask or write."""

MOST_MODULES = 140
"""So many of our own files a board loads at most."""


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> frozenset[str]:
    """What a board loads, on a laptop that has opened the site before."""
    folder = tmp_path_factory.mktemp("start")
    site = demo_in(folder / "site")
    open_site(site, Station("x", "x"), NOW, plans=folder / "plans").close()
    done = subprocess.run(
        [sys.executable, "-c", START, str(site), NOW, str(folder / "plans")],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    names = json.loads(done.stdout.splitlines()[-1])
    return frozenset(name.removeprefix("tankwalk.") for name in names)


def test_a_board_loads_of_each_room_what_it_shows(loaded: frozenset[str]) -> None:
    assert {"pages.board", "practice.board", "practice.incidents.incident"} <= loaded
    for room, needed in IN_PART.items():
        there = {n.removeprefix(f"{room}.") for n in loaded if n.startswith(f"{room}.")}
        assert there <= needed, room


def test_a_board_loads_nothing_that_asks_judges_or_writes(loaded: frozenset[str]) -> None:
    assert loaded & NEVER == set()


def test_a_board_loads_no_openssl(loaded: frozenset[str]) -> None:
    assert "_hashlib" not in loaded


def test_a_board_left_standing_loads_the_walk_and_a_key_what_a_walk_leads_to(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[tuple[str, ...]] = []

    def steps(names: tuple[str, ...]) -> Iterator[str]:
        begun.append(names)
        return iter(())

    monkeypatch.setattr(ahead, "steps", steps)

    async def typed() -> None:
        async with TankwalkApp(site, "board").run_test(size=(80, 24)) as pilot:
            while not begun:
                await pilot.pause(0.02)
            assert begun == [ahead.FIRST]
            for _ in range(2):
                await pilot.press("down")
            assert begun == [ahead.FIRST, ahead.NEXT]

    asyncio.run(typed())


def test_a_board_loads_few_files(loaded: frozenset[str]) -> None:
    assert len(loaded) <= MOST_MODULES


MOST_STATEMENTS = 45
"""So many the board of the demo takes at most, whatever the number of tanks and of counts."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    found = open_site(demo_in(tmp_path / "site"), Station("x", "x"), NOW)
    yield found
    found.close()


def statements(site: Site) -> list[str]:
    """What is put to the record from now on."""
    heard: list[str] = []
    site.ledger.db.set_trace_callback(heard.append)
    return heard


def test_a_board_is_read_in_few_statements(site: Site) -> None:
    heard = statements(site)
    assert board.board(site).tiles
    assert len(heard) <= MOST_STATEMENTS


def test_the_mark_stays_on_its_line_when_a_line_comes_in_above_it(site: Site) -> None:
    async def marked() -> list[tuple[object, int]]:
        app = TankwalkApp(site, "board")
        found: list[tuple[object, int]] = []
        async with app.run_test(size=(80, 24)):
            page = app.screen
            assert isinstance(page, BoardScreen)
            assert page.board is not None
            while page.board.next[page.at].kind is not DueKind.CHECK:
                page.do_down()
            found.append((page.board.next[page.at].thing, page.at))
            site.clock = FixedClock(parse_instant("2026-05-10T11:00", zone(site.plan.zone)))
            page.falls_due()
            found.append((page.board.next[page.at].thing, page.at))
        return found

    (before, at), (after, now_at) = asyncio.run(marked())
    assert before == after
    assert now_at > at, "a harvest is late, and comes in above it"


def test_a_mark_that_nobody_moved_is_on_the_harvest_that_is_late(tmp_path: Path) -> None:
    site = open_site(demo_in(tmp_path / "late"), Station("x", "x"), "2026-05-10T11:00-05:00")

    async def marked() -> object:
        app = TankwalkApp(site, "board")
        async with app.run_test(size=(80, 24)):
            page = app.screen
            assert isinstance(page, BoardScreen)
            assert page.board is not None
            return page.board.next[page.at].kind

    assert asyncio.run(marked()) is DueKind.HARVEST
    site.close()


def test_in_one_picture_a_question_is_put_once_and_each_gets_an_answer_of_its_own(
    site: Site,
) -> None:
    heard = statements(site)
    with site.ledger.reading() as reader:
        first = reader.rounds.newest()
        asked = len(heard)
        first.clear()
        assert len(reader.rounds.newest()) == 20
        assert len(heard) == asked
        assert len(reader.rounds.newest(21)) == 21, "another question is put"
        assert len(heard) == asked + 1
    reader.rounds.newest()
    assert len(heard) == asked + 3, "the picture ended, with its COMMIT, and it is put anew"


def test_what_is_kept_inside_ends_the_picture(site: Site) -> None:
    with site.ledger.reading() as reader:
        before = reader.spine.last_number()
        now = site.now()
        site.record(Entry("note", "PB", now, now, SITE), Note("The lamp is out."), sure=True)
        assert reader.spine.last_number() == before + 1
