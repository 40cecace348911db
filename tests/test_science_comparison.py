"""Treatments compared by tank means: scipy and statsmodels beside ours, and what is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.science import comparison as c

SURVIVAL = ((71.3, 69.0, 74.1), (62.0, 58.5, 60.2))
THREE = ((44.0, 47.1, 41.9, 45.2), (49.3, 50.2, 46.8), (53.9, 52.1, 55.0, 51.7, 56.3))


def test_welch_as_scipy_has_it() -> None:
    from scipy import stats

    ours = c.welch(SURVIVAL)
    theirs = stats.ttest_ind(*SURVIVAL, equal_var=False)
    assert ours.statistic == pytest.approx(float(theirs.statistic), rel=1e-12)
    assert ours.df == pytest.approx(float(theirs.df), rel=1e-12)
    assert ours.p == pytest.approx(float(theirs.pvalue), rel=1e-9)
    low, high = theirs.confidence_interval(0.95)
    assert ours.low == pytest.approx(float(low))
    assert ours.high == pytest.approx(float(high))
    assert ours.difference == pytest.approx(11.2333333333)


def test_anova_and_tukey_as_scipy_has_them() -> None:
    from scipy import stats

    ours = c.anova(THREE)
    theirs = stats.f_oneway(*THREE)
    assert ours.statistic == pytest.approx(float(theirs.statistic), rel=1e-12)
    assert ours.p == pytest.approx(float(theirs.pvalue), rel=1e-9)
    assert (ours.df_between, ours.df) == (2, 9)
    pairs = stats.tukey_hsd(*THREE)
    ends = pairs.confidence_interval(0.95)
    for pair in c.tukey(THREE):
        i, j = pair.first - 1, pair.second - 1
        assert pair.p == pytest.approx(float(pairs.pvalue[i][j]), abs=1e-7)
        assert pair.low == pytest.approx(float(ends.low[i][j]), rel=1e-5)
        assert pair.high == pytest.approx(float(ends.high[i][j]), rel=1e-5)


def test_detectable_is_what_a_power_of_80_percent_finds() -> None:
    from scipy import stats

    found = c.detectable(THREE)
    assert found is not None
    s, n, df = math.sqrt(c.anova(THREE).mean_square), 4.0, 9
    shift = found / (s * math.sqrt(2 / n))
    edge = float(stats.t.ppf(0.975, df))
    power = float(stats.nct.sf(edge, df, shift) + stats.nct.cdf(-edge, df, shift))
    assert power == pytest.approx(0.8, abs=1e-7)


def test_a_comparison_says_that_it_wants_tank_means() -> None:
    done = working_out.work("compare", {"groups": "71,3 69 74,1; 62 58,5 60,2"})
    assert done.value == pytest.approx(0.00489015, abs=1e-8)
    assert any("tank" in words for words in done.warnings) or "tank" in done.calculator.range
    few = working_out.work("compare", {"groups": "71 69; 62 58"})
    assert any("3" in words or "few" in words for words in few.warnings)


def test_tanks_that_are_all_alike_have_no_spread_to_compare_by() -> None:
    same, apart = ((5.0, 5.0), (5.0, 5.0)), ((0.1, 0.1, 0.1), (0.3, 0.3, 0.3))
    assert c.welch(same)[:3] == (None, None, None)
    assert c.welch(apart).p == 0
    assert c.anova((*same, (5.0, 5.0))).p is None
    assert c.anova((*apart, (0.2, 0.2))).p == 0
    assert c.detectable(apart) is None
    assert [pair.p for pair in c.tukey((*apart, (0.1, 0.1)))] == [0, None, 0]


@pytest.mark.parametrize(
    ("groups", "words"),
    [
        (((1.0, 2.0),), "2 to 30 groups"),
        (((1.0, 2.0),) * 31, "2 to 30 groups"),
        (((1.0, 2.0), (3.0,)), "needs 2 tanks"),
        (((1.0, 2.0), (3.0, math.nan)), "has to be a number"),
    ],
)
def test_what_cannot_be_compared_is_refused(
    groups: tuple[tuple[float, ...], ...], words: str
) -> None:
    with pytest.raises(Refusal, match=f"^groups .*{words}"):
        c.described(groups)
    assert len(c.described(((1.0, 2.0),) * 30)) == 30


def test_welch_is_for_two() -> None:
    with pytest.raises(Refusal, match=r"^groups has to be two"):
        c.welch(THREE)


tanks = st.lists(st.floats(0, 100, allow_subnormal=False), min_size=2, max_size=5)


@settings(max_examples=80, deadline=None)
@given(tanks, tanks)
def test_the_order_of_two_groups_turns_the_sign_and_nothing_else(
    one: list[float], two: list[float]
) -> None:
    there, back = c.welch((one, two)), c.welch((two, one))
    assert there.p == back.p or there.p == pytest.approx(back.p, rel=1e-6)
    assert there.difference == -back.difference


@settings(max_examples=20, deadline=None)  # each takes a fifth of a second
@given(st.lists(tanks, min_size=2, max_size=4))
def test_two_groups_of_anova_agree_with_tukey_on_who_is_first(groups: list[list[float]]) -> None:
    for pair in c.tukey(groups):
        assert pair.low <= pair.difference <= pair.high
        assert pair.p is None or 0 <= pair.p <= 1


def test_the_group_that_is_too_small_is_counted_from_one() -> None:
    with pytest.raises(Refusal, match="groups has 1 in group 2; a group needs 2 tanks or more"):
        c.described([[1, 2], [3], [4, 5]])


def test_groups_without_any_spread_differ_or_do_not() -> None:
    alike, apart = [[1.0, 1.0], [1.0, 1.0], [1.0, 1.0]], [[1.0, 1.0], [1.0, 1.0], [1.5, 1.5]]
    assert c.anova(alike)[:4] == (None, 2, 3, None)
    assert c.anova(apart)[:4] == (None, 2, 3, 0)
    assert c.welch(alike[:2]) == (None, None, None, 0, None, None)
    assert c.welch(apart[1:]) == (None, None, 0, -0.5, None, None)
    assert [pair[2:] for pair in c.tukey(apart)] == [
        (0, 0, 0, None),
        (-0.5, -0.5, -0.5, 0),
        (-0.5, -0.5, -0.5, 0),
    ]
    assert c.detectable(apart) is None
