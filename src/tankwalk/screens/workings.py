"""The Workings screens: the list, where letters find a calculator, and one calculator at work."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from textual import events

from tankwalk.pages import worksheet as page
from tankwalk.pages.actions import by_key
from tankwalk.pages.lines import Line
from tankwalk.practice.dialog import too_long
from tankwalk.practice.site import Site
from tankwalk.practice.workings.keep_talk import Asks, KeepTalk
from tankwalk.practice.workings.sheet_view import found_view, sheet_view
from tankwalk.practice.workings.worksheet import Worksheet
from tankwalk.screens.base import ENTER, NO_CHARACTER, NUM_LOCK, PAD_WITHOUT_NUM_LOCK, PageScreen

if TYPE_CHECKING:
    from tankwalk.screens.openings import Openings

LONGEST_ENTRY = 400
"""Characters a field may be typed with: a list of a hundred counts."""


NO_NUM_LOCK = PAD_WITHOUT_NUM_LOCK - {"pageup", "pagedown"}
"""What digits of the pad send while Num Lock is off, apart from the page keys."""


MOST_WORDS = 120
"""Characters of a reason, or of an amount typed again."""


class WorkingsScreen(PageScreen):
    """The list of calculators. What is typed looks for one; the sheet knows the rest."""

    scope = "workings"
    keeps = False

    def __init__(self, site: Site, sheet: Worksheet) -> None:
        super().__init__(site)
        self.worksheet = sheet

    @classmethod
    def made(cls, app: Openings) -> Self:
        """It shows the one sheet of the program."""
        return cls(app.site, app.worksheet)

    def lines(self, width: int, height: int) -> list[Line]:
        return page.draw_found(found_view(self.worksheet), width, height)

    def say(self, sentence: str) -> None:
        self.worksheet.say(sentence, False)
        self.draw()

    def pressed(self, key: str, character: str | None) -> None:
        if key == "backspace":
            self._seek(self.worksheet.sought[:-1])
        elif by_key(self.scope, key) is None and character is not None:
            self._seek(self.worksheet.sought + character)
        else:
            super().pressed(key, character)

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        words = self.pasted(event)
        if words:
            self._seek(self.worksheet.sought + words)

    def _seek(self, letters: str) -> None:
        self.worksheet.seek(letters.lstrip()[:40])
        self.draw_soon()

    def step(self, lines: int) -> None:
        self.worksheet.step(lines)
        self.draw_soon()

    def do_page(self) -> None:
        self.step(self.size.height - 6)

    def do_page_back(self) -> None:
        self.step(6 - self.size.height)

    def do_choose(self) -> None:
        self.worksheet.choose()
        self.tankwalk.open("working")

    def do_place(self) -> None:
        self.worksheet.go()
        self.draw()

    def do_board(self) -> None:
        """Esc: clear the letters, else back to where one came from."""
        if self.worksheet.sought:
            self._seek("")
        else:
            self.tankwalk.leave_workings()


class WorkingScreen(PageScreen):
    """One calculator: fields above, the answer large below them, and how it was made."""

    scope = "working"
    keeps = False
    """A sum needs no clock; what is recorded of it does, and is asked then."""
    takes_units = True

    def __init__(self, site: Site, sheet: Worksheet) -> None:
        super().__init__(site)
        self.worksheet = sheet
        self.typed = ""
        """What is typed at a question."""

    @classmethod
    def made(cls, app: Openings) -> Self:
        """It shows the one sheet of the program."""
        return cls(app.site, app.worksheet)

    def arrive(self) -> None:
        self.top, self.typed = 0, ""
        super().arrive()

    def lines(self, width: int, height: int) -> list[Line]:
        return page.draw(sheet_view(self.worksheet), width, height, self.top, self.typed)

    def say(self, sentence: str) -> None:
        self.worksheet.say(sentence, False)
        self.draw()

    # ---- keys

    def pressed(self, key: str, character: str | None) -> None:
        sheet = self.worksheet
        if key in NO_NUM_LOCK:
            self.say(NUM_LOCK)
        elif sheet.talk is not None:
            self._asked(key, character, sheet.talk)
        elif key == "backspace":
            sheet.type(sheet.entry[:-1])
            self.draw_soon()
        elif character == "\ufffd":
            self.say(NO_CHARACTER)
        elif character is not None and self._belongs(key, character):
            if sheet.input is None:
                self.say("This is the answer: arrow up to a field to type in it.")
            else:
                self._type(character)
                self.draw_soon()
        else:
            super().pressed(key, character)

    def _type(self, words: str) -> None:
        """More of a field, as far as one is taken."""
        if len(self.worksheet.entry) + len(words) <= LONGEST_ENTRY:
            self.worksheet.add(words)
        else:
            self.worksheet.say(too_long(LONGEST_ENTRY), False)

    def _belongs(self, key: str, character: str) -> bool:
        """Whether a character is part of a field: a slash only where something stands already."""
        if character == "/":
            one, sheet = self.worksheet.input, self.worksheet
            return bool(sheet.entry) and one is not None and one.key not in sheet.sources
        return by_key(self.scope, key) is None

    def _asked(self, key: str, character: str | None, talk: KeepTalk) -> None:
        """A key while a question stands."""
        if key == "escape":
            self.do_board()
        elif key == "question_mark":
            self.do_help()
        elif key == "backspace":
            self.typed = self.typed[:-1]
            self.draw()
        elif talk.asks.in_words:
            if key in ENTER:
                self._answer()
            elif character is not None and len(self.typed) < MOST_WORDS:
                self.typed += character
                self.draw()
        elif key in ENTER and self.typed:
            self._answer()
        elif character is not None:
            self.typed += character
            two = talk.asks.of_people and len(self.site.people) > 9
            if character in "0123456789" and two and len(self.typed) < 2:
                self.draw()
            else:
                self._answer()

    def _answer(self) -> None:
        typed, self.typed = self.typed, ""
        self.worksheet.answer(typed)
        talk = self.worksheet.talk
        if talk is not None and talk.asks in (Asks.AGAIN, Asks.DECIDER):
            self.app.bell()
        self.draw()

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        sheet, words = self.worksheet, self.pasted(event)
        if not words:
            return
        if sheet.talk is not None:
            if sheet.talk.asks.in_words:
                self.typed = (self.typed + words)[:MOST_WORDS]
        elif sheet.input is not None:
            self._type(words)
        self.draw()

    # ---- acts

    def _move(self, fields: int) -> None:
        self.worksheet.move(fields)
        self.draw_soon()

    def do_on(self) -> None:
        self._move(1)

    def do_up(self) -> None:
        self._move(-1)

    def _turn(self, way: int) -> None:
        self.worksheet.turn(way)
        self.draw()

    def do_word_on(self) -> None:
        self._turn(1)

    def do_word_back(self) -> None:
        self._turn(-1)

    def do_readings(self) -> None:
        self.worksheet.take()
        self.draw()

    def do_place(self) -> None:
        self.worksheet.go()
        self.draw()

    def do_record(self) -> None:
        self.tankwalk.when_clock_is_right(self._record)

    def _record(self) -> None:
        self.tankwalk.open("working")
        self.typed = ""
        self.worksheet.record()
        self.draw()

    def do_page(self) -> None:
        self.top += 5
        self.draw()

    def do_page_back(self) -> None:
        self.top = max(0, self.top - 5)
        self.draw()

    def do_board(self) -> None:
        """Esc: leave the question, else clear the field, else the list, else where one was."""
        sheet = self.worksheet
        self.typed = ""
        if sheet.back():
            self.say("Back: nothing was kept.")
        elif sheet.entry:
            sheet.type("")
            self.draw()
        elif self.tankwalk.straight_to_working:
            self.tankwalk.leave_workings()
        else:
            self.tankwalk.open("workings")
