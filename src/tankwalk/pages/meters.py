"""The pages of the meters: the list with the drift of each, and one meter being checked.

80x24 is the design size; at 60x20 every part stays.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import Instant, ago, past
from tankwalk.ledger.meters import MarkSeen
from tankwalk.pages.big import big
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, Span, blank, columns, filled, line, spread, window, wrapped
from tankwalk.plan.model import Instrument
from tankwalk.practice.meters import meter_checks
from tankwalk.practice.meters.check_talk import FOUND, LISTS, NUMBERS, OVER, READY, WHO
from tankwalk.practice.meters.meter_checks import Found, MeterState
from tankwalk.practice.meters.meter_view import LATELY, CheckView, Shown, right_now
from tankwalk.practice.meters.tolerance import decimals, limits, limits_words
from tankwalk.rows import NamedTuple

PANEL = 10
"""Lines of the panel in which a check is entered, without the footer."""

SHOWN = 2.0
"""So many times the limit the row of a meter's drift shows to each side."""

LEGEND = "| limits   . earlier   o newest   X newest, out"

# ---- the list


def draw(
    shown: Sequence[Shown], title: str, now: Instant, width: int, height: int | None, at: int = -1
) -> list[Line]:
    """All meters; the one the list stands at is marked. `height` None gives all of it, to print."""
    parts = [_meter(one, now, width, present=i == at) for i, one in enumerate(shown)]
    head = [spread(width, [f" METERS  {title}"], [f"{now.short()} "], "head")]
    if any(one.state.meter.check and one.drift for one in shown):
        head.append(spread(width, [Span("")], [Span(f"{LEGEND} ", "dim")], "plain"))
    if not parts:
        head += wrapped(width, "The plan names no meter: [[instrument]] in plan.toml.", "check", 2)
    rows = [row for part in parts for row in (*part, blank(width))][:-1]
    if height is None:
        return [*head, *rows]
    room = height - len(head)
    before = sum(len(part) + 1 for part in parts[: max(0, at)])
    here = len(parts[at]) if 0 <= at < len(parts) else 0
    return [*head, *window(rows, width, room, max(0, before + here + 1 - room), "down")]


def _meter(one: Shown, now: Instant, width: int, *, present: bool) -> list[Line]:
    """One meter in two or three lines: its state, its drift, and what is suspect for it."""
    state, meter = one.state, one.state.meter
    mark = "now" if present else "plain"
    size = max(34, width * 9 // 20)
    words, tone = state_words(state, now, width - size - 1)
    lines = [
        columns(
            width,
            [
                (" >" if present else "", 4, mark),
                (meter.code, 5, "bold"),
                (_kind(meter), size - 9, mark),
                (words, width - size, tone),
            ],
        )
    ]
    if meter.check:
        what = f"{meter.check} {_limits(meter, one.drift)}".rstrip()
        row: list[Span | str] = [Span(text.pad(f"    {what}", size), "dim")]
        lines.append(line(width, *row, *_drift_line(meter, one.drift, width - size)))
    if state.marks:
        lines += wrapped(width, suspect_words(state, now), "watch", 2, indent="    ")
    return lines


def _kind(meter: Instrument) -> str:
    return f"{meter.kind}, {meter.label}" if meter.label else meter.kind


def state_words(state: MeterState, now: Instant, cells: int) -> tuple[str, str]:
    """How a meter stands, in at most so many cells where it can be, and the tone of it."""
    last = state.last
    if last is None:
        if not state.meter.check:
            return _fitting(cells, "the plan names no check for it", "no check planned"), "dim"
        return "never checked", "watch" if state.overdue else "dim"
    when = last.at.told(now)
    hours = now.hours_since(last.at)
    full = f"{when}, {past(hours)}"
    if state.off:
        return _fitting(cells, f"OFF: failed {full}", f"OFF since {when}"), "act"
    if state.overdue:
        ways = (f"OVERDUE, passed {full}", f"OVERDUE, {ago(hours)} since", "OVERDUE")
        return _fitting(cells, *ways), "watch"
    if meter_checks.days_late(state.meter, last, now) >= 0:
        ways = (f"passed {full}, due today", f"due today, {ago(hours)} since", "due today")
        return _fitting(cells, *ways), "plain"
    return _fitting(cells, f"passed {full}", f"passed {when}"), "ok"


def _fitting(cells: int, *ways: str) -> str:
    """The first way to say it that fits; the last one where none does."""
    return next((words for words in ways if text.width(words) <= cells), ways[-1])


def suspect_words(state: MeterState, now: Instant) -> str:
    """What is marked suspect for a meter, by how many marks; "" where none stands."""
    if not state.marks:
        return ""
    newest = state.marks[-1]
    ends = [Instant(second, now.offset).short() for second in (newest.since, newest.until)]
    many, span = meter_checks.looks_words(state.readings), f"from {ends[0]} to {ends[1]}"
    if len(state.marks) == 1:
        return f"{many} {span} suspect"
    return f"{many} suspect by {len(state.marks)} marks, the newest {span}"


def _limits(meter: Instrument, drift: Sequence[Found]) -> str:
    right = right_now(meter, drift)
    return "" if right is None or meter.within is None else limits_words(meter, right)


def _drift_line(meter: Instrument, drift: Sequence[Found], width: int) -> list[Span]:
    """Found values between the limits in one row, newest "o" (out: "X"), and the newest in figures.

    Values are drawn by how far they are from what was right on their day, in limits, so that the
    limits of all meters stand in the same columns; what is further off stands at the edge.
    """
    found = drift[-LATELY:]
    if not found or meter.within is None:
        return [Span("nothing found yet", "dim")] if not found else []
    cells = min(24, max(12, width - 26))
    places = decimals(meter)
    figures = [f"{one.value:.{places}f}" for one in found]
    while figures and len(" ".join(figures)) > width - cells - 3:
        figures.pop(0)
    edge = SHOWN * meter.within
    offs = [max(-edge, min(edge, _off(one, meter))) for one in found]
    scale = Scale(-edge, edge, cells)
    strip = track(offs, meter.within, scale, out=not found[-1].passed)
    return [Span(strip, "plain"), Span("  "), Span(" ".join(figures), "dim")]


def _off(one: Found, meter: Instrument) -> float:
    right = one.reference if one.reference is not None else meter.reference
    return one.value - (right or 0.0)


class Scale(NamedTuple):
    """A row of cells for distances from what is right: limits and all values find room."""

    low: float
    high: float
    cells: int

    def cell(self, value: float) -> int:
        return round((value - self.low) / (self.high - self.low) * (self.cells - 1))


def scale_of(offs: Sequence[float], within: float, cells: int) -> Scale:
    """The scale that has room for the limits, with some space beside, and for every value."""
    room = 1.3 * within
    return Scale(min(-room, *offs, -room), max(room, *offs, room), cells)


def track(offs: Sequence[float], within: float, scale: Scale, *, out: bool) -> str:
    """Distances from what is right as marks in a row: "." older, "o" newest ("X": out).

    Where several older ones share a cell it is ":"; the limits are "|".
    """
    marks = [" "] * scale.cells
    for one in offs[:-1]:
        at = scale.cell(one)
        marks[at] = ":" if marks[at] in ".:" else "."
    for limit in (-within, within):
        marks[scale.cell(limit)] = "|"
    for newest in offs[-1:]:
        marks[scale.cell(newest)] = "X" if out else "o"
    return "".join(marks)


# ---- one meter


def draw_one(
    check: CheckView, one: Shown, now: Instant, typed: str, size: tuple[int, int]
) -> list[Line]:
    """One meter and its check, exactly as many lines and cells as `size` (width, height) has."""
    width, height = size
    state, meter = one.state, one.state.meter
    words, tone = state_words(state, now, width - 2)
    head = [
        spread(width, [f" METER {meter.code}  {_kind(meter)}"], [f"{now.short()} "], "head"),
        line(width, Span(f" {words}", tone)),
    ]
    for mark in state.marks[-2 if height >= 24 else -1 :]:
        head += wrapped(width, mark_words(mark, now), "watch", 2)
    room = height - len(head) - PANEL - 1
    page = [*head, *filled(_drift(meter, one.drift, width, room), width, room)]
    panel = filled(_panel(check, typed, width), width, PANEL)
    return [*filled([*page, *panel], width, height - 1), _footer(check, state, width)]


def mark_words(mark: MarkSeen, now: Instant) -> str:
    """A mark that stands: from when to when, by whom, and for what."""
    since, until = Instant(mark.since, now.offset).short(), Instant(mark.until, now.offset).short()
    return f"SUSPECT {since} to {until}, marked by {mark.who}: {mark.reason or 'failed its check'}"


def _drift(meter: Instrument, drift: Sequence[Found], width: int, room: int) -> list[Line]:
    """As found over time, a check a line, newest last, each with its place between the limits."""
    if room < 2:
        return []
    if not drift or meter.within is None:
        words = "Nothing was found yet." if meter.check else "The plan names no check for it."
        return [blank(width), line(width, Span(f" {words}", "dim"))]
    cells = min(48, width - 30)
    found = drift[-(room - 1) :]
    edge = SHOWN * meter.within
    offs = [max(-edge, min(edge, _off(one, meter))) for one in found]
    scale = Scale(-edge, edge, cells)
    right = right_now(meter, drift)
    ends = () if right is None else limits(meter, right)
    figures = [" "] * cells
    for off, end in zip((-meter.within, meter.within), ends, strict=False):
        words = f"{end:.{decimals(meter)}f}".rstrip("0").rstrip(".")
        start = max(0, min(scale.cell(off) - len(words) // 2, cells - len(words)))
        figures[start : start + len(words)] = words
    lines = [
        line(
            width,
            Span(text.pad(f" as found, {meter.check}", 28), "dim"),
            Span("".join(figures), "dim"),
        )
    ]
    for row, away in zip(found, offs, strict=True):
        tone = "plain" if row.passed else "act"
        value = text.pad(f"{row.value:.{decimals(meter)}f}", 9, ">")
        strip = track([away], meter.within, scale, out=not row.passed)
        day = row.at.wall
        when = f"{day.day:>2} {day:%b %H:%M}"
        lines.append(line(width, f" {when} ", Span(f"{value}      ", tone), Span(strip, tone)))
    return lines


def _panel(check: CheckView, typed: str, width: int) -> list[Line]:
    """The question of the step, what was just said, and what is typed, large."""
    meter, step = check.meter, check.step
    who = f"{check.who} " if check.who else ""
    title = f" Check of meter {meter.code}"
    right = f"{meter.check} {check.limits}  {who}".rstrip() + " "
    lines = [spread(width, [Span(title, "head")], [Span(right, "head")], "head")]
    asked = check.asked
    said = ""
    if check.said:
        said = check.said
        tone = "act" if check.wrong and step != FOUND else "ok" if step in ("left", OVER) else ""
        lines += wrapped(width, said, tone or "check", 5)
    if step == READY:
        return [*lines, *wrapped(width, asked.words, "plain", 7), *_keys(asked.keys, width)]
    if asked.words:
        lines += wrapped(width, asked.words, "bold", 2)
    lines += _keys(asked.keys, width)
    if step in NUMBERS and len(lines) + 3 <= PANEL:
        lines += _entry(typed, width)
    elif step in NUMBERS or (step in LISTS and check.digits > 1):
        lines.append(line(width, Span(f"  {typed}_", "entry")))
    return lines


def _entry(typed: str, width: int) -> list[Line]:
    figures = big(typed, width - 6) if typed else ("", "", "___")
    if figures is None:
        figures = ("", typed + "_", "")
    return [line(width, Span(f"   {row}", "entry")) for row in figures]


def _keys(keys: Sequence[tuple[str, str]], width: int) -> list[Line]:
    """Keys and what they mean here; as many abreast as fit."""
    made: list[list[Span | str]] = []
    used = width
    for key, words in keys:
        size = text.width(key) + text.width(words) + 3
        if used + size > width:
            made.append([Span(" ")])
            used = 1
        made[-1] += [Span(key, "key"), Span(f" {words}  ")]
        used += size
    return [line(width, *spans) for spans in made]


def _footer(check: CheckView, state: MeterState, width: int) -> Line:
    step = check.step
    if step in LISTS and step != WHO:
        return footer("ask", width)
    if step == READY:
        return footer("none", width, [("+", "ready"), ("Esc", "back"), ("?", "help")])
    if step in NUMBERS:
        return footer("none", width, [("Enter", "keep"), ("Esc", "to the meters"), ("?", "help")])
    lift = [("-", "take the mark back")] if state.marks else []
    if step == OVER:
        return footer("none", width, [("Enter", "to the meters"), *lift, ("?", "help")])
    return footer("none", width, [("0-9", "who checks"), *lift, ("Esc", "back"), ("?", "help")])
