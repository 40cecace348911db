"""How far a round is: what it asks, what the record holds of it, and where a person stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.plan.model import Item, Kind
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meters import meter_checks
from tankwalk.practice.meters.meter_checks import Marks
from tankwalk.practice.round.agenda import Agenda, Slot, agenda
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.workings import derived
from tankwalk.practice.workings.derived import State

if TYPE_CHECKING:
    from tankwalk.practice.judging.assess import Weighing


class Progress:
    """One round as one person sees it. The record holds the truth; this is what was read of it."""

    def __init__(self, site: Site, found: RoundSeen) -> None:
        self.site = site
        self.round = found
        checklist = site.plan.checklist(found.checklist)
        self.agenda: Agenda = agenda(site, checklist, found.opened.day, found.first)
        self.slots: tuple[Slot, ...] = tuple(s for p in self.agenda.pages for s in p.slots)
        self.page_of: tuple[int, ...] = tuple(
            i for i, p in enumerate(self.agenda.pages) for _ in p.slots
        )
        self.kept: dict[tuple[str, str], list[Seen]] = {}
        self.signed = found.signed is not None
        self.at = 0
        self._weighing: Weighing | None = None
        self._index = {(s.place, s.item.code): i for i, s in enumerate(self.slots)}
        self._open: list[int] | None = None
        self._flags: list[tuple[Slot, Seen]] | None = None
        self._version: int | None = None
        self._last: dict[int, Seen | None] = {}
        self._worked: tuple[tuple[int, int, int], list[State]] | None = None
        self._changes = 0
        self._past: tuple[tuple[int, int, int], list[Seen]] | None = None
        self._marks: Marks | None = None
        self._off: frozenset[str] | None = None
        self.reload()

    @property
    def weighing(self) -> Weighing:
        """What judges this round's readings; the first page stands before it is loaded."""
        if self._weighing is None:
            from tankwalk.practice.judging.assess import Weighing

            self._weighing = Weighing(self.site, self.round.number, self.round.first)
        return self._weighing

    def reload(self) -> None:
        """Read what the record holds of this round, as others may have entered some of it."""
        self.kept.clear()
        self._marks = self._off = None
        self._count_anew()
        found = self.site.reader.readings.of_round(self.round.number, self.round.first)
        for seen in found:
            self.kept.setdefault((seen.place, seen.item), []).append(seen)

    def look_up(self) -> None:
        """Before writing: take in what other programs wrote to this round since the last look."""
        version = self.site.reader.spine.others_wrote()
        if version == self._version:
            return
        for found in self.site.reader.rounds.newest(limit=100):
            if found.number == self.round.number and found.signed is not None:
                self.signed = True
                raise Refusal(
                    f"{found.signed_by} signed this round at {found.signed.hm()}: "
                    "nothing more is kept in it."
                )
        self.reload()
        self._version = version

    def of(self, slot: Slot) -> list[Seen]:
        """What this round holds for a slot, oldest first."""
        return self.kept.get((slot.place, slot.item.code), [])

    def pending(self, slot: Slot) -> bool:
        """Whether a second reading of this slot is still wanted."""
        here = self.of(slot)
        return (
            bool(here)
            and slot.item.kind is not Kind.CHOICE
            and not any(s.recheck for s in here)
            and here[-1].value is not None
            and here[-1].flag >= Flag.WATCH
        )

    @property
    def at_end(self) -> bool:
        return self.at >= len(self.slots)

    @property
    def slot(self) -> Slot:
        """The slot the person stands at; at the end, the last one."""
        return self.slots[min(self.at, len(self.slots) - 1)]

    def open_slots(self) -> list[int]:
        """Indices of slots that hold nothing yet."""
        if self._open is None:
            self._open = [i for i, s in enumerate(self.slots) if not self.of(s)]
        return self._open

    def flags(self) -> list[tuple[Slot, Seen]]:
        """Slots whose newest value is out of band, worst first."""
        if self._flags is not None:
            return self._flags
        found = []
        for slot in self.slots:
            valued = [s for s in self.of(slot) if s.value is not None]
            if valued and valued[-1].flag >= Flag.WATCH:
                found.append((slot, valued[-1]))
        self._flags = sorted(found, key=lambda pair: -pair[1].flag)
        return self._flags

    def _count_anew(self) -> None:
        """What is open and what is flagged has changed; a page counts them at every key."""
        self._open = None
        self._flags = None
        self._changes += 1

    def worked(self) -> list[State]:
        """What can be worked out at the present stop, and why the rest cannot.

        What still waits for an answer of this round is not there yet; what this round has no part
        in is of no concern to it.
        """
        if self.at_end:
            return []
        page = self.page_of[self.at]
        now = self.site.now()
        key = (page, self._changes, now.utc // 60)
        if self._worked is None or self._worked[0] != key:
            here = self.agenda.pages[page]
            place = here.slots[0].place if here.kind in ("tank", "loop") else SITE
            waiting = {(self.slots[i].place, self.slots[i].item.code) for i in self.open_slots()}

            def concerns(item: Item) -> bool:
                return self._of_this_round(item, place, waiting)

            self._worked = (key, derived.states(self.site, place, now, concerns))
        return self._worked[1]

    def _of_this_round(self, item: Item, place: str, waiting: set[tuple[str, str]]) -> bool:
        parts = derived.part_places(self.site.plan, item, place)
        if any(part in waiting for part in parts):
            return False
        telling = [p for p in parts if p[1] != "temp"] or parts
        return any(self.kept.get(part) for part in telling)

    def last(self, index: int) -> Seen | None:
        """The newest value of a slot's item from before this round."""
        if index not in self._last:
            slot = self.slots[index]
            self._last[index] = self.site.reader.readings.newest(
                slot.place, slot.item.code, slot.item.unit, self.round.first
            )
        return self._last[index]

    def suspect(self, seen: Seen) -> bool:
        """Whether the meter that read this failed its check afterwards, as last read of it."""
        if self._marks is None:
            self._marks = meter_checks.marks_by_meter(self.site)
        return meter_checks.suspect_of(self.site, seen, self._marks) is not None

    def out_of_use(self, meter: str) -> bool:
        """Whether a meter failed its check and was not mended, as last read of it."""
        if self._off is None:
            self._off = meter_checks.off_codes(self.site)
        return meter in self._off

    def past(self, limit: int) -> list[Seen]:
        """The newest readings of the present slot's item, this round's among them."""
        slot = self.slot
        key = (self.at, limit, len(self.of(slot)))
        if self._past is None or self._past[0] != key:
            found = self.site.reader.readings.history(
                slot.place, slot.item.code, slot.item.unit, limit
            )
            self._past = (key, found)
        return self._past[1]

    def where_it_ends(self) -> int:
        """Index where the record of the round ends: a wanted second reading, else the next open.

        This is where a person who comes back stands.
        """
        newest = max(
            (s for kept in self.kept.values() for s in kept), key=lambda s: s.n, default=None
        )
        index = -1 if newest is None else self._index.get((newest.place, newest.item), -1)
        if index >= 0 and self.pending(self.slots[index]):
            return index
        return self.next_open(index)

    def next_open(self, index: int) -> int:
        """Index of the next slot that holds nothing, round the end; past the last when none."""
        still = self.open_slots()
        return next((i for i in still if i > index), still[0] if still else len(self.slots))

    def take_in(self, seen: Seen | None) -> None:
        """Hold a reading that was just written, in place of the one it amends."""
        if seen is None:
            return
        self._count_anew()
        here = self.kept.setdefault((seen.place, seen.item), [])
        here[:] = [s for s in here if s.n != seen.amends]
        here.append(seen)

    def forget(self, old: Seen) -> int | None:
        """No longer hold a reading that was undone; the index of its slot, where it has one."""
        self._count_anew()
        here = self.kept[old.place, old.item]
        here[:] = [s for s in here if s.n != old.n]
        return self._index.get((old.place, old.item))
