"""The round on paper, for a power cut: in walking order, with a place for every value.

What one looks at stands in rows and tanks stand side by side, so that a person at a tank writes
down one column, as the walk asks. As lines here; `sheet_html` draws the same grids for a browser.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from tankwalk import text
from tankwalk.clock import ago_short
from tankwalk.pages.correction_words import beside
from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.pages.readings import band_words
from tankwalk.plan.model import Item, Tank
from tankwalk.plan.responses import every, response
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.round.agenda import Agenda, Page, Slot
from tankwalk.practice.round.questions import REASONS
from tankwalk.practice.round.rounds import SIGNING
from tankwalk.practice.transcribing.blank import Blank
from tankwalk.rows import NamedTuple

Part = TypeVar("Part")

CELL = 9
"""Cells of a box and the line at its right: as wide on paper as a pencil needs."""

BY_WHOM = " time ____:____  initials ______"

RULES = (
    "Write as the pad would: tick = all right, 2 or 3 = the word with that number, "
    "0 where you counted none.",
    "Out of band: measure again while the probe is in the water, and write both values.",
    "Not taken: / and why: " + ", ".join(f"{one.key} {one.word}" for one in REASONS) + ".",
    "Notes on the back, with the tank; doses too, with product, amount, unit, time and initials.",
)
"""How the sheet is filled."""


class Grid(NamedTuple):
    """Places side by side and what is looked at there; `slots` holds what is asked."""

    kind: str
    title: str
    places: tuple[str, ...]
    tanks: tuple[Tank, ...]
    items: tuple[Item, ...]
    slots: dict[tuple[str, str], Slot]

    def slot(self, place: str, item: Item) -> Slot | None:
        return self.slots.get((place, item.code))

    def bands(self, item: Item) -> dict[str, list[str]]:
        """The bands of an item today, each with the places where it holds."""
        found: dict[str, list[str]] = {}
        for place in self.places:
            slot = self.slot(place, item)
            if slot is not None and item.kind.by_band:
                found.setdefault(band_words(slot), []).append(place)
        return found


def grids(agenda: Agenda, abreast: int) -> Iterator[Grid]:
    """The stops of a round in walking order, tanks that follow one another at most `abreast`."""
    waiting: list[Page] = []
    for page in agenda.pages:
        if page.kind == "tank":
            waiting.append(page)
            continue
        yield from _tanks(agenda, waiting, abreast)
        waiting = []
        if page.kind == "glance":
            for part in _parts(page.slots, abreast):
                yield _grid("glance", f"{page.title}, all tanks first, by eye", part)
        else:
            yield _grid(page.kind, page.title, page.slots)
    yield from _tanks(agenda, waiting, abreast)


def _tanks(agenda: Agenda, pages: list[Page], abreast: int) -> Iterator[Grid]:
    for part in _parts(tuple(pages), abreast):
        slots = tuple(s for page in part for s in page.slots)
        tanks = tuple(page.tank for page in part if page.tank is not None)
        codes = [tank.code for tank in tanks]
        which = codes[0] if len(codes) == 1 else f"{codes[0]} to {codes[-1]}"
        title = f"Tank {which}" if len(codes) == 1 else f"Tanks {which}, down one, then the next"
        made = _grid("tank", title, slots, tanks)
        order = {code: i for i, code in enumerate(agenda.checklist.tank)}
        yield made._replace(items=tuple(sorted(made.items, key=lambda i: order[i.code])))


def _grid(kind: str, title: str, slots: tuple[Slot, ...], tanks: tuple[Tank, ...] = ()) -> Grid:
    places = tuple(dict.fromkeys(slot.place for slot in slots))
    items = tuple({slot.item.code: slot.item for slot in slots}.values())
    return Grid(kind, title, places, tanks, items, {(s.place, s.item.code): s for s in slots})


def _parts(all_of: tuple[Part, ...], most: int) -> Iterator[tuple[Part, ...]]:
    """As few parts as hold at most `most` each, of nearly the same size."""
    parts = -(-len(all_of) // max(1, most))
    for i in range(parts):
        yield all_of[i * len(all_of) // parts : (i + 1) * len(all_of) // parts]


# ---- words that both sheets say


def title(sheet: Blank) -> str:
    return f"ROUND SHEET  {sheet.agenda.checklist.label}"


def begun(sheet: Blank) -> str:
    """What is known of the round in hand; "" for a round that was not begun."""
    if sheet.begun is None:
        return ""
    when, who = sheet.begun.opened.told(sheet.now), sheet.begun.who
    return (
        f"Begun {when} by {who}: {len(sheet.kept)} of {sheet.agenda.slots} are in the record "
        "and say so in their box."
    )


def amended(sheet: Blank) -> list[str]:
    """What stands in the boxes and was not entered as it was seen: what it was, who and why."""
    labels = {s.item.code: s.item for page in sheet.agenda.pages for s in page.slots}
    said = []
    for (place, code), seen in sheet.kept.items():
        item = labels[code]
        told = beside(seen, sheet.now, item)
        if told:
            said.append(f"{place} {item.label} {value_words(item, seen)}: {told}.")
    return said


def answer_words(item: Item) -> str:
    """The words that may be written for an item by their keys; "" for what is a number."""
    return ", ".join(f"{'tick' if key == '1' else key} = {word}" for key, word in item.answers)


def unit_words(item: Item) -> str:
    """What the number written for an item counts or measures; "" where that goes without saying."""
    return item.unit or item.kind.unit_word


def named(item: Item) -> str:
    """An item with what is written for it."""
    return ", ".join(part for part in (item.label, unit_words(item)) if part)


def wanted(item: Item, *bands: str) -> list[str]:
    """What is looked for, in the order it is read: the words, then the bands."""
    return [part for part in (answer_words(item), *(bands if item.kind.by_band else ())) if part]


def last_words(sheet: Blank, slot: Slot) -> tuple[str, str]:
    """The last value with its mark, and how old it is; each "" where there is none."""
    seen = sheet.seen(slot)
    if seen is None:
        return "", ""
    mark = Flag(seen.flag).short
    value = value_words(slot.item, seen, bare=True)
    return f"{value}{mark}", ago_short(sheet.now.hours_since(seen.at))


def about(tank: Tank) -> str:
    """What stands below a tank's name."""
    parts = (tank.treatment, tank.block, tank.where, "QUARANTINE" if tank.quarantine else "")
    return " ".join(p for p in parts if p)


def responses(sheet: Blank) -> list[tuple[str, str]]:
    """Each item of the round with its first response, in the order it is met."""
    items = {s.item.code: s.item for page in sheet.agenda.pages for s in page.slots}
    return [
        (f"{item.label}, {first.when}" if first.when else item.label, response(first.steps))
        for item in items.values()
        for first in every(item)
    ]


# ---- the sheet as lines


def draw(sheet: Blank, width: int) -> list[Line]:
    """The whole sheet, as many lines as it needs."""
    name, when = f" {title(sheet)}", f"{sheet.now.short()} "
    if text.width(name) + text.width(when) + 2 <= width:
        lines = [spread(width, [name], [when], "head")]
    else:
        lines = [spread(width, [each], [], "head") for each in (name, f" {when}")]
    lines += wrapped(width, sheet.site, "plain", 2)
    if sheet.emergency:
        lines += wrapped(width, f"EMERGENCY: {sheet.emergency}", "bold", 4)
    for words in (begun(sheet), *RULES):
        lines += wrapped(width, words, "plain", 4)
    label = 22 if width >= 60 else 18
    for number, grid in enumerate(grids(sheet.agenda, (width - label - 1) // CELL), 1):
        lines.append(blank(width))
        lines += wrapped(width, f"{number}  {grid.title}", "bold", 2)
        if grid.kind in ("site", "loop"):
            lines += _listed(sheet, grid, width)
        else:
            lines += _table(sheet, grid, width, label)
    lines.append(blank(width))
    for words in amended(sheet):
        lines += wrapped(width, words, "plain", 3)
    lines += wrapped(width, f"{SIGNING}.", "plain", 2)
    lines.append(line(width, " signed ____________________  at ____:____"))
    lines.append(blank(width))
    lines.append(line(width, Span(" FIRST RESPONSES", "bold")))
    for name, words in responses(sheet):
        first, *rest = wrapped(width, f"{name}: {words}", "plain", 6, indent="   ")
        lines += [first, *rest]
    lines.append(blank(width))
    lines += wrapped(width, f"Made from the record up to entry {sheet.last_entry}.", "dim", 2)
    return lines


def _listed(sheet: Blank, grid: Grid, width: int) -> list[Line]:
    """What is looked at once: an item a row, with its box at the right."""
    box = 16
    room = width - 1 - box
    sizes = (24, room - 40, 16) if width >= 72 else (room,)
    lines = []
    if width >= 72:
        lines.append(_row(width, ["", "band or words", "last", "value"], [*sizes, box]))
    for item in grid.items:
        slot = grid.slots[grid.places[0], item.code]
        label, said = named(item), "; ".join(wanted(item, band_words(slot)))
        seen = " ".join(part for part in last_words(sheet, slot) if part)
        if width < 72:
            label = "; ".join(part for part in (label, said, seen and f"last {seen}") if part)
        parts = [text.wrap(w, s - 1) for w, s in zip((label, said, seen), sizes, strict=False)]
        for i in range(max(map(len, parts))):
            cells = [part[i] if i < len(part) else "" for part in parts]
            at_end = _box(sheet, slot) if i == 0 else ""
            lines.append(_row(width, [*cells, at_end], [*sizes, box]))
    return [*lines, line(width, BY_WHOM)]


def _box(sheet: Blank, slot: Slot) -> str:
    kept = sheet.kept.get((slot.place, slot.item.code))
    return "[____________]" if kept is None else f"kept {value_words(slot.item, kept, bare=True)}"


def _row(width: int, cells: list[str], sizes: list[int]) -> Line:
    padded = (text.pad(text.fit(w, s - 1), s) for w, s in zip(cells, sizes, strict=True))
    return line(width, " ", *padded)


def _table(sheet: Blank, grid: Grid, width: int, label: int) -> list[Line]:
    """Places side by side, a box for each; last value in the upper line of the box."""
    tanks = {tank.code: tank for tank in grid.tanks}
    rule = line(width, "-" * label + "+" + ("-" * (CELL - 1) + "+") * len(grid.places))

    def row(words: str, cells: list[str]) -> Line:
        boxes = "".join(text.pad(cell, CELL - 1) + "|" for cell in cells)
        return line(width, text.pad(f" {words}", label) + "|" + boxes)

    lines = [row("last value above", list(grid.places))]
    if any(about(tank) for tank in grid.tanks):
        lines.append(row("", [about(tanks[p]) if p in tanks else "" for p in grid.places]))
    for item in grid.items:
        said = [item.label, unit_words(item), *wanted(item, *_bands(grid, item))]
        names = [w for part in said for w in text.wrap(part, label - 2)]
        above = [_above(sheet, grid.slot(place, item)) for place in grid.places]
        lines += [rule, row(names[0], above)]
        empty = [""] * len(grid.places)
        lines += [row(words, empty) for words in names[1:] or [""]]
    if grid.kind == "glance":
        return [*lines, rule, line(width, BY_WHOM)]
    for words in ("time", "initials"):
        lines += [rule, row(words, [""] * len(grid.places))]
    return [*lines, rule]


def _bands(grid: Grid, item: Item) -> list[str]:
    """The band today; where the places have several, each with its places."""
    found = grid.bands(item)
    if len(found) == 1:
        return list(found)
    return [f"{words or 'any'}: {' '.join(places)}" for words, places in found.items()]


def _above(sheet: Blank, slot: Slot | None) -> str:
    """The upper line of a box: the last value, what is kept already, or that nothing is asked."""
    if slot is None:
        return "not due"
    kept = sheet.kept.get((slot.place, slot.item.code))
    if kept is not None:
        return f"={value_words(slot.item, kept, bare=True)}"
    value, old = last_words(sheet, slot)
    both = f"{value} {old}".strip()
    return both if text.width(both) < CELL else value
