"""The past of a tank: looks in their band by day, the dead, its story, what was done last time."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demo_support import cut
from site_support import SMALL, clock_shows, moment, opened, seen_before, tankwalk
from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, Movement, Reading
from tankwalk.ledger.store import Station
from tankwalk.pages import plot, story_words, tank, tank_table
from tankwalk.pages.glyphs import in_ascii
from tankwalk.pages.lines import TONES, Span, plain
from tankwalk.plan.model import Item
from tankwalk.practice.incidents import acting
from tankwalk.practice.incidents.incident import incident
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.past import dead as deaths
from tankwalk.practice.past.dead_days import DeadDay
from tankwalk.practice.past.series import LookAt, Series, series
from tankwalk.practice.past.view import PlaceView, find_place, place_view
from tankwalk.practice.past.window import Window, window
from tankwalk.practice.round.looks import LookWalk
from tankwalk.practice.site import Site, open_site
from tankwalk.practice.stock.numbers import numbers

IN_TROUBLE = "2026-05-10T07:25"
"""Sunday of the demo: T07 out in oxygen, many dead, its screen fouled."""

RAMPED = SMALL.replace(
    "target = 16.5",
    "ramp = [{on = 2026-05-01, target = 15.0}, {on = 2026-05-11, target = 20.0}]",
    1,
)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path / "room") as site:
        yield site


@pytest.fixture(scope="module")
def trouble(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The demo in the middle of its emergency, to be read only."""
    folder = tmp_path_factory.mktemp("trouble") / "site"
    cut(folder, moment(IN_TROUBLE))
    site = open_site(folder, Station("x", "x"), IN_TROUBLE)
    yield site
    site.close()


def drawn(view: PlaceView, width: int = 80, height: int = 23) -> list[str]:
    return plain(tank.draw(view, width, height)).split("\n")


def told(view: PlaceView) -> list[str]:
    """The story in words, newest first."""
    return [story_words.told(line, view.place).whole for line in view.story]


# ---- the looks and their band


def test_the_looks_of_a_window_come_in_order_with_what_was_not_taken(site: Site) -> None:
    seen_before(site, "T01", "temp", 16.4, "2026-05-08T07:00")
    at = moment("2026-05-09T07:00")
    site.record(
        Entry("reading", "CD", at, at, "T01", "temp", "degC"),
        Reading(None, "", qualifier="could not"),
    )
    seen_before(site, "T01", "temp", 16.6, "2026-05-09T15:00")
    seen_before(site, "T01", "temp", 11.0, "2026-04-01T15:00")  # long before the window
    found = series(site, "T01", site.plan.item("temp"), window(site, site.now()))
    assert [look.value for look in found.looks] == [16.4, None, 16.6]
    assert found.looks[1].why == "could not"
    assert [look.value for look in found.taken] == [16.4, 16.6]


def test_a_late_entry_stands_at_its_own_time_and_says_how_late_it_came(site: Site) -> None:
    at, entered = moment("2026-05-08T07:00"), moment("2026-05-08T10:30")
    site.record(
        Entry("reading", "CD", at, entered, "T01", "temp", "degC"), Reading(16.5, ""), sure=True
    )
    [look] = series(site, "T01", site.plan.item("temp"), window(site, site.now())).looks
    assert look.at == at
    assert look.late_s == 3.5 * 3600
    said = plain(tank_table.draw(place_view(site, "T01", item="temp"), 80))
    assert "16.5 late" in said
    assert "late: Temperature Fri 8 May 07:00, entered 3 h 30 min after, CD." in said


def test_a_first_reading_that_was_not_found_again_is_marked_and_one_that_was_is_confirmed(
    trouble: Site,
) -> None:
    """The demo's T02: 6.8 on day 17, read again as 8.3; and T07 on Sunday, 6.1 twice.

    Meter B's 9.3 of T07 on 29 April was read twice as well: the first to show that B reads high.
    """
    item = trouble.plan.item("do")
    odd = series(trouble, "T02", item, window(trouble, trouble.now()))
    [look] = [look for look in odd.looks if look.not_confirmed is not None]
    assert (look.not_confirmed, look.value, look.at.day) == (6.8, 8.3, date(2026, 5, 6))
    low = series(trouble, "T07", item, window(trouble, trouble.now()))
    confirmed = [(look.first, look.value, look.flag) for look in low.looks if look.confirmed]
    assert confirmed == [(9.3, 9.3, Flag.WATCH), (6.1, 6.1, Flag.ACT)]
    shown = plot.plot(odd, plot.axis(odd.window, 56), 5)
    assert plot.FIRST in shown.signs
    assert "x not confirmed" in "\n".join(drawn(place_view(trouble, "T02", item="do")))


def test_readings_of_a_meter_that_failed_are_suspect_and_so_is_what_was_worked_out_from_them(
    trouble: Site,
) -> None:
    """Meter B of the demo drifted from 29 April to 2 May: 48 looks at six tanks, 8 at T07."""
    for code in ("do", "sat"):
        found = series(trouble, "T07", trouble.plan.item(code), window(trouble, trouble.now()))
        suspect = [look for look in found.looks if look.suspect]
        assert len(suspect) == 8, code
        assert {look.at.day for look in suspect} == {
            date(2026, 4, 29), date(2026, 4, 30), date(2026, 5, 1), date(2026, 5, 2)
        }  # fmt: skip
    other = series(trouble, "T01", trouble.plan.item("do"), window(trouble, trouble.now()))
    assert not [look for look in other.looks if look.suspect]


def test_the_band_is_that_of_each_day_where_it_ramps(tmp_path: Path) -> None:
    """From 15.0 on 1 May to 20.0 on 11 May: half a degree a day, one either way."""
    with opened(tmp_path / "ramped", RAMPED) as site:
        seen_before(site, "T01", "temp", 17.0, "2026-05-05T07:00")
        found = series(site, "T01", site.plan.item("temp"), window(site, site.now(), 10))
        assert found.planned
        bands = {one.day: one.limits for one in found.bands}
        for day, middle in ((1, 15.0), (3, 16.0), (10, 19.5)):
            limits = bands[date(2026, 5, day)]
            assert limits is not None
            assert limits.watch_below == pytest.approx(middle - 1)
            assert limits.watch_above == pytest.approx(middle + 1)


@pytest.mark.parametrize("days", [0, -3, 3661])
def test_a_window_of_no_days_is_refused(site: Site, days: int) -> None:
    with pytest.raises(Refusal, match="1 to 3660 days"):
        window(site, site.now(), days)


def test_a_place_is_found_by_its_code_or_its_number(site: Site) -> None:
    assert find_place(site.plan, "t01") == "T01"
    assert find_place(site.plan, "1") == "T01"
    assert find_place(site.plan, "L1") == "L1"
    assert find_place(site.plan, "T99") is None
    with pytest.raises(Refusal, match="no tank, no loop and no meter"):
        place_view(site, "T99")


# ---- the dead


def moved(site: Site, what: str, fish: int, when: str) -> None:
    at = moment(when)
    site.record(Entry("movement", "CD", at, at, "T01"), Movement(what, fish, None, None, None))


@pytest.mark.parametrize(("book", "percent"), [(3865, 88), (4399, 99), (4400, 100), (1, 1), (0, 0)])
def test_the_book_in_percent_is_rounded_and_whole_only_where_it_is(book: int, percent: int) -> None:
    found = deaths.Dead((), 4400, None)
    assert found.percent(DeadDay(date(2026, 5, 9), None, book)) == percent


def test_the_dead_stand_by_day_and_the_book_falls_by_them(site: Site) -> None:
    moved(site, "stocked", 1000, "2026-05-02T10:00")
    seen_before(site, "T01", "morts", 10, "2026-05-03T07:00")
    seen_before(site, "T01", "morts", 5, "2026-05-03T15:00")
    seen_before(site, "T01", "morts", 0, "2026-05-05T07:00")
    moved(site, "sampled", 20, "2026-05-05T12:00")
    moved(site, "census", 700, "2026-05-06T12:00")  # a census does not restart the book
    moved(site, "dead", 300, "2026-05-07T12:00")  # a mass event
    span = window(site, site.now(), 9)
    found = deaths.dead(numbers(site, ["T01"]).get("T01"), span)
    by = {one.day.day: (one.fish, one.book) for one in found.days}
    assert by[2] == (None, 1000)
    assert by[3] == (15, 985)
    assert by[4] == (None, 985)
    assert by[5] == (0, 965)
    assert by[6] == (None, 965)
    assert by[7] == (300, 665)
    assert found.percent(found.days[-1]) == 66
    assert found.came_in == 1000


def test_bars_of_the_dead_start_at_zero_and_a_day_nobody_counted_has_none(site: Site) -> None:
    seen_before(site, "T01", "morts", 40, "2026-05-07T07:00")
    seen_before(site, "T01", "morts", 20, "2026-05-08T07:00")
    seen_before(site, "T01", "morts", 0, "2026-05-09T07:00")
    span = window(site, site.now(), 5)
    shown = plot.bars(deaths.dead(None, span)._replace(
        days=tuple(DeadDay(span.day(n), fish, None)
                   for n, fish in enumerate((None, 40, 20, 0, None)))
    ), plot.axis(span, 20), 2, Flag.OK)  # fmt: skip
    rows = [plain([tuple(row)]) for row in shown.rows]
    assert rows[0] == "    ██"
    assert rows[1] == "-   ██  ██  0"
    assert shown.names == ["40", "20"]


# ---- the plot


def test_the_plot_of_the_demo_in_trouble_is_the_sketch(trouble: Site) -> None:
    """Rows named by their tops; 9.1 in the lower half of 9 to 10; 6.1 alone out of the band."""
    found = series(trouble, "T07", trouble.plan.item("do"), window(trouble, trouble.now()))
    shown = plot.plot(found, plot.axis(found.window, 56), 5)
    assert shown.names == ["11.0", "10.0", "9.0", "8.0", "7.0"]
    rows = [plain([tuple(row)]).rstrip() for row in shown.rows]
    assert rows == [
        "· · · · · · · · · · ? ? · · · · · · · · · · · · · · · ·",
        "▄ ▄ ▄ ▄ ? ? ? ? ? ? · ▄ ▄ · · · · · · · · · · · · · · ·",
        "· · · · · · · · · · · · · ▀ ▀ ▀ ▀ ▄ ▄ ▄ ▀ ▄ ▄ ▄ ▄ ▄ · ·",
        "· · · · · · · · · · · · · · · · · · · · · · · · · · · ▄",
        "                                                    ●",
    ]


ROWS = st.integers(2, 12)
VALUES = st.lists(st.floats(-50, 500).map(lambda v: round(v, 2)), min_size=1, max_size=40)


@given(VALUES, ROWS)
def test_every_look_is_drawn_in_the_row_that_holds_it_or_at_the_edge_as_beyond(
    values: list[float], many: int
) -> None:
    found = looked(values)
    rows = plot.rows_of(found, many)
    assert 1 <= rows.many <= many
    shown = plot.plot(found, plot.axis(found.window, 2 * len(values)), many)
    for value in values:
        half = rows.half(value)
        if 0 <= half < 2 * rows.many:
            top = rows.tops()[half // 2]
            assert top - rows.step - 1e-6 <= value <= top + 1e-6
        else:
            assert shown.signs & {plot.BEYOND_HIGH, plot.BEYOND_LOW}
    marks = sum(
        any(sign in plain([tuple(row)]) for sign in "▀▄█▲▼") for row in shown.rows
    )  # fmt: skip
    assert marks >= 1


@given(st.integers(1, 3660), st.integers(1, 200))
def test_every_day_of_a_window_has_a_cell_and_the_axis_keeps_to_its_room(
    days: int, room: int
) -> None:
    span = looked([1.0]).window._replace(first=date(2026, 5, 10) - timedelta(days=days - 1))
    across = plot.axis(span, room)
    assert 1 <= across.cells <= room
    cells = [across.start(span.day(nth)) for nth in range(span.days)]
    assert cells == sorted(cells)
    assert 0 <= cells[0] <= cells[-1] < across.cells
    assert text.width(plain([(*plot.dates(across), Span("|"))])) == across.cells + 1


def looked(values: list[float]) -> Series:
    """A series of one look a day, without a band."""
    last = moment("2026-05-10T12:00")
    looks = tuple(
        LookAt(n, Instant(last.utc - 86400 * (len(values) - 1 - n), last.offset), value, "",
               False, Flag.OK, None, False, 0, None, "AB")
        for n, value in enumerate(values)
    )  # fmt: skip
    first = looks[0].at.day
    span = Window(first, last.day, looks[0].at.utc - 86400, last.utc)
    return Series("T01", Item("x", "X", unit="u", decimals=2), span, looks, (), planned=False)


# ---- the page


@pytest.mark.parametrize("place", ["T07", "T12", "L1", "site", "B"])
@pytest.mark.parametrize("days", [7, 14, 60, 365])
def test_the_page_fills_every_size_cuts_no_number_and_keeps_the_lanes(
    trouble: Site, place: str, days: int
) -> None:
    view = place_view(trouble, place, days)
    for width, height in ((80, 23), (60, 19), (120, 39), (200, 59), (70, 21)):
        lines = tank.draw(view, width, height)
        assert len(lines) == height
        assert all(sum(text.width(span.text) for span in row) == width for row in lines)
        assert {span.tone for row in lines for span in row} <= set(TONES)
        said = plain(lines)
        assert "flags" in said
        assert re.search(r"\d\.\.", said) is None, said
        for one in view.plots[:1]:
            newest = one.taken[-1].value if one.taken else None
            if newest is not None:
                assert one.item.shown(newest, bare=True) in said


@pytest.mark.parametrize(
    ("place", "item", "words"),
    [("T07", "level", ("Water below", "rim, cm")), ("A", "", ("Check, moist", "air, %"))],
)
def test_the_name_of_an_item_beside_its_plot_is_not_cut(
    trouble: Site, place: str, item: str, words: tuple[str, str]
) -> None:
    rows = plain(tank.draw(place_view(trouble, place, 14, item=item), 80, 23)).split("\n")
    [first] = [nth for nth, row in enumerate(rows) if row.rstrip().endswith(words[0])]
    assert rows[first + 1].rstrip().endswith(words[1])


def test_the_story_gives_way_last_and_counts_what_it_does_not_show(trouble: Site) -> None:
    view = place_view(trouble, "T07")
    rows = drawn(view)
    [more] = [row for row in rows if " more since " in row]
    counted = re.search(r"(\d+) more since 27 Apr", more)
    assert counted
    shown = len(re.findall(r"\d\d:\d\d [A-Z]{2} ", "\n".join(rows[-5:])))
    assert int(counted[1]) + shown == len(view.story)


@pytest.mark.parametrize("at", [0, 3, 10, 20])
def test_in_the_story_the_line_one_stands_at_is_whole_and_in_sight(trouble: Site, at: int) -> None:
    view = place_view(trouble, "T07", whole=True)
    for width, height in ((80, 23), (60, 19), (120, 39)):
        rows = plain(tank.draw(view, width, height, at)).split("\n")
        assert len(rows) == height
        flowing = " ".join(" ".join(rows).split())
        assert " > " in "\n".join(rows)
        assert " ".join(told(view)[at].split()) in flowing


def test_read_line_by_line_the_tables_say_all_that_the_plot_says(trouble: Site) -> None:
    """Every look with its mark, every count of the dead, the book, every day's flags, the band."""
    for place in ("T07", "T02", "T12", "L1", "B"):
        view = place_view(trouble, place, whole=True)
        said = plain(tank_table.draw(view, 80))
        flowing = " ".join(said.split())
        for one in view.plots:
            assert one.item.label in said
            for look in one.looks:
                assert tank_table.look_words(one, look) in said
            assert tank.band_words(one) in flowing
        for day in view.dead.days if view.dead is not None else ():
            assert day.fish is None or f"{day.fish:,}" in said
            assert day.book is None or f"{day.book:,}" in said
        for mark in view.marks:
            assert f"{mark.flag.short} {', '.join(mark.items)}" in flowing
        for words in told(view):
            assert " ".join(words.split()) in flowing


def test_in_ascii_no_drawn_sign_is_left(trouble: Site) -> None:
    view = place_view(trouble, "T07")
    said = plain([in_ascii(row) for row in tank.draw(view, 120, 39)])
    assert said.isascii(), sorted({c for c in said if not c.isascii()})


# ---- the story


def test_the_story_tells_flags_their_end_meters_and_what_was_written(trouble: Site) -> None:
    said = "\n".join(told(place_view(trouble, "T07", whole=True)))
    assert "!! ACT Oxygen 6.1 mg/L, second reading 6.1: confirmed" in said
    assert "!! ACT Morts 64, second reading 64: confirmed" in said
    assert "note: Screen was matted with clay and feed, brushed; spare screen in." in said
    assert "meter B FAILED its check (moist air 110.0 %, outside 98 to 102 %): 8 looks" in said
    assert "read with meter A, before with B" in said
    assert re.search(r"fed: .* of .* g in \d meals", said)
    assert "sample: length 14.77 mm, SD 1.66, 20 fish" in said
    assert "250 g sodium bicarbonate in" in said


def test_the_story_comes_newest_first_and_of_this_place_alone(trouble: Site) -> None:
    view = place_view(trouble, "T04", whole=True)
    assert [line.at for line in view.story] == sorted(
        (line.at for line in view.story), reverse=True
    )
    assert {line.place for line in view.story} <= {"T04", "L1"}


OXYGEN = Key("place", "T01", "do")


def low_oxygen(site: Site, when: str, *typed: str) -> None:
    """Oxygen at T01 read at a time, and read again where it is out."""
    clock_shows(site, when)
    walk = LookWalk(site, (("T01", "do"),), "AB")
    for one in typed:
        walk.answer(one)


def test_what_was_done_the_last_time_is_told_at_the_next_and_how_long_it_took(site: Site) -> None:
    low_oxygen(site, "2026-05-04T07:00", "5.4", "5.4")
    one = incident(site, OXYGEN)
    assert one is not None
    acting.did(site, "AB", one, "brushed the screen, spare one in")
    low_oxygen(site, "2026-05-04T08:30", "8.1")
    low_oxygen(site, "2026-05-04T09:10", "8.2")
    assert place_view(site, "T01").wrong == ()
    low_oxygen(site, "2026-05-10T07:00", "5.2", "5.2")
    view = place_view(site, "T01")
    assert view.last is not None
    said = story_words.last_words(view.last, "T01", view.now)
    assert said.startswith("Oxygen 5.4 mg/L !!, 4 May 07:00: brushed the screen, spare one in")
    assert said.endswith("in band after 1 h 30 min")
    assert "last time" in "\n".join(drawn(view))
    assert any("flag over" in words for words in told(view))


def test_where_this_tank_never_had_it_the_last_time_of_a_sister_is_told(site: Site) -> None:
    at = moment("2026-05-03T07:00")
    sister = next(t.code for t in site.plan.tanks if t.loop == site.plan.tank("T01").loop
                  and t.code != "T01")  # fmt: skip
    site.record(Entry("reading", "CD", at, at, sister, "do", "mg/L"), Reading(5.0, "", flag=3))
    low_oxygen(site, "2026-05-10T07:00", "5.2", "5.2")
    view = place_view(site, "T01")
    assert view.last is not None
    assert view.last.place == sister
    said = story_words.last_words(view.last, "T01", view.now)
    assert f"at {sister}, 3 May 07:00: nothing was entered as done" in said


# ---- as a command


def test_a_tank_is_printed_as_tables_and_as_data_and_what_is_not_there_is_refused(
    tmp_path: Path,
) -> None:
    with opened(tmp_path / "room") as site:
        seen_before(site, "T01", "do", 8.3, "2026-05-09T15:04")
    done = tankwalk(tmp_path, "tank", "1", "--site", str(tmp_path / "room"))
    assert done.returncode == 0, done.stderr
    said = done.stdout.decode()
    assert "TANK  T01" in said
    assert "8.3" in said
    assert "The same as a picture:" in said
    done = tankwalk(tmp_path, "tank", "T01", "--json", "--site", str(tmp_path / "room"))
    found = json.loads(done.stdout)
    assert found["place"] == "T01"
    assert found["plots"][0]["looks"][-1]["value"] == 8.3
    for wrong, why in (
        (["T99"], "no tank, no loop, no meter and no batch"),
        (["T01", "--days", "0"], "1 to 3660 days"),
        (["T01", "--item", "nothing"], "is not drawn here"),
    ):
        done = tankwalk(tmp_path, "tank", *wrong, "--site", str(tmp_path / "room"))
        assert done.returncode == 2
        assert why in done.stderr.decode()
