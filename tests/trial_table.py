"""Writes docs/trial.md: the demo's trial beside scipy and statsmodels on the same tank values.

    python tests/trial_table.py [FILE]

Every number of ours is one that the page shows; theirs is worked out here, anew, from the values
of the tanks alone. `tests/test_trial_table.py` holds the written page to this.
"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path
from typing import Any, NamedTuple

from demo_support import STATION, whole
from outside_table import cell
from tankwalk.pages import trial_words as words
from tankwalk.practice.site import open_site
from tankwalk.practice.trial.comparing import Compared, How, compared
from tankwalk.practice.trial.gathering import Gathered, gather

PAGE = Path(__file__).parent.parent / "docs" / "trial.md"
END = "2026-05-19T19:00"
"""When all twelve tanks were counted."""
SHOWN = (
    "census", "census-18", "census-less", "seen", "unaccounted", "length", "mass", "k", "sgr",
    "tgc", "gain", "swim-bladder", "gut-fill", "dry", "temp", "do", "ph",
)  # fmt: skip

Figures = dict[str, tuple[float, float]]
"""Each number by its name: ours and theirs."""


class Row(NamedTuple):
    """One measure, ours beside theirs."""

    one: Compared
    figures: Figures

    @property
    def apart(self) -> float:
        """The largest difference, over the size of the number where that is above 1."""
        return max(abs(a - b) / max(1.0, abs(b)) for a, b in self.figures.values())


def gathered() -> Gathered:
    """The whole season, at its end."""
    site = open_site(whole(), STATION, END)
    page = gather(site)
    site.close()
    return page


def rows(page: Gathered) -> list[Row]:
    """Every measure that has a test, as it stands on the page."""
    codes = {one.code for one in page.measures}
    found = []
    for code in SHOWN:
        if code in codes:
            one = compared(page.measure(code), page.treatments, page.trial)
            if one.test is not None and one.test.how is How.BLOCKS:
                found.append(Row(one, figures(one)))
    return found


def figures(one: Compared) -> Figures:
    """Ours beside what scipy and statsmodels make of the same tank values."""
    import numpy as np
    import pandas as pd
    import statsmodels.formula.api as smf
    from scipy import stats
    from statsmodels.stats.anova import anova_lm
    from statsmodels.stats.oneway import confint_effectsize_oneway

    assert one.test is not None
    assert one.omega is not None
    values = [v for arm in one.arms for v in arm.values]
    table = pd.DataFrame(
        [(v.tank.treatment, v.tank.block, v.value) for v in values],
        columns=["treatment", "block", "y"],
    )
    found: Figures = {}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = smf.ols("y ~ C(treatment) + C(block)", table).fit()
        theirs: Any = anova_lm(model, typ=2)
        f, df, error = float(theirs.F.iloc[0]), 2, float(model.df_resid)
        for arm in one.arms:
            of = table.y[table.treatment == arm.treatment]
            assert arm.mean is not None
            assert arm.sd is not None
            assert arm.se is not None
            found[f"mean {arm.treatment}"] = arm.mean, float(np.mean(of))
            found[f"SD {arm.treatment}"] = arm.sd, float(np.std(of, ddof=1))
            found[f"SE {arm.treatment}"] = arm.se, float(stats.sem(of))
        found["F"] = one.test.statistic or 0.0, f
        found["p"] = one.test.p or 0.0, float(theirs["PR(>F)"].iloc[0])
        found["p of blocks"] = one.test.block_p or 0.0, float(theirs["PR(>F)"].iloc[1])
        found["mean square"] = one.test.mean_square, float(model.mse_resid)
        k = len(one.arms)
        half = float(stats.studentized_range.ppf(0.95, k, error))
        for pair in one.pairs:
            first, second = (
                table.y[table.treatment == code].to_numpy() for code in (pair.first, pair.second)
            )
            difference = float(first.mean() - second.mean())
            spread = float((model.mse_resid / len(first)) ** 0.5)
            name = f"{pair.first} - {pair.second}"
            found[name] = pair.difference, difference
            found[f"{name} low"] = pair.low or 0.0, difference - half * spread
            found[f"{name} high"] = pair.high or 0.0, difference + half * spread
            p = float(stats.studentized_range.sf(abs(difference) / spread, k, error))
            found[f"{name} p"] = pair.p or 0.0, p
        ends = confint_effectsize_oneway(f, (df, error)).eta2
        found["omega squared high"] = one.omega.high or 0.0, float(ends[1])
        if one.assumptions is not None and one.assumptions.spread_p is not None:
            rest = [model.resid[table.treatment == arm.treatment] for arm in one.arms]
            found["p of spreads"] = (
                one.assumptions.spread_p, float(stats.levene(*rest, center="median").pvalue)
            )  # fmt: skip
        if one.findable is not None:
            n, edge = len(values) / k, float(stats.t.ppf(0.975, error))
            shift = one.findable.difference / float((model.mse_resid * 2 / n) ** 0.5)
            power = stats.nct.sf(edge, error, shift) + stats.nct.cdf(-edge, error, shift)
            found["power at what could be found"] = 0.8, float(power)
    return found


def text(found: list[Row]) -> str:
    """The page."""
    worst = max(found, key=lambda row: row.apart)
    most = max(worst.figures.items(), key=lambda pair: _apart(pair[1]))
    lines = [
        "# The trial of the demo, beside scipy and statsmodels",
        "",
        "Made by `python tests/trial_table.py`. Ours is what `tankwalk trial` works out of the "
        "demo's record at its end, on one value a tank (three treatments, four blocks, twelve "
        "tanks); theirs is worked out from the same twelve values by statsmodels "
        "(`ols('y ~ C(treatment) + C(block)')`, `anova_lm` type II, `confint_effectsize_oneway`) "
        "and scipy (`studentized_range`, `levene`, `sem`, `nct`). Differences are over the size "
        "of the number where that is above 1.",
        "",
        f"Numbers compared: {sum(len(row.figures) for row in found)}, of {len(found)} measures. "
        f"Largest difference: {worst.apart:.0e} ({worst.one.measure.code}, {most[0]}).",
        "",
        "| measure | means | F, ours | F, theirs | p, ours | p, theirs | largest difference |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for row in found:
        one, figures_ = row.one, row.figures
        means = ", ".join(
            f"{arm.treatment} {words.value(one.measure, arm.mean, 1)}" for arm in one.arms
        )
        f, p = figures_["F"], figures_["p"]
        name = cell(words.label(one.measure))
        lines.append(
            f"| {name} | {means} | {f[0]:.6f} | {f[1]:.6f} | {p[0]:.8f} | {p[1]:.8f} "
            f"| {row.apart:.0e} |"
        )
    lines += ["", "## Pairs of the primary measure", "",
              "| number | ours | theirs |", "| --- | --- | --- |"]  # fmt: skip
    lines += [f"| {name} | {a:.7f} | {b:.7f} |" for name, (a, b) in found[0].figures.items()]
    lines += [
        "",
        "## A census under way",
        "",
        "A census is whole when every tank that had fish by its book was counted. While a newer "
        "one is not, the last whole one leads and is what the primary measure compares; the newer "
        "one stands under its own age, with the tanks it has, and one line names it unfinished. "
        "Where none is whole, the newest leads and is named unfinished.",
        "",
        "## Published examples",
        "",
        "Montgomery & Runger's hardwood (one-way) and fabric (blocks), a hardness tester's tips in "
        "lecture notes, and Montgomery's vascular grafts, whole and with one value missing, are "
        "held in [outside-values.md](outside-values.md) with their sources; where the book fills "
        "the missing value in and ours leaves the tank out, the difference is told there.",
        "",
    ]
    return "\n".join(lines)


def _apart(both: tuple[float, float]) -> float:
    return abs(both[0] - both[1]) / max(1.0, abs(both[1]))


if __name__ == "__main__":
    file = Path(sys.argv[1]) if len(sys.argv) > 1 else PAGE
    file.write_text(text(rows(gathered())), "utf-8")
    print(f"Wrote {file}.")
