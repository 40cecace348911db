"""The help screen: what the work is here, and every key."""

from __future__ import annotations

from tankwalk.pages import help as page
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen


class HelpScreen(PageScreen):
    """Lies over the screen it explains; Esc goes back there."""

    scope = "help"
    keeps = False

    def __init__(self, site: Site, of: str, slot: object) -> None:
        super().__init__(site)
        self.of = of
        self.slot = slot if isinstance(slot, Slot) else None

    def lines(self, width: int, height: int) -> list[Line]:
        whole = page.draw(self.of, self.slot, width, self.site.plan, self.site.now())
        return [*self.scrolled(whole, width, height - 1), footer("help", width)]

    def do_board(self) -> None:
        """Leave; the keys of a burst that come after it find this page gone."""
        if self.is_current:
            self.dismiss()

    def do_help(self) -> None:
        self.do_board()
