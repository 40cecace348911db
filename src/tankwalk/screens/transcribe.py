"""The screens of a paper round: of which day it is, then its sheet typed in stop by stop."""

from __future__ import annotations

from tankwalk.pages.lines import Line, filled, line, spread, wrapped
from tankwalk.pages.sheet_words import twice_words
from tankwalk.pages.walk_past import room_of
from tankwalk.plan.model import Checklist
from tankwalk.practice.dialog import Talk
from tankwalk.practice.round.view import WalkView
from tankwalk.practice.site import Site
from tankwalk.practice.transcribing import beginning
from tankwalk.practice.transcribing.sheet_walk import SheetWalk
from tankwalk.screens.asking import AskingScreen
from tankwalk.screens.walk import WalkScreen

ABOUT = (
    "Type in a round that was walked on paper, from its sheet: the times and values that stand "
    "there, stop by stop. Everything is marked as transcribed, with both times."
)


class TranscribeScreen(AskingScreen):
    """Asks of which day the sheet is, who walked it and who types it in."""

    scope = "transcribe"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.checklist: Checklist | None = None
        self.walk: SheetWalk | None = None
        self.came_from = "who"

    def take(self, checklist: str, who: str = "") -> None:
        """Of which checklist, and who types it in where that is known."""
        self.checklist = self.site.plan.checklist(checklist) if checklist else None
        self.walk = None
        self.hand.forget()
        if who:
            self.hand.named(who, self.site.now())

    def new_hand(self) -> None:
        """Who was named as the page was opened types it in."""

    def arrive(self) -> None:
        super().arrive()
        self.walk = None
        self.ask(self._setup(), keeps=False)

    def _setup(self) -> Talk:
        begun = yield from beginning.setup(self.site, self.hand, self.checklist)
        if isinstance(begun, str):
            return begun
        self.walk = begun
        return ""

    def _went_on(self) -> None:
        super()._went_on()
        if self.asking is None and self.walk is not None:
            self.tankwalk.sheet(self.walk)

    def _leave_talk(self) -> None:
        self.do_board()

    def do_board(self) -> None:
        """Esc: back to where one came from."""
        self.tankwalk.open(self.came_from)

    def lines(self, width: int, height: int) -> list[Line]:
        now = self.site.now()
        label = "" if self.checklist is None else self.checklist.label
        said = f"{ABOUT} {twice_words(self.site.plan)}"
        head = [f" FROM PAPER  {label}"], [f"{now.short()} "]
        page = [spread(width, *head, "head"), line(width), *wrapped(width, said, "plain", 8)]
        return filled(self.above(page, width, height), width, height)


class SheetScreen(WalkScreen):
    """The walk of a paper round: the same page and keys, at the times of its sheet."""

    rings = False

    def in_hand(self) -> str:
        walk = self.walk
        return walk.typist if isinstance(walk, SheetWalk) and not walk.signed else ""

    def handed_to(self, who: str) -> None:
        """Somebody else types on; the record says so."""
        walk = self.walk
        if isinstance(walk, SheetWalk):
            self.tankwalk.sheet(beginning.go_on(self.site, walk.round, who, walk.who))

    def view(self, width: int, height: int) -> WalkView:
        """What stands open now is no matter of then."""
        return self.walk.view(*room_of(width, height), worked=False, opened=False)
