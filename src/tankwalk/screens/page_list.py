"""The screen of pages: a digit opens a page, and each says what waits there."""

from __future__ import annotations

from tankwalk.pages import page_list as page
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.board import board
from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen


class PagesScreen(PageScreen):
    """Draws the list; every key of it leads to a page."""

    scope = "pages"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.board = board(site)
        self.came_from = "board"

    def arrive(self) -> None:
        self.said = ""
        self.board = board(self.site)
        super().arrive()

    def lines(self, width: int, height: int) -> list[Line]:
        said = wrapped(width, self.said, "check", 4) if self.said else []
        shown = page.draw(self.board, width, height - 1 - len(said))
        return [*shown, *said, footer("pages", width)]

    def do_home(self) -> None:
        self.tankwalk.open("board")

    def do_transcribe(self) -> None:
        """A round that was walked on paper."""
        self.tankwalk.transcribe()

    def do_quit(self) -> None:
        self.leave_program("q", self.board.unsigned)

    def do_board(self) -> None:
        """Esc: back to where one came from."""
        self.tankwalk.open(self.came_from)
