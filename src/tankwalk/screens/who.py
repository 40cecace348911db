"""The screen before a walk: which round, and who walks."""

from __future__ import annotations

from tankwalk.ledger.rounds import RoundSeen
from tankwalk.pages import who as page
from tankwalk.pages.lines import Line
from tankwalk.plan.model import Checklist, Hazard
from tankwalk.practice.open_rounds import from_paper
from tankwalk.practice.round import rounds
from tankwalk.practice.site import Site
from tankwalk.screens.base import PageScreen


class WhoScreen(PageScreen):
    """Asks by number who walks; Enter goes on with a round that was begun."""

    scope = "who"

    def __init__(self, site: Site) -> None:
        super().__init__(site)
        self.typed = ""
        self.choosing = False
        self.checklist: Checklist = rounds.due_checklist(site, site.now())
        self.unsigned: RoundSeen | None = None
        self.signed: dict[str, RoundSeen] = {}
        self.last = ""
        self.taking = ""
        self.hazards: tuple[Hazard, ...] = ()

    def arrive(self) -> None:
        self.typed, self.said, self.choosing, self.taking = "", "", False, ""
        now = self.site.now()
        begun = [
            (found, checklist)
            for checklist in self.site.plan.checklists
            if (found := rounds.unsigned(self.site, checklist, now)) is not None
        ]
        self.checklist = begun[0][1] if begun else rounds.due_checklist(self.site, now)
        self._look()
        super().arrive()

    def take(self, label: str) -> None:
        """Ask about the round of this label."""
        found = next((one for one in self.site.plan.checklists if one.label == label), None)
        if found is not None and found != self.checklist:
            self.checklist = found
            self._look()
            self.draw()

    def _look(self) -> None:
        """Who went on last with this round, where it was begun."""
        self.unsigned = rounds.unsigned(self.site, self.checklist, self.site.now())
        self.hazards = rounds.hazards(self.site, self.checklist)
        self.last = ""
        typed = from_paper(self.site, self.checklist)
        today = [one for one in typed if one.opened.day == self.site.now().day]
        if today:
            one = today[0]
            self.said = (
                f"This round is being typed in from paper by {one.typist}, begun "
                f"{one.opened.hm()}: - goes on there."
            )
        if self.unsigned is not None:
            found = self.site.reader.readings.of_round(self.unsigned.number, self.unsigned.first)
            self.last = found[-1].who if found else self.unsigned.who

    def lines(self, width: int, height: int) -> list[Line]:
        now = self.site.now()
        if self.choosing:
            return page.choose_round(
                self.site.plan.checklists,
                self.signed,
                now,
                (width, height),
            )
        return page.draw(
            self.site.people, self.checklist, self.unsigned, self.last, self.typed,
            self.said, now, (width, height), self.hazards,
        )  # fmt: skip

    def pressed(self, key: str, character: str | None) -> None:
        if character is not None and character.isascii() and character.isdecimal():
            self.typed += character
            many = len(self.site.people) > 9 and not self.choosing
            if many and len(self.typed) < 2:
                self.draw()
            else:
                self.do("go")
            return
        super().pressed(key, character)

    def do_other(self) -> None:
        self.signed = rounds.signed_today(self.site, self.site.now())
        self.choosing, self.typed = True, ""
        self.draw()

    def do_transcribe(self) -> None:
        self.tankwalk.transcribe()

    def do_board(self) -> None:
        if self.choosing:
            self.choosing = False
            self.draw()
        else:
            super().do_board()

    def do_go(self) -> None:
        typed, self.typed = self.typed, ""
        if self.choosing:
            listed = self.site.plan.checklists
            if typed and 1 <= int(typed) <= len(listed):
                self.checklist, self.choosing = listed[int(typed) - 1], False
                self._look()
                self.say("")
            return
        people = self.site.people
        if not typed:
            if not self.last:
                self.say("Choose yourself by number: nobody walks by silence.")
                return
            who = self.last
        elif 1 <= int(typed) <= len(people):
            who = people[int(typed) - 1].initials
        else:
            self.say(f"There is no number {typed} in the list.")
            return
        if self.last and who != self.last and who != self.taking:
            self.taking = who
            self.say(f"{who} goes on from here, in place of {self.last}? {typed} again: yes.")
            return
        self.taking = ""
        self.tankwalk.walk(rounds.begin(self.site, self.checklist, who), who)
