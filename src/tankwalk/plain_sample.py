"""A sample fish by fish line by line: a number a line, and after each fish what they come to."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tankwalk.errors import Refusal
from tankwalk.pages import sample_words as words
from tankwalk.plain_flag import talked
from tankwalk.plain_idle import Attended
from tankwalk.practice.dialog import Hand, Talk
from tankwalk.practice.samples import sitting_talk, sitting_view
from tankwalk.practice.samples.sitting import FishSitting
from tankwalk.practice.site import Site

Say = Callable[[str], None]

NUMBER_KEYS = "a number; + end; - leave out; * look again; / not taken; u take back"
SIGN_KEYS = "+ as it should be; - not; 0 leave out; end; * look again; / not taken; u take back"


class PlainSample:
    """One sitting, an answer a line."""

    def __init__(self, site: Site, answers: Iterator[str], say: Say, who: str | None) -> None:
        self.site, self.answers, self.say = site, answers, say
        self.hand = Hand()
        if who is not None:
            self.hand.named(site.signs(who), site.now())
        self.sitting: FishSitting | None = None

    def run(self, tank: str) -> int:
        """Look at fish until the sitting is ended or left; 1 where the answers ended before."""
        if not talked(self._setup(tank), self.answers, self.say):
            return 1
        there = Attended(self.site, self.answers, self.say)
        while self.sitting is not None:
            asked = self.sitting.asked
            keys = NUMBER_KEYS if asked.look.measured else SIGN_KEYS
            again = ", again" if asked.again else ""
            self.say(f"Fish {asked.nth}, {words.LOOKS[asked.look]}{again}: {keys}; empty: leave")
            line = there.next(self.sitting.who, self.sitting.hand_to)
            if line is None:
                return 1
            if not line.strip():
                self.say(f"Left: {len(self.sitting.fish)} fish are kept, and it goes on there.")
                return 0
            try:
                if not self._answer(self.sitting, line.strip()):
                    return 1
            except Refusal as refusal:
                self.say(str(refusal))
        return 0

    def _setup(self, tank: str) -> Talk:
        self.sitting = yield from sitting_talk.setup(self.site, self.hand, tank)
        return sitting_talk.on_where_it_was(self.sitting)

    def _answer(self, sitting: FishSitting, typed: str) -> bool:
        """One line; False where the answers ended in the middle of what it asks."""
        measured = sitting.asked.look.measured
        choosing = sitting.doubt is not None and bool(sitting.doubt.choices)
        if typed.lower() == "end" or (typed == "+" and measured and not choosing):
            return talked(self._end(sitting), self.answers, self.say)
        if (typed == "-" and measured) or (typed == "0" and not measured):
            return talked(sitting_talk.leaving_out(sitting), self.answers, self.say)
        if typed == "*" and not choosing:
            return talked(sitting_talk.correcting(sitting), self.answers, self.say)
        if typed == "*":
            sitting.measure_again()
        elif typed == "/":
            sitting.pass_by()
        elif typed.lower() == "u":
            self.say(sitting.undo())
        elif choosing and typed.isdecimal() and len(typed) == 1:
            sitting.choose(int(typed))
        elif choosing:
            self.say("1, 2: choose; * measure again.")
            return True
        elif typed in ("+", "-"):
            sitting.is_right(typed == "+")
        else:
            sitting.enter(typed)
        self._told(sitting)
        return True

    def _told(self, sitting: FishSitting) -> None:
        """What is in doubt; else, where a fish is done, what they come to."""
        if sitting.doubt is not None:
            self.say("; ".join(words.doubt_words(sitting.doubt)))
        elif sitting.asked.look is sitting.looks[0]:
            for said in words.come_to(sitting_view.view(sitting)):
                self.say(said)

    def _end(self, sitting: FishSitting) -> Talk:
        said = yield from sitting_talk.ending(sitting, words.ended)
        if said:
            self.sitting = None
        return said
