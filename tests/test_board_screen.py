"""The board on the screen: where one is stands at once; a record that cannot be read is told."""

from __future__ import annotations

import asyncio
import sqlite3
from contextlib import closing
from pathlib import Path

from demo_support import opened
from tankwalk.ledger.store import FILE
from tankwalk.pages.lines import plain
from tankwalk.screens.app import TankwalkApp
from tankwalk.screens.board import BoardScreen


def test_site_time_and_who_has_the_room_stand_before_the_rest_is_read(tmp_path: Path) -> None:
    with closing(opened(tmp_path)) as site:
        asked: list[str] = []
        site.ledger.db.set_trace_callback(asked.append)
        screen = BoardScreen(site)
        shown = plain(screen.lines(80, 24)).splitlines()
        assert (
            shown[0].split() == "Larval lab Sun 10 May 06:50".split() or site.plan.name in shown[0]
        )
        assert "06:50" in shown[0]
        assert shown[1].strip().startswith("Room  not taken over")
        assert not any("TANKS" in row for row in shown)
        assert "help" in shown[-1], "the keys work already"
        assert len([sql for sql in asked if "FROM reading" in sql]) == 0


def test_the_whole_board_follows_the_first_paint_by_itself(tmp_path: Path) -> None:
    async def seen() -> str:
        with closing(opened(tmp_path)) as site:
            app = TankwalkApp(site, "board")
            async with app.run_test(size=(80, 24)) as pilot:
                await pilot.pause()
                await pilot.pause()
                assert isinstance(app.screen, BoardScreen)
                return app.screen.sheet.text()

    assert "WRONG" in asyncio.run(seen())


def test_a_record_that_cannot_be_read_is_told_and_what_stood_stays(tmp_path: Path) -> None:
    async def seen() -> tuple[str, str]:
        with closing(opened(tmp_path)) as site:
            app = TankwalkApp(site, "board")
            async with app.run_test(size=(80, 24)) as pilot:
                await pilot.pause()
                await pilot.pause()
                assert isinstance(app.screen, BoardScreen)
                with closing(sqlite3.connect(site.folder / FILE)) as other, other:
                    other.execute("DROP TABLE carried")
                app.screen.arrive()
                await pilot.pause()
                return app.screen.sheet.text(), app.screen.said

    shown, said = asyncio.run(seen())
    assert said, "a sentence says why"
    assert "WRONG" in shown
    assert said.split(":")[0][:40] in shown
