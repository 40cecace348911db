"""The board in a wide window: every tank with its past, and what comes next beside what is open.

All tanks stand on common scales, so that they are one picture: in two rows of half blocks the item
that matters most, in the row below (or above) what left the band, and below that its dead by day.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import timedelta

from tankwalk import text
from tankwalk.clock import Instant, ago
from tankwalk.pages.board_tanks import MARK, PLOTTED, label_cells, rows_of
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, line, spread
from tankwalk.pages.looks import NOT_TAKEN, SUSPECT, UNCONFIRMED, Picture, Shape
from tankwalk.pages.strips import NOW, scale_of
from tankwalk.plan.bands import describe
from tankwalk.practice.board import Board
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.tile_plots import TilePlot
from tankwalk.practice.tiles import Tile

WIDE, HIGH = 118, 34
"""A window that is narrower or lower shows its tanks in a row each."""

DAYS = (28, 14)
"""Days that are drawn, two cells each: the first of these that has room."""

BEFORE = MARK + 1
"""Cells before a plot: the mark of the tank."""

ROOM = 4
"""Cells at least for the last count of the dead, behind its bars, and between two tanks."""

AGE = 7
"""Cells of how long ago a tank was looked at, at most; whole hours where it takes more."""

BETWEEN = 2
"""Cells between what comes next and what is open."""

LEAST_BELOW = 4
"""Rows at least for what comes next and what is open, else nothing is drawn wide."""

TOPS = (10, 20, 30, 40, 60, 80)
"""Ends of the scale of the dead, and ten times these."""

_HEIGHTS = "\u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588"


def days_of(board: Board, width: int, height: int) -> int:
    """So many days of past the page has room for; 0 where it draws none."""
    few = 0 < len(board.tiles) <= PLOTTED
    if width < WIDE or height < HIGH or not few or board.gauge is None:
        return 0
    rows = rows_of(board.tiles)
    room = width - 1 - label_cells(rows)
    abreast = min(len(rows[0][1]), max(1, room // _cells(DAYS[-1])))
    return next((days for days in DAYS if room // _cells(days) >= abreast), 0)


def _cells(days: int) -> int:
    return BEFORE + 2 * days + ROOM


Column = Callable[[int], list[Line]]
"""The rows of a column where there is room for so many."""


def arranged(
    board: Board,
    width: int,
    height: int,
    over: Sequence[Line],
    below: tuple[Column, Column],
    last: Sequence[Line],
) -> list[Line] | None:
    """The page: what stands `over` the tanks, the tanks, two columns `below`, the `last` rows.

    None where there is no room for it.
    """
    days = days_of(board, width, height)
    if not days or not board.plots:
        return None
    for air, least in ((True, LEAST_BELOW), (False, LEAST_BELOW - 1)):
        tanks = drawn(board, width, days, air=air)
        room = height - len(over) - len(tanks) - 2 - len(last)
        if room >= least:
            columns = zip(below, half(width), strict=True)
            left, right = (filled(rows(room), cells, room) for rows, cells in columns)
            gap = Span(" " * BETWEEN)
            both = [(*one, gap, *other) for one, other in zip(left, right, strict=True)]
            return [*over, blank(width), *tanks, blank(width), *both, *last]
    return None


def half(width: int) -> tuple[int, int]:
    """Cells of the two columns at the bottom."""
    left = (width - BETWEEN) // 2
    return left, width - BETWEEN - left


# ---- the tanks


def drawn(board: Board, width: int, days: int, *, air: bool) -> list[Line]:
    """The heading and all tanks, a block a row; `air` is a blank row between blocks."""
    plots = dict(zip((one.tank.code for one in board.tiles), board.plots or (), strict=True))
    every = tuple(plots.values())
    shape = _shape(every)
    top = _top(max((day.fish or 0 for one in every for day in one.dead), default=0))
    rows, lines = rows_of(board.tiles), [_heading(board, every, top, days, width)]
    label = label_cells(rows)
    each = max((len(here) for _, here in rows), default=1)
    fit = max(1, min(each, (width - 1 - label) // _cells(days)))
    cells = (width - 1 - label) // fit
    first = True
    for block, here in rows:
        for start in range(0, len(here), fit):
            if air and not first:
                lines.append(blank(width))
            first = False
            name = block if start == 0 else ""
            made = [
                _tile(tile, plots[tile.tank.code], board.now, days, cells, shape, top)
                for tile in here[start : start + fit]
            ]
            for nth in range(len(made[0])):
                left = Span(f" {text.pad(name if nth == 0 else '', label - 1)}", "dim")
                lines.append(line(width, left, *(span for one in made for span in one[nth])))
    return lines


def _shape(plots: Sequence[TilePlot]) -> Shape:
    """Two rows of the band and one for what left it: below, or above where all of it lies there."""
    above = below = False
    for one in plots:
        scale = None if one.band is None else scale_of(one.item, one.band.limits)
        for look in one.looks:
            value = look.not_confirmed if look.not_confirmed is not None else look.value
            out = look.flag >= Flag.WATCH or look.not_confirmed is not None
            if scale is not None and value is not None and out:
                above |= scale.side(value) > 0
                below |= scale.side(value) < 0
    return Shape(2, 1, 0) if above and not below else Shape(2, 0, 1)


def _top(most: int) -> int:
    """The end of the scale of the dead: the first round number that is not below the most."""
    tens = 1
    while True:
        for one in TOPS:
            if one * tens >= most:
                return one * tens
        tens *= 10


def _heading(board: Board, plots: Sequence[TilePlot], top: int, days: int, width: int) -> Line:
    gauge = board.gauge
    assert gauge is not None
    of = f"{gauge.item.label.lower()} {gauge.item.unit}".strip()
    band = "" if gauge.band is None else f", \u00b7 band {describe(gauge.band, gauge.item)}"
    looks = [look for one in plots for look in one.looks]
    signs = [
        (NOW, "watch", "out", any(one.flag >= Flag.WATCH for one in looks)),
        (SUSPECT, "dim", "meter suspect", any(one.suspect for one in looks)),
        (
            UNCONFIRMED,
            "check",
            "not confirmed",
            any(one.not_confirmed is not None for one in looks),
        ),
        (NOT_TAKEN, "plain", "not taken", any(one.value is None for one in looks)),
    ]
    ends = [f"morts a day, 0 - {top}   last check ", f"morts a day, 0 - {top} ", ""]
    if not any(one.dead for one in plots):
        ends = ["last check ", ""]
    named = [Span(" TANKS", "bold"), Span(f"  {of}, {days} d{band}", "dim")]
    # Of what is told the last ends go first, then what a sign by itself tells: that it is out.
    for first, right in ((0, ends[0]), (1, ends[0]), (0, ends[1]), (1, ends[1]), (1, "")):
        told = [one for one in signs[first:] if one[3]]
        spans = [
            *named,
            *(
                span
                for sign, tone, means, _ in told
                for span in (Span(f"   {sign}", tone), Span(f" {means}", "dim"))
            ),
        ]
        if sum(text.width(one.text) for one in spans) + text.width(right) + 2 <= width:
            break
    return spread(width, spans, [Span(right, "dim")], "plain")


def _tile(
    tile: Tile, plot: TilePlot, now: Instant, days: int, cells: int, shape: Shape, top: int
) -> list[list[Span]]:
    """The rows of one tank, each exactly so many cells wide."""
    rows = [_head(tile, plot, now, 2 * days, cells)]
    scale = None if plot.band is None else scale_of(plot.item, plot.band.limits)
    if scale is None:
        rows += [[Span(" " * cells)] for _ in range(shape.rows)]
    else:
        picture = Picture(plot.looks, scale, now, 2 * days, shape, whole_days=True)
        rest = Span(" " * (cells - BEFORE - 2 * days))
        rows += [[Span(" " * BEFORE), *row, rest] for row in picture.rows()]
    rows.append(_dead(plot, now, days, cells, top))
    return rows


def _head(tile: Tile, plot: TilePlot, now: Instant, plotted: int, cells: int) -> list[Span]:
    """Mark, code and treatment; what is drawn, named where it is flagged; the last check."""
    end = BEFORE + plotted + ROOM - 1
    code = text.fit(tile.tank.code, 6)
    arm = f"  {text.fit(tile.tank.treatment, 5)}" if tile.tank.treatment else ""
    age = "--" if tile.looked is None else ago(now.hours_since(tile.looked))
    age = age if text.width(age) <= AGE else f"{age.partition(' h')[0]} h"
    value, label = plot.value or "--", plot.item.label
    words = f"{label} {value} {plot.item.unit}".strip() if plot.flag else value
    room = end - BEFORE - text.width(code) - 4 - text.width(age)
    if text.width(arm) + text.width(words) > room:  # which item it is weighs more than the arm
        arm = ""
    if text.width(words) > room:
        words = f"{text.fit(label, room - text.width(value) - 1)} {value}"
    tone = flag_tone(tile.flag) if Flag.OK < tile.flag < Flag.ACT else "bold"
    # A block of the tone of ACT is for its mark alone: the words beside it are strong.
    strong = "watch" if plot.flag == Flag.WATCH else "bold" if plot.flag else "plain"
    spans = [
        Span(text.pad(tile.flag.short, MARK, ">"), tone),
        Span(f" {code}", "bold"),
        Span(arm, "dim"),
        Span(f"  {words}", strong),
    ]
    used = sum(text.width(one.text) for one in spans)
    spans.append(Span(text.pad(age, end - used, ">"), "watch" if tile.late else "dim"))
    return [*spans, Span(" " * (cells - end))]


def _dead(plot: TilePlot, now: Instant, days: int, cells: int, top: int) -> list[Span]:
    """A bar a day on the scale of all tanks, and the last day's count behind it."""
    found = {day.day: day.fish for day in plot.dead if day.fish is not None}
    bars = ""
    for back in range(days - 1, -1, -1):
        fish = found.get(now.day - timedelta(days=back))
        if fish is None:
            bars += "  "
        else:
            level = 0 if fish == 0 else max(1, round(len(_HEIGHTS) * fish / top))
            bars += (_HEIGHTS[min(level, len(_HEIGHTS)) - 1] if level else "0") + " "
    last = found[max(found)] if found else None
    said = "" if last is None else f" {last:,}"
    return [
        Span(" " * BEFORE),
        Span(bars, "past"),
        Span(text.pad(said, cells - BEFORE - 2 * days), "plain"),
    ]
