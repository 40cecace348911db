"""The screen before anything is kept where the record speaks against the clock."""

from __future__ import annotations

from collections.abc import Callable

from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.practice import clock_check
from tankwalk.practice.site import ClockDoubt, Site
from tankwalk.screens.asking import AskingScreen


class ClockScreen(AskingScreen):
    """Asks by number; 1 goes on to what was wanted, anything else back to the board."""

    scope = "clock"
    keeps = False

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.doubt: ClockDoubt | None = None
        self.onward: Callable[[], None] = self.do_board

    def look(self) -> None:
        self.doubt = self.site.clock_doubt()

    def before(self, onward: Callable[[], None]) -> None:
        """Ask, and go `onward` where the clock is right."""
        self.onward = onward
        if self.doubt is not None:
            self.ask(clock_check.talk(self.site, self.doubt))

    def say(self, sentence: str) -> None:
        """The talk is over: on to what was wanted, or to the board, which says why not."""
        if sentence:
            self.tankwalk.open("board")
            board = self.tankwalk.screen
            if board is not self and hasattr(board, "say"):
                board.say(sentence)
        else:
            self.onward()

    def lines(self, width: int, height: int) -> list[Line]:
        now = "" if self.doubt is None else f"{self.doubt.now.long()} "
        page = [spread(width, [" CLOCK"], [now], "head"), blank(width)]
        page += wrapped(width, WHY, "plain", 4)
        return self.above([*page, line(width, Span(""))], width, height)


WHY = (
    "Every entry is dated by this laptop's clock. Ages and due times go by it, and an entry is "
    "never dated anew."
)
