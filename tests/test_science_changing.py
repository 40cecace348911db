"""Whether a run of numbers has changed: the score against plain sums, and how often chance does."""

from __future__ import annotations

from math import sqrt
from random import Random
from statistics import fmean

import pytest

from tankwalk.errors import Refusal
from tankwalk.science.changing import Shape, best_onset


def test_a_step_is_the_difference_of_means_over_its_standard_error() -> None:
    before, after = [8.0, 8.2, 7.9, 8.1, 8.0, 7.8], [8.6, 8.7, 8.5]
    days = [float(n) for n in range(9)]
    found = best_onset(days, before + after, [0.04] * 9, reference=6, newest=16)
    assert found is not None
    expected = (fmean(after) - fmean(before)) / sqrt(0.04 * (1 / 6 + 1 / 3))
    assert (found.shape, found.at) == (Shape.STEP, 6)
    assert found.score == pytest.approx(expected, rel=1e-9)
    assert found.size == pytest.approx(fmean(after) - fmean(before), rel=1e-9)


@pytest.mark.parametrize("seed", range(1, 13))
@pytest.mark.parametrize("trend", [0.0, 0.2])
def test_the_score_is_that_of_generalized_least_squares_solved_as_matrices(
    seed: int, trend: float
) -> None:
    """Every onset as a step and as a ramp, with V written out; the running sums find the largest.

    Tolerance set before: 1e-8 of a part.
    """
    import numpy as np

    luck = Random(seed)
    count, reference, newest = luck.randint(12, 40), 6, 16
    days = [float(day) for day in np.cumsum([luck.choice((0.3, 0.4, 1.0)) for _ in range(count)])]
    variances = [luck.choice((0.04, 0.09, 0.2)) for _ in range(count)]
    values = [luck.gauss(8, 0.3) - 0.1 * seed * (n > count - 6) for n in range(count)]
    lasting, correlation = luck.choice((0.0, luck.random())), 0.5
    found = best_onset(
        days, values, variances, reference=reference, newest=newest, lasting=lasting,
        correlation=correlation, trend=trend,
    )  # fmt: skip
    y, t, one = np.array(values), np.array(days), np.ones(count)
    wide, apart = np.sqrt(variances), np.abs(np.subtract.outer(np.arange(count), np.arange(count)))
    goes_on = lasting * np.outer(wide, wide) * correlation**apart
    own = (1 - lasting) * np.diag(variances)
    solved = np.linalg.inv(own + goes_on + trend**2 * np.outer(t - t[-1], t - t[-1]))
    level = float(one @ solved @ y) / float(one @ solved @ one)
    tried = []
    for at in range(max(reference, count - newest), count):
        for shape in Shape:
            if shape is Shape.RAMP and count - at < 3:
                continue
            since = t - t[at - 1] if shape is Shape.RAMP else one
            w = np.where(np.arange(count) >= at, since, 0.0)
            left = float(w @ solved @ (y - level * one))
            known = float(w @ solved @ w) - float(w @ solved @ one) ** 2 / float(one @ solved @ one)
            tried.append((left / sqrt(known), at, shape, left / known))
    score, at, shape, rate = max(tried, key=lambda each: abs(each[0]))
    assert found is not None
    assert (found.at, found.shape) == (at, shape)
    assert found.score == pytest.approx(score, rel=1e-8)
    assert found.rate == pytest.approx(rate, rel=1e-8)


def test_a_ramp_is_found_with_its_day_and_its_rate() -> None:
    days = [n / 2 for n in range(20)]
    values = [8.0] * 10 + [8.0 - 0.2 * (day - 4.5) for day in days[10:]]
    found = best_onset(days, values, [0.01] * 20, reference=6, newest=16)
    assert found is not None
    assert (found.shape, found.at) == (Shape.RAMP, 10)
    assert found.rate == pytest.approx(-0.2, rel=1e-6)
    assert found.size == pytest.approx(-1.0, rel=1e-6)


def test_a_slope_that_was_always_there_is_no_change() -> None:
    days = [n / 2 for n in range(24)]
    values = [8.0 - 0.05 * day for day in days]
    still = best_onset(days, values, [0.0016] * 24, reference=6, newest=16)
    known = best_onset(days, values, [0.0016] * 24, reference=6, newest=16, trend=0.1)
    assert still is not None
    assert known is not None
    assert abs(still.score) > 5
    assert abs(known.score) < 1


def test_with_fewer_looks_than_a_reference_nothing_is_said() -> None:
    six = [1.0, 2.0, 1.0, 2.0, 1.0, 9.0]
    assert best_onset(range(6), six, [1.0] * 6, reference=6, newest=16) is None
    assert best_onset(range(6), six, [1.0] * 6, reference=5, newest=16) is not None


def test_the_onset_is_sought_among_the_newest_looks_alone() -> None:
    values = [0.0] * 8 + [5.0] * 12
    near = best_onset(range(20), values, [1.0] * 20, reference=6, newest=4)
    far = best_onset(range(20), values, [1.0] * 20, reference=6, newest=16)
    assert near is not None
    assert far is not None
    assert (near.at >= 16, far.at) == (True, 8)


def test_chance_makes_a_score_of_four_rarely_and_of_two_often() -> None:
    luck = Random(20)
    tops = []
    for _ in range(300):
        values = [luck.gauss(0, 1) for _ in range(30)]
        found = best_onset(range(30), values, [1.0] * 30, reference=6, newest=16)
        assert found is not None
        tops.append(abs(found.score))
    # Largest of some six independent scores: a Bonferroni bound and the single score between them.
    assert 0.15 < sum(top > 2 for top in tops) / 300 < 0.6
    assert sum(top > 4 for top in tops) <= 3


def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(Refusal, match="as many"):
        best_onset([0.0], [1.0, 2.0], [1.0, 1.0], reference=1, newest=1)
    with pytest.raises(Refusal, match="variance"):
        best_onset([0.0, 1.0], [1.0, 2.0], [1.0, 0.0], reference=1, newest=1)
    with pytest.raises(Refusal, match="correlation"):
        best_onset([0.0, 1.0], [1.0, 2.0], [1.0, 1.0], reference=1, newest=1, correlation=1.0)
