"""The Meters screens: the list of meters, and one meter that is checked with the number pad."""

from __future__ import annotations

from textual import events

from tankwalk.pages import meters as page
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.meters.check_talk import LEFT, LISTS, NUMBERS, OVER, READY, WHO, Checking
from tankwalk.practice.meters.meter_view import Shown, check_view, shown
from tankwalk.practice.site import Site
from tankwalk.screens.base import NO_CHARACTER, NUM_LOCK, PAD_WITHOUT_NUM_LOCK, PageScreen

LONGEST_VALUE = 24
"""Characters a value may be typed with; more is no number and no unit."""

CHECKS = 60
"""Checks of which one meter's page knows; it shows those it has lines for."""


class MetersScreen(PageScreen):
    """The list; Enter opens the meter it stands at."""

    scope = "meters"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.at = 0
        self.shown: list[Shown] = []

    def arrive(self) -> None:
        self.said = ""
        self.shown = shown(self.site, self.site.now())
        self.at = max(0, min(self.at, len(self.shown) - 1))
        super().arrive()

    def lines(self, width: int, height: int) -> list[Line]:
        said = wrapped(width, self.said, "check", 4) if self.said else []
        room = height - 1 - len(said)
        name, now = self.site.plan.name, self.site.now()
        listed = page.draw(self.shown, name, now, width, room, self.at)
        return [*listed, *said, footer("meters", width)]

    def step(self, lines: int) -> None:
        self.at = max(0, min(self.at + lines, len(self.shown) - 1))
        self.draw_soon()

    def place_here(self) -> str:
        """The meter the list stands at: its past has a page as a tank's has."""
        return self.shown[self.at].state.meter.code if self.shown else ""

    def do_workings(self) -> None:
        self.tankwalk.work()

    def do_choose(self) -> None:
        if self.shown:
            self.tankwalk.check_meter(self.shown[self.at].state.meter.code)


class MeterScreen(PageScreen):
    """Holds what is being typed and nothing else: the check knows the rest."""

    scope = "meter"
    takes_units = True

    def __init__(self, site: Site, code: str) -> None:
        super().__init__(site)
        self.typed = ""
        self.begin(code)

    def begin(self, code: str) -> None:
        """Take another meter, or the same one anew."""
        self.typed = ""
        self.checking = Checking(self.site, code)
        self._look()

    def _look(self) -> None:
        """What the record says of this meter now."""
        [self.one] = shown(self.site, self.site.now(), CHECKS, self.checking.meter.code)

    def lines(self, width: int, height: int) -> list[Line]:
        now = self.site.now()
        return page.draw_one(check_view(self.checking), self.one, now, self.typed, (width, height))

    def say(self, sentence: str) -> None:
        self.checking.said = sentence
        self.draw()

    # ---- keys

    def pressed(self, key: str, character: str | None) -> None:
        step = self.checking.step
        if key in PAD_WITHOUT_NUM_LOCK:
            self.say(NUM_LOCK)
        elif key == "backspace":
            self.typed = self.typed[:-1]
            self.draw_soon()
        elif character == "\ufffd":
            self.say(NO_CHARACTER)
        elif step in LISTS and character is not None and character in "0123456789":
            self.typed += character
            if len(self.typed) < self.checking.digits:
                self.draw()
            else:
                self._answer(self.typed)
        elif step == READY and character == "+":
            self._answer("+")
        elif step in NUMBERS and character == "/" and not self.typed:
            self._answer("/")
        elif step in NUMBERS and character is not None and self._belongs(key, character):
            if len(self.typed) < LONGEST_VALUE:
                self.typed += character
            self.draw_soon()
        else:
            super().pressed(key, character)

    def _belongs(self, key: str, character: str) -> bool:
        """Whether a character is part of the entry: digits, a point or a minus start it."""
        if character in "0123456789.,-":
            return True
        return bool(self.typed) and (character.isalpha() or character in "/% ")

    def _answer(self, typed: str) -> None:
        self.typed = ""
        bad = self.checking.wrong
        self.checking.answer(typed)
        if self.checking.wrong and not bad:
            self.app.bell()
        self._look()
        self.draw()

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        if self.checking.step in NUMBERS:
            self.typed = (self.typed + self.pasted(event))[:LONGEST_VALUE]
            self.draw()

    # ---- acts

    def do_keep(self) -> None:
        if self.checking.step == OVER:
            self.do_board()
        elif self.typed or self.checking.step in (LEFT, READY, *NUMBERS):
            self._answer(self.typed)

    def do_lift(self) -> None:
        """Take back the newest mark of this meter."""
        marks = self.one.state.marks
        if self.checking.step not in (WHO, OVER):
            return
        if not marks:
            self.say("No reading of this meter is marked suspect: there is nothing to take back.")
            return
        self.checking.lift(marks[-1])
        self.draw()

    def do_board(self) -> None:
        """Esc: clear what is typed, else back to the list; what was kept stays kept."""
        if self.typed:
            self.typed = ""
            self.draw()
        else:
            self.tankwalk.open("meters")
