"""One meal walked tank by tank, the same for the screen and the plain mode.

`answer` takes what was typed where one stands. Whatever is accepted is on the disk before it
returns. `view` is all that a page shows. Nothing here knows a widget.
"""

from __future__ import annotations

from collections.abc import Callable

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger import sqlite_errors
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meal import answering, keeping, view
from tankwalk.practice.meal.at_meal import AtMeal
from tankwalk.practice.meal.questions import AskWords, Words
from tankwalk.practice.meal.view import FeedView
from tankwalk.practice.round.questions import Reply
from tankwalk.practice.site import Site


class FeedWalk(AtMeal):
    """One person who feeds one meal: what is asked of them now, and what becomes of an answer."""

    def __init__(self, site: Site, meal: Instant, who: str, given_at: Instant | None = None):
        super().__init__(site, meal, site.signs(who), given_at)
        self._view: tuple[int, int, FeedView] | None = None
        self.stand_at_the_next_open(*self.newest_at())

    def hand_to(self, who: str) -> None:
        """Somebody else goes on with the meal, under their own initials."""
        self.who = self.serving.who = self.keeping.who = self.site.signs(who)
        self.acts += 1  # a view names who feeds

    def view(self) -> FeedView:
        """What a page shows now: the same value until an act, a look at the record, or a minute."""
        minute = self.site.now().utc // 60
        if self._view is None or self._view[:2] != (self.acts, minute):
            self._view = self.acts, minute, view.made(self)
        return self._view[2]

    def answer(self, typed: str) -> Reply:
        """One answer to what is asked now. Never raises: a refusal is the reply's sentence."""
        return self._safely(lambda: answering.answer(self, typed))

    def undo(self) -> Reply:
        """Take back this person's newest entry of the meal, and what its key gave besides."""
        return self._safely(lambda: keeping.undo(self))

    def note(self) -> Reply:
        """A note in one's own words for the tank one stands at."""
        if self.at_end:
            return self._safely(lambda: Reply("A note is for a tank: go back to it.", Flag.CHECK))
        return self._safely(lambda: self.ask(AskWords(self.stop, Words.NOTE)))

    def move(self, way: str) -> Reply:
        """Arrows: "up"/"down" a line, "left"/"right" a tank. Nothing is kept or lost by it."""
        return self._safely(lambda: self._moved(way))

    def _moved(self, way: str) -> Reply:
        self.question = None
        stop, line = self.where
        last = len(self.stops)
        if way in ("left", "right"):
            self.arrive(max(0, min(stop + (1 if way == "right" else -1), last)))
        elif way == "up" and line > 0:
            self.where = stop, line - 1
        elif way == "up" and stop > 0:
            self.where = stop - 1, max(0, len(self.stops[stop - 1].lines) - 1)
        elif way == "down" and not self.at_end:
            more = line + 1 < len(self.stop.lines)
            self.where = (stop, line + 1) if more else (stop + 1, 0)
        return Reply()

    def back(self) -> bool:
        """Esc: leave the question; False when there is none."""
        if self.question is None:
            return False
        self._safely(lambda: self._left())
        return True

    def _left(self) -> Reply:
        self.question = None
        return Reply("Back: nothing was kept.")

    def reload(self) -> None:
        """Read the list and the record anew, and stay at the same tank and line."""
        self._safely(self._reloaded)

    def _reloaded(self) -> Reply:
        self.read_anew()
        return self.said

    def say(self, reply: Reply) -> Reply:
        """Let the page say something."""
        self.said = reply
        self.acts += 1
        return reply

    def _safely(self, act: Callable[[], Reply]) -> Reply:
        """Do something; where it is refused, say so and stand as before, to be tried again."""
        stood = self.where, self.question
        try:
            with sqlite_errors.told(self.site.ledger.path):
                return self.say(act())
        except Refusal as refusal:
            self.where, self.question = stood
            return self.say(Reply(str(refusal), Flag.CHECK, understood=False))
