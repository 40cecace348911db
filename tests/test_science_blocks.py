"""Tanks in blocks: what least squares gives, what is refused, and effects with their limits."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outside_blocks import FABRIC, LOST, cells
from tankwalk.errors import Refusal
from tankwalk.science import blocks, comparison, effects, survival


def test_without_blocks_it_is_the_one_way_analysis() -> None:
    groups = ((44.0, 47.1, 41.9, 45.2), (49.3, 50.2, 46.8), (53.9, 52.1, 55.0, 51.7, 56.3))
    tanks = [blocks.Cell(i, 0, value) for i, group in enumerate(groups) for value in group]
    fit, plain = blocks.fitted(tanks), comparison.anova(groups)
    assert fit.blocks is None
    assert fit.treatments.statistic == pytest.approx(plain.statistic, rel=1e-10)
    assert fit.df == plain.df
    assert fit.mean_square == pytest.approx(plain.mean_square)
    for ours, theirs in zip(fit.pairs, comparison.tukey(groups), strict=True):
        assert ours.p == pytest.approx(theirs.p, abs=1e-9)
        assert (ours.low, ours.high) == pytest.approx((theirs.low, theirs.high))


def test_two_treatments_in_blocks_are_the_paired_test() -> None:
    from scipy import stats

    first, second = (54.1, 56.9, 53.2, 56.8), (60.7, 58.4, 61.9, 58.3)
    tanks = [
        blocks.Cell(i, j, value) for i, row in enumerate((first, second)) for j, value in
        enumerate(row)
    ]  # fmt: skip
    theirs = stats.ttest_rel(first, second)
    assert blocks.fitted(tanks).treatments.p == pytest.approx(float(theirs.pvalue), rel=1e-9)


def test_a_missing_tank_is_left_out_and_the_means_are_those_of_all_blocks() -> None:
    fit = blocks.fitted(cells(LOST))
    assert not fit.complete
    assert fit.df == 10 - 3 - 4 + 1
    seen = [value for value in LOST[0] if value is not None]
    # E10 lost its tank of block C, where the others did well: its mean over all blocks is another.
    assert fit.means[0] != pytest.approx(sum(seen) / len(seen), abs=0.01)


@given(st.floats(-1000, 1000), st.lists(st.floats(-50, 50), min_size=5, max_size=5))
def test_what_is_added_to_a_whole_block_changes_no_difference(
    shift: float, by_block: list[float]
) -> None:
    plain = blocks.fitted(cells(FABRIC))
    moved = blocks.fitted(
        [one._replace(value=one.value + shift + by_block[one.block]) for one in cells(FABRIC)]
    )
    for before, after in zip(plain.pairs, moved.pairs, strict=True):
        assert after.difference == pytest.approx(before.difference, abs=1e-8)
        assert after.low == pytest.approx(before.low, abs=1e-7)


def test_blocks_that_do_not_join_the_treatments_are_refused() -> None:
    apart = [blocks.Cell(i, j, float(i + 2 * j + n)) for n in range(2) for i, j in ((0, 0), (1, 1))]
    with pytest.raises(Refusal, match="share no block"):
        blocks.fitted(apart)
    with pytest.raises(Refusal, match="too few"):
        blocks.fitted([blocks.Cell(i, 0, float(i)) for i in range(3)])
    with pytest.raises(Refusal, match="treatments"):
        blocks.fitted([blocks.Cell(0, j, float(j)) for j in range(4)])


def test_tanks_that_are_all_alike_have_no_scatter() -> None:
    alike = [blocks.Cell(i, j, 5.0) for i in range(3) for j in range(4)]
    fit = blocks.fitted(alike)
    assert fit.treatments.p is None
    assert fit.mean_square == 0
    assert blocks.bend(alike, fit) is None
    apart = blocks.fitted([one._replace(value=float(one.treatment)) for one in alike])
    assert apart.treatments.p == 0


def test_the_sizes_of_effects_have_limits_that_hold_them() -> None:
    found = effects.hedges((71.3, 69.0, 74.1), (62.0, 58.5, 60.2))
    assert found is not None
    assert found.low is not None
    assert found.high is not None
    assert found.low < found.value < found.high
    assert effects.hedges((1.0, 1.0), (2.0, 2.0)) is None
    none = effects.omega_squared(0.2, 2, 6)
    assert (none.value, none.low) == (0.0, 0.0)
    assert effects.equal_spreads(((1.0, 2.0), (5.0, 6.0))).p is None


def test_the_arcsine_is_that_of_the_square_root() -> None:
    assert effects.arcsine(0) == 0
    assert effects.arcsine(50) == pytest.approx(45)
    assert effects.arcsine(100) == pytest.approx(90)
    with pytest.raises(Refusal):
        effects.arcsine(101)


def test_a_curve_ends_where_the_sum_of_the_same_days_does() -> None:
    dead, out = (26, 0, 40), (0, 8, 0)
    curve = survival.product_limit(4400, (1, 2, 3), dead, out)
    assert curve[-1].part == pytest.approx(survival.survival(4400, dead, out), rel=1e-12)
    assert curve[1].part == curve[0].part
    assert curve[2].at_risk == 4400 - 26 - 8
    gone = survival.product_limit(3, (1,), (3,), (0,))
    assert (gone[0].part, gone[0].low, gone[0].high) == (0, 0, 0)
    with pytest.raises(Refusal, match="day 1"):
        survival.product_limit(3, (1,), (2,), (2,))
