"""What stands beside the walk where the window is wide: the item over all tanks, and its past."""

from __future__ import annotations

from datetime import timedelta

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.pages.correction_words import in_a_word
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, line
from tankwalk.pages.looks import Picture, Shape, half_day
from tankwalk.pages.readings import fitting
from tankwalk.pages.strips import strip
from tankwalk.pages.walk_entry import TRAIL, shown, typed_word
from tankwalk.pages.walk_list import Canvas, newest_of, scale_at, typed_value
from tankwalk.pages.when import at_words
from tankwalk.plan.bands import limit_words
from tankwalk.plan.model import Item
from tankwalk.practice.judging.verdict import Flag, left_out, value_words
from tankwalk.practice.past.series import LookAt
from tankwalk.practice.round.view import ElsewhereView, EntryView, StopView, WalkView
from tankwalk.rows import NamedTuple

WIDE = 118
"""From this width on, the item stands beside the page."""

MAIN = 80
"""Cells that are left to the page itself."""

LOOKS = TRAIL + 2
"""Readings of the item a page shows in a row, and two of this round."""

LOOKS_WIDE = 60
"""Readings of the item where the window is wide: a fortnight in which one looked more often."""

LEAST_PAST = 4
"""Rows of the past that stay below the tanks."""

SHAPE = Shape(band=4, above=1, below=1)
"""Rows of the picture of the past."""

PICTURE_AT, PICTURE_CELLS = 8, 28
"""Where the picture of the past begins, and its cells: a fortnight of half days."""

PICTURED = SHAPE.rows + 4
"""Rows that are left at least where it is drawn."""


class Room(NamedTuple):
    """How many past readings of the item a page has room for, and how many places."""

    past: int
    elsewhere: int


def room_of(width: int, height: int) -> Room:
    """What a page of this size has room for."""
    if width < WIDE:
        return Room(LOOKS, 0)
    return Room(max(LOOKS_WIDE, height), max(0, height - 6 - LEAST_PAST))


class Beside:
    """The item over all tanks and its past here, to the right of a page of one view.

    Made once; what a digit changes is the row of this tank and the picture's cell of now.
    """

    def __init__(self, view: WalkView, height: int, width: int) -> None:
        self.width, self._tank_at, self._picture_at = width, -1, -1
        self._entry: EntryView | None = None
        self._picture: Picture | None = None
        here, lines = view.here, []
        if isinstance(here, StopView) and here.entry.past is not None and not here.map:
            self._entry = here.entry
            lines = self._made(here.entry, view.now, height)
        self.rows = filled(lines, width, height)

    def _made(self, entry: EntryView, now: Instant, height: int) -> list[Line]:
        width, slot = self.width, entry.line.slot
        lines = [blank(width)]
        if len(entry.elsewhere) > 1:
            lines.append(_head(slot.item, width))
            for one in entry.elsewhere:
                if one.slot.place == slot.place:
                    self._tank_at = len(lines)
                lines.append(_tank(one, entry, "", width))
            lines.append(blank(width))
        scale = scale_at(slot)
        if scale is not None and not slot.item.kind.of_animals and height - len(lines) >= PICTURED:
            self._picture = Picture(entry.past or (), scale, now, PICTURE_CELLS, SHAPE)
            lines.append(line(width, Span(f"  {slot.place}", "bold"),
                              Span(f", {PICTURE_CELLS // 2} days", "dim")))  # fmt: skip
            self._picture_at = len(lines)
            lines += self._drawn(None)
            lines += [_days(now, width), blank(width)]
        room = height - len(lines) - 1
        if room > 0:
            lines.append(line(width, Span(f"  {slot.place}", "bold"),
                              Span(", newest last", "dim")))  # fmt: skip
            lines += [_look(one, entry, now, width) for one in (entry.past or ())[-room:]]
        return lines

    def _drawn(self, value: float | None) -> list[Line]:
        """The rows of the picture, the limits of today's band at the rows whose top they are."""
        picture, entry = self._picture, self._entry
        assert picture is not None
        assert entry is not None
        item, scale = entry.line.slot.item, picture.scale
        low = None if scale.open_low else limit_words(scale.low, item)
        high = None if scale.open_high else limit_words(scale.high, item)
        named = {SHAPE.above: high, SHAPE.above + SHAPE.band: low}
        lines = []
        for nth, spans in enumerate(picture.rows(value)):
            row = Canvas(self.width)
            words = named.get(nth)
            if words:
                row.right(PICTURE_AT - 1, Span(words, "dim"))
            row.put(PICTURE_AT, *spans)
            lines.append(row.line())
        return lines

    def changed(self, typed: str) -> dict[int, Line]:
        """The rows that what is typed changes: this tank's, and those with the cell of now."""
        entry = self._entry
        if entry is None:
            return {}
        rows: dict[int, Line] = {}
        if self._tank_at >= 0:
            here = next(o for o in entry.elsewhere if o.slot.place == entry.line.slot.place)
            rows[self._tank_at] = _tank(here, entry, typed, self.width)
        value = typed_value(entry.line.slot.item, typed)
        if self._picture is not None and value is not None:
            rows |= enumerate(self._drawn(value), self._picture_at)
        return {at: row for at, row in rows.items() if at < len(self.rows)}


def _head(item: Item, width: int) -> Line:
    head = Canvas(width)
    unit = f", {item.unit}" if item.unit else ""
    head.put(2, Span(text.fit(item.label + unit, 22), "bold"))
    head.right(30, Span("last", "dim"))
    head.right(36, Span("now", "dim"))
    return head.line()


def _tank(one: ElsewhereView, entry: EntryView, typed: str, width: int) -> Line:
    """One tank: where it lies in its own band, what it was last, what it is now.

    What is `typed` stands in the row of the tank one stands at.
    """
    row, item = Canvas(width), one.slot.item
    present = one.slot.place == entry.line.slot.place
    newest = newest_of(one.held)
    level = Flag.OK if newest is None else Flag(newest.flag)
    row.put(2, Span(f"{'>' if present else ' '} ", "now"))
    row.put(4, Span(text.fit(one.slot.place, 6), "now" if present else "plain"))
    if item.kind.by_words:
        _words(row, one, typed if present else "", level)
        return row.line()
    shown = newest if newest is not None else one.before
    value = None if shown is None else shown.value
    tone = flag_tone(level) if level else "dim"
    if typed:
        value, tone = typed_value(item, typed), "entry"
    row.put(11, *strip(scale_at(one.slot), value, tone))
    if one.before is not None:
        row.number(27, value_words(item, one.before, bare=True), "dim")
    if typed:
        row.number(33, "" if value is None else item.shown(value, bare=True), "entry")
    elif newest is not None:
        row.number(33, value_words(item, newest, bare=True), "bold")
        row.right(width - 1, Span(level.short, flag_tone(level)))
    return row.line()


def _words(row: Canvas, one: ElsewhereView, typed: str, level: Flag) -> None:
    """A tank's word of before, and the one of now or the one whose number is typed."""
    item = one.slot.item
    if one.before is not None:
        row.put(11, Span(text.fit(value_words(item, one.before, bare=True), 11), "dim"))
    newest = newest_of(one.held)
    if typed:
        place = typed_word(item, typed)
        row.put(23, Span(typed if place is None else text.fit(item.choices[place], 11), "entry"))
    elif newest is not None:
        row.put(23, Span(text.fit(value_words(item, newest, bare=True), 11), "bold"))
        row.put(35, Span(level.short, flag_tone(level)))


def _days(now: Instant, width: int) -> Line:
    """Every other day of the picture by its number, under its first half."""
    row = Canvas(width)
    many = PICTURE_CELLS // 2
    after_noon = half_day(now) % 2
    for back in range(many - 1, -1, -2):
        cell = PICTURE_CELLS - 1 - after_noon - 2 * back
        if cell >= 0:
            day = now.day - timedelta(days=back)
            row.put(PICTURE_AT + cell, Span(str(day.day), "dim"))
    return row.line()


def _look(look: LookAt, entry: EntryView, now: Instant, width: int) -> Line:
    """One look: when, where in the band of today, its value, and what is to be known of it."""
    slot = entry.line.slot
    row = Canvas(width)
    row.put(2, Span(at_words(look.at, now), "dim"))
    if look.value is None:
        row.put(13, Span(left_out(look.why or None), "dim"))
        return row.line()
    if slot.item.kind.by_words:
        row.put(13, Span(text.fit(shown(slot.item, look), 18), "plain"))
    else:
        tone = flag_tone(look.flag) if look.flag else "dim"
        row.put(11, *strip(scale_at(slot), look.value, tone))
        row.number(27, shown(slot.item, look), "plain")
    if look.not_confirmed is not None:
        first = slot.item.shown(look.not_confirmed, bare=True)
        row.put(33, Span("x", "check"), Span(f" {first}", "dim"))
    elif not look.flag and look.suspect:
        row.put(33, Span("?", "check"))
    else:
        row.put(33, Span(look.flag.short, flag_tone(look.flag)))
    how = in_a_word(look)
    row.right(width - 1, Span(fitting(width - 2 - row.at, how, how[:1], ""), "dim"))
    return row.line()
