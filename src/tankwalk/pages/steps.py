"""The foot of a page while it asks: the question, its choices by number, what is typed."""

from __future__ import annotations

from tankwalk import text
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, Span, line, wrapped
from tankwalk.practice.dialog import Asking

GAP = "   "
"""Between choices that stand in a row."""

MOST_TOLD = 6
"""Rows that what speaks against an answer takes at most: what can hurt is not cut."""

ABREAST = 2
"""Most lines of choices in a row; more of them stand one below the other."""


def draw(asking: Asking, width: int) -> list[Line]:
    """What is asked and how to answer it, with the keys that work now."""
    step = asking.step
    lines = wrapped(width, step.told, "watch", MOST_TOLD) if step.told and not step.shown else []
    lines += wrapped(width, asking.said, "check", 3) if asking.said else []
    if asking.writing:
        lines += wrapped(width, step.ask, "bold", 2)
        lines.append(line(width, Span("  "), Span(tail(asking.typed, width - 4) + "_", "entry")))
        enter = step.enter if step.enter and not asking.typed else "keep it"
        return [*lines, footer("none", width, [("Enter", enter), *step.quick, ("Esc", "back")])]
    entry = f" Number, then Enter: {asking.typed}_" if asking.two_digits else ""
    lines += wrapped(width, f"{step.ask}{entry}", "bold", 3)
    lines += _choices(asking, width)
    return [*lines, footer("ask", width, [("Enter", step.enter)] if step.enter else [])]


def _choices(asking: Asking, width: int) -> list[Line]:
    """Choices in a row where they fit into few, else one a line; none is broken over two."""
    step = asking.step
    words = [f"{n} {choice}" for n, choice in enumerate(step.choices, 1)]
    if step.zero:
        words.append(f"0 {step.zero}")
    rows = [""]
    for one in words:
        longer = f"{rows[-1]}{GAP}{one}" if rows[-1] else one
        if text.width(longer) <= width - 2:
            rows[-1] = longer
        else:
            rows.append(one)
    if len(rows) > ABREAST:
        rows = words
    return [line(width, Span(f" {text.fit(row, width - 2)}")) for row in rows if row]


def tail(words: str, cells: int) -> str:
    """The end of what is typed, as much as fits into so many cells."""
    kept = words[-max(cells, 0) :] if cells > 0 else ""
    while kept and text.width(kept) > cells:
        kept = kept[1:]
    return kept
