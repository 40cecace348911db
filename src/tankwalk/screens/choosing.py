"""What screens share on which a line of a list is chosen by its number, typed on the pad."""

from __future__ import annotations

from abc import abstractmethod

from tankwalk.pages.lines import Line, Span, line
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen


class ChoosingScreen(AskingScreen):
    """Holds the number while it is typed; as many digits as the list has are the number."""

    nothing_typed = ""
    """What Enter says while no number is typed."""

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.typed = ""

    @property
    @abstractmethod
    def many(self) -> int:
        """How many lines the list has."""

    @abstractmethod
    def chosen(self, nth: int) -> None:
        """A line was chosen; `nth` counts from 0."""

    @abstractmethod
    def leave(self) -> None:
        """Back to where one came from."""

    def look(self) -> None:
        self.typed = ""

    def entry(self, width: int) -> list[Line]:
        """The number that is being typed, in a line of its own; none, no line."""
        typed = f" Number {self.typed}_  then Enter"
        return [line(width, Span(typed, "entry"))] if self.typed else []

    @property
    def at_number(self) -> int | None:
        """The line whose number is typed, counted from 0; None where there is no such line."""
        return int(self.typed) - 1 if self.typed and 1 <= int(self.typed) <= self.many else None

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
        self.typed += digit
        if len(self.typed) >= len(str(self.many)):
            self.do_choose()
        else:
            self.said = ""
            self.draw()

    def do_choose(self) -> None:
        typed, nth, self.typed = self.typed, self.at_number, ""
        if not typed:
            self.say(self.nothing_typed)
        elif nth is None:
            self.say(f"There is no number {int(typed)} in the list.")
        else:
            self.chosen(nth)

    def do_board(self) -> None:
        """Esc: the number, else back to where one came from."""
        if self.typed:
            self.typed = ""
            self.draw()
        else:
            self.leave()
