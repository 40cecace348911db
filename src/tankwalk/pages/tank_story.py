"""The story of a place in rows: what was done last time, then what happened, newest first."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.ledger.feeding import SampleSeen
from tankwalk.pages import story_words
from tankwalk.pages.lines import Line, Span, blank, line
from tankwalk.practice.past.story import Fed, StoryLine
from tankwalk.practice.past.view import PlaceView


def story(view: PlaceView, width: int, room: int | None) -> list[Line]:
    """The story under the plots: what was done last time, then what happened, newest first.

    Nothing is cut in the middle of a number: what does not fit whole is counted in the last row.
    """
    lines = _last(view, width, 1 if room is not None and room < 6 else 3)
    shown = [one for one in view.story if not one.minor] if room is not None else [*view.story]
    if room is not None and room >= 6:
        shown = [*view.story]
    if room is None or room >= 6:
        lines.append(line(width, Span(" STORY", "bold"), Span("  newest first", "dim")))
        rows = [(told_rows(one, view, width), 1) for one in shown]
    else:
        rows = _paired(shown, view, width)
    left = None if room is None else room - len(lines)
    many = len(view.story)
    if not many:
        said = f"  Nothing happened here since {view.window.first.day} {view.window.first:%b}."
        return [*lines, line(width, Span(said, "dim"))]
    told = 0
    for block, count in rows:
        spare = 0 if told + count >= many else 1
        if left is not None and len(block) + spare > left:
            break
        lines += block
        told += count
        left = None if left is None else left - len(block)
    if told < many and (left is None or left > 0):
        # Meals and samples are read once the story is opened: they are in no count, as they come.
        told = sum(not _apart(one) for one in shown[:told])
        many = sum(not _apart(one) for one in view.story)
        lines.append(_more(view, many - told, width, first=told == 0))
    return lines


def _apart(one: StoryLine) -> bool:
    """Whether it is a meal or a sample, which only an opened story tells."""
    return isinstance(one.about, Fed | SampleSeen)


def _more(view: PlaceView, many: int, width: int, *, first: bool) -> Line:
    since = f"since {view.window.first.day} {view.window.first:%b}"
    fed = ", and meals" if view.tank is not None else ""
    lead = f"{many}" if first else f"and {many} more"
    return line(width, Span(f"  {lead} {since}{fed}   down", "dim"))


def _last(view: PlaceView, width: int, most: int) -> list[Line]:
    """What was done last time, where a flag stands."""
    if not view.wrong or (view.last is None and most == 1):
        return []
    if view.last is None:
        said = "no such flag in the record before, here or at a sister"
    else:
        said = story_words.last_words(view.last, view.place, view.now, brief=most == 1)
    rows = text.wrap(said, width - 14)
    if len(rows) > most:
        rows = [*rows[: most - 1], _whole_words(" ".join(rows[most - 1 :]), width - 14)]
    return [
        line(width, Span(" last time   " if nth == 0 else " " * 13, "bold"), Span(row, "plain"))
        for nth, row in enumerate(rows)
    ]


def _whole_words(said: str, cells: int) -> str:
    """Words cut between two of them, so that no number is cut, with .. for the rest."""
    if text.width(said) <= cells:
        return said
    kept = said.split(" ")
    while kept and text.width(" ".join(kept)) + 3 > cells:
        kept.pop()
    return " ".join(kept).rstrip(",;:") + " .."


def told_rows(one: StoryLine, view: PlaceView, width: int, *, marked: bool = False) -> list[Line]:
    """A line of the story, wrapped; marked where one stands at it."""
    told = story_words.told(one, view.place)
    lead = Span(" > " if marked else "   ", "entry")
    when = text.pad(story_words.when(one.at, view.now), 13)
    who = text.pad(one.who, 5)
    rows = text.wrap(told.whole, max(10, width - 22)) or [""]
    first = [Span(rows[0], told.tone)]
    if told.mark and rows[0].startswith(told.mark):
        first = [Span(told.mark, told.mark_tone), Span(rows[0][len(told.mark) :], told.tone)]
    lines = [line(width, lead, Span(when, "dim"), Span(who, "dim"), *first)]
    return [*lines, *(line(width, Span(" " * 21), Span(row, told.tone)) for row in rows[1:])]


def _paired(
    shown: Sequence[StoryLine], view: PlaceView, width: int
) -> list[tuple[list[Line], int]]:
    """Short lines two in a row, where both are whole."""
    found: list[tuple[list[Line], int]] = []
    said = []
    for one in shown:
        told = story_words.told(one, view.place, brief=True)
        at = one.at.hm() if one.at.day == view.now.day else story_words.when(one.at, view.now)
        spans = [Span(f"{at} {one.who} ", "dim")]
        if told.mark:
            spans.append(Span(told.mark, told.mark_tone))
        spans.append(Span(f" {told.words}" if told.mark else told.words, told.tone))
        said.append((spans, sum(text.width(span.text) for span in spans)))
    nth = 0
    while nth < len(said):
        spans, wide = said[nth]
        if nth + 1 < len(said) and wide + said[nth + 1][1] + 6 <= width:
            both = [Span("  "), *spans, Span("   "), *said[nth + 1][0]]
            found.append(([line(width, *both)], 2))
            nth += 2
            continue
        if wide + 3 <= width:
            found.append(([line(width, Span("  "), *spans)], 1))
        else:
            *lead, last = spans
            used = sum(text.width(span.text) for span in lead)
            short = Span(_whole_words(last.text, width - 3 - used), last.tone)
            found.append(([line(width, Span("  "), *lead, short)], 1))
        nth += 1
    return found


def story_at(view: PlaceView, width: int, room: int, at: int) -> list[Line]:
    """The whole story with a mark at one line, in `room` rows."""
    blocks = [
        told_rows(one, view, width, marked=nth == at) for nth, one in enumerate(view.story)
    ]  # fmt: skip
    top = [*_last(view, width, 3)]
    top.append(line(width, Span(" STORY", "bold"), Span("  newest first", "dim")))
    left = max(1, room - len(top))
    start = at
    size = len(blocks[at]) if blocks else 0
    while start > 0 and size + len(blocks[start - 1]) <= left - 1:
        start -= 1
        size += len(blocks[start])
    rows = [row for block in blocks[start:] for row in block]
    if len(rows) > left:
        kept: list[Line] = []
        told = start
        for block in blocks[start:]:
            if len(kept) + len(block) > left - 1 and told > at:
                break
            kept += block
            told += 1
        rows = kept[: left - 1]
        rows.append(line(width, Span(f"  {len(blocks) - told} more below   down", "dim")))
    return [*top, *rows, *[blank(width)] * (room - len(top) - len(rows))][:room]
