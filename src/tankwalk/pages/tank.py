"""The page of a tank, a loop or the site: its past on one time axis, and its story.

A cause is read straight down: plots of what matters, the dead a day with what the book leaves, the
worst mark of each day, the days; then what happened, newest first.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import ago
from tankwalk.figures import from_to
from tankwalk.pages import plot
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, spread
from tankwalk.pages.plot import Axis, Plot, axis
from tankwalk.pages.tank_story import story, story_at
from tankwalk.plan.bands import describe
from tankwalk.plan.model import Band, Item
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.past.series import Series
from tankwalk.practice.past.view import PlaceKind, PlaceView
from tankwalk.practice.stock.dead import MORTS
from tankwalk.rows import NamedTuple

BESIDE = 17
"""Cells of the words beside a plot: a name, what it is now, the band."""

MOST_BESIDE = 27
"""More than this they do not take where a page is wide."""

FEW_ROWS = 2
"""In so few rows beside a plot the newest value goes before a whole name."""

ROOMY = 100
"""A page as wide as this has room for the words beside a plot of one row."""


class Layout(NamedTuple):
    """How many rows each part has; `gaps` are blank rows, given up first."""

    first: int
    second: int
    level: int
    bars: int
    gaps: int

    @property
    def rows(self) -> int:
        return self.first + self.second + self.level + self.bars + self.gaps


LAYOUTS = (
    Layout(10, 4, 1, 4, 5),
    Layout(8, 4, 1, 4, 4),
    Layout(6, 4, 1, 3, 4),
    Layout(5, 4, 0, 3, 3),
    Layout(5, 4, 0, 3, 1),
    Layout(5, 3, 0, 3, 0),
    Layout(4, 3, 0, 2, 1),
    Layout(4, 3, 0, 2, 0),
    Layout(4, 0, 0, 2, 0),
    Layout(3, 0, 0, 2, 0),
)
"""From the roomiest to the one that always fits; the first that leaves the story its rows."""

STORY_ROWS = 3
"""Rows that are left to the story at least."""


def title(view: PlaceView, width: int) -> Line:
    """The bar on top: which place, which fish, how old."""
    parts = []
    if view.tank is not None:
        tank = view.tank
        parts = [
            tank.treatment or "",
            "" if view.dph is None else f"{view.dph} dph",
            f"block {tank.block}" if tank.block else "",
            f"lot {tank.lot}" if tank.lot else "",
        ]
    parts = [part for part in parts if part]
    room = width - text.width(f" {view.kind.value}  {view.place}   {view.now.short()} ") - 2
    while parts and text.width(", ".join(parts)) > room:
        parts.pop()
    # The age stands last, as in every head.
    said = ", ".join(sorted(parts, key=lambda part: part.endswith(" dph")))
    if view.meter is not None:
        said = view.meter.kind + (f", {text.named(view.meter.tanks)}" if view.meter.tanks else "")
    name = view.kind.value.upper()
    left = f" {name}  {view.place}" if view.kind is not PlaceKind.SITE else f" {name}"
    return spread(width, [f"{left}   {said}".rstrip()], [f"{view.now.short()} "], "head")


def head(view: PlaceView, width: int) -> list[Line]:
    """The bar, then the worst flag in the tone of its level, and the fish at the right."""
    book = _book(view)
    right = f"book {book:,} fish " if book is not None else ""
    if not view.wrong:
        said = Span(" nothing is wrong here", "ok")
        return [title(view, width), spread(width, [said], [Span(right, "bold")], "plain")]
    one = view.wrong[0]
    tone = flag_tone(one.flag)
    body = tone if one.flag >= Flag.URGENT else "plain"
    sentence, *clauses = one.sentence.split("; ")
    parts = [sentence, f"open {ago(view.now.hours_since(one.raised))}", *_look(view)]
    others = f"; {len(view.wrong) - 1} more" if len(view.wrong) > 1 else ""
    room = width - text.width(one.flag.mark) - text.width(right) - 6
    while len(parts) > 1 and text.width(", ".join(parts) + others) > room:
        if others:
            others = ""
        else:
            parts.pop()
    words = ", ".join(parts) + others
    longer = words.replace(sentence, one.sentence, 1)
    if clauses and text.width(longer) <= room:
        words = longer
    first, *rest = text.wrap(words, max(10, room)) or [""]
    left = [Span(f" {one.flag.mark} ", tone), Span(f" {first}", body)]
    indent = " " * (text.width(one.flag.mark) + 3)
    return [
        title(view, width),
        spread(width, left, [Span(right, body if body != "plain" else "bold")], body),
        *(line(width, Span(indent + more, body), fill=body) for more in rest),
    ]


def _look(view: PlaceView) -> list[str]:
    if view.look is None:
        return []
    late = view.now.hours_since(view.look)
    return [f"look overdue {ago(late)}" if late * 60 >= 1 else f"look {view.look.told(view.now)}"]


def _book(view: PlaceView) -> int | None:
    return None if view.numbers is None else view.numbers.book.fish


# ---- the page


def draw(view: PlaceView, width: int, room: int | None, at: int | None = None) -> list[Line]:
    """The page in `room` lines; `at` is the line of the story one stands at.

    Without `room` it is the plots alone, as large as they are.
    """
    top = head(view, width)
    if at is not None and room is not None:
        return [*top, blank(width), *story_at(view, width, room - len(top) - 1, at)]
    beside = [*read_with(view, width), *imported(view, width, sign=True)]
    rows = 36 if room is None else room - len(beside)
    lanes = 3 if view.dead is not None else 2
    left = rows - len(top) - lanes - STORY_ROWS
    layout = next((one for one in LAYOUTS if one.rows <= left), LAYOUTS[-1])
    if width < ROOMY:  # what stands beside one row would be cut
        layout = layout._replace(level=0)
    lines = [*top, *_plots(view, width, layout)]
    lines += beside
    if room is None:
        return lines
    lines += story(view, width, max(0, room - len(lines)))
    return [*lines, *[blank(width)] * (room - len(lines))][:room]


def _plots(view: PlaceView, width: int, layout: Layout) -> list[Line]:
    """The plots one below the other on one axis, and the lanes under them."""
    across, left = _axis(view, width)
    gaps = layout.gaps
    lines: list[Line] = []

    def gap() -> None:
        nonlocal gaps
        if gaps:
            gaps -= 1
            lines.append(blank(width))

    for one, many in zip(view.plots, (layout.first, layout.second), strict=False):
        if not many:
            continue
        gap()
        logged = [each for each in view.logged if each.item.code == one.item.code]
        drawn = plot.plot(one, across, many, logged)
        beside = _beside(view, one, drawn, width - left - across.cells - 4)
        lines += _rows(drawn, beside, left, width, len(drawn.rows))
    if layout.level and view.level is not None:
        gap()
        cells = plot.one_row(view.level, across)
        said = _in_a_row(view, view.level, width - left - across.cells - 4)
        lines.append(line(width, Span(" " * (left + 1)), *cells, Span("  "), *said))
    if view.dead is not None:
        gap()
        flagged = next((one.flag for one in view.wrong if one.key.item == MORTS), Flag.OK)
        drawn = plot.bars(view.dead, across, layout.bars, flagged)
        lines += _rows(drawn, _dead_beside(view, across), left, width, layout.bars)
        percents = [
            (day.day, f"{share}", "plain" if day.day == view.window.last else "dim")
            for day in view.dead.days
            if (share := view.dead.percent(day)) is not None
        ]
        of = f"% of {view.dead.came_in:,}" if view.dead.came_in else ""
        lines.append(_lane("book", plot.under(percents, across), of, left, width))
    lines.append(_lane("flags", _marks(view, across), _marks_words(across), left, width))
    month = f"{view.window.first:%B}" if across.of_day >= 3 else ""
    month = month if text.width(month) <= left - 1 else f"{view.window.first:%b}" if month else ""
    words = _axis_words(view, across)
    lines.append(_lane(month, plot.dates(across), words, left, width))
    return lines


def read_with(view: PlaceView, width: int) -> list[Line]:
    """What a meter read: the places of an item in a row, with how many looks are suspect."""
    lines: list[Line] = []
    for code in dict.fromkeys(one.item.code for one in view.beside):
        here = [one for one in view.beside if one.item.code == code]
        looks, bad = sum(one.looks for one in here), sum(one.suspect for one in here)
        tail = f", ? {bad} suspect" if bad else ""
        label = f"{here[0].item.label} at {text.named([one.place for one in here], 12)}"
        said = f"{label}: {looks} looks{tail}"
        rows = text.wrap(said, width - 14)
        lines += [
            line(width, Span(" read with it " if nth == 0 else " " * 14, "bold"), Span(row))
            for nth, row in enumerate(rows)
        ]
    return lines


def imported(view: PlaceView, width: int, *, sign: bool = False) -> list[Line]:
    """What loggers and old sheets hold of what is drawn, a line a source and item.

    With its `sign` where it stands below plots that show it.
    """
    label = f" {plot.LOGGED} imported  " if sign else " imported  "
    used = text.width(label)
    lines: list[Line] = []
    for one in view.logged:
        low, high, last = (
            one.item.shown(value, bare=True) for value in (one.low, one.high, one.last)
        )
        said = f"{one.source}, {one.item.label} {low} - {high}, last {last}, "
        said += one.at.told(view.now)
        many = f"; {one.values:,} values"
        if text.width(said + many) <= width - used - 1:  # else the count gives way
            said += many
        for row in text.wrap(said, width - used - 1):
            head = label if not lines else " " * used
            lines.append(line(width, Span(head, "bold"), Span(row)))
    return lines


def _axis(view: PlaceView, width: int) -> tuple[Axis, int]:
    """The days across and the cells left of them, alike for all plots of the page."""
    longest = max(
        (
            len(name)
            for one in (*view.plots,)
            for name in plot.labels(one, plot.rows_of(one, 5))
        ),
        default=0,
    )  # fmt: skip
    left = max(6, longest + 1)
    return axis(view.window, width - left - 1 - BESIDE), left


def _rows(
    drawn: Plot, beside: Sequence[list[Span]], left: int, width: int, many: int
) -> list[Line]:
    """Rows of a plot with their names at the left and words at the right."""
    lines = []
    for nth in range(many):
        name = drawn.names[nth] if nth < len(drawn.names) else ""
        cells = drawn.rows[nth] if nth < len(drawn.rows) else []
        said = beside[nth] if nth < len(beside) else []
        gap = "  " if said else ""
        lines.append(line(width, Span(f"{name:>{left}} ", "dim"), *cells, Span(gap), *said))
    return lines


def _lane(name: str, cells: Sequence[Span], said: str, left: int, width: int) -> Line:
    tail = [Span(f"  {said}", "dim")] if said else []
    return line(width, Span(f" {name:<{left}}"[: left + 1], "dim"), *cells, *tail)


# ---- the words beside


def _name(item: Item) -> str:
    """An item and its unit: "Oxygen, mg/L"."""
    return f"{item.label}, {item.unit}" if item.unit else item.label


def _now(view: PlaceView, one: Series) -> list[Span]:
    """The newest value, and the mark of its flag where one stands."""
    if not one.taken:
        return [Span("none taken", "dim")]
    newest = one.taken[-1]
    value = "--" if newest.value is None else one.item.shown(newest.value, bare=True)
    below = "< " if newest.below else ""
    stands = _stands(view, one)
    word = "now" if newest.at.day == view.now.day else "last"
    spans = [Span(f"{word} ", "dim"), Span(f"{below}{value}", "bold")]
    if stands is not None:
        spans += [Span(" "), Span(stands.flag.short, flag_tone(stands.flag))]
    return spans


def _in_a_row(view: PlaceView, one: Series, room: int) -> list[Span]:
    """Name, newest value, unit and mark in one row; the unit gives way, then the name."""
    newest = one.taken[-1].value if one.taken else None
    value = "--" if newest is None else one.item.shown(newest)
    stands = _stands(view, one)
    mark = "" if stands is None else stands.flag.short
    left = room - text.width(mark) - 1 - bool(mark)
    if newest is not None and text.width(f"{one.item.label}{value}") > left:
        value = one.item.shown(newest, bare=True)
    label = text.fit(one.item.label, max(4, left - text.width(value)))
    spans = [Span(f"{label} ", "bold"), Span(value)]
    if stands is not None:
        spans += [Span(" "), Span(mark, flag_tone(stands.flag))]
    return spans


def _stands(view: PlaceView, one: Series) -> Standing | None:
    return next((flag for flag in view.wrong if flag.key.item == one.item.code), None)


def band_words(one: Series) -> str:
    """The band of the last day: "band 7.0 - 10.0"; "" where there is none."""
    limits = one.limits_on(one.window.last)
    if limits is None:
        return ""
    return f"band {describe(Band(limits, None, ''), one.item)}"


SIGNS = (
    (plot.SUSPECT, "? meter suspect"),
    (plot.FIRST, "x not confirmed"),
    (plot.NONE, "- not taken"),
    (plot.LOGGED, ": imported"),
    (plot.BEYOND_LOW, "\u25bc off the scale"),
    (plot.BEYOND_HIGH, "\u25b2 off the scale"),
)
"""What the signs of a plot mean, said where they are in it."""


def _beside(view: PlaceView, one: Series, drawn: Plot, room: int) -> list[list[Span]]:
    """Name, newest value, band, and what the signs mean that are in the plot."""
    name = _name(one.item)
    lines = [[Span(name, "bold")], _now(view, one)]
    if text.width(name) > room:  # its unit stands below it instead
        label = Span(text.fit(one.item.label, room), "bold")
        lines = [[label], _now(view, one), [Span(f"in {one.item.unit}", "dim")]]
    if text.width(one.item.label) > room and len(drawn.rows) > FEW_ROWS:  # a name is not cut
        lines = [*([Span(row, "bold")] for row in text.wrap(name, room)), _now(view, one)]
    if one.item.kind.by_words:
        lines += [
            [Span(f"{nth} {word}", "dim")] for nth, word in enumerate(one.item.choices, 1)
        ]  # fmt: skip
        return lines
    band = band_words(one)
    if band:
        lines.append([Span(band if text.width(band) <= room else band[5:], "dim")])
    if one.planned:
        lines.append([Span("moves by the plan", "dim")])
    lines += [[Span(said, "dim")] for sign, said in SIGNS if sign in drawn.signs]
    return lines


def _dead_beside(view: PlaceView, across: Axis) -> list[list[Span]]:
    dead = view.dead
    if dead is None:
        return []
    newest = dead.days[-1]
    today = "today" if view.window.last == view.now.day else "last"
    said = "--" if newest.fish is None else f"{newest.fish:,}"
    stands = next((one for one in view.wrong if one.key.item == MORTS), None)
    mark = [Span(" "), Span(stands.flag.short, flag_tone(stands.flag))] if stands else []
    words = [
        [Span("Morts a day" if across.of_day else "Morts, worst day", "bold")],
        [Span(f"{today} ", "dim"), Span(said, "bold"), *mark],
    ]
    if dead.usual is not None:
        words.append([Span(f"usual {from_to(dead.usual.low, dead.usual.high)}", "dim")])
    return words


# ---- the lanes


LETTERS = {Flag.CHECK: "?", Flag.WATCH: "!", Flag.ACT: "A", Flag.URGENT: "U"}
"""One cell for the worst of a day, where a day has no room for its mark."""


def _marks(view: PlaceView, across: Axis) -> list[Span]:
    """The worst mark of each day under it."""
    worst: dict[int, tuple[Flag, int]] = {}
    for nth, mark in enumerate(view.marks):
        cell = across.start(mark.day)
        if cell not in worst or mark.flag > worst[cell][0]:
            worst[cell] = mark.flag, nth
    if across.of_day >= 4:
        words = [(view.marks[nth].day, flag.short, flag_tone(flag)) for flag, nth in worst.values()]
        return plot.under(words, across)
    cells = [Span(" ")] * across.cells
    for cell, (flag, _) in worst.items():
        cells[cell] = Span(LETTERS[flag], flag_tone(flag))
    return cells


def _marks_words(across: Axis) -> str:
    return "worst a day" if across.of_day >= 4 else "A act, U urgent"


def _axis_words(view: PlaceView, across: Axis) -> str:
    if view.window.last != view.now.day:
        return f"to {view.window.last.day} {view.window.last:%b}"
    if across.of_day >= 2:
        return f"{view.window.days} days"
    return f"{view.window.days} days" if across.of_day else f"{across.days} days a cell"
