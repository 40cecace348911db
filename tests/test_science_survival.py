"""Deaths, survival and counts: lifelines, statsmodels and scipy beside ours, and the refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.science import survival as v

DRUG = [6, 6, 6, 7, 10, 13, 16, 22, 23, 6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
DIED = [1] * 9 + [0] * 12
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]


def test_the_days_of_the_checks() -> None:
    assert v.daily_mortality(9, 1800) == pytest.approx(0.5)
    assert v.daily_mortality(0, 10) == 0
    assert v.survival(1000, [20, 30, 10], [0, 100, 0]) == pytest.approx(0.938824, abs=1e-6)
    assert v.survival(10, [10, 0]) == 0
    assert v.death_rate(1000, 500, 10) == pytest.approx(0.0693147181, abs=1e-9)
    assert v.death_rate(1000, 0, 10) is None
    assert v.death_rate(500, 1000, 10) == pytest.approx(-0.0693147181, abs=1e-9)


def test_a_census_leaves_a_gap() -> None:
    gap = v.count_gap(4400, 700, 60, 10, 5, 25, 2335)
    assert (gap.book, gap.unaccounted) == (3610, 1275)
    assert gap.percent == pytest.approx(100 * 1275 / 3610)
    assert v.count_gap(100, 0, 0, 0, 0, 0, 104).unaccounted == -4
    assert v.count_gap(100, 100, 0, 0, 0, 0, 0).percent is None


@pytest.mark.parametrize(
    ("count", "of"), [(0, 20), (20, 20), (1, 3), (15, 148), (81, 263), (7, 4400)]
)
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_limits_of_a_fraction_are_those_of_scipy(count: int, of: int, confidence: float) -> None:
    from scipy import stats

    test = stats.binomtest(count, of)
    for ours, method in ((v.wilson_limits, "wilson"), (v.exact_limits, "exact")):
        theirs = test.proportion_ci(confidence, method)
        found = ours(count, of, confidence)
        assert found.low == pytest.approx(float(theirs.low), rel=1e-6, abs=1e-12)
        assert found.high == pytest.approx(float(theirs.high), rel=1e-6)


@pytest.mark.filterwarnings("ignore")
def test_curves_and_the_log_rank_test_are_those_of_lifelines() -> None:
    from lifelines import KaplanMeierFitter
    from lifelines.statistics import logrank_test

    fit = KaplanMeierFitter().fit(DRUG, DIED)
    for at in (0, 5, 6, 7, 10, 13, 22.5, 23, 40):
        assert v.survival_curve(DRUG, DIED, at) == pytest.approx(float(fit.predict(at)), rel=1e-12)
    theirs = logrank_test(DRUG, PLACEBO, DIED, [1] * 21)
    ours = v.log_rank(DRUG, DIED, PLACEBO, [1] * 21)
    assert ours.statistic == pytest.approx(float(theirs.test_statistic), rel=1e-10)
    assert ours.expected == pytest.approx(19.2505, abs=1e-4)  # Freireich 1963; from memory
    assert v.log_rank([1], [0], [2], [0]).statistic is None
    assert v.log_rank([1], [1], [1], [1]).statistic is None


@pytest.mark.parametrize(
    ("ask", "key"),
    [
        (lambda: v.daily_mortality(-1, 10), "dead"),
        (lambda: v.daily_mortality(11, 10), "dead"),
        (lambda: v.daily_mortality(0, 0), "number"),
        (lambda: v.survival(0, [1]), "stocked"),
        (lambda: v.survival(10, []), "deaths"),
        (lambda: v.survival(10, [11]), "deaths"),
        (lambda: v.survival(10, [1], [1, 2]), "removed"),
        (lambda: v.survival(10, [1], [10]), "removed"),
        (lambda: v.survival(10, [1], [-1]), "removed"),
        (lambda: v.death_rate(0, 1, 1), "start"),
        (lambda: v.death_rate(1, -1, 1), "end"),
        (lambda: v.death_rate(1, 1, 0), "days"),
        (lambda: v.count_gap(10, 11, 0, 0, 0, 0, 0), "stocked"),
        (lambda: v.count_gap(10, 0, 0, 0, 0, 0, -1), "census"),
        (lambda: v.wilson_limits(3, 2, 0.95), "count"),
        (lambda: v.wilson_limits(3, 0, 0.95), "of"),
        (lambda: v.wilson_limits(3, 4, 1), "confidence"),
        (lambda: v.exact_limits(3, v.MOST_EXACT + 1, 0.9), "of"),
        (lambda: v.survival_curve([], [], 1), "times"),
        (lambda: v.survival_curve([1], [1, 1], 1), "events"),
        (lambda: v.survival_curve([1], [2], 1), "events"),
        (lambda: v.survival_curve([1], [0.5], 1), "events"),
        (lambda: v.survival_curve([-1], [1], 1), "times"),
        (lambda: v.survival_curve([1], [1], -1), "at"),
        (lambda: v.log_rank([], [], [1], [1]), "times1"),
        (lambda: v.log_rank([1], [1], [1], [math.nan]), "events2"),
    ],
)
def test_what_has_no_answer_is_refused_by_name(ask: object, key: str) -> None:
    with pytest.raises(Refusal) as refusal:
        ask()  # type: ignore[operator]
    assert str(refusal.value).startswith(f"{key} ")


def test_ten_million_are_the_most_for_exact_limits() -> None:
    assert v.MOST_EXACT == 10_000_000
    assert v.exact_limits(0, 10_000_000, 0.95).low == 0


@given(st.integers(1, 5000), st.lists(st.integers(0, 40), min_size=1, max_size=20))
def test_survival_without_samples_is_what_is_left_of_what_was_stocked(
    stocked: int, deaths: list[int]
) -> None:
    if sum(deaths) > stocked:
        with pytest.raises(Refusal):
            v.survival(stocked, deaths)
    else:
        left = (stocked - sum(deaths)) / stocked
        assert v.survival(stocked, deaths) == pytest.approx(left, abs=1e-12)


@given(st.integers(1, 400), st.data())
def test_limits_hold_the_fraction_between_them(of: int, data: st.DataObject) -> None:
    count = data.draw(st.integers(0, of))
    for limits in (v.wilson_limits, v.exact_limits):
        low, high = limits(count, of, 0.95)
        assert 0 <= low <= count / of + 1e-12
        assert count / of - 1e-12 <= high <= 1


def test_the_day_that_has_too_many_is_counted_from_one() -> None:
    with pytest.raises(Refusal, match="deaths has 9 on day 2, and only 8 were left"):
        v.survival(10, [2, 9])
    with pytest.raises(Refusal, match="removed has 7 on day 2, and only 6 were left"):
        v.survival(10, [2, 1], [1, 7])


def test_parts_of_one_are_above_none() -> None:
    """Estimates need not be whole: what is above 0 by less than a thousandth is above 0."""
    assert v.count_gap(0.0005, 0, 0, 0, 0, 0, 0).percent == 100
    assert v.wilson_limits(0.0005, 1, 0.95).low > 0
    low = v.exact_limits(0.0009, 1, 1e-9).low
    assert 0 < low < 0.0009


def test_the_log_rank_test_where_one_fish_is_left_and_where_little_is_at_stake() -> None:
    # Day 1: one of two dies, half expected in each; day 2: the one left, which tells nothing.
    found = v.log_rank([1], [1], [2], [1])
    assert found.expected == pytest.approx(0.5)
    assert found.statistic == pytest.approx(0.25 / 0.25)
    share = 1 / 2001
    little = v.log_rank([1], [0], [1] * 2000, [1] + [0] * 1999)
    assert little.statistic == pytest.approx(share**2 / (share * (1 - share)))
