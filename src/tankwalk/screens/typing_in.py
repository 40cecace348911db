"""What is being typed at a walk, of a round or of a meal: a value, a note, a sign of the pad."""

from __future__ import annotations

from abc import abstractmethod
from typing import Protocol

from textual import events

from tankwalk.pages.actions import by_key
from tankwalk.practice.dialog import LONGEST_WORDS, too_long
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.questions import Reply
from tankwalk.practice.site import Site
from tankwalk.screens.base import ENTER, NO_CHARACTER, PageScreen


class Walked(Protocol):
    """What a walk takes from the one who types."""

    def answer(self, typed: str) -> Reply: ...

    def say(self, reply: Reply) -> object: ...

    def undo(self) -> object: ...

    def note(self) -> object: ...

    def move(self, way: str) -> object: ...


class TypingScreen(PageScreen):
    """Holds what is being typed and nothing else: its walk knows the rest."""

    longest = 24
    """Characters a value may be typed with; more is no number and no unit."""

    rings = True
    """Whether a value out of band rings the bell: there is somebody at the tank."""

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.typed = ""

    @property
    @abstractmethod
    def walked(self) -> Walked:
        """The walk that is answered."""

    @property
    @abstractmethod
    def writing(self) -> bool:
        """Whether words of one's own are asked for."""

    @abstractmethod
    def belongs(self, character: str) -> bool:
        """Whether a character is part of the value that is typed."""

    def pressed(self, key: str, character: str | None) -> None:
        if key == "backspace":
            self.typed = self.typed[:-1]
            self.draw_soon()
        elif character is not None and self.belongs(character):
            self._type(character)
        elif character == "\ufffd":
            self.say(NO_CHARACTER)
        elif character is not None and character.isalpha() and by_key(self.scope, key) is None:
            self.say(f"{character} does nothing here; ? lists the keys that do.")
        else:
            super().pressed(key, character)

    def say(self, sentence: str) -> None:
        self.walked.say(Reply(sentence, Flag.CHECK))
        self.draw()

    def _write(self, key: str, character: str | None) -> None:
        """Words of one's own: every printable key is text."""
        if key in ENTER:
            self._answer(self.typed)
        elif key == "escape":
            self.do("board")
        elif key == "backspace":
            self.typed = self.typed[:-1]
            self.draw_soon()
        elif character is not None:
            self._write_on(character)
            self.draw_soon()

    def _write_on(self, words: str) -> None:
        """More of a note, as far as one is taken."""
        if len(self.typed) + len(words) > LONGEST_WORDS:
            self.walked.say(Reply(too_long(LONGEST_WORDS), Flag.CHECK))
        self.typed = (self.typed + words)[:LONGEST_WORDS]

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        words = self.pasted(event)
        if not words:
            return
        if self.writing:
            self._write_on(words)
        else:
            self.typed = (self.typed + words)[: self.longest]
        self.draw()

    def _type(self, character: str) -> None:
        """One character more of a value; with the first of a unit what converts units is loaded.

        Most rounds type none, and it takes a seventh of the program's memory.
        """
        if len(self.typed) < self.longest:
            self.typed += character
            if not character.isdecimal() and character not in ".,<":
                from tankwalk.screens import ahead

                ahead.load_units()
            self.draw_soon()

    def _answer(self, typed: str) -> None:
        reply = self.walked.answer(typed)
        if reply.understood:
            self.typed = ""
        if reply.flag >= Flag.WATCH and self.rings:
            self.app.bell()
        self.draw()

    def _sign(self, mark: str) -> None:
        """A pad sign answers only on an empty entry, so that it never eats a number."""
        if self.typed:
            self.say(f"Enter keeps {self.typed}; {mark} is for an empty entry.")
        else:
            self._answer(mark)

    def do_again(self) -> None:
        self._sign("*")

    def do_undo(self) -> None:
        self.typed = ""
        self.walked.undo()
        self.draw()

    def do_note(self) -> None:
        self.typed = ""
        self.walked.note()
        self.draw()

    def _move(self, way: str) -> None:
        if self.typed:
            self.say(f"{self.typed} is not kept yet: Enter keeps it, Esc clears it.")
            return
        self.walked.move(way)
        self.draw()

    def do_up(self) -> None:
        self._move("up")

    def do_down(self) -> None:
        self._move("down")

    def do_left(self) -> None:
        self._move("left")
