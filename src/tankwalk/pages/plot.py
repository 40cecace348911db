"""Plots of a past in lines of a page: days across, points in half blocks on the dotted band.

A row is named by its top. A point is `▀` or `▄` in its half of the row; `●` was out of band, `x` a
first reading that the second did not find, `?` a reading whose meter failed its check, `-` a look
not taken, `:` what a logger wrote. Where a column holds several looks it is filled from the lowest
to the highest. What is beyond the rows stands at the edge as `▲` or `▼`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date

from tankwalk.pages.glyphs import strip
from tankwalk.pages.lines import Span, flag_tone
from tankwalk.plan.bands import edges
from tankwalk.plan.model import Limits
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.past.dead import Dead
from tankwalk.practice.past.dead_days import DeadDay
from tankwalk.practice.past.logged import Logged
from tankwalk.practice.past.series import LookAt, Series
from tankwalk.practice.past.window import Window
from tankwalk.practice.tiles import place_in
from tankwalk.rows import NamedTuple

LOGGED = ":"
DOT, OUT, FIRST, SUSPECT, NONE = "\u00b7", "\u25cf", "x", "?", "-"
LOWER, UPPER, FULL = "\u2584", "\u2580", "\u2588"
BEYOND_HIGH, BEYOND_LOW = "\u25b2", "\u25bc"
HEIGHTS = " \u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588"

MOST_OF_A_DAY = 6
"""Cells a day takes at most."""

FEWEST_ROWS_OF_CORE = 3
"""So many rows what is usual should take, before what is far out makes the steps coarser."""


class Axis(NamedTuple):
    """Days across: `of_day` cells a day, or 0 and `days` days in one cell; `cells` in all."""

    window: Window
    of_day: int
    days: int
    cells: int

    def start(self, day: date) -> int:
        """The first cell of a day."""
        nth = (day - self.window.first).days
        return nth * self.of_day if self.of_day else nth // self.days

    @property
    def halves(self) -> tuple[int, ...]:
        """Where in a day its morning and its afternoon stand; one place where a day has one."""
        return (0, self.of_day // 2) if self.of_day >= 2 else (0,)

    def day_at(self, cell: int) -> date:
        """The day of a cell, the last of several."""
        if self.of_day:
            return self.window.day(min(self.window.days - 1, cell // self.of_day))
        return self.window.day(min(self.window.days - 1, cell * self.days + self.days - 1))


def axis(window: Window, room: int) -> Axis:
    """The days of a window in so many cells."""
    of_day = min(MOST_OF_A_DAY, room // window.days)
    if of_day:
        return Axis(window, of_day, 1, of_day * window.days)
    days = math.ceil(window.days / max(1, room))
    return Axis(window, 0, days, math.ceil(window.days / days))


def columns(one: Series, across: Axis) -> dict[int, list[LookAt]]:
    """The looks of a series by their cell.

    A day has a cell for its morning and one for its afternoon. Of today, before noon, the newest of
    several looks stands in the second: nothing else can be there yet, and it is the one to see.
    """
    found: dict[int, list[LookAt]] = {}
    halves = across.halves
    for look in one.looks:
        later = len(halves) > 1 and look.at.wall.hour >= 12
        cell = across.start(look.at.day) + halves[1 if later else 0]
        found.setdefault(cell, []).append(look)
    if len(halves) > 1 and one.looks:
        first = across.start(across.window.last)
        here = found.get(first, [])
        if len(here) > 1 and first + halves[1] not in found and one.looks[-1] is here[-1]:
            found[first + halves[1]] = [here.pop()]
    return found


# ---- which rows


class Rows(NamedTuple):
    """Rows of a plot: the top of the first, and how much each covers, in the item's unit."""

    top: float
    step: float
    many: int

    def tops(self) -> list[float]:
        """The top of each row."""
        return [round(self.top - nth * self.step, 9) for nth in range(self.many)]

    def half(self, value: float) -> int:
        """Which half row a value lies in, from the top: below 0 or too many where it is beyond."""
        return math.floor(round((self.top - value) / self.step * 2, 6))


def rows_of(one: Series, many: int) -> Rows:
    """Rows that show the band and what is usual well, and what is far out as far as they reach."""
    if one.item.kind.by_words:
        words = len(one.item.choices)
        return Rows(float(min(words, many)), 1.0, min(words, many))
    # Where the band moves, its ends of days gone by may lie beyond the rows.
    last = one.limits_on(one.window.last)
    ends = [edge for edge in _edges(last) if edge is not None]
    taken = [look for look in one.taken if look.value is not None]
    usual = [v for look in taken if look.flag < Flag.WATCH and not look.suspect for v in _all(look)]
    every = [v for look in taken for v in _all(look)]
    core, whole = [*ends, *usual] or every or [0.0, 1.0], [*ends, *every] or [0.0, 1.0]
    low, high = min(core), max(core)
    fewest = min(FEWEST_ROWS_OF_CORE, many - 1)
    steps = _steps(one.item.decimals)
    step = next(s for s in steps if _many(low, high, s) <= max(1, many - bool(whole != core)))
    for wide in steps:
        if wide >= step and _many(min(whole), max(whole), wide) <= many:
            if _many(low, high, wide) >= fewest:
                low, high, step = min(whole), max(whole), wide
            break
    top, bottom = _up(high, step), _down(low, step)
    while round((top - bottom) / step) < many:
        over, under = max(whole) - top, bottom - min(whole)
        if max(over, under) <= 1e-9:
            break
        if over > under:
            top += step
        else:
            bottom -= step
    return Rows(round(top, 9), step, max(1, round((top - bottom) / step)))


def _all(look: LookAt) -> Sequence[float]:
    """Every value that a look draws."""
    if look.first is None and look.least is None and look.value is not None:
        return (look.value,)
    found = (look.value, look.not_confirmed, look.least, look.most)
    return [value for value in found if value is not None]


def _steps(decimals: int) -> list[float]:
    """1, 2 and 5 with every power of ten, from the item's last decimal up."""
    return [round(m * 10.0**p, 9) for p in range(-decimals, 7) for m in (1, 2, 5)]


def _up(value: float, step: float) -> float:
    return math.ceil(round(value / step, 6)) * step


def _down(value: float, step: float) -> float:
    return math.floor(round(value / step, 6)) * step


def _many(low: float, high: float, step: float) -> int:
    return max(1, round((_up(high, step) - _down(low, step)) / step))


def _edges(limits: Limits | None) -> tuple[float | None, float | None]:
    """Both ends of a band; (None, None) on a day that has none."""
    return (None, None) if limits is None else edges(limits)


def labels(one: Series, rows: Rows) -> list[str]:
    """What each row is named, "" for those between where there are many."""
    if one.item.kind.by_words:
        return [f"{top:.0f}" for top in rows.tops()]
    fine = max(0, -math.floor(math.log10(rows.step) + 1e-9))
    decimals = max(fine, min(1, one.item.decimals))
    every = 2 if rows.many >= 8 else 1
    return [
        f"{top:z.{decimals}f}" if round(top / rows.step) % every == 0 else "" for top in rows.tops()
    ]


# ---- points


class Plot(NamedTuple):
    """A plot as drawn: the name of each row, its cells, and which signs are in it."""

    names: list[str]
    rows: list[list[Span]]
    signs: frozenset[str]


def plot(one: Series, across: Axis, many: int, logged: Sequence[Logged] = ()) -> Plot:
    """A series in at most `many` rows; what was `logged` of it stands behind the looks."""
    rows = rows_of(one, many)
    cells, tones = _ground(one, across, rows)
    signs: set[str] = set()

    def put(row: int, cell: int, sign: str, tone: str) -> None:
        inside = tones[row][cell] in ("band", "inside")
        if inside and tone in ("dim", "plain"):
            tone = "band" if tone == "dim" else "inside"  # on the ground of the band
        cells[row][cell], tones[row][cell] = sign, tone
        signs.add(sign)

    for source in logged:
        for half_day in source.halves:
            shift = across.halves[-1] if half_day.afternoon else 0
            cell = across.start(half_day.day) + shift
            top, bottom = rows.half(half_day.high), rows.half(half_day.low)
            for row in range(max(0, top // 2), min(rows.many - 1, bottom // 2) + 1):
                put(row, cell, LOGGED, "plain")
    words = one.item.kind.by_words
    for cell, looks in columns(one, across).items():
        fill: list[int] = []
        over: list[tuple[int, str, str]] = []
        for look in looks:
            if look.value is None:
                over.append((rows.many - 1, NONE, "watch"))
                continue
            shift = 1 if words else 0
            if look.not_confirmed is not None:
                at = _row(rows, look.not_confirmed + shift)[0]
                over.append((at, FIRST, "check"))
            half = rows.half(look.value + shift)
            row, beyond = _at(rows, half)
            if look.suspect:
                over.append((row, SUSPECT, "dim"))
            elif look.flag >= Flag.WATCH:
                over.append((row, beyond or OUT, flag_tone(look.flag)))
            elif beyond:
                over.append((row, beyond, "dim"))
            elif look.least is None and look.most is None:
                fill.append(half)
            else:
                ends = [look.value if end is None else end for end in (look.least, look.most)]
                halves = sorted(rows.half(end + shift) for end in ends)
                fill += range(max(0, halves[0]), min(2 * rows.many - 1, halves[1]) + 1)
        run = _run(fill)
        for row in range(run.start // 2, (run.stop + 1) // 2):
            upper, lower = 2 * row in run, 2 * row + 1 in run
            if upper or lower:
                sign = FULL if upper and lower else UPPER if upper else LOWER
                put(row, cell, sign, "plain")
        for row, sign, tone in over:
            put(row, cell, sign, tone)
    drawn = [_spans(cells[row], tones[row]) for row in range(rows.many)]
    return Plot(labels(one, rows), drawn, frozenset(signs))


def _run(halves: Sequence[int]) -> range:
    """All half rows from the lowest look of a cell to the highest."""
    return range(min(halves), max(halves) + 1) if halves else range(0)


def _row(rows: Rows, value: float) -> tuple[int, str]:
    """The row of a value, and the sign of what lies beyond."""
    return _at(rows, rows.half(value))


def _at(rows: Rows, half: int) -> tuple[int, str]:
    if half < 0:
        return 0, BEYOND_HIGH
    if half >= 2 * rows.many:
        return rows.many - 1, BEYOND_LOW
    return half // 2, ""


def _ground(one: Series, across: Axis, rows: Rows) -> tuple[list[list[str]], list[list[str]]]:
    """Blank cells, with the dots of the band where it was in force."""
    cells = [[" "] * across.cells for _ in range(rows.many)]
    tones = [["plain"] * across.cells for _ in range(rows.many)]
    for cell in range(across.cells):
        low, high = _edges(one.limits_on(across.day_at(cell)))
        if low is None and high is None:
            continue
        dotted = _dotted(across, cell)
        for row, top in enumerate(rows.tops()):
            middle = top - rows.step / 2
            if (low is None or middle > low) and (high is None or middle <= high):
                cells[row][cell] = DOT if dotted else " "
                tones[row][cell] = "band"
    return cells, tones


def _dotted(across: Axis, cell: int) -> bool:
    if across.of_day >= 2:
        return cell % across.of_day in across.halves
    return cell % 2 == 0


def _spans(cells: Sequence[str], tones: Sequence[str]) -> list[Span]:
    """Cells in as few spans as their tones need."""
    spans: list[Span] = []
    for sign, tone in zip(cells, tones, strict=True):
        if spans and spans[-1].tone == tone:
            spans[-1] = Span(spans[-1].text + sign, tone)
        else:
            spans.append(Span(sign, tone))
    return spans


def one_row(one: Series, across: Axis) -> list[Span]:
    """A series in one row: each look by its place in the band of its day, `▼▲` outside."""
    cells = [" "] * across.cells
    tones = ["past"] * across.cells
    for cell, looks in columns(one, across).items():
        look = max(looks, key=lambda each: (each.flag, each.at.utc))
        if look.value is None:
            cells[cell], tones[cell] = NONE, "watch"
            continue
        drawn = strip([place_in(one.limits_on(look.at.day), look.value)], 1)
        cells[cell] = SUSPECT if look.suspect else drawn
        tones[cell] = flag_tone(look.flag) if look.flag >= Flag.WATCH else "past"
    return _spans(cells, tones)


# ---- bars, and what stands below them


def bars(one: Dead, across: Axis, many: int, flagged: Flag) -> Plot:
    """The dead a day as bars from zero; the newest day in the tone of its flag.

    Where a cell holds several days it shows the day with the most.
    """
    cells = [[" "] * across.cells for _ in range(many)]
    tones = [["dim"] * across.cells for _ in range(many)]
    most = max((day.fish for day in one.days if day.fish is not None), default=0)
    top = max(most, many)
    wide = 2 if across.of_day >= 3 else 1
    for cell, day in _by_cell(one.days, across).items():
        newest = day.day == one.days[-1].day
        tone = flag_tone(flagged) if newest and flagged >= Flag.WATCH else "plain"
        tone = "bold" if tone in ("act", "urgent") else tone
        if day.fish is None:
            before = one.came_in is not None and day.book is None  # no fish were there yet
            if across.of_day and not newest and not before:
                cells[many - 1][cell], tones[many - 1][cell] = NONE, "dim"
            continue
        level = 0 if not day.fish else max(1, round(8 * many * day.fish / top))
        for row in range(many):
            height = max(0, min(8, level - 8 * (many - 1 - row)))
            for at in range(cell, min(across.cells, cell + wide)):
                cells[row][at], tones[row][at] = HEIGHTS[height], tone
        if not day.fish:
            cells[many - 1][cell] = "0"
    names = [f"{math.ceil(top * (many - row) / many)}" for row in range(many)]
    drawn = [_spans(cells[row], tones[row]) for row in range(many)]
    return Plot(names, drawn, frozenset(NONE if NONE in row else "" for row in cells))


def _by_cell(days: Iterable[DeadDay], across: Axis) -> dict[int, DeadDay]:
    found: dict[int, DeadDay] = {}
    for day in days:
        cell = across.start(day.day)
        held = found.get(cell)
        if held is None or (day.fish or -1) >= (held.fish or -1):
            found[cell] = day
    return found


def under(words: Sequence[tuple[date, str, str]], across: Axis) -> list[Span]:
    """Words under their days, as (day, words, tone): never cut, so where they are close some go.

    Of two that do not fit beside each other the first stands; the last one stands always.
    """
    cells = [" "] * across.cells
    tones = ["dim"] * across.cells
    placed: list[tuple[int, str, str]] = []
    for day, said, tone in words:
        at = across.start(day)
        if at + len(said) > across.cells:
            at = across.cells - len(said)
        if placed and at < placed[-1][0] + len(placed[-1][1]) + 1:
            if day != words[-1][0]:
                continue
            placed.pop()
        placed.append((at, said, tone))
    for at, said, tone in placed:
        for nth, sign in enumerate(said):
            if 0 <= at + nth < across.cells:
                cells[at + nth], tones[at + nth] = sign, tone
    return _spans(cells, tones)


def dates(across: Axis) -> list[Span]:
    """The days of the axis: their numbers, and months where they begin."""
    window = across.window
    words = []
    if across.of_day >= 3:
        for nth in range(window.days):
            day = window.day(nth)
            month = f" {day:%b}"[: max(0, across.of_day - 2)] if day.day == 1 else ""
            words.append((day, f"{day.day}{month}".rstrip(), "dim"))
    else:
        for nth in range(window.days):
            day = window.day(nth)
            year = f" {day:%Y}" if window.days > 330 else ""
            said = f"{day:%b}{year}" if window.days > 90 else f"{day.day} {day:%b}"
            if window.days <= 90 or day.day == 1 or nth == 0:
                words.append((day, said, "dim"))
        words = _spaced(words, across)
    return under(words, across)


def _spaced(words: list[tuple[date, str, str]], across: Axis) -> list[tuple[date, str, str]]:
    """Of many dates those that stand apart by at least two cells."""
    found: list[tuple[date, str, str]] = []
    free = 0
    for day, said, tone in words:
        at = across.start(day)
        if at >= free and at + len(said) <= across.cells:
            found.append((day, said, tone))
            free = at + len(said) + 2
    return found
