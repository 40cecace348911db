"""The walk screen: digits build the entry, the pad answers, the page shows what was kept."""

from __future__ import annotations

from collections.abc import Iterator

from tankwalk.pages import walk as page
from tankwalk.pages.lines import Line
from tankwalk.pages.walk_past import room_of
from tankwalk.practice.round.questions import AskAgain, AskSign, AskSlip, AskWords, Reply, menu
from tankwalk.practice.round.view import WalkView
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site
from tankwalk.practice.workings import derived
from tankwalk.screens.base import ENTER
from tankwalk.screens.typing_in import TypingScreen


class WalkScreen(TypingScreen):
    """Holds what is being typed and nothing else: the walk knows the rest."""

    scope = "walk"

    def __init__(self, site: Site, walk: Walk) -> None:
        super().__init__(site)
        self.leaving = -1
        self._take(walk)
        self._page: page.Page | None = None
        """The page as it was drawn last: a digit draws the rows that it changes."""

    def begin(self, walk: Walk) -> None:
        """Take another round, or the same one as another person."""
        self.typed = ""
        self._take(walk)

    def _take(self, walk: Walk) -> None:
        self.walk = walk
        walk.judges_later = True
        self.fresh = True

    def arrive(self) -> None:
        if not self.fresh:
            self.walk.reload()
            if self.walk.said.message is not None and not self.walk.pinned:
                self.walk.say(Reply())  # it was dealt with on its own page
        self.fresh = False
        super().arrive()

    def lines(self, width: int, height: int) -> list[Line]:
        view = self.view(width, height)
        if view.open is not None and view.open.look is not None:
            self.tankwalk.await_moment("look", view.open.look.at)
        drawn = self._page
        if drawn is None or drawn.view is not view or drawn.size != (width, height):
            drawn = self._page = page.Page(view, width, height, drawn)
            self.tankwalk.read_ahead(self._ahead())
        return drawn.draw(self.typed)

    def view(self, width: int, height: int) -> WalkView:
        """What a page of this size shows."""
        return self.walk.view(*room_of(width, height), opened=self.tankwalk.stands)

    def _ahead(self) -> Iterator[str]:
        """What is done while nobody types: the whole round judged, what is typed held against what
        it will be held against once it is entered, then what comes next read."""
        if self.walk.judge_whole():
            self.draw()
        width, height = self.drawn or self.size
        yield from self.walk.ahead(*room_of(width, height), self.typed)

    def _type(self, character: str) -> None:
        from tankwalk.screens import ahead

        super()._type(character)
        self.tankwalk.read_ahead(self._ahead(), ahead.DIGIT_SECONDS)

    def place_here(self) -> str:
        return "" if self.walk.at_end else self.walk.slot.place

    def help_slot(self) -> object:
        return None if self.walk.at_end else self.walk.slot

    @property
    def walked(self) -> Walk:
        return self.walk

    @property
    def writing(self) -> bool:
        return isinstance(self.walk.question, AskWords)

    def in_hand(self) -> str:
        return "" if self.walk.signed else self.walk.who

    def handed_to(self, who: str) -> None:
        """Somebody else goes on with the round; the record says so."""
        from tankwalk.practice.round import rounds

        checklist = self.site.plan.checklist(self.walk.round.checklist)
        typed = self.typed
        self.tankwalk.walk(rounds.begin(self.site, checklist, who), who)
        self.typed = typed
        self.draw()

    # ---- keys

    def pressed(self, key: str, character: str | None) -> None:
        self.walk.judge_whole()  # a key that comes first finds what it would have found later
        asked = self.walk.question
        if isinstance(asked, AskWords):
            self._write(key, character)
        elif self.walk.signed and (key in ENTER or character in ("3", "h")):
            self.tankwalk.open("handover" if character in ("3", "h") else "board")
        elif menu(asked) and character is not None and (character.isdecimal() or character == "*"):
            self._answer(character)
        else:
            super().pressed(key, character)

    def belongs(self, character: str) -> bool:
        """Whether a character is part of the entry: digits and a point start it, a unit may follow.

        Letters at the start of an entry are acts; after a digit they can only be a unit.
        """
        if character.isdecimal() or character in ".,<":
            return True
        started = bool(self.typed) and self.typed[0] in "0123456789.,<"
        takes_unit = self.walk.at_end or self.walk.slot.item.kind.takes_unit
        return started and takes_unit and (character.isalpha() or character in "/%° ")

    # ---- acts

    def do_keep(self) -> None:
        """Enter: keep what is typed; with nothing typed, to the flag whose response is in sight."""
        pinned = self.walk.pinned if self.walk.question is None and not self.walk.signed else ()
        if pinned and not self.typed:
            from tankwalk.practice.judging.standing.flags import Key

            one = pinned[0]
            self.tankwalk.incident(Key("place", one.slot.place, one.slot.item.code), self.walk.who)
        else:
            self._answer(self.typed)

    def do_right(self) -> None:
        self._sign("+")

    def do_problem(self) -> None:
        self._sign("-")

    def do_skip(self) -> None:
        self._sign("/")

    def do_workings(self) -> None:
        """The working of what is worked out here, and the fields of this place filled with it."""
        walk = self.walk
        seen = None if walk.at_end else derived.closest(walk.worked(), walk.slot.item.code)
        self.work_behind(seen, self.place_here())

    def do_meter(self) -> None:
        self.walk.next_meter()
        self.draw()

    def do_next(self) -> None:
        self._move("right")

    def do_board(self) -> None:
        """Esc: clear the entry, else leave the question, else go to the board."""
        if self.typed and not isinstance(self.walk.question, AskSlip | AskSign):
            self.typed = ""
            self.walk.back()
            self.draw()
        elif self.walk.back():
            self.typed = ""
            self.draw()
        elif isinstance(self.walk.question, AskAgain) and self.leaving != self.walk.at:
            self.leaving = self.walk.at
            self.say("A second reading is still wanted here. Esc again goes to the board.")
        else:
            self.leaving = -1
            self.leave()

    def leave(self) -> None:
        """To where one goes from here."""
        self.tankwalk.open("board")
