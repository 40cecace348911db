"""The pages as text: the laws of their layout over a whole round, and what they say, word by word.

The pages in tests/golden are renewed, when a change of words is meant, with

    TANKWALK_GOLDEN=write python -m pytest tests/test_pages.py

and then read, line by line, in the difference that git shows.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

import pages_in_out
from demo_support import ANSWERS, opened, readings_of, with_hostile_words
from site_support import clock_shows, moment, walk_drawn
from tankwalk import text
from tankwalk.ledger.entries import SaidBack
from tankwalk.ledger.follow_up_kinds import MayClose
from tankwalk.pages import batch as batch_page
from tankwalk.pages import board as board_page
from tankwalk.pages import board_wide, livefeed_words, stock_tank, tank_table
from tankwalk.pages import count as count_page
from tankwalk.pages import feed as feed_page
from tankwalk.pages import feed_tank as feed_tank_page
from tankwalk.pages import feed_week as feed_week_page
from tankwalk.pages import find as find_page
from tankwalk.pages import guided as guided_page
from tankwalk.pages import handover as handover_page
from tankwalk.pages import help as help_page
from tankwalk.pages import incident as incident_page
from tankwalk.pages import judging as judging_page
from tankwalk.pages import livefeed as livefeed_page
from tankwalk.pages import meters as meters_page
from tankwalk.pages import open_list as open_page
from tankwalk.pages import ration as ration_page
from tankwalk.pages import sample as sample_page
from tankwalk.pages import season as season_page
from tankwalk.pages import steps as steps_page
from tankwalk.pages import stock as stock_page
from tankwalk.pages import tank as tank_page
from tankwalk.pages import tomorrow as tomorrow_page
from tankwalk.pages import trial as trial_page
from tankwalk.pages import who as who_page
from tankwalk.pages import worksheet as worksheet_page
from tankwalk.pages.actions import ACTIONS
from tankwalk.pages.big import big
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import TONES, Line, Span, filled, line, plain, spread, window, wrapped
from tankwalk.practice import live_feed, open_list, stock_view
from tankwalk.practice.board import board
from tankwalk.practice.counting.pad import Out
from tankwalk.practice.counting.sitting import Sitting
from tankwalk.practice.counting.talk import of_batch
from tankwalk.practice.dialog import Asking, Hand
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.feeding.dispensing import meal_list
from tankwalk.practice.feeding.tomorrow import tomorrow
from tankwalk.practice.feeding.week import week
from tankwalk.practice.finding.finding import Finder
from tankwalk.practice.handover import drafting, give_take, handover_notes
from tankwalk.practice.incidents import acting
from tankwalk.practice.incidents.incident import incident
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.learning import trying
from tankwalk.practice.learning.view import learned
from tankwalk.practice.livefeed.guided import Procedure
from tankwalk.practice.livefeed.guided_sitting import GuidedSitting
from tankwalk.practice.meal import list_view
from tankwalk.practice.meal.feed_walk import FeedWalk
from tankwalk.practice.meters.check_talk import Checking
from tankwalk.practice.meters.meter_view import check_view
from tankwalk.practice.meters.meter_view import shown as meters_shown
from tankwalk.practice.past.view import place_view
from tankwalk.practice.past.window import window as days
from tankwalk.practice.round import rounds
from tankwalk.practice.round.questions import AskAgain, AskLimit, AskReason, AskSlip, AskWords
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.samples import sitting_view
from tankwalk.practice.samples.fish import Look
from tankwalk.practice.samples.growth_table import points
from tankwalk.practice.samples.sitting import begin
from tankwalk.practice.season.view import season
from tankwalk.practice.site import Site
from tankwalk.practice.stories import Story
from tankwalk.practice.tile_plots import with_plots
from tankwalk.practice.trial.comparing import compared
from tankwalk.practice.trial.courses import courses
from tankwalk.practice.trial.gathering import gather
from tankwalk.practice.workings.sheet_view import found_view, sheet_view
from tankwalk.practice.workings.worksheet import Worksheet
from tankwalk.science.calculators import ALL
from tankwalk.screens.tones import LOOKS

GOLDEN = Path(__file__).parent / "golden"

SIZES = ((80, 24), (60, 20), (120, 40), (200, 60))
"""The design size, the smallest, and two wide ones."""


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = opened(tmp_path)
    yield site
    site.close()


def walking(site: Site) -> Walk:
    """PB, at the first stop of the morning round."""
    return Walk(site, rounds.begin(site, site.plan.checklists[0], "PB"), "PB")


def give(walk: Walk, answer: str) -> None:
    """One answer of the demo's round; what is not taken is a slash and the reason's key."""
    for part in ("/", answer[1:]) if answer.startswith("/") else (answer,):
        assert walk.answer(part).understood, walk.said


def up_to(walk: Walk, place: str | None = None, item: str = "") -> Walk:
    """Walk with the demo's answers up to one slot, or to the signature."""
    for slot, answer in ANSWERS:
        if slot == (place, item):
            break
        for each in readings_of(slot, answer):
            give(walk, each)
    return walk


def asking(walk: Walk) -> Iterator[tuple[str, str]]:
    """Everything the walk can be asking where it stands; each is left again, nothing is kept."""
    slot = walk.slot
    yield "fresh", ""
    if not slot.item.choices:
        yield "typed", "12.5"
        yield "typed with a unit", "0.66 gal/min"
    walk.answer("/")
    yield "reasons", ""
    if not slot.item.choices:
        walk.answer("6")
        yield "below which", ""
    walk.back()
    walk.answer("-")
    yield "problem", ""
    walk.answer("0")
    yield "note", "one word after another until the line is full and the next one and the next " * 3
    walk.back()
    walk.answer("+" if not slot.item.choices else "nonsense")
    yield "refused", ""
    for wrong in ("62.1", "0.93", "99999", "abc", "<0.01"):
        if slot.item.choices:
            continue
        walk.answer(wrong)
        if isinstance(walk.question, AskSlip):
            yield f"{wrong} typed", ""
        elif walk.of(slot):
            yield f"{wrong} kept", ""
            walk.undo()
        walk.back()
    walk.stand(walk.slots.index(slot))


def states(walk: Walk) -> Iterator[tuple[str, str]]:
    """A whole round, state by state: what it is, and what is on the entry line."""
    for (place, item), answer in ANSWERS:
        where = f"{place} {item}"
        if walk.question is None and (place in ("site", "L1", "T01", "T07") or item == "temp"):
            for name, typed in asking(walk):
                yield f"{where}: {name}", typed
        for each in readings_of((place, item), answer):
            give(walk, each)
            yield f"{where}: {each} given", ""
    still = walk.at
    for index in (3, 12, 20, 30):
        walk.stand(index)
        if walk.question is None:
            walk.answer("2" if walk.slot.item.choices else "7")
            yield f"correction of slot {index}", ""
            walk.back()
    walk.stand(still)
    yield "the end", ""
    walk.answer("+")
    yield "signed", ""


def exact(page: list[Line], width: int, height: int | None, what: str) -> list[str]:
    """Rows of a page that must be exactly so wide, in known tones; and exactly so many."""
    if height is not None:
        assert len(page) == height, what
    for row in page:
        assert sum(text.width(span.text) for span in row) == width, (what, row)
        assert {span.tone for span in row} <= set(TONES), (what, row)
        assert all(span.text.isprintable() for span in row), (what, row)
    return ["".join(span.text for span in row).rstrip() for row in page]


# ---- laws


def test_a_walked_round_fits_its_page_in_every_state_and_nothing_that_matters_is_cut(
    demo: Site,
) -> None:
    walk = walking(demo)
    seen = 0
    for what, typed in states(walk):
        for width, height in SIZES:
            rows = exact(walk_drawn(walk, typed, width, height), width, height, what)
            cut = [row for row in rows if ".." in row and not typed]
            # A long label gives way, and stands whole where it is asked.
            cut = [row for row in cut if not row[3:].startswith("Generator test..")]
            assert cut == [], (what, width)
            if walk.question is not None and not walk.signed:
                shown = " ".join(" ".join(rows).split())
                if isinstance(walk.question, AskSlip):
                    for one in (m for m in walk.question.meant if m.possible):
                        for words in (f"{one.key} {one.shown(walk.slot.item)}", one.how, one.lies):
                            assert words in shown, (what, width, words)
                    continue
                for key, words in walk.question.options():
                    assert f"{key} {' '.join(words.split())}" in shown, (what, width, words)
            seen += 1
    assert walk.signed
    assert seen > 1000


def test_every_value_that_is_kept_stands_on_its_stop_with_every_digit(demo: Site) -> None:
    walk = up_to(walking(demo))
    for width, height in SIZES:
        shown = ""
        for page in range(len(walk.agenda.pages)):
            first = walk.page_of.index(page)
            for index in range(first, first + len(walk.agenda.pages[page].slots)):
                walk.stand(index)
                shown += plain(walk_drawn(walk, "", width, height))
                row = next(r for r in shown.split("\n")[::-1] if r.startswith(" >") or ">T" in r)
                newest = walk.of(walk.slots[index])[-1]
                value = newest.typed if newest.value is not None else newest.qualifier
                assert f" {value}" in row, (width, walk.slots[index])


def test_the_page_asks_for_what_the_walk_stands_at(demo: Site) -> None:
    walk = walking(demo)
    for slot, answer in ANSWERS:
        for width, height in SIZES:
            rows = plain(walk_drawn(walk, "", width, height)).split("\n")
            if slot[1] == "glance":
                [here] = [row for row in rows if f">{slot[0]}<" in row]
            else:
                [here] = [row for row in rows if row.startswith(" >")]
                assert here[3:].startswith(walk.slot.item.label[:13])
            [title] = [row for row in rows if row.startswith(" \u2500\u2500 ")]
            assert title[4:].startswith(f"{slot[0]}  {walk.slot.item.label}")
        for each in readings_of(slot, answer):
            give(walk, each)


@pytest.mark.parametrize("size", [(40, 12), (30, 10), (20, 6), (10, 4), (3, 2), (1, 1)])
def test_a_window_far_too_small_still_gets_a_page_of_its_size(
    demo: Site, size: tuple[int, int]
) -> None:
    walk = walking(demo)
    width, height = size
    for what, typed in asking(walk):
        exact(walk_drawn(walk, typed, width, height), width, height, what)
    seen = board(demo)
    exact(board_page.draw(seen, width, height), width, height, "board")
    exact(handover_page.draw(drafting.draft(demo), width), width, None, "handover")
    exact(open_page.draw(open_list.open_list(demo), width), width, None, "open list")
    page = drafting.draft(demo)
    under = Asking(give_take.take(demo, page, handover_page.text_of(page)))
    for key in ("5", "3", "1", "1"):
        exact(steps_page.draw(under, width), width, None, under.step.ask)
        under.type(key)
        exact(handover_page.draw_said_back(page, under, width, height), width, height, "said back")


@pytest.mark.parametrize("size", SIZES)
def test_the_other_pages_fill_every_size_exactly(demo: Site, size: tuple[int, int]) -> None:
    width, height = size
    walk = walking(demo)
    for stop in (("T01", "temp"), ("T07", "ph"), (None, "")):
        up_to(walk, *stop) if walk.at == 0 else None
        seen = board(demo)
        for rows in (height, height - 1, height - 5):
            exact(board_page.draw(seen, width, rows), width, rows, "board")
        exact(board_page.draw(seen, width, None), width, None, "board, printed")
        exact(handover_page.draw(drafting.draft(demo), width), width, None, "handover")
        for scope in ("board", "walk", "handover", "open", "who", "workings", "working"):
            exact(help_page.draw(scope, walk.slot, width), width, None, f"help on {scope}")
        people, lists, now = demo.plan.people, demo.plan.checklists, demo.now()
        for last in ("", "PB"):
            page = who_page.draw(people, lists[0], None, last, "", "said", now, size)
            exact(page, width, height, "who")
        exact(who_page.choose_round(lists, {}, now, size), width, height, "which round")


def test_the_board_keeps_what_is_wrong_and_every_tank_in_sight_at_the_design_size(
    demo: Site,
) -> None:
    walk = up_to(walking(demo))
    walk.answer("+")
    shown = plain(board_page.draw(board(demo), 80, 23))
    for tank in demo.plan.tanks:
        assert re.search(rf" {tank.code} +[0-9.]+ ", shown), tank.code
    assert re.search(r"!! ACT +T07", shown)


def test_where_no_story_has_room_every_flag_still_has_its_line(demo: Site) -> None:
    seen = board(demo)
    also = seen.wrong[0]._replace(place="T12")
    two = seen._replace(wrong=(*seen.wrong, also), stories=(*seen.stories, Story(also)))
    shown = plain(board_page.draw(two, 60, 19))
    assert re.search(r"WATCH +T07 +Water below rim 4\.5 cm", shown)
    assert re.search(r"WATCH +T12 +Water below rim 4\.5 cm", shown)
    assert re.search(r"> Morning round", shown)
    assert len(shown.split("\n")) == 19


@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_board_counts_what_stands_under_each_heading(demo: Site, width: int) -> None:
    seen = board(demo)
    shown = plain(board_page.draw(seen, width, None))
    assert f" DUE  {len(seen.owed)}\n" in shown
    assert f" ALTERED  {len(seen.altered) + len(seen.meters)}\n" in shown
    assert f" TO DO  {len(seen.actions)}\n" in shown
    assert min(len(seen.due), len(seen.altered), len(seen.actions)) > 1


@pytest.mark.parametrize("width", [60, 80, 120])
def test_a_printed_page_cuts_no_word(demo: Site, width: int) -> None:
    up_to(walking(demo))
    printed = [
        *board_page.draw(board(demo), width, None),
        *handover_page.draw(drafting.draft(demo), width),
        *open_page.draw(open_list.open_list(demo), width),
        *(row for scope in ("board", "walk", "handover", "open", "who", "workings", "working")
          for row in help_page.draw(scope, None, width)),
    ]  # fmt: skip
    assert [row for row in plain(printed).split("\n") if ".." in row] == []


def test_a_plan_of_any_words_draws_pages_of_the_same_sizes(tmp_path: Path) -> None:
    site = opened(tmp_path, with_hostile_words)
    try:
        walk = walking(site)
        for width, height in SIZES:
            for index in range(len(walk.slots) + 1):
                walk.stand(index)
                exact(walk_drawn(walk, "", width, height), width, height, str(index))
                if not walk.at_end:
                    help_rows = help_page.draw("walk", walk.slot, width)
                    exact(help_rows, width, None, f"help at {index}")
            exact(board_page.draw(board(site), width, height), width, height, "board")
    finally:
        site.close()


# ---- the parts


@pytest.mark.parametrize(
    "words", ["a", "ab cd", "\U0001f41f fish", "\u65e5\u672c", "e\u0301", "x" * 90]
)
@pytest.mark.parametrize("width", [1, 2, 5, 80])
def test_a_line_is_exactly_as_wide_as_asked(words: str, width: int) -> None:
    for made in (
        line(width, Span(words)),
        line(width, Span(words), Span(words, "act"), Span(words)),
        spread(width, [words], [words], "head"),
        *wrapped(width, words * 3, "plain", 2),
    ):
        assert sum(text.width(span.text) for span in made) == width


def test_wrapped_words_end_in_a_mark_where_more_was_said() -> None:
    rows = plain(wrapped(20, "one two three four five six seven eight", "plain", 2)).split("\n")
    assert len(rows) == 2
    assert rows[1].endswith("..")
    assert ".." not in plain(wrapped(60, "one two three four five six", "plain", 2))


def test_large_figures_are_three_lines_that_can_be_told_apart() -> None:
    shapes = {figure: big(figure, 40) for figure in "0123456789"}
    assert None not in shapes.values()
    assert len(set(shapes.values())) == 10
    assert big("16.5", 40) == big("16,5", 40)
    assert big("68f", 40) is None
    assert big("1234567890", 20) is None


def test_every_tone_has_a_look_of_its_own_in_each_look() -> None:
    for look, tones in LOOKS.items():
        assert set(tones) == set(TONES), look
    for look in ("day", "night"):
        flags = [LOOKS[look][tone] for tone in ("ok", "watch", "act", "urgent")]
        assert len(set(flags)) == 4, look


# ---- what the pages say


def _board(site: Site, width: int, height: int) -> list[Line]:
    return board_page.draw(board(site), width, height)


def _board_wide(site: Site, width: int, height: int) -> list[Line]:
    """With the past of its tanks."""
    seen = board(site)
    seen = with_plots(site, seen, board_wide.days_of(seen, width, height))
    return board_page.draw(seen, width, height)


def _board_trouble(site: Site, width: int, height: int) -> list[Line]:
    """After the round of the Sunday, with T07 out."""
    up_to(walking(site), "T08", "temp")
    return _board_wide(site, width, height)


def _who(site: Site, width: int, height: int) -> list[Line]:
    asked = rounds.due_checklist(site, site.now())
    hazards = rounds.hazards(site, asked)
    return who_page.draw(
        site.plan.people, asked, None, "", "", "", site.now(), (width, height), hazards
    )


def _who_again(site: Site, width: int, height: int) -> list[Line]:
    walk = up_to(walking(site), "T02", "do")
    people, asked = site.plan.people, walk.agenda.checklist
    return who_page.draw(people, asked, walk.round, "PB", "", "", site.now(), (width, height))


def _handover(site: Site, width: int, height: int) -> list[Line]:
    return handover_page.draw(drafting.draft(site), width)


def _handover_after(site: Site, width: int, height: int) -> list[Line]:
    up_to(walking(site)).answer("+")
    return handover_page.draw(drafting.draft(site), width)


def saying_back(*, wrong: bool) -> Callable[..., list[Line]]:
    """The handover while PB takes it alone, before the first answer or after a wrong one."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        page = drafting.draft(site)
        asking = Asking(give_take.take(site, page, handover_page.text_of(page)))
        first = page.asks[0]
        missed = next(n for n, c in enumerate(first.choices, 1) if c != first.right)
        for key in ("5", "3", *([str(missed)] if wrong else [])):
            asking.type(key)
        return handover_page.draw_said_back(page, asking, width, height)

    return drawn


def _handover_added(site: Site, width: int, height: int) -> list[Line]:
    handover_notes.add_line(site, "RO", "STOCK", "T07 hangs at the outlet")
    drafting.give(site, "RO", handover_page.given(drafting.draft(site)))
    handover_notes.add_after(site, "RO", "the key hangs in the feed room")
    return handover_page.draw(drafting.draft(site), width)


def _handover_taken(site: Site, width: int, height: int) -> list[Line]:
    _handover_added(site, width, height)
    given = site.reader.handovers.last()
    assert given is not None
    said = (SaidBack("Which tank is worst?", "T07", 2), SaidBack("What is due?", "06:50", 1))
    drafting.take(site, given, "PB", "in person", said)
    return handover_page.draw(drafting.draft(site), width)


def _open(site: Site, width: int, height: int) -> list[Line]:
    follow_ups.close(site, "MV", site.reader.follow_ups.open()[0].opened, "valve open again")
    follow_ups.open_altered(
        site, "RO", "spray off", "T09", site.now().utc - 3600, rule=MayClose.SAFETY
    )
    return open_page.draw(open_list.open_list(site), width)


def asked(row: int, *keys: str) -> Callable[..., list[Line]]:
    """The foot of the open list while it asks about a row, after these keys."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        chosen = open_list.open_list(site).rows[row - 1]
        about = open_list.about(site, Hand(), chosen, open_page.said(chosen))
        asking = Asking(about)
        for key in keys:
            asking.type(key)
        return steps_page.draw(asking, width)

    return drawn


def _help(site: Site, width: int, height: int) -> list[Line]:
    return help_page.draw("walk", up_to(walking(site), "T01", "do").slot, width)


def at(place: str | None, item: str, *answers: str, typed: str = "") -> Callable[..., list[Line]]:
    """The walk at a slot, after these answers."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        walk = up_to(walking(site), place, item)
        for answer in answers:
            walk.move("up") if answer == "up" else walk.answer(answer)
        return walk_drawn(walk, typed, width, height)

    return drawn


def _as_of_65(lines: list[Line]) -> list[Line]:
    """The list as if there were 65 calculators: one more is no other page."""
    every, ends = str(len(ALL)), f" of {len(ALL)} "
    return [
        tuple(
            one._replace(text=one.text.replace(every, "65")) if one.text.endswith(ends) else one
            for one in row
        )
        for row in lines
    ]


def _feed_list(site: Site, width: int, height: int) -> list[Line]:
    view = list_view.made(site)
    assert view is not None
    return feed_page.draw(view, width, height)


def feeding(*answers: str) -> Callable[[Site, int, int], list[Line]]:
    """The meal of ten o'clock at its first tank, after some answers."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        walk = FeedWalk(site, moment("2026-05-10T10:00"), "PB")
        for answer in answers:
            walk.answer(answer)
        return feed_tank_page.draw(walk.view(), "", width, height)

    return drawn


def _workings(site: Site, width: int, height: int) -> list[Line]:
    return _as_of_65(worksheet_page.draw_found(found_view(Worksheet(site)), width, height))


def _found(site: Site, width: int, height: int) -> list[Line]:
    sheet = Worksheet(site)
    sheet.seek("amm")
    return _as_of_65(worksheet_page.draw_found(found_view(sheet), width, height))


def working(name: str, *answers: str, field: int = 99, **fields: str) -> Callable[..., list[Line]]:
    """A calculator for L1 with its fields filled, after these answers to what is asked."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        sheet = Worksheet(site)
        sheet.choose(name)
        sheet.fill({key.rstrip("_"): words for key, words in fields.items()})
        sheet.field = min(field, sheet.field)
        if answers:
            sheet.record()
        for answer in answers:
            sheet.answer(answer)
        return worksheet_page.draw(sheet_view(sheet), width, height)

    return drawn


def overdose(*answers: str) -> Callable[..., list[Line]]:
    """Ten times the usual bicarbonate, after these answers."""
    return working("bicarbonate-rise", *answers, volume="3600", mass="2500")


def _meters(site: Site, width: int, height: int) -> list[Line]:
    shown = meters_shown(site, site.now())
    listed = meters_page.draw(shown, site.plan.name, site.now(), width, height - 1, 1)
    return [*listed, footer("meters", width)]


def stocked(at: int) -> Callable[..., list[Line]]:
    """The stock of all tanks, standing at a row."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        shown = stock_page.draw(stock_view.view(site), width, height - 1, at)
        return [*shown, footer("stock", width)]

    return drawn


def stock_account(site: Site, width: int, height: int) -> list[Line]:
    """The account of one tank, with what of it fits."""
    shown = stock_tank.draw(stock_view.view(site), "T07", width)
    return [*filled(shown, width, height - 1), footer("stocktank", width)]


def live_fed(now: str, at: int = 0) -> Callable[..., list[Line]]:
    """Live feed at a moment, standing at a row."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        clock_shows(site, now)
        view = live_feed.live_feed(site)
        shown = livefeed_page.draw(view, width, height - 1, at)
        does = livefeed_words.row_word(view.rows[at], view.now)
        return [*shown, footer("livefeed", width, [("Enter", does)])]

    return drawn


def _batch(site: Site, width: int, height: int) -> list[Line]:
    """The cone that hatched poorly and late, after it was harvested."""
    view = live_feed.batch_view(site, "A0503")
    assert view is not None
    return [*filled(batch_page.draw(view, width), width, height - 1), footer("batch", width)]


def counted(*drops: int, out: Out | None = None, typed: str = "") -> Callable[..., list[Line]]:
    """The newest cone on the counting pad after some drops, the last of them left out or not."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        sitting = Sitting(site, "PB", of_batch(site, "A0509"))
        for drop in drops:
            sitting.add(drop)
        if out is not None:
            sitting.leave_out(out)
        view = count_page.CountView(sitting.count, sitting.worked, "PB", site.now())
        return [*count_page.draw(view, width, height - 1, typed), footer("count", width)]

    return drawn


def sampled(*typed: str) -> Callable[..., list[Line]]:
    """Fish of T07 looked at by TS for length and mass, as typed."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        sitting = begin(site, "TS", "T07", (Look.LENGTH, Look.MASS), 30)
        for number in typed:
            sitting.enter(number)
        view = sitting_view.view(sitting, points(site, ["T07"])["T07"])
        return [*sample_page.draw(view, width, height - 1), footer("sample", width)]

    return drawn


TRAY = (
    "17.1", "33.0", "16.4", "29.5", "18.0", "39.1", "17.6", "35.2", "15.9", "26.8", "17.3", "34.4",
    "18.6", "41.7",
)  # fmt: skip
"""Seven invented fish of 24 dph, mm and mg."""


def guided_by(steps: Sequence[tuple[str, float | Sequence[str]]]) -> Callable[..., list[Line]]:
    """15 g of cysts decapsulated by PB: at each moment a temperature, or the answers to a step."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        sitting, hand = GuidedSitting(site, Procedure.SHELL), Hand()
        for hour, step in steps:
            clock_shows(site, f"2026-05-10T{hour}")
            if isinstance(step, float):
                sitting.heat(step)
                continue
            hand.named("PB", site.now())
            asking = Asking(sitting.on() if sitting.guide else sitting.begin(hand))
            for answer in step:
                asking.paste(answer) if asking.writing else asking.type(answer)
                asking.enter()
            assert asking.over, asking.step
        keys = [("0-9", "temperature"), ("+", "stop the bath"), ("-", "color")]
        keys = keys if sitting.guide else [("+", "read, begin")]
        shown = guided_page.draw(sitting.view(), width, height - 1)
        return [*shown, footer("guided", width, keys)]

    return drawn


IN_THE_BATH: tuple[tuple[str, float | Sequence[str]], ...] = (
    ("07:00", ("1", "15", "2")),
    ("08:00", ("2",)),
    ("08:02", ("1",)),
    ("08:03", 4.0),
    ("08:04", ()),
    ("08:05", 12.0),
    ("08:06", 19.5),
)
"""Cysts in water for an hour, round; the caution read; the bath chilled, and begun at 08:04."""


def checked(*answers: str) -> Callable[..., list[Line]]:
    """Meter B as it is checked, after these answers; "-" takes its newest mark back."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        checking = Checking(site, "B")
        for answer in answers:
            if answer == "-":
                checking.lift(site.reader.meters.marks()[-1])
            else:
                checking.answer(answer)
        [one] = meters_shown(site, site.now(), 60, "B")
        return meters_page.draw_one(check_view(checking), one, site.now(), "", (width, height))

    return drawn


def _flag(site: Site, width: int, height: int) -> list[Line]:
    """Oxygen at T07, confirmed, after its first step and a call that reached nobody."""
    walk = up_to(walking(site), "T07", "do")
    for typed in ("4.8", "4.9"):
        walk.answer(typed)
    key = Key("place", "T07", "do")
    one = incident(site, key)
    assert one is not None
    acting.did(site, "PB", one, one.steps[0].words, 1)
    [whom, *_] = acting.to_call(site, site.now())
    acting.called(site, "PB", one, whom, reached=False)
    one = incident(site, key)
    assert one is not None
    return incident_page.draw(one, width, height)


def _tomorrow(site: Site, width: int, height: int) -> list[Line]:
    return [
        *filled(tomorrow_page.draw(tomorrow(site), width), width, height - 1),
        footer("tomorrow", width),
    ]


def _ration(site: Site, width: int, height: int) -> list[Line]:
    """A tank that gets nauplii and dry feed."""
    shown = ration_page.draw(meal_list(site), "T03", width)
    return [*filled(shown, width, height - 1), footer("ration", width)]


def _feed_week(site: Site, width: int, height: int) -> list[Line]:
    shown = feed_week_page.draw(week(site, "L18"), width)
    return [*filled(shown, width, height - 1), footer("feedweek", width)]


def _find(site: Site, width: int, height: int) -> list[Line]:
    finder = Finder(site, None)
    assert all(0 <= share <= 1 for share in finder.steps())
    shown = find_page.draw(finder.find("screen"), 1, 0, width, height - 1)
    finder.close()
    return [*shown, footer("find", width)]


def _judging(site: Site, width: int, height: int) -> list[Line]:
    whole = judging_page.draw(learned(site), width)
    return [*window(whole, width, height - 1, 0, "down"), footer("judging", width)]


def _limit(site: Site, width: int, height: int) -> list[Line]:
    known = trying.case(site, "T07", "level", days(site, site.now(), 30))
    whole = judging_page.draw_case(known, trying.tried(site, known, within=3.5), width)
    return [*window(whole, width, height - 1, 0, "down"), footer("limit", width)]


def _season(site: Site, width: int, height: int) -> list[Line]:
    whole = season_page.draw(season(site), width)
    return [*window(whole, width, height - 1, 0, "down"), footer("season", width)]


def past_of(
    place: str, at: int | None = None, days: int = 14
) -> Callable[[Site, int, int], list[Line]]:
    """A place with its past; `at` is the line of its story one stands at."""

    def shown(site: Site, width: int, height: int) -> list[Line]:
        view = place_view(site, place, days, whole=at is not None)
        return [*tank_page.draw(view, width, height - 1, at), footer("tank", width)]

    return shown


def _tank_table(site: Site, width: int, height: int) -> list[Line]:
    view = place_view(site, "T07", whole=True)
    return [*filled(tank_table.draw(view, width), width, height - 1), footer("tank", width)]


def compared_by(code: str) -> Callable[[Site, int, int], list[Line]]:
    """The trial by one of its measures."""

    def shown(site: Site, width: int, height: int) -> list[Line]:
        page = gather(site)
        one = compared(page.measure(code), page.treatments, page.trial)
        days = courses(page, one.measure)
        drawn = trial_page.draw(page, one, days, width, height - 1)
        return [*drawn, footer("trial", width)]

    return shown


PAGES: dict[str, Callable[..., list[Line]]] = {
    "board": _board,
    "trial": compared_by("census"),
    "trial-growth": compared_by("mass"),
    "flag": _flag,
    "tank": past_of("T07"),
    "tank-story": past_of("T07", 2),
    "tank-month": past_of("T07", days=30),
    "tank-table": _tank_table,
    "loop": past_of("L1"),
    "meter-past": past_of("B"),
    "who": _who,
    "who-again": _who_again,
    "handover": _handover,
    "handover-after": _handover_after,
    "handover-added": _handover_added,
    "handover-taken": _handover_taken,
    "handover-said": saying_back(wrong=False),
    "handover-missed": saying_back(wrong=True),
    "open": _open,
    "open-menu": asked(4),
    "open-people": asked(4, "2"),
    "open-reasons": asked(4, "3", "4"),
    "open-times": asked(4, "5", "4"),
    "open-words": asked(4, "3", "4", "0", *"stands on the other list"),
    "help": _help,
    "walk-glance": at("T01", "glance"),
    "walk-fresh": at("T02", "temp"),
    "walk-typed": at("T02", "do", typed="8.3"),
    "walk-unit": at("T02", "temp", typed="68f"),
    "walk-word": at("T07", "screen", typed="3"),
    "walk-dead": at("T07", "morts", typed="64"),
    "walk-slip": at("T03", "temp", "62.1"),
    "walk-impossible": at("T03", "temp", "621"),
    "walk-again": at("T07", "do", "6.1"),
    "walk-confirmed": at("T07", "do", "6.1", "6.1"),
    "walk-reasons": at("T02", "turbidity", "/"),
    "walk-below": at("L1", "no2n", "/", "6"),
    "walk-correction": at("T02", "flow", "up", "8.1"),
    "walk-problem": at("T02", "screen", "-"),
    "walk-note": at("T02", "screen", "-", "0", typed="larvae hang at the outlet, two on the wall"),
    "walk-end": at(None, ""),
    "walk-signed": at(None, "", "+"),
    "feed": _feed_list,
    "feed-week": _feed_week,
    "find": _find,
    "season": _season,
    "judging": _judging,
    "limit": _limit,
    "feed-tank": feeding(),
    "feed-response": feeding("+"),
    "feed-far": feeding("15.1"),
    "feed-why-not": feeding("/"),
    "feed-wrong": feeding("/", "5", "1", "300"),
    "feed-end": feeding(*["+"] * 24),
    "tomorrow": _tomorrow,
    "ration": _ration,
    "workings": _workings,
    "workings-found": _found,
    "working-fresh": working("bicarbonate-dose", field=0),
    "working-ammonia": working("ammonia", tan="1", ph="8", temperature="20"),
    "working-choice": working("ammonia", field=4, tan="1", ph="8", temperature="20"),
    "working-fault": working("ammonia", tan="1", ph="80 mg/L", temperature="20"),
    "working-who": overdose("2"),
    "working-decider": overdose("2", "4"),
    "working-reason": overdose("2", "4", "3"),
    "working-dose": overdose("2", "4", "3", "3"),
    "working-wrong-dose": overdose("2", "4", "3", "3", "2600"),
    "working-kept": overdose("2", "4", "3", "3", "2500"),
    "working-caution": working("decapsulation", cysts="100", bleach="84"),
    "livefeed": live_fed("2026-05-10T07:52"),
    "stock": stocked(6),
    "stock-tank": stock_account,
    "livefeed-late": live_fed("2026-05-04T11:00", 1),
    "batch": _batch,
    "sample": sampled(*TRAY),
    "sample-slip": sampled(*TRAY, "174"),
    "sample-fresh": sampled(),
    "count": counted(34, 29, 38),
    "count-fresh": counted(typed="3"),
    "count-out": counted(34, 29, 90, out=Out.AGAIN),
    "guided": guided_by(IN_THE_BATH),
    "guided-caution": guided_by(()),
    "guided-hot": guided_by((*IN_THE_BATH, ("08:07", 36.5))),
    "meters": _meters,
    "meter-how": checked("1"),
    "meter-again": checked("1", "+", "110"),
    "meter-failed": checked("1", "+", "110", "110"),
    "meter-lift": checked("1", "+", "110", "110", "/", "-"),
    **pages_in_out.PAGES,
}


WIDE_PAGES: dict[str, Callable[..., list[Line]]] = {
    "board": _board_wide,
    "board-trouble": _board_trouble,
    "trial": compared_by("census"),
    **{name: PAGES[name] for name in ("walk-typed", "walk-again", "walk-word", "walk-dead")},
}
"""Pages that have more in a wide window."""

GOLDENS = [
    *((name, PAGES[name], size) for name in PAGES for size in ((80, 24), (60, 20))),
    *((name, drawn, (120, 40)) for name, drawn in WIDE_PAGES.items()),
]


@pytest.mark.parametrize(
    ("name", "drawn", "size"), GOLDENS, ids=[f"{n}-{w}x{h}" for n, _, (w, h) in GOLDENS]
)
def test_a_page_says_what_it_said(
    demo: Site, name: str, drawn: Callable[..., list[Line]], size: tuple[int, int]
) -> None:
    width, height = size
    whole = name.startswith(("handover", "help", "open", "import"))
    rows = exact(drawn(demo, width, height), width, None if whole else height, name)
    said = "\n".join(rows) + "\n"
    file = GOLDEN / f"{name}-{width}x{height}.txt"
    if os.environ.get("TANKWALK_GOLDEN") == "write":
        GOLDEN.mkdir(exist_ok=True)
        file.write_text(said, "utf-8")
    assert said == file.read_text("utf-8")


def test_no_page_is_kept_that_nothing_draws() -> None:
    wanted = {f"{name}-{width}x{height}.txt" for name, _, (width, height) in GOLDENS}
    assert {file.name for file in GOLDEN.iterdir()} == wanted


def test_the_pages_show_the_question_they_are_named_after(demo: Site) -> None:
    walk = up_to(walking(demo), "T03", "temp")
    walk.answer("62.1")
    assert isinstance(walk.question, AskSlip)
    walk.back()
    walk.answer("/")
    assert isinstance(walk.question, AskReason)
    walk.answer("6")
    assert isinstance(walk.question, AskLimit)
    walk.back()
    walk.note()
    assert isinstance(walk.question, AskWords)
    walk.back()
    walk.answer("20.6")
    assert isinstance(walk.question, AskAgain)
    assert len(ACTIONS) > 20
