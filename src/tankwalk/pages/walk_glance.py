"""The glance lap as a map: every tank in walking order, and the one that is looked at now."""

from __future__ import annotations

from tankwalk import text
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line
from tankwalk.pages.walk_list import Canvas, newest_of
from tankwalk.practice.judging.verdict import Flag, left_out, value_words
from tankwalk.practice.round.view import LineView, StopView

ABREAST = 8
"""Tanks in a row of the map."""


def glance_map(stop: StopView, width: int, rows: int) -> list[Line]:
    """The tanks, a block a row, at most eight abreast, with blank rows between where there is room.

    Where rows are too few, those round the present tank show, and the last says how many do not.
    """
    names = max(
        (text.width(stop.lines[i].slot.place) for row in stop.map for i in row.lines), default=3
    )
    words = [word for word in stop.lines[0].slot.item.choices] if stop.lines else []
    cell = names + max((text.width(word) for word in words), default=2) + 5
    blocks = len({row.block for row in stop.map}) == len(stop.map) and all(
        row.block for row in stop.map
    )
    lead = 13 if blocks and width >= 74 else 3
    abreast = max(1, min(ABREAST, (width - lead) // cell))
    ranks: list[tuple[str, tuple[int, ...]]] = []
    if blocks:
        for row in stop.map:
            for start in range(0, len(row.lines), abreast):
                name = f"block {row.block}" if start == 0 else ""
                ranks.append((name, row.lines[start : start + abreast]))
    else:
        every = [i for row in stop.map for i in row.lines]
        ranks = [("", tuple(every[i : i + abreast])) for i in range(0, len(every), abreast)]
    made = [_rank(stop, name, lines, width, lead, cell, names) for name, lines in ranks]
    if 2 * len(made) - 1 <= rows:
        return [one for rank in made for one in (rank, blank(width))][:-1]
    if len(made) <= rows:
        return made
    here = next((i for i, (_, lines) in enumerate(ranks) if stop.at in lines), 0)
    room = max(1, rows - 1)
    start = max(0, min(here - room // 2, len(made) - room))
    left = [i for n, (_, lines) in enumerate(ranks) if not start <= n < start + room for i in lines]
    flagged = any(_flag(stop.lines[i]) >= Flag.WATCH for i in left)
    more = Span(f"   {len(left)} more tanks not in sight", "watch" if flagged else "dim")
    return [*made[start : start + room], line(width, more)]


def _rank(
    stop: StopView, name: str, lines: tuple[int, ...], width: int, lead: int, cell: int, names: int
) -> Line:
    row = Canvas(width)
    if lead > 3:
        row.put(3, Span(name, "dim"))
    for place, index in enumerate(lines):
        at = stop.lines[index]
        start = lead + place * cell
        name = text.pad(at.slot.place, names)
        if index == stop.at:
            row.put(start - 1, Span(f">{name.rstrip()}<", "entry"))
        seen, flag = newest_of(at.held), _flag(at)
        if seen is not None:
            words = value_words(at.slot.item, seen, bare=True)
            said = f"{flag.short} {words}" if flag else words
            tone = flag_tone(flag) if flag else "dim"
        else:
            said = left_out(at.held[-1].qualifier) if at.held else "--"
            tone = "dim"
        if index != stop.at:
            row.put(start, Span(f"{name} ", "dim" if at.held else "plain"))
        elif not at.held:
            continue
        row.put(row.at, Span(text.fit(said, cell - names - 2), tone))
    return row.line()


def _flag(at: LineView) -> Flag:
    seen = newest_of(at.held)
    return Flag.OK if seen is None else Flag(seen.flag)
