"""A place and its past as tables and sentences: what is printed, and what a screen reader gets.

No plot is without its table: every look stands in it, with its mark, and what the marks mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from tankwalk import text
from tankwalk.clock import ago
from tankwalk.figures import number_text
from tankwalk.ledger.corrections import Corrected
from tankwalk.pages import correction_words, tank, tank_story
from tankwalk.pages.lines import Line, Span, blank, line, wrapped
from tankwalk.plan.bands import describe
from tankwalk.plan.model import Band, Item
from tankwalk.practice.judging.verdict import Flag, left_out
from tankwalk.practice.past.logged import Logged
from tankwalk.practice.past.series import LookAt, Series
from tankwalk.practice.past.view import PlaceView
from tankwalk.rows import NamedTuple


class Column(NamedTuple):
    """A column: two rows of head, a cell for each row of the table, at which side its cells end."""

    over: str
    head: str
    cells: tuple[str, ...]
    right: bool = True
    least: int = 0

    @property
    def wide(self) -> int:
        return max(self.least, *(text.width(cell) for cell in (self.head, *self.cells)))


def draw(view: PlaceView, width: int) -> list[Line]:
    """The place, its tables, what their marks mean, and its story."""
    lines = [*tank.head(view, width), blank(width)]
    for one in view.wrong:
        since = f"since {one.raised.told(view.now)}, {ago(view.now.hours_since(one.raised))}"
        told = correction_words.beside(one.seen, view.now, _item(view, one.seen.item))
        said = "; ".join(part for part in (one.sentence, since, told) if part)
        lines += wrapped(width, f"{one.flag.mark}  {said}", "plain", 4)
    if view.wrong:
        lines.append(blank(width))
    days, columns = table(view)
    if days:
        lines += _chunks(days, columns, width)
    lines += [*_notes(view, width), *tank.read_with(view, width), *tank.imported(view, width)]
    for grown in view.growth:
        lines += _growth(grown, width)
    lines += [blank(width), *tank_story.story(view, width, None)]
    return lines


def _item(view: PlaceView, code: str) -> Item | None:
    """An item that is drawn, by its code."""
    return next((one.item for one in view.plots if one.item.code == code), None)


# ---- the table


def table(view: PlaceView) -> tuple[tuple[tuple[date, int], ...], list[Column]]:
    """The rows as day and which of its rows, and the columns beside them."""
    drawn = [*view.plots, *((view.level,) if view.level is not None else ())]
    halves = {one.item.code: _by_half(one) for one in drawn}
    rows: list[tuple[date, int]] = []
    for nth in range(view.window.days):
        day = view.window.day(nth)
        many = [len(found.get((day, half), ())) for found in halves.values() for half in (0, 1)]
        rows += [(day, k) for k in range(max([1, *many]))]
    columns: list[Column] = []
    for one in drawn:
        columns += _series_columns(one, rows, halves[one.item.code])
    for source in view.logged:
        columns += _logged_columns(source, rows)
    if view.dead is not None:
        columns += _dead_columns(view, rows)
    marks = {mark.day: f"{mark.flag.short} {', '.join(mark.items)}" for mark in view.marks}
    flags = tuple(marks.get(day, "") if k == 0 else "" for day, k in rows)
    columns.append(Column("", "flags", flags, right=False))
    return tuple(rows), columns


def _by_half(one: Series) -> dict[tuple[date, int], list[LookAt]]:
    found: dict[tuple[date, int], list[LookAt]] = {}
    for look in one.looks:
        found.setdefault((look.at.day, int(look.at.wall.hour >= 12)), []).append(look)
    return found


def _series_columns(
    one: Series,
    rows: Sequence[tuple[date, int]],
    halves: dict[tuple[date, int], list[LookAt]],
) -> list[Column]:
    name = f"{one.item.label}{f', {one.item.unit}' if one.item.unit else ''}"
    columns = []
    for half, head in ((0, "am"), (1, "pm")):
        cells = []
        for day, k in rows:
            looks = halves.get((day, half), [])
            cells.append(look_words(one, looks[k]) if k < len(looks) else "")
        columns.append(Column(name if half == 0 else "", head, _on_mark(cells), right=False))
    # The head over both needs as much as it says.
    columns[1] = columns[1]._replace(least=text.width(name) - columns[0].wide - 2)
    if one.planned:
        bands = []
        for day, k in rows:
            limits = one.limits_on(day) if k == 0 else None
            bands.append("" if limits is None else describe(Band(limits, None, ""), one.item))
        columns.append(Column("", "band", tuple(bands)))
    return columns


def _logged_columns(one: Logged, rows: Sequence[tuple[date, int]]) -> list[Column]:
    """What one source holds of an item: the lowest and the highest of each half day."""
    by = {(half.day, int(half.afternoon)): half for half in one.halves}
    columns = []
    for nth, head in ((0, "am"), (1, "pm")):
        cells = []
        for day, k in rows:
            half = by.get((day, nth)) if k == 0 else None
            said = "" if half is None else one.item.shown(half.low, bare=True)
            if half is not None and half.high != half.low:
                said += f" - {one.item.shown(half.high, bare=True)}"
            cells.append(said)
        over = f"{one.item.label} by {one.source}" if nth == 0 else ""
        columns.append(Column(over, head, _on_mark(cells), right=False))
    wide = text.width(columns[0].over)
    columns[1] = columns[1]._replace(least=wide - columns[0].wide - 2)
    return columns


def look_words(one: Series, look: LookAt) -> str:
    """A look: its value with its mark, "6.1 !!", "9.4 ?", "--" where it was not taken."""
    if look.value is None:
        return "--"
    below = "< " if look.below else ""
    value = below + one.item.shown(look.value, bare=True)
    marks = []
    if look.suspect:
        marks.append("?")
    elif look.flag >= Flag.WATCH:
        marks.append(look.flag.short)
    if look.not_confirmed is not None:
        marks.append(f"x {one.item.shown(look.not_confirmed, bare=True)}")
    how = correction_words.in_a_word(look)
    return " ".join((value, *marks, *[how] * bool(how)))


def _on_mark(cells: Sequence[str]) -> tuple[str, ...]:
    """Numbers on their decimal mark, with what stands after them."""
    split = [cell.partition(" ") for cell in cells]
    whole = [len(value.partition(".")[0]) for value, _, _ in split]
    most = max(whole, default=0)
    return tuple(
        (" " * (most - left) + cell) if cell else ""
        for cell, left in zip(cells, whole, strict=True)
    )


def _dead_columns(view: PlaceView, rows: Sequence[tuple[date, int]]) -> list[Column]:
    dead = view.dead
    if dead is None:
        return []
    by = {one.day: one for one in dead.days}
    found: dict[str, list[str]] = {"morts": [], "book": [], "%": []}
    for day, k in rows:
        one = by[day] if k == 0 else None
        found["morts"].append("" if one is None else "--" if one.fish is None else f"{one.fish:,}")
        book = None if one is None else one.book
        found["book"].append("" if book is None else f"{book:,}")
        share = None if one is None else dead.percent(one)
        found["%"].append("" if share is None else f"{share}")
    return [
        Column("", "morts", tuple(found["morts"])),
        Column("", "book", tuple(found["book"])),
        Column("", "%", tuple(found["%"])),
    ]


def _chunks(rows: Sequence[tuple[date, int]], columns: Sequence[Column], width: int) -> list[Line]:
    """The table in as many pieces as the width needs, each with its days."""
    days = Column("", "day", tuple(_day(day) if k == 0 else "" for day, k in rows))
    lines: list[Line] = []
    left = list(columns)
    while left:
        taken = [days]
        room = width - days.wide - 2
        while left and (left[0].wide + 2 <= room or len(taken) == 1):
            room -= left[0].wide + 2
            taken.append(left.pop(0))
        if len(taken) > 1 and left and taken[-1].head == "am":  # a half day stays with the other
            left.insert(0, taken.pop())
            if len(taken) == 1:
                taken.append(left.pop(0))
        sparse = bool(lines)
        if lines:
            lines.append(blank(width))
        lines += _piece(taken, len(rows), width, sparse=sparse)
    return lines


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"


def _piece(columns: Sequence[Column], many: int, width: int, *, sparse: bool) -> list[Line]:
    """One piece of the table; `sparse` leaves rows out that say nothing."""
    over = ""
    for at, column in enumerate(columns):
        start = 1 + sum(one.wide + 2 for one in columns[:at])
        if column.over:
            over = over.ljust(start) + column.over
    lines = [line(width, Span(over, "dim"))] if over else []
    lines.append(line(width, Span(" " + _joined([one.head for one in columns], columns), "bold")))
    for nth in range(many):
        if sparse and not any(one.cells[nth] for one in columns[1:]):
            continue
        lines.append(line(width, Span(" " + _joined([c.cells[nth] for c in columns], columns))))
    return lines


def _joined(cells: Sequence[str], columns: Sequence[Column]) -> str:
    return "  ".join(
        text.pad(cell, column.wide, ">" if column.right else "<")
        for cell, column in zip(cells, columns, strict=True)
    )


# ---- what the marks mean, each by its look


def _notes(view: PlaceView, width: int) -> list[Line]:
    """What is behind the marks: bands, why not taken, not confirmed, suspect, late."""
    said = []
    amended = {one.about.n: one.about for one in view.story if isinstance(one.about, Corrected)}
    drawn = [*view.plots, *((view.level,) if view.level is not None else ())]
    for one in drawn:
        band = tank.band_words(one)
        moves = ", moves by the plan" if one.planned else ""
        said.append(f"{one.item.label}: {band or 'no band'}{moves}.")
        if one.item.kind.by_words:
            continue
        suspect = [look for look in one.looks if look.suspect]
        if suspect:
            first, last = suspect[0].at.short(), suspect[-1].at.short()
            meter = suspect[0].instrument or ""
            said.append(f"? meter {meter} suspect: {len(suspect)} looks, {first} to {last}.")
        for look in one.looks:
            if look.value is None:
                said.append(f"-- {one.item.label} {left_out(look.why)}, {look.at.short()}.")
            if look.not_confirmed is not None:
                first = one.item.shown(look.not_confirmed, bare=True)
                again = one.item.shown(look.value or 0.0, bare=True)
                said.append(f"x {one.item.label} {first} first, not confirmed: {again}, "
                            f"{look.at.short()}.")  # fmt: skip
            if look.amended and look.n in amended:
                what = correction_words.amended(amended[look.n], one.item, view.now)
                said.append(f"amended: {look.at.short()} {what}.")
            if look.late_s and look.typist is None:
                said.append(f"late: {one.item.label} {look.at.short()}, entered "
                            f"{ago(look.late_s / 3600)} after, {look.who}.")  # fmt: skip
            elif look.typist is not None:
                said.append(f"paper: {one.item.label} {look.at.short()} {look.who}, "
                            f"{correction_words.of_look(look, view.now)}.")  # fmt: skip
    if view.dead is not None and view.dead.came_in:
        said.append(f"Book = stocked and moved in {view.dead.came_in:,}, less all that was seen to "
                    "go; % of that.")  # fmt: skip
    return [blank(width), *(row for one in said for row in wrapped(width, one, "plain", 3))]


def _growth(one: Series, width: int) -> list[Line]:
    lines = [blank(width), line(width, Span(f" {one.item.label}, {one.item.unit}", "bold"))]
    before: LookAt | None = None
    known = [number_text(look.value) for look in one.taken if look.value is not None]
    digits = max((len(text.partition(".")[2]) for text in known), default=0)
    for look in one.taken:
        if look.value is None:
            continue
        spread = "" if look.most is None else f", SD {look.most - look.value:.{digits}f}"
        grew = ""
        if before is not None and before.value is not None:
            days = (look.at.day - before.at.day) // timedelta(days=1)
            grew = f"; {look.value - before.value:+.{digits}f} in {days} d"
        said = f" {_day(look.at.day):>6}  {look.value:.{digits}f} {one.item.unit}{spread}{grew}"
        lines.append(line(width, Span(said)))
        before = look
    return lines


def as_words(view: PlaceView, width: int) -> list[Line]:
    """All of it for print: the tables and the story, then the same as a picture."""
    return [*draw(view, width), blank(width), line(width, Span(" The same as a picture:", "dim")),
            *tank.draw(view, width, None)]  # fmt: skip
