"""Pages of what tomorrow needs and of one tank's rations, as a person reads them."""

from __future__ import annotations

import asyncio
import json
import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

import demo_support
from demo_support import STATION
from site_support import asked_of, tankwalk
from tankwalk import text
from tankwalk.clock import at, zone
from tankwalk.pages import ration as ration_page
from tankwalk.pages import tomorrow as tomorrow_page
from tankwalk.pages.lines import Line, plain
from tankwalk.practice.feeding.dispensing import MealList, meal_list
from tankwalk.practice.feeding.tomorrow import Tomorrow, tomorrow
from tankwalk.practice.site import Site, open_site
from tankwalk.screens.app import TankwalkApp
from tankwalk.screens.base import PageScreen
from tankwalk.screens.feed import FeedingScreen

NOW = "2026-04-27T09:40"
MONDAY = at(date(2026, 4, 27), 9, 40, zone("America/Chicago"))
"""Day 8 of the demo: the cone for Tuesday was set ten minutes ago."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    folder = shutil.copytree(demo_support.until(MONDAY), tmp_path / "site")
    site = open_site(folder, STATION, NOW)
    yield site
    site.close()


def widths(lines: list[Line]) -> set[int]:
    return {sum(text.width(span.text) for span in row) for row in lines}


@pytest.mark.parametrize("width", [60, 80, 120])
def test_pages_of_feed_fill_their_width_and_ask_nothing_while_they_draw(
    site: Site, width: int
) -> None:
    later: Tomorrow = tomorrow(site)
    listed: MealList = meal_list(site)
    with asked_of(site.ledger.db) as asked:
        drawn = [tomorrow_page.draw(later, width)]
        drawn += [ration_page.draw(listed, row.tank.code, width) for row in listed.rows]
    assert asked == []
    assert {one for page in drawn for one in widths(page)} == {width}


def test_tomorrow_says_what_is_set_by_when_from_how_much_and_for_which_meals(site: Site) -> None:
    view = tomorrow(site)
    said = plain(tomorrow_page.draw(view, 100))
    [one] = view.to_set
    # Six meals of Wednesday and the first of Thursday; 5 % more; its own last five hatches.
    assert one.grams == pytest.approx(
        one.thousand * 1.05 / (210 * one.hatch.percent / 100), abs=0.1
    )
    assert f"by Tue 09:30: {one.grams:.1f} g of AC-7 in {one.litres:.1f} L" in said
    assert "Harvest Wed 08:30 for 7 meals, Wed 10:00 to Thu 08:00." in said
    assert "A0427 due Tue 08:30, ready Tue 09:30" in said
    [dry] = view.dry
    assert 3 < dry.grams < 5
    assert f"dry feed D1: {dry.grams:.2f} g for 4 tanks." in said


def test_a_ration_shows_every_number_of_its_sum(site: Site) -> None:
    said = plain(ration_page.draw(meal_list(site), "T02", 80))
    # 2.8 % at 10 dph and 7.7 % at 18 dph: a straight line gives 3.4125 % at 11 dph.
    assert "by the plan at 11 dph" in said
    assert "3.4125 % of their mass a day" in said
    for words in ("fish, best estimate", "an upper guess", "growth a day", "meals of the day"):
        assert words in said
    assert "a meal = % / 100 x fish x mass today / 1000 / meals" in said


def test_the_list_and_tomorrow_are_printed_and_given_as_json(site: Site, tmp_path: Path) -> None:
    folder = site.folder
    site.close()
    home = tmp_path / "home"

    def run(*more: str) -> tuple[int, str, str]:
        there = ("feed", "--site", str(folder), *more)
        done = tankwalk(home, *there, now=NOW)
        return done.returncode, done.stdout.decode(), done.stderr.decode()

    _, shown, _ = run("--list", "--at", "1000")
    assert "FEED  Meal 10:00, in 20 min: 12 of 12 tanks" in shown
    assert "make up" in shown
    code, shown, refused = run("--list", "--at", "9:30")
    assert (code, shown) == (2, "")
    assert "No meal is planned at 09:30" in refused
    assert "is no time of day" in run("--list", "--at", "noon")[2]
    found = json.loads(run("--tomorrow", "--json")[1])
    assert found["day"] == "2026-04-28"
    assert found["standing"][0]["batch"] == "A0427"
    listed = json.loads(run("--list", "--json")[1])
    assert [row["tank"] for row in listed["rows"]][:2] == ["T01", "T02"]
    file = tmp_path / "tomorrow.html"
    assert "open it in a browser" in run("--tomorrow", "--html", str(file))[1]
    assert "AC-7" in file.read_text("utf-8")


def test_t_opens_tomorrow_and_w_the_working_of_the_tank_one_stands_at_and_esc_leads_back(
    site: Site,
) -> None:
    async def whole() -> None:
        app = TankwalkApp(site, "feed")
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()

            async def page(*keys: str) -> str:
                for key in keys:
                    await pilot.press(key)
                await pilot.pause()
                assert isinstance(app.screen, PageScreen)
                return app.screen.sheet.text()

            assert "RATION  T02  E10" in await page("down", "w")
            # The dry ration is worked by a calculator, which has its numbers.
            shown = await page("4")
            assert "Feed for a day" in shown
            assert "3.4125" in shown
            assert "RATION  T02  E10" in await page("escape")
            assert "make up" in await page("escape")
            shown = await page("t")
            assert "TOMORROW  Tue 28 Apr" in shown
            assert "by Tue 09:30" in shown
            assert "more lines below" not in shown
            assert "make up" in await page("escape")
            # At a tank of the walk too; Esc leads back to that tank.
            assert "T02" in await page("enter", "1", "1")
            assert "RATION  T02" in await page("w")
            assert "make up" not in await page("escape")
            assert isinstance(app.screen, FeedingScreen)

    asyncio.run(whole())
