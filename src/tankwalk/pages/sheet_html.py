"""The round on paper as one HTML file: one side, across, for twelve tanks and a morning round."""

from __future__ import annotations

from tankwalk.pages.paper import Markup, Node, document, el, header, heading
from tankwalk.pages.readings import band_words
from tankwalk.pages.sheet import (
    RULES,
    Grid,
    about,
    amended,
    begun,
    grids,
    last_words,
    named,
    title,
    wanted,
)
from tankwalk.plan.model import Item
from tankwalk.plan.responses import every
from tankwalk.practice.judging.verdict import value_words
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.rounds import SIGNING
from tankwalk.practice.transcribing.blank import Blank

ABREAST = 12
"""Tanks side by side: a box is then 16 mm wide on the narrower paper, US Letter."""

NAME = 26.0
"""Part of the side's width for what is looked at, its band and first response, in percent."""

_STYLE = """
@page { size: landscape; margin: 7mm 8mm 9mm; %s }
body { font-size: 8pt; line-height: 1.15; }
@media screen { body { max-width: 281mm; } }
header { padding-bottom: 0.5mm; }
h1 { font-size: 12pt; }
h2 { font-size: 8.5pt; margin: 1.3mm 0 0.5mm; border: 0; }
p { margin: 0.6mm 0; }
.urgent { font-weight: bold; font-size: 9pt; }
.grid { table-layout: fixed; break-inside: avoid; }
.grid td, .grid th { border: 0.25mm solid #000; padding: 0.3mm 0.8mm; overflow: hidden; }
.grid th.name { padding: 0.3mm 0; border-left: 0; }
.grid tr.head th { vertical-align: bottom; line-height: 1.05; }
.grid .write td { height: 7.6mm; }
.grid .eyes td { height: 6mm; }
.grid .who td { height: 5mm; }
small { font-size: 8pt; line-height: 1.05; }
.grid small { display: block; }
.band { float: right; padding-right: 1mm; }
span.band { font-size: 8pt; }
.grid .name small { clear: both; }
td.none { text-align: center; vertical-align: middle; }
.cards { display: flex; flex-wrap: wrap; gap: 1.2mm; }
.card { border: 0.25mm solid #000; padding: 0.4mm 0.8mm; flex: 1 1 26mm; max-width: 60mm;
  display: flex; flex-direction: column; break-inside: avoid; }
.card .pencil { margin-top: auto; height: 6.5mm; border-top: 0.15mm dotted #000; }
.cards { margin-top: 1.3mm; }
.card.who { flex: 0 0 25mm; justify-content: space-between; border: 0; padding-left: 0; }
.card.who div { border-bottom: 0.25mm solid #000; height: 5mm; }
.card h2 { margin: 0; }
.sign { display: flex; gap: 4mm; margin-top: 2mm; align-items: flex-end; break-inside: avoid; }
.sign span.line { flex: 1; border-bottom: 0.25mm solid #000; }
"""


def sheet(page: Blank, seal: str) -> str:
    """The whole file."""
    parts: list[Node] = []
    for number, grid in enumerate(grids(page.agenda, ABREAST), 1):
        name = f"{number}  {grid.title}"
        if grid.kind in ("site", "loop"):
            parts.append(_cards(page, grid, name))
        else:
            parts += [heading(name, _how(grid)), _table(page, grid)]
    emergency = f"EMERGENCY: {page.emergency}"
    return document(
        f"Round sheet, {page.agenda.checklist.label}, {page.site}, {page.now.short()}",
        _STYLE,
        page.now,
        seal,
        header(title(page), page.site, page.now),
        *([el("p", emergency, class_="urgent")] if page.emergency else []),
        el("p", " ".join((begun(page), *RULES))),
        *parts,
        *(el("p", words) for words in amended(page)),
        el(
            "div",
            el("span", f"{SIGNING}. Signed"),
            el("span", class_="line"),
            el("span", "at ____:____"),
            el("span", f"Made from the record up to entry {page.last_entry}."),
            class_="sign",
        ),
    )


def _how(grid: Grid) -> str:
    lap = "; time ____:____ initials ______" if grid.kind == "glance" else ""
    return f"small in the box: the last value and its age{lap}"


def _cards(page: Blank, grid: Grid, name: str) -> Markup:
    """What is looked at once: a card an item, its box at the foot."""
    made = []
    for item in grid.items:
        slot = grid.slots[grid.places[0], item.code]
        said = "; ".join(wanted(item, band_words(slot)))
        last = " ".join(part for part in last_words(page, slot) if part)
        known = "; ".join(part for part in (said, last and f"last {last}") if part)
        told = [f"if {first.words}" if first.when else first.words for first in every(item)]
        made.append(
            el(
                "div",
                el("b", named(item)),
                *(el("small", words) for words in (known, *told) if words),
                el("div", _kept(page, slot), class_="pencil"),
                class_="card",
            )
        )
    who = el("div", el("h2", name), el("div", "time"), el("div", "initials"), class_="card who")
    return el("div", who, *made, class_="cards")


def _kept(page: Blank, slot: Slot) -> str:
    seen = page.kept.get((slot.place, slot.item.code))
    return "" if seen is None else f"kept: {value_words(slot.item, seen, bare=True)}"


def _table(page: Blank, grid: Grid) -> Markup:
    """Places side by side and a row an item; a person writes down one column."""
    each = min(14.0, (100 - NAME) / len(grid.places))
    whole = NAME + each * len(grid.places)
    tanks = {tank.code: tank for tank in grid.tanks}
    name = 100 * NAME / whole
    heads = [
        el("th", el("b", place), *([el("small", about(tanks[place]))] if place in tanks else []))
        for place in grid.places
    ]
    rows = [el("tr", el("th", class_="name"), *heads, class_="head")]
    rows += [_row(page, grid, item) for item in grid.items]
    if grid.kind == "tank":
        rows += [
            el("tr", el("th", words, class_="name"), *(el("td") for _ in grid.places), class_="who")
            for words in ("time", "initials")
        ]
    return el(
        "table",
        el("col", style=f"width: {name:.2f}%"),
        *(el("col") for _ in grid.places),
        *rows,
        class_="grid",
        style=f"width: {whole:.2f}%",
    )


def _row(page: Blank, grid: Grid, item: Item) -> Markup:
    bands = grid.bands(item)
    several = len(bands) > 1
    said = "; ".join(wanted(item, "band in each box" if several else "".join(bands)))
    label = [el("b", named(item))]
    if said:
        label.append(el("b" if item.kind.by_band else "span", said, class_="band"))
    label += [el("small", first.words) for first in every(item)]
    cells = []
    for place in grid.places:
        slot = grid.slot(place, item)
        if slot is None:
            cells.append(el("td", "not due", class_="none"))
            continue
        kept = _kept(page, slot)
        words = " ".join(part for part in last_words(page, slot) if part)
        cells.append(
            el(
                "td",
                el("small", kept or words),
                *([el("small", band_words(slot) or "no band")] if several else []),
            )
        )
    kind = "eyes" if grid.kind == "glance" else "write"
    return el("tr", el("th", *label, class_="name"), *cells, class_=kind)
