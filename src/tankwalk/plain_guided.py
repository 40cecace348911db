"""A guided procedure line by line: caution first, then a step a line, the bath by the clock."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.pages import guided as page
from tankwalk.plain_flag import talked
from tankwalk.practice.dialog import Hand, Talk
from tankwalk.practice.livefeed.guided import Guide, Procedure, Stage
from tankwalk.practice.livefeed.guided_sitting import GuidedSitting, taken_up, which
from tankwalk.practice.site import Site

Say = Callable[[str], None]

HEATED = (Stage.CHILL, Stage.READY, Stage.BATH)
"""Stages of cysts at which the temperature of the bath is taken."""


class PlainGuided:
    """One procedure, an answer a line; what runs runs on when the answers end."""

    def __init__(self, site: Site, answers: Iterator[str], say: Say, who: str | None) -> None:
        self.site, self.answers, self.say = site, answers, say
        self.hand = Hand()
        if who is not None:
            self.hand.named(site.signs(who), site.now())
        self.sitting: GuidedSitting | None = None

    def run(self, name: str | None) -> int:
        """Go on until it is over or left; 1 where the answers ended before that."""
        if not self._taken_up(name) or self.sitting is None:
            return 1
        sitting = self.sitting
        if sitting.guide is None:
            begun = self._begun(sitting)
            if begun is not None:
                return begun
        while sitting.guide is not None and sitting.guide.stage is not Stage.OVER:
            self._shown(sitting)
            line = next(self.answers, None)
            if line is None:
                return 1
            if not line.strip():
                self.say(f"Left: {sitting.batch} runs on, and is taken up at this step.")
                return 0
            try:
                if not self._answer(sitting, sitting.guide, line.strip().lower()):
                    return 1
            except Refusal as refusal:
                self.say(str(refusal))
            sitting.reload()
        return 0

    def _taken_up(self, name: str | None) -> bool:
        """Find what is meant, or ask; False where the answers ended."""
        self.sitting = taken_up(self.site, name or "")
        if self.sitting is not None:
            return True
        return talked(self._which(), self.answers, self.say)

    def _which(self) -> Talk:
        self.sitting = yield from which(self.site)
        return ""

    def _begun(self, sitting: GuidedSitting) -> int | None:
        """The caution, then of what and how much; None where it is begun, else what to end with."""
        for words in page.CAUTIONS[sitting.procedure]:
            self.say(words)
        while True:
            self.say("+ says that you have read this; an empty line: leave")
            line = next(self.answers, None)
            if line is None:
                return 1
            if not line.strip():
                self.say("Nothing was begun.")
                return 0
            if line.strip() == "+":
                break
            self.say(f"{line.strip()[:20]!r} is none of these.")
        try:
            if not talked(sitting.begin(self.hand), self.answers, self.say):
                return 1
        except Refusal as refusal:
            self.say(str(refusal))
        return None if sitting.guide is not None else 0

    def _shown(self, sitting: GuidedSitting) -> None:
        """The step that stands, what it asks, the clock of the bath, and the keys."""
        view = sitting.view()
        for words in page.spoken(view):
            self.say(words)
        guide = view.guide
        assert guide is not None
        shell = sitting.procedure is Procedure.SHELL
        bath = guide.stage is Stage.BATH
        keys = ["a number: degC"] if shell and guide.stage in HEATED else []
        if bath:
            keys += ["+ stop the bath", "- color"] if shell else ["+ take it out"]
        elif guide.stage in page.PLUS:
            keys.append(f"+ {page.PLUS[guide.stage]}")
        keys += [] if bath else ["/ give up"]
        self.say("; ".join([*keys, "u take back", "an empty line: leave"]))

    def _answer(self, sitting: GuidedSitting, guide: Guide, typed: str) -> bool:
        """One line; False where the answers ended in the middle of what it asks."""
        if typed == "+":
            return talked(sitting.on(), self.answers, self.say)
        if typed == "-":
            if sitting.must_stop:
                raise Refusal("Stop the bath first: +.")
            return talked(sitting.color(), self.answers, self.say)
        if typed == "/":
            return talked(sitting.give_up(), self.answers, self.say)
        if typed == "u":
            self.say(sitting.undo())
        elif typed[0].isdecimal() or typed[0] == "-":
            sitting.heat(quantity.read(typed, "degC").value)
            self.say(f"Kept: {typed} at {self.site.now().hm()}.")
        else:
            self.say(f"{typed[:20]!r} is none of these.")
        return True
