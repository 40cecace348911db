"""What a walk writes to the record: readings, what was not taken, notes, and what is undone."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Entry, JudgedAs, Note, Reading
from tankwalk.ledger.readings import Seen
from tankwalk.practice.judging.standing.withdrawn import UNDONE
from tankwalk.practice.judging.verdict import Flag, Judged, band_text
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.questions import Correcting
from tankwalk.practice.site import Site
from tankwalk.quantity import Quantity


class Keeping:
    """Writes one person's entries of one round; each is on the disk when its call returns.

    Inside an open `writing` of the ledger they join it, and are on the disk when that ends. Without
    a `number` they are of no round; `at` is when it was seen, where that was not now.
    """

    def __init__(self, site: Site, number: int | None, who: str, at: Instant | None = None) -> None:
        self.site = site
        self.number = number
        self.who = who
        self.at = at

    def reading(
        self,
        slot: Slot,
        read: Quantity,
        judged: Judged,
        meter: str | None,
        *,
        recheck: bool,
        correcting: Correcting | None = None,
    ) -> Seen | None:
        """One value; a correction keeps the time of the old one, and whether that was a recheck.

        What replaces a confirmed value with its first reading is itself a first reading.
        """
        amends = None if correcting is None else correcting.old
        if amends is not None and correcting is not None:
            recheck = amends.recheck and len(correcting.event) < 2
        kept = Reading(
            read.value,
            read.typed.lstrip("< ") if read.below else read.typed,
            read.typed_unit if read.typed_unit != slot.item.unit else None,
            "<" if read.below else None,
            meter,
            band_text(slot.band),
            int(judged.flag),
            recheck,
        )
        observed = None if amends is None else amends.at
        why = [JudgedAs(judged.rule or "", judged.sentence)] if judged.flag else []
        entry = self._entry("reading", slot, observed, amends)
        if correcting is not None:
            entry = entry._replace(reason=correcting.reason, who=correcting.who or self.who)
        seen = self._written(entry, kept, *why)
        if meter is not None and judged.flag >= Flag.WATCH and judged.names_meter:
            self._want_a_check(slot, meter)
        return seen

    def moved(self, slot: Slot, old: Seen, judged: Judged, reason: str) -> Seen | None:
        """A value that was read elsewhere than it was entered, at its own time and by its meter."""
        kept = Reading(
            old.value,
            old.typed,
            None,
            old.qualifier,
            old.instrument,
            band_text(slot.band),
            int(judged.flag),
            old.recheck,
        )
        why = [JudgedAs(judged.rule or "", judged.sentence)] if judged.flag else []
        return self._written(self._entry("reading", slot, old.at, old, reason), kept, *why)

    def _want_a_check(self, slot: Slot, meter: str) -> None:
        """A meter was named: one action to check it, unless one is open already."""
        from tankwalk.ledger.follow_up_kinds import MayClose
        from tankwalk.practice.doing import follow_ups

        open_now = self.site.reader.follow_ups.open()
        if any(one.rule is MayClose.METER and one.about == meter for one in open_now):
            return
        kind = slot.item.instrument or "meter"
        words = f"Check {kind} {meter} before it is used again: its tanks moved, others did not"
        follow_ups.open_action(
            self.site, self.who, words, rule=MayClose.METER, about=meter, number=self.number
        )

    def not_taken(
        self,
        slot: Slot,
        word: str,
        *,
        recheck: bool,
        amends: Seen | None,
        why: str | None = None,
    ) -> Seen | None:
        """Why a value was not taken, in the record's word; `why` is in a person's own."""
        kept = Reading(None, "", qualifier=word, band=band_text(slot.band), recheck=recheck)
        return self._written(self._entry("reading", slot, amends=amends, reason=why), kept)

    def note(self, slot: Slot, words: str) -> None:
        """Words about an item at a place."""
        self.site.record(self._entry("note", slot), Note(words))

    def undo(self, old: Seen, reason: str | None = None, who: str | None = None) -> None:
        """Void an entry: both stay in the record, and the old one no longer stands.

        A confirmed value is voided with a reason, by whoever says so.
        """
        now = self.site.now()
        self.site.record(
            Entry("void", who or self.who, now, now, old.place, old.item, old.unit, self.number,
                  old.n, reason or UNDONE)
        )  # fmt: skip

    def _entry(
        self,
        kind: str,
        slot: Slot,
        observed: Instant | None = None,
        amends: Seen | None = None,
        reason: str | None = None,
    ) -> Entry:
        now = self.site.now()
        return Entry(
            kind,
            self.who,
            observed or self.at or now,
            now,
            slot.place,
            slot.item.code,
            slot.item.unit,
            self.number,
            None if amends is None else amends.n,
            reason,
        )

    def _written(self, entry: Entry, kept: Reading, *why: JudgedAs) -> Seen | None:
        """Write a reading, and give it as the record now shows it."""
        return self.site.reader.readings.seen(self.site.record(entry, kept, *why))
