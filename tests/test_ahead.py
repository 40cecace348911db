"""What the first keys need is loaded before they come, and nothing of it before the first page."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from demo_support import NOW, demo_in

SESSION = """
import asyncio, json, sys, threading
from pathlib import Path
from tankwalk.ledger.store import Station
from tankwalk.practice.site import open_site
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
            if "pint" in sys.modules and not any(t.name == "units" for t in threading.enumerate()):
                break
        ready = ours()
        keys = "enter 5 right right right right right 1 8 . 2 enter"
        keys += " escape b 3 b o b w b question_mark"
        for key in keys.split():
            await pilot.press(key)
            await pilot.pause()
    print(json.dumps([sorted(at_first), sorted(ready), sorted(ours() - ready)]))

asyncio.run(main())
"""


def test_the_first_keys_of_a_session_load_nothing_more(tmp_path: Path) -> None:
    site = demo_in(tmp_path / "site")
    done = subprocess.run(
        [sys.executable, "-c", SESSION, str(site), NOW], capture_output=True, text=True, check=True
    )
    at_first, ready, later = json.loads(done.stdout.splitlines()[-1])
    assert "pint" not in at_first
    assert "tankwalk.screens.walk" not in at_first, "the board stands before the walk is loaded"
    assert "pint" in ready
    assert later == [], "loaded while a key waited"
