"""The screen of what is open: choose by number, then what to do with it, by number."""

from __future__ import annotations

from tankwalk.pages import open_list as page
from tankwalk.pages.lines import Line
from tankwalk.practice import open_list
from tankwalk.practice.budget import Noise
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.site import Site
from tankwalk.screens.choosing import ChoosingScreen


class OpenScreen(ChoosingScreen):
    """Draws the list; a number chooses a row and begins the talk about it."""

    scope = "open"
    nothing_typed = "Choose by number what is done, closed, or put back."

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.list = open_list.open_list(site)
        self.came_from = "board"

    def look(self) -> None:
        super().look()
        self.list = open_list.open_list(self.site)

    def lines(self, width: int, height: int) -> list[Line]:
        return self.above(page.draw(self.list, width), width, height, self.entry(width))

    def pressed(self, key: str, character: str | None) -> None:
        if self.asking is None and character == "0" and not self.typed:
            self.do_pages()
        else:
            super().pressed(key, character)

    @property
    def many(self) -> int:
        return len(self.list.rows)

    def place_here(self) -> str:
        """The place of the row whose number is typed; "" without one."""
        nth = self.at_number
        return "" if nth is None else open_list.place_of(self.list.rows[nth])

    # ---- acts

    def chosen(self, nth: int) -> None:
        row = self.list.rows[nth]
        if isinstance(row.about, Standing):
            self.tankwalk.incident(row.about.key)
        elif isinstance(row.about, Noise):
            self.tankwalk.judge(row.about.place, row.about.item)
        else:
            self.ask(open_list.about(self.site, self.hand, row, page.said(row)))

    def do_new_action(self) -> None:
        self.ask(open_list.new_action(self.site, self.hand))

    def do_new_altered(self) -> None:
        self.ask(open_list.new_altered(self.site, self.hand))

    def leave(self) -> None:
        self.tankwalk.open(self.came_from)
