"""The past beside the value: what stands in one row, in a picture, and on the board's tiles."""

from __future__ import annotations

import asyncio
import re
import signal
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path

import pytest

from crowded_support import crowded
from demo_support import answer_up_to, begin_round, demo_in, go_on, opened, program
from site_support import asked_of
from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.ledger.readings import PastSeen
from tankwalk.pages import board as board_page
from tankwalk.pages import board_wide
from tankwalk.pages.glyphs import STEPS, in_ascii
from tankwalk.pages.lines import Span, plain
from tankwalk.pages.looks import LOWER, UPPER, Mark, Picture, Shape, in_row, mark, of_value, spot
from tankwalk.pages.strips import DOT, NOW, scale_of
from tankwalk.plan.kinds import CHOICE, NUMBER
from tankwalk.plan.model import Item, Limits
from tankwalk.practice.board import board
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.past.dead_days import dead_days
from tankwalk.practice.past.series import LookAt
from tankwalk.practice.site import Site
from tankwalk.practice.tile_plots import with_plots
from tankwalk.screens.app import TankwalkApp
from test_screens import Room
from test_walk_page import _at

OXYGEN = Item("do", "Oxygen", NUMBER, unit="mg/L", plausible=(0, 20))
SCREEN = Item("screen", "Outlet screen", CHOICE, choices=("clean", "some", "fouled"),
              watch_on=("some",), act_on=("fouled",))  # fmt: skip
BAND = scale_of(OXYGEN, Limits(watch_below=7.0, watch_above=10.0, act_below=6.0))
NOON = Instant(1_778_414_400, 0)
"""Sunday 10 May 2026, 12:00 UTC."""


def look(value: float | None, flag: int = 0, *, hours: int = 0, first: float | None = None,
         suspect: bool = False) -> LookAt:  # fmt: skip
    at = Instant(NOON.utc - 3600 * hours, 0)
    why = "not looked" if value is None else ""
    return LookAt(1, at, value, why, False, Flag(flag), first, suspect, 0, "A", "AB")


# ---- one row


@pytest.mark.parametrize(
    ("one", "sign", "tone"),
    [
        (look(7.0), STEPS[0], "trend"),
        (look(8.3), STEPS[3], "trend"),
        (look(10.0), STEPS[-1], "trend"),
        (look(6.8, 2), "\u25bc", "watch"),
        (look(10.4, 2), "\u25b2", "watch"),
        (look(8.3, first=6.8), "x", "check"),
        (look(9.9, suspect=True), "?", "dim"),
        (look(None), "-", "plain"),
        (look(6.8), STEPS[0], "trend"),
        (look(8.0, 2), NOW, "watch"),
    ],
)
def test_a_look_has_a_sign_that_needs_no_color(one: LookAt, sign: str, tone: str) -> None:
    """The last two: what was in the band of its day stays in, what was out of it stays out."""
    assert mark(one, OXYGEN, BAND) == Mark(sign, tone)


def test_a_second_reading_that_found_the_same_is_out_and_not_unconfirmed() -> None:
    assert mark(look(6.7, 2, first=6.8), OXYGEN, BAND).sign == "\u25bc"


def test_words_have_signs_and_what_was_not_checked_is_a_mark_and_no_gap() -> None:
    past = [look(0.0), look(1.0, 2), look(None), look(2.0, 3)]
    assert "".join(span.text for span in in_row(past, SCREEN, None, 9)) == f"{DOT}\u2584-\u2588"


def test_what_is_typed_is_out_where_the_band_of_today_ends() -> None:
    assert [of_value(v, OXYGEN, BAND) for v in (6.9, 7.0, 10.0, 10.1)] == [
        "\u25bc", STEPS[0], STEPS[-1], "\u25b2",
    ]  # fmt: skip


def test_in_ascii_the_row_is_digits_and_the_picture_is_blocks() -> None:
    row = in_ascii((Span("\u2581\u2584\u2588\u25bcx?-", "trend"), Span("\u2580\u2584", "inside")))
    assert [span.text for span in row] == ["148vx?-", '"_']


# ---- the picture


def drawn(picture: Picture, value: float | None = None) -> list[str]:
    return ["".join(span.text for span in row) for row in picture.rows(value)]


def test_the_picture_has_a_value_at_its_height_and_what_is_out_beyond_the_band() -> None:
    assert BAND is not None
    looks = [look(8.3, hours=36), look(9.9, hours=24), look(6.8, 2, hours=12)]
    picture = Picture(looks, BAND, NOON, 4, Shape(2, 0, 1))
    assert drawn(picture) == [
        f"{DOT}{UPPER}{DOT} ",
        f"{UPPER} {DOT} ",
        f"  {NOW} ",
    ]
    assert [row[-1] for row in drawn(picture, 7.1)] == [" ", LOWER, " "], "in the cell of now"
    assert [row[-1] for row in drawn(picture, 5.0)] == [" ", " ", NOW]
    assert [row[:-1] for row in drawn(picture, 5.0)] == [row[:-1] for row in drawn(picture)]


def test_without_a_row_beyond_the_band_what_is_out_says_so_at_its_end() -> None:
    assert BAND is not None
    assert spot(11.0, BAND, Shape(2, 0, 1), out=True).sign == "\u25b2"
    assert spot(6.0, BAND, Shape(2, 1, 0), out=True).sign == "\u25bc"


def test_of_one_half_day_what_is_out_is_not_hidden_by_what_came_later() -> None:
    assert BAND is not None
    picture = Picture([look(6.8, 2, hours=2), look(8.3, hours=1)], BAND, NOON, 2, Shape(2, 0, 1))
    assert drawn(picture)[-1] == f"{NOW} "
    assert UPPER in drawn(picture)[1], "both stand"


# ---- beside what is typed


def typing(
    folder: Path, size: tuple[int, int], keys: Sequence[str], look: str = "day"
) -> list[list[str]]:
    """The page before and after each of some keys, at the oxygen of T02.

    No digit asks the record anything.
    """
    walk = _at(folder, "T02", "do", ())
    site = walk.site

    async def typed() -> list[list[str]]:
        app = TankwalkApp(site, (walk.round, "PB"), look)
        pages = []
        async with app.run_test(size=size) as pilot:
            room = Room(app, pilot)
            while not app.stands:
                await pilot.pause(0.05)
            await pilot.pause(0.5)  # what runs by the clock is read once the page stands
            room.page.draw()
            while app.reads_ahead:  # what the next Enter shows, while nobody types
                await pilot.pause(0.01)
            app.reads_ahead = True  # as if it went on: between keys nothing is read that a key asks
            for key in ("", *keys):
                with asked_of(site.ledger.db) as asked:
                    await room.press(*key)
                assert key == "" or asked == [], key
                pages.append(room.text.splitlines())
        return pages

    with closing(site):
        return asyncio.run(typed())


def row_of(page: list[str]) -> str:
    """The past in one row: from its span of time on."""
    return next(
        row[19:]
        for row in page
        if re.match(r".{16,19}[0-9 ]+ d  ", row[:25]) and "\u2500" not in row
    )


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (120, 40)])
def test_the_value_moves_in_the_row_with_each_digit(tmp_path: Path, size: tuple[int, int]) -> None:
    pages = typing(tmp_path, size, "6.9")
    ends = {}
    for page, typed in zip(pages, ("", "6", "6.", "6.9"), strict=True):
        row = row_of(page)
        cells = row[6 : 6 + (29 if size[0] >= 74 else 22)].rstrip()
        ends[typed] = cells[-1]
        assert "x" in cells, "the look of Wednesday that was not confirmed"
    assert ends[""] in STEPS
    assert ends["6.9"] == "\u25bc"
    scales = [next(row for row in page if "\u251c" in row) for page in pages]
    assert NOW not in scales[0]
    assert scales[-1].index(NOW) > scales[1].index(NOW), "6.9 is nearer to the band than 6"


def test_the_picture_and_the_sisters_line_move_with_each_digit(tmp_path: Path) -> None:
    before, eight = typing(tmp_path / "one", (120, 40), "8")
    _, six = typing(tmp_path / "other", (120, 40), "6")
    under = next(i for i, row in enumerate(before) if "T02, 14 days" in row)
    rows = range(under + 1, under + 7)
    now = 80 + 8 + 27
    assert {before[i][now] for i in rows} <= {" ", DOT}
    assert [i - under for i in rows if eight[i][now] in (UPPER, LOWER)] == [4]
    assert "> T02" in next(row for row in eight if row[82:].startswith("> T02"))
    assert next(row for row in eight if row[82:].startswith("> T02")).rstrip().endswith("8.0")
    assert next(row for row in six if row[82:].startswith("> T02")).rstrip().endswith("6.0")
    assert [i - under for i in rows if six[i][now] == NOW] == [6], "below the band"


def test_the_page_is_the_same_in_every_look(tmp_path: Path) -> None:
    day, plain_look = (typing(tmp_path / look, (80, 24), "8.3", look) for look in ("day", "plain"))
    assert day == plain_look


def test_after_the_power_went_all_is_there_again(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    with program(site) as terminal:
        begin_round(terminal)
        answer_up_to(terminal, ("T02", "do"))
        stood = row_of(terminal.text().split("\n"))
        terminal.send("6.5\r")
        terminal.wait("second reading")
        terminal.send("9")
        terminal.wait("9_")
        terminal.kill(signal.SIGKILL)
    with program(site) as terminal:
        go_on(terminal)
        terminal.wait("second reading")
        found = row_of(terminal.text().split("\n"))
    assert found[:34] == stood[:34], "every look of before"
    assert found[34] == "\u25bc", "and the one that was kept a moment ago"


# ---- the dead


def test_two_counts_of_a_round_are_one_day_beside_those_of_other_tanks() -> None:
    def seen(n: int, day: int, fish: float | None, round_: int) -> PastSeen:
        at = Instant(NOON.utc - 86400 * day + n, 0)
        return PastSeen(n, fish, None, at, 0, 0, False, round_, None, "AB")

    counts = [seen(1, 2, 12.0, 1), seen(2, 1, 30.0, 2), seen(3, 1, 10.0, 2), seen(4, 0, 64.0, 3),
              seen(5, 1, None, 4)]  # fmt: skip
    found = dead_days(counts, (9, 6, 10))
    assert [one.fish for one in found.days] == [12, 10, 64]
    assert found.others == (6, 10)
    assert dead_days([]).others is None


# ---- the board


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = opened(tmp_path)
    yield site
    site.close()


def wide(site: Site, width: int = 120, height: int = 39, at: int = 0) -> list[str]:
    seen = board(site)
    days = board_wide.days_of(seen, width, height)
    lines = board_page.draw(with_plots(site, seen, days), width, height, at)
    assert len(lines) == height
    assert all(text.width("".join(span.text for span in row)) == width for row in lines)
    return plain(lines).split("\n")


def tile(rows: list[str], code: str) -> list[str]:
    """The rows of one tank."""
    top = next(
        i
        for i, row in enumerate(rows)
        if re.search(rf" {code} ", row) and "last" not in row and i > 7
    )
    left = rows[top].index(f" {code} ") - 4
    return [row[left : left + 38] for row in rows[top : top + 5]]


def test_each_tank_has_its_past_on_common_scales(demo: Site) -> None:
    rows = wide(demo)
    for one in demo.plan.tanks:
        head, upper, lower, _, dead = tile(rows, one.code)
        assert one.code in head
        assert set(upper + lower) & {UPPER, LOWER}, one.code
        assert re.search(r"[0-9]$", dead.rstrip()), "the last count of the dead"
    assert "x" in tile(rows, "T02")[3], "the low one on Wednesday, that was not confirmed"
    assert "-" in tile(rows, "T11")[3], "not taken"
    assert "????" in tile(rows, "T08")[1], "the meter that failed its check"


def test_a_flagged_item_takes_the_place_of_what_all_show_and_is_named(demo: Site) -> None:
    head, *plot = tile(wide(demo), "T07")
    assert "Water below rim 4.5" in head
    assert NOW in plot[2], "what left the band stands below it"
    assert "8.2" in tile(wide(demo), "T01")[0]


def test_what_comes_next_stands_beside_what_is_open_and_the_mark_stays_in_sight(demo: Site) -> None:
    rows = wide(demo)
    head = next(row for row in rows if row.startswith(" NEXT"))
    assert "ALTERED  2" in head
    last = len(board(demo).next) - 1
    assert any(row.startswith(" > Generator") for row in wide(demo, at=last))


def test_in_a_wider_window_there_is_more_of_the_past(demo: Site) -> None:
    assert ", 28 d," in "\n".join(wide(demo, 200, 59))


def test_a_narrow_or_low_page_and_many_tanks_read_no_past(demo: Site) -> None:
    seen = board(demo)
    assert board_wide.days_of(seen, 117, 40) == 0
    assert board_wide.days_of(seen, 120, 30) == 0
    many = seen._replace(tiles=(*seen.tiles, *seen.tiles, *seen.tiles))
    assert board_wide.days_of(many, 200, 60) == 0


def test_the_past_of_a_wide_board_takes_a_question_for_each_item(demo: Site) -> None:
    """Oxygen, the level of T07, and the flow of T12, whose valve was throttled on Friday."""
    seen = board(demo)
    with asked_of(demo.ledger.db) as asked:
        found = with_plots(demo, seen, 14)
    items = {one.item.code for one in found.plots or ()}
    assert items == {"do", "level"}
    readings = [sql for sql in asked if "FROM place p CROSS JOIN reading r" in sql]
    assert len(readings) == len(items) + 1, "and the dead"


def test_forty_flags_leave_the_wide_page_whole(tmp_path: Path) -> None:
    with closing(crowded(tmp_path / "site")) as site:
        rows = wide(site)
        assert sum("NOT CALLED YET" in row for row in rows) >= 1
        for one in site.plan.tanks:
            assert any(one.code in row for row in rows[8:])


@pytest.mark.parametrize("size", [(80, 24), (120, 30)])
def test_a_board_that_draws_no_past_loads_nothing_for_it(demo: Site, size: tuple[int, int]) -> None:
    async def statements() -> list[str]:
        app = TankwalkApp(demo, "board")
        with asked_of(demo.ledger.db) as asked:
            async with app.run_test(size=size) as pilot:
                await pilot.pause(0.3)
        return [sql for sql in asked if "place p CROSS JOIN reading r" in sql and "late_s" in sql]

    assert asyncio.run(statements()) == []
