"""What stands beside the walk where the window is wide: the item's newest readings in its band."""

from __future__ import annotations

from tankwalk import quantity, text
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, line
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.view import StopView, WalkView

WIDE = 100
"""From this width on, the item's history stands beside the page."""

SIDE = 38
"""Cells it takes there."""


def looks_beside(width: int, height: int) -> int:
    """How many past readings a page of this size has room for; 0 where it shows none."""
    return max(4, height - 6) if width >= WIDE else 0


def beside(view: WalkView, left: list[Line]) -> list[Line]:
    """Lines of a page with the item's history to their right."""
    right = _history(view, SIDE, len(left))
    return [(*a, *b) for a, b in zip(left, right, strict=True)]


def _history(view: WalkView, width: int, height: int) -> list[Line]:
    """The item's newest readings, each with its place between the band's limits."""
    here = view.here
    if not isinstance(here, StopView) or here.entry.past is None:
        return [blank(width)] * height
    slot, seen = here.entry.line.slot, here.entry.past
    title = f"  {slot.place} {slot.item.label}, newest last"
    lines = [line(width, Span(title, "dim")), blank(width)]
    values = [s.value for s in seen if s.value is not None]
    limits = slot.band.limits if slot.band else None
    ends = [v for v in (limits.watch_below, limits.watch_above) if v is not None] if limits else []
    low, high = min(values + ends, default=0.0), max(values + ends, default=1.0)
    track = width - 24
    for one in seen:
        strip = _strip(one.value or 0.0, low, high, ends, track)
        shown = quantity.show(one.value, "", slot.item.decimals)
        lines.append(
            line(
                width,
                Span(f"  {one.at.wall.strftime('%d %b %H:%M')} "),
                Span(text.pad(shown, 7, ">"), flag_tone(Flag(one.flag)) if one.flag else "plain"),
                Span(" "),
                Span(strip, "dim"),
            )
        )
    return filled(lines, width, height)


def _strip(value: float, low: float, high: float, ends: list[float], cells: int) -> str:
    """A line with "|" at the band's limits and "o" at the value."""
    span = (high - low) or 1.0
    marks = [" "] * cells
    for end in ends:
        marks[round((end - low) / span * (cells - 1))] = "|"
    marks[round((value - low) / span * (cells - 1))] = "o"
    return "".join(marks)
