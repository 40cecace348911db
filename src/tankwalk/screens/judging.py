"""The screens of judging: the list, and one item at one place, where another limit is tried."""

from __future__ import annotations

from tankwalk.pages import judging as page
from tankwalk.pages.lines import Line
from tankwalk.practice.learning import talk, trying
from tankwalk.practice.learning.met import DAYS
from tankwalk.practice.learning.trying import Case, Tried
from tankwalk.practice.learning.view import Learned, learned
from tankwalk.practice.past.window import window
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen
from tankwalk.screens.base import PageScreen
from tankwalk.screens.choosing import ChoosingScreen


class AnotherScreen(AskingScreen):
    """A page from which any item of any place is shown."""

    wanted: tuple[str, str] | None = None

    def do_place(self) -> None:
        """Ask for a tank or loop and for an item of it."""
        self.ask(talk.another(self.site, self._want), keeps=False)

    def _want(self, place: str, item: str) -> None:
        self.wanted = place, item

    def _went_on(self) -> None:
        super()._went_on()
        if self.wanted is not None and self.asking is None:
            (place, item), self.wanted = self.wanted, None
            self.tankwalk.judge(place, item)


class JudgingScreen(AnotherScreen, ChoosingScreen):
    """The list: a number shows that item at that place."""

    scope = "judging"
    nothing_typed = "Choose by number whose flags are looked at."

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.view: Learned | None = None
        self.came_from: PageScreen | None = None

    def arrive(self) -> None:
        front = self.tankwalk.screen
        if isinstance(front, PageScreen) and front.scope not in (self.scope, "limit", "help"):
            self.came_from = front
        super().arrive()

    def look(self) -> None:
        super().look()
        self.view = learned(self.site)

    def lines(self, width: int, height: int) -> list[Line]:
        whole = [] if self.view is None else page.draw(self.view, width)
        return self.above(whole, width, height, self.entry(width))

    @property
    def many(self) -> int:
        return 0 if self.view is None else len(self.view.places)

    def chosen(self, nth: int) -> None:
        if self.view is not None:
            chosen = self.view.places[nth]
            self.tankwalk.judge(chosen.places[0], chosen.item)

    def do_undo(self) -> None:
        self.ask(talk.take_back(self.site))

    def leave(self) -> None:
        self.tankwalk.back_to(self.came_from)


class LimitScreen(AnotherScreen):
    """One item at one place: Enter tries another limit on its looks."""

    scope = "limit"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.case: Case | None = None
        self.tried: Tried | None = None
        self.came_from: PageScreen | None = None

    def take(self, place: str, item: str, came_from: PageScreen | None) -> None:
        """Show an item at a place. Refusal where no limit of a band can be moved there."""
        self.case = trying.case(self.site, place, item, window(self.site, self.site.now(), DAYS))
        if came_from is not self:
            self.came_from = came_from

    def look(self) -> None:
        self.tried = None
        if self.case is not None:
            days = window(self.site, self.site.now(), DAYS)
            self.case = trying.case(self.site, self.case.place, self.case.item.code, days)

    def place_here(self) -> str:
        return "" if self.case is None else self.case.place

    def lines(self, width: int, height: int) -> list[Line]:
        whole: list[Line] = []
        if self.case is not None:
            asked = self.asking is not None
            whole = page.draw_case(self.case, self.tried, width, asked=asked)
        return self.above(whole, width, height)

    def do_try(self) -> None:
        """Another limit on the looks of these days; a lead may write it into the plan."""
        if self.case is not None:
            self.top = 0
            self.ask(talk.limits(self.site, self.case, self._show))

    def _show(self, tried: Tried | None) -> None:
        self.tried = tried

    def do_undo(self) -> None:
        self.ask(talk.take_back(self.site))

    def do_board(self) -> None:
        self.tankwalk.back_to(self.came_from)
