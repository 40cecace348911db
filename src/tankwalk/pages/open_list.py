"""The page of what is open: flags, what is altered and what is to do, in one numbered list."""

from __future__ import annotations

from itertools import zip_longest

from tankwalk import text
from tankwalk.pages import feed_words, flag_story, follow_up_words
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, spread, wrapped
from tankwalk.practice.budget import DAYS, Noise
from tankwalk.practice.doing.follow_ups import Carried
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.open_list import OpenList, OpenRow, OpenSection

NOTHING = {
    OpenSection.FLAGS: "nothing is out of band",
    OpenSection.ALTERED: "nothing altered",
    OpenSection.TO_DO: "no open action",
}
"""What stands under a heading without a row; the other sections are left out."""

MARK = 11
"""Cells of a flag's mark."""

SIDE = 32
"""Cells of the column that says whose it is and by when, where the page is wide enough for it."""

WIDE = 78
"""From this width on how it stands has a column of its own."""


def draw(seen: OpenList, width: int) -> list[Line]:
    """The whole list, as many lines as it needs."""
    title, when = f" OPEN  {seen.name}", f"{seen.now.short()} "
    if text.width(title) + text.width(when) + 2 <= width:
        lines = [spread(width, [title], [when], "head")]
    else:
        lines = [spread(width, [each], [], "head") for each in (title, f" {when}")]
    for section in OpenSection:
        rows = seen.of(section)
        if not rows and section not in NOTHING:
            continue
        count = f"  {len(rows)}" if rows else ""
        lines += [blank(width), line(width, Span(f" {section.value}{count}", "bold"))]
        for number, row in rows:
            lines += _row(number, row, seen, width)
        if not rows:
            lines.append(line(width, Span(f"     {NOTHING[section]}", "dim")))
    return lines


def said(row: OpenRow) -> str:
    """What a row says."""
    match row.about:
        case Standing(place=place, sentence=sentence):
            return f"{place} {sentence}"
        case Carried():
            return follow_up_words.said(row.about)
        case Noise(label=label, flags=flags, place=place):
            return f"{place} {label}: {flags} flags in {DAYS} days"
        case draft:
            return feed_words.deviation(draft)


def terms(row: OpenRow, seen: OpenList) -> str:
    """How it stands."""
    match row.about:
        case Standing():
            around = [] if row.story is None else flag_story.around(row.story, seen.now)
            return ". ".join([_flag_terms(row.about), *around])
        case Carried(one) if one.stands:
            return follow_up_words.terms(row.about)
        case Carried():
            return follow_up_words.ended(row.about)
        case Noise():
            return "is its band right? try another"
        case _:
            return f"{seen.study_owner or 'the study owner'} to decide"


def _flag_terms(one: Standing) -> str:
    if one.state == "shelved" and one.until is not None:
        return f"shelved until {one.until.short()}, {one.reason}"
    return f"{one.state}, since {one.raised.short()}"


def late(row: OpenRow) -> bool:
    """Whether its time is over: that alone stands out, so that it does."""
    return isinstance(row.about, Carried) and row.about.seen.stands and row.about.terms.late


def _row(number: int, row: OpenRow, seen: OpenList, width: int) -> list[Line]:
    """A number, what it says, and how it stands: in a column, or below on a narrow page."""
    spans = [Span(f" {number:>2} ", "key")]
    tone, stands = "watch" if late(row) else "dim", terms(row, seen)
    if isinstance(row.about, Standing):
        shelved = row.about.state == "shelved"
        mark = text.pad(row.about.flag.mark, MARK)
        spans.append(Span(mark, "dim" if shelved else flag_tone(row.about.flag)))
    indent = sum(text.width(span.text) for span in spans)
    if width >= WIDE:
        room = width - indent - SIDE - 2
        pairs = zip_longest(text.wrap(said(row), room), text.wrap(stands, SIDE), fillvalue="")
        return [
            line(
                width,
                *(spans if nth == 0 else [Span(" " * indent)]),
                Span(text.pad(words, room + 2)),
                Span(side, tone),
            )
            for nth, (words, side) in enumerate(pairs)
        ]
    first, *rest = text.wrap(said(row), max(10, width - indent - 1)) or [""]
    lines = [line(width, *spans, first)]
    lines += [line(width, " " * indent + more) for more in rest]
    return lines + wrapped(width, stands, tone, 4, indent=" " * 6)
