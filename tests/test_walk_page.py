"""The page of the walk at its three sizes: rows that hold, nothing cut, and what the eye meets."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import ANSWERS, opened, readings_of
from site_support import walk_drawn
from tankwalk import text
from tankwalk.pages.big import big
from tankwalk.pages.lines import Line, plain
from tankwalk.pages.strips import NOW
from tankwalk.pages.walk import Page
from tankwalk.pages.walk_past import room_of
from tankwalk.practice.round import rounds
from tankwalk.practice.round.looks import LookWalk
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site

SIZES = ((80, 24), (60, 20), (120, 40))
STATES = {
    "typed": ("T02", "do", (), "8.3"),
    "in another unit": ("T02", "temp", (), "68f"),
    "asked again": ("T07", "do", ("6.1",), ""),
    "confirmed": ("T07", "do", ("6.1", "6.1"), ""),
    "slip": ("T04", "flow", ("0.93",), ""),
    "impossible": ("T03", "temp", ("62.1",), ""),
    "reasons": ("T02", "turbidity", ("/",), ""),
    "choice": ("T02", "screen", (), "3"),
    "the dead": ("T07", "morts", (), "64"),
    "glance": ("T08", "glance", (), ""),
    "end": (None, "", (), ""),
}
"""States of the page: where one stands, what was answered there, and what is typed."""


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Walk]:
    """A walk of the demo's round in each state; each state has a record of its own."""
    return {name: _at(tmp_path_factory.mktemp("room"), *STATES[name][:3]) for name in STATES}


def _at(folder: Path, place: str | None, item: str, answers: tuple[str, ...]) -> Walk:
    site: Site = opened(folder)
    walk = Walk(site, rounds.begin(site, site.plan.checklists[0], "PB"), "PB")
    for slot, answer in ANSWERS:
        if slot == (place, item):
            break
        for each in readings_of(slot, answer):
            for part in ("/", answer[1:]) if answer.startswith("/") else (each,):
                walk.answer(part)
    for answer in answers:
        walk.answer(answer)
    return walk


def page_of(drawn: dict[str, Walk], name: str, size: tuple[int, int]) -> list[str]:
    return plain(walk_drawn(drawn[name], STATES[name][3], *size)).split("\n")


def every(drawn: dict[str, Walk]) -> Iterator[tuple[str, tuple[int, int], list[Line]]]:
    for name in STATES:
        for size in SIZES:
            yield name, size, walk_drawn(drawn[name], STATES[name][3], *size)


def ruled(rows: list[str]) -> int:
    """Which row the title of what is asked is, from 1."""
    return next(i for i, row in enumerate(rows, 1) if row.startswith(" \u2500\u2500 "))


def test_every_state_fits_its_page_and_the_last_cell_of_each_row_stays_blank(
    drawn: dict[str, Walk],
) -> None:
    for name, (width, height), page in every(drawn):
        assert len(page) == height, name
        for number, row in enumerate(page, 1):
            words = "".join(span.text for span in row)
            assert text.width(words) == width, (name, width, number)
            if number < height or width >= 80:  # the keys may need every cell of a narrow row
                assert words[-1] == " ", (name, width, number, words)


def test_nothing_is_cut(drawn: dict[str, Walk]) -> None:
    for name, size, page in every(drawn):
        cut = [row for row in plain(page).split("\n") if ".." in row]
        assert cut == [], (name, size)


def test_the_rows_of_a_round_hold_in_every_state_at_the_design_size(
    drawn: dict[str, Walk],
) -> None:
    for name in STATES:
        rows = page_of(drawn, name, (80, 24))
        assert rows[0].startswith(" WALK"), name
        assert ruled(rows) == 15, name
        assert rows[-1].strip(), name


def test_what_is_typed_is_solid_and_keeps_its_size_while_a_unit_follows(
    drawn: dict[str, Walk],
) -> None:
    solid = big("8.3", 20)
    assert solid is not None
    for size in SIZES:
        rows = page_of(drawn, "typed", size)
        at = ruled(rows)
        assert [row[3 : 3 + len(solid[0])] for row in rows[at : at + 3]] == [
            row.ljust(len(solid[0])) for row in solid
        ]
    inside = big("68", 20)
    assert inside is not None
    rows = page_of(drawn, "in another unit", (80, 24))
    assert rows[15][3 : 3 + len(inside[0])] == inside[0]
    assert "68f = 20.0 degC" in rows[17]


def test_what_is_typed_has_its_point_in_the_list_and_on_the_scale(drawn: dict[str, Walk]) -> None:
    rows = page_of(drawn, "typed", (80, 24))
    [here] = [row for row in rows if row.startswith(" >")]
    assert NOW in here
    assert NOW in rows[15]
    assert NOW not in "".join(page_of(drawn, "glance", (80, 24)))


def test_headline_reason_and_action_stand_in_rows_of_their_own(drawn: dict[str, Walk]) -> None:
    rows = page_of(drawn, "asked again", (80, 24))
    said = [row for row in rows[18:22] if row.strip()]
    assert said[0].startswith(" !! ACT  Oxygen 6.1 mg/L, band ") or said[0].startswith(
        " !! ACT Oxygen 6.1 mg/L, band "
    )
    assert said[1].startswith("    Fell 2.2 since ")
    assert said[-1] == "    Measure again."
    assert rows[22] == " T07 Oxygen 6.1 mg/L kept."


def test_a_slip_shows_both_readings_numbered_and_on_the_scale(drawn: dict[str, Walk]) -> None:
    for size in SIZES:
        rows = page_of(drawn, "slip", size)
        scale = next(row for row in rows if "[" in row and "\u251c" in row)
        assert "1" in scale[24:]
        assert "2" in scale[24:]
        below = rows[ruled(rows) :]
        assert any(row.startswith("    1   0.93 L/min") for row in below), size
        assert any(row.startswith("    2   3.5") for row in below), size
        assert rows[-1].startswith(" *"), "the safe key first"


def test_a_first_response_stays_in_sight_until_it_is_put_aside_by_one_key(
    drawn: dict[str, Walk],
) -> None:
    walk = drawn["confirmed"]
    said = "T07 Oxygen 6.1 mg/L"
    for answer in ("7.5", "3.5"):
        walk.answer(answer)
        rows = plain(walk_drawn(walk, "", 80, 24)).split("\n")
        assert any(said in row for row in rows[18:22]), "after the next value"
    assert walk.back()
    assert said not in "".join(plain(walk_drawn(walk, "", 80, 24)).split("\n")[18:22])
    assert [one.place for one, _ in walk.flags() if one.item.code == "do"] == ["T07"]


def test_at_the_end_what_is_still_wanted_is_told_whole(tmp_path: Path) -> None:
    """Once "8.0 at 06..   MV called 06:50, one m..": what has no room goes below."""
    walk = _at(tmp_path, "T07", "do", ("5.1", "5.1"))
    look = LookWalk(walk.site, (("T07", "do"),), "PB")
    look.answer("8.0")
    walk.reload()
    walk.stand(len(walk.slots))
    for width in (60, 80, 120):
        shown = plain(walk_drawn(walk, "", width, 24)).split("\n")
        at = next(i for i, row in enumerate(shown) if "Oxygen 5.1" in row)
        told = " ".join(shown[at : at + 2])
        assert re.search(r"Oxygen 5\.1 mg/L at \d\d:\d\d; 8\.0 at \d\d:\d\d ", told), told
        assert ".." not in told, told


def test_a_last_look_with_a_mark_stands_apart_from_when_it_was(tmp_path: Path) -> None:
    """Once "Fri 15:138.3": the cells of the mark beside one value had moved the other one."""
    walk = _at(tmp_path, "T07", "do", ("6.1", "6.1"))
    look = LookWalk(walk.site, (("T07", "do"),), "PB")
    for width in (60, 80, 120):
        shown = plain(walk_drawn(look, "", width, 24))
        assert re.search(r" 6\.1 !!", shown), shown
        assert not re.search(r"\d\d:\d\d\d", shown), shown


def test_a_first_response_is_answered_by_a_look_in_band(tmp_path: Path) -> None:
    walk = _at(tmp_path, "T07", "do", ("6.1", "6.1"))
    assert [one.slot.item.code for one in walk.pinned][:1] == ["do"]
    walk.move("up")
    for answer in ("*", "8.1"):
        walk.answer(answer)
    assert "do" not in [one.slot.item.code for one in walk.pinned]


def test_hidden_items_are_counted_and_the_present_one_is_never_among_them(
    drawn: dict[str, Walk],
) -> None:
    rows = page_of(drawn, "typed", (60, 20))
    shown = rows[3 : ruled(rows) - 1]
    [more] = [row for row in shown if " more " in row]
    hidden = int(more.split()[0])
    assert more.endswith("down")
    assert hidden + len(shown) - 1 == 10, "the stop asks ten things"
    assert any(row.startswith(" > Oxygen") for row in shown)


def test_the_map_of_a_glance_lap_holds_every_tank_and_names_the_present_one_large(
    drawn: dict[str, Walk],
) -> None:
    for size in SIZES:
        rows = page_of(drawn, "glance", size)
        shown = "\n".join(rows)
        assert all(f"T{n:02d}" in shown for n in range(1, 13))
        assert ">T08<" in shown
        at = ruled(rows)
        name = ("\u2580\u2588\u2580 \u2588\u2580\u2588 \u2588\u2580\u2588", rows[at][3:14])
        assert name[0] == name[1], size


def test_a_digit_draws_the_same_page_as_drawing_it_all_anew(drawn: dict[str, Walk]) -> None:
    for name in STATES:
        for size in SIZES:
            view = drawn[name].view(*room_of(*size))
            kept = Page(view, *size)
            for typed in ("", "1", "1.", "12.5", "68f", "1"):
                assert kept.draw(typed) == Page(view, *size).draw(typed), (name, typed)


def test_bars_of_the_dead_stand_by_day_and_start_at_zero(drawn: dict[str, Walk]) -> None:
    rows = page_of(drawn, "the dead", (80, 24))
    assert rows[17][24:].split()[:12] == ["29", "30", *map(str, range(1, 11))]
    today = rows[17].index(" 10 ") + 1
    assert rows[15][today : today + 2] == rows[16][today : today + 2] == "\u2588\u2588"
    assert rows[15][24:today].strip() == "", "no other day comes near"
