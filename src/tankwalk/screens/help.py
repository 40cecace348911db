"""The help screen: what the work is here, and every key."""

from __future__ import annotations

from tankwalk.pages import help as page
from tankwalk.pages.actions import footer
from tankwalk.pages.lines import Line, Span, filled, line
from tankwalk.practice.rounds import Slot
from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen


class HelpScreen(PageScreen):
    """Lies over the screen it explains; Esc goes back there."""

    scope = "help"

    def __init__(self, site: Site, of: str, slot: object) -> None:
        super().__init__(site)
        self.of = of
        self.slot = slot if isinstance(slot, Slot) else None
        self.top = 0

    def lines(self, width: int, height: int) -> list[Line]:
        whole = page.draw(self.of, self.slot, width)
        self.top = max(0, min(self.top, len(whole) - height + 1))
        shown = whole[self.top : self.top + height - 1]
        rest = len(whole) - self.top - len(shown)
        if rest > 0:
            shown[-1] = line(width, Span(f" {rest + 1} more lines below (down, or right)", "dim"))
        return [*filled(shown, width, height - 1), footer("help", width)]

    def do_down(self) -> None:
        self.top += 1
        self.draw()

    def do_page(self) -> None:
        self.top += max(1, self.size.height - 6)
        self.draw()

    def do_page_back(self) -> None:
        self.top -= max(1, self.size.height - 6)
        self.draw()

    def do_up(self) -> None:
        self.top -= 1
        self.draw()

    def do_board(self) -> None:
        self.dismiss()

    def do_help(self) -> None:
        self.dismiss()
