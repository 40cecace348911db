"""The one widget: a sheet of toned lines that repaints only the cells that changed."""

from __future__ import annotations

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from tankwalk import text
from tankwalk.pages.glyphs import in_ascii
from tankwalk.pages.lines import Line
from tankwalk.screens.tones import styles

APART = 12
"""Cells between two changes of a row that cost less to send than a step to the second one."""


class Sheet(Widget, can_focus=True):
    """Draws lines as given. Words are put into segments as they are: never read as markup."""

    DEFAULT_CSS = """
    Sheet { width: 1fr; height: 1fr; padding: 0; border: none; }
    """

    def __init__(self) -> None:
        super().__init__()
        self._lines: list[Line] = []
        self._strips: list[Strip | None] = []
        self._styles: dict[str, Style] = styles("day")
        self.ascii = False
        """Whether drawn signs are ASCII, for a terminal that draws the others two cells wide."""

    def set_look(self, look: str) -> None:
        """Change how tones look and paint everything anew."""
        self._styles = styles(look)
        self._strips = [None] * len(self._lines)
        self.refresh()

    def show(self, lines: list[Line]) -> None:
        """Draw these lines; only rows and columns that differ are painted."""
        old = self._lines
        self._lines = lines
        if len(old) != len(lines):
            self._strips = [None] * len(lines)
            self.refresh()
            return
        regions: list[Region] = []
        for y, (before, after) in enumerate(zip(old, lines, strict=True)):
            if before != after:
                self._strips[y] = None
                regions += _changed(before, after, y, self.size.width)
        if regions:
            self.refresh(*regions)

    def lines(self) -> list[Line]:
        """The lines as drawn last."""
        return self._lines

    def text(self) -> str:
        """What is shown, as plain text."""
        return "\n".join("".join(span.text for span in row) for row in self._lines)

    def render_line(self, y: int) -> Strip:
        if y >= len(self._lines):
            return Strip.blank(self.size.width, self._styles["plain"])
        strip = self._strips[y]
        if strip is None:
            look = self._styles
            row = in_ascii(self._lines[y]) if self.ascii else self._lines[y]
            strip = Strip(_segments(row, look))
            self._strips[y] = strip
        return strip


def _segments(row: Line, look: dict[str, Style]) -> list[Segment]:
    """A row for the terminal: blanks go with the words beside them, as no blank shows a color.

    Each change of tone costs some 25 bytes, and a digit typed paints four rows.
    """
    found: list[tuple[str, Style]] = []
    ground = look["plain"].bgcolor
    for words, tone in row:
        style = look[tone]
        if found:
            before, last = found[-1]
            bare = _bare(style) and _bare(last) and style.bgcolor == last.bgcolor == ground
            if style == last or (bare and (words.isspace() or before.isspace())):
                found[-1] = (before + words, last if words.isspace() else style)
                continue
        found.append((words, style))
    return [Segment(words, style) for words, style in found]


def _bare(style: Style) -> bool:
    """Whether a blank in this style shows nothing but its ground."""
    return not (style.underline or style.reverse or style.strike)


def _changed(before: Line, after: Line, y: int, width: int) -> list[Region]:
    """The stretches of a row that differ; the whole row when it holds wide characters."""
    old = [(c, tone) for words, tone in before for c in words]
    new = [(c, tone) for words, tone in after for c in words]
    if len(old) != len(new) or len(new) != width:
        return [Region(0, y, width, 1)]
    if not all(text.width(words) == len(words) for words, _ in (*before, *after)):
        return [Region(0, y, width, 1)]
    found: list[tuple[int, int]] = []
    for x, (a, b) in enumerate(zip(old, new, strict=True)):
        if a != b:
            near = found and x - found[-1][1] <= APART
            found[-1:] = [(found[-1][0], x)] if near else [*found[-1:], (x, x)]
    return [Region(first, y, last - first + 1, 1) for first, last in found] or [Region(0, y, 1, 1)]
