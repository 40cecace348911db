"""Drawn signs: the past of a value as a strip, and plain ASCII for each sign where it is wanted.

In a strip `▁` to `█` is the place of a reading in its band, low to high; `▼` and `▲` lie outside.
Where a terminal draws these two cells wide, or its character set has none of them, every page is
drawn in ASCII: in a span of the tone "past" or "trend" the strip becomes digits, 1 low to 8 high.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.pages.lines import Line, Span, plain

STEPS = "▁▂▃▄▅▆▇█"
ROWS = ("past", "trend")
"""Tones of a past in one row."""
BELOW, ABOVE, UNKNOWN = "▼", "▲", "·"

_ASCII = str.maketrans("▀▄█▌●○├┤◄►▼▲·│─▁▂▃▅▆▇", '"_#|Oo{}<>v^.|-______')
_DIGITS = str.maketrans(STEPS + BELOW + ABOVE + UNKNOWN, "12345678v^.")


def strip(places: Sequence[float | None], cells: int) -> str:
    """The last `cells` readings by their place in the band, 0 at its low limit and 1 at its high.

    None has no band; fewer readings than cells leave the left empty.
    """
    drawn = [_step(place) for place in places[-cells:]]
    return "".join(drawn).rjust(cells)


def _step(place: float | None) -> str:
    if place is None:
        return UNKNOWN
    if place < 0:
        return BELOW
    return ABOVE if place > 1 else STEPS[min(7, int(place * 8))]


def in_ascii(line: Line) -> Line:
    """A line with every drawn sign as ASCII; words of people stay as they are."""
    return tuple(
        Span(words.translate(_DIGITS if tone in ROWS else _ASCII), tone) for words, tone in line
    )


def printable(words: str, encoding: str) -> str:
    """A printed page as it can be written in a character set; signs as ASCII where it has none."""
    try:
        words.encode(encoding)
    except UnicodeEncodeError:
        drawn = words.translate(_DIGITS).translate(_ASCII)
        return drawn.encode(encoding, "replace").decode(encoding)
    return words


def printable_lines(lines: Sequence[Line], encoding: str) -> str:
    """Lines as they are printed in a character set: what is drawn as ASCII where it has none.

    By their tones, so that the bars of a plot do not become the digits of a strip.
    """
    words = plain(lines)
    try:
        words.encode(encoding)
    except UnicodeEncodeError:
        drawn = plain([in_ascii(line) for line in lines])
        return drawn.encode(encoding, "replace").decode(encoding)
    return words
