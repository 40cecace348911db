"""The screen of one flag: what was done, the next look, the call, a note, and its story."""

from __future__ import annotations

from tankwalk.pages import incident as page
from tankwalk.pages import incident_words, open_list, steps
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice import open_list as listed
from tankwalk.practice.dialog import Talk, writer
from tankwalk.practice.incidents import acting, looking
from tankwalk.practice.incidents.incident import Incident, incident
from tankwalk.practice.incidents.trend import trend
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.open_list import OpenRow, OpenSection
from tankwalk.practice.site import Site
from tankwalk.screens.asking import AskingScreen


class IncidentScreen(AskingScreen):
    """One flag, opened with its key: digits say what was done, Enter looks again."""

    scope = "flag"

    def __init__(self, site: Site, key: Key) -> None:
        super().__init__(site)
        self.came_from = "board"
        self.looker = ""
        self.back = 0
        """Lines of the story below what is in sight."""
        self.begin(key)

    def begin(self, key: Key) -> None:
        """Take another flag."""
        self.key = key
        self.one: Incident | None = incident(self.site, key)

    def look(self) -> None:
        self.back, self.looker = 0, ""
        self.one = incident(self.site, self.key)
        if self.one is not None and self.one.look is not None:
            self.tankwalk.await_moment("look", self.one.look)

    def falls_due(self) -> None:
        """A look came due: draw its line anew, in the middle of whatever is asked."""
        if self.one is not None:
            self.one = self.one._replace(now=self.site.now())
        self.draw()

    def came_back(self, who: str, *, looked: bool) -> None:
        """Arrive with a person who is known: from a walk, or from a look, whose result is said."""
        self.arrive()
        if who:
            self.hand.named(who, self.site.now())
        if looked and self.one is not None:
            self.say(incident_words.found(self.one, trend(self.one)))

    def lines(self, width: int, height: int) -> list[Line]:
        if self.asking is not None:
            below = steps.draw(self.asking, width)
        else:
            said = wrapped(width, self.said, "check", 4) if self.said else []
            below = [*said, self._footer(width)]
        room = height - len(below)
        if self.one is None:
            return self.above(wrapped(width, "This flag is no longer in the record.", "plain", 2),
                              width, height)  # fmt: skip
        return [*page.draw(self.one, width, room, self.back), *below][-height:]

    def _footer(self, width: int) -> Line:
        if self.one is None:
            return footer("flag", width)
        many = len(self.one.steps)
        done = [("1" if many == 1 else f"1-{many}", "done")] if many else []
        call = [(str(page.call_number(self.one)), "called")]
        enter = "back" if self.one.over else "look now"
        return footer("flag", width, [("Enter", enter), *done, *call])

    def place_here(self) -> str:
        return "" if self.one is None else self.one.behind.place

    # ---- keys

    def pressed(self, key: str, character: str | None) -> None:
        if self.asking is None and character is not None and character in "0123456789":
            self._number(int(character))
        else:
            super().pressed(key, character)

    def _number(self, number: int) -> None:
        """A digit: a step that was done, the call, or 0 for other words."""
        one = self.one
        if one is None:
            return
        if number == page.call_number(one):
            self.ask(acting.say_called(self.site, self.hand, one))
        elif number <= len(one.steps):
            self.ask(acting.say_done(self.site, self.hand, one, number))
        else:
            self.say(f"There is no number {number} here.")

    def _went_on(self) -> None:
        looker = self.looker
        super()._went_on()
        if looker and self.asking is None:
            self._look_as(looker)

    # ---- acts

    def do_look(self) -> None:
        """Look again now, as the person who is known or is asked for; back once it is over."""
        if self.one is not None and self.one.over:
            self.do_board()
            return
        who = self.hand.of(self.site.now())
        if who:
            self._look_as(who)
        elif self.one is not None:
            self.ask(self._who_looks(), keeps=False)

    def _who_looks(self) -> Talk:
        self.looker = yield from writer(self.site, self.hand, "Who looks?")
        return ""

    def _look_as(self, who: str) -> None:
        one, self.looker = self.one, ""
        if one is None:
            return
        if one.standing is not None:
            asked = looking.asked(self.site.plan, one.standing)
        else:
            asked = ((one.behind.place, one.item.code),)
        self.tankwalk.look_at(asked, who, one.key)

    def do_note(self) -> None:
        if self.one is not None:
            self.ask(acting.note(self.site, self.hand, self.one))

    def do_undo(self) -> None:
        """Take back one's own newest step or call."""
        if self.one is not None:
            self.ask(acting.take_back(self.site, self.hand, self.one))

    def do_close(self) -> None:
        """Shelve it, close it, or make it an action."""
        if self.one is None or self.one.standing is None:
            self.say("This flag is over: there is nothing to close.")
            return
        row = OpenRow(OpenSection.FLAGS, self.one.standing)
        self.ask(listed.about(self.site, self.hand, row, open_list.said(row)))

    def do_up(self) -> None:
        self.back += 1
        self._bounded()

    def do_down(self) -> None:
        self.back -= 1
        self._bounded()

    def _bounded(self) -> None:
        most = 0 if self.one is None else len(self.one.story) * 2
        self.back = max(0, min(self.back, most))
        self.draw()

    def do_board(self) -> None:
        self.tankwalk.leave_incident()
