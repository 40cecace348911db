"""The screens of judging: the list, and one item at one place, where another limit is tried."""

from __future__ import annotations

from tankwalk.pages import judging as page
from tankwalk.pages.lines import Line, Span, line
from tankwalk.practice.learning import talk, trying
from tankwalk.practice.learning.met import DAYS
from tankwalk.practice.learning.trying import Case, Tried
from tankwalk.practice.learning.view import Learned, learned
from tankwalk.practice.past.window import window
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen
from tankwalk.screens.base import PageScreen


class JudgingScreen(AskingScreen):
    """The list: a number shows that item at that place."""

    scope = "judging"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.view: Learned | None = None
        self.typed = ""
        self.came_from: PageScreen | None = None

    def arrive(self) -> None:
        front = self.tankwalk.screen
        if isinstance(front, PageScreen) and front.scope not in (self.scope, "limit", "help"):
            self.came_from = front
        super().arrive()

    def look(self) -> None:
        self.typed = ""
        self.view = learned(self.site)

    def lines(self, width: int, height: int) -> list[Line]:
        whole = [] if self.view is None else page.draw(self.view, width)
        typed = f" Number {self.typed}_  then Enter"
        entry = [line(width, Span(typed, "entry"))] if self.typed else []
        return self.above(whole, width, height, entry)

    def pressed(self, key: str, character: str | None) -> None:
        digits = "0123456789" if self.typed else "123456789"
        if self.asking is None and character is not None and character in digits:
            self._number(character)
        elif self.asking is None and key == "backspace":
            self.typed = self.typed[:-1]
            self.draw()
        else:
            super().pressed(key, character)

    def _number(self, digit: str) -> None:
        """A digit of a number of the list; as many as the list has are the number."""
        self.typed += digit
        if self.view is not None and len(self.typed) >= len(str(len(self.view.places))):
            self.do_choose()
        else:
            self.said = ""
            self.draw()

    def do_choose(self) -> None:
        typed, self.typed = self.typed, ""
        places = () if self.view is None else self.view.places
        if not typed:
            self.say("Choose by number whose flags are looked at.")
        elif 1 <= int(typed) <= len(places):
            chosen = places[int(typed) - 1]
            self.tankwalk.judge(chosen.places[0], chosen.item)
        else:
            self.say(f"There is no number {int(typed)} in the list.")

    def do_undo(self) -> None:
        self.ask(talk.take_back(self.site))

    def do_board(self) -> None:
        """Esc: the number, else back to where one came from."""
        if self.typed:
            self.typed = ""
            self.draw()
        else:
            self.tankwalk.back_to(self.came_from)


class LimitScreen(AskingScreen):
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
