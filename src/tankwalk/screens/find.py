"""The screen of Find: letters build the words, what holds them stands below as one types."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from textual import events

from tankwalk import paths
from tankwalk.errors import Refusal
from tankwalk.ledger.words import WordsIn
from tankwalk.pages import find as page
from tankwalk.pages.actions import by_key
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, blank, filled, line, wrapped
from tankwalk.practice.finding.finding import Finder, Found, Hit
from tankwalk.practice.site import SITE, Site
from tankwalk.screens.base import NO_CHARACTER, PageScreen

if TYPE_CHECKING:
    from tankwalk.practice.past.story import StoryLine

LONGEST = 5_000
"""Characters that can be typed or pasted; what is beyond is let go."""


class FindScreen(PageScreen):
    """Draws what was found; everything that types a character is a part of what is sought."""

    scope = "find"
    keeps = False

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        try:
            folder = paths.words(paths.environment())
        except Refusal:  # no folder of one's own: then in memory
            folder = None
        self.finder = Finder(site, folder)
        self.typed = ""
        self.at = 0
        self.found: Found | None = None
        self.share: float | None = None
        """How much of the record's words is taken in, while it is under way."""
        self.came_from: PageScreen | None = None
        self._steps: Iterator[float] = iter(())
        self._told: tuple[int, tuple[StoryLine, ...]] | None = None
        """What happened around one that was marked, by its entry."""

    def arrive(self) -> None:
        front = self.tankwalk.screen
        if isinstance(front, PageScreen) and front.scope in ("board", "pages"):
            self.came_from = front
        self.said = ""
        self._steps = self.finder.steps()
        self.share = 0.0
        self._take_in()

    def _take_in(self) -> None:
        """Take in the next part of the record's words; between two parts keys are heard."""
        try:
            self.share = next(self._steps, None)
        except Refusal as refusal:
            self.share = None
            self.said = str(refusal)
        if self.share is None:
            self._seek(self.at)
        else:
            self.call_later(self._take_in)
        self.draw()

    def _seek(self, at: int = 0) -> None:
        """What holds the words now; the mark stands at a row, the first one for other words."""
        self.found = self.finder.find(self.typed)
        self.at = min(at, max(0, len(self.found.hits) - 1))

    def lines(self, width: int, height: int) -> list[Line]:
        said = wrapped(width, self.said, "check", 4) if self.said else []
        below = [*said, footer(self.scope, width)]
        room = height - len(below)
        if self.share is not None or self.found is None:
            return [*self._waiting(width, room), *below]
        shown = page.rows_shown(room)
        self.top = max(0, min(self.top, self.at), self.at - shown + 1)
        around = self._around() if width >= page.SIDED else None
        return [*page.draw(self.found, self.at, self.top, width, room, around), *below]

    def _around(self) -> tuple[StoryLine, ...] | None:
        """What happened around the marked one: read once for each that is marked."""
        hit = self._hit()
        if hit is None:
            return None
        if self._told is None or self._told[0] != hit.n:
            from tankwalk.practice.past.story import around

            self._told = hit.n, around(self.site, hit.place or SITE, hit.at)
        return self._told[1]

    def _waiting(self, width: int, room: int) -> list[Line]:
        """While the words of the record are read: how far it is."""
        done = f"   Reading the words of the record: {self.share or 0:.0%}"
        typed = line(width, f"   {self.typed[-(width - 5) :]}_")
        return filled([blank(width), typed, blank(width), line(width, done)], width, room)

    # ---- keys

    def pressed(self, key: str, character: str | None) -> None:
        if key == "backspace":
            self._type(self.typed[:-1])
        elif by_key(self.scope, key) is None and character is not None:
            self._type(self.typed + character)
        else:
            super().pressed(key, character)

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        words = self.pasted(event)
        if words:
            self._type(self.typed + words)

    def _type(self, words: str) -> None:
        self.said = NO_CHARACTER if "\ufffd" in words else ""
        self.typed = words.lstrip().replace("\ufffd", "")[:LONGEST]
        if self.share is None:
            self._seek()
        self.draw_soon()

    def _hit(self) -> Hit | None:
        """The one that is marked."""
        hits = () if self.found is None or self.share is not None else self.found.hits
        return hits[self.at] if self.at < len(hits) else None

    def step(self, lines: int) -> None:
        many = 0 if self.found is None else len(self.found.hits)
        self.at = max(0, min(self.at + lines, many - 1))
        self.said = ""
        self.draw_soon()

    def do_page(self) -> None:
        self.step(page.rows_shown(self.size.height - 1))

    def do_page_back(self) -> None:
        self.step(-page.rows_shown(self.size.height - 1))

    def do_choose(self) -> None:
        """To where the marked words belong: their tank, the handover, what is open."""
        hit = self._hit()
        if hit is None:
            self.say("Type a word first." if not self.typed else "Nothing is marked.")
        elif hit.place is not None and self._has_page(hit.place):
            self.tankwalk.tank(hit.place)
        elif hit.stands_in is WordsIn.FOLLOW_UP:
            self.tankwalk.open_list()
        elif hit.stands_in in (WordsIn.HANDOVER, WordsIn.LINE):
            self.tankwalk.open("handover")
        else:
            self.say("These words stand below, whole.")

    def _has_page(self, place: str) -> bool:
        """Whether a place is a tank or a loop of the plan, which have a page of their own."""
        plan = self.site.plan
        return place in {*(one.code for one in plan.tanks), *(one.code for one in plan.loops)}

    def do_board(self) -> None:
        """Esc: the words go first, then back to where one came from."""
        if self.typed:
            self._type("")
        else:
            self.tankwalk.back_to(self.came_from)
