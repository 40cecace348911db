"""What stands beside the walk where the window is wide: the item over all tanks, and its past."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, line
from tankwalk.pages.strips import strip
from tankwalk.pages.walk_list import Canvas, newest_of, scale_at
from tankwalk.pages.when import at_words
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.round.view import ElsewhereView, EntryView, StopView, WalkView
from tankwalk.rows import NamedTuple

WIDE = 118
"""From this width on, the item stands beside the page."""

MAIN = 80
"""Cells that are left to the page itself."""

LOOKS = 4
"""Readings of the item a page shows beside its scale, at least: two looks of two readings each."""

LEAST_PAST = 4
"""Rows of the past that stay below the tanks."""


class Room(NamedTuple):
    """How many past readings of the item a page has room for, and how many places."""

    past: int
    elsewhere: int


def room_of(width: int, height: int) -> Room:
    """What a page of this size has room for."""
    if width < WIDE:
        return Room(LOOKS, 0)
    return Room(max(LOOKS, height - 6), max(0, height - 6 - LEAST_PAST))


def beside(view: WalkView, height: int, width: int) -> list[Line]:
    """The item over all tanks and its history, to the right of a page."""
    here = view.here
    if not isinstance(here, StopView) or here.entry.past is None:
        return [blank(width)] * height
    entry = here.entry
    item = entry.line.slot.item
    unit = f", {item.unit}" if item.unit else ""
    lines = [blank(width)]
    if len(entry.elsewhere) > 1:
        head = Canvas(width)
        head.put(2, Span(text.fit(item.label + unit, 22), "bold"))
        head.right(30, Span("last", "dim"))
        head.right(36, Span("now", "dim"))
        lines.append(head.line())
        lines += [_tank(one, entry, width) for one in entry.elsewhere]
        lines.append(blank(width))
    room = height - len(lines) - 1
    if room > 0:
        lines.append(line(width, Span(f"  {entry.line.slot.place}", "bold"),
                          Span(", newest last", "dim")))  # fmt: skip
        lines += _history(entry, view.now, width)[-room:]
    return filled(lines, width, height)


def _tank(one: ElsewhereView, entry: EntryView, width: int) -> Line:
    """One tank: where it lies in its own band, what it was last, what it is now."""
    row = Canvas(width)
    present = one.slot.place == entry.line.slot.place
    newest = newest_of(one.held)
    level = Flag.OK if newest is None else Flag(newest.flag)
    row.put(2, Span(f"{'>' if present else ' '} ", "now"))
    row.put(4, Span(text.fit(one.slot.place, 6), "now" if present else "plain"))
    shown = newest if newest is not None else one.before
    value = None if shown is None else shown.value
    tone = flag_tone(level) if level else "dim"
    row.put(11, *strip(scale_at(one.slot), value, tone))
    item = one.slot.item
    if one.before is not None:
        row.number(27, value_words(item, one.before, bare=True), "dim")
    if newest is not None:
        row.number(33, value_words(item, newest, bare=True), "bold")
        row.put(37, Span(level.short, flag_tone(level)))
    return row.line()


def _history(entry: EntryView, now: Instant, width: int) -> list[Line]:
    """The item's newest readings here, each with its place in the band of today."""
    return [_look(seen, entry, now, width) for seen in entry.past or ()]


def _look(seen: Seen, entry: EntryView, now: Instant, width: int) -> Line:
    slot = entry.line.slot
    row = Canvas(width)
    flag = Flag(seen.flag)
    row.put(2, Span(at_words(seen.at, now), "dim"))
    row.put(11, *strip(scale_at(slot), seen.value, flag_tone(flag) if flag else "dim"))
    row.number(27, value_words(slot.item, seen, bare=True), "plain")
    if not flag and seen.n in entry.suspect:
        row.put(33, Span("?", "check"))
    row.put(33, Span(flag.short, flag_tone(flag)))
    return row.line()
