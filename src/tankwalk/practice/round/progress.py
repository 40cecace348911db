"""One round as one person has it in hand: what it asks, what it holds, and where they stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.readings import MovedSeen, PastSeen, Seen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.plan.model import Item, Level
from tankwalk.practice.judging.verdict import Flag, Judged
from tankwalk.practice.meters import meter_checks, suspects
from tankwalk.practice.round import rounds
from tankwalk.practice.round.agenda import Agenda, Slot, agenda
from tankwalk.practice.round.held import (
    Elsewhere,
    PastOf,
    Readings,
    Snapshot,
    Trust,
    UsualOf,
    WorkedAt,
    held,
)
from tankwalk.practice.round.keeping import Keeping
from tankwalk.practice.round.questions import (
    WRONG_TANK,
    AskAgain,
    AskSign,
    Message,
    Pinned,
    Question,
    Reply,
)
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.stock.dead import MORTS
from tankwalk.practice.workings import derived
from tankwalk.practice.workings.derived import State
from tankwalk.practice.workings.parts import part_places

if TYPE_CHECKING:
    from tankwalk.practice.incidents.open_here import OpenNow
    from tankwalk.practice.judging.assess import Weighing
    from tankwalk.practice.judging.given import Gathered
    from tankwalk.practice.past.dead_usual import DeadUsual


STOPS, SLOTS = 3, 4
"""So many stops, and slots with their past, are held: the present one, and where one may go."""


class Progress:
    """The record holds the truth; this holds what was read of it, each part a frozen value.

    `held` is replaced when something is taken in or taken back; the rest is read for the stop or
    the slot one stands at.
    """

    def __init__(self, site: Site, found: RoundSeen, who: str) -> None:
        self.site = site
        self.round = found
        self.who = who
        self.agenda: Agenda = self.made_agenda()
        self.slots: tuple[Slot, ...] = tuple(s for p in self.agenda.pages for s in p.slots)
        self._asked = {(slot.place, slot.item.code) for slot in self.slots}
        self.page_of: tuple[int, ...] = tuple(
            i for i, p in enumerate(self.agenda.pages) for _ in p.slots
        )
        self.keeping = Keeping(site, found.number, who)
        self.meters: dict[str, str] = {}
        """Meters chosen for this walk, by instrument kind; else the plan's habit."""
        self.all_the_same: set[str] = set()
        """Meters out of use that this walk is read with all the same."""
        self.in_hand: dict[str, str] = {}
        """The meter last used or stood at, by instrument kind: a change to another one is said."""
        self.signed = found.signed is not None
        self.judged_whole: tuple[int, date] | None = None
        """The newest entry, and the day, when the round was judged as a whole."""
        self.at = 0
        self.question: Question | None = None
        self.said: Reply = Reply()
        self.pinned: tuple[Pinned, ...] = ()
        """First responses that nobody answered or put aside yet, worst first."""
        self._weighing: Weighing | None = None
        self._looked_up: int | None = None
        self.look = 0
        """How often the record was looked at: what was read before the last look is read anew."""
        self._before = Snapshot(self._read_before, STOPS)
        self._trust = Snapshot(self._read_trust)
        self._worked = Snapshot(self._read_worked)
        self._past = Snapshot(self._read_past, SLOTS)
        self._usual_dead = Snapshot(self._read_usual_dead, STOPS)
        self._open = Snapshot(self._read_open)
        self._stands: OpenNow | None = None
        self._stirred = 0
        """Times that something was kept which has a say in what stands open."""
        self._moved_to = Snapshot(self._read_moved)
        self._elsewhere: Snapshot[int, dict[str, tuple[Elsewhere, ...]]] = Snapshot(lambda _: {})
        self.reload()

    def made_agenda(self) -> Agenda:
        """What this round asks: its checklist, on the day it was opened."""
        found = self.round
        checklist = self.site.plan.checklist(found.checklist)
        return agenda(self.site, checklist, found.opened.day, found.first)

    # ---- what was read

    def reload(self) -> None:
        """Read what the record holds of this round, as others may have entered some of it."""
        self._loaded = self.site.reader.spine.others_wrote()
        found = self.site.reader.readings.of_round(self.round.number, self.round.first)
        self.held = held(self.slots, found)
        self.look += 1
        if self.pinned:
            since = min(one.seen.at.utc for one in self.pinned)
            done = self.site.reader.incidents.done(since)
            self.pinned = tuple(
                one
                for one in self.pinned
                if not any((d.place, d.item) == (one.slot.place, one.slot.item.code)
                           and d.n > one.seen.n for d in done)
            )  # fmt: skip

    def notice(self) -> bool:
        """Take in what others wrote to this round since it was last read; whether they did."""
        wrote = self.site.reader.spine.others_wrote() != self._loaded
        if wrote:
            self.reload()
        return wrote

    def look_up(self) -> None:
        """Before writing: take in what other programs wrote to this round since the last look."""
        version = self.site.reader.spine.others_wrote()
        if version == self._looked_up:
            return
        signature = self.signature()
        if signature is not None:
            self.signed = True
            who, at = signature
            raise Refusal(f"{who} signed this round at {at.hm()}: nothing more is kept in it.")
        if version != self._loaded:
            self.reload()
        self._looked_up = version

    def signature(self) -> tuple[str, Instant] | None:
        """Who signed this round and when, as the record has it."""
        for found in self.site.reader.rounds.newest(limit=100):
            if found.number == self.round.number and found.signed is not None:
                return found.signed_by or "", found.signed
        return None

    @property
    def kept(self) -> Readings:
        """What this round holds, by place and item code."""
        return self.held.readings

    def of(self, slot: Slot) -> tuple[Seen, ...]:
        """What this round holds for a slot, oldest first."""
        return self.held.of(slot)

    def pending(self, slot: Slot) -> bool:
        """Whether a second reading of this slot is still wanted."""
        return self.held.pending(slot)

    def open_slots(self) -> tuple[int, ...]:
        """Indices of slots that hold nothing yet."""
        return self.held.open_slots

    def flags(self) -> tuple[tuple[Slot, Seen], ...]:
        """Slots whose newest value is out of band, worst first."""
        return self.held.flags

    def take_in(self, seen: Seen | None) -> None:
        """Hold a reading that was just written, in place of the one it amends."""
        if seen is not None:
            self.held = self.held.taking_in(seen)

    def pin(self, slot: Slot, judged: Judged, message: Message) -> None:
        """Keep the first response to the newest value of a slot in sight."""
        self.unpin(slot)
        newest = next((s for s in reversed(self.of(slot)) if s.value is not None), None)
        if newest is not None and message.action:
            self._pin(Pinned(slot, newest, judged.flag, message))

    def pin_worked(self, seen: Seen, message: Message) -> None:
        """Keep the first response to what was worked out in sight, like that to what was read."""
        item = self.site.plan.find_item(seen.item)
        if item is not None and message.action:
            self._pin(Pinned(Slot(seen.place, item, None, None), seen, Flag(seen.flag), message))

    def _pin(self, one: Pinned) -> None:
        self.pinned = tuple(sorted((one, *self.pinned), key=lambda each: -each.flag))

    def worked_anew(self, kept: Sequence[Seen]) -> None:
        """Readings that were just kept: what was said of those before them is over.

        What stands open is read anew where they have a say in it.
        """
        new = {(seen.place, seen.item) for seen in kept}
        self.pinned = tuple(
            one for one in self.pinned if (one.slot.place, one.slot.item.code) not in new
        )
        stands = () if self._stands is None else self._stands.flags
        known = {(place, one.item.code) for one in stands for place in (one.place, *one.places)}
        if new & known or any(seen.flag >= Flag.WATCH for seen in kept):
            self._stirred += 1

    def unpin(self, slot: Slot) -> None:
        """Let go of the first response to a slot: it was read anew, taken back, or put aside."""
        key = slot.place, slot.item.code
        self.pinned = tuple(
            one for one in self.pinned if (one.slot.place, one.slot.item.code) != key
        )

    def taken_back(self, old: Seen) -> None:
        """A reading was taken back, and with it what had been worked out from it."""
        self.worked_anew([old])
        self.pinned = tuple(
            one for one in self.pinned
            if not (one.slot.item.derived and one.slot.place == old.place)
        )  # fmt: skip
        self._stirred += 1

    def stirred(self) -> None:
        """A flag came that no reading of this round brought: what stands open is read anew."""
        self._stirred += 1

    def where_it_ends(self) -> int:
        """Index where the record of the round ends: where a person who comes back stands.

        Where values were moved to another tank last, that is the tank that they were moved from.
        """
        moved = self._moved_to.of(self.look)
        every = (seen.n for here in self.kept.values() for seen in here)
        if not moved or moved[-1].n != max(every, default=0):
            return self.held.where_it_ends()
        origin = moved[-1].origin
        still = [i for i in self.open_slots() if self.slots[i].place == origin]
        lap = [i for i in still if self.agenda.pages[self.page_of[i]].kind == "glance"]
        return next((i for i in still if i not in lap), self.held.next_open(-1))

    def moved_here(self) -> tuple[MovedSeen, ...]:
        """Values that were moved from or to the place one stands at, and not moved back."""
        place = self.slot.place
        return tuple(
            one for one in self._moved_to.of(self.look) if place in (one.place, one.origin)
        )

    def _read_moved(self, _: int) -> tuple[MovedSeen, ...]:
        found = self.site.reader.readings.moved(self.round.number, self.round.first)
        return tuple(one for one in found if one.reason == WRONG_TANK)

    def before(self) -> tuple[Seen | None, ...]:
        """The newest value from before this round of each slot of the stop one stands at."""
        return () if self.at_end else self.before_at(self.page_of[self.at])

    def before_at(self, page: int) -> tuple[Seen | None, ...]:
        """The newest value from before this round of each slot of a stop."""
        return self._before.of((self.look, page))

    def _read_before(self, at: tuple[int, int]) -> tuple[Seen | None, ...]:
        reader, first = self.site.reader, self.round.first
        return tuple(
            reader.readings.newest(slot.place, slot.item.code, slot.item.unit, first)
            for slot in self.agenda.pages[at[1]].slots
        )

    def trust(self) -> Trust:
        """Which readings are suspect and which meters are out of use, as last read."""
        return self._trust.of(self.look)

    def _read_trust(self, _: int) -> Trust:
        return Trust(suspects.marks_by_meter(self.site), meter_checks.last_checks(self.site))

    def open_now(self) -> OpenNow:
        """What stands open everywhere, read anew when a flag came or went here."""
        flags = tuple(seen.n for _, seen in self.held.flags)
        return self._open.of((self.look, self._stirred, flags))

    def _read_open(self, _: tuple[int, int, tuple[int, ...]]) -> OpenNow:
        from tankwalk.practice.incidents.at_place import open_now

        self._stands = open_now(self.site, self.site.now())
        return self._stands

    def worked(self) -> tuple[State, ...]:
        """What can be worked out at the present stop, and why the rest cannot.

        What still waits for an answer of this round is not there yet; what this round has no part
        in is of no concern to it.
        """
        if self.at_end:
            return ()
        minute = self.site.now().utc // 60
        return self._worked.of(WorkedAt(self.look, self.page_of[self.at], self.held, minute))

    def _read_worked(self, at: WorkedAt) -> tuple[State, ...]:
        here = self.agenda.pages[at.stop]
        place = here.slots[0].place if here.kind in ("tank", "loop") else SITE

        def concerns(item: Item) -> bool:
            parts = part_places(self.site.plan, item, place)
            if any(part in self._asked and not at.held.readings.get(part) for part in parts):
                return False
            telling = [p for p in parts if p[1] != "temp"] or parts
            return any(at.held.readings.get(part) for part in telling)

        return tuple(derived.states(self.site, place, self.site.now(), concerns))

    def past(self, slot: Slot, limit: int) -> tuple[PastSeen, ...]:
        """The newest of a slot's item, this round's and what was not taken among them."""
        return self._past.of(PastOf(self.look, slot, self.of(slot), limit))

    def _read_past(self, of: PastOf) -> tuple[PastSeen, ...]:
        item = of.slot.item
        found = self.site.reader.readings.trail(of.slot.place, item.code, item.unit, of.limit)
        return tuple(found)

    def usual_dead(self, slot: Slot) -> DeadUsual | None:
        """What a tank should have had by today, of the dead; None where too little is known."""
        if slot.item.code != MORTS:
            return None
        others = tuple(
            self.of(one)
            for one in self.slots
            if one.item.code == slot.item.code and one.place != slot.place
        )
        return self._usual_dead.of(UsualOf(self.look, slot, self.site.now().day, others))

    def _read_usual_dead(self, of: UsualOf) -> DeadUsual | None:
        from tankwalk.practice.past.dead_usual import usual_now

        return usual_now(self.site, of.slot.place, self.site.now(), self.round.number)

    def elsewhere(self, code: str, most: int) -> tuple[Elsewhere, ...]:
        """An item at every place where the round asks it, as far as there are `most`.

        What is from before the round is read once for each item, until the next look.
        """
        known = self._elsewhere.of(self.look)
        if code not in known:
            newest, first = self.site.reader.readings.newest, self.round.first
            known[code] = tuple(
                Elsewhere(slot, newest(slot.place, code, slot.item.unit, first))
                for slot in [s for s in self.slots if s.item.code == code][:most]
            )
        return known[code]

    # ---- where the person stands

    @property
    def at_end(self) -> bool:
        return self.at >= len(self.slots)

    @property
    def slot(self) -> Slot:
        """The slot the person stands at; at the end, the last one."""
        return self.slots[min(self.at, len(self.slots) - 1)]

    @property
    def first_of_stop(self) -> int:
        """Index of the first slot of the stop one stands at."""
        return self.page_of.index(self.page_of[self.at])

    def meter(self, slot: Slot) -> str | None:
        """The meter readings of this slot are taken with."""
        return self.meters.get(slot.item.instrument or "", slot.instrument or "") or None

    def stand(self, index: int) -> None:
        """Stand at a slot, or past the last at the signature, and ask what is asked there."""
        self.at = max(0, min(index, len(self.slots)))
        self.question = None
        if self.at_end:
            self.question = AskSign(len(self.open_slots()), self.signer, self.meaning)
        elif self.pending(self.slot):
            first = self.of(self.slot)[-1]
            self.question = self._again(self.slot, first)

    def _again(self, slot: Slot, first: Seen) -> AskAgain:
        judged = self.judge(
            slot, first.value or 0.0, first.typed, sure=True, below=first.qualifier == "<"
        )
        meter = judged.names_meter
        tail = judged.do if judged.other_meter else f"{slot.item.kind.verb} again."
        return AskAgain(slot, first, Message(judged.headline, judged.reasons, tail), meter)

    def once_more(self, slot: Slot, first: Seen) -> AskAgain:
        """Ask another reading of what has one, which stays: a second one, or a later look."""
        told = f"{slot.item.label} was {first.typed}"
        event = bool(self.held.event(slot))
        if event:
            told += ", confirmed"
        action = f"{slot.item.kind.verb} again; both are kept."
        later = event or slot.item.kind.by_words
        return AskAgain(slot, first, Message(told, (), action), later=later)

    @property
    def page(self) -> int:
        """Index of the stop one stands at; past the last at the end."""
        return len(self.agenda.pages) if self.at_end else self.page_of[self.at]

    def arrive(self, page: int) -> int:
        """Index of the slot where one comes to a stop: the first open one, else its first."""
        here = [i for i, p in enumerate(self.page_of) if p == page]
        still = self.open_slots()
        return next((i for i in here if i in still), here[0] if here else len(self.slots))

    def changed_meter(self) -> str:
        """That the meter is another one here than at the place before; "" where it is the same."""
        kind = None if self.at_end else self.slot.item.instrument
        code = None if kind is None else self.meter(self.slot)
        if kind is None or code is None:
            return ""
        before, self.in_hand[kind] = self.in_hand.get(kind, code), code
        return "" if before == code else f" Here it is {kind} {code}, not {before}."

    def filled_here(self) -> list[Slot]:
        """The slots of this place at this stop that hold a value."""
        return [
            slot
            for slot in self.agenda.pages[self.page].slots
            if slot.place == self.slot.place and self.newest_value(slot) is not None
        ]

    def movable(self, slot: Slot) -> bool:
        """Whether there is another tank, or loop, that a value here may belong to."""
        plan = self.site.plan
        if plan.find_tank(slot.place) is not None:
            return len(plan.tanks) > 1
        return slot.item.level is Level.LOOP and len(plan.loops) > 1

    def newest_value(self, slot: Slot) -> float | None:
        """The newest value that this round holds for a slot."""
        return next((s.value for s in reversed(self.of(slot)) if s.value is not None), None)

    def open_here(self) -> tuple[int, ...]:
        """Indices of the slots of this stop that hold nothing yet."""
        if self.at_end:
            return ()
        page = self.page_of[self.at]
        return tuple(i for i in self.open_slots() if self.page_of[i] == page)

    def ask(self, question: Question) -> Reply:
        """Ask something else first; nothing is said besides."""
        self.question = question
        return Reply()

    # ---- signing

    meaning = rounds.SIGNING
    """What the signature says."""

    @property
    def signer(self) -> str:
        """Who signs: the one who walks."""
        return self.who

    def entered_at(self) -> Instant:
        """When what is kept now is entered."""
        return self.site.now()

    def sign(self) -> None:
        """Put the signature on the disk."""
        rounds.sign(self.site, self.round, self.signer, self.meaning)

    def told_as_whole(self) -> bool:
        """Whether what only the whole round shows is looked for, and kept."""
        return True

    # ---- judging

    @property
    def gathered(self) -> Mapping[str, Gathered]:
        """What this round's readings were held against so far, by item."""
        return {} if self._weighing is None else self._weighing.gathered

    @property
    def weighing(self) -> Weighing:
        """What judges this round's readings; the first page stands before it is loaded."""
        if self._weighing is None:
            from tankwalk.practice.judging.assess import Weighing

            self._weighing = Weighing(self.site, self.round.number, self.round.first)
        return self._weighing

    def judge(
        self, slot: Slot, value: float, typed: str, *, sure: bool, below: bool = False
    ) -> Judged:
        """Judge a value for the slot one stands at, in its item's unit."""
        last = None if self.at_end else self.before()[self.at - self.first_of_stop]
        return self.weighing.weigh(
            slot.place, slot.item, slot.band, self.meter(slot), value, typed, last, self.kept,
            sure=sure, below=below,
        )  # fmt: skip
