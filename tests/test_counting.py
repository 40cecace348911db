"""The counting pad's sums: ranges as scipy has them, enough or not, and what was left out."""

from __future__ import annotations

from math import isclose, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tankwalk.errors import Refusal
from tankwalk.practice.counting.pad import (
    CV_LIMIT,
    MORE,
    SQUARE_ML,
    About,
    Count,
    Out,
    Sort,
    State,
    Worked,
    add,
    again,
    leave_out,
    marks,
    move,
    read_back,
    undo,
    work,
    written,
)

CONE = About(Sort.NAUPLII, 0.1, 1, 7.5, "A0509", lot="AC-7", grams=15, per_gram=210_000)

numbers = st.lists(st.integers(0, 400), min_size=2, max_size=12)


def counted(*found: int, about: About = CONE) -> Count:
    count = Count(about)
    for number in found:
        count = add(count, number)
    return count


def worked(*found: int, about: About = CONE) -> Worked:
    made = work(counted(*found, about=about))
    assert made is not None
    return made


def test_three_drops_of_a_cone_come_to_what_a_pencil_makes_of_them() -> None:
    found = worked(34, 29, 38)
    assert isclose(found.per_ml, 1010 / 3)
    assert found.total is not None
    assert isclose(found.total, 1010 / 3 * 7500)
    assert found.hatch_percent is not None
    assert isclose(found.hatch_percent, 100 * 2_525_000 / (15 * 210_000))
    assert found.aliquots.cv is not None
    assert round(found.aliquots.cv) == 13


@given(numbers)
def test_the_range_is_the_one_scipy_has_for_the_rule_it_names(found: list[int]) -> None:
    made, n = worked(*found), len(found)
    mean = sum(found) / n
    dispersion = sum((one - mean) ** 2 for one in found) / mean if mean else 0.0
    mixed = bool(mean == 0 or dispersion < stats.chi2.ppf(0.975, n - 1))
    assert made.exact is mixed
    if mixed:
        k = sum(found)
        low = stats.chi2.ppf(0.025, 2 * k) / 2 / n if k else 0.0
        high = stats.chi2.ppf(0.975, 2 * k + 2) / 2 / n
    else:
        half = stats.t.ppf(0.975, n - 1) * stats.tstd(found) / sqrt(n)
        low, high = max(0.0, mean - half), mean + half
    assert isclose(made.low_ml, low / 0.1, rel_tol=1e-6, abs_tol=1e-6)
    assert isclose(made.high_ml, high / 0.1, rel_tol=1e-6)
    assert made.total is not None
    assert isclose(made.total, made.per_ml * 7500)


@given(numbers)
def test_more_like_these_is_what_scipy_has_for_so_many_more(found: list[int]) -> None:
    made, n = worked(*found), len(found)
    more = made.narrower
    if more is None:
        assert made.state is State.ENOUGH
        return
    mean, many = sum(found) / n, n + MORE
    if made.exact:
        k = round(mean * many)
        assert more.of == k
        low = stats.chi2.ppf(0.025, 2 * k) / 2 / many if k else 0.0
        high = stats.chi2.ppf(0.975, 2 * k + 2) / 2 / many
    else:
        half = stats.t.ppf(0.975, many - 1) * stats.tstd(found) / sqrt(many)
        low, high = max(0.0, mean - half), mean + half
    assert isclose(more.low, low / 0.1, rel_tol=1e-6, abs_tol=1e-6)
    assert isclose(more.high, high / 0.1, rel_tol=1e-6)


@pytest.mark.parametrize(
    ("found", "state"),
    [
        ((34,), State.FEW),
        ((34, 36), State.FEW),
        ((34, 29, 38), State.WIDE),
        ((34, 29, 38, 31), State.ENOUGH),
        ((34, 29, 90), State.UNEVEN),
        ((6, 9, 5), State.SCATTERED),
        ((0, 0, 0), State.WIDE),
    ],
)
def test_enough_is_three_or_more_that_agree_in_a_narrow_range(
    found: tuple[int, ...], state: State
) -> None:
    assert worked(*found).state is state


def test_scatter_over_the_limit_that_is_no_more_than_chance_is_told_apart_from_bad_mixing() -> None:
    made = worked(6, 9, 5)
    assert made.aliquots.cv is not None
    assert made.aliquots.cv > CV_LIMIT
    assert made.exact
    assert made.odd is None


def test_the_odd_drop_is_named_where_they_are_not_well_mixed() -> None:
    assert worked(34, 29, 90, 31).odd == 2


def test_a_drop_counted_again_leaves_the_first_in_sight_and_out_of_the_sum() -> None:
    count = add(again(counted(34, 29, 90)), 38)
    assert [one.out for one in count.samples] == [None, None, Out.AGAIN, None]
    assert work(count) == work(counted(34, 29, 38))
    assert written(count) == [("nauplii", "34 29 38")]


def test_the_arrows_choose_which_drop_is_left_out() -> None:
    count = move(move(counted(34, 29, 38), -1), -1)
    assert count.at == 1
    assert leave_out(count, Out.BUBBLE).samples[1].out is Out.BUBBLE
    assert move(move(count, 1), 1).at is None
    assert move(move(move(count, -1), -1), -1).at == 0


def test_what_is_left_out_once_is_not_left_out_twice() -> None:
    count = leave_out(move(counted(34, 29), -1), Out.CLUMP)
    with pytest.raises(Refusal, match="left out already"):
        leave_out(count._replace(at=1), Out.LOST)


def test_undo_takes_the_newest_number_alone() -> None:
    rotifers = About(Sort.ROTIFERS, 1.0, 1, 60, "R1")
    count = counted(50, 31, 48, about=rotifers)
    assert undo(count) == counted(50, 31, about=rotifers)
    # The last number of a finished sample takes that sample.
    assert undo(undo(count)).samples == ()
    with pytest.raises(Refusal, match="Nothing"):
        undo(Count(rotifers))


def test_rotifers_are_counted_with_their_eggs() -> None:
    made = worked(50, 31, 48, 30, 53, 33, about=About(Sort.ROTIFERS, 1.0, 10, 60, "R1"))
    assert isclose(made.per_ml, 151 / 3 * 10)
    assert made.egg_ratio is not None
    assert isclose(made.egg_ratio, 94 / 151)


def test_a_test_hatch_is_by_all_three_stages() -> None:
    # Science pack: N 110, U 6, E 24 hatch 78.57 %.
    made = worked(55, 3, 12, 55, 3, 12, about=About(Sort.HATCH, 0.25, batch="AC-7"))
    assert made.hatch_percent is not None
    assert round(made.hatch_percent, 2) == 78.57


def test_cells_of_a_chamber_come_to_ten_thousand_a_square_and_the_dilution() -> None:
    made = worked(52, 49, 55, 47, about=About(Sort.CELLS, SQUARE_ML, 2, batch="N1"))
    assert isclose(made.per_ml, 203 / 4 * 1e4 * 2)
    assert made.total is None


def test_larvae_of_a_vessel_come_to_a_number_with_its_range() -> None:
    made = worked(41, 38, 44, 40, 43, about=About(Sort.LARVAE, 100, 1, 12, place="T03"))
    assert made.total is not None
    assert isclose(made.total, 206 / 5 * 120)
    assert made.low is not None
    assert made.high is not None
    assert isclose(made.low, stats.chi2.ppf(0.025, 412) / 2 / 5 * 120, rel_tol=1e-6)
    assert made.state is State.ENOUGH


def test_nobody_counts_a_hundred_thousand_in_a_drop() -> None:
    with pytest.raises(Refusal, match="not kept"):
        counted(100_001)


sorts = st.sampled_from([CONE, About(Sort.ROTIFERS, 1.0), About(Sort.HATCH, 0.25)])


@given(sorts, st.lists(st.integers(0, 300), max_size=14), st.data())
def test_what_is_under_way_is_read_back_as_it_was(
    about: About, found: list[int], data: st.DataObject
) -> None:
    count = Count(about)
    for number in found:
        if count.taken and not count.part and data.draw(st.integers(0, 4)) == 0:
            count = leave_out(count, data.draw(st.sampled_from(list(Out))))
        count = add(count, number)
    kept = {what: tuple(map(int, numbers.split())) for what, numbers in written(count, whole=True)}
    assert read_back(about, kept, marks(count)) == count
