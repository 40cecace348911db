"""The page of what is open: flags, what is altered and what is to do, in one numbered list."""

from __future__ import annotations

from tankwalk import text
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, spread, wrapped
from tankwalk.practice.doing.open_list import ALTERED, FLAGS, SECTIONS, TO_DO, OpenList, OpenRow
from tankwalk.practice.judging.flags import Standing

NOTHING = {
    FLAGS: "nothing is out of band",
    ALTERED: "nothing altered",
    TO_DO: "no open action",
}
"""What stands under a heading without a row; the other sections are left out."""

MARK = 11
"""Cells of a flag's mark."""


def draw(seen: OpenList, width: int) -> list[Line]:
    """The whole list, as many lines as it needs."""
    title, when = f" OPEN  {seen.name}", f"{seen.now.short()} "
    if text.width(title) + text.width(when) + 2 <= width:
        lines = [spread(width, [title], [when], "head")]
    else:
        lines = [spread(width, [each], [], "head") for each in (title, f" {when}")]
    for section in SECTIONS:
        rows = seen.of(section)
        if not rows and section not in NOTHING:
            continue
        count = f"  {len(rows)}" if rows else ""
        lines += [blank(width), line(width, Span(f" {section}{count}", "bold"))]
        for number, row in rows:
            lines += _row(number, row, width)
        if not rows:
            lines.append(line(width, Span(f"     {NOTHING[section]}", "dim")))
    return lines


def _row(number: int, row: OpenRow, width: int) -> list[Line]:
    """A number, what it says, and its terms beside it, or below where both have no room."""
    spans = [Span(f" {number:>2} ", "key")]
    tone = "watch" if "LATE " in row.terms or "decides" in row.terms else "dim"
    if isinstance(row.about, Standing):
        shelved = row.about.state == "shelved"
        mark = text.pad(row.about.flag.mark, MARK)
        spans.append(Span(mark, "dim" if shelved else flag_tone(row.about.flag)))
    indent = sum(text.width(span.text) for span in spans)
    first, *rest = text.wrap(row.words, max(10, width - indent - 1)) or [""]
    if not rest and indent + text.width(first) + text.width(row.terms) + 3 <= width:
        return [spread(width, [*spans, first], [Span(f"{row.terms} ", tone)], "plain")]
    lines = [line(width, *spans, first)]
    lines += [line(width, " " * indent + more) for more in rest]
    return lines + wrapped(width, row.terms, tone, 4, indent=" " * 6)
