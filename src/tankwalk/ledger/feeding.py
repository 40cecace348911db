"""Questions about feeding: meals given, live-feed batches, samples taken, and the newest entry.

Meals and batches are read from the newest back and only as far as asked, for a record grows in the
order in which it was entered.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import Any, NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger.sqlite_errors import reads_record

_STANDS = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = {n})"

OLD_IN_A_ROW = 60
"""So many entries in a row from before the stretch that is asked for end the look back.

One is not enough: a clock that stood wrong for an hour may have put one where it does not belong.
"""


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


def _back_to(rows: sqlite3.Cursor, since: int, at: int) -> Iterator[tuple[Any, ...]]:
    """Rows observed since a UTC second; column `at` is when, the next how much later entered."""
    old = 0
    for row in rows:
        if row[at] >= since:
            yield row
        # What was seen since then was entered since then as well.
        old = 0 if row[at] + row[at + 1] >= since else old + 1
        if old >= OLD_IN_A_ROW:
            return


@reads_record
def meals(db: sqlite3.Connection, since: int) -> list[MealSeen]:
    """Meals and pauses observed since a UTC second, oldest first."""
    sql = f"""
      SELECT m.entry, p.code, m.feed, m.amount, m.unit, m.planned, m.left_over, m.event,
        e.observed_at, e.late_s, e.utc_offset, w.initials
      FROM meal m CROSS JOIN entry e ON e.n = m.entry CROSS JOIN person w ON w.id = e.who
      CROSS JOIN place p ON p.id = e.place
      WHERE {_STANDS.format(n="m.entry")} ORDER BY m.entry DESC"""
    found = [
        MealSeen._make((*row[:8], Instant(row[8], row[10]), row[11]))
        for row in _back_to(db.execute(sql), since, 8)
    ]
    return sorted(found, key=lambda m: (m.at.utc, m.n))


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


@reads_record
def batches(db: sqlite3.Connection, since: int) -> list[BatchSeen]:
    """What happened to live-feed batches since a UTC second, oldest first."""
    sql = f"""
      SELECT b.entry, b.batch, b.event, b.lot, b.grams, b.litres, b.temperature, b.ph, b.salinity,
        b.per_ml, b.hatch_percent, b.due_at, b.text, e.observed_at, e.late_s, e.utc_offset,
        w.initials
      FROM batch b CROSS JOIN entry e ON e.n = b.entry CROSS JOIN person w ON w.id = e.who
      WHERE {_STANDS.format(n="b.entry")} ORDER BY b.entry DESC"""
    found = [
        BatchSeen._make((*row[:13], Instant(row[13], row[15]), row[16]))
        for row in _back_to(db.execute(sql), since, 13)
    ]
    return sorted(found, key=lambda b: (b.at.utc, b.n))


@reads_record
def last_samples(db: sqlite3.Connection, since: int) -> dict[tuple[str, str], Instant]:
    """When each kind of sample was last taken at each place, by (place, what), since a second."""
    sql = f"""
      SELECT p.code, s.what, e.observed_at, e.late_s, e.utc_offset
      FROM sample s CROSS JOIN entry e ON e.n = s.entry CROSS JOIN place p ON p.id = e.place
      WHERE {_STANDS.format(n="s.entry")} ORDER BY s.entry DESC"""
    found: dict[tuple[str, str], Instant] = {}
    for place, what, at, _, offset in _back_to(db.execute(sql), since, 2):
        known = found.get((place, what))
        if known is None or at > known.utc:
            found[place, what] = Instant(at, offset)
    return found


class LastEntry(NamedTuple):
    """The newest entry of any kind: when it was entered, and by whom."""

    at: Instant
    who: str


@reads_record
def last_entry(db: sqlite3.Connection) -> LastEntry | None:
    """The newest entry of the record, None while it is empty."""
    row = db.execute(
        """SELECT e.observed_at + e.late_s, e.utc_offset, w.initials
           FROM entry e CROSS JOIN person w ON w.id = e.who
           WHERE e.n = (SELECT max(n) FROM entry)"""
    ).fetchone()
    return None if row is None else LastEntry(Instant(row[0], row[1]), row[2])


@reads_record
def kept_abouts(db: sqlite3.Connection) -> dict[str, int]:
    """What follow-ups that stand were drafted from, and the entry that opened each."""
    sql = f"""
      SELECT c.about, c.entry FROM closing c CROSS JOIN entry e ON e.n = c.entry
      WHERE c.about IS NOT NULL AND {_STANDS.format(n="c.entry")} ORDER BY c.entry"""
    return {str(about): int(n) for about, n in db.execute(sql)}
