"""Everything is wrong at once: the board stays readable, the worst comes first."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from crowded_support import OUT, crowded
from tankwalk import text
from tankwalk.pages import board as page
from tankwalk.pages.lines import plain
from tankwalk.practice.board import Board, board
from tankwalk.practice.judging.verdict import Flag


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Board]:
    site = crowded(tmp_path_factory.mktemp("crowded") / "site")
    yield board(site)
    site.close()


def test_forty_flags_stand_and_each_is_one_of_a_tank(seen: Board) -> None:
    flags = [(one.place, one.key.item) for one in seen.wrong]
    entered = {(tank, code) for tank, answers in OUT.items() for code, _ in answers}
    assert len(entered) == 40
    assert len(flags) == len(set(flags))
    assert set(flags) == entered
    assert {place for place, _ in flags} == set(OUT)


@pytest.mark.parametrize(("width", "height"), [(80, 23), (60, 19), (120, 40)])
def test_the_page_fits_with_the_worst_first_and_every_tank_in_sight(
    seen: Board, width: int, height: int
) -> None:
    lines = plain(page.draw(seen, width, height)).split("\n")
    assert len(lines) <= height
    assert all(text.width(line) <= width for line in lines)
    whole = "\n".join(lines)
    assert "WRONG  40, 4 of them" in whole
    assert " ".join(lines[1].split()).startswith("!!! URGENT T07 Oxygen 4.8 mg/L, band")
    labels = [line[5:13].strip() for line in lines[2:10] if line[5:13].strip()]
    assert [one for one in labels if one in ("also", "do", "look", "call")] == [
        "also", "do", "look", "call",
    ]  # fmt: skip
    assert "NOT CALLED YET" in whole
    assert all(tank in whole for tank in OUT)
    assert "   down" in whole, "what is not in sight is counted, and the key that leads there told"
    assert " > T07 call MV 555-0142" in whole


def test_flags_are_ordered_by_how_serious_they_are(seen: Board) -> None:
    levels = [one.flag for one in seen.wrong]
    assert levels == sorted(levels, reverse=True)
    assert levels[0] is Flag.URGENT
    assert {Flag.ACT, Flag.WATCH} < set(levels)


def test_the_bands_that_spent_the_budget_are_named_for_review(seen: Board) -> None:
    assert seen.review is not None
    assert seen.review.allowed_watch == 21
    words = page.review_words(seen.review)
    assert words.startswith("2")
    assert "budget 21; most frequent: " in words
