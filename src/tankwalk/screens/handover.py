"""The handover screen: read the page, give the room, take the room."""

from __future__ import annotations

from textual import events

from tankwalk.errors import Refusal
from tankwalk.ledger import standing
from tankwalk.pages import handover as page
from tankwalk.pages.actions import footer
from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice import handover
from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen

HOW = ("face to face", "by phone", "read alone, nobody here")
"""How a room is taken."""


class HandoverScreen(PageScreen):
    """Draws the draft; asks who and how by number."""

    scope = "handover"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.draft = handover.draft(site)
        self.fresh = True
        self.asking = ""
        self.who = ""
        self.typed = ""
        self.number = ""

    def arrive(self) -> None:
        if not self.fresh:
            self.draft = handover.draft(self.site)
        self.fresh = False
        self.asking, self.who, self.typed, self.said, self.top = "", "", "", "", 0
        self.number = ""
        super().arrive()

    def lines(self, width: int, height: int) -> list[Line]:
        below = self._below(width)
        room = height - len(below)
        return [*self.scrolled(page.draw(self.draft, width), width, room), *below]

    def _below(self, width: int) -> list[Line]:
        said = wrapped(width, self.said, "check", 4) if self.said else []
        if self.asking == "words":
            asked = wrapped(width, "To be done by the next shift:", "bold", 1)
            tail = wrapped(width, self.typed[-(width - 6) :] + "_", "entry", 1, indent="  ")
            return [*said, *asked, *tail,
                    footer("none", width, [("Enter", "keep it"), ("Esc", "back")])]  # fmt: skip
        if self.asking == "how":
            words = [f"{i} {how}" for i, how in enumerate(HOW, 1)]
            asked = wrapped(width, f"How does {self.who} take it?", "bold", 1)
            listed = wrapped(width, "   ".join(words), "plain", 2)
            return [*said, *asked, *listed, footer("ask", width)]
        if self.asking:
            verb = {"give": "gives the room", "take": "takes the room", "todo": "writes it"}
            people = [f"{i} {p.initials}" for i, p in enumerate(self.site.plan.people, 1)]
            entry = f" Number, then Enter: {self.number}_" if self._two_digits else ""
            asked = wrapped(width, f"Who {verb[self.asking]}?{entry}", "bold", 1)
            listed = wrapped(width, "   ".join(people), "plain", 4)
            return [*said, *asked, *listed, footer("ask", width)]
        return [*said, footer("handover", width)]

    def pressed(self, key: str, character: str | None) -> None:
        if self.asking == "words":
            self._write(key, character)
        elif self.asking and key == "escape":
            self.asking, self.number = "", ""
            self.say("Back: nothing was kept.")
        elif self.asking and character is not None and character in "0123456789":
            self.number += character
            if self._two_digits and len(self.number) < 2:
                self.draw()
            else:
                self._chosen(int(self.number))
        elif self.asking and self.number and key in ("enter", "ctrl+j"):
            self._chosen(int(self.number))
        elif not self.asking or key == "question_mark":
            super().pressed(key, character)
        elif character is not None:
            self.say(f"{character} is no choice here: choose by number, or Esc goes back.")

    @property
    def _two_digits(self) -> bool:
        """Whether the list that is asked from is too long for one digit."""
        return self.asking != "how" and len(self.site.plan.people) > 9

    def _write(self, key: str, character: str | None) -> None:
        if key in ("enter", "ctrl+j"):
            try:
                handover.add_action(self.site, self.who, self.typed)
            except Refusal as refusal:
                self.say(str(refusal))
                return
            self._done("Kept under TO DO.")
        elif key == "escape":
            self.asking, self.typed = "", ""
            self.say("Back: nothing was kept.")
        elif key == "backspace":
            self.typed = self.typed[:-1]
            self.draw()
        elif character is not None:
            self.typed += character
            self.draw()

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        if self.asking == "words":
            words = self.pasted(event)
            if words:
                self.typed += words
                self.draw()

    def _chosen(self, number: int) -> None:
        self.number = ""
        people = self.site.plan.people
        listed = len(HOW) if self.asking == "how" else len(people)
        if not 1 <= number <= listed:
            self.say(f"There is no number {number} in the list.")
            return
        try:
            if self.asking == "how":
                self._take(HOW[number - 1])
                return
            self.who = people[number - 1].initials
            if self.asking == "give":
                handover.give(self.site, self.who, self.draft)
                self._done(f"Given by {self.who}. Now the one who takes over presses *.")
            else:
                self.asking = "words" if self.asking == "todo" else "how"
                self.say("")
        except Refusal as refusal:
            self.asking = ""
            self.say(str(refusal))

    def _take(self, how: str) -> None:
        last = standing.last_handover(self.site.ledger.db)
        if last is None:
            raise Refusal("There is no handover to take yet: it must be given first, with +.")
        when = handover.take(self.site, last, self.who, how)
        self._done(f"Responsibility passed {when.hm()}, {last.who} to {self.who}.")

    def _done(self, sentence: str) -> None:
        self.arrive()
        self.say(sentence)

    def do_give(self) -> None:
        self.asking = "give"
        self.say("")

    def do_take(self) -> None:
        last = self.draft.last
        if last is None or last.taken is not None:
            self.say("There is no handover waiting to be taken: it must be given first, with +.")
            return
        self.asking = "take"
        self.say("")

    def do_todo(self) -> None:
        self.asking = "todo"
        self.say("")

    def do_walk(self) -> None:
        self.tankwalk.open("who")
