"""Pages of feed that are only read: tomorrow's needs, a ration's working, and a week."""

from __future__ import annotations

from tankwalk.pages import feed_week as week_page
from tankwalk.pages import ration as ration_page
from tankwalk.pages import tomorrow as tomorrow_page
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.feeding.dispensing import MealList, meal_list
from tankwalk.practice.feeding.rations import calculator
from tankwalk.practice.feeding.tomorrow import Tomorrow, tomorrow
from tankwalk.practice.feeding.week import Week, week
from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen
from tankwalk.screens.feed import FeedingScreen, FeedScreen
from tankwalk.screens.read_only import ReadOnlyScreen


class TomorrowScreen(ReadOnlyScreen):
    """What tomorrow's meals need, worked backwards to tonight."""

    scope = "tomorrow"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.view: Tomorrow | None = None

    def look(self) -> None:
        self.view = tomorrow(self.site)

    def lines(self, width: int, height: int) -> list[Line]:
        whole = [] if self.view is None else tomorrow_page.draw(self.view, width)
        return self.framed(whole, width, height)


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

    def place_here(self) -> str:
        return self.tank

    def do_workings(self) -> None:
        """The calculator that fits one of the feeds, filled; else all of them at this tank."""
        row = None if self.view is None else self.view.row(self.tank)
        for one in () if row is None else row.portions:
            found = calculator(one.need, one.pours[0].per_ml if one.pours else None)
            if found is not None:
                self.tankwalk.work(found[0], self.tank, found[1])
                return
        super().do_workings()

    def do_board(self) -> None:
        self.tankwalk.back_to(self.came_from)


class FeedWeekScreen(PageScreen):
    """A week's feed of the tank one stood at, or of its treatment."""

    scope = "feedweek"
    keeps = False

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.view: Week | None = None
        self.tank = ""
        self.whole = False
        """Whether the treatment is shown and not the tank alone."""
        self.came_from: PageScreen | None = None

    def arrive(self) -> None:
        front = self.tankwalk.screen
        if isinstance(front, FeedScreen) or (
            isinstance(front, PageScreen) and front.scope == "tank"
        ):
            self.came_from, self.tank, self.whole = front, front.place_here(), False
        self._read()
        super().arrive()

    def _read(self) -> None:
        tank = self.site.plan.find_tank(self.tank) or self.site.plan.tanks[0]
        self.tank, self.top = tank.code, 0
        self.view = week(self.site, (self.whole and tank.treatment) or tank.code)

    def lines(self, width: int, height: int) -> list[Line]:
        said = wrapped(width, self.said, "check", 3) if self.said else []
        whole = [] if self.view is None else week_page.draw(self.view, width)
        shown = self.scrolled(whole, width, height - 1 - len(said))
        return [*shown, *said, footer(self.scope, width)]

    def do_treatment(self) -> None:
        """The mean of the treatment, or the tank alone again."""
        tank = self.site.plan.find_tank(self.tank)
        if tank is None or tank.treatment is None:
            self.say(f"{self.tank} has no treatment in the plan.")
            return
        self.whole, self.said = not self.whole, ""
        self._read()
        self.draw()

    def place_here(self) -> str:
        return self.tank

    def _other(self, way: int) -> None:
        order = [one.code for one in walking_order(self.site.plan, self.site.now().day)]
        index = order.index(self.tank) + way if self.tank in order else 0
        self.tank, self.said = order[index % len(order)], ""
        self._read()
        self.draw()

    def do_left(self) -> None:
        self._other(-1)

    def do_right(self) -> None:
        self._other(1)

    def do_board(self) -> None:
        self.tankwalk.back_to(self.came_from)
