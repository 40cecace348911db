"""The list of a stop: what is asked, what it is now, where that lies in its band, and before."""

from __future__ import annotations

from collections import Counter

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.pages.lines import Line, Span, flag_tone, line
from tankwalk.pages.readings import band_words, fitting
from tankwalk.pages.strips import Scale, scale_of, strip
from tankwalk.pages.when import age_words
from tankwalk.plan.model import Item
from tankwalk.practice.judging.verdict import Flag, left_out, value_words
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.view import LineView, StopView
from tankwalk.rows import NamedTuple


class Columns(NamedTuple):
    """Where the columns of the list begin, or a number's whole part ends; -1 for one left out."""

    label: int
    label_cells: int
    now: int
    """Cell of the last whole digit of the value: decimal marks stand in a column."""
    unit: int
    strip: int
    mark: int
    last: int
    age: int
    band: int
    """Cell after the band, which ends there."""


def columns(width: int) -> Columns:
    """The columns of a page this wide; the strips go first, then the ages."""
    if width >= 74:
        return Columns(3, 16, 22, 27, 36, 50, 57, 62, width - 1)
    return Columns(3, 16, 22, 27, -1, 37, 43, -1, width - 1)


class Canvas:
    """One row, filled from left to right; what is put beside its place begins after the last."""

    def __init__(self, width: int) -> None:
        self.width = width
        self.spans: list[Span] = []
        self.at = 0

    def put(self, cell: int, *spans: Span) -> None:
        """Spans from a cell on."""
        if cell > self.at:
            self.spans.append(Span(" " * (cell - self.at)))
            self.at = cell
        for span in spans:
            if span.text:
                self.spans.append(span)
                self.at += text.width(span.text)

    def right(self, cell: int, span: Span) -> None:
        """A span that ends before a cell."""
        self.put(cell - text.width(span.text), span)

    def number(self, cell: int, words: str, tone: str) -> None:
        """A number whose last whole digit stands in a cell; words begin two cells before it."""
        whole = words.partition(".")[0]
        digits = whole.lstrip("<- ").isdecimal()
        self.put(cell + 1 - len(whole) if digits else cell - 1, Span(words, tone))

    def line(self) -> Line:
        """The row, cut or filled to its width."""
        if self.at > self.width:
            return line(self.width, *self.spans)
        rest = self.width - self.at
        return (*self.spans, Span(" " * rest)) if rest else tuple(self.spans)


def titles(stop: StopView, now: Instant, width: int) -> Line:
    """What the columns are; the age of what was last seen stands here where most have it."""
    at = columns(width)
    row = Canvas(width)
    row.put(at.now, Span("now", "dim"))
    if at.strip >= 0:
        row.put(at.strip + 1, Span("in its band", "dim"))
    age = usual_age(stop, now)
    if at.age >= 0:
        row.put(at.mark + 1, Span(f"last {age} ago" if age else "last", "dim"))
    else:
        row.put(at.last - 3, Span("last", "dim"))
    row.right(at.band, Span("band today", "dim"))
    return row.line()


def usual_age(stop: StopView, now: Instant) -> str:
    """How long ago most of what is listed was last seen; "" where nothing was."""
    ages = Counter(age_words(now.hours_since(one.before.at)) for one in stop.lines if one.before)
    return ages.most_common(1)[0][0] if ages else ""


PRESENT = " >"
"""How the row of the present item begins; no other does."""


def present_item(stop: StopView, typed: str, now: Instant, width: int) -> Line:
    """The row of the item one stands at, with what is typed."""
    age = usual_age(stop, now)
    stands = _stands(stop, stop.at)
    return _item(stop.lines[stop.at], typed, width, now, age, stands, present=True)


def _stands(stop: StopView, index: int) -> Flag:
    """The flag of a line that stands, whatever was read since: two looks in band end it."""
    slot = stop.lines[index].slot
    here = (one for one in stop.open.flags if one.item.code == slot.item.code)
    return max(
        (one.flag for one in here if slot.place in (one.place, *one.places)), default=Flag.OK
    )


Drawn = dict[int, tuple[object, Line]]
"""Rows of a list as they were drawn last, by their place in it, with what each was drawn from."""


def items(stop: StopView, now: Instant, width: int, rows: int, drawn: Drawn) -> list[Line]:
    """The stop's items; where they are more than the rows, the last row says how many are not seen.

    The present one is always among those that show. A row that was `drawn` from the same stays: an
    Enter changes two or three.
    """
    age = usual_age(stop, now)
    count = len(stop.lines)
    shown = range(count)
    if count > rows:
        room = max(1, rows - 1)
        start = max(0, min(stop.at - room // 2, count - room))
        shown = range(start, start + room)
    made = []
    for i in shown:
        stands, present = _stands(stop, i), i == stop.at
        of = stop.lines[i], width, now.utc // 60, age, stands, present
        known = drawn.get(i)
        if known is None or known[0] != of:
            row = _item(stop.lines[i], "", width, now, age, stands, present=present)
            known = drawn[i] = of, row
        made.append(known[1])
    if count > rows > 1:
        made.append(_hidden(stop, shown, width))
    return made


def _hidden(stop: StopView, shown: range, width: int) -> Line:
    """How many items are above and below those that show; toned where one of them has a flag."""
    above, below = shown.start, len(stop.lines) - shown.stop
    parts = [
        f"{above} more above   up" if above else "",
        f"{below} more below   down" if below else "",
    ]
    away = [one for i, one in enumerate(stop.lines) if i not in shown]
    flagged = any(seen.flag >= Flag.WATCH for one in away for seen in one.held[-1:])
    flagged |= any(_stands(stop, i) for i in range(len(stop.lines)) if i not in shown)
    words = "      ".join(p for p in parts if p)
    return line(width, Span(f"   {words}", "watch" if flagged else "dim"))


def newest_of(held: tuple[Seen, ...]) -> Seen | None:
    """The newest of some readings that has a value."""
    return next((s for s in reversed(held) if s.value is not None), None)


def typed_value(item: Item, typed: str) -> float | None:
    """What is typed as a value of the item, as far as it is one yet."""
    if not typed or item.kind.by_words:
        return None
    try:
        return item.read(typed).value
    except Refusal:
        return None


def scale_at(slot: Slot) -> Scale | None:
    """How the slot's band is drawn; None where it has none."""
    return None if slot.band is None else scale_of(slot.item, slot.band.limits)


def _item(
    at: LineView, typed: str, width: int, now: Instant, age: str, stands: Flag, *, present: bool
) -> Line:
    slot, where = at.slot, columns(width)
    item = slot.item
    newest = newest_of(at.held)
    level = Flag.OK if newest is None else Flag(newest.flag)
    tone = "now" if present else "plain" if newest is not None or at.held else "dim"
    row = Canvas(width)
    row.put(0, Span(PRESENT if present else "  ", "now"))
    row.put(where.label, Span(text.fit(item.label, where.label_cells), tone))
    _now(row, where, at, typed, newest, present=present)
    if where.strip >= 0 and not item.kind.by_words:
        value = typed_value(item, typed) if typed else None if newest is None else newest.value
        row.put(
            where.strip, *strip(scale_at(slot), value, flag_tone(level) if not typed else "entry")
        )
    mark = max(level, stands)
    row.put(where.mark, Span(mark.short, flag_tone(mark) if mark else "plain"))
    _last(row, where, at, now, age)
    if where.strip >= 0 or not item.kind.by_words:  # on a narrow page its words stand below
        band = text.fit(band_words(slot), max(4, where.band - row.at - 1))
        row.right(where.band, Span(band, "dim"))
    return row.line()


def _now(
    row: Canvas, where: Columns, at: LineView, typed: str, newest: Seen | None, *, present: bool
) -> None:
    """The value, being typed or kept, and its unit; else why there is none."""
    item = at.slot.item
    end = where.strip if where.strip >= 0 and not item.kind.by_words else where.mark
    if typed:
        room = end - 1 - row.at
        cut = typed if len(typed) < room else typed[-room + 1 :]
        row.number(where.now, f"{cut}_", "entry")
        return
    if not at.held:
        row.put(where.now - 1, Span("--", "dim"))
        return
    last = at.held[-1]
    if newest is None or (last.value is None and not last.recheck):
        row.put(where.now - 1, Span(text.fit(left_out(last.qualifier), end - where.now), "plain"))
        return
    words = value_words(item, newest, bare=True)
    tone = flag_tone(Flag(newest.flag)) if newest.flag == Flag.WATCH else "bold"
    if item.kind.by_words:
        row.put(where.now - 1, Span(text.fit(words, end - where.now), tone))
        return
    row.number(where.now, words, tone)
    unit, _, as_what = item.unit.partition(" ")
    room = end - max(where.unit, row.at + 1) - 1
    said = "again?" if at.again and not present else fitting(room, item.unit, as_what or unit, "")
    row.put(max(where.unit, row.at + 1), Span(text.fit(said, room), "dim"))


def _last(row: Canvas, where: Columns, at: LineView, now: Instant, age: str) -> None:
    """What was last seen before the round; its age where it is another than that of most."""
    before = at.before
    if before is None:
        return
    words = value_words(at.slot.item, before, bare=True)
    old = age_words(now.hours_since(before.at))
    room = (where.age if where.age >= 0 else where.last + 6) - row.at - 1
    if at.slot.item.kind.by_words:
        cut = text.fit(words, min(room, 12))
        row.right(max(where.last + 3, row.at + 1 + text.width(cut)), Span(cut, "dim"))
    else:
        row.number(where.last, fitting(room, words), "dim")
    if where.age < 0:
        if at.suspect:
            row.put(row.at, Span(" ?", "check"))
        return
    if at.suspect:
        row.put(where.age, Span("? ", "check"), Span(old if old != age else "", "dim"))
    elif old != age:
        row.put(where.age, Span(old, "dim"))
