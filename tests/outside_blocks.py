"""Blocks, effect sizes and survival curves against textbooks, scipy, statsmodels and lifelines."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from outside import Differs, Source, Value
from tankwalk.science import blocks, comparison, effects, survival

Rows = Sequence[Sequence[float | None]]
"""A row a treatment, a column a block; None where the tank is missing."""

GRAFT: Rows = (
    (90.3, 89.2, 98.2, 93.9, 87.4, 97.9), (92.5, 89.5, 90.6, 94.7, 87.0, 95.8),
    (85.5, 90.8, 89.6, 86.2, 88.0, 93.4), (82.5, 89.5, 85.6, 87.4, 78.9, 90.7),
)  # fmt: skip
"""Four extrusion pressures in six batches of resin (Montgomery)."""
FABRIC: Rows = (
    (1.3, 1.6, 0.5, 1.2, 1.1), (2.2, 2.4, 0.4, 2.0, 1.8), (1.8, 1.7, 0.6, 1.5, 1.3),
    (3.9, 4.4, 2.0, 4.1, 3.4),
)  # fmt: skip
"""Four chemicals on five fabrics (Montgomery & Runger)."""
TIPS: Rows = (
    (9.3, 9.4, 9.6, 10.0), (9.4, 9.3, 9.8, 9.9), (9.2, 9.4, 9.5, 9.7), (9.7, 9.6, 10.0, 10.2),
)  # fmt: skip
"""Four tips of a hardness tester on four coupons (Montgomery)."""
MISSING: Rows = tuple(
    tuple(None if (i, j) == (1, 3) else value for j, value in enumerate(row))
    for i, row in enumerate(GRAFT)
)
"""The grafts with one measurement lost."""
LOST: Rows = (
    (54.1, 56.9, None, 56.8), (60.7, 58.4, 61.9, 58.3), (None, 61.2, 60.0, 66.6),
)  # fmt: skip
"""Survival in three treatments and four blocks, two tanks lost."""
DESIGNS = (GRAFT, FABRIC, TIPS, MISSING, LOST)


def cells(rows: Rows) -> list[blocks.Cell]:
    """The tanks that are there."""
    return [
        blocks.Cell(i, j, value)
        for i, row in enumerate(rows)
        for j, value in enumerate(row)
        if value is not None
    ]


def _asked(rows: Rows, of: str) -> dict[str, str]:
    shown = "; ".join(" ".join("-" if v is None else f"{v:g}" for v in row) for row in rows)
    return {"tanks": shown, "of": of}


def _rows(asked: Mapping[str, str]) -> Rows:
    return [
        [None if word == "-" else float(word) for word in row.split()]
        for row in asked["tanks"].split(";")
    ]


def _blocked(asked: Mapping[str, str]) -> float:
    """One number of the analysis with blocks."""
    these = cells(_rows(asked))
    fit = blocks.fitted(these)
    assert fit.blocks is not None
    of, *which = asked["of"].split()
    if of in ("low", "high", "p", "difference"):
        first, second = int(which[0]), int(which[1])
        pair = next(one for one in fit.pairs if (one.first, one.second) == (first, second))
        found = getattr(pair, of)
        assert isinstance(found, float)
        return found
    if of == "bend":
        bend = blocks.bend(these, fit)
        assert bend is not None
        return bend.p if which else bend.statistic
    by_word = {
        "F": fit.treatments.statistic, "pF": fit.treatments.p, "SS": fit.treatments.sum_of_squares,
        "F-blocks": fit.blocks.statistic, "p-blocks": fit.blocks.p,
        "SS-blocks": fit.blocks.sum_of_squares, "MSE": fit.mean_square,
        "SSE": fit.mean_square * fit.df,
    }  # fmt: skip
    if of in ("mean", "error"):
        return (fit.means if of == "mean" else fit.errors)[int(which[0])]
    value = by_word[of]
    assert value is not None
    return value


def _printed(rows: Rows, **numbers: tuple[float, float]) -> Iterable[Value]:
    for of, (expected, tolerance) in numbers.items():
        yield Value(_asked(rows, of.replace("_", "-")), expected, tolerance)


def _statsmodels() -> Iterable[Value]:
    import pandas as pd
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    for rows in DESIGNS:
        table = pd.DataFrame(cells(rows), columns=["treatment", "block", "y"])
        model = smf.ols("y ~ C(treatment) + C(block)", table).fit()
        two = anova_lm(model, typ=2)
        three = anova_lm(smf.ols("y ~ C(treatment, Sum) + C(block, Sum)", table).fit(), typ=3)
        yield Value(_asked(rows, "F"), float(two.F.iloc[0]), 1e-8)
        yield Value(_asked(rows, "pF"), float(two["PR(>F)"].iloc[0]), 1e-10)
        yield Value(_asked(rows, "F-blocks"), float(two.F.iloc[1]), 1e-8)
        yield Value(_asked(rows, "SS"), float(three.sum_sq.iloc[1]), 1e-8)
        yield Value(_asked(rows, "MSE"), float(model.mse_resid), 1e-10)


def _means_statsmodels() -> Iterable[Value]:
    """Means and their errors by predictions at every block, averaged."""
    import numpy as np
    import pandas as pd
    import statsmodels.formula.api as smf

    for rows in DESIGNS:
        table = pd.DataFrame(cells(rows), columns=["treatment", "block", "y"])
        model = smf.ols("y ~ C(treatment, Sum) + C(block, Sum)", table).fit()
        k = len(rows)
        for i in range(k):
            row = np.zeros(len(model.params))
            row[0] = 1
            row[1:k] = -1 if i == k - 1 else np.eye(k - 1)[i]
            told = model.t_test(row)
            yield Value(_asked(rows, f"mean {i}"), float(np.squeeze(told.effect)), 1e-9)
            yield Value(_asked(rows, f"error {i}"), float(np.squeeze(told.sd)), 1e-9)


def _tukey_by_error() -> Iterable[Value]:
    """Pairs by the error of the model with blocks, and scipy's studentized range."""
    import numpy as np
    import pandas as pd
    import statsmodels.formula.api as smf
    from scipy import stats

    for rows in DESIGNS:
        table = pd.DataFrame(cells(rows), columns=["treatment", "block", "y"])
        model = smf.ols("y ~ C(treatment, Sum) + C(block, Sum)", table).fit()
        k, df = len(rows), float(model.df_resid)
        q = float(stats.studentized_range.ppf(0.95, k, df))
        coded = [*np.eye(k - 1), -np.ones(k - 1)]
        for i in range(k):
            for j in range(i + 1, k):
                row = np.zeros(len(model.params))
                row[1:k] = coded[i] - coded[j]
                told = model.t_test(row)
                difference, error = float(np.squeeze(told.effect)), float(np.squeeze(told.sd))
                pair = f"{i + 1} {j + 1}"
                half = q * error / 2**0.5
                p = float(stats.studentized_range.sf(abs(difference) / error * 2**0.5, k, df))
                yield Value(_asked(rows, f"difference {pair}"), difference, 1e-9)
                yield Value(_asked(rows, f"low {pair}"), difference - half, 1e-5)
                yield Value(_asked(rows, f"high {pair}"), difference + half, 1e-5)
                yield Value(_asked(rows, f"p {pair}"), p, 1e-6)


def _tukeyhsd() -> Iterable[Value]:
    """statsmodels' own pairs, told the error mean square and its degrees of freedom."""
    import numpy as np
    from statsmodels.sandbox.stats.multicomp import tukeyhsd

    for rows in (GRAFT, FABRIC, TIPS):
        fit = blocks.fitted(cells(rows))
        means = np.array([np.mean([v for v in row if v is not None]) for row in rows])
        error = _error_of(rows)
        # It takes the degrees of freedom a group, and adds them up.
        theirs = tukeyhsd(means, len(rows[0]), error, df=fit.df / len(rows), alpha=0.05)
        for (i, j), difference, (low, high) in zip(
            zip(*theirs[0], strict=True), theirs[2], theirs[4], strict=True
        ):
            # Theirs is the second minus the first.
            yield Value(_asked(rows, f"difference {i + 1} {j + 1}"), -float(difference), 1e-9)
            yield Value(_asked(rows, f"low {i + 1} {j + 1}"), -float(high), 1e-5)
            yield Value(_asked(rows, f"high {i + 1} {j + 1}"), -float(low), 1e-5)


def _error_of(rows: Rows) -> float:
    """The error mean square of a complete design by its definition, in numpy."""
    import numpy as np

    y = np.array(rows, dtype=float)
    rest = y - y.mean(axis=1, keepdims=True) - y.mean(axis=0, keepdims=True) + y.mean()
    return float((rest**2).sum() / ((y.shape[0] - 1) * (y.shape[1] - 1)))


def _bend_statsmodels() -> Iterable[Value]:
    """Squared fits as one more term of the model."""
    import pandas as pd
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    for rows in (*DESIGNS[:3], MISSING):
        table = pd.DataFrame(cells(rows), columns=["treatment", "block", "y"])
        plain = smf.ols("y ~ C(treatment) + C(block)", table).fit()
        table["z"] = (plain.fittedvalues - table.y.mean()) ** 2
        more = smf.ols("y ~ C(treatment) + C(block) + z", table).fit()
        test = anova_lm(plain, more).iloc[1]
        yield Value(_asked(rows, "bend"), float(test.F), 1e-6)
        yield Value(_asked(rows, "bend p"), float(test["Pr(>F)"]), 1e-8)


# ---- effects


PAIRS = (
    ((71.3, 69.0, 74.1), (62.0, 58.5, 60.2)), ((54.1, 56.9, 53.2, 56.8), (60.7, 58.4, 61.9, 58.3)),
    ((1.0, 2.0, 4.0), (1.5, 2.5, 2.0, 3.0)), ((10.0, 12.0), (11.0, 14.0)),
)  # fmt: skip


def _hedges(asked: Mapping[str, str]) -> float:
    first, second = ([float(n) for n in asked[key].split()] for key in ("first", "second"))
    found = effects.hedges(first, second)
    assert found is not None
    value = getattr(found, asked["of"])
    assert isinstance(value, float)
    return value


def _hedges_values() -> Iterable[Value]:
    """g from scipy's gamma, its limits from scipy's noncentral t."""
    import numpy as np
    from scipy import optimize, special, stats

    for first, second in PAIRS:
        n1, n2 = len(first), len(second)
        m = n1 + n2 - 2
        t = float(stats.ttest_ind(first, second).statistic)
        root = (1 / n1 + 1 / n2) ** 0.5
        j = float(np.exp(special.gammaln(m / 2) - special.gammaln((m - 1) / 2)) / np.sqrt(m / 2))
        asked = {key: " ".join(f"{n:g}" for n in these)
                 for key, these in (("first", first), ("second", second))}  # fmt: skip
        yield Value({**asked, "of": "value"}, j * t * root, 1e-10)
        for of, share in (("low", 0.975), ("high", 0.025)):
            shift = optimize.brentq(
                lambda x, t=t, m=m, share=share: (
                    np.nan_to_num(stats.nct.cdf(t, m, x), nan=float(x < t)) - share
                ),
                t - 15,
                t + 15,
            )
            yield Value({**asked, "of": of}, j * root * float(shift), 1e-6)


def _hedges_statsmodels() -> Iterable[Value]:
    import numpy as np
    from statsmodels.stats.meta_analysis import effectsize_smd

    first, second = PAIRS[1]
    theirs, _ = effectsize_smd(
        np.mean(first), np.std(first, ddof=1), len(first),
        np.mean(second), np.std(second, ddof=1), len(second),
    )  # fmt: skip
    asked = {"first": " ".join(map(str, first)), "second": " ".join(map(str, second))}
    # Theirs takes 1 - 3 / (4 n - 1) for the gamma functions: 0.2 % apart with eight tanks.
    yield Value({**asked, "of": "value"}, float(theirs), 0.01)


def _omega(asked: Mapping[str, str]) -> float:
    found = effects.omega_squared(float(asked["f"]), int(asked["df"]), int(asked["error"]))
    value = getattr(found, asked["of"])
    assert isinstance(value, float)
    return value


def _omega_statsmodels() -> Iterable[Value]:
    from statsmodels.stats.oneway import _fstat2effectsize, confint_effectsize_oneway

    for f, df, error in ((8.11, 3, 15), (9.5, 2, 6), (1.4, 2, 9), (35.0, 4, 20)):
        asked = {"f": f"{f:g}", "df": str(df), "error": str(error)}
        low, high = confint_effectsize_oneway(f, (df, error)).eta2
        # A one-way omega squared counts the tanks as df + error + 1, as ours does.
        point = _fstat2effectsize(f, (df, error)).omega2
        yield Value({**asked, "of": "low"}, max(0.0, float(low)), 2e-4)
        yield Value({**asked, "of": "high"}, float(high), 2e-4)
        yield Value({**asked, "of": "value"}, float(point), 1e-9)


def _spreads(asked: Mapping[str, str]) -> float:
    found = effects.equal_spreads(
        [[float(n) for n in group.split()] for group in asked["groups"].split(";")]
    )
    value = getattr(found, asked["of"])
    assert isinstance(value, float)
    return value


def _spreads_scipy() -> Iterable[Value]:
    from scipy import stats

    for groups in (GRAFT, FABRIC, TIPS, ((1.0, 2.0, 9.0), (3.0, 3.5, 4.0, 4.1))):
        theirs = stats.levene(*groups, center="median")
        asked = {"groups": "; ".join(" ".join(f"{n:g}" for n in g if n) for g in groups)}
        yield Value({**asked, "of": "statistic"}, float(theirs.statistic), 1e-9)
        yield Value({**asked, "of": "p"}, float(theirs.pvalue), 1e-10)


def _needed_blocked(asked: Mapping[str, str]) -> float:
    return comparison.tanks_needed(
        float(asked["difference"]), float(asked["sd"]), 0.8, 0.05, int(asked["groups"]),
        blocked=True,
    )  # fmt: skip


def _needed_scipy() -> Iterable[Value]:
    """The first n whose power by scipy's noncentral t reaches 80 %."""
    from scipy import stats

    for difference, sd, groups in ((5.0, 2.0, 3), (3.0, 2.1, 3), (10.0, 4.0, 2), (1.0, 1.0, 4)):
        for n in range(2, 500):
            df, shift = (groups - 1) * (n - 1), difference / (sd * (2 / n) ** 0.5)
            edge = stats.t.ppf(0.975, df)
            # Its upper tail alone: the lower one is below 1e-6 here, and its code fails there.
            if stats.nct.sf(edge, df, shift) >= 0.8:
                break
        asked = {"difference": f"{difference:g}", "sd": f"{sd:g}", "groups": str(groups)}
        yield Value(asked, n, 0)


# ---- survival curves

TANK = (4400.0, (0, 26, 31, 25, 0, 40, 64), (0, 0, 8, 0, 0, 0, 8))
"""A tank's first week: stocked, dead a day, taken out alive at its end."""
SMALL = (21.0, (3, 1, 1, 1, 1, 1), (1, 0, 2, 2, 0, 4))


def _curve(asked: Mapping[str, str]) -> float:
    dead, out = ([float(n) for n in asked[key].split()] for key in ("dead", "out"))
    curve = survival.product_limit(float(asked["stocked"]), range(1, len(dead) + 1), dead, out)
    value = getattr(curve[int(asked["day"]) - 1], asked["of"])
    assert isinstance(value, float)
    return value


def _curve_lifelines() -> Iterable[Value]:
    from lifelines import KaplanMeierFitter

    for stocked, dead, out in (TANK, SMALL):
        times: list[float] = []
        died: list[int] = []
        for day, (d, r) in enumerate(zip(dead, out, strict=True), 1):
            times += [day] * (d + r)
            died += [1] * d + [0] * r
        rest = int(stocked) - len(times)
        times += [len(dead) + 1] * rest
        died += [0] * rest
        fitter = KaplanMeierFitter().fit(times, died)
        ends = fitter.confidence_interval_survival_function_
        for day in range(1, len(dead) + 1):
            asked = {
                "stocked": f"{stocked:g}", "dead": " ".join(map(str, dead)),
                "out": " ".join(map(str, out)), "day": str(day),
            }  # fmt: skip
            alive = float(fitter.predict(day))
            yield Value({**asked, "of": "part"}, alive, 1e-12)
            if alive < 1:
                at = ends.index[ends.index <= day][-1]
                yield Value({**asked, "of": "low"}, float(ends.loc[at].iloc[0]), 1e-9)
                yield Value({**asked, "of": "high"}, float(ends.loc[at].iloc[1]), 1e-9)


SOURCES: tuple[Source, ...] = (
    Source(
        "compare",
        "blocks: Montgomery & Runger, Applied Statistics and Probability for Engineers, example "
        "13-5, four chemicals on five fabrics: sums of squares 18.04 of 25.69",
        "two decimals printed",
        lambda: _printed(FABRIC, SS=(18.04, 0.006)),
        work=_blocked,
    ),
    Source(
        "compare",
        "blocks: the same example: blocks 6.69, error 0.96, F 75.13 (from memory)",
        "two decimals printed; the error by subtracting three rounded sums, F from a mean square "
        "of 0.08",
        lambda: _printed(FABRIC, SS_blocks=(6.69, 0.006), SSE=(0.96, 0.015), F=(75.13, 0.9)),
        work=_blocked,
    ),
    Source(
        "compare",
        "blocks: Stat 368 of a university, lecture 10, output of R for a hardness tester's tips "
        "(output read in print)",
        "printed digits",
        lambda: _printed(
            TIPS, SS=(0.385, 1e-5), F=(14.438, 0.0006), pF=(0.0008713, 6e-8),
            SS_blocks=(0.825, 1e-5), F_blocks=(30.938, 0.0006), p_blocks=(4.523e-5, 6e-9),
            MSE=(0.00889, 6e-6),
        ),
        work=_blocked,
    ),
    Source(
        "compare",
        "blocks: Montgomery, Design and Analysis of Experiments, vascular grafts (data read in "
        "print, table from memory): 178.17, 192.25, 109.89, F 8.11, p 0.0019",
        "printed digits",
        lambda: _printed(
            GRAFT, SS=(178.17, 0.006), SS_blocks=(192.25, 0.006), SSE=(109.89, 0.006),
            F=(8.11, 0.006), pF=(0.0019, 0.00006),
        ),
        work=_blocked,
    ),
    Source(
        "compare",
        "blocks, one value missing: Montgomery, the same grafts, value estimated as 91.08: error "
        "101.70 with 14 degrees of freedom, mean square 7.26 (from memory)",
        "printed digits",
        lambda: _printed(MISSING, SSE=(101.70, 0.006), MSE=(7.26, 0.006)),
        work=_blocked,
    ),
    Source(
        "compare",
        "blocks: statsmodels 0.15 anova_lm of ols('y ~ C(treatment) + C(block)'), type II and III",
        "another least squares; rounding only",
        _statsmodels,
        work=_blocked,
    ),
    Source(
        "compare",
        "blocks: statsmodels 0.15 ols, mean of each treatment over all blocks by t_test",
        "another least squares; rounding only",
        _means_statsmodels,
        work=_blocked,
    ),
    Source(
        "compare",
        "blocks, Tukey's pairs: errors of statsmodels 0.15 ols, scipy 1.17 studentized_range",
        "another integral; p within 1e-6, limits within 1e-5",
        _tukey_by_error,
        work=_blocked,
    ),
    Source(
        "compare",
        "blocks, Tukey's pairs: statsmodels 0.15 tukeyhsd with the error mean square",
        "another integral; limits within 1e-5",
        _tukeyhsd,
        work=_blocked,
    ),
    Source(
        "compare",
        "blocks, do they only add: statsmodels 0.15 anova_lm of two nested models",
        "another least squares; rounding only",
        _bend_statsmodels,
        work=_blocked,
    ),
    Source(
        "compare",
        "Hedges g: scipy 1.17 ttest_ind, gammaln and nct",
        "another noncentral t, both by halving",
        _hedges_values,
        work=_hedges,
    ),
    Source(
        "compare",
        "Hedges g: statsmodels 0.15 meta_analysis.effectsize_smd",
        "theirs takes a short form of the gamma functions",
        _hedges_statsmodels,
        work=_hedges,
    ),
    Source(
        "compare",
        "omega squared with its limits: statsmodels 0.15 oneway.confint_effectsize_oneway",
        "theirs stops its search at about 1e-4",
        _omega_statsmodels,
        work=_omega,
    ),
    Source(
        "compare",
        "equal spreads: scipy 1.17 stats.levene(center='median')",
        "the same definition; rounding only",
        _spreads_scipy,
        work=_spreads,
    ),
    Source(
        "tanks-needed",
        "tanks in blocks: scipy 1.17 nct, the first n with 80 % power",
        "whole tanks",
        _needed_scipy,
        work=_needed_blocked,
    ),
    Source(
        "survival-curve",
        "a tank's curve with its limits: lifelines 0.30 KaplanMeierFitter",
        "the same definitions; rounding only",
        _curve_lifelines,
        work=_curve,
    ),
)  # fmt: skip

DIFFERS: tuple[Differs, ...] = (
    Differs(
        "compare",
        "blocks, one value missing: F of the treatments",
        7.63,
        7.498,
        0.001,
        _asked(MISSING, "F"),
        "The book fills the value in and tests as if it had been measured, which makes the sum of "
        "squares of the treatments too large (166.14 for 163.40); ours leaves the tank out.",
        "Montgomery, Design and Analysis of Experiments, vascular grafts with one value missing "
        "(from memory)",
        work=_blocked,
    ),
)
