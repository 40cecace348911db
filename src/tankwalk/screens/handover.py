"""The handover screen: read the page, add lines to it, give the room, take the room."""

from __future__ import annotations

from tankwalk.pages import handover as page
from tankwalk.pages.lines import Line
from tankwalk.practice.handover import drafting, give_take
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen


class HandoverScreen(AskingScreen):
    """Draws the draft; what is asked about it is asked below it."""

    scope = "handover"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.draft = drafting.draft(site)
        self.fresh = True

    def look(self) -> None:
        if not self.fresh:
            self.draft = drafting.draft(self.site)
        self.fresh = False

    def lines(self, width: int, height: int) -> list[Line]:
        if self.asking is not None and self.asking.step.closed:
            return page.draw_said_back(self.draft, self.asking, width, height)
        return self.above(page.draw(self.draft, width), width, height)

    def do_give(self) -> None:
        self.ask(give_take.give(self.site, page.given(self.draft)))

    def do_take(self) -> None:
        self.ask(give_take.take(self.site, self.draft, page.text_of(self.draft)))

    def do_todo(self) -> None:
        self.ask(give_take.to_do(self.site, self.hand))

    def do_line(self) -> None:
        self.ask(give_take.line(self.site, self.hand))

    def do_undo(self) -> None:
        self.ask(give_take.undo(self.site, self.hand))

    def do_note(self) -> None:
        self.ask(give_take.note_untaken(self.site))
