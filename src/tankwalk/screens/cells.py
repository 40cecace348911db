"""What is sent of a page: the cells that changed, each color once, and steps between them.

A change of color costs up to 40 bytes and a step to another cell 4 to 8, so what has one color is
sent together, wherever on the page it stands. Blanks show no color of their own: they go with any.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.pages.lines import Line
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from rich.color import ColorSystem
    from rich.style import Style

APART = 3
"""Cells between two changes in one tone that cost no more to send again than a step over them."""


class Run(NamedTuple):
    """Cells of a row in one tone."""

    y: int
    x: int
    words: str
    tone: str


class Paint(NamedTuple):
    """What a terminal is told of a tone: codes of its attributes and of its two colors."""

    attributes: tuple[str, ...]
    fore: str
    back: str

    @property
    def bare(self) -> bool:
        """Whether a blank shows nothing of it but its ground."""
        return self.attributes in ((), ("1",))


TERMINAL = Paint((), "39", "49")
"""The terminal's own look, in which an update begins and ends."""

_OFF = {"1": "22", "4": "24", "7": "27", "9": "29"}
"""What ends bold, underline, inverse video and strike."""


def paint(style: Style, system: ColorSystem) -> Paint:
    """The codes of a style in the colors that a terminal has."""
    on = (style.bold, style.underline, style.reverse, style.strike)
    fore, back = style.color, style.bgcolor
    return Paint(
        tuple(code for code, is_on in zip(_OFF, on, strict=True) if is_on),
        "39" if fore is None else ";".join(fore.downgrade(system).get_ansi_codes()),
        "49" if back is None else ";".join(back.downgrade(system).get_ansi_codes(False)),
    )


# ---- which cells


def changed(before: Line, after: Line, y: int) -> Iterator[Run]:
    """What of a row differs, from left to right; all of it where a character is not one cell."""
    most = min(len(before), len(after))
    start = next((i for i in range(most) if before[i] != after[i]), most)
    most -= start
    end = next((i for i in range(most) if before[~i] != after[~i]), most)
    if not (_even(before) and _even(after)) or _cells(before) != _cells(after):
        return whole(after, y)
    x = _cells(after[:start])
    return _differing(before[start : len(before) - end], after[start : len(after) - end], x, y)


def _differing(before: Line, after: Line, x: int, y: int) -> Iterator[Run]:
    """The cells that differ between two stretches of a row that begin in the same cell."""
    beside = (span for span in before if span.text)
    was, was_tone = next(beside, ("", ""))
    at = 0  # where in the span of before one is
    for words, tone in after:
        done, first, last = 0, -1, -1
        while done < len(words):
            cells = min(len(words) - done, len(was) - at) or len(words) - done
            here, there = words[done : done + cells], was[at : at + cells]
            if tone != was_tone or here != there:
                for nth, sign in enumerate(here, done):
                    if tone == was_tone and there[nth - done : nth - done + 1] == sign:
                        continue
                    if first >= 0 and nth - last > APART:
                        yield Run(y, x + first, words[first : last + 1], tone)
                        first = -1
                    first, last = (nth if first < 0 else first), nth
            done += cells
            at += cells
            if at >= len(was):
                was, was_tone = next(beside, ("", ""))
                at = 0
        if first >= 0:
            yield Run(y, x + first, words[first : last + 1], tone)
        x += len(words)


def whole(row: Line, y: int) -> Iterator[Run]:
    """A row as it is."""
    x = 0
    for words, tone in row:
        yield Run(y, x, words, tone)
        x += text.width(words)


def _cells(row: Line) -> int:
    return sum(len(words) for words, _ in row)


def _even(row: Line) -> bool:
    return text.even("".join(words for words, _ in row))


# ---- how they are sent


def sent(runs: Iterable[Run], paints: Mapping[str, Paint]) -> str:
    """What puts these cells on the terminal, those of one color together."""
    groups: dict[Paint, list[Run]] = {}
    blanks: list[Run] = []
    for run in runs:
        look = paints[run.tone]
        if run.words.isspace() and look.bare:
            blanks.append(run)
        else:
            groups.setdefault(look, []).append(run)
    for run in blanks:
        look = paints[run.tone]
        beside = next((one for one in groups if one.back == look.back and one.bare), look)
        groups.setdefault(beside, []).append(run)
    words: list[str] = []
    state, row, cell = TERMINAL, -1, -1
    for look in sorted(groups):
        words.append(_switch(state, look))
        state = look
        for run in groups[look]:
            if (run.y, run.x) != (row, cell):
                near = run.y == row and 0 <= cell < run.x
                words.append(f"\x1b[{run.x - cell}C" if near else f"\x1b[{run.y + 1};{run.x + 1}H")
            words.append(run.words)
            # A terminal may draw a sign wider than it is: from there no step is counted.
            row, cell = run.y, run.x + len(run.words) if run.words.isascii() else -1
    return "".join(words) + _switch(state, TERMINAL)


def _switch(now: Paint, wanted: Paint) -> str:
    """What turns one look into another."""
    if wanted == TERMINAL:
        return "" if now == TERMINAL else "\x1b[0m"
    codes = [_OFF[code] for code in now.attributes if code not in wanted.attributes]
    codes += [code for code in wanted.attributes if code not in now.attributes]
    codes += [wanted.fore] * (wanted.fore != now.fore) + [wanted.back] * (wanted.back != now.back)
    return f"\x1b[{';'.join(codes)}m" if codes else ""
