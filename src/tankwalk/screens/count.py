"""The counting pad: digits build a number, Enter keeps it, + says that it is enough."""

from __future__ import annotations

from collections.abc import Callable

from tankwalk.errors import Refusal
from tankwalk.pages import count as page
from tankwalk.pages import count_words as words
from tankwalk.pages import steps
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, filled, spread
from tankwalk.practice.counting import talk
from tankwalk.practice.counting.pad import About
from tankwalk.practice.counting.sitting import Sitting
from tankwalk.practice.dialog import Talk
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen
from tankwalk.screens.base import NO_CHARACTER, NUM_LOCK, PAD_WITHOUT_NUM_LOCK

LONGEST = 6
"""Digits of a number: more is no count."""


class CountScreen(AskingScreen):
    """One count, opened with what it is of, or asking for that first."""

    scope = "count"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.typed = ""
        self.good = False
        self.sitting: Sitting | None = None
        self.about: About | None = None
        self._then: Callable[[str], None] | None = None

    def take(
        self, about: About | None, who: str = "", then: Callable[[str], None] | None = None
    ) -> None:
        """Take up a count. `then` is told what was kept, in place of the page one came from."""
        self.about, self._then = about, then
        self.sitting, self.asking, self.typed, self.said = None, None, "", ""
        if who:
            self.hand.named(who, self.site.now())
        else:
            self.hand.forget()

    def arrive(self) -> None:
        """As one left it; where nothing is counted yet, what is to be counted is asked."""
        if self.sitting is None and self.asking is None:
            self.ask(self._setup())
        else:
            self.draw()

    def in_hand(self) -> str:
        return "" if self.sitting is None else self.sitting.who

    def handed_to(self, who: str) -> None:
        """Somebody else counts on; what is typed stays."""
        if self.sitting is not None:
            self.sitting.hand_to(who)
            self.draw()

    # ---- the page

    def lines(self, width: int, height: int) -> list[Line]:
        below = steps.draw(self.asking, width) if self.asking is not None else None
        if below is None:
            below = [footer("count", width)]
        room = height - len(below)
        if self.sitting is None:
            head = spread(width, [" COUNT"], [f"{self.site.now().hm()} "], "head")
            return [*filled([head], width, room), *below]
        sitting = self.sitting
        view = page.CountView(
            sitting.count,
            sitting.worked,
            sitting.who,
            self.site.now(),
            self.said,
            "ok" if self.good else "check",
        )
        return [*page.draw(view, width, room, self.typed), *below]

    # ---- talks

    def _setup(self) -> Talk:
        """What is counted, and by whom."""
        ready = yield from talk.setup(self.site, self.hand, self.about)
        self.sitting = Sitting(self.site, ready.who, ready.about)
        before = len(self.sitting.count.samples)
        self.good = True
        return f"On where it was: {before} kept already." if before else ""

    def _enough(self) -> Talk:
        """Keep the count, then back to where one came from."""
        said = yield from talk.keeping(self._here(), words.title, words.kept)
        if said:
            self.sitting = None
        return said

    def _here(self) -> Sitting:
        if self.sitting is None:
            raise Refusal("Nothing is counted yet.")
        return self.sitting

    def _went_on(self) -> None:
        super()._went_on()
        if self.asking is None and self.sitting is None:
            self._leave()

    def _leave(self) -> None:
        """Back to where one came from, and say there what was kept."""
        said, then = self.said, self._then
        self.typed, self.said, self._then = "", "", None
        if then is not None and said.startswith("Kept"):
            then(said)
        else:
            self.tankwalk.leave_count(said)

    # ---- keys

    def pressed(self, key: str, character: str | None) -> None:
        if self.asking is not None:
            if key == "escape" and self.sitting is None:
                self.asking = None
                self.said = ""
                self._leave()
                return
            self.good = True
            super().pressed(key, character)
        elif key in PAD_WITHOUT_NUM_LOCK:
            self._check(NUM_LOCK)
        elif key == "backspace":
            self.typed = self.typed[:-1]
            self.draw_soon()
        elif character is not None and character.isdecimal():
            self.said = ""
            self.typed = (self.typed + character)[:LONGEST]
            self.draw_soon()
        elif character == "\ufffd":
            self._check(NO_CHARACTER)
        elif character in (".", ",") or (self.typed and character in ("+", "*", "/", "-")):
            self._check(f"Enter keeps {self.typed or 'a whole number'} first; backspace mends it.")
        else:
            super().pressed(key, character)

    def _check(self, sentence: str) -> None:
        self.good = False
        self.say(sentence)

    def do(self, name: str) -> None:
        self.good = False
        super().do(name)

    def do_keep(self) -> None:
        """Enter: keep the number; with nothing typed nothing is kept."""
        sitting = self._here()
        if not self.typed:
            self._check("Nothing was typed, so nothing is kept: a 0 is typed too.")
            return
        number, self.typed = int(self.typed), ""
        self.said = ""
        sitting.add(number)
        self.draw()

    def do_enough(self) -> None:
        self.good = True
        self.ask(self._enough())

    def do_again(self) -> None:
        self._here().again()
        self.good = True
        self.say("Counted again: type the new number; the old one stays, left out.")

    def do_out(self) -> None:
        sitting = self._here()
        if sitting.count.taken:
            self.good = True
            self.ask(talk.leaving_out(sitting))
        else:
            self._check("Nothing is counted yet.")

    def do_undo(self) -> None:
        self._here().undo()
        self.good = True
        self.say("Taken back.")

    def do_up(self) -> None:
        self._here().move(-1)
        self.draw()

    def do_down(self) -> None:
        self._here().move(1)
        self.draw()

    def do_workings(self) -> None:
        """The same sum in the Workings, with its equation and its source."""
        sitting = self._here()
        if not sitting.count.taken:
            self._check("Nothing is counted yet.")
            return
        self.tankwalk.work("aliquot", "", words.as_typed(sitting.count))

    def do_board(self) -> None:
        """Esc: clear what is typed, else back; what was counted is kept and goes on later."""
        if self.typed:
            self.typed = ""
            self.draw()
            return
        sitting = self.sitting
        many = 0 if sitting is None else len(sitting.count.samples)
        self.sitting = None
        self.said = f"{many} counted and kept: the pad goes on there." if many else ""
        self._then = None
        self._leave()
