"""Counts that come in clusters: negative binomial against scipy."""

from __future__ import annotations

from itertools import product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mortality_support import clumped
from tankwalk.errors import Refusal
from tankwalk.science import negative_binomial as nb

MEANS = (0.3, 1.0, 4.5, 12.0, 60.0, 900.0)
TIMES = (1.0, 1.3, 2.0, 3.5, 20.0)
COUNTS = (0, 1, 2, 5, 13, 40, 130, 1500)


# Tolerances were set before the values were seen: 1e-9 of a part, as of the other distributions.


@pytest.mark.parametrize(("mean", "times"), list(product(MEANS, TIMES)))
def test_chances_and_both_tails_are_those_of_scipy(mean: float, times: float) -> None:
    from scipy import stats

    theirs = stats.poisson(mean) if times == 1 else stats.nbinom(mean / (times - 1), 1 / times)
    for count in COUNTS:
        variance = times * mean
        assert nb.log_chance(count, mean, variance) == pytest.approx(
            float(theirs.logpmf(count)), rel=1e-9, abs=1e-9
        )
        for ours, part in (
            (nb.at_least(count, mean, variance), float(theirs.sf(count - 1))),
            (nb.at_most(count, mean, variance), float(theirs.cdf(count))),
        ):
            assert ours == pytest.approx(part, rel=1e-8, abs=1e-250)


@pytest.mark.parametrize(("mean", "times"), list(product(MEANS, TIMES)))
def test_a_quantile_is_the_first_count_that_reaches_its_part(mean: float, times: float) -> None:
    from scipy import stats

    theirs = stats.poisson(mean) if times == 1 else stats.nbinom(mean / (times - 1), 1 / times)
    for p in (0.003, 0.1, 0.49, 0.9, 0.997, 0.9997):
        assert nb.quantile(p, mean, times * mean) == int(theirs.ppf(p))


@given(st.floats(0.05, 2000), st.floats(1.0, 30), st.integers(1, 4000))
@settings(deadline=None, max_examples=200)
def test_the_two_tails_make_one_and_more_dead_are_less_likely(
    mean: float, times: float, count: int
) -> None:
    variance = times * mean
    above = nb.at_least(count, mean, variance)
    assert above + nb.at_most(count - 1, mean, variance) == pytest.approx(1, abs=1e-9)
    assert nb.at_least(count + 1, mean, variance) <= above * (1 + 1e-9)


def test_counts_that_come_in_clusters_lie_beyond_a_limit_as_often_as_is_said() -> None:
    """Drawn another way, as Poisson counts of a gamma mean; 40,000 draws give 0.003 +- 0.0008."""
    luck = Random("beyond")
    limit = nb.quantile(0.997, 12.0, 2.5 * 12.0)
    beyond = sum(clumped(luck, 12.0, 2.5) > limit for _ in range(40_000)) / 40_000
    assert nb.at_least(limit + 1, 12.0, 30.0) <= 0.003
    assert beyond == pytest.approx(nb.at_least(limit + 1, 12.0, 30.0), abs=0.0009)


@pytest.mark.parametrize(("ask", "words"), [
    (lambda: nb.size(0.0, 1.0), "mean has to be above 0"),
    (lambda: nb.log_chance(-1, 1.0, 1.0), "count"),
    (lambda: nb.quantile(1.0, 4.0, 8.0), "p has to be between 0 and 1"),
])  # fmt: skip
def test_what_has_no_answer_is_refused(ask: object, words: str) -> None:
    with pytest.raises(Refusal, match=words):
        ask()  # type: ignore[operator]
