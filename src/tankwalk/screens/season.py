"""The screen of the season: read once when one arrives, and scrolled."""

from __future__ import annotations

from tankwalk.pages import season as page
from tankwalk.pages.lines import Line
from tankwalk.practice.season.view import Season, season
from tankwalk.practice.site import Site
from tankwalk.screens.read_only import ReadOnlyScreen


class SeasonScreen(ReadOnlyScreen):
    """Draws the season up to now; nothing is kept here."""

    scope = "season"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.view: Season | None = None

    def look(self) -> None:
        self.view = season(self.site)

    def lines(self, width: int, height: int) -> list[Line]:
        whole = [] if self.view is None else page.draw(self.view, width)
        return self.framed(whole, width, height)
