"""A value out of band at the screen: it is heard, and its second reading is not left unsaid."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from site_support import NOW, opened
from tankwalk.practice.site import Site
from tankwalk.screens.app import TankwalkApp
from tankwalk.screens.base import PageScreen
from weighing_support import PLAN, remembered


class Heard(TankwalkApp):
    """The program with an ear at its bell."""

    rings = 0

    def bell(self) -> None:
        self.rings += 1
        super().bell()


def at_the_first_tank(site: Site, *answers: str) -> tuple[int, list[str]]:
    """Begin the round and type; how often it rang, and the page after each answer."""

    async def whole() -> tuple[int, list[str]]:
        app = Heard(site, "board")
        pages = []
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("plus", "1")
            for answer in answers:
                await pilot.press(*answer.split())
                page = app.screen
                assert isinstance(page, PageScreen)
                pages.append(" ".join(page.sheet.text().split()))
        assert app.crash is None
        return app.rings, pages

    return asyncio.run(whole())


@pytest.mark.parametrize(("typed", "rings"), [("8 . 6", 0), ("6 . 5", 1), ("5 . 5", 1)])
def test_a_value_out_of_band_rings_and_a_good_one_does_not(
    tmp_path: Path, typed: str, rings: int
) -> None:
    with opened(tmp_path / "room", PLAN, NOW) as site:
        remembered(site, "T01", "do", 7.2, 40)
        assert at_the_first_tank(site, f"{typed} enter")[0] == rings


def test_esc_says_that_a_second_reading_is_wanted_before_it_leaves_for_the_board(
    tmp_path: Path,
) -> None:
    with opened(tmp_path / "room", PLAN, NOW) as site:
        _, pages = at_the_first_tank(site, "6 . 5 enter", "escape", "escape")
        asked, warned, left = pages
        assert "no second reading" in asked
        assert "A second reading is still wanted here. Esc again goes to the board." in warned
        assert "WRONG" in left
