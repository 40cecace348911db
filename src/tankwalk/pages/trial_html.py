"""The report of a trial: one HTML page that stands alone, in black, for a browser or for paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tankwalk.pages import trial_tables
from tankwalk.pages import trial_words as words
from tankwalk.pages.paper import PORTRAIT, Markup, document, el, header, heading
from tankwalk.plan.model import Plan
from tankwalk.practice.trial.comparing import Compared
from tankwalk.practice.trial.gathering import Gathered
from tankwalk.practice.trial.measures import Topic

_STYLE = (
    PORTRAIT
    + """
table { margin: 0.3em 0 0.6em; }
th { border-bottom: 0.2mm solid #000; font-weight: bold; }
td.n, th.n { text-align: right; white-space: nowrap; }
tr { break-inside: avoid; }
h2 { margin-top: 1.3em; }
h3 { font-size: 1em; margin: 1em 0 0.1em; break-after: avoid; }
figure { margin: 0.4em 0; break-inside: avoid; }
figure svg { width: 100%; height: auto; }
figcaption { font-size: 0.85em; }
.primary { font-size: 1.1em; font-weight: bold; }
.small, .small td, .small th { font-size: 8pt; }
.small td, .small th { overflow-wrap: normal; padding-right: 0.6em; }
.small td { font-size: 7.5pt; }
.small th { font-size: 7pt; vertical-align: bottom; }
.small th.n { white-space: normal; }
.whole { white-space: nowrap; }
.open { font-weight: bold; }
"""
)

NO_PLOTS = (
    "Plots are left out: matplotlib is not installed here (pip install 'tankwalk[report]'). "
    "The tables hold every value."
)

TABLES = {
    "water": "Water by tank",
    "fish": "Fish by tank",
    "bands": "Bands in force",
}

MISSING = "Missing"

WHOLE = 12
"""Characters of words that stand in one line in a table: codes, dates."""


def report(
    plan: Plan,
    page: Gathered,
    every: Sequence[Compared],
    plots: Mapping[str, Markup] | None,
    seal: str,
) -> str:
    """The whole report with the seal of the record; `plots` None where nothing draws them."""
    trial = page.trial
    title = f"TRIAL {trial.code}".strip()
    inside: list[Markup] = [
        el("p", f"{trial.question[:1].upper()}{trial.question[1:]}. {words.design(page)}"),
        *_result(every[0]),
        *_footnotes(page),
        heading("Methods"),
        *(el("p", told) for told in trial_tables.methods(plan, page, every)),
    ]
    if plots is None:
        inside.append(el("p", NO_PLOTS, class_="open"))
    else:
        inside += _plot(plots, "dots", "Every tank by its block's letter; the bar is the mean of "
                        "the treatment. Not from zero.")  # fmt: skip
        inside += _plot(
            plots, "survival",
            "Survival by the dead that were seen, a step curve a tank with its 95 % limits (fish "
            "taken as independent, which they are not). No census is in it.",
        )  # fmt: skip
    for topic in Topic:
        these = [one for one in every if one.measure.topic is topic]
        if these:
            inside.append(heading(words.TOPICS[topic], "tank values, n = tanks"))
            inside += [part for one in these for part in _measure(page, one)]
        if topic is Topic.WATER and plots is not None:
            for name in plots:
                if name.startswith("water-"):
                    inside += _plot(plots, name, "One panel a tank, one scale; gray is the band "
                                    "in force, open circles lie outside it.")  # fmt: skip
    made = {
        "water": trial_tables.water(page),
        "fish": trial_tables.stock(page),
        "bands": trial_tables.bands(page),
    }
    for name, table in made.items():
        inside += [heading(TABLES[name]), _table(table)]
    inside += [heading(MISSING), *_missing(page, every)]
    return document(
        f"{title}, {page.site}, {page.until.short()}",
        _STYLE,
        page.now,
        seal,
        header(title, page.site, page.until),
        *inside,
    )


def _result(one: Compared) -> list[Markup]:
    """The primary measure first, in words."""
    lines = [el("p", words.head(one), class_="primary"), el("p", words.found(one))]
    for n in sorted(range(len(one.pairs)), key=lambda n: -abs(one.pairs[n].difference)):
        lines.append(el("p", f"{words.pair(one, n)}: {words.pair_limits(one, n)}"))
    lines += [el("p", told) for told in (words.omega(one), words.findable(one)) if told]
    return lines


def _footnotes(page: Gathered) -> list[Markup]:
    notes = list(words.notes(page))
    if not notes:
        return [heading("Not as planned"), el("p", "Nothing that the record shows.")]
    items = (el("li", told, class_="open" if is_open else "") for told, is_open in notes)
    return [heading("Not as planned"), el("ul", *items)]


def _plot(plots: Mapping[str, Markup], name: str, said: str) -> list[Markup]:
    return [el("figure", plots[name], el("figcaption", said))] if name in plots else []


def _measure(page: Gathered, one: Compared) -> list[Markup]:
    """A measure: the tanks by block, what they come to, and what is said of it."""
    measure = one.measure
    single = bool(page.blocks) and all(
        len({t.block for t in mine}) == len(mine) and None not in {t.block for t in mine}
        for code in page.treatments
        if (mine := [t for t in page.tanks if t.treatment == code])
    )
    most = max((arm.n for arm in one.arms), default=0)
    columns = list(page.blocks) if single else [str(n + 1) for n in range(most)]
    heads = ["treatment", *columns, "mean", "SD", "SE", "min", "max", "n"]
    rows = []
    for arm in one.arms:
        by_column = {
            (v.tank.block if single else str(n + 1)): v.value for n, v in enumerate(arm.values)
        }
        cells = [words.value(measure, by_column.get(name)) for name in columns]
        cells += [words.value(measure, x) for x in (arm.mean,)]
        cells += [words.value(measure, x, 1) for x in (arm.sd, arm.se)]
        cells += [words.value(measure, x) for x in (arm.low, arm.high)]
        rows.append([arm.treatment, *cells, str(arm.n)])
    parts = [
        el("h3", words.label(measure)),
        el("table", _head(heads), *(_row(cells) for cells in rows)),
        el("p", words.found(one)),
    ]
    pairs = [f"{words.pair(one, n)}: {words.pair_limits(one, n)}" for n in range(len(one.pairs))]
    if pairs:
        parts.append(el("p", "; ".join(pairs)))
    more = [words.omega(one), words.findable(one), *words.assumed(one)]
    said = " ".join(told for told in more if told)
    if said:
        parts.append(el("p", said, class_="small"))
    return parts


def _head(names: Sequence[str]) -> Markup:
    first, *others = names
    return el("tr", el("th", first), *(el("th", name, class_="n") for name in others))


def _row(cells: Sequence[str]) -> Markup:
    first, *others = cells
    return el("tr", el("td", first), *(el("td", told, class_="n") for told in others))


def _table(table: trial_tables.Table) -> Markup:
    """A table of words and numbers as they stand in the file of the same name."""

    def cell(value: trial_tables.Cell) -> Markup:
        if isinstance(value, str):
            return el("td", value, class_="whole" if len(value) <= WHOLE else "")
        return el("td", "NA" if value is None else f"{value:.5g}", class_="n")

    names = [name.replace("_", " ") for name in table.heads]
    rows = (el("tr", *(cell(value) for value in row)) for row in table.rows)
    number = [
        any(row[nth] is not None and not isinstance(row[nth], str) for row in table.rows)
        for nth in range(len(names))
    ]
    heads = (el("th", name, class_="n" if n else "") for name, n in zip(names, number, strict=True))
    # In a head of its own it stands again on every page of paper.
    return el("table", el("thead", el("tr", *heads)), el("tbody", *rows), class_="small")


def _missing(page: Gathered, every: Sequence[Compared]) -> list[Markup]:
    rows = [
        f"{words.label(one.measure)}: {told}"
        for one in every
        for told in words.not_known(one.measure)
    ]
    rows += [f"{words.label(one.measure)}: no test, {one.why_not}" for one in every if one.why_not]
    if not rows:
        return [el("p", "Every tank has a value of every measure.")]
    return [el("ul", *(el("li", told) for told in rows))]
