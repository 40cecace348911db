"""A board starts with what it shows: no room of the walk, nothing that reads what is typed."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from demo_support import NOW, demo_in
from tankwalk.ledger.store import Station
from tankwalk.practice.site import open_site

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
        print(json.dumps(sorted(m for m in sys.modules if m.startswith("tankwalk."))))

asyncio.run(main())
"""

IN_PART = {
    "practice.handover": {"handover_notes"},
    "practice.incidents": {"incident", "looking", "owed"},
    "practice.meters": {"meter_checks", "suspects", "tolerance"},
    "practice.round": {"rounds"},
    "practice.workings": {"parts"},
    "practice.feeding": {"cones", "meals"},
    "science": {"age", "dose_kinds", "middle", "limits"},
}
"""Rooms of which a board needs some files, and which."""

NEVER = {
    "quantity", "units", "plain", "exchange", "ledger.append", "ledger.chain", "ledger.entries",
    "plan.load", "practice.clock_check", "practice.dialog", "practice.judging.assess",
    "practice.judging.slips", "practice.stock",
}  # fmt: skip
"""Doors and files that a board has no use for: they read, judge, ask or write."""


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
