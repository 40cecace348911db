"""The Trial screen: one measure by treatment; down is the next measure, Enter every tank."""

from __future__ import annotations

from tankwalk.pages import trial as page
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, blank, filled, wrapped
from tankwalk.practice.site import Site
from tankwalk.practice.trial.comparing import Compared, compared
from tankwalk.practice.trial.courses import Courses, courses
from tankwalk.practice.trial.gathering import Gathered, gather
from tankwalk.screens.read_only import ReadOnlyScreen


class TrialScreen(ReadOnlyScreen):
    """Draws the comparison of one measure; nothing can be kept here."""

    scope = "trial"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.gathered: Gathered | None = None
        self.code = ""
        self.one: Compared | None = None
        self.days: Courses | None = None
        self.whole = False
        """Whether the tanks stand one by one."""

    def look(self) -> None:
        self.whole = False
        self.gathered = gather(self.site)
        codes = [one.code for one in self.gathered.measures]
        self._show(self.code if self.code in codes else codes[0])

    def _show(self, code: str) -> None:
        if self.gathered is None:
            return
        self.code, self.top = code, 0
        measure = self.gathered.measure(code)
        self.one = compared(measure, self.gathered.treatments, self.gathered.trial)
        self.days = courses(self.gathered, measure)

    def lines(self, width: int, height: int) -> list[Line]:
        said = wrapped(width, self.said, "check", 4) if self.said else []
        room = height - 1 - len(said)
        if self.gathered is None or self.one is None:
            return [*filled([blank(width)], width, room), *said, footer(self.scope, width)]
        if self.whole:
            whole = page.tanks(self.gathered, self.one, width)
            shown = self.scrolled(whole, width, room)
            return [*shown, *said, footer(self.scope, width, instead={"down": "on"})]
        shown = page.draw(self.gathered, self.one, self.days, width, room)
        return [*shown, *said, footer(self.scope, width)]

    # ---- keys

    def do_tanks(self) -> None:
        """Every tank, and what stands behind the comparison; again: back to the scale."""
        self.whole, self.top, self.said = not self.whole, 0, ""
        self.draw()

    def _step(self, way: int) -> None:
        if self.gathered is None:
            return
        codes = [one.code for one in self.gathered.measures]
        at = codes.index(self.code) if self.code in codes else 0
        self._show(codes[(at + way) % len(codes)])
        self.draw()

    def do_down(self) -> None:
        if self.whole:
            super().do_down()
        else:
            self._step(1)

    def do_up(self) -> None:
        if self.whole:
            super().do_up()
        else:
            self._step(-1)

    def do_right(self) -> None:
        self._step(1)

    def do_left(self) -> None:
        self._step(-1)

    def do_board(self) -> None:
        """Esc: from the tanks to the scale, from there to where one came from."""
        if self.whole:
            self.do_tanks()
        else:
            self.tankwalk.back_to(self.came_from)
