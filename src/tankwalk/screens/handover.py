"""The handover screen: read the page, add lines to it, give the room, take the room."""

from __future__ import annotations

from tankwalk.pages import handover as page
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.handover import drafting, give_take
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen

MANY = 1_000_000
"""More lines than any page has."""


class HandoverScreen(AskingScreen):
    """Draws the draft; what is asked about it is asked below it."""

    scope = "handover"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.draft = drafting.draft(site)
        self.fresh = True
        self.unread = MANY
        """Lines that were not yet on the screen since the page was drafted."""

    def look(self) -> None:
        if not self.fresh:
            before = self.draft.last
            self.draft = drafting.draft(self.site)
            if self.draft.last != before:  # given or taken: who has the room stands on top
                self.top = 0
        self.fresh = False
        self.unread = MANY

    def lines(self, width: int, height: int) -> list[Line]:
        if self.asking is not None and self.asking.step.closed:
            return page.draw_said_back(self.draft, self.asking, width, height)
        whole = page.draw(self.draft, width)
        shown = self.above(whole, width, height)
        if self.asking is None:
            foot = 1 + len(wrapped(width, self.said, "check", 5)) if self.said else 1
            self.unread = max(0, min(self.unread, len(whole) - self.top - (height - foot)))
        return shown

    def do_give(self) -> None:
        self.ask(give_take.give(self.site, self.draft, page.given))

    def do_take(self) -> None:
        """Take the room, once the page was read to its end."""
        if self.unread > 0 and self._waits():
            self.do_page()
            more = f"{self.unread} lines more: * again." if self.unread else "* again takes it."
            self.say(f"Read it to its end first. {more}")
            return
        self.ask(give_take.take(self.site, self.draft, page.text_of(self.draft)))

    def _waits(self) -> bool:
        return self.draft.last is not None and self.draft.last.taken is None

    def do_todo(self) -> None:
        self.ask(give_take.to_do(self.site, self.hand))

    def do_line(self) -> None:
        self.ask(give_take.line(self.site, self.hand))

    def do_undo(self) -> None:
        self.ask(give_take.undo(self.site, self.hand))

    def do_note(self) -> None:
        self.ask(give_take.note_untaken(self.site))
