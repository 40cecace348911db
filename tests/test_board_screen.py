"""The board on the screen: it is painted whole at once; a record that cannot be read is told."""

from __future__ import annotations

import asyncio
import sqlite3
from contextlib import closing
from pathlib import Path

from demo_support import opened
from tankwalk.ledger.store import FILE
from tankwalk.screens.app import TankwalkApp
from tankwalk.screens.board import BoardScreen
from test_screens import Room, at_the_screen


def test_what_is_painted_first_is_the_whole_board(tmp_path: Path) -> None:
    painted: list[str] = []

    class Watched(BoardScreen):
        def draw(self) -> None:
            super().draw()
            if self.size.width:
                painted.append(self.sheet.text())

    async def seen() -> None:
        with closing(opened(tmp_path)) as site:
            app = TankwalkApp(site, "board")
            app._beginning = lambda _: Watched(site)  # type: ignore[method-assign, assignment]
            async with app.run_test(size=(80, 24)) as pilot:
                await pilot.pause()

    asyncio.run(seen())
    assert "WRONG" in painted[0]
    assert all(page == painted[0] for page in painted)


def test_a_board_that_cannot_be_read_at_all_says_so_below_its_title(tmp_path: Path) -> None:
    async def seen() -> str:
        with closing(opened(tmp_path)) as site:
            with closing(sqlite3.connect(site.folder / FILE)) as other, other:
                other.execute("DROP TABLE carried")
            app = TankwalkApp(site, "board")
            async with app.run_test(size=(80, 24)) as pilot:
                await pilot.pause()
                assert isinstance(app.screen, BoardScreen)
                return app.screen.sheet.text()

    shown = asyncio.run(seen()).splitlines()
    assert shown[0].strip().startswith("BOARD")
    assert "06:50" in shown[0]
    assert "carried" in " ".join(shown[1:]), "what SQLite says of it"
    assert "help" in shown[-1], "the keys work"


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


# ---- what comes next, every page, and the way out


def test_enter_does_the_line_that_is_marked_and_down_marks_the_next(tmp_path: Path) -> None:
    async def act(room: Room) -> None:
        assert "\n > Morning round, 06:50 " in room.text
        await room.press("down")
        assert "\n > Nauplii A0508, use by 08:35 " in room.text
        await room.press("down")
        assert "\n > Feed 08:20, 12 tanks; weigh and count from 07:50 " in room.text
        await room.press("down")
        assert "\n > Cone A0509, harvest 08:30 " in room.text
        await room.press("enter")
        assert room.text.startswith(" LIVE FEED")
        assert "\n > A0509 " in room.text, "it stands at the cone that is due"
        await room.press("escape", *["down"] * 5, "enter")
        assert room.text.startswith(" FLAG  T07 Water below rim")
        await room.press("escape", "enter")
        assert "Morning round" in room.text.split("\n")[0]

    with closing(opened(tmp_path)) as site:
        at_the_screen(site, act)


def test_every_page_is_listed_with_what_waits_and_its_digit_leads_there(tmp_path: Path) -> None:
    async def act(room: Room) -> None:
        await room.press("0")
        rows = {" ".join(row.split()[:2]): row for row in room.text.split("\n") if row.split()}
        assert rows["Enter Board"].rstrip().endswith("! 1 flag")
        assert "! not taken over" in rows["3 Handover"]
        assert "flags 1, altered 2, to do 3" in rows["5 Open"]
        for digit, title in (
            ("3", "HANDOVER"),
            ("5", "OPEN"),
            ("6", "METERS"),
            ("7", "LIVE FEED"),
            ("4", "Workings"),
        ):
            await room.press(digit)
            assert room.text.startswith(f" {title}"), digit
            await room.press("escape")
            if not room.text.startswith(" PAGES"):
                await room.press("0")
        await room.press("enter")
        assert "NEXT" in room.text

    with closing(opened(tmp_path)) as site:
        at_the_screen(site, act)


def test_leaving_with_a_round_open_is_asked_and_the_second_press_leaves(tmp_path: Path) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("b", "escape")
        assert room.app.return_code is None
        assert "Morning round is open, begun 06:50 by PB and not signed." in room.flowing
        await room.press("escape")
        assert room.app.return_code == 0

    with closing(opened(tmp_path)) as site:
        at_the_screen(site, act)
