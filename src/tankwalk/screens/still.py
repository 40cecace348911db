"""The screen after nobody typed for long: who goes on here? Nothing is kept before that is said."""

from __future__ import annotations

from tankwalk.clock import ago
from tankwalk.pages.lines import Line, filled, line, spread, wrapped
from tankwalk.practice.dialog import Step, Talk
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen
from tankwalk.screens.base import PageScreen

ABOUT = (
    "Your initials go on every entry, so they are asked again where the laptop was left alone. "
    "What was kept is kept; what was being typed stays on its line."
)


class StillScreen(AskingScreen):
    """Asks by number who goes on, then the page one came from stands as it was left."""

    scope = "still"
    keeps = False

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.front: PageScreen | None = None
        self.who, self.idle = "", 0.0

    def ask_about(self, front: PageScreen, who: str, idle: float) -> None:
        """Of which page, in whose hand, and for how many minutes no key came."""
        self.front, self.who, self.idle = front, who, idle

    def arrive(self) -> None:
        super().arrive()
        self.ask(self._talk(), keeps=False)

    def _talk(self) -> Talk:
        others = [one.initials for one in self.site.people if one.initials != self.who]
        here = any(one.initials == self.who for one in self.site.people)
        first = [self.who] if here else []
        answer = yield Step(
            f"Nobody typed here for {ago(self.idle / 60)}; it was {self.who}. Who goes on?",
            (*first, *others),
        )
        front, self.front = self.front, None
        if front is None:
            return ""
        self.tankwalk.back_to(front)
        if answer.words != self.who:
            front.handed_to(answer.words)
        return ""

    def _went_on(self) -> None:
        if self.asking is not None and self.asking.over:
            self.asking = None
        else:
            self.draw()

    def _leave_talk(self) -> None:
        self.tankwalk.open("board")

    def lines(self, width: int, height: int) -> list[Line]:
        head = spread(width, [" WHO IS THERE"], [f"{self.site.now().short()} "], "head")
        page = [head, line(width), *wrapped(width, ABOUT, "plain", 5)]
        return filled(self.above(page, width, height), width, height)
