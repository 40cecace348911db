"""The one widget: a sheet of toned lines that repaints only the cells that changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from tankwalk.pages.glyphs import in_ascii
from tankwalk.pages.lines import Line
from tankwalk.screens import cells
from tankwalk.screens.tones import styles

if TYPE_CHECKING:
    from rich.color import ColorSystem


class Sheet(Widget, can_focus=True):
    """Draws lines as given. Words are put into segments as they are: never read as markup."""

    DEFAULT_CSS = """
    Sheet { width: 1fr; height: 1fr; padding: 0; border: none; }
    """

    def __init__(self) -> None:
        super().__init__()
        self._lines: list[Line] = []
        self._shown: list[Line] | None = None
        """What stands on the terminal; None while that is something else."""
        self._styles: dict[str, Style] = styles("day")
        self._paints: dict[str, cells.Paint] = {}
        self.ascii = False
        """Whether drawn signs are ASCII, for a terminal that draws the others two cells wide."""

    def set_look(self, look: str) -> None:
        """Change how tones look and paint everything anew."""
        self._styles = styles(look)
        self._paints = {}
        self.left()
        self.refresh()

    def show(self, lines: list[Line]) -> None:
        """Draw these lines; only the cells that differ are painted."""
        old = self._lines
        self._lines = lines
        if len(old) != len(lines):
            self.refresh()
            return
        rows = [
            Region(0, y, self.size.width, 1)
            for y, (before, after) in enumerate(zip(old, lines, strict=True))
            if before != after
        ]
        if rows:
            self.refresh(*rows)

    def lines(self) -> list[Line]:
        """The lines as drawn last."""
        return self._lines

    def text(self) -> str:
        """What is shown, as plain text."""
        return "\n".join("".join(span.text for span in row) for row in self._lines)

    @property
    def as_shown(self) -> bool:
        """Whether the terminal shows these lines already."""
        return self._shown == self._lines

    def stands(self) -> None:
        """The terminal shows these lines now, and nothing else."""
        self._shown = list(self._lines)

    def left(self) -> None:
        """The terminal shows something else now, or soon."""
        self._shown = None

    def changes(self, system: ColorSystem) -> str | None:
        """What brings the terminal from what it shows to these lines; None where that is not known.

        From then on it is taken to show them.
        """
        shown = self._shown
        if shown is None or len(shown) != len(self._lines):
            return None
        self._shown = list(self._lines)
        if not self._paints:
            self._paints = {tone: cells.paint(one, system) for tone, one in self._styles.items()}
        runs = (
            run
            for y, (before, after) in enumerate(zip(shown, self._lines, strict=True))
            if before != after
            for run in cells.changed(self._drawn(before), self._drawn(after), y)
        )
        return cells.sent(runs, self._paints)

    def _drawn(self, row: Line) -> Line:
        return in_ascii(row) if self.ascii else row

    def render_line(self, y: int) -> Strip:
        look = self._styles
        if y >= len(self._lines):
            return Strip.blank(self.size.width, look["plain"])
        return Strip([Segment(words, look[tone]) for words, tone in self._drawn(self._lines[y])])
