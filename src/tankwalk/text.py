"""The door for user text: made safe to keep, to draw and to export, and measured in cells."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import Final, Literal

from tankwalk.errors import Refusal

# What could drive a terminal, turn the reading direction or hide between two letters.
# Tab, line ends and U+2028/2029 are not here: they part words, so they become a space.
# U+200D (joins emoji), U+200C (parts letters in Persian) and variation selectors stay.
# Patterns stay words, which `re` compiles where they are first used: a start uses none of them.
_UNSAFE: Final = (
    r"[\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f"  # C0, DEL, C1
    r"\u061c\u200e\u200f\u202a-\u202e"  # bidi marks, embeddings, overrides
    r"\u200b\u2060-\u206f\ufeff]"  # zero width space; joiner, isolates; byte order mark
)
_SURROGATE: Final = r"[\ud800-\udfff]"
# One plain run, narrowed by a function: a pattern that looks for the line end inside a
# run of spaces would take quadratic time on a long run without one.
_RUN: Final = r"[ \t\n\x0b\x0c\r\x85\u2028\u2029]+"

# What pages draw of themselves, and blanks and ASCII letters beside it: a cell each.
_DRAWN: Final = frozenset(
    "\u00b7\u2500\u2502\u251c\u2524\u2580\u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588"
    "\u25b2\u25ba\u25bc\u25c4\u25cb\u25cf" + "".join(map(chr, range(32, 127)))
)

Align = Literal["<", ">", "^"]


def clean(text: str, *, limit: int = 10_000) -> str:
    """Return `text` safe to keep and to draw: no control or bidi character, one line, NFC.

    Each run of blanks that holds a tab or a line end becomes one space; a lone surrogate
    becomes U+FFFD. Brackets and other markup stay as typed: drawing them literally is the
    screen's part. `limit` is in characters.

    Raises:
        Refusal: the text is longer than `limit`; nothing is ever cut here.
    """
    _hold_to(limit, text)
    safe = re.sub(_SURROGATE, "\ufffd", re.sub(_UNSAFE, "", text))
    one_line = re.sub(_RUN, _one_blank, safe)
    # After the removals: a letter and an accent may only now stand side by side.
    kept = unicodedata.normalize("NFC", one_line).strip()
    _hold_to(limit, kept)  # NFC takes a few characters apart, so it can lengthen
    return kept


def width(text: str) -> int:
    """Return how many terminal cells `text` takes; a control character takes none."""
    if text.isascii():
        return len(text) if text.isprintable() else sum(map(str.isprintable, text))
    if _DRAWN.issuperset(text):
        return len(text)
    return sum(cells for _, cells in _graphemes(text))


def even(text: str) -> bool:
    """Return whether each character of `text` takes one cell, so that it can be cut anywhere."""
    if text.isascii():
        return text.isprintable()
    return _DRAWN.issuperset(text) or all(width(one) == 1 for one in set(text))


def fit(text: str, cells: int) -> str:
    """Return `text` cut to at most `cells` cells, ending in ".." where something was cut."""
    if width(text) <= cells:
        return text
    mark = ".."[: max(cells, 0)]
    kept = ""
    for grapheme, _ in _graphemes(text):
        # Measured whole: a few signs join with the mark that follows them.
        if width(kept + grapheme + mark) > cells:
            break
        kept += grapheme
    return kept + mark


def pad(text: str, cells: int, align: Align = "<") -> str:
    """Return `text` cut or filled with spaces to exactly `cells` cells (left, right, center)."""
    fitted = fit(text, cells)
    spare = max(cells - width(fitted), 0)
    left = {"<": 0, ">": spare, "^": spare // 2}[align]
    return " " * left + fitted + " " * (spare - left)


def wrap(text: str, cells: int) -> list[str]:
    """Return the words of `text` as lines of at most `cells` cells; a longer word is broken.

    Blanks between words become one space. No text, or no room (`cells` below 1), is no line.
    A character wider than the whole line shows as ".".
    """
    lines: list[str] = []
    if cells < 1:
        return lines
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if width(longer) <= cells:
            line = longer
            continue
        if line:
            lines.append(line)
        *full, line = _broken(word, cells)
        lines.extend(full)
    if line:
        lines.append(line)
    return lines


def named(codes: Iterable[str], most: int = 6) -> str:
    """Codes of tanks one after another, or how many there are where they are many."""
    every = list(codes)
    return " ".join(every) if len(every) <= most else f"{len(every)} tanks"


def _hold_to(limit: int, text: str) -> None:
    if len(text) > limit:
        raise Refusal(
            f"The text is {len(text)} characters long and the limit is {limit};"
            " nothing was kept, so shorten it."
        )


def _one_blank(run: re.Match[str]) -> str:
    blanks = run.group()
    return " " if blanks.strip(" ") else blanks


def _graphemes(text: str) -> Iterator[tuple[str, int]]:
    """Yield what the eye takes for one character, with its width in cells."""
    if text.isascii():
        for character in text:
            yield character, int(character.isprintable())
        return
    # Imported late: most text is ASCII and the tables cost start-up time.
    from wcwidth import iter_graphemes, wcswidth

    for grapheme in iter_graphemes(text):
        # Measured one by one: over a whole text, wcswidth skips the letter after a stray
        # joiner, which terminals draw. It says -1 for a control character.
        yield grapheme, max(wcswidth(grapheme), 0)


def _broken(word: str, cells: int) -> list[str]:
    """Return one long word as pieces of at most `cells` cells, never inside a grapheme."""
    pieces = [""]
    room = cells
    for grapheme, taken in _graphemes(word):
        piece, needed = (grapheme, taken) if taken <= cells else (".", 1)
        if needed > room:
            pieces.append("")
            room = cells
        pieces[-1] += piece
        room -= needed
    return pieces
