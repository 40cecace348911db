"""A paper round typed in from its sheet: the walk as it was, at the times that the sheet says.

Values that matter most are typed a second time, stop by stop, with the first one out of sight.
"""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, SecondEntry, SheetStop
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.practice import times
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round import doubts, rounds, taking
from tankwalk.practice.round.agenda import Agenda, Page, Slot
from tankwalk.practice.round.paper_questions import (
    AskSecond,
    AskStopTime,
    AskWalker,
    AskWhich,
    OnPaper,
)
from tankwalk.practice.round.questions import (
    OF_THE_MENU,
    AskAgain,
    Correcting,
    Message,
    Pinned,
    Reply,
)
from tankwalk.practice.round.view import Seeing, StopView, WalkView
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site
from tankwalk.practice.transcribing.sheet_site import SheetSite

AS_TYPED = "I typed this round in from its paper sheet, and it is what stands there"
"""What a signature under a round from paper means."""

VERB = "Read the sheet"
"""What is done for a number in doubt, where the tank is out of reach."""

OVER_MIDNIGHT_S = 12 * 3600
"""A time that much before the stop before is one after midnight."""

StopKey = tuple[str, str]
"""A stop by its kind and the place of its first line."""


class SheetWalk(Walk):
    """One person who types in a round that was walked on paper."""

    meaning = AS_TYPED
    site: SheetSite

    def __init__(self, desk: Site, found: RoundSeen, walker: str, typist: str) -> None:
        self.desk = desk
        self.typist = desk.signs(typist)
        self.times: dict[StopKey, tuple[Instant, str]] = {}
        """When each stop was walked and by whom, as far as the sheet's times are in."""
        self.walker = walker
        """Whose initials stood at the stop that was typed last."""
        for stop in desk.reader.paper.stops(found.number):
            self.times[stop.kind, stop.place] = stop.at, stop.walker
            self.walker = stop.walker
        self.twice: set[int] = set()
        """Entries that were typed a second time and came to the same."""
        self._moving = False
        self._odd: Instant | None = None
        """A time before that of the stop before, typed once."""
        super().__init__(SheetSite(desk, self.typist, found.opened), found, walker)

    def made_agenda(self) -> Agenda:
        """What the sheet asked; a number in doubt sends one back to the sheet, not to the tank."""
        made = super().made_agenda()
        pages = tuple(page._replace(slots=tuple(map(_on_paper, page.slots))) for page in made.pages)
        return made._replace(pages=pages)

    def reload(self) -> None:
        super().reload()
        every = [seen.n for here in self.kept.values() for seen in here]
        self.twice = self.desk.reader.paper.typed_twice(every)

    # ---- where the person stands

    def stand(self, index: int) -> None:
        """Stand at a slot at the time of its stop; what is still to be typed twice comes first."""
        second = self._second_first(index)
        if second is not None:
            index = second
        if index < len(self.slots):
            at, who = self._time_of(self._stop(index))
            self.site.sheet_clock.at, self.who, self.keeping.who = at, who, who
        super().stand(index)
        if self.at_end:
            return
        page = self.agenda.pages[self.page]
        if self._key(page) not in self.times:
            self.question = AskStopTime(page.title, self._time_before(self.page))
        elif second is not None and self.question is None:
            self.question = AskSecond(self.slot, self._newest(self.slot))

    def move(self, way: str) -> Reply:
        self._moving = True
        try:
            return super().move(way)
        finally:
            self._moving = False

    def back(self) -> bool:
        """Esc leaves the sheet where it asks what has to be answered to go on."""
        return not isinstance(self.question, AskStopTime | AskSecond) and super().back()

    def _second_first(self, index: int) -> int | None:
        """The slot that is to be typed a second time before one goes on to another stop."""
        going = index >= len(self.slots)
        for nth, slot in enumerate(self.slots):
            here = self.page_of[nth]
            if not self._wants_second(slot) or self.pending(slot):
                continue
            filled = all(self.page_of[i] != here for i in self.open_slots())
            leaving = not self._moving and filled and (going or self.page_of[index] != here)
            if leaving or (going and not self.open_slots()):
                return nth
        return None

    def _wants_second(self, slot: Slot) -> bool:
        """Whether a value of a slot is typed twice and was not yet."""
        if not slot.item.twice:
            return False
        newest = next(iter(self.of(slot)[-1:]), None)
        return (
            newest is not None
            and newest.value is not None
            and newest.typist is not None
            and newest.n not in self.twice
        )

    def _newest(self, slot: Slot) -> Seen:
        return self.of(slot)[-1]

    # ---- the times of the stops

    def _key(self, page: Page) -> StopKey:
        return page.kind, page.slots[0].place

    def _stop(self, index: int) -> int:
        return self.page_of[min(index, len(self.slots) - 1)]

    def _time_of(self, stop: int) -> tuple[Instant, str]:
        """When a stop was walked and by whom: as the sheet says, else as the stop before."""
        for page in (self.agenda.pages[i] for i in range(stop, -1, -1)):
            known = self.times.get(self._key(page))
            if known is not None:
                return known
        return self.round.opened, self.walker

    def _time_before(self, stop: int) -> Instant:
        return self.round.opened if stop == 0 else self._time_of(stop - 1)[0]

    def _timed(self, asked: AskStopTime, typed: str) -> Reply:
        """The time of a stop, as the sheet says."""
        before = asked.before or self.round.opened
        if typed == "-":
            people = tuple(p.initials for p in self.site.people)
            return self.ask(AskWalker(asked.title, people))
        if typed == "+":
            return self._keep_time(before)
        if not typed:
            return Reply("Nothing was typed: + takes the time of the stop before.", Flag.CHECK)
        when = self._read_time(typed, before)
        if when.utc < before.utc and self._odd != when:
            self._odd = when
            told = f"{when.hm()} is before {before.hm()}, the time before it on the sheet."
            return Reply(f"{told} Type it again if the sheet says so.", Flag.CHECK)
        return self._keep_time(when)

    def _read_time(self, typed: str, before: Instant) -> Instant:
        hour, minute = times.of_day(typed)
        day, tz = before.day, zone(self.site.plan.zone)
        when = at(day, hour, minute, tz)
        if before.utc - when.utc > OVER_MIDNIGHT_S:
            from datetime import timedelta

            when = at(day + timedelta(days=1), hour, minute, tz)
        now = self.desk.now()
        if when.utc > now.utc:
            raise Refusal(f"{when.told(now)} is still to come: read the sheet again.")
        return when

    def _keep_time(self, when: Instant) -> Reply:
        """The time of the stop one stands at, on the disk: all that is typed here is of then."""
        self._odd = None
        page = self.agenda.pages[self.page]
        who = self.walker
        stop = SheetStop(self.round.number, page.kind, when.utc, who)
        self._keep(page.slots[0].place, stop, when.offset)
        self.times[self._key(page)] = when, who
        self.stand(self.at)
        return Reply(f"{page.title} at {when.hm()}, {who}.")

    def _keep(self, place: str, detail: SheetStop | SecondEntry, offset: int | None = None) -> int:
        """What is typed about the sheet itself, by the one who types."""
        now = self.desk.now()
        if offset is not None:
            now = now._replace(offset=offset)  # the wall clock of the sheet
        entry = Entry("sheet", self.typist, now, now, place, round=self.round.number)
        with self.desk.ledger.writing():
            self.look_up()
            return self.desk.record(entry, detail)

    def _named(self, asked: AskWalker, typed: str) -> Reply:
        keys = {str(nth): initials for nth, initials in enumerate(asked.people, 1)}
        if typed not in keys:
            return Reply(OF_THE_MENU, Flag.CHECK)
        self.walker = keys[typed]
        self.stand(self.at)
        return Reply(f"From {asked.title} on {self.walker}: now its time.")

    # ---- typed a second time

    def _second(self, asked: AskSecond, typed: str) -> Reply:
        """A second entry: the same is kept as such, another one is asked about."""
        if not typed:
            return Reply("Nothing was typed: the second entry is still asked.", Flag.CHECK)
        read = asked.slot.item.read(typed)
        first = asked.first
        if read.value == first.value and read.below == (first.qualifier == "<"):
            return self._same(asked.slot, first, read.typed)
        return self.ask(AskWhich(asked.slot, first, read))

    def _same(self, slot: Slot, seen: Seen, typed: str) -> Reply:
        self._keep(slot.place, SecondEntry(seen.n, typed))
        self.twice.add(seen.n)
        self.stand(self.held.next_open(self.at))
        return Reply(f"{slot.place} {slot.item.label} {seen.typed}: both entries agree.")

    def _which(self, asked: AskWhich, typed: str) -> Reply:
        slot, first, second = asked.slot, asked.first, asked.second
        if typed == "1":
            return self._same(slot, first, first.typed)
        if typed == "*":
            self.question = AskSecond(slot, first)
            return Reply("Neither is taken yet: type it again from the sheet.", Flag.CHECK)
        if typed != "2":
            return Reply(OF_THE_MENU, Flag.CHECK)
        self.question = None
        judged = self.judge(slot, second.value, second.typed, sure=True, below=second.below)
        if judged.impossible:
            return doubts.number(self, slot, second.typed, correcting=Correcting(first, MIS_KEYED))
        why = Correcting(first, MIS_KEYED)
        reply = taking.keep(self, slot, second, judged, correcting=why)
        kept = self._newest(slot)
        self._keep(slot.place, SecondEntry(kept.n, second.typed))
        self.twice.add(kept.n)
        self.stand(self.held.next_open(self.at))
        return reply

    # ---- answers

    def answer(self, typed: str) -> Reply:
        asked = self.question
        if isinstance(asked, OnPaper) and not self.signed:
            return self._safely(lambda: self._of_the_sheet(asked, text.clean(typed)))
        if isinstance(asked, AskAgain) and typed.strip() == "/":
            slot = asked.slot
            return self._safely(
                lambda: taking.leave_out(
                    self, slot, "not looked", recheck=True, why="no second value on the sheet"
                )
            )
        return super().answer(typed)

    def _of_the_sheet(self, asked: OnPaper, typed: str) -> Reply:
        match asked:
            case AskStopTime():
                return self._timed(asked, typed)
            case AskWalker():
                return self._named(asked, typed)
            case AskSecond():
                return self._second(asked, typed)
            case AskWhich():
                return self._which(asked, typed)

    def say(self, reply: Reply) -> Reply:
        """What is out was out then: nobody is sent to the tank by what is typed in now."""
        told = reply.message
        if told is None:
            return super().say(reply)
        at = self.site.now().told(self.desk.now())
        told = Message(told.headline, told.reasons, f"{OF_THEN} {at}.")
        words = f"{told.words(reply.flag)} {reply.kept}".strip()
        return super().say(reply._replace(sentence=words, message=told))

    def _pin(self, one: Pinned) -> None:
        """Nothing is pinned: what was done first was done then."""

    def _again(self, slot: Slot, first: Seen) -> AskAgain:
        asked = super()._again(slot, first)
        message = asked.message._replace(
            action="A second value on the sheet? Type it; / where there is none."
        )
        return asked._replace(message=message, other_meter=False)

    def at_desk(self) -> Site:
        return self.desk

    def hand_to(self, who: str) -> None:
        """Somebody else types on; who walked it stays."""
        typist = self.desk.signs(who)
        then = SheetSite(self.desk, typist, self.round.opened)
        found = self.round
        rounds.event(then, found.opened, found.who, found.number, found.checklist, "resume")
        self.typist = self.site.typist = typist
        self.look += 1
        self.stand(self.at)

    # ---- its end

    @property
    def signer(self) -> str:
        return self.typist

    def entered_at(self) -> Instant:
        return self.desk.now()

    def sign(self) -> None:
        rounds.sign(self.desk, self.round, self.typist, AS_TYPED)

    def told_as_whole(self) -> bool:
        """Where a later round was walked since, that one tells what stands now."""
        last = self.site.now()
        return not any(
            one.signed is not None and one.opened.utc > last.utc
            for one in self.desk.reader.rounds.newest()
            if one.number != self.round.number
        )

    # ---- shown

    def _seen(self, seeing: Seeing) -> WalkView:
        """The walk as it is shown: who types, and no first entry where the second is asked."""
        seen = super()._seen(seeing)._replace(typist=self.typist)
        asked, here = self.question, seen.here
        if not isinstance(asked, AskSecond) or not isinstance(here, StopView):
            return seen
        line = here.lines[here.at]._replace(held=())
        past = here.entry.past
        if past is not None:
            past = tuple(one for one in past if one.n != asked.first.n)
        entry = here.entry._replace(line=line, past=past)
        lines = tuple(line if nth == here.at else one for nth, one in enumerate(here.lines))
        return seen._replace(here=here._replace(lines=lines, entry=entry))


MIS_KEYED = "mis-keyed"
"""Why a first entry from paper is corrected by its second."""

OF_THEN = "Typed in from paper: it was so at"
"""How a value out of band is told of a sheet."""


def _on_paper(slot: Slot) -> Slot:
    """The same slot, for somebody who has the sheet and not the tank."""
    return slot._replace(item=slot.item._replace(kind=slot.item.kind._replace(verb=VERB)))
