"""Trends and comparisons against the NIST handbook, textbooks, pandas, scipy and statsmodels."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from outside import Differs, Source, Value, typed, worked
from tankwalk.science import distributions


def _fixed(*rows: Value) -> Callable[[], Iterable[Value]]:
    return lambda: rows


# ---- charts

DRAINED = (
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
    49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
)  # fmt: skip
"""The EWMA example of the handbook."""
FILLED = (
    324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6,
    324.625, 325.15, 328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
)  # fmt: skip
"""The CUSUM example of the handbook."""


def _nist_ewma() -> Iterable[Value]:
    for points, expected in ((1, 50.60), (2, 49.52), (10, 50.33), (20, 51.99)):
        yield Value(typed(values=DRAINED[:points], start=50, weight=0.3), expected, 0.006)
    asked = typed(values=DRAINED, start=50, weight=0.3, sd=2.0539)
    yield Value(asked, 52.5884, 0.0001, "high")
    yield Value(asked, 47.4115, 0.0002, "low")


def _pandas_ewma() -> Iterable[Value]:
    import pandas as pd

    for values, start, weight in ((DRAINED, 50.0, 0.3), (FILLED, 325.0, 0.2), (DRAINED, 0.0, 0.95)):
        run = pd.Series([start, *values]).ewm(alpha=weight, adjust=False).mean()
        for n in (1, 2, 7, 20):
            asked = typed(values=values[:n], start=start, weight=weight)
            yield Value(asked, float(run[n]), 1e-9)


def _nist_cusum() -> Iterable[Value]:
    for points, expected in ((13, 3.01), (15, 7.45), (20, 19.04)):
        yield Value(typed(values=FILLED[:points], mean=325, slack=0.3175), expected, 0.011)


def _walked_cusum() -> Iterable[Value]:
    """The highest rise over any earlier low of the plain sum, which is the tabular one."""
    import numpy as np

    for values, mean, slack in ((FILLED, 325, 0.3175), (DRAINED, 50, 0.5), (DRAINED, 51, 0)):
        for key, sign in (("value", 1), ("low", -1)):
            plain = np.concatenate(([0.0], np.cumsum(sign * (np.array(values) - mean) - slack)))
            tabular = plain - np.minimum.accumulate(plain)
            for n in (1, 5, 12, 20):
                asked = typed(values=values[:n], mean=mean, slack=slack)
                yield Value(asked, float(tabular[n]), 1e-9, key)


# ---- comparisons

WELCH = (
    (27.5, 21.0, 19.0, 23.6, 17.0, 17.9, 16.9, 20.1, 21.9, 22.6, 23.1, 19.6, 19.0, 21.7, 21.4),
    (27.1, 22.0, 20.8, 23.4, 23.4, 23.5, 25.8, 22.0, 24.8, 20.2, 21.9, 22.1, 22.9, 20.5, 24.4),
)
TANKS = ((71.3, 69.0, 74.1), (62.0, 58.5, 60.2))
HARDWOOD = (
    (7, 8, 15, 11, 9, 10), (12, 17, 13, 18, 19, 15), (14, 18, 19, 17, 16, 18),
    (19, 25, 22, 23, 18, 20),
)  # fmt: skip
SCIPY_DOC = (
    (24.5, 23.5, 26.4, 27.1, 29.9), (28.4, 34.2, 29.5, 32.2, 30.1), (26.1, 28.3, 24.3, 26.2, 27.8),
)  # fmt: skip
UNEQUAL = ((88.0, 91.5), (84.2, 79.9, 86.0, 83.1), (70.5, 74.4, 69.1), (85.0, 86.1))
"""Survival of tanks, one lost from some groups."""


def _groups(groups: Sequence[Sequence[float]]) -> dict[str, str]:
    return {"groups": "; ".join(typed(g=list(group))["g"] for group in groups)}


def _welch_scipy() -> Iterable[Value]:
    from scipy import stats

    for groups in (WELCH, TANKS, HARDWOOD[:2], UNEQUAL[:2], UNEQUAL[2:], ((1, 2), (1, 2.5, 9))):
        theirs = stats.ttest_ind(*groups, equal_var=False)
        interval = theirs.confidence_interval()
        asked = _groups(groups)
        yield Value(asked, float(theirs.pvalue), 1e-10)
        yield Value(asked, float(theirs.statistic), 1e-9, "statistic")
        yield Value(asked, float(theirs.df), 1e-9, "df")
        yield Value(asked, float(interval.low), 1e-8, "low")
        yield Value(asked, float(interval.high), 1e-8, "high")


MORE = (HARDWOOD, SCIPY_DOC, UNEQUAL, HARDWOOD[1:], (*TANKS, (64.9, 66.0)))


def _anova_scipy() -> Iterable[Value]:
    from scipy import stats

    for groups in MORE:
        theirs = stats.f_oneway(*groups)
        yield Value(_groups(groups), float(theirs.pvalue), 1e-11)
        yield Value(_groups(groups), float(theirs.statistic), 1e-9, "statistic")


def _pair(asked: Mapping[str, str]) -> float:
    """One number of one pair, through the calculator."""
    rows = worked("compare", (("groups", asked["groups"]),)).also["tukey"]
    assert isinstance(rows, list)
    for row in rows:
        assert isinstance(row, dict)
        if row["pair"] == [int(n) for n in asked["pair"].split()]:
            found = row[asked["of"]]
            assert isinstance(found, float)
            return found
    raise AssertionError(f"no pair {asked['pair']}")


def _of(groups: Sequence[Sequence[float]], first: int, second: int, of: str) -> dict[str, str]:
    return {**_groups(groups), "pair": f"{first} {second}", "of": of}


def _tukey_scipy() -> Iterable[Value]:
    from scipy import stats

    for groups in MORE:
        theirs = stats.tukey_hsd(*groups)
        interval = theirs.confidence_interval()
        for i in range(len(groups)):
            for j in range(i + 1, len(groups)):
                pair = (groups, i + 1, j + 1)
                yield Value(_of(*pair, "difference"), float(theirs.statistic[i, j]), 1e-9)
                yield Value(_of(*pair, "p"), float(theirs.pvalue[i, j]), 1e-7)
                yield Value(_of(*pair, "low"), float(interval.low[i, j]), 1e-6)
                yield Value(_of(*pair, "high"), float(interval.high[i, j]), 1e-6)


def _tukey_statsmodels() -> Iterable[Value]:
    from statsmodels.stats.multicomp import pairwise_tukeyhsd

    for groups in (HARDWOOD, UNEQUAL):
        values = [value for group in groups for value in group]
        names = [i for i, group in enumerate(groups, 1) for _ in group]
        theirs = pairwise_tukeyhsd(values, names)
        pairs = [(i, j) for i in range(1, 5) for j in range(i + 1, 5)]
        for (i, j), p, (low, high) in zip(pairs, theirs.pvalues, theirs.confint, strict=True):
            # Theirs is the second minus the first.
            yield Value(_of(groups, i, j, "p"), float(p), 1e-6)
            yield Value(_of(groups, i, j, "low"), -float(high), 1e-5)
            yield Value(_of(groups, i, j, "high"), -float(low), 1e-5)


def _critical(asked: Mapping[str, str]) -> float:
    return distributions.studentized_range_quantile(0.95, int(asked["groups"]), float(asked["df"]))


def _power_two() -> Iterable[Value]:
    import numpy as np
    from statsmodels.stats.power import TTestIndPower

    for groups in (TANKS, WELCH, HARDWOOD[:2], ((1.0, 2.0), (3.0, 4.5))):
        n = len(groups[0])
        size = TTestIndPower().solve_power(nobs1=n, alpha=0.05, power=0.8)
        pooled = float(np.sqrt((np.var(groups[0], ddof=1) + np.var(groups[1], ddof=1)) / 2))
        yield Value(_groups(groups), float(size) * pooled, 1e-5 * pooled, "detectable")


def _power_more() -> Iterable[Value]:
    import numpy as np
    from scipy.optimize import brentq
    from statsmodels.stats.power import TTestPower

    for groups in MORE:
        number, k = sum(len(group) for group in groups), len(groups)
        within = sum(float(np.var(group, ddof=1)) * (len(group) - 1) for group in groups)
        pooled, n = (within / (number - k)) ** 0.5, number / k

        def short(size: float, n: float = n, df: int = number - k) -> float:
            return float(TTestPower().power(size, n / 2, 0.05, df=df)) - 0.8

        most = 1.0  # beyond what is needed its power becomes no number at all
        while short(most) < 0:
            most += 0.5
        size = float(brentq(short, 0.01, most, xtol=1e-12))
        yield Value(_groups(groups), size * pooled, 1e-5 * pooled, "detectable")


SOURCES: tuple[Source, ...] = (
    Source(
        "ewma",
        "NIST/SEMATECH e-Handbook 6.3.2.4, example (limits as quoted in a public test file, data "
        "from memory)",
        "two decimals printed; limits from s 2.0539 with four",
        _nist_ewma,
    ),
    Source(
        "ewma",
        "pandas 2 Series.ewm(adjust=False) begun at the target",
        "the same recursion by another author; rounding only",
        _pandas_ewma,
    ),
    Source(
        "cusum",
        "NIST/SEMATECH e-Handbook 6.3.2.3, example (from memory)",
        "two decimals printed, summed from values rounded on the way",
        _nist_cusum,
    ),
    Source(
        "cusum",
        "numpy 2: plain cumulative sum less its lowest point so far",
        "another definition of the same chart; rounding only",
        _walked_cusum,
    ),
    Source(
        "compare",
        "Welch's t test, example 1 of an encyclopaedia (from memory)",
        "t with two decimals, df whole",
        _fixed(
            Value(_groups(WELCH), -2.46, 0.006, "statistic"),
            Value(_groups(WELCH), 25, 0.06, "df"),
            Value(_groups(WELCH), 0.021, 0.0006),
        ),
    ),
    Source(
        "compare",
        "scipy 1.17 stats.ttest_ind(equal_var=False)",
        "another incomplete beta; rounding only",
        _welch_scipy,
    ),
    Source(
        "compare",
        "Montgomery & Runger, hardwood concentration, Minitab output: F 19.61",
        "two decimals printed",
        _fixed(Value(_groups(HARDWOOD), 19.61, 0.006, "statistic")),
    ),
    Source(
        "compare",
        "Montgomery & Runger, hardwood concentration, Minitab output: Tukey, 5 % against 10 %",
        "made from a critical value rounded to 3.96; ours keeps 3.95829",
        _fixed(Value(_of(HARDWOOD, 1, 2, "high"), -1.542, 0.01)),
        work=_pair,
    ),
    Source(
        "compare",
        "studentized range at 0.05: (4, 20) 3.96 in Montgomery & Runger; (3, 12) 3.77 and others "
        "from Tukey's table (from memory)",
        "two decimals printed",
        _fixed(
            Value({"groups": "4", "df": "20"}, 3.96, 0.005),
            Value({"groups": "3", "df": "12"}, 3.77, 0.006),
            Value({"groups": "2", "df": "10"}, 3.15, 0.006),
            Value({"groups": "3", "df": "10"}, 3.88, 0.006),
            Value({"groups": "5", "df": "20"}, 4.23, 0.006),
        ),
        work=_critical,
    ),
    Source(
        "compare",
        "scipy documentation, example of tukey_hsd",
        "as printed, three decimals of it and more through the library",
        _fixed(
            Value(_of(SCIPY_DOC, 1, 2, "low"), -8.24916, 1e-5),
            Value(_of(SCIPY_DOC, 1, 2, "high"), -0.950841, 2e-6),
        ),
        work=_pair,
    ),
    Source(
        "compare",
        "scipy 1.17 stats.f_oneway",
        "another incomplete beta; rounding only",
        _anova_scipy,
    ),
    Source(
        "compare",
        "scipy 1.17 stats.tukey_hsd, unequal numbers of tanks among them",
        "theirs integrates to about 1e-9 by another rule; ours finds q to 1e-9",
        _tukey_scipy,
        work=_pair,
    ),
    Source(
        "compare",
        "statsmodels 0.15 pairwise_tukeyhsd",
        "theirs finds the quantile to fewer digits and counts second minus first",
        _tukey_statsmodels,
        work=_pair,
    ),
    Source(
        "compare",
        "statsmodels 0.15 TTestIndPower.solve_power, two groups of one size",
        "theirs takes the noncentral t, ours the noncentral F of its square; theirs solves to 1e-8",
        _power_two,
    ),
    Source(
        "compare",
        "statsmodels 0.15 TTestPower.power with N - k degrees of freedom, more groups",
        "theirs takes the noncentral t, ours the noncentral F of its square",
        _power_more,
    ),
)
DIFFERS: tuple[Differs, ...] = ()
