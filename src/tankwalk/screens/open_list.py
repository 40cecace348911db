"""The screen of what is open: choose by number, then what to do with it, by number."""

from __future__ import annotations

from tankwalk.pages import open_list as page
from tankwalk.pages.lines import Line, Span, line
from tankwalk.practice import open_list
from tankwalk.practice.budget import Noise
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen


class OpenScreen(AskingScreen):
    """Draws the list; a number chooses a row and begins the talk about it."""

    scope = "open"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.list = open_list.open_list(site)
        self.typed = ""
        self.came_from = "board"

    def look(self) -> None:
        self.typed = ""
        self.list = open_list.open_list(self.site)

    def lines(self, width: int, height: int) -> list[Line]:
        typed = f" Number {self.typed}_  then Enter"
        entry = [line(width, Span(typed, "entry"))] if self.typed else []
        return self.above(page.draw(self.list, width), width, height, entry)

    def pressed(self, key: str, character: str | None) -> None:
        if self.asking is None and character == "0" and not self.typed:
            self.do_pages()
        elif self.asking is None and character is not None and character in "0123456789":
            self._number(character)
        elif self.asking is None and key == "backspace":
            self.typed = self.typed[:-1]
            self.draw()
        else:
            super().pressed(key, character)

    def _number(self, digit: str) -> None:
        """A digit of a row's number; as many as the list has are the number."""
        self.typed += digit
        if len(self.typed) >= len(str(len(self.list.rows))):
            self.do_choose()
        else:
            self.said = ""
            self.draw()

    def place_here(self) -> str:
        """The place of the row whose number is typed; "" without one."""
        if not self.typed or not 1 <= int(self.typed) <= len(self.list.rows):
            return ""
        return open_list.place_of(self.list.rows[int(self.typed) - 1])

    # ---- acts

    def do_choose(self) -> None:
        typed, self.typed = self.typed, ""
        if not typed:
            self.say("Choose by number what is done, closed, or put back.")
        elif 1 <= int(typed) <= len(self.list.rows):
            row = self.list.rows[int(typed) - 1]
            if isinstance(row.about, Standing):
                self.tankwalk.incident(row.about.key)
                return
            if isinstance(row.about, Noise):
                self.tankwalk.judge(row.about.place, row.about.item)
                return
            self.ask(open_list.about(self.site, self.hand, row, page.said(row)))
        else:
            self.say(f"There is no number {int(typed)} in the list.")

    def do_new_action(self) -> None:
        self.ask(open_list.new_action(self.site, self.hand))

    def do_new_altered(self) -> None:
        self.ask(open_list.new_altered(self.site, self.hand))

    def do_board(self) -> None:
        """Esc: clear the number, else back to where one came from."""
        if self.typed:
            self.typed = ""
            self.draw()
        else:
            self.tankwalk.open(self.came_from)
