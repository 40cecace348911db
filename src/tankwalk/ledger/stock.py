"""Questions about fish: what came, went, was counted and died."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.questions import Questions, stands
from tankwalk.ledger.schema import KINDS
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple


class Moved(NamedTuple):
    """Fish in or out of a place, or counted there."""

    what: str
    fish: int
    at: int


class CountSeen(NamedTuple):
    """A count at a place: how many, when, by whom, and in which round of which checklist."""

    fish: int
    at: Instant
    who: str
    round: int | None
    checklist: str | None


class StockQuestions(Questions):
    """Fish that came, went, were counted or died."""

    @reads_record
    def movements(self, place: str) -> list[Moved]:
        """The movements of a place that stand, from its newest census on, oldest first."""
        sql = f"""
          SELECT m.what, m.fish, e.observed_at
          FROM entry e INDEXED BY moved CROSS JOIN movement m ON m.entry = e.n
          WHERE e.place = (SELECT id FROM place WHERE code = ?) AND e.kind = {KINDS["movement"]}
          AND {stands("e.n")} ORDER BY e.observed_at DESC, e.n DESC"""
        found = []
        for row in self.db.execute(sql, (place,)):
            found.append(Moved(*row))
            if found[-1].what == "census":
                break
        return found[::-1]

    @reads_record
    def counted_dead(
        self, place: str, item: str, unit: str, since: int
    ) -> list[tuple[int | None, int]]:
        """Every count of the dead at a place since a UTC second, in order: its round, the count."""
        sql = f"""
          SELECT e.round, r.value FROM reading r CROSS JOIN entry e ON e.n = r.entry
          WHERE r.place = (SELECT id FROM place WHERE code = :place)
          AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
          AND r.observed_at >= :since AND r.value IS NOT NULL
          AND {stands("r.entry")} ORDER BY r.observed_at, r.entry"""
        found = self.db.execute(sql, {"place": place, "item": item, "unit": unit, "since": since})
        return [(number, int(value)) for number, value in found]

    @reads_record
    def counts(self, place: str, item: str, unit: str, since: int) -> list[CountSeen]:
        """Every count of an item at a place since a UTC second that stands, in order of time."""
        sql = f"""
          SELECT r.value, e.observed_at, e.utc_offset, w.initials, e.round,
            CASE WHEN e.round IS NOT NULL THEN (
              SELECT o.checklist FROM round o INDEXED BY round_number
              WHERE o.entry < r.entry AND o.number = e.round ORDER BY o.entry DESC LIMIT 1) END
          FROM reading r CROSS JOIN entry e ON e.n = r.entry CROSS JOIN person w ON w.id = e.who
          WHERE r.place = (SELECT id FROM place WHERE code = :place)
          AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
          AND r.observed_at >= :since AND r.value IS NOT NULL
          AND {stands("r.entry")} ORDER BY r.observed_at, r.entry"""
        found = self.db.execute(sql, {"place": place, "item": item, "unit": unit, "since": since})
        return [
            CountSeen(int(value), Instant(at, offset), who, number, checklist)
            for value, at, offset, who, number, checklist in found
        ]
