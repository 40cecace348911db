"""A page asks practice nothing while it draws: it has one frozen value, and reads no record."""

from __future__ import annotations

import ast
import asyncio
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import tankwalk
from demo_support import opened
from site_support import SEAL, asked_of, moment, walking
from tankwalk.pages import batch as batch_page
from tankwalk.pages import board as board_page
from tankwalk.pages import count as count_page
from tankwalk.pages import feed as feed_page
from tankwalk.pages import feed_tank as feed_tank_page
from tankwalk.pages import find as find_page
from tankwalk.pages import guided as guided_page
from tankwalk.pages import handover as handover_page
from tankwalk.pages import help as help_page
from tankwalk.pages import incident as incident_page
from tankwalk.pages import livefeed as livefeed_page
from tankwalk.pages import meters as meters_page
from tankwalk.pages import open_list as open_page
from tankwalk.pages import sample as sample_page
from tankwalk.pages import samples as samples_page
from tankwalk.pages import sheet as paper_page
from tankwalk.pages import stock as stock_page
from tankwalk.pages import stock_tank, tank_table, trial_html
from tankwalk.pages import tank as tank_page
from tankwalk.pages import trial as trial_page
from tankwalk.pages import walk as walk_page
from tankwalk.pages import who as who_page
from tankwalk.pages import worksheet as worksheet_page
from tankwalk.practice import live_feed, open_list, stock_view
from tankwalk.practice.board import board
from tankwalk.practice.counting.sitting import Sitting
from tankwalk.practice.counting.talk import of_batch
from tankwalk.practice.dialog import Asking, Hand
from tankwalk.practice.finding.finding import Finder
from tankwalk.practice.handover import drafting, give_take
from tankwalk.practice.incidents.incident import incident
from tankwalk.practice.livefeed.guided import Procedure
from tankwalk.practice.livefeed.guided_sitting import GuidedSitting
from tankwalk.practice.meal import list_view
from tankwalk.practice.meal.feed_walk import FeedWalk
from tankwalk.practice.meters.check_talk import Checking
from tankwalk.practice.meters.meter_view import check_view, shown
from tankwalk.practice.past.view import place_view
from tankwalk.practice.round import rounds
from tankwalk.practice.samples import sampling, sitting_view
from tankwalk.practice.samples.fish import Look
from tankwalk.practice.samples.growth_table import growth_of_all, points
from tankwalk.practice.samples.sitting import begin
from tankwalk.practice.site import Site
from tankwalk.practice.transcribing.blank import blank
from tankwalk.practice.trial.comparing import compared
from tankwalk.practice.trial.courses import courses
from tankwalk.practice.trial.gathering import gather
from tankwalk.practice.workings.keep_talk import Asks
from tankwalk.practice.workings.sheet_view import found_view, sheet_view
from tankwalk.practice.workings.worksheet import Worksheet
from tankwalk.screens.app import TankwalkApp
from tankwalk.screens.who import WhoScreen

PAGES = Path(tankwalk.__file__).parent / "pages"

Draw = Callable[[], object]
"""Draws a page from what was read before."""


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = opened(tmp_path)
    yield site
    site.close()


def _walk(site: Site) -> Draw:
    view = walking(site, "PB").view(40)
    return lambda: walk_page.draw(view, "12", 120, 40)


def _feed(site: Site) -> Draw:
    view = list_view.made(site)
    assert view is not None
    return lambda: feed_page.draw(view, 120, 40)


def _find(site: Site) -> Draw:
    finder = Finder(site, None)
    for _ in finder.steps():
        pass
    found = finder.find("screen")
    assert found.hits
    return lambda: find_page.draw(found, 0, 0, 80, 23)


def _feed_tank(site: Site) -> Draw:
    view = FeedWalk(site, moment("2026-05-10T10:00"), "PB").view()
    return lambda: feed_tank_page.draw(view, "12", 120, 40)


def _sample(site: Site) -> Draw:
    sitting = begin(site, "TS", "T07", (Look.LENGTH, Look.MASS, Look.GUT), 30)
    sitting.enter("16.2")
    sitting.enter("28.1")
    sitting.is_right(True)
    sitting.enter("162")
    view = sitting_view.view(sitting, points(site, ["T07"])["T07"])
    assert view.doubt is not None
    assert view.points
    return lambda: [
        sample_page.draw(view, 120, 39, "16.2"), sample_page.printed(view, 80),
    ]  # fmt: skip


def _samples(site: Site) -> Draw:
    view = sampling.view(site)._replace(growth=growth_of_all(site))
    return lambda: [samples_page.draw(view, (0, 0), 80, 23), samples_page.growth(view, 80)]


def _board(site: Site) -> Draw:
    seen = board(site)
    return lambda: board_page.draw(seen, 80, 23)


def _handover(site: Site) -> Draw:
    draft = drafting.draft(site)
    return lambda: handover_page.draw(draft, 80)


def _said_back(site: Site) -> Draw:
    draft = drafting.draft(site)
    asking = Asking(give_take.take(site, draft, handover_page.text_of(draft)))
    for key in ("5", "3"):
        asking.type(key)
    assert asking.step.closed
    return lambda: handover_page.draw_said_back(draft, asking, 80, 24)


def _open_list(site: Site) -> Draw:
    listed = open_list.open_list(site)
    return lambda: open_page.draw(listed, 80)


def _flag(site: Site) -> Draw:
    one = incident(site, board(site).wrong[0].key)
    assert one is not None
    assert one.story
    return lambda: incident_page.draw(one, 80, 23)


def _meters(site: Site) -> Draw:
    listed = shown(site, site.now())
    return lambda: meters_page.draw(listed, "Room", listed[0].drift[-1].at, 80, 23, 1)


def _meter(site: Site) -> Draw:
    checking = Checking(site, "B")
    for answer in ("5", "+", "110"):
        checking.answer(answer)
    [one] = shown(site, site.now(), 60, "B")
    now = site.now()
    return lambda: meters_page.draw_one(check_view(checking), one, now, "103", (80, 24))


def _live_feed(site: Site) -> Draw:
    view = live_feed.live_feed(site)
    return lambda: livefeed_page.draw(view, 80, 23, 1)


def _batch(site: Site) -> Draw:
    view = live_feed.batch_view(site, "A0503")
    assert view is not None
    return lambda: batch_page.draw(view, 80)


def _stock(site: Site) -> Draw:
    view = stock_view.view(site)
    return lambda: (stock_page.draw(view, 120, 39, 3), stock_tank.draw(view, "T07", 80),
                    stock_page.ledger(view.use, "Room", view.now, 80))  # fmt: skip


def _tank(site: Site) -> Draw:
    view = place_view(site, "T07", whole=True)
    return lambda: (tank_page.draw(view, 120, 39), tank_page.draw(view, 80, 23, 3))


def _tank_table(site: Site) -> Draw:
    view = place_view(site, "T07", whole=True)
    return lambda: tank_table.as_words(view, 80)


def _trial(site: Site) -> Draw:
    page = gather(site)
    one = compared(page.measures[0], page.treatments, page.trial)
    days = courses(page, one.measure)
    return lambda: (
        trial_page.draw(page, one, days, 120, 39),
        trial_page.tanks(page, one, 80),
        trial_html.report(site.plan, page, [one], None, SEAL),
    )


def _count(site: Site) -> Draw:
    sitting = Sitting(site, "PB", of_batch(site, "A0509"))
    for drop in (34, 29, 38):
        sitting.add(drop)
    view = count_page.CountView(sitting.count, sitting.worked, "PB", site.now())
    return lambda: count_page.draw(view, 80, 23, "3")


def _guided(site: Site) -> Draw:
    """Cysts that were just put in water."""
    sitting, hand = GuidedSitting(site, Procedure.SHELL), Hand()
    hand.named("PB", site.now())
    asking = Asking(sitting.begin(hand))
    for answer in ("1", "15", "2"):
        asking.paste(answer) if asking.writing else asking.type(answer)
        asking.enter()
    assert sitting.guide is not None
    view = sitting.view()
    return lambda: guided_page.draw(view, 80, 23)


def _calculators(site: Site) -> Draw:
    sheet = Worksheet(site)
    return lambda: worksheet_page.draw_found(found_view(sheet), 120, 40)


def _dose_again(site: Site) -> Draw:
    """A dose is asked a second time: what is usual here was read when it was asked."""
    sheet = Worksheet(site)
    sheet.arrive("PB", None)
    sheet.choose("bicarbonate-rise")
    sheet.fill({"volume": "3600", "mass": "2500"})
    sheet.record()
    for key in ("2", "3", "1"):
        sheet.answer(key)
    assert sheet.talk is not None
    assert sheet.talk.asks is Asks.AGAIN
    assert sheet.talk.reviewed is not None
    assert "10 times" in sheet.talk.reviewed.headline
    return lambda: worksheet_page.draw(sheet_view(sheet), 80, 24, 0, "250")


def _who(site: Site) -> Draw:
    now, asked = site.now(), rounds.due_checklist(site, site.now())
    return lambda: who_page.draw(site.plan.people, asked, None, "", "", "", now, (80, 24))


def _help(site: Site) -> Draw:
    slot = walking(site, "PB").slot
    return lambda: help_page.draw("walk", slot, 80)


def _paper(site: Site) -> Draw:
    sheet = blank(site, site.plan.checklists[0])
    return lambda: paper_page.draw(sheet, 80)


@pytest.mark.parametrize(
    "page",
    [_walk, _board, _handover, _said_back, _open_list, _flag, _meters, _meter, _calculators,
     _live_feed, _batch, _count, _guided, _dose_again, _who, _help, _paper, _feed, _feed_tank,
     _tank, _tank_table, _find, _stock, _sample, _samples, _trial],
)  # fmt: skip
def test_no_page_asks_the_record_anything_while_it_draws(
    demo: Site, page: Callable[[Site], Draw]
) -> None:
    with asked_of(demo.ledger.db) as before:
        draw = page(demo)
        demo.ledger.db.execute("SELECT 1")
    assert before, "what is asked is counted"
    with asked_of(demo.ledger.db) as asked:
        draw()
    assert asked == []


LIVE = {
    "Site",
    "Walk",
    "Progress",
    "Worksheet",
    "Checking",
    "Ledger",
    "Weighing",
    "FeedWalk",
    "AtMeal",
}
"""What holds an open record; a page is given none of them."""


def imported(path: Path) -> Iterator[tuple[str, str]]:
    """Module and name of everything a page imports from the floors below it."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("tankwalk"):
            yield from ((node.module or "", alias.name) for alias in node.names)


def test_no_page_is_given_what_could_ask_the_record() -> None:
    found = {
        (path.name, name)
        for path in sorted(PAGES.glob("*.py"))
        for module, name in imported(path)
        if name in LIVE or (module.startswith("tankwalk.ledger") and not name[0].isupper())
    }
    assert found == set()


def test_the_choice_of_a_round_is_drawn_again_without_asking_the_record(demo: Site) -> None:
    async def whole() -> list[str]:
        app = TankwalkApp(demo, "who")
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            screen = app.screen
            assert isinstance(screen, WhoScreen)
            screen.do_other()
            with asked_of(demo.ledger.db) as asked:
                screen.draw()
            assert demo.plan.checklists[1].label in screen.sheet.text()
            return asked

    assert asyncio.run(whole()) == []
