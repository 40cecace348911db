"""The last row of every page: the keys that work now, three blanks apart, and what gives way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType

from tankwalk import text
from tankwalk.pages.actions import Action, in_scope
from tankwalk.pages.lines import Line, Span, line

RIGHT = ("0", "Esc", "?")
"""Keys that stand at the right edge, where one looks for the way out."""

ORDER = ("Enter", "+", "-", "*", "/", "up", "down", "left", "right")
"""Keys of the pad and arrows come first, in this order; then digits, then letters."""

GAPS = (3, 2, 1)

WIDE, CLOSE = 80, 3
"""On a page so wide keys stand so far apart: words shorten and those of high rank give way."""


def footer(
    scope: str,
    width: int,
    extra: Sequence[tuple[str, str]] = (),
    instead: Mapping[str, str] = MappingProxyType({}),
) -> Line:
    """The keys that work now, in one line: `extra` first, the way out and help at the right edge.

    `instead` gives the acts that are called otherwise just here their words.

    A narrow line sets them closer; where that is not enough, those of high rank give way.
    """
    return _footer(scope, width, tuple(extra), tuple(sorted(instead.items())))


@lru_cache(maxsize=64)
def _footer(
    scope: str, width: int, extra: tuple[tuple[str, str], ...], others: tuple[tuple[str, str], ...]
) -> Line:
    """The footer; most acts lead to a page that has the one of before."""
    instead = dict(others)
    acts = [
        a._replace(word=instead.get(a.name, a.word), narrow=instead.get(a.name, a.narrow))
        for a in in_scope(scope)
        if a.in_footer
    ]
    left, right = _sides(acts, extra)
    least, room = (CLOSE, width - 1) if width >= WIDE else (1, width)
    if _length([*left, *right], least) > room:
        left, right = _sides([a._replace(word=a.narrow or a.word) for a in acts], extra)
    while len(left) + len(right) > 1 and _length([*left, *right], least) > room:
        worst = max([*left, *right][::-1], key=lambda one: one[2])
        (left if worst in left else right).remove(worst)
    gap = next((n for n in GAPS if _length([*left, *right], n) <= width), 1)
    spans = _spans(left, gap)
    used = _length(left, gap) if left else 0
    rest = _length(right, gap) if right else 0
    between = max(gap if left and right else 0, width - used - rest - (1 if right else 0))
    if right:
        spans += [Span(" " * between), *_spans(right, gap)[1:]]
    return line(width, *spans)


def _sides(
    acts: Sequence[Action], extra: Sequence[tuple[str, str]]
) -> tuple[list[tuple[str, str, int]], list[tuple[str, str, int]]]:
    """Keys, their words and ranks, of the left side and of the right edge."""
    shown = [(a.shown, a.word, a.rank) for a in sorted(acts, key=place)]
    left = [one for one in shown if one[0] not in RIGHT]
    right = [one for one in shown if one[0] in RIGHT]
    return [*((key, word, 0) for key, word in extra), *left], right


def place(action: Action) -> tuple[int, int]:
    """Where a key stands in the footer and in help."""
    shown = action.shown
    if shown in ORDER:
        return 0, ORDER.index(shown)
    if shown in RIGHT:
        return 3, RIGHT.index(shown)
    return (1, 0) if shown[:1].isdecimal() or shown == "." else (2, 0)


def _spans(shown: Sequence[tuple[str, str, int]], gap: int) -> list[Span]:
    spans: list[Span] = []
    for key, word, _ in shown:
        before = " " * (gap if spans else 1)
        spans += [Span(before), Span(key, "key"), Span(f" {word}", "dim")]
    return spans


def _length(shown: Sequence[tuple[str, str, int]], gap: int) -> int:
    words = sum(text.width(key) + 1 + text.width(word) for key, word, _ in shown)
    return 1 + words + gap * (len(shown) - 1)
