"""These belong to another tank: one act moves a stop, and one moves it back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import again, go_to, opened, readings, seen_before, standing_at, walk_drawn
from tankwalk.ledger.inspect import inspect
from tankwalk.practice.board import board
from tankwalk.practice.round.questions import AskMove, AskTank
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """Two tanks as they were seen yesterday evening: T02 is the one with little flow."""
    with opened(tmp_path) as site:
        for tank, flow in (("T01", 2.5), ("T02", 2.2)):
            seen_before(site, tank, "temp", 16.4, "2026-05-09T19:00")
            seen_before(site, tank, "do", 7.6, "2026-05-09T19:00")
            seen_before(site, tank, "flow", flow, "2026-05-09T19:00")
        yield site


def today(site: Site, columns: str = "place, item, value") -> list[tuple[object, ...]]:
    return [row[1:] for row in readings(site, f"round, {columns}") if row[0] is not None]


def typed(walk: Walk, *answers: str) -> Walk:
    for answer in answers:
        walk.answer(answer)
    return walk


def three_of_t02(site: Site) -> Walk:
    """Temperature, oxygen (low, and again) and flow of T02 typed at T01's stop."""
    return typed(standing_at(site, "T01", "temp"), "16.5", "6.1", "6.2", "2.2")


def test_a_whole_stop_moves_with_one_reason_and_both_tanks_are_judged_anew(site: Site) -> None:
    walk = three_of_t02(site)
    walk.move("up")
    assert [one.place for one in board(site).wrong] == ["T01"]
    typed(walk, "-", "*")
    assert isinstance(walk.question, AskMove)
    assert walk.question.options() == [("1", "Flow alone"), ("2", "all 3 lines here")]
    typed(walk, "2")
    assert isinstance(walk.question, AskTank)
    said = typed(walk, "2").said.sentence
    assert said.startswith("4 values moved from T01 to T02: wrong tank. u moves all back.")
    assert today(site, "place, item, value, recheck, reason") == [
        ("T02", "temp", 16.5, 0, "wrong tank"),
        ("T02", "do", 6.1, 0, "wrong tank"),
        ("T02", "do", 6.2, 1, "wrong tank"),
        ("T02", "flow", 2.2, 0, "wrong tank"),
    ]
    assert [one.place for one in board(site).wrong] == ["T02"]
    assert (walk.slot.place, walk.slot.item.code) == ("T01", "temp")
    assert again(walk).at == walk.at
    for tank, words in (
        ("T01", "4 values moved to T02 07:00 by AB: wrong tank."),
        ("T02", "4 values moved here from T01 07:00 by AB: wrong tank."),
    ):
        go_to(walk, tank, "morts")
        page = " ".join(span.text for row in walk_drawn(walk, "", 80, 24) for span in row)
        assert words in page
    assert inspect(site.ledger.path).sound


def test_moving_is_taken_back_by_one_key(site: Site) -> None:
    walk = typed(three_of_t02(site), "-", "*", "2")
    assert walk.undo().sentence.startswith("Undone: 4 values moved back from T02 to T01.")
    assert today(site) == [
        ("T01", "temp", 16.5), ("T01", "do", 6.1), ("T01", "do", 6.2), ("T01", "flow", 2.2)
    ]  # fmt: skip
    assert [one.place for one in board(site).wrong] == ["T01"]
    walk.undo()
    assert today(site)[-1] == ("T01", "do", 6.2)


def test_a_value_typed_where_another_tanks_stands_moves_that_one_and_is_kept(site: Site) -> None:
    walk = typed(standing_at(site, "T01", "temp"), "16.9")
    walk.move("up")
    typed(walk, "16.4", "2")
    assert isinstance(walk.question, AskTank)
    said = typed(walk, "t02").said.sentence
    assert said.startswith(
        "1 value moved from T01 to T02: wrong tank. u moves all back. "
        "T01 Temperature 16.4 degC kept."
    )
    assert today(site) == [("T02", "temp", 16.9), ("T01", "temp", 16.4)]


@pytest.mark.parametrize("named", ["", "1", "13", "x", "T01"])
def test_a_tank_that_is_none_or_the_same_moves_nothing(site: Site, named: str) -> None:
    walk = typed(three_of_t02(site), "-", "*", named)
    assert isinstance(walk.question, AskTank)
    assert {row[0] for row in today(site)} == {"T01"}


def test_a_confirmed_value_that_moves_is_listed_as_withdrawn_and_stands_where_it_belongs(
    site: Site,
) -> None:
    typed(three_of_t02(site), "-", "*", "2")
    [gone] = board(site).withdrawn
    assert (gone.seen.place, gone.seen.value, gone.reason) == ("T01", 6.2, "wrong tank")
