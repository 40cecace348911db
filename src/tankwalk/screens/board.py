"""The board screen: where every shift begins."""

from __future__ import annotations

from tankwalk.pages import board as page
from tankwalk.pages.actions import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.board import Board, board
from tankwalk.practice.site import Site
from tankwalk.practice.workings import derived
from tankwalk.screens.base import PageScreen

REFRESH_SECONDS = 300.0
"""How often a board left open reads the record anew; an unchanged page sends nothing."""


class BoardScreen(PageScreen):
    """Draws the board and leads on to the walk and the handover."""

    scope = "board"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.board: Board = board(site)
        self.fresh = True

    def on_mount(self) -> None:
        super().on_mount()
        self.set_interval(REFRESH_SECONDS, self.arrive)

    def arrive(self) -> None:
        if not self.fresh:
            self.board = board(self.site)
        self.fresh = False
        self.said = ""
        super().arrive()

    def lines(self, width: int, height: int) -> list[Line]:
        said = wrapped(width, self.said, "check", 4) if self.said else []
        room = height - 1 - len(said)
        if self.top > 0:
            shown = self.scrolled(page.draw(self.board, width, None), width, room)
        else:
            self.top = 0
            shown = page.draw(self.board, width, room)
        return [*shown, *said, footer("board", width)]

    def do_walk(self) -> None:
        self.tankwalk.open("who")

    def do_handover(self) -> None:
        self.tankwalk.open("handover")

    def do_meters(self) -> None:
        self.tankwalk.open("meters")

    def do_workings(self) -> None:
        """The working of the worst value that was worked out, where one is wrong now."""
        codes = derived.codes(self.site.plan)
        worked = [w.seen for w in self.board.wrong if w.seen.item in codes]
        self.work_behind(worked[0] if worked else None, "")

    def do_quit(self) -> None:
        self.app.exit()
