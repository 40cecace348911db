"""Questions about judging: the newest looks at one thing, what was flagged, what was done then.

Looks are narrow rows, for the sums of a judgement; `queries.Seen` is what a person reads.
"""

from __future__ import annotations

import sqlite3
from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger.queries import NO_LIMIT
from tankwalk.ledger.sqlite_errors import reads_record

_STANDS = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = r.entry)"


class Look(NamedTuple):
    """One value of one item at one place, as far as judging needs it; `at` is a UTC second."""

    n: int
    value: float
    at: int
    flag: int
    recheck: bool
    round: int | None
    instrument: str | None


@reads_record
def looks(
    db: sqlite3.Connection,
    place: str,
    item: str,
    unit: str,
    limit: int,
    before: int = NO_LIMIT,
    until: int = NO_LIMIT,
) -> list[Look]:
    """The newest `limit` values that stand, oldest first.

    They were entered before entry `before` and observed no later than UTC second `until`.
    """
    sql = f"""
      SELECT r.entry, r.value, r.observed_at, r.flag, r.recheck, e.round, m.code
      FROM reading r CROSS JOIN entry e ON e.n = r.entry
      LEFT JOIN instrument m ON m.id = r.instrument
      WHERE r.place = (SELECT id FROM place WHERE code = :place)
      AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
      AND r.observed_at <= :until AND r.value IS NOT NULL AND r.entry < :before AND {_STANDS}
      ORDER BY r.observed_at DESC, r.entry DESC LIMIT :limit"""
    values = {
        "place": place, "item": item, "unit": unit, "limit": limit, "before": before,
        "until": until,
    }  # fmt: skip
    found = [
        Look(n, value, at, flag, bool(again), number, meter)
        for n, value, at, flag, again, number, meter in db.execute(sql, values)
    ]
    return found[::-1]


class Flagged(NamedTuple):
    """A reading that was out of band when it was taken, and the rule that said so."""

    place: str
    item: str
    unit: str
    n: int
    at: Instant
    flag: int
    rule: str | None
    sentence: str | None


@reads_record
def flagged(db: sqlite3.Connection, since: int, until: int = NO_LIMIT) -> list[Flagged]:
    """Every standing reading of WATCH or worse observed in a stretch of time, oldest first."""
    sql = f"""
      SELECT p.code, i.code, i.unit, r.entry, r.observed_at, e.utc_offset, r.flag, j.rule,
        j.sentence
      FROM reading r INDEXED BY flagged CROSS JOIN entry e ON e.n = r.entry
      CROSS JOIN place p ON p.id = r.place CROSS JOIN item i ON i.id = r.item
      LEFT JOIN judged j ON j.entry = r.entry
      WHERE r.flag >= 2 AND r.observed_at BETWEEN :since AND :until
      AND r.value IS NOT NULL AND {_STANDS}
      ORDER BY r.observed_at, r.entry"""
    return [
        Flagged(place, item, unit, n, Instant(at, offset), flag, rule, sentence)
        for place, item, unit, n, at, offset, flag, rule, sentence in db.execute(
            sql, {"since": since, "until": until}
        )
    ]


@reads_record
def why(db: sqlite3.Connection, n: int) -> tuple[str, str] | None:
    """The rule and sentence a reading was flagged by; None for one that was not."""
    row = db.execute("SELECT rule, sentence FROM judged WHERE entry = ?", (n,)).fetchone()
    return None if row is None else (str(row[0]), str(row[1]))


@reads_record
def not_taken(
    db: sqlite3.Connection, place: str, item: str, unit: str
) -> tuple[str, Instant] | None:
    """Why and when an item was not taken, where that is the newest the record holds of it."""
    row = db.execute(
        """SELECT r.qualifier, e.observed_at, e.utc_offset, r.value
           FROM reading r CROSS JOIN entry e ON e.n = r.entry
           WHERE r.place = (SELECT id FROM place WHERE code = :place)
           AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
           AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = r.entry)
           ORDER BY r.observed_at DESC, r.entry DESC LIMIT 1""",
        {"place": place, "item": item, "unit": unit},
    ).fetchone()
    if row is None or row[3] is not None:
        return None
    return str(row[0]), Instant(row[1], row[2])


class Done(NamedTuple):
    """What a person did about a flag: closed, shelved or took it back, why, and until when."""

    n: int
    event: str
    place: str
    item: str
    instrument: str | None
    at: Instant
    who: str
    reason: str | None
    until: int | None


@reads_record
def done(db: sqlite3.Connection, since: int) -> list[Done]:
    """What was done about flags since a UTC second, oldest first: few in a season."""
    sql = """
      SELECT f.entry, f.event, p.code, i.code, f.instrument, e.observed_at, e.utc_offset,
        w.initials, e.reason, f.until_at
      FROM flag_event f CROSS JOIN entry e ON e.n = f.entry CROSS JOIN person w ON w.id = e.who
      CROSS JOIN place p ON p.id = e.place CROSS JOIN item i ON i.id = e.item
      WHERE NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = f.entry)
      AND (e.observed_at >= :since OR f.until_at >= :since) ORDER BY f.entry"""
    return [
        Done(n, event, place, item, meter, Instant(at, offset), who, reason, until)
        for n, event, place, item, meter, at, offset, who, reason, until in db.execute(
            sql, {"since": since}
        )
    ]


@reads_record
def last_passes(db: sqlite3.Connection) -> dict[str, int]:
    """The UTC second at which each instrument last passed a check."""
    sql = """
      SELECT c.instrument, max(e.observed_at) FROM calibration c CROSS JOIN entry e ON e.n = c.entry
      WHERE c.passed = 1 AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = c.entry)
      GROUP BY c.instrument"""
    return {str(code): int(at) for code, at in db.execute(sql)}
