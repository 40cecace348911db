"""Every tank on the board as it stands in the room: a block a row, its past, its last check."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import Instant, ago_short
from tankwalk.pages import glyphs
from tankwalk.pages.lines import Line, Span, flag_tone, line, spread
from tankwalk.plan.bands import describe
from tankwalk.practice.board import Board
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.tiles import PAST, Gauge, Tile
from tankwalk.rows import NamedTuple

PLOTTED = 24
"""With more tanks than these the past is not drawn."""

NAMED = 48
"""With more tanks than these only those are named that are marked or late."""

MARK = 4
"""Cells of a mark, right-aligned: its length is how serious it is."""


class Form(NamedTuple):
    """What of a tank is drawn, and in how many cells: its code, its treatment, its newest value
    (0 for none), its past, and since when nobody looked."""

    code: int
    arm: int
    value: int
    past: bool
    age: bool

    @property
    def cells(self) -> int:
        some = (self.arm + 2) * bool(self.arm) + (self.value + 1) * bool(self.value)
        return MARK + 1 + self.code + some + (PAST + 1) * self.past + 4 * self.age


def draw(board: Board, width: int) -> tuple[Line, list[list[Line]]]:
    """The heading, and a row of tiles an item."""
    tiles = board.tiles
    plotted = board.gauge is not None and len(tiles) <= PLOTTED
    few = [one for one in tiles if one.flag or one.late] if len(tiles) > NAMED else list(tiles)
    rows = rows_of(few)
    form = _form(few, rows, width, plotted=plotted)
    label = label_cells(rows)
    fit = max(1, (width - 1 - label) // form.cells)
    abreast = min(fit, max((len(here) for _, here in rows), default=1))
    gap = min(6, max(0, (width - 1 - label) // abreast - form.cells))
    lines: list[list[Line]] = []
    for block, here in rows:
        for start in range(0, len(here), fit):
            name = block if start == 0 else ""
            spans = [Span(f" {text.pad(name, label - 1)}", "dim")]
            for tile in here[start : start + fit]:
                spans += [*_tile(tile, board.now, form), Span(" " * gap)]
            lines.append([line(width, *spans)])
    if len(few) < len(tiles):
        rest = len(tiles) - len(few)
        lines.append(
            [line(width, Span(f"   {rest} more tanks: no flag, checked as planned", "ok"))]
        )
    wide = min(width, label + abreast * (form.cells + gap) - gap + 1)
    return _heading(board.gauge, len(tiles), form, wide, width), lines


def _heading(gauge: Gauge | None, many: int, form: Form, wide: int, width: int) -> Line:
    right = Span("last check " if form.age else "", "dim")
    ways = [f" TANKS  {many}"]
    if gauge is not None:
        of = f"{gauge.item.label.lower()} {gauge.item.unit}".strip()
        band = "" if gauge.band is None else f" {describe(gauge.band, gauge.item)}"
        past = f", last {PAST} readings in the band{band}" if form.past else f", band{band}"
        past = past if form.past or band else ""
        ways = [f" TANKS  {of}{past}", f" TANKS  {of}", *ways]
    wide = max(wide, 44) if width >= 44 else width
    room = wide - text.width(right.text) - 2
    words = next((way for way in ways if text.width(way) <= room), ways[-1])
    head = spread(wide, [Span(words[:6], "bold"), Span(words[6:], "dim")], [right], "plain")
    return line(width, *head)


def rows_of(tiles: Sequence[Tile]) -> list[tuple[str, list[Tile]]]:
    """Tanks of a block together, in walking order; without blocks all in one."""
    blocks = dict.fromkeys(one.tank.block or "" for one in tiles)
    of = {block: [one for one in tiles if (one.tank.block or "") == block] for block in blocks}
    if len(blocks) <= 1 or any(len(here) < 2 for here in of.values()):
        return [("", list(tiles))] if tiles else []
    return list(of.items())


def label_cells(rows: Sequence[tuple[str, list[Tile]]]) -> int:
    longest = max((text.width(block) for block, _ in rows), default=0)
    return 1 + min(8, longest)


def _form(
    tiles: Sequence[Tile], rows: Sequence[tuple[str, list[Tile]]], width: int, *, plotted: bool
) -> Form:
    """As much of a tank as lets its block stand in one row, or else what needs fewest rows."""
    code = min(6, max((text.width(one.tank.code) for one in tiles), default=3))
    value = max((text.width(one.value) for one in tiles), default=0)
    arm = min(5, max((text.width(one.tank.treatment or "") for one in tiles), default=0))
    longest = max((len(here) for _, here in rows), default=1)
    most = Form(code, arm, value, past=plotted, age=True)
    forms = [
        most,
        most._replace(arm=0),
        most._replace(arm=0, past=False),
        most._replace(arm=0, past=False, age=False),
    ]
    room = width - 1 - label_cells(rows)
    if len(rows) > 1:
        return next((form for form in forms if longest * form.cells <= room), forms[-1])
    return next((f for f in forms if room // f.cells * 6 >= len(tiles)), forms[-1])


def _tile(tile: Tile, now: Instant, form: Form) -> list[Span]:
    tank, tone = tile.tank, flag_tone(tile.flag)
    if tone == "ok":
        tone = "plain"
    spans = [
        Span(text.pad(tile.flag.short, MARK, ">"), tone if tile.flag < Flag.ACT else "bold"),
        Span(" "),
        Span(text.pad(tank.code, form.code), "bold"),
    ]
    if form.arm:
        spans.append(Span("  " + text.pad(tank.treatment or "", form.arm), "dim"))
    if form.value:
        spans.append(Span(" " + text.pad(tile.value or "--", form.value, ">")))
    if form.past:
        spans += [Span(" "), Span(glyphs.strip(tile.past, PAST), "past")]
    if form.age:
        looked = "--" if tile.looked is None else ago_short(now.hours_since(tile.looked))
        spans.append(Span(text.pad(looked, 4, ">"), "watch" if tile.late else "dim"))
    return spans
