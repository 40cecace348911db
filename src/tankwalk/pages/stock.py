"""The stock of all tanks: book, best, census, unaccounted, density, next handling; the ledger."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.pages import stock_tank
from tankwalk.pages import stock_words as words
from tankwalk.pages.lines import Line, Span, blank, filled, line, spread, window, wrapped
from tankwalk.practice.stock.animal_use import AnimalUse, Use
from tankwalk.practice.stock.reconciling import Verdict
from tankwalk.practice.stock_view import StockRow, StockView

BESIDE = 118
"""From this width on the marked tank stands beside the list."""

LIST = 50
"""Cells of the list then."""

SIZES = (
    ("Book", 8, 0),
    ("Best", 8, 0),
    ("+/-", 6, 0),
    ("Unaccounted", 14, 0),
    ("Census", 9, 1),
    ("fish/L", 8, 2),
    ("Handling", 10, 3),
)
"""Columns: title, cells, and which go first where there is no room (the highest)."""


def draw(
    view: StockView, width: int, height: int | None, at: int = 0, *, marked: bool = True
) -> list[Line]:
    """The page; `at` is the row Enter is about. `height` None: all of it, without a mark."""
    counted = sum(row.numbers is not None and row.numbers.census is not None for row in view.rows)
    best = sum(row.numbers.best.fish for row in view.rows if row.numbers is not None)
    head = [
        spread(width, [f" STOCK  {words.fish(best)} fish, best estimate"],
               [f"{view.now.short()} "], "head"),
        *_worst(view, counted, width),
    ]  # fmt: skip
    if not view.rows:
        return filled(head, width, height or len(head))
    if height is None:
        return [*head, blank(width), *_table(view, width, -1), *_ledger_line(view, width)]
    room = height - len(head) - 1
    if width < BESIDE:
        table = _table(view, width, at if marked else -1)
        shown = _about(table, at + 1, room, width)
        return filled([*head, blank(width), *shown, *_ledger_line(view, width)], width, height)
    below = [blank(LIST), *_one_scale(view, at), *_ledger_line(view, LIST)]
    table = _table(view, LIST, at)
    if len(table) + len(below) > room:
        below = []
    left = filled([*_about(table, at + 1, room - len(below), LIST), *below], LIST, room)
    row = view.rows[at]
    right_width = width - LIST - 3
    title = line(right_width, Span(f"{row.tank.code}  {row.tank.treatment or ''}", "bold"))
    right = [title, *stock_tank.body(row, view.now, right_width)]
    right = window(right, right_width, room, 0, "right: all of it")
    return [
        *head,
        blank(width),
        *((*one, Span(" \u2502 ", "rule"), *other) for one, other in zip(left, right, strict=True)),
    ]


def _one_scale(view: StockView, at: int) -> list[Line]:
    """The best estimate of every tank with its error, all on one scale."""
    known = [
        (row.tank.code, row.numbers.best, "now" if nth == at else "plain")
        for nth, row in enumerate(view.rows)
        if row.numbers is not None
    ]
    if not known:
        return []
    title = line(LIST, Span(" BEST", "bold"), Span("  fish, with +/-", "dim"))
    return [title, *stock_tank.ranges(known, LIST)]


def _about(table: list[Line], at: int, room: int, width: int) -> list[Line]:
    """The part of the table with the marked row in it, under its titles."""
    if len(table) <= room:
        return table
    body, here = table[1:], max(0, min(at - room // 2, len(table) - room))
    return [table[0], *body[here : here + room - 1]]


def _worst(view: StockView, counted: int, width: int) -> list[Line]:
    """What stands out: gaps to be looked into, tanks that were never counted."""
    asked = [
        row.tank.code
        for row in view.rows
        if row.judged and row.judged[-1].verdict in (Verdict.EXPLAIN, Verdict.INVESTIGATE)
    ]
    if asked:
        said = f"Gap at the last census to be explained: {', '.join(asked)}."
        return wrapped(width, said, "watch", 2)
    stocked = sum(row.numbers is not None for row in view.rows)
    if not stocked:
        return wrapped(width, "No fish were entered yet: Enter stocks a tank.", "check", 1)
    if counted < stocked:
        said = f"{stocked - counted} of {stocked} tanks were never counted: best is the book there."
        return wrapped(width, said, "check", 1)
    lost = sum(
        row.numbers.unaccounted.fish
        for row in view.rows
        if row.numbers is not None and row.numbers.unaccounted is not None
    )
    said = f"{words.fish(lost)} unaccounted for, as larvae do; +/- is 95 %."
    if not any(row.judged and row.judged[-1].verdict is Verdict.LARVAE for row in view.rows):
        said = f"{words.fish(lost)} unaccounted for; +/- is 95 %."
    return wrapped(width, said, "plain", 1)


def _columns(width: int) -> list[tuple[str, int, int]]:
    shown = list(SIZES)
    while sum(size for _, size, _ in shown) + 12 > width and any(give for *_, give in shown):
        shown.remove(max(shown, key=lambda one: one[2]))
    return shown


def _table(view: StockView, width: int, at: int) -> list[Line]:
    shown = _columns(width)
    titles = "".join(f"{title:>{size}}" for title, size, _ in shown)
    lines = [line(width, Span(" " * 12 + titles, "dim"))]
    for nth, row in enumerate(view.rows):
        mark, tone = (" > ", "now") if nth == at else ("   ", "plain")
        spans = [Span(f"{mark}{text.pad(row.tank.code, 4)}", tone)]
        spans.append(Span(text.pad(row.tank.treatment or "", 5), "dim"))
        cells = _cells(row, view.now)
        for title, size, _ in shown:
            said, how = cells[title]
            spans.append(Span(f"{text.fit(said, size - 1):>{size}}", how))
        lines.append(line(width, *spans))
    return lines


def _cells(row: StockRow, now: Instant) -> dict[str, tuple[str, str]]:
    """The cells of a tank by title, each with its tone."""
    its = row.numbers
    late = words.handling(row.handling)
    tone = "watch" if row.handling is not None and round(row.handling) > 0 else "plain"
    if its is None:
        cells = {title: ("-", "dim") for title, *_ in SIZES}
        return cells | {"Handling": (late, tone)}
    lost = its.unaccounted
    share = "-"
    how = "plain"
    if lost is not None:
        share = words.fish(lost.fish)
        if its.stocked.fish:
            share += f" {100 * lost.fish / its.stocked.fish:.0f} %"
        how = words.TONES[row.judged[-1].verdict]
    census = (
        "never"
        if its.census is None or its.census.at is None
        else words.date_of(its.census.at, now)
    )
    return {
        "Book": (words.fish(its.book.fish), "dim"),
        "Best": (words.fish(its.best.fish), "bold"),
        "+/-": (words.error(its.best), "plain"),
        "Unaccounted": (share, how),
        "Census": (census, "check" if census == "never" else "plain"),
        "fish/L": ("-" if row.per_l is None else f"{row.per_l:.1f}", "plain"),
        "Handling": (late, tone),
    }


def _ledger_line(view: StockView, width: int) -> list[Line]:
    """Animals used against the approved number, in a line."""
    use = view.use
    if use.share is None:
        return []
    said = (
        f"Animals: {words.fish(use.total.stocked)} of {words.fish(use.approved)} approved, "
        f"{100 * use.share:.0f} %{f', protocol {use.code}' if use.code else ''}."
    )
    if use.warns:
        said += " 90 % is reached: tell the lead before more are stocked."
    return [blank(width), *wrapped(width, said, "watch" if use.warns else "dim", 2)]


# ---- the animal-use ledger

FATES = (
    ("stocked", "Stocked"), ("moved", "Moved"), ("dead", "Morts"), ("mass", "Mass"),
    ("culled", "Culled"), ("cannibals", "Cannib."), ("sampled", "Sampled"),
    ("escaped", "Escaped"), ("closing", "Book"),
)  # fmt: skip
"""Columns of the ledger: the field, and its title."""


def ledger(use: AnimalUse, name: str, now: Instant, width: int) -> list[Line]:
    """What came in, what went by fate, what the book holds, tank by tank and in all."""
    of = f"  {use.code}" if use.code else ""
    lines = [spread(width, [f" ANIMAL USE{of}  {name}"], [f"{now.short()} "], "head"), blank(width)]
    size = 8
    fits = (width - 7) // size
    for start in range(0, len(FATES), fits):
        part = FATES[start : start + fits]
        lines.append(line(width, Span("       " + "".join(f"{t:>{size}}" for _, t in part), "dim")))
        lines += [_use(one, part, size, width) for one in use.tanks]
        lines += [_use(use.total, part, size, width, "bold"), blank(width)]
    lost = f"Unaccounted for at the last census, of the book: {words.fish(use.unaccounted)}."
    lines += wrapped(width, lost, "plain", 2)
    if use.share is None:
        said = "The plan says no approved number: [protocol] approved = 60000 in plan.toml."
        return [*lines, *wrapped(width, said, "dim", 2)]
    said = (
        f"Stocked {words.fish(use.total.stocked)} of {words.fish(use.approved)} approved: "
        f"{100 * use.share:.0f} %."
    )
    if use.warns:
        said += " 90 % is reached: tell the lead before more are stocked."
    return [*lines, *wrapped(width, said, "watch" if use.warns else "plain", 2)]


def _use(
    one: Use, shown: Sequence[tuple[str, str]], size: int, width: int, tone: str = "plain"
) -> Line:
    numbers = "".join(f"{words.fish(getattr(one, field)):>{size}}" for field, _ in shown)
    return line(width, Span(f" {text.pad(one.place, 6)}{numbers}", tone))
