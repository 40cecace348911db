"""The tables of a trial, for CSV files and the report: tanks, treatments, pairs, water, days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from tankwalk import __version__
from tankwalk.pages import trial_words as words
from tankwalk.plan.model import Plan
from tankwalk.practice.trial.comparing import Compared
from tankwalk.practice.trial.gathering import Gathered
from tankwalk.rows import NamedTuple

Cell = str | float | None


class Table(NamedTuple):
    """A table: its name, heads with units, and rows of words and numbers."""

    name: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def tables(page: Gathered, every: Sequence[Compared]) -> list[Table]:
    """All tables of a trial."""
    return [
        _tanks(every),
        _treatments(every),
        _pairs(every),
        water(page),
        survival(page),
        stock(page),
        _notes(page),
        bands(page),
    ]


def _tanks(every: Sequence[Compared]) -> Table:
    rows = [
        (
            one.measure.code, one.measure.unit, v.tank.code, v.tank.treatment, v.tank.block,
            None if one.measure.on is None else one.measure.on.isoformat(), one.measure.age,
            v.value, "" if v.why is None else words.WHY[v.why],
        )
        for one in every for v in one.measure.values
    ]  # fmt: skip
    heads = ("measure", "unit", "tank", "treatment", "block", "on", "age_dph", "value", "reason")
    return Table("tanks", heads, tuple(rows))


def _treatments(every: Sequence[Compared]) -> Table:
    rows = []
    for one in every:
        for arm in one.arms:
            rows.append(
                (
                    one.measure.code, one.measure.unit, arm.treatment, arm.n, arm.mean, arm.sd,
                    arm.se, arm.low, arm.high,
                )
            )  # fmt: skip
    heads = ("measure", "unit", "treatment", "n_tanks", "mean", "sd", "se", "min", "max")
    return Table("treatments", heads, tuple(rows))


def _pairs(every: Sequence[Compared]) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for one in every:
        test = one.test
        if test is None:
            continue
        code, unit = one.measure.code, one.measure.unit
        scale = "arcsine_deg" if one.arcsine else unit
        least = None if one.findable is None else one.findable.difference
        rows.append(
            (code, scale, "all treatments", test.how.value, test.statistic, test.df, test.error,
             test.p, None, None, None, None, None, None, least)
        )  # fmt: skip
        for pair in one.pairs:
            g = pair.g
            rows.append(
                (code, scale, f"{pair.first} - {pair.second}", "Tukey-Kramer", None, None,
                 test.error, pair.p, pair.difference, pair.low, pair.high,
                 None if g is None else g.value, None if g is None else g.low,
                 None if g is None else g.high, least)
            )  # fmt: skip
    heads = (
        "measure", "unit", "of", "test", "statistic", "df", "df_error", "p", "difference",
        "low_95", "high_95", "hedges_g", "g_low_95", "g_high_95", "findable_80_percent_power",
    )  # fmt: skip
    return Table("comparisons", heads, tuple(rows))


def water(page: Gathered) -> Table:
    """Every item in every tank."""
    rows = []
    for one in page.waters:
        if not one.looks and not one.suspect:
            continue
        values = [look.value for look in one.looks]
        rows.append(
            (
                one.item.code, one.item.unit, one.tank.code, one.tank.treatment, one.tank.block,
                len(values), one.mean, one.sd, min(values, default=None),
                max(values, default=None), one.out_percent, len(one.suspect),
            )
        )  # fmt: skip
    heads = (
        "item", "unit", "tank", "treatment", "block", "n_looks", "mean", "sd", "min", "max",
        "out_of_band_percent", "suspect_looks_left_out",
    )  # fmt: skip
    return Table("water", heads, tuple(rows))


def survival(page: Gathered) -> Table:
    """The product-limit curve of each tank, by day."""
    rows = []
    for fate in page.fates:
        begun = page.until.day - timedelta(days=len(fate.curve) - 1)
        for n, one in enumerate(fate.curve):
            rows.append(
                (
                    fate.tank.code, fate.tank.treatment, fate.tank.block,
                    (begun + timedelta(days=n)).isoformat(), one.at_risk, 100 * one.part,
                    100 * one.low, 100 * one.high,
                )
            )  # fmt: skip
    heads = (
        "tank", "treatment", "block", "day", "at_risk_fish", "alive_by_dead_seen_percent",
        "low_95_percent", "high_95_percent",
    )  # fmt: skip
    return Table("survival_seen", heads, tuple(rows))


def stock(page: Gathered) -> Table:
    """What became of the fish of each tank, as counts."""
    rows: list[tuple[Cell, ...]] = []
    for fate in page.fates:
        out = sum(fate.taken.values())
        base = (
            fate.tank.code, fate.tank.treatment, fate.tank.block, fate.stocked, fate.plus_minus,
            fate.method, fate.dead, out, fate.book,
        )  # fmt: skip
        for counted in fate.counted or (None,):
            if counted is None:
                rows.append((*base, None, None, None, None, None))
            else:
                rows.append(
                    (*base, counted.at.iso(), counted.fish, counted.plus_minus, counted.method,
                     counted.book - counted.fish)
                )  # fmt: skip
    heads = (
        "tank", "treatment", "block", "stocked_fish", "stocked_plus_minus", "stocked_method",
        "dead_seen_fish", "taken_out_alive_fish", "book_fish", "census_at", "census_fish",
        "census_plus_minus", "census_method", "unaccounted_fish",
    )  # fmt: skip
    return Table("fish", heads, tuple(rows))


def _notes(page: Gathered) -> Table:
    rows = tuple(("open" if is_open else "closed", told) for told, is_open in words.notes(page))
    return Table("not_as_planned", ("state", "what"), rows)


# ---- how it was made


def methods(plan: Plan, page: Gathered, every: Sequence[Compared]) -> list[str]:
    """Methods, unit, versions, people and what is missing, a sentence or two a line."""
    trial = page.trial
    known = {one.initials for one in plan.people}
    first = next((one for one in every if one.test is not None), None)
    lines = [
        f"Trial {trial.code}: {trial.question}." if trial.question else f"Trial {trial.code}.",
        f"{page.site}. {page.first} to {page.until.day}; as of {page.until.iso()}.",
        words.design(page),
        "The tank is the experimental unit: every value is one of a tank, and n counts tanks.",
    ]
    if first is not None:
        lines.append(words.analysis(first))
    lines += [
        f"Primary measure: {trial.primary}; alpha {trial.alpha:g}. Other measures are told "
        "without a correction for how many there are.",
        words.imbalance(page),
        *(f"{words.label(one.measure)}: {words.method(one.measure)}" for one in _first_of(every)),
    ]
    if trial.stopping:
        lines.append(f"Planned stopping: {trial.stopping}.")
    lines.append(words.marks_left_out(page))
    lines.append(
        f"People: {', '.join(sorted(known))}; owner {trial.owner or 'not named'} (initials)."
    )
    lines.append(
        f"tankwalk {__version__}; plan {plan.digest[:16]}; record up to entry {page.last_entry}, "
        f"digest {(page.last_digest or 'none')[:16]}."
    )
    return lines


def _first_of(every: Sequence[Compared]) -> list[Compared]:
    """One measure of each kind: water has one method for all items."""
    found: dict[object, Compared] = {}
    for one in every:
        found.setdefault(one.measure.what, one)
    return list(found.values())


def bands(page: Gathered) -> Table:
    """The bands in force, by item and treatment: a row a change, a ramp in one with its ends."""
    rows: list[tuple[Cell, ...]] = []
    items = {one.item.code: one.item for one in page.waters}
    first = {code: next(t.code for t in page.tanks if t.treatment == code)
             for code in page.treatments}  # fmt: skip
    for code, tank in first.items():
        for one in page.bands:
            if one.tank == tank:
                unit = items[one.item].unit
                rows += [
                    (
                        one.item,
                        unit,
                        code,
                        step.day.isoformat(),
                        step.last.isoformat(),
                        step.low,
                        step.high,
                        step.low_then,
                        step.high_then,
                        step.source,
                    )
                    for step in one.steps
                ]
    rows.sort(key=lambda row: list(items).index(str(row[0])))
    heads = ("item", "unit", "treatment", "from", "to", "low", "high", "low at end",
             "high at end", "source")  # fmt: skip
    return Table("bands", heads, tuple(rows))
