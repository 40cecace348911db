"""Who goes on, line by line: asked again where nobody typed for long, with the line kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tankwalk.clock import ago
from tankwalk.practice.site import Site

Say = Callable[[str], None]


class Attended:
    """Answers of people who may have gone meanwhile; `site` is the one at the time of now.

    A line that came after the pause waits until it is said whose it is: nothing of it is lost.
    """

    def __init__(self, site: Site, answers: Iterator[str], say: Say) -> None:
        self.site, self.answers, self.say = site, answers, say
        self._last = site.now()

    def next(self, who: str, hand_to: Callable[[str], None]) -> str | None:
        """The next line, None where there is none; `hand_to` is told who else goes on."""
        line = next(self.answers, None)
        idle = self.site.now().hours_since(self._last)
        if line is not None and idle * 60 >= self.site.plan.idle_minutes:
            chosen = self._asked(who, idle)
            if chosen is None:
                return None
            if chosen != who:
                hand_to(chosen)
        self._last = self.site.now()
        return line

    def _asked(self, who: str, idle: float) -> str | None:
        there = [one.initials for one in self.site.people]
        people = sorted(there, key=lambda one: one != who)
        listed = "; ".join(f"{nth} {one}" for nth, one in enumerate(people, 1))
        self.say(
            f"Nobody typed here for {ago(idle)}; it was {who}. Who goes on? {listed}. "
            "What you typed waits."
        )
        while True:
            typed = next(self.answers, None)
            if typed is None:
                return None
            number = typed.strip()
            if number.isdecimal() and number.isascii() and 1 <= int(number) <= len(people):
                return people[int(number) - 1]
            self.say("Choose by number: nothing is kept before that.")
