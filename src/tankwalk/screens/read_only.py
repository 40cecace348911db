"""What pages share that are opened from anywhere and only read: Esc leads back to where one was."""

from __future__ import annotations

from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen


class ReadOnlyScreen(PageScreen):
    """A page on which nothing is kept; it stands at its top whenever one arrives."""

    keeps = False

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.came_from: PageScreen | None = None

    def look(self) -> None:
        """Read the record anew; nothing to do where a page shows nothing of it."""

    def arrive(self) -> None:
        front = self.tankwalk.screen
        if isinstance(front, PageScreen) and front.scope not in (self.scope, "help"):
            self.came_from = front
        self.top, self.said = 0, ""
        self.look()
        super().arrive()

    def framed(self, whole: list[Line], width: int, height: int) -> list[Line]:
        """A page as far as it is in sight, above what is said and the keys."""
        said = wrapped(width, self.said, "check", 3) if self.said else []
        shown = self.scrolled(whole, width, height - 1 - len(said))
        return [*shown, *said, footer(self.scope, width)]

    def do_board(self) -> None:
        self.tankwalk.back_to(self.came_from)
