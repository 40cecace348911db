"""The page of samples: every tank with what was found last, and what is due, a column a kind."""

from __future__ import annotations

from tankwalk import figures as numbers
from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.pages.lines import Line, Span, blank, filled, line, spread, wrapped
from tankwalk.pages.when import day_of
from tankwalk.practice.samples.entering import figures
from tankwalk.practice.samples.sampling import Cell, SamplesView

TANK = 11
"""Cells of the mark, the tank and its treatment."""

NARROWEST = 15
"""Cells a kind of sample takes at the least; where they do not all fit, those about the cursor."""


def draw(view: SamplesView, at: tuple[int, int], width: int, height: int | None) -> list[Line]:
    """The page; `at` is row and column of the sample Enter asks for, -1 where it prints.

    `height` None: all of it.
    """
    many = view.due
    due = f"{many} due" if many else "none due"
    order = ", order by lot" if view.blind else ""
    head = [spread(width, [f" SAMPLES  {due}{order}"], [f"{view.now.short()} "], "head")]
    if not view.rows:
        words = "The plan asks for no sample of a tank that holds fish: [[sampling]] in plan.toml."
        head += wrapped(width, words, "check", 2)
        return head if height is None else filled(head, width, height)
    y, x = at
    shown = _columns(len(view.kinds), x, width)
    size = (width - TANK - 1) // len(shown)
    here = view.rows[y].cells[x]
    if y >= 0:
        head += _here(view.rows[y].tank.code, here, view.now, width)
    head.append(blank(width))
    titles = [Span(" " * TANK)]
    titles += [Span(text.pad(_title(view, n), size), "bold") for n in shown]
    head.append(line(width, *titles))
    decimals = {n: _decimals(view, n) for n in shown}
    rows = []
    for nth, row in enumerate(view.rows):
        mark, tone = (" > ", "now") if nth == y else ("   ", "plain")
        spans = [Span(f"{mark}{text.pad(row.tank.code, 4)}", tone)]
        arm = "" if view.blind else row.tank.treatment or ""
        spans.append(Span(text.pad(arm, TANK - 7), "dim"))
        for n in shown:
            words, how = _cell(row.cells[n], decimals[n], view.now, size - 1)
            if (nth, n) == (y, x):
                # Marked by a sign too: the tone alone is not seen everywhere.
                spans += [Span(text.pad(f">{words.removeprefix(' ')}", size - 1), "now"), Span(" ")]
            else:
                spans.append(Span(text.pad(words, size), how))
        rows.append(line(width, *spans))
    if height is None:
        return [*head, *rows]
    room = height - len(head)
    top = max(0, min(y - room // 2, len(rows) - room))
    return filled([*head, *rows[top : top + room]], width, height)


def _columns(kinds: int, x: int, width: int) -> range:
    """The kinds that fit, with the one at the cursor among them."""
    fit = max(1, min(kinds, (width - TANK - 1) // NARROWEST))
    first = max(0, min(x - fit // 2, kinds - fit))
    return range(first, first + fit)


def _title(view: SamplesView, nth: int) -> str:
    unit = view.rows[0].cells[nth].sampling.unit
    name = view.kinds[nth].capitalize()
    return f"{name}, {unit}" if unit else name


def _here(tank: str, cell: Cell, now: Instant, width: int) -> list[Line]:
    """What Enter asks for, and what was found last, in full."""
    last = cell.last
    before = "" if last is None else f"  {day_of(last.at, now)}: {figures(last)}."
    if cell.late is None:
        label = f" {tank} {cell.sampling.label}: not asked at this age."
        return _together(Span(label), before, width)
    late, words = round(cell.late), "due today"
    if late > 0:
        words = f"due since {late} day{'s' * (late != 1)}"
    elif late < 0:
        words = f"due in {-late} day{'s' * (late != -1)}"
    tone = "watch" if late > 0 else "plain"
    label = f" {tank} {cell.sampling.label}: {words}."
    if last is not None and text.width(label + before) > width:  # a number is not cut
        before = before.partition(", SD ")[0] + "."
    return _together(Span(label, tone), before, width)


def _together(label: Span, before: str, width: int) -> list[Line]:
    """In one row where there is room, else in two: nothing of it is cut."""
    if text.width(label.text + before) <= width:
        return [line(width, label, Span(before, "dim"))]
    return [line(width, label), line(width, Span(f"   {before.strip()}", "dim"))]


def _decimals(view: SamplesView, nth: int) -> int:
    """Decimals of a column: as many as the most that was entered of a mean."""
    means = [c.last.mean for row in view.rows if (c := row.cells[nth]).last is not None]
    texts = [numbers.number_text(mean) for mean in means if mean is not None]
    return max((len(one.partition(".")[2]) for one in texts), default=0)


def _cell(cell: Cell, decimals: int, now: Instant, cells: int) -> tuple[str, str]:
    """The last of a kind, with its day or with how it is due, and its tone."""
    last = cell.last
    if last is None:
        number = "-"
    elif last.with_it is not None:
        number = f"{last.with_it}/{last.looked_at}"
    else:
        number = numbers.show(last.mean, "", decimals)
    number = f"{number:>6}"
    if cell.late is None or cell.late < 0:
        day = "" if last is None else f"  {day_of(last.at, now)}"
        return text.fit(number + day, cells), "dim" if cell.late is None else "plain"
    late = round(cell.late)
    if late > 0:
        return text.fit(f"{number}  ! {late} d over", cells), "watch"
    return text.fit(f"{number}  due", cells), "bold"


# ---- growth, tank by tank

GROWTH_WIDE = 78
"""Cells the table of growth takes."""


def growth(view: SamplesView, width: int) -> list[Line]:
    """What each tank's fish came to last, and what they grew since the sample before."""
    if not view.growth:
        return []
    heads = (("fish", 6), ("mm", 7), ("CV %", 6), ("mg", 8), ("K", 6), ("mm/d", 7), ("SGR %/d", 9),
             ("TGC", 6))  # fmt: skip
    first = "".join(f"{word:>{size}}" for word, size in heads)
    rows = [
        line(
            width,
            Span(" GROWTH", "bold"),
            Span("  since the sample before; a row a tank", "dim"),
        ),
        line(width, Span(f"   {'':<8}{'':<6}{'':<7}{first}", "dim")),
    ]
    for tank in view.growth:
        one = tank.points[-1]
        grown = one.grown
        cells = (
            (str(one.n), 6), (numbers.show(one.length, "", 1), 7), (numbers.show(one.cv, "", 0), 6),
            (numbers.show(one.mass, "", 1), 8), (numbers.show(one.k, "", 2), 6),
            (numbers.show(grown and grown.mm_a_day, "", 2), 7),
            (numbers.show(grown and grown.sgr, "", 1), 9),
            (numbers.show(grown and grown.tgc, "", 2), 6),
        )  # fmt: skip
        said = "".join(f"{word:>{size}}" for word, size in cells)
        arm = "" if view.blind else tank.treatment
        rows.append(
            line(
                width,
                Span(f"   {text.pad(tank.tank, 8)}"),
                Span(text.pad(arm, 6), "dim"),
                Span(f"{day_of(one.at, view.now):<7}", "dim"),
                Span(said),
            )
        )
    return rows
