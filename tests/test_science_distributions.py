"""Distributions of our own against scipy, over all the arguments a hatchery meets."""

from __future__ import annotations

import math
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.science import distributions as d

PS = (1e-9, 1e-4, 0.025, 0.05, 0.3, 0.5, 0.7, 0.95, 0.975, 0.9999, 1 - 1e-9)
DFS = (0.5, 1, 2, 3.5, 7, 20, 24.9885, 120, 5000)


@pytest.mark.parametrize("p", PS)
def test_the_normal_distribution(p: float) -> None:
    from scipy import stats

    z = float(stats.norm.ppf(p))
    assert d.normal_quantile(p) == pytest.approx(z, rel=1e-7, abs=1e-15)
    assert d.normal_cdf(z) == pytest.approx(p, rel=1e-12)


@pytest.mark.parametrize(("p", "df"), list(product(PS, DFS)))
def test_chi_square_and_t(p: float, df: float) -> None:
    from scipy import stats

    x = float(stats.chi2.ppf(p, df))
    assert d.chi2_cdf(x, df) == pytest.approx(p, rel=1e-10)
    assert d.chi2_sf(x, df) == pytest.approx(float(stats.chi2.sf(x, df)), rel=1e-9)
    assert d.chi2_quantile(p, df) == pytest.approx(x, rel=1e-6)
    t = float(stats.t.ppf(p, df))
    assert d.t_quantile(p, df) == pytest.approx(t, rel=1e-6, abs=1e-12)
    assert d.t_cdf(t, df) == pytest.approx(p, rel=1e-9)
    assert d.t_sf(t, df) == pytest.approx(float(stats.t.sf(t, df)), rel=1e-9)


@pytest.mark.parametrize(
    ("f", "df1", "df2"),
    list(product((0.01, 0.5, 1, 2.87, 19.6, 400), (1, 2, 3, 11), (2, 9, 20, 300))),
)
def test_f(f: float, df1: float, df2: float) -> None:
    from scipy import stats

    assert d.f_cdf(f, df1, df2) == pytest.approx(float(stats.f.cdf(f, df1, df2)), rel=1e-9)
    assert d.f_sf(f, df1, df2) == pytest.approx(float(stats.f.sf(f, df1, df2)), rel=1e-9)
    for shift in (0.3, 4.0, 30.0):
        theirs = float(stats.ncf.cdf(f, df1, df2, shift))
        assert d.noncentral_f_cdf(f, df1, df2, shift) == pytest.approx(theirs, rel=1e-7, abs=1e-12)


@pytest.mark.parametrize(
    ("x", "a", "b"), list(product((0.001, 0.2, 0.5, 0.77, 0.999), (0.3, 1, 4, 60), (0.5, 2, 33)))
)
def test_beta(x: float, a: float, b: float) -> None:
    from scipy import special, stats

    theirs = float(special.betainc(a, b, x))
    assert d.beta_fraction(x, a, b) == pytest.approx(theirs, rel=1e-10)
    if 1e-9 < theirs < 1 - 1e-9:
        assert d.beta_quantile(theirs, a, b) == pytest.approx(
            float(stats.beta.ppf(theirs, a, b)), rel=1e-6
        )


@pytest.mark.parametrize(
    ("a", "x"), list(product((0.2, 1, 3, 50, 4000), (1e-6, 0.5, 1, 9, 55, 4100)))
)
def test_gamma(a: float, x: float) -> None:
    from scipy import special

    lower, upper = d.gamma_fraction(a, x)
    assert lower == pytest.approx(float(special.gammainc(a, x)), rel=1e-9, abs=1e-290)
    assert upper == pytest.approx(float(special.gammaincc(a, x)), rel=1e-9, abs=1e-290)


@pytest.mark.parametrize("a", [99_999.0, 100_000.0, 100_001.0, 400_000.0])
def test_large_counts_pass_into_the_cube_root_form_without_a_step(a: float) -> None:
    from scipy import special

    for z in (-4, -2, -0.3, 0, 1, 3):
        x = a + z * math.sqrt(a)
        assert d.gamma_fraction(a, x)[0] == pytest.approx(float(special.gammainc(a, x)), abs=1e-7)
        f = a / (a + x)
        theirs = float(special.betainc(a, x, f))
        assert d.beta_fraction(f, a, x) == pytest.approx(theirs, abs=1e-6)


@pytest.mark.parametrize("mean", [0.02, 0.5, 3, 5, 12.4, 80, 2500])
def test_poisson(mean: float) -> None:
    from scipy import stats

    for p in (0.001, 0.05, 0.5, 0.9, 0.99, 0.999):
        assert d.poisson_quantile(p, mean) == int(stats.poisson.ppf(p, mean))
    for count in (0, 1, 4, 11, 79, 2600):
        theirs = float(stats.poisson.cdf(count, mean))
        assert d.poisson_cdf(count, mean) == pytest.approx(theirs, rel=1e-9, abs=1e-290)
    assert d.poisson_cdf(4.7, mean) == d.poisson_cdf(4, mean)
    assert d.poisson_cdf(-0.5, mean) == 0


@pytest.mark.parametrize(
    ("number", "chance"), list(product((1, 20, 200, 4400), (0.001, 0.02, 0.6)))
)
def test_binomial(number: int, chance: float) -> None:
    from scipy import stats

    for p in (0.001, 0.5, 0.99):
        assert d.binomial_quantile(p, number, chance) == int(stats.binom.ppf(p, number, chance))
    for count in (0, 1, 7, 100):
        theirs = float(stats.binom.cdf(count, number, chance))
        assert d.binomial_cdf(count, number, chance) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize("count", [0, 1, 2, 5, 10, 20, 100, 999])
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_limits_of_a_poisson_count(count: int, confidence: float) -> None:
    from scipy import stats

    low, high = d.poisson_limits(count, confidence)
    tail = (1 - confidence) / 2
    assert low == pytest.approx(
        float(stats.chi2.ppf(tail, 2 * count)) / 2 if count else 0, rel=1e-6
    )
    assert high == pytest.approx(float(stats.chi2.ppf(1 - tail, 2 * count + 2)) / 2, rel=1e-6)


@pytest.mark.parametrize(
    ("q", "groups", "df"),
    [(0.3, 2, 5), (1, 3, 2), (3.5, 3, 12), (3.958, 4, 20), (4, 6, 3), (2.2, 8, 60), (5, 12, 500),
     (3.3, 2, 1), (10, 30, 4), (0.05, 2, 8), (6.5, 3, 10_000)],
)  # fmt: skip
def test_the_studentized_range(q: float, groups: int, df: float) -> None:
    from scipy import stats

    theirs = float(stats.studentized_range.cdf(q, groups, df))
    assert d.studentized_range_cdf(q, groups, df) == pytest.approx(theirs, abs=2e-9)
    if 1e-3 < theirs < 0.9999:
        assert d.studentized_range_quantile(theirs, groups, df) == pytest.approx(q, rel=1e-5)


def test_the_range_of_two_groups_is_a_t_test() -> None:
    for q, df in ((0.7, 3), (2.4, 7), (5.5, 30)):
        both = 1 - 2 * d.t_sf(q / math.sqrt(2), df)
        assert d.studentized_range_cdf(q, 2, df) == pytest.approx(both, abs=1e-12)


def test_the_trapezoid_has_steps_enough_for_no_degrees_and_for_many() -> None:
    from scipy import stats

    for df in (0.6, 1, 2, 4, 30, 3000):
        theirs = float(stats.studentized_range.cdf(3.1, 5, df))
        assert d.studentized_range_cdf(3.1, 5, df) == pytest.approx(theirs, abs=1e-8)


@pytest.mark.parametrize(("power", "df", "alpha"), [(0.8, 4, 0.05), (0.9, 9, 0.01), (0.5, 60, 0.1)])
def test_the_shift_that_a_t_test_finds(power: float, df: float, alpha: float) -> None:
    from scipy import stats

    shift = d.noncentrality(power, df, alpha)
    edge = float(stats.t.ppf(1 - alpha / 2, df))
    found = float(stats.nct.sf(edge, df, shift) + stats.nct.cdf(-edge, df, shift))
    assert found == pytest.approx(power, abs=1e-7)


# ---- refusals


@pytest.mark.parametrize(
    ("ask", "key"),
    [
        (lambda: d.normal_quantile(0), "p"),
        (lambda: d.normal_quantile(1), "p"),
        (lambda: d.chi2_quantile(1.2, 3), "p"),
        (lambda: d.chi2_cdf(1, 0), "df"),
        (lambda: d.chi2_sf(math.nan, 2), "x"),
        (lambda: d.t_quantile(0.9, -1), "df"),
        (lambda: d.t_cdf(math.inf, 2), "t"),
        (lambda: d.f_cdf(1, 0, 2), "df1"),
        (lambda: d.f_sf(1, 2, 0), "df2"),
        (lambda: d.beta_quantile(0.5, 0, 1), "a"),
        (lambda: d.beta_quantile(0.5, 1, 0), "b"),
        (lambda: d.poisson_quantile(0.5, -1), "mean"),
        (lambda: d.poisson_limits(-1, 0.95), "count"),
        (lambda: d.poisson_limits(1, 1), "confidence"),
        (lambda: d.noncentrality(0.05, 4, 0.05), "power"),
        (lambda: d.noncentrality(0.8, 4, 0), "alpha"),
        (lambda: d.studentized_range_cdf(1, 1, 4), "groups"),
        (lambda: d.studentized_range_cdf(1, 2, 0), "df"),
        (lambda: d.studentized_range_quantile(0, 2, 4), "p"),
    ],
)
def test_what_has_no_answer_is_refused_by_name(ask: object, key: str) -> None:
    with pytest.raises(Refusal) as refusal:
        ask()  # type: ignore[operator]
    assert str(refusal.value).startswith(f"{key} ")


@pytest.mark.parametrize(("a", "b"), [(150_000.0, 200_000.0), (400_000.0, 120_000.0)])
def test_the_beta_function_of_large_counts_is_the_cube_root_form_all_the_way(
    a: float, b: float
) -> None:
    from scipy import special

    middle, sd = a / (a + b), math.sqrt(a * b / (a + b) ** 3)
    for z in (-4, -2, -0.7, 0, 0.7, 2, 4):
        theirs = float(special.betainc(a, b, middle + z * sd))
        assert d.beta_fraction(middle + z * sd, a, b) == pytest.approx(theirs, abs=1e-6)


def test_the_ends_are_whole() -> None:
    assert d.gamma_fraction(3, 0) == (0, 1)
    assert d.beta_fraction(0, 2, 3) == 0
    assert d.beta_fraction(1, 2, 3) == 1
    assert d.studentized_range_cdf(0, 3, 5) == 0
    assert d.studentized_range_cdf(500, 3, 5) == pytest.approx(1, abs=1e-9)
    assert d.binomial_cdf(20, 20, 0.3) == 1
    assert d.binomial_cdf(-1, 20, 0.3) == 0
    assert d.f_cdf(-2, 3, 4) == 0
    assert d.t_quantile(0.5, 9) == 0
    assert d.poisson_limits(0, 0.95).low == 0


@settings(max_examples=60, deadline=None)
@given(st.floats(0.001, 0.999), st.floats(0.001, 0.999), st.floats(0.6, 200))
def test_a_higher_part_is_never_reached_sooner(p: float, q: float, df: float) -> None:
    low, high = sorted((p, q))
    assert d.chi2_quantile(low, df) <= d.chi2_quantile(high, df)
    assert d.t_quantile(low, df) <= d.t_quantile(high, df)
    assert d.normal_quantile(low) <= d.normal_quantile(high)


# ---- edges where one way of working out gives over to another


def test_the_middle_of_a_symmetric_distribution_is_0_and_both_sides_of_it_agree() -> None:
    assert str(d.normal_quantile(0.5)) == str(d.t_quantile(0.5, 3)) == "0.0"
    for p in (0.4998, 0.5002):
        assert d.normal_cdf(d.normal_quantile(p)) == pytest.approx(p, rel=1e-12)
        assert d.t_cdf(d.t_quantile(p, 3), 3) == pytest.approx(p, rel=1e-12)
    for t in (-0.0005, 0.0005):
        assert d.t_sf(t, 1) == pytest.approx(0.5 - math.atan(t) / math.pi, rel=1e-13)


def test_the_cube_root_takes_over_at_100_000() -> None:
    """Up to there the sums are right to 1e-9; from there on it is the closed form that answers."""
    from scipy import special, stats

    a, b, x = 100_050.0, 100_080.0, 100_250.0
    cube = float(stats.norm.cdf(3 * a**0.5 * ((x / a) ** (1 / 3) - 1 + 1 / (9 * a))))
    assert d.gamma_fraction(a, x)[0] == pytest.approx(cube, rel=1e-12)
    assert d.gamma_fraction(a, x)[0] == pytest.approx(special.gammainc(a, x), rel=1e-5)
    exact = float(special.gammainc(100_000, x))
    assert d.gamma_fraction(100_000, x)[0] == pytest.approx(exact, rel=1e-9)
    root = (b * 0.4995 / (a * 0.5005)) ** (1 / 3)
    up, down = 1 / (9 * b), 1 / (9 * a)
    z = ((1 - up) * root - (1 - down)) / (up * root**2 + down) ** 0.5
    assert d.beta_fraction(0.4995, a, b) == pytest.approx(float(stats.norm.cdf(z)), rel=1e-10)
    x, wide = 0.33, (b * 0.33 / (a * 0.67)) ** (1 / 3)  # where the root is far from 1
    z = ((1 - up) * wide - (1 - down)) / (up * wide**2 + down) ** 0.5
    assert d.beta_fraction(x, a, b) == pytest.approx(float(stats.norm.cdf(z)), rel=1e-4, abs=0)
    assert d.beta_fraction(0.6, 2e5, b) == pytest.approx(special.betainc(2e5, b, 0.6), abs=1e-5)


def test_what_is_nearly_nothing_is_not_nothing() -> None:
    from scipy import stats

    low, high = d.poisson_limits(0.0005, 0.95)
    assert 0 < low < high
    assert d.noncentral_f_cdf(-1, 1, 9, 2) == d.noncentral_f_cdf(0, 1, 9, 2) == 0
    for f in (0.0005, 2.0):
        assert d.noncentral_f_cdf(f, 1, 9, 0) == pytest.approx(stats.f.cdf(f, 1, 9), rel=1e-10)
    assert d.beta_fraction(0.0005, 2, 3) == pytest.approx(stats.beta.cdf(0.0005, 2, 3), rel=1e-12)
    assert d.beta_fraction(0.9995, 2, 3) == pytest.approx(stats.beta.cdf(0.9995, 2, 3), rel=1e-12)


def test_the_range_of_two_means_is_students_t_times_the_root_of_2() -> None:
    """Exact, so that the quadrature is held tightly, small and large."""
    from scipy import stats

    for df in (1, 2, 3.539, 20, 400, 29_970):
        for q in (0.0005, 0.4, 2.0, 5.0, 30.0):
            exact = float(stats.t.cdf(q / 2**0.5, df) - stats.t.sf(q / 2**0.5, df))
            assert d.studentized_range_cdf(q, 2, df) == pytest.approx(exact, abs=2e-11)


def test_a_chance_is_never_above_1() -> None:
    for df in (20, 1000, 29_970):
        assert d.studentized_range_cdf(500, 3, df) == 1


def test_at_the_mean_itself_the_beta_function_turns_once_and_is_right() -> None:
    """Rounding can put both x and 1 - x above their means; that must not turn for ever."""
    from scipy import special

    for a, b in ((0.5, 0.5), (1, 2), (3, 7), (10, 0.1), (47.3, 11.9), (2e4, 3e4)):
        mean = a / (a + b)
        for x in (math.nextafter(mean, 0), mean, math.nextafter(mean, 1)):
            exact = float(special.betainc(a, b, x))
            assert d.beta_fraction(x, a, b) == pytest.approx(exact, rel=1e-9)


def test_steps_of_the_beta_function_are_each_the_function_itself() -> None:
    """Also where the first of them hold nothing that a float could say, and the last do."""
    from scipy import special

    for x, a, b in ((0.3, 0.5, 3.0), (0.999, 1.0, 4.5), (0.02, 0.5, 300.0), (0.77, 1.5, 1000.0)):
        steps = d.beta_steps(x, 1 - x, a, b, 500)
        assert len(steps) > 500
        for n in (0, 1, 7, 60, 500):
            exact = float(special.betainc(a + n, b, x))
            assert steps[n] == pytest.approx(exact, rel=1e-10, abs=1e-300)
