"""Trends and trial: charts that smooth or add up, treatments compared by tank means."""

from __future__ import annotations

from tankwalk.science import comparison, signals
from tankwalk.science.calculators.declare import (
    MEASURE,
    Answer,
    Calculator,
    Extra,
    Form,
    Given,
    Input,
    Output,
)

FEWEST_TANKS = 3
"""In a group, for a comparison that says something."""


def _ewma(given: Given) -> Answer:
    points, low, high = signals.ewma(
        given.series("values"), given.number("start"), given.number("weight"), given.maybe("sd")
    )
    return Answer(points[-1], {"points": points, "low": low, "high": high})


def _cusum(given: Given) -> Answer:
    sums = signals.cusum(given.series("values"), given.number("mean"), given.number("slack"))
    return Answer(sums.high[-1], {"points": sums.high, "low": sums.low[-1]})


def _compare(given: Given) -> Answer:
    groups = given.groups("groups")
    found = comparison.described(groups)
    warnings = ["groups have to hold one number a tank, its mean: fish of one tank are no repeats."]
    fewest = min(group.n for group in found)
    if fewest < FEWEST_TANKS:
        warnings.append(
            f"groups has a group of {fewest} tanks; below {FEWEST_TANKS} a difference has to be "
            "very large to show."
        )
    detectable = comparison.detectable(groups)
    if detectable is None:
        warnings.append("groups have no spread between tanks: there is nothing to test against.")
    also: dict[str, Extra]
    if len(groups) == 2:
        two = comparison.welch(groups)
        p = two.p
        also = {
            "statistic": two.statistic,
            "df": two.df,
            "difference": two.difference,
            "low": two.low,
            "high": two.high,
            "tukey": None,
        }
    else:
        whole = comparison.anova(groups)
        p = whole.p
        also = {
            "statistic": whole.statistic,
            "df": float(whole.df),
            "df_between": float(whole.df_between),
            "tukey": [_pair(pair) for pair in comparison.tukey(groups)],
        }
    return Answer(p, {**also, "detectable": detectable}, tuple(warnings))


def _pair(pair: comparison.Pair) -> dict[str, object]:
    return {
        "pair": [pair.first, pair.second],
        "difference": pair.difference,
        "low": pair.low,
        "high": pair.high,
        "p": pair.p,
    }


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "ewma",
        "Weighted moving average",
        (
            Input("values", "values in order of time", form=Form.SERIES),
            Input("start", "target, where it starts", of=MEASURE),
            Input("weight", "weight of a new value", default=0.3),
            Input("sd", "spread of single values", needed=False, of=MEASURE),
        ),
        Output("value", "", 3, "last point"),
        "z_i = w x_i + (1 - w) z_(i-1), z_0 = start\nlimits start -+ 3 sd sqrt(w / (2 - w))",
        "Roberts 1959, Technometrics 1:239 (from memory); NIST/SEMATECH e-Handbook 6.3.2.4",
        "weight above 0 to 1; values that do not hang together; limits of a long run",
        _ewma,
        example="values=7.6 7.5 7.6 7.4 7.3 | start=7.6 | sd=0.1",
        also=(Output("points", "", 3), Output("low", "", 3), Output("high", "", 3)),
        find="control chart average",
    ),
    Calculator(
        "cusum",
        "Cumulative sums",
        (
            Input("values", "values in order of time", form=Form.SERIES),
            Input("mean", "target", of=MEASURE),
            Input("slack", "slack k, half the shift sought", of=MEASURE),
        ),
        Output("value", "", 3, "last high side"),
        "S_i = max(0, S_(i-1) + x_i - mean - k)\nlow side max(0, S_(i-1) + mean - k - x_i)",
        "Page 1954, Biometrika 41:100 (from memory); NIST/SEMATECH e-Handbook 6.3.2.3",
        "values that do not hang together; a signal is a sum above 4 to 5 standard deviations",
        _cusum,
        example="values=7.6 7.5 7.6 7.4 7.3 | mean=7.6 | slack=0.05",
        also=(Output("points", "", 3, "high side"), Output("low", "", 3, "last low side")),
        find="control chart drift",
    ),
    Calculator(
        "compare",
        "Treatments compared by tanks",
        (Input("groups", "tank means; groups parted by ;", form=Form.GROUPS),),
        Output("value", "", 4, "p"),
        "two groups: Welch t = (m1 - m2) / sqrt(s1^2/n1 + s2^2/n2); more: F, then Tukey-Kramer at "
        "95 %\n"
        "detectable d: noncentral t with d / (s sqrt(2/n)) and N - k df has 80 % power at 0.05 "
        "two-sided; s pooled, n mean group size",
        "Welch 1947, Biometrika 34:28; Fisher 1925; Tukey 1953; Kramer 1956, Biometrics 12:307; "
        "Cohen 1988, Statistical power analysis, ch. 2 (all from memory)",
        "tank means, about normal, 3 tanks or more in a group; F and Tukey take spreads as alike",
        _compare,
        example="groups=7.1 8.0 7.6; 9.2 8.8 9.9",
        also=(
            Output("statistic", "", 3, "t of two groups, F of more"),
            Output("df", "", 2, "degrees of freedom"),
            Output("df_between", "", 0, "degrees of freedom between"),
            Output("difference", "", 3, "first minus second"),
            Output("low", "", 3),
            Output("high", "", 3),
            Output("tukey", "", 4, "pairs"),
            Output("detectable", "", 3, "difference found at 80 % power"),
        ),
        find="t test ANOVA Tukey treatment",
    ),
)
