"""Lines of toned words, cut and filled to a width: what every page is made of.

A tone names a meaning ("watch", "entry"); `screens/tones.py` gives it a look, print drops it.
Text is data all the way: nothing here interprets markup.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:  # a calculator's page needs no record, and judging reads one
    from tankwalk.practice.judging.verdict import Flag

TONES = (
    "plain",
    "dim",
    "struck",
    "bold",
    "head",
    "now",
    "entry",
    "key",
    "ok",
    "check",
    "watch",
    "act",
    "urgent",
    "past",
    "trend",
    "rule",
    "band",
    "point",
    "inside",
)
"""Every tone a page may use."""

FLAG_TONES = ("ok", "check", "watch", "act", "urgent")


class Span(NamedTuple):
    """Words in one tone."""

    text: str
    tone: str = "plain"


Line = tuple[Span, ...]


def flag_tone(flag: Flag) -> str:
    """The tone of a flag."""
    return FLAG_TONES[flag]


def line(width: int, *spans: Span | str, fill: str = "plain") -> Line:
    """Spans in a row, cut or filled to exactly `width` cells."""
    made: list[Span] = []
    left = width
    for span in spans:
        words, tone = (span, "plain") if isinstance(span, str) else span
        if left <= 0:
            break
        cut = text.fit(words, left)
        made.append(Span(cut, tone))
        left -= text.width(cut)
    if left > 0:
        made.append(Span(" " * left, fill))
    return tuple(made)


def spread(width: int, left: Sequence[Span | str], right: Sequence[Span | str], tone: str) -> Line:
    """Left words and right words on one line; the left gives way when both do not fit."""
    tail = [s if isinstance(s, Span) else Span(s, tone) for s in right]
    head = [s if isinstance(s, Span) else Span(s, tone) for s in left]
    room = max(0, width - sum(text.width(s.text) for s in tail))
    gap = 2 if tail and tail[0].text.strip() else 0
    return line(width, *line(room - gap, *head, fill=tone), Span(" " * gap, tone), *tail, fill=tone)


def wrapped(width: int, words: str, tone: str, most: int, indent: str = " ") -> list[Line]:
    """Words wrapped to at most `most` lines, the last ending in ".." when there is more."""
    room = max(1, width - len(indent) - 1)
    found = text.wrap(words, room)
    if len(found) > most:
        found = [*found[: most - 1], text.fit(" ".join(found[most - 1 :]), room)]
    return [line(width, Span(indent + part, tone)) for part in found]


def blank(width: int) -> Line:
    """An empty line."""
    return (Span(" " * width),)


def filled(lines: Iterable[Line], width: int, height: int) -> list[Line]:
    """Exactly `height` lines: cut, or filled with empty ones."""
    kept = list(lines)[:height]
    return kept + [blank(width)] * (height - len(kept))


def window(lines: list[Line], width: int, room: int, top: int, key: str) -> list[Line]:
    """What of long text is in sight from line `top`: `room` lines, the last saying what is below.

    `top` may lie outside; `key` is how one goes on.
    """
    if room <= 0:
        return []
    start = max(0, min(top, len(lines) - room))
    shown = filled(lines[start : start + room], width, room)
    rest = len(lines) - start - room
    if rest > 0:
        shown[-1] = line(width, Span(f"  {rest + 1} more lines below ({key})", "dim"))
    return shown


def plain(lines: Iterable[Line]) -> str:
    """Lines as printed text, without trailing blanks."""
    return "\n".join("".join(s.text for s in row).rstrip() for row in lines)


def columns(width: int, cells: Sequence[tuple[str, int, str]]) -> Line:
    """Cells of (words, cells wide, tone) in a row; the last cell of each stays blank as a gap."""
    spans: list[Span] = []
    for words, size, tone in cells:
        cut = text.fit(words, size - 1)
        spans += [Span(cut, tone), Span(" " * (size - text.width(cut)))]
    return line(width, *spans)
