"""The screen of the season: read once when one arrives, and scrolled."""

from __future__ import annotations

from tankwalk.pages import season as page
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.season.view import Season, season
from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen


class SeasonScreen(PageScreen):
    """Draws the season up to now; nothing is kept here."""

    scope = "season"
    keeps = False

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.view: Season | None = None
        self.came_from: PageScreen | None = None

    def arrive(self) -> None:
        front = self.tankwalk.screen
        if isinstance(front, PageScreen) and front.scope not in (self.scope, "help"):
            self.came_from = front
        self.top, self.said = 0, ""
        self.view = season(self.site)
        super().arrive()

    def lines(self, width: int, height: int) -> list[Line]:
        said = wrapped(width, self.said, "check", 3) if self.said else []
        whole = [] if self.view is None else page.draw(self.view, width)
        shown = self.scrolled(whole, width, height - 1 - len(said))
        return [*shown, *said, footer(self.scope, width)]

    def do_board(self) -> None:
        self.tankwalk.back_to(self.came_from)
