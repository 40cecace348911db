"""The counting pad line by line: a number a line, and after each what they come to."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tankwalk.errors import Refusal
from tankwalk.pages import count_words as words
from tankwalk.plain_flag import talked
from tankwalk.plain_idle import Attended
from tankwalk.practice.counting import talk
from tankwalk.practice.counting.pad import About
from tankwalk.practice.counting.sitting import Sitting
from tankwalk.practice.dialog import Hand, Talk
from tankwalk.practice.site import Site

Say = Callable[[str], None]

KEYS = "a number; + enough; * count it again; / leave it out; u take it back; an empty line: leave"


class PlainCount:
    """One count, an answer a line."""

    def __init__(self, site: Site, answers: Iterator[str], say: Say, who: str | None) -> None:
        self.site, self.answers, self.say = site, answers, say
        self.hand = Hand()
        if who is not None:
            self.hand.named(site.signs(who), site.now())
        self.sitting: Sitting | None = None

    def run(self, about: About | None) -> int:
        """Count until it is kept or left; 1 where the answers ended before that."""
        if not talked(self._setup(about), self.answers, self.say):
            return 1
        sitting = self.sitting
        if sitting is None:
            return 1
        self.say(words.how(sitting.count.about))
        there = Attended(self.site, self.answers, self.say)
        while self.sitting is not None:
            self.say(f"{self._next(sitting)}: {KEYS}")
            line = there.next(sitting.who, sitting.hand_to)
            if line is None:
                return 1
            if not line.strip():
                self.say("Left: what was counted is kept, and the pad goes on there.")
                return 0
            try:
                if not self._answer(sitting, line.strip().lower()):
                    return 1
            except Refusal as refusal:
                self.say(str(refusal))
        return 0

    def _setup(self, about: About | None) -> Talk:
        ready = yield from talk.setup(self.site, self.hand, about)
        self.sitting = Sitting(self.site, ready.who, ready.about)
        before = len(self.sitting.count.samples)
        return f"On where it was: {before} kept already." if before else ""

    def _next(self, sitting: Sitting) -> str:
        count = sitting.count
        columns = count.about.sort.columns
        what = f", {words.COLUMNS[columns[len(count.part)]]}" if len(columns) > 1 else ""
        return f"{words.one_of(count.about.sort).capitalize()} {len(count.samples) + 1}{what}"

    def _answer(self, sitting: Sitting, typed: str) -> bool:
        """One line; False where the answers ended in the middle of what it asks."""
        if typed == "+":
            return talked(self._enough(sitting), self.answers, self.say)
        if typed == "/":
            return talked(self._left_out(sitting), self.answers, self.say)
        if typed == "*":
            sitting.again()
        elif typed == "u":
            sitting.undo()
        elif typed.isdecimal() and typed.isascii():
            sitting.add(int(typed))
        else:
            self.say(f"{typed[:20]!r} is none of these.")
            return True
        self._told(sitting)
        return True

    def _told(self, sitting: Sitting) -> None:
        worked = sitting.worked
        if sitting.count.part:
            return
        parts = [] if worked is None else [words.kept(sitting.count, worked)]
        self.say(". ".join([*parts, words.verdict(sitting.count, worked)]))

    def _left_out(self, sitting: Sitting) -> Talk:
        return (yield from talk.leaving_out(sitting))

    def _enough(self, sitting: Sitting) -> Talk:
        said = yield from talk.keeping(sitting, words.title, words.kept)
        if said:
            self.sitting = None
        return said
