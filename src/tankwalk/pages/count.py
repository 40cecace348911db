"""The page of the counting pad: sub-samples with their bars, what they come to, enough or not."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.pages import count_words as words
from tankwalk.pages.big import big
from tankwalk.pages.lines import Line, Span, blank, filled, line, spread, wrapped
from tankwalk.practice.counting.pad import CV_LIMIT, Count, State, Worked
from tankwalk.rows import NamedTuple

FIGURES = 3
FIGURES_AT, STATS_AT = 3, 19
NUMBER, COLUMN, PER_ML = 11, 10, 14
"""Cells of a sub-sample's number, of each of its columns, and of what it is per mL."""

BAR = 20
"""Cells of the longest bar."""


class CountView(NamedTuple):
    """All the page shows: the count, what it comes to, who counts, when, and what is said."""

    counted: Count
    worked: Worked | None
    who: str
    now: Instant
    said: str = ""
    tone: str = "check"


def draw(view: CountView, width: int, height: int, typed: str = "") -> list[Line]:
    """The page without its last row, exactly `height` rows; `typed` is what is being typed."""
    foot = _foot(view, width, typed)
    airy = height >= 20
    top = [_head(view, width), *wrapped(width, words.how(view.counted.about), "plain", 2)]
    top += [blank(width)] if airy else []
    top.append(_heading(view.counted, width))
    rows, here = _rows(view, width, typed)
    room = max(1, height - len(top) - len(foot) - (1 if airy else 0))
    first = max(0, min(here - room + 1, len(rows) - room)) if len(rows) > room else 0
    first = min(first, here)
    shown = rows[first : first + room]
    return filled([*top, *shown, *([blank(width)] if airy else []), *foot], width, height)


def _head(view: CountView, width: int) -> Line:
    who = f", {view.who}" if view.who else ""
    when = view.now.hm() if width < 60 else f"{view.now.short()[:-6]}  {view.now.hm()}"
    return spread(width, [f" COUNT  {words.title(view.counted.about)}{who}"], [f"{when} "], "head")


def _heading(count: Count, width: int) -> Line:
    word = words.one_of(count.about.sort)
    names = [words.COLUMNS[what] for what in count.about.sort.columns]
    if len(names) == 1:
        names = ["counted"]
    cells = "".join(name.rjust(COLUMN) for name in names)
    return line(width, Span(f"   {word.ljust(NUMBER - 3)}{cells}{'per mL'.rjust(PER_ML)}", "dim"))


def _rows(view: CountView, width: int, typed: str) -> tuple[list[Line], int]:
    """A row a sub-sample, the last one for what is being counted; and which one is stood at."""
    count = view.counted
    about = count.about
    most = max((one.counts[0] for one in count.samples), default=0)
    odd = None if view.worked is None else view.worked.odd
    found = []
    for nth, one in enumerate(count.samples):
        here = count.at == nth
        out = one.out is not None
        tone = "dim" if out else "now" if here else "plain"
        cells = "".join(str(number).rjust(COLUMN) for number in one.counts)
        per_ml = words.figure(one.counts[0] * about.dilution / about.ml)
        spans = [
            Span(f" {'>' if here else ' '} {str(nth + 1).ljust(NUMBER - 3)}", tone),
            Span(f"{cells}{per_ml.rjust(PER_ML)}", tone),
        ]
        used = NUMBER + COLUMN * len(one.counts) + PER_ML + 3
        if one.out is not None:
            spans.append(Span(f"   left out: {one.out.value}", "dim"))
        else:
            drawn = bar(one.counts[0], most, min(BAR, width - used - 7))
            spans.append(Span(f"   {drawn}", "watch" if nth == odd else "past"))
            spans += [Span("  ? odd", "watch")] if nth == odd else []
        found.append(line(width, *spans))
    found.append(_new_row(view, width, typed))
    return found, len(found) - 1 if count.at is None else count.at


def _new_row(view: CountView, width: int, typed: str) -> Line:
    """The sub-sample that is being counted."""
    count = view.counted
    columns = count.about.sort.columns
    done = [str(number) for number in count.part]
    now = f"{typed}_"
    cells = [*done, now, *[""] * (len(columns) - len(done) - 1)]
    mark = ">" if count.at is None else " "
    return line(
        width,
        Span(f" {mark} {str(len(count.samples) + 1).ljust(NUMBER - 3)}", "now"),
        Span("".join(cell.rjust(COLUMN) for cell in cells), "entry"),
    )


def bar(number: int, most: int, cells: int) -> str:
    """A bar that starts at zero, to half a cell."""
    halves = 0 if most <= 0 or cells <= 0 else round(2 * cells * number / most)
    return "\u2588" * (halves // 2) + "\u258c" * (halves % 2)


# ---- the foot: what is typed, large, and what it comes to


def _foot(view: CountView, width: int, typed: str) -> list[Line]:
    count, about = view.counted, view.counted.about
    word = words.one_of(about.sort)
    columns = about.sort.columns
    what = f", {words.COLUMNS[columns[len(count.part)]]}" if len(columns) > 1 else ""
    name = f" {word.capitalize()} {len(count.samples) + 1}{what}, {words.size(about)} "
    title = line(
        width, Span(" \u2500\u2500", "rule"), Span(name, "bold"), Span("\u2500\u2500", "rule")
    )
    said = view.said or words.verdict(count, view.worked)
    tone = view.tone if view.said else _tone(view.worked)
    message = wrapped(width, said, tone, 3, "   ")
    return [title, *_figures(view, width, typed), *filled(message, width, 3)]


def _tone(worked: Worked | None) -> str:
    if worked is None:
        return "dim"
    if worked.state is State.ENOUGH:
        return "ok"
    return "watch" if worked.state is State.UNEVEN else "plain"


def _figures(view: CountView, width: int, typed: str) -> list[Line]:
    """Three rows: the number, large, and beside it mean, range, spread and what all of it holds."""
    large = big(typed, STATS_AT - FIGURES_AT - 1) if typed else ("", "", "___")
    if large is None:
        large = ("", f"{typed}_", "")
    stats = [*_stats(view, width), "", "", ""][:FIGURES]
    rows = []
    for figure, stat in zip(large, stats, strict=True):
        left = figure.ljust(STATS_AT - FIGURES_AT)
        rows.append(
            line(
                width,
                Span(" " * FIGURES_AT),
                Span(left, "entry"),
                Span(text.fit(stat, width - STATS_AT), "bold"),
            )
        )
    return rows


def _stats(view: CountView, width: int) -> list[str]:
    worked = view.worked
    if worked is None:
        return []
    mean = f"mean   {words.figure(worked.per_ml)} per mL"
    aliquots = worked.aliquots
    first = mean
    if worked.many >= 2:
        first = f"{mean}   95 % {words.span(worked.low_ml, worked.high_ml)}"
    if width >= 74 and worked.many >= 2:
        first += f" ({words.which(worked)})"
    found = [first]
    if aliquots.cv is not None:
        found.append(f"CV     {aliquots.cv:.0f} %   limit {CV_LIMIT:.0f} %")
    if rest := words.whole(view.counted, worked):
        more = words.plus_minus(worked) if worked.many >= 2 and width >= 74 else ""
        found.append(f"{rest}{f'  ({more})' if more else ''}")
    return found
