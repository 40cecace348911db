"""The demo's thirty days: what the record says of its fish is what the season's fates know.

The tolerances were set before the numbers were seen; they and their reasons stand in
`stock_table.py`. The scenario's table is from the scenario itself, not from the program.
"""

from __future__ import annotations

from functools import cache

import pytest

import stock_table
from stock_table import SCENARIO, Told


@cache
def found() -> tuple[Told, ...]:
    return tuple(stock_table.told())


def test_a_census_by_samples_finds_the_living_within_its_own_error() -> None:
    within = 0
    for one in found():
        census = one.then.census
        assert census is not None
        assert census.plus_minus
        off = abs(census.fish - one.true_then)
        assert off <= stock_table.BY_SAMPLES * one.by_chance, one.tank
        assert census.plus_minus >= 1.9 * one.by_chance, "never narrower than chance alone"
        within += off <= 1.96 * one.by_chance
    assert within >= stock_table.FEWEST_WITHIN


def test_a_census_by_hand_and_the_book_are_those_of_the_fates() -> None:
    for one in found():
        assert one.end.census is not None
        assert abs(one.end.census.fish - one.true_end) <= stock_table.BY_HAND, one.tank
        assert abs(one.end.book.fish - one.true_book) <= stock_table.BOOK_OFF, one.tank
        assert one.end.unaccounted is not None
        unseen = one.true_book - one.true_end
        off = stock_table.BY_HAND + stock_table.BOOK_OFF
        assert abs(one.end.unaccounted.fish - unseen) <= off, one.tank


@pytest.mark.parametrize("arm", SCENARIO)
def test_means_of_a_treatment_are_those_of_the_scenarios_table(arm: str) -> None:
    living, book, unseen = SCENARIO[arm]
    census, by_book, lost = stock_table.means(list(found()), arm)
    assert census == pytest.approx(living, rel=stock_table.LIVING_OFF)
    assert by_book == pytest.approx(book, rel=stock_table.BOOK_MEAN_OFF)
    assert lost == pytest.approx(unseen, abs=stock_table.UNSEEN_OFF)


def test_the_written_page_is_what_the_record_says_today() -> None:
    said = stock_table.page(list(found()))
    assert stock_table.PAGE.read_text("utf-8") == said, "renew it: python tests/stock_table.py"
