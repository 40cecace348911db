"""Pages of feed that are only read: what tomorrow needs, and how a tank's ration is worked out."""

from __future__ import annotations

from tankwalk.pages import ration as ration_page
from tankwalk.pages import tomorrow as tomorrow_page
from tankwalk.pages.actions import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.feeding.dispensing import MealList, meal_list
from tankwalk.practice.feeding.tomorrow import Tomorrow, tomorrow
from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen
from tankwalk.screens.feed import FeedingScreen, FeedScreen


class TomorrowScreen(PageScreen):
    """What tomorrow's meals need, worked backwards to tonight."""

    scope = "tomorrow"
    keeps = False

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.view: Tomorrow | None = None
        self.came_from: PageScreen | None = None

    def arrive(self) -> None:
        front = self.tankwalk.screen
        if isinstance(front, PageScreen) and front.scope not in (self.scope, "help"):
            self.came_from = front
        self.top, self.said = 0, ""
        self.view = tomorrow(self.site)
        super().arrive()

    def lines(self, width: int, height: int) -> list[Line]:
        said = wrapped(width, self.said, "check", 3) if self.said else []
        whole = [] if self.view is None else tomorrow_page.draw(self.view, width)
        shown = self.scrolled(whole, width, height - 1 - len(said))
        return [*shown, *said, footer(self.scope, width)]

    def do_board(self) -> None:
        self.tankwalk.back_to(self.came_from)


class RationScreen(PageScreen):
    """How the rations of the tank one stood at are worked out."""

    scope = "ration"
    keeps = False

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.view: MealList | None = None
        self.tank = ""
        self.came_from: PageScreen | None = None

    def arrive(self) -> None:
        front = self.tankwalk.screen
        if isinstance(front, FeedScreen | FeedingScreen):
            self.came_from, self.tank = front, front.place_here()
            self.view = meal_list(self.site, front.meal_here)
            self.top = 0
        super().arrive()

    def lines(self, width: int, height: int) -> list[Line]:
        whole = [] if self.view is None else ration_page.draw(self.view, self.tank, width)
        return [*self.scrolled(whole, width, height - 1), footer(self.scope, width)]

    def do_board(self) -> None:
        self.tankwalk.back_to(self.came_from)
