"""What the first keys need is loaded before they come, and nothing of it before the first page."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from demo_support import NOW, demo_in

SESSION = """
import asyncio, gc, json, sys, threading
from pathlib import Path
from tankwalk.ledger.store import Station
from tankwalk.practice.site import open_site
from tankwalk.screens.ahead import NEXT
from tankwalk.screens.app import TankwalkApp

def ours():
    return {m for m in sys.modules if m.split(".")[0] in ("tankwalk", "pint")}

async def main():
    site = open_site(Path(sys.argv[1]), Station("x", "x"), sys.argv[2])
    app = TankwalkApp(site, "board")
    at_first = ours()
    async with app.run_test(size=(80, 24)) as pilot:
        for _ in range(400):
            await pilot.pause(0.05)
            if gc.get_freeze_count():  # the last step of loading ahead
                break
        board = ours()
        for key in ("enter", "5"):
            await pilot.press(key)
        for _ in range(400):
            await pilot.pause(0.05)
            if not set(NEXT) - set(sys.modules):
                break
        ready = ours()
        keys = "right right right right right 1 8 . 2 enter"
        keys += " escape b 2 b 3 b o b question_mark"
        for key in keys.split():
            await pilot.press(key)
            await pilot.pause()
        later = ours() - ready
        for key in "escape b plus enter 6 2 F".split():
            await pilot.press(key)
            await pilot.pause()
        for _ in range(400):
            await pilot.pause(0.05)
            if "pint" in ours() and not any(t.name == "units" for t in threading.enumerate()):
                break
        unit = ours() - ready - later
    print(json.dumps([*map(sorted, (at_first, board, ready - board, later, unit))]))

asyncio.run(main())
"""


def with_units(plan: str) -> str:
    """The plan with units of their own at a culture, as people write them."""
    for bare, written in (("harvest = 0.25", 'harvest = "25 %"'),
                          ("food_per_million = 1\n", 'food_per_million = "1000 mg"\n'),
                          ("volume = 60\n", 'volume = "60 L"\n')):  # fmt: skip
        assert bare in plan
        plan = plan.replace(bare, written)
    return plan


def test_the_first_keys_of_a_session_load_nothing_more(tmp_path: Path) -> None:
    # The session keeps no plan ready: this one is checked whole at its start.
    site = demo_in(tmp_path / "site", with_units)
    done = subprocess.run(
        [sys.executable, "-c", SESSION, str(site), NOW], capture_output=True, text=True, check=True
    )
    at_first, board, first_key, later, unit = json.loads(done.stdout.splitlines()[-1])
    assert "tankwalk.pages.board" not in at_first, "the front of the board stands before the rest"
    assert "tankwalk.screens.walk" not in at_first, "the board stands before the walk is loaded"
    assert "tankwalk.screens.walk" in board
    assert "pint" not in board, "a board has no use for it"
    assert "tankwalk.screens.help" not in board, "what the board leads to waits for the first key"
    assert "tankwalk.screens.help" in first_key
    assert "tankwalk.practice.round.answering" not in at_first, "the first value waits for nothing"
    assert later == [], "loaded while a key waited"
    assert "pint" not in first_key, "a round without a unit has no use for it"
    assert "pint" in unit, "loaded beside the keys once a unit is typed"
