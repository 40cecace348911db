"""Counts against published tables, scipy, statsmodels and lifelines."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from outside import Differs, Source, Value, typed
from tankwalk.science import distributions, survival


def _fixed(*rows: Value) -> Callable[[], Iterable[Value]]:
    return lambda: rows


# ---- fractions and counts

_NEWCOMBE = (
    (81, 263, "wilson", 0.2553, 0.3662),
    (81, 263, "exact", 0.2527, 0.3676),
    (15, 148, "wilson", None, 0.1605),
    (15, 148, "exact", 0.0578, 0.1617),
    (0, 20, "wilson", 0.0, 0.1611),
    (0, 20, "exact", 0.0, 0.1684),
)


def _newcombe() -> Iterable[Value]:
    for count, of, method, low, high in _NEWCOMBE:
        asked = typed(count=count, of=of, method=method)
        if low is not None:
            yield Value(asked, low, 6e-5, "low")
        yield Value(asked, high, 6e-5, "high")


PARTS = (
    (0, 1), (1, 1), (0, 20), (20, 20), (1, 30), (7, 30), (15, 148), (81, 263), (147, 150),
    (499, 1000), (9, 100000), (250000, 1000000),
)  # fmt: skip


def _proportions() -> Iterable[Value]:
    from statsmodels.stats.proportion import proportion_confint

    for count, of in PARTS:
        for confidence in (0.8, 0.95, 0.999):
            for method, theirs in (("wilson", "wilson"), ("exact", "beta")):
                low, high = proportion_confint(count, of, 1 - confidence, theirs)
                asked = typed(count=count, of=of, confidence=confidence, method=method)
                yield Value(asked, float(low), 1e-9, "low")
                yield Value(asked, float(high), 1e-9, "high")


def _binomtest() -> Iterable[Value]:
    from scipy.stats import binomtest

    for count, of in PARTS[:10]:
        for method in ("wilson", "exact"):
            low, high = binomtest(count, of).proportion_ci(0.9, method)
            asked = typed(count=count, of=of, confidence=0.9, method=method)
            yield Value(asked, count / of, 1e-12)
            yield Value(asked, float(low), 1e-9, "low")
            yield Value(asked, float(high), 1e-9, "high")


def _poisson_limits() -> Iterable[Value]:
    from scipy import stats

    for count in (0, 1, 2, 3, 10, 25, 31, 100, 999, 12345):
        for confidence in (0.5, 0.9, 0.95, 0.999):
            tail = (1 - confidence) / 2
            asked = typed(count=count, confidence=confidence)
            low = float(stats.chi2.ppf(tail, 2 * count)) / 2 if count else 0.0
            high = float(stats.chi2.isf(tail, 2 * count + 2)) / 2
            yield Value(asked, low, 1e-9 * max(1, low), "low")
            yield Value(asked, high, 1e-9 * high, "high")


def _confint_poisson() -> Iterable[Value]:
    from statsmodels.stats.rates import confint_poisson

    for count in (1, 4, 17, 250):
        low, high = confint_poisson(count, 1, method="exact-c", alpha=0.1)
        asked = typed(count=count, confidence=0.9)
        yield Value(asked, float(low), 1e-9 * count, "low")
        yield Value(asked, float(high), 1e-9 * 2 * count, "high")


# ---- deaths


def _death_limits() -> Iterable[Value]:
    from scipy import stats

    for expected in (0.01, 0.5, 1, 2.5, 4, 5, 12.25, 80, 1500):
        for quantile in (0.5, 0.9, 0.99, 0.9999):
            asked = typed(expected=expected, quantile=quantile)
            yield Value(asked, float(stats.poisson.ppf(quantile, expected)), 0)
            for number in (10, 200, 5000):
                if expected <= number:
                    limit = float(stats.binom.ppf(quantile, number, expected / number))
                    yield Value({**asked, "number": str(number)}, limit, 0)


def _tail(asked: Mapping[str, str]) -> float:
    return 1 - distributions.poisson_cdf(float(asked["more_than"]), float(asked["mean"]))


def _rates() -> Iterable[Value]:
    from scipy import stats

    for start, end, days in ((1000, 500, 10), (1500, 1310, 14), (20000, 3, 40), (50, 50, 1)):
        # The exponential whose upper part beyond `days` is end / start.
        scale = days / float(stats.expon.isf(end / start)) if end < start else None
        expected = 1 / scale if scale else 0.0
        yield Value(typed(start=start, end=end, days=days), expected, 1e-10)
    yield Value(typed(start=1000, end=0, days=3), None, 0)


def _dead_by_day() -> Iterable[Value]:
    from math import log

    from lifelines import KaplanMeierFitter

    for stocked, deaths, removed in (
        (1000, (20, 30, 10), (0, 100, 0)),
        (1500, (12, 9, 7, 4), (0, 0, 0, 0)),
        (300, (0, 5, 0, 80, 1), (10, 0, 20, 30, 0)),
        (60, (10, 0, 50), (0, 0, 0)),
    ):
        times, events = [], []
        for day, (dead, taken) in enumerate(zip(deaths, removed, strict=True), 1):
            times += [day] * (dead + taken)
            events += [1] * dead + [0] * taken
        left = stocked - len(times)
        times += [len(deaths) + 1] * left
        events += [0] * left
        fit = KaplanMeierFitter().fit(times, events)
        alive = float(fit.survival_function_at_times(len(deaths)).iloc[0])
        asked = typed(stocked=stocked, deaths=deaths, days=len(deaths))
        if any(removed):
            asked["removed"] = typed(r=removed)["r"]
        yield Value(asked, alive, 1e-9)
        yield Value(asked, -log(alive) / len(deaths) if alive > 1e-12 else None, 1e-9, "z")


# ---- survival curves

TREATED = (
    (6, 6, 6, 7, 10, 13, 16, 22, 23, 6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35),
    (1,) * 9 + (0,) * 12,
)
PLACEBO = ((1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23), (1,) * 21)


def _freireich() -> Iterable[Value]:
    for at, expected in ((6, 0.857), (7, 0.807), (10, 0.753), (13, 0.690), (16, 0.627),
                         (22, 0.538), (23, 0.448)):  # fmt: skip
        yield Value(typed(times=TREATED[0], events=TREATED[1], at=at), expected, 0.0006)


def _curves() -> Iterable[Value]:
    from lifelines import KaplanMeierFitter

    tank = ((3, 5, 8, 12, 8, 8, 2.5, 12), (1, 1, 0, 1, 1, 0, 1, 0))
    for times, events in (TREATED, PLACEBO, tank):
        fit = KaplanMeierFitter().fit(times, events)
        for at in (0, 1, 2.5, 5.9, 6, 8, 10, 12, 17, 22.5, 23, 40):
            expected = float(fit.survival_function_at_times(at).iloc[0])
            yield Value(typed(times=times, events=events, at=float(at)), expected, 1e-9)


def _arms(asked: Mapping[str, str]) -> float:
    first, second = (
        [[float(n) for n in part.split()] for part in asked[arm].split(";")]
        for arm in ("first", "second")
    )
    found = survival.log_rank(*first, *second).statistic
    assert found is not None
    return found


def _arm(times: Iterable[float], events: Iterable[float]) -> str:
    return ";".join(typed(n=list(numbers))["n"] for numbers in (times, events))


def _two_tanks() -> Iterable[Value]:
    from lifelines.statistics import logrank_test

    def tank(deaths: tuple[int, ...]) -> tuple[list[int], list[int]]:
        times = [day for day, dead in enumerate(deaths, 1) for _ in range(dead)]
        left = 1000 - len(times)
        return times + [10] * left, [1] * len(times) + [0] * left

    for first, second in ((TREATED, PLACEBO), (tank((35, 60, 22)), tank((20, 25, 18)))):
        (times1, events1), (times2, events2) = first, second
        theirs = logrank_test(times1, times2, events1, events2).test_statistic
        asked = {"first": _arm(*first), "second": _arm(*second)}
        yield Value(asked, float(theirs), 1e-8)


SOURCES: tuple[Source, ...] = (
    Source(
        "proportion",
        "Newcombe 1998, Stat. Med. 17:857, Table I (Wilson column as quoted in a public test "
        "suite, exact column from memory)",
        "four decimals printed",
        _newcombe,
    ),
    Source(
        "proportion",
        "statsmodels 0.15 proportion_confint, wilson and beta",
        "another incomplete beta and another way of inverting it; 1e-9 is asked, 1e-12 is usual",
        _proportions,
    ),
    Source(
        "proportion",
        "scipy 1.17 stats.binomtest().proportion_ci, wilson and exact",
        "the exact limits by root finding on the binomial",
        _binomtest,
    ),
    Source(
        "count-limits",
        "a statistics publisher's answer for a count of 25 (graphpad.com, how QuickCalcs computes)",
        "two decimals printed",
        _fixed(
            Value(typed(count=25, confidence=0.9), 17.38, 0.0051, "low"),
            Value(typed(count=25, confidence=0.9), 34.92, 0.0051, "high"),
            Value(typed(count=25), 16.18, 0.0051, "low"),
            Value(typed(count=25), 36.90, 0.0051, "high"),
            Value(typed(count=25, confidence=0.99), 14.00, 0.0051, "low"),
            Value(typed(count=25, confidence=0.99), 41.00, 0.0051, "high"),
        ),
    ),
    Source(
        "count-limits",
        "R package epitools 0.5, page of pois.exact: no count, upper limit 3.689",
        "three decimals printed",
        _fixed(Value(typed(count=0), 3.689, 0.0006, "high")),
    ),
    Source(
        "count-limits",
        "scipy 1.17 stats.chi2.ppf and isf",
        "another incomplete gamma and another way of inverting it; relative 1e-9",
        _poisson_limits,
    ),
    Source(
        "count-limits",
        "statsmodels 0.15 confint_poisson, exact-c",
        "the same limits as another package offers them",
        _confint_poisson,
    ),
    Source(
        "mortality-limit",
        "scipy 1.17 stats.poisson.ppf and stats.binom.ppf",
        "whole numbers, so the same or wrong",
        _death_limits,
    ),
    Source(
        "mortality-limit",
        "cumulative Poisson table of a university (UMass), mean 5: P(X >= 12)",
        "four decimals printed",
        _fixed(Value({"more_than": "11", "mean": "5"}, 0.0055, 0.0001)),
        work=_tail,
    ),
    Source(
        "death-rate",
        "scipy 1.17 stats.expon.isf: the exponential that leaves end of start",
        "another route to the same rate; rounding only",
        _rates,
    ),
    Source(
        "survival",
        "lifelines 0.30 KaplanMeierFitter on the fish written out one by one",
        "product-limit by another author; fish taken out are censored on their day",
        _dead_by_day,
    ),
    Source(
        "survival-curve",
        "Freireich et al. 1963, 6-MP arm, as printed in textbooks of survival (from memory)",
        "three decimals printed",
        _freireich,
    ),
    Source(
        "survival-curve",
        "lifelines 0.30 KaplanMeierFitter",
        "the same estimate by another author, ties and fish taken out among them",
        _curves,
    ),
    Source(
        "survival-curve",
        "log-rank of 6-MP and placebo, chi-square 16.79 in textbooks (from memory)",
        "two decimals printed",
        _fixed(Value({"first": _arm(*TREATED), "second": _arm(*PLACEBO)}, 16.79, 0.006)),
        work=_arms,
    ),
    Source(
        "survival-curve",
        "lifelines 0.30 logrank_test, two tanks of 1000 fish among them",
        "the same statistic by another author; at the level of fish, so no test of a treatment",
        _two_tanks,
        work=_arms,
    ),
)
DIFFERS: tuple[Differs, ...] = ()
