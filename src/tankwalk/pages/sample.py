"""The page of a sitting: fish as typed, dots of now and of last time, what they come to, and what
is asked, large. Where it is wide: a histogram and the sittings before."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor

from tankwalk import text
from tankwalk.figures import show
from tankwalk.pages import sample_words as words
from tankwalk.pages.big import big
from tankwalk.pages.lines import Line, Span, blank, filled, line, spread, wrapped
from tankwalk.pages.when import day_of
from tankwalk.practice.samples import fish
from tankwalk.practice.samples.fish import ASKED_AGAIN, Look
from tankwalk.practice.samples.growth_table import Point
from tankwalk.practice.samples.sitting import Asked
from tankwalk.practice.samples.sitting_talk import named
from tankwalk.practice.samples.sitting_view import SittingView

GRID_AT = 6
"""Cells of the number that begins a row of fish."""
FIVE = 5
"""Fish a row, to check against the tray."""
FIGURES_AT, FIGURES = 3, 16
PLOT_AT = 9
"""Where the scale of the dots begins."""
WIDE, SIDE = 110, 44
"""From so many cells on the page has a side, of so many."""
STEPS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)


def draw(view: SittingView, width: int, height: int, typed: str = "") -> list[Line]:
    """The page without its last row, exactly `height` rows; `typed` is what is being typed."""
    if width < WIDE:
        return _page(view, width, height, typed)
    left = _page(view, width - SIDE, height - 1, typed)
    side = filled(_side(view, SIDE), SIDE, height - 1)
    head = _head(view, width)
    return [
        head,
        *(line(width, *a, *b) for a, b in zip(left[1:], side, strict=False)),
        blank(width),
    ][:height]


def _page(view: SittingView, width: int, height: int, typed: str) -> list[Line]:
    foot = _foot(view, width, typed)
    airy = height >= 22
    top = [_head(view, width), _under(view, width)]
    dots = _dots(view, width) if height >= 19 else []
    gaps = 1 + (1 if dots else 0) if airy else 0
    room = max(1, height - len(top) - len(foot) - len(dots) - gaps)
    rows, here = _grid(view, width, typed)
    first = max(0, min(here - room + 1, len(rows) - room)) if len(rows) > room else 0
    above = f"    {first} row{'s' * (first != 1)} of fish above" if first else ""
    top += [line(width, Span(above, "dim"))] if airy else []
    shown = rows[first : first + room]
    if len(shown) < room:
        shown = filled(shown, width, room)
    return filled(
        [*top, *shown, *dots, *([blank(width)] if airy and dots else []), *foot], width, height
    )


def printed(view: SittingView, width: int) -> list[Line]:
    """The sitting for paper and a reader: all fish, and all that they come to."""
    none_asked = view._replace(asked=Asked(0, view.looks[0]), doubt=None)
    rows, _ = _grid(none_asked, width, "")
    return [
        *_heads(none_asked, width), blank(width), *rows, *_dots(view, width),
        blank(width), *_stats(view, width), *_more(view, width, 40), *_side(view, width),
    ]  # fmt: skip


def _heads(view: SittingView, width: int) -> list[Line]:
    """The head for paper and a reader: where the page would cut its words, they stand below it."""
    who = f", {view.who}" if view.who else ""
    when = f"{view.now.short()[:-6]}  {view.now.hm()} "
    age = "" if view.age is None or view.blind else f"{view.treatment}, {view.age} dph. "
    whole = f" SAMPLE  {words.title(view)}{who}"
    left = f" {age.lstrip(', ')}{words.how(view)}"
    many = _many(view)
    heads = [spread(width, [whole], [when], "head")]
    if text.width(whole) + text.width(when) + 2 > width:
        heads = [spread(width, [f" SAMPLE  {view.tank}{who}"], [when], "head")]
        heads += wrapped(width, f"{named(view.looks).capitalize()}, fish by fish.", "plain", 3)
    if text.width(left) + text.width(many) + 3 <= width:
        return [*heads, spread(width, [Span(left, "dim")], [Span(f"{many} ", "bold")], "plain")]
    heads += wrapped(width, left.strip(), "dim", 3)
    return [*heads, *wrapped(width, f"{many} fish.", "bold", 1)]


def _head(view: SittingView, width: int) -> Line:
    who = f", {view.who}" if view.who else ""
    when = view.now.hm() if width < 70 else f"{view.now.short()[:-6]}  {view.now.hm()}"
    title = words.title(view) if width >= 70 else view.tank
    return spread(width, [f" SAMPLE  {title}{who}"], [f"{when} "], "head")


def _under(view: SittingView, width: int) -> Line:
    """What is typed of each fish, and how far one is."""
    age = ""
    if width >= 70 and view.age is not None and not view.blind:
        age = f"{view.treatment}, {view.age} dph. ".lstrip(", ")
    how = words.how(view) if width >= 70 else words.how_short(view)
    return spread(
        width, [Span(f" {age}{how}", "dim")],
        [Span(f"{_many(view)} ", "bold")], "plain",
    )  # fmt: skip


def _many(view: SittingView) -> str:
    """How many fish are done, of how many, and how many were left out."""
    many = len([one for one in view.fish if one.nth != view.asked.nth or view.asked.again])
    left_out = sum(one.left_out not in (None, ASKED_AGAIN) for one in view.fish)
    out = f", {left_out} left out" if left_out else ""
    return f"{many} of {view.planned}{out}"


# ---- the fish, five to a row


def _grid(view: SittingView, width: int, typed: str) -> tuple[list[Line], int]:
    """Rows of fish with the one that is asked for among them, and the row it stands in."""
    cells: dict[int, tuple[str, str]] = {}
    decimals = words.decimals(view)
    for one in view.fish:
        shown = words.cell(one, view.looks, decimals)
        if one.left_out == ASKED_AGAIN:
            cells[one.nth] = f"{shown}?", "check"
        elif one.left_out is not None:
            cells[one.nth] = f"{shown} out", "dim"
        else:
            cells[one.nth] = shown, "plain"
    nth = view.asked.nth
    known = next((one for one in view.fish if one.nth == nth), None)
    part = words.cell(known, view.looks, decimals) if known is not None else ""
    if view.doubt is not None or view.asked.again:
        cells[nth] = f">{part}", "entry"
    else:
        # What is not known of it yet gives way to what is being typed.
        done = part.rstrip(".- ").strip()
        cells[nth] = f"> {f'{done} ' if done else ''}{typed}_", "entry"
    size = max(8, *(text.width(shown) + 2 for shown, _ in cells.values()))
    abreast = next((many for many in (FIVE, 4, 3, 2, 1) if GRID_AT + many * size <= width - 1), 1)
    last = max(cells)
    rows: list[Line] = []
    here = 0
    for start in range(1, last + 1, abreast):
        spans = [Span(f"{start:>{GRID_AT - 1}} ", "dim")]
        for at in range(start, min(start + abreast, last + 1)):
            shown, tone = cells.get(at, ("", "plain"))
            spans.append(Span(text.pad(shown, size, ">" if len(view.looks) == 1 else "<"), tone))
            here = len(rows) if at == nth else here
        rows.append(line(width, *spans))
    return rows, here


# ---- dots of now and of last time on one scale


def plotted(view: SittingView) -> Look | None:
    """The measured look that is drawn: the one asked for, else the first."""
    measured = [look for look in view.looks if look.measured]
    if view.asked.look in measured:
        return view.asked.look
    return measured[0] if measured else None


def _dots(view: SittingView, width: int) -> list[Line]:
    look = plotted(view)
    if look is None:
        return []
    now = fish.standing(view.fish, look)
    last = fish.standing(view.before.fish, look)
    mean, sample = view.before.mean(look), view.before.samples.get(look)
    ends = [*now, *last]
    sd = None
    if not last and mean is not None and sample is not None:
        sd = 0.0 if sample.sd is None or not sample.mean else mean * sample.sd / sample.mean
        ends += [mean - 2 * sd, mean + 2 * sd]
    if not ends:
        return []
    cells = min(width - PLOT_AT - 8, 66)
    low, step, many = _scale(min(ends), max(ends), cells)

    def at(value: float) -> int:
        return min(cells - 1, max(0, round((value - low) / (step * many) * (cells - 1))))

    axis = [" "] * (cells + 4)
    for nth in range(many + 1):
        label = f"{low + nth * step:.10g}"
        begin = max(0, at(low + nth * step) - len(label) // 2)
        axis[begin : begin + len(label)] = label
    scale = line(
        width,
        Span(" " * PLOT_AT),
        Span("".join(axis)[: cells + 3], "dim"),
        Span(f" {look.unit}", "dim"),
    )
    drawn = [scale, line(width, Span(f"   {'now':<6}"), Span(_row(now, at, cells, "●"), "entry"))]
    day = "" if sample is None else day_of(sample.at, view.now)
    if last:
        shown = _row(last, at, cells, "○")
    elif mean is not None and sd is not None:
        inside = ["─" if at(mean - sd) <= n <= at(mean + sd) else " " for n in range(cells)]
        inside[at(mean)] = "○"
        shown = f"{''.join(inside).rstrip()}  mean, SD"
    else:
        return drawn
    return [
        *drawn,
        line(width, Span(f"   {day:<6}", "dim"), Span(shown, "past" if last else "dim")),
    ]


def _scale(least: float, most: float, cells: int) -> tuple[float, float, int]:
    """Where a scale begins, its step, and how many steps it has: five or so, round numbers."""
    wide = max(most - least, most * 0.02, 1e-9)
    step = next((one for one in STEPS if wide / one <= max(3, cells // 10)), STEPS[-1])
    low = floor(least / step) * step
    many = max(1, ceil((most - low) / step - 1e-9))
    return low, step, many


def _row(values: Sequence[float], at: object, cells: int, dot: str) -> str:
    """A dot a fish; where several lie in one cell, how many."""
    assert callable(at)
    found = [0] * cells
    for value in values:
        found[at(value)] += 1
    return "".join(
        " " if not many else dot if many == 1 else str(many) if many < 10 else "*" for many in found
    ).rstrip()


# ---- the foot


def _foot(view: SittingView, width: int, typed: str) -> list[Line]:
    asked = view.asked
    again = ", again" if asked.again else ""
    name = f" Fish {asked.nth}, {words.LOOKS[asked.look]}{again} "
    title = line(width, Span(" ──", "rule"), Span(name, "bold"), Span("──", "rule"))
    beside = width >= 74
    stats = _stats(view, width - (FIGURES_AT + FIGURES if beside else 3))
    rows = []
    if beside:
        large = (
            big(typed, FIGURES - 1) if typed else ("", "", "___" if asked.look.measured else "+ -")
        )
        if large is None:
            large = ("", f"{typed}_", "")
        shown = filled(stats[:3], width - FIGURES_AT - FIGURES, 3)
        for figure, stat in zip(large, shown, strict=True):
            left = Span(figure.ljust(FIGURES), "entry")
            rows.append(line(width, Span(" " * FIGURES_AT), left, *stat))
        rows += [line(width, Span("   "), *stat) for stat in stats[3:]]
    else:
        entry = f"{typed}_" if asked.look.measured else "+ or -"
        rows = [line(width, Span("   "), Span(entry, "entry"))]
        rows += [line(width, Span("   "), *stat) for stat in stats]
    more = _more(view, width, 3 if beside else 2)
    return [title, *rows, *more, *_message(view, width)]


def _stats(view: SittingView, width: int) -> list[Line]:
    """What the measured fish come to, then K and shares; parts are never cut."""
    tone = "bold"
    rows: list[Line] = []
    for parts in words.size_lines(view.worked, view.looks):
        rows += _packed(parts, width, tone)
    if shape := words.shape_parts(view.worked):
        rows += _packed(shape, width, "plain")
    return rows


def _more(view: SittingView, width: int, most: int) -> list[Line]:
    """Whether they are enough, what they grew, and who could eat whom."""
    rows: list[Line] = []
    eaten = words.eaten_words(view.worked)
    if eaten:
        rows += wrapped(width, eaten, "act" if view.worked.eaters > 1 else "watch", 3, "   ")
    if enough := words.enough_parts(view.worked, view.looks):
        sure = all("enough" in part for part in enough)
        rows += _packed(enough, width, "ok" if sure else "plain", "   ")
    if grown := words.grown_parts(view.grown):
        rows += _packed(grown, width, "dim", "   ")
    if fit := words.fit_words(view.worked):
        rows += _packed((fit,), width, "dim", "   ")
    return filled(rows, width, min(most, len(rows))) if rows else []


def _packed(parts: Sequence[str], width: int, tone: str, indent: str = "") -> list[Line]:
    """Parts in rows, none broken; three blanks between."""
    rows: list[str] = []
    for part in parts:
        longer = f"{rows[-1]}   {part}" if rows else ""
        if rows and text.width(longer) <= width - len(indent) - 1:
            rows[-1] = longer
        else:
            rows.append(part)
    return [line(width, Span(f"{indent}{row}", tone)) for row in rows]


def _message(view: SittingView, width: int) -> list[Line]:
    """What is asked about a number, or what was said or kept."""
    if view.doubt is not None:
        said = words.doubt_words(view.doubt)
        head = wrapped(width, f"? {said[0]}", "check", 2, "   ")
        return [*head, *(line(width, Span(f"     {row}", "bold")) for row in said[1:])]
    if view.said:
        return wrapped(width, view.said, view.tone, 4, "   ")
    return wrapped(width, words.last_of(view), "ok" if view.fish else "dim", 1, "   ")


# ---- the side of a wide page


def _side(view: SittingView, width: int) -> list[Line]:
    rows = [blank(width)]
    look = plotted(view)
    if look is not None:
        rows += _histogram(view, look, width)
    if view.points:
        rows += [blank(width), *points_table(view.points, view, width)]
    if Look.LENGTH in view.looks and Look.MASS in view.looks and view.fish:
        rows += [blank(width), *_newest_fish(view, width)]
    return rows


def _newest_fish(view: SittingView, width: int) -> list[Line]:
    """The fish one by one, the newest first, each with its K: one that is odd stands out there."""
    rows = [line(width, Span(f" {'fish':<7}{'mm':>6}{'':>6}{'mg':>7}{'K':>6}", "dim"))]
    for one in view.fish[::-1]:
        k = None
        if one.length is not None and one.mass is not None:
            k = fish.condition_of(one.length, one.mass)
        doubt = one.left_out == ASKED_AGAIN
        out = "  ?" if doubt else "  left out" if one.left_out is not None else ""
        tone = "check" if doubt else "dim" if out else "plain"
        words = f"{show(one.length, '', 1):>6}{'':>6}{show(one.mass, '', 1):>7}{show(k, '', 2):>6}"
        rows.append(line(width, Span(f" {one.nth:<7}", "dim"), Span(f"{words}{out}", tone)))
    return rows


def _histogram(view: SittingView, look: Look, width: int) -> list[Line]:
    """Bars of now, with the last sitting's number beside, in the same classes."""
    now, last = fish.standing(view.fish, look), fish.standing(view.before.fish, look)
    if not now:
        return []
    low, step, many = _scale(min([*now, *last]), max([*now, *last]), 80)

    def counted(values: Sequence[float]) -> list[int]:
        found = [0] * many
        for value in values:
            found[min(many - 1, max(0, floor((value - low) / step + 1e-9)))] += 1
        return found

    ours, theirs = counted(now), counted(last)
    most = max([*ours, 1])
    room = min(40, width - 26)
    day = day_of(view.before.at, view.now) if view.before.at is not None and last else ""
    rows = [
        line(
            width, Span(f" {look.unit:>13}   now"), Span(" " * (room - 2)), Span(f"{day:>6}", "dim")
        )
    ]
    for nth, number in enumerate(ours):
        left = f"{low + nth * step:.10g} - {low + (nth + 1) * step:.10g}"
        bar = "█" * round(room * number / max(most, room))
        before = f"{theirs[nth]:>6}" if last and theirs[nth] else " " * 6
        count = f"{number}" if number else "·"
        rows.append(
            line(
                width,
                Span(f" {left:>13} ", "dim"),
                Span(f"{count:>3} "),
                Span(bar.ljust(room), "point"),
                Span(before, "dim"),
            )
        )
    return rows


def points_table(points: Sequence[Point], view: SittingView, width: int) -> list[Line]:
    """The days a tank was sampled, newest first: mm, CV, mg, K, SGR."""
    rows = [line(width, Span(f" {'':<7}{'mm':>6}{'CV %':>6}{'mg':>7}{'K':>6}{'SGR':>6}", "dim"))]
    for one in points[::-1]:
        sgr = None if one.grown is None else one.grown.sgr
        rows.append(
            line(
                width,
                Span(f" {day_of(one.at, view.now):<7}", "dim"),
                Span(
                    f"{show(one.length, '', 1):>6}{show(one.cv, '', 0):>6}"
                    f"{show(one.mass, '', 1):>7}{show(one.k, '', 2):>6}{show(sgr, '', 1):>6}"
                ),
            )
        )
    return rows
