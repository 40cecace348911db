"""Signals: limits of counts, charts, and hours until a limit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.science import signals as s

NUMBERS = st.lists(st.floats(-1000, 1000), min_size=1, max_size=12)


def test_limits_of_counts_are_those_of_scipy() -> None:
    from scipy import stats

    for mean in (0.5, 5.0, 17.3):
        for q in (0.9, 0.99, 0.999):
            assert s.poisson_limit(mean, q) == int(stats.poisson.ppf(q, mean))
            assert s.binomial_limit(mean, 200, q) == int(stats.binom.ppf(q, 200, mean / 200))
    assert s.binomial_limit(200, 200, 0.99) == 200
    assert s.binomial_limit(0, 1, 0.99) == 0


def test_an_average_starts_at_its_target_and_its_limits_are_three_sigma() -> None:
    chart = s.ewma((52.0, 47.0), 50, 0.3, 2.0539)
    assert chart.points == pytest.approx([50.6, 49.52])
    half = 3 * 2.0539 * math.sqrt(0.3 / 1.7)
    assert chart.low == pytest.approx(50 - half, rel=1e-12)
    assert chart.high == pytest.approx(50 + half, rel=1e-12)
    assert s.ewma((1.0,), 0, 1).points == [1]
    assert s.ewma((1.0,), 0, 0.5)[1:] == (None, None)
    assert s.ewma((1.0,), 4, 0.5, 0)[1:] == (4, 4)


def test_sums_pile_up_on_the_side_of_the_shift() -> None:
    sums = s.cusum((1.0, 3.0, 3.0, -5.0), 0, 0.5)
    assert sums.high == [0.5, 3, 5.5, 0]
    assert sums.low == [0, 0, 0, 4.5]


def test_the_middle_of_some_numbers() -> None:
    assert s.median([3.0, 1.0, 2.0]) == 2
    assert s.median([4.0, 1.0, 2.0, 3.0]) == 2.5


def test_hours_until_a_limit() -> None:
    assert s.hours_until(6.1, -1.5, 5.0) == pytest.approx(0.7333333333)
    assert s.hours_until(5.0, -1.5, 5.0) == 0
    assert s.hours_until(6.1, 1.5, 5.0) is None
    assert s.hours_until(6.1, 0, 5.0) is None


@pytest.mark.parametrize(
    ("ask", "key"),
    [
        (lambda: s.poisson_limit(-1, 0.99), "expected"),
        (lambda: s.poisson_limit(1, 1), "quantile"),
        (lambda: s.binomial_limit(3, 2, 0.9), "expected"),
        (lambda: s.binomial_limit(0, 0, 0.9), "number"),
        (lambda: s.binomial_limit(0, 10_000_001, 0.9), "number"),
        (lambda: s.ewma([], 0, 0.3), "values"),
        (lambda: s.ewma([1.0], 0, 0), "weight"),
        (lambda: s.ewma([1.0], 0, 1.0005), "weight"),
        (lambda: s.ewma([1.0], math.nan, 0.3), "start"),
        (lambda: s.ewma([1.0], 0, 0.3, -1), "sd"),
        (lambda: s.cusum([math.inf], 0, 0.3), "values"),
        (lambda: s.cusum([1.0], math.nan, 0.3), "mean"),
        (lambda: s.cusum([1.0], 0, -0.1), "slack"),
        (lambda: s.median([]), "values"),
        (lambda: s.hours_until(1, math.nan, 2), "slope"),
        (lambda: s.hours_until(1, 1, math.inf), "limit"),
    ],
)
def test_what_has_no_answer_is_refused_by_name(ask: object, key: str) -> None:
    with pytest.raises(Refusal) as refusal:
        ask()  # type: ignore[operator]
    assert str(refusal.value).startswith(f"{key} ")


def test_ten_million_fish_are_still_counted() -> None:
    assert s.binomial_limit(0, 10_000_000, 0.9) == 0


@given(NUMBERS, st.floats(-100, 100), st.floats(0, 50))
def test_sums_never_fall_below_nothing(values: list[float], mean: float, slack: float) -> None:
    sums = s.cusum(values, mean, slack)
    assert min(sums.high) >= 0
    assert min(sums.low) >= 0


@given(NUMBERS, st.floats(-1000, 1000), st.floats(0.01, 1))
def test_an_average_stays_among_what_it_averages(
    values: list[float], start: float, weight: float
) -> None:
    low, high = min([start, *values]), max([start, *values])
    for point in s.ewma(values, start, weight).points:
        assert low - 1e-9 <= point <= high + 1e-9


@given(st.floats(0, 200), st.floats(0, 200))
def test_more_deaths_expected_is_never_a_lower_limit(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert s.poisson_limit(low, 0.99) <= s.poisson_limit(high, 0.99)


def test_hours_until_a_limit_at_the_edges() -> None:
    """There already, standing still, and so near or so slow that a thousandth would tell."""
    assert s.hours_until(5, 1, 5) == 0
    assert s.hours_until(5, -1, 5) == 0
    assert s.hours_until(0, 1, 0.001) == 0.001
    assert s.hours_until(0, 1, 0.0005) == 0.0005
    assert s.hours_until(0, 0.001, 1) == pytest.approx(1000)
    assert s.hours_until(0, 0.0005, 1) == pytest.approx(2000)
    assert s.hours_until(5, 0, 4) is None
    assert s.hours_until(5, 0, 6) is None
    assert s.hours_until(5, 1, 4) is None
