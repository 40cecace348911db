"""Questions about feeding: meals given, live-feed batches, samples taken.

They are read from the newest back and only as far as asked.
"""

from __future__ import annotations

from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger.questions import Questions, back_to, stands
from tankwalk.ledger.spine import LastEntry as LastEntry
from tankwalk.ledger.sqlite_errors import reads_record


class MealSeen(NamedTuple):
    """Feed given at a place, or with `event` a planned pause, as it stands."""

    n: int
    place: str
    feed: str
    amount: float
    unit: str
    planned: float | None
    left_over: int | None
    event: str | None
    at: Instant
    who: str


class BatchSeen(NamedTuple):
    """Something that happened to a live-feed batch, as it stands; degC, g/kg, UTC second."""

    n: int
    batch: str
    event: str
    lot: str | None
    grams: float | None
    litres: float | None
    temperature: float | None
    ph: float | None
    salinity: float | None
    per_ml: float | None
    hatch_percent: float | None
    due_at: int | None
    text: str | None
    at: Instant
    who: str


class FeedingQuestions(Questions):
    """Meals, batches of live feed, samples of fish."""

    @reads_record
    def meals(self, since: int) -> list[MealSeen]:
        """Meals and pauses observed since a UTC second, oldest first."""
        sql = f"""
          SELECT m.entry, p.code, m.feed, m.amount, m.unit, m.planned, m.left_over, m.event,
            e.observed_at, e.late_s, e.utc_offset, w.initials
          FROM meal m CROSS JOIN entry e ON e.n = m.entry CROSS JOIN person w ON w.id = e.who
          CROSS JOIN place p ON p.id = e.place
          WHERE {stands("m.entry")} ORDER BY m.entry DESC"""
        found = [
            MealSeen._make((*row[:8], Instant(row[8], row[10]), row[11]))
            for row in back_to(self.db.execute(sql), since, 8)
        ]
        return sorted(found, key=lambda m: (m.at.utc, m.n))

    @reads_record
    def batches(self, since: int) -> list[BatchSeen]:
        """What happened to live-feed batches since a UTC second, oldest first."""
        sql = f"""
          SELECT b.entry, b.batch, b.event, b.lot, b.grams, b.litres, b.temperature, b.ph,
            b.salinity, b.per_ml, b.hatch_percent, b.due_at, b.text, e.observed_at, e.late_s,
            e.utc_offset, w.initials
          FROM batch b CROSS JOIN entry e ON e.n = b.entry CROSS JOIN person w ON w.id = e.who
          WHERE {stands("b.entry")} ORDER BY b.entry DESC"""
        found = [
            BatchSeen._make((*row[:13], Instant(row[13], row[15]), row[16]))
            for row in back_to(self.db.execute(sql), since, 13)
        ]
        return sorted(found, key=lambda b: (b.at.utc, b.n))

    @reads_record
    def last_samples(self, since: int) -> dict[tuple[str, str], Instant]:
        """When each kind of sample was last taken since a UTC second, by (place, what)."""
        sql = f"""
          SELECT p.code, s.what, e.observed_at, e.late_s, e.utc_offset
          FROM sample s CROSS JOIN entry e ON e.n = s.entry CROSS JOIN place p ON p.id = e.place
          WHERE {stands("s.entry")} ORDER BY s.entry DESC"""
        found: dict[tuple[str, str], Instant] = {}
        for place, what, at, _, offset in back_to(self.db.execute(sql), since, 2):
            known = found.get((place, what))
            if known is None or at > known.utc:
                found[place, what] = Instant(at, offset)
        return found
