"""The screen of a tank, a loop or the site: its past, its story, and the way to its flags."""

from __future__ import annotations

from tankwalk.pages import tank as page
from tankwalk.pages import tank_table
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.dialog import Step, Talk
from tankwalk.practice.past import view as past
from tankwalk.practice.past.window import DAYS, STEPS
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen
from tankwalk.screens.base import PageScreen


class TankScreen(AskingScreen):
    """One place: arrows sideways change the tank, up and down go through its story."""

    scope = "tank"
    keeps = False

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.place = ""
        self.days, self.back, self.item = DAYS, 0, ""
        self.at: int | None = None
        """The line of the story one stands at; None at the plots."""
        self.tables = False
        """Whether the tables stand in place of the plots."""
        self.came_from: PageScreen | None = None
        self.view: past.PlaceView | None = None

    def take(self, place: str) -> None:
        """Show a place; without one the last one seen, or at first that of the worst flag."""
        if place:
            self._go(place)
        elif not self.place:
            self._go(past.first_place(self.site))

    def _go(self, place: str) -> None:
        if place != self.place:
            self.at, self.item = None, ""
        self.place = place

    def look(self) -> None:
        self._read()

    def _read(self) -> None:
        whole = self.at is not None or self.tables
        self.view = past.place_view(
            self.site, self.place, self.days, self.back, self.item, whole=whole
        )

    def place_here(self) -> str:
        return self.place

    def lines(self, width: int, height: int) -> list[Line]:
        if self.view is None:
            return self.above([], width, height)
        if self.tables or self.asking is not None:
            shown = tank_table.draw(self.view, width) if self.tables else None
            whole = shown if shown is not None else page.draw(self.view, width, height - 1)
            return self.above(whole, width, height)
        said = wrapped(width, self.said, "check", 4) if self.said else []
        room = height - 1 - len(said)
        return [*page.draw(self.view, width, room, self.at), *said, self._footer(width)]

    def _footer(self, width: int) -> Line:
        view = self.view
        if view is None:
            return footer(self.scope, width)
        instead = {"left": view.before, "right": view.after}
        instead["flag"] = "its flag" if view.wrong or self.at is not None else "its story"
        return footer(self.scope, width, instead=instead)

    # ---- another place, other days, another item

    def do_left(self) -> None:
        if self.view is not None:
            self._other(self.view.before)

    def do_right(self) -> None:
        if self.view is not None:
            self._other(self.view.after)

    def _other(self, place: str) -> None:
        """Another place, with the same days, and the same item where it has it."""
        item = self.item
        self._go(place)
        self.item, self.said, self.top = item, "", 0
        tank = self.site.plan.find_tank(place)
        if (tank is None) != (self.view is None or self.view.tank is None):
            self.item = ""
        self.at = None
        self._read()
        self.draw()

    def _anew(self) -> None:
        self.said, self.top = "", 0
        self._read()
        if self.view is not None and self.at is not None:
            self.at = min(self.at, len(self.view.story) - 1) if self.view.story else None
        self.draw()

    def do_more(self) -> None:
        """More days."""
        self.days = next((step for step in STEPS if step > self.days), self.days)
        self._anew()

    def do_fewer(self) -> None:
        """Fewer days."""
        self.days = next((step for step in reversed(STEPS) if step < self.days), self.days)
        self._anew()

    def do_page_back(self) -> None:
        """The days before."""
        self.back += self.days
        self._anew()

    def do_page(self) -> None:
        """The days after, up to today."""
        self.back = max(0, self.back - self.days)
        self._anew()

    def do_item(self) -> None:
        """What is drawn first, by number."""
        self.ask(self._which_item(), keeps=False)

    def _which_item(self) -> Talk:
        choices = () if self.view is None else self.view.choices
        answer = yield Step(
            "What is drawn first?",
            tuple(one.label for one in choices),
            enter="what matters most now",
        )
        self.item = choices[answer.number - 1].code if answer.number else ""
        self.at = None
        return ""

    def do_jump(self) -> None:
        """Another place by its number or its code."""
        self.ask(self._which_place(), keeps=False)

    def _which_place(self) -> Talk:
        answer = yield Step("Which tank or loop? Its number, then Enter.", writes=True)
        found = past.find_page(self.site.plan, answer.words)
        name = answer.words.strip().upper()
        if found is None and self.site.reader.feeding.newest_batch(name):
            self.tankwalk.batch(name)
            return ""
        if found is None:
            return f"{answer.words.strip()[:20]} is no tank, no loop and no meter here."
        self._go(found)
        return ""

    def do_table(self) -> None:
        """The tables in place of the plots, or the plots again."""
        self.tables, self.top = not self.tables, 0
        self._anew()

    # ---- the story

    def do_down(self) -> None:
        if self.tables:
            super().do_down()
            return
        if self.at is None:
            self.at = 0
            self._read()
            if self.view is None or not self.view.story:
                self.at = None
        elif self.view is not None:
            self.at = min(self.at + 1, len(self.view.story) - 1)
        self.said = ""
        self.draw()

    def do_up(self) -> None:
        if self.tables:
            super().do_up()
            return
        if self.at is not None:
            self.at = self.at - 1 if self.at > 0 else None
        self.said = ""
        self.draw()

    def do_flag(self) -> None:
        """The flag of the line one stands at, else the worst that stands; without one the story."""
        view = self.view
        if view is None:
            return
        if self.at is not None and view.story:
            key = view.story[self.at].key
            if key is None:
                self.say("This line belongs to no flag.")
            else:
                self.tankwalk.incident(key)
        elif view.wrong:
            self.tankwalk.incident(view.wrong[0].key)
        else:
            self.do_down()

    def do_week(self) -> None:
        """What this tank was fed by day."""
        if self.site.plan.find_tank(self.place) is None:
            self.say(f"{self.place} is no tank: it has no meals.")
        else:
            self.tankwalk.open("feedweek")

    def do_board(self) -> None:
        """Esc: from the story or the tables to the plots, else back to where one came from."""
        if self.at is not None or self.tables:
            self.at, self.tables, self.said, self.top = None, False, "", 0
            self.draw()
        else:
            self.tankwalk.back_to(self.came_from)
