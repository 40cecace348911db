"""Questions to the record: each answers with what holds now, amendments applied.

Every question seeks through an index (tests assert the plans), so that a season's record answers
as fast as a day's.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from typing import Any, NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger.schema import KINDS
from tankwalk.ledger.sqlite_errors import reads_record


class Seen(NamedTuple):
    """One reading as it stands: entry number, what and when, by whom, and how it was judged."""

    n: int
    place: str
    item: str
    unit: str
    value: float | None
    typed: str
    qualifier: str | None
    reason: str | None
    at: Instant
    who: str
    instrument: str | None
    flag: int
    recheck: bool
    amends: int | None


# CROSS JOIN keeps SQLite to this order, entry first: left to itself it may scan all of `reading`.
_SEEN = """
SELECT e.n, p.code, i.code, i.unit, r.value, coalesce(r.typed, printf('%.10g', r.value)),
  r.qualifier, e.reason, e.observed_at, e.utc_offset, w.initials, m.code, r.flag, r.recheck,
  e.amends
FROM {source}
CROSS JOIN reading r ON r.place = e.place AND r.item = e.item AND r.observed_at = e.observed_at
  AND r.entry = e.n
CROSS JOIN place p ON p.id = e.place CROSS JOIN item i ON i.id = e.item
CROSS JOIN person w ON w.id = e.who LEFT JOIN instrument m ON m.id = r.instrument
"""

_CURRENT = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = {n})"

_NEWEST = f"""
(SELECT x.entry FROM reading x WHERE x.place = {{place}} AND x.item = {{item}}
  AND x.value IS NOT NULL AND x.entry < {{before}} AND {_CURRENT.format(n="x.entry")}
  ORDER BY x.observed_at DESC, x.entry DESC LIMIT 1)
"""

NO_LIMIT = 1 << 62


def _seen(row: tuple[Any, ...]) -> Seen:
    (
        n,
        place,
        item,
        unit,
        value,
        typed,
        qualifier,
        reason,
        at,
        offset,
        who,
        meter,
        flag,
        again,
        am,
    ) = row
    return Seen(
        n,
        place,
        item,
        unit,
        value,
        typed or "",
        qualifier,
        reason,
        Instant(at, offset),
        who,
        meter,
        flag,
        bool(again),
        am,
    )


@reads_record
def newest(
    db: sqlite3.Connection, place: str, item: str, unit: str, before: int = NO_LIMIT
) -> Seen | None:
    """The newest reading with a value of one item at one place, entered before entry `before`."""
    inner = _NEWEST.format(
        place="(SELECT id FROM place WHERE code = :place)",
        item="(SELECT id FROM item WHERE code = :item AND unit = :unit)",
        before=":before",
    )
    sql = _SEEN.format(source="entry e") + f" WHERE e.n = {inner}"
    row = db.execute(sql, {"place": place, "item": item, "unit": unit, "before": before}).fetchone()
    return None if row is None else _seen(row)


@reads_record
def newest_of_all(db: sqlite3.Connection) -> dict[tuple[str, str], Seen]:
    """The newest reading with a value of every item at every place, by (place, item) code."""
    inner = _NEWEST.format(place="pp.id", item="ii.id", before=str(NO_LIMIT))
    source = f"place pp CROSS JOIN item ii CROSS JOIN entry e ON e.n = {inner}"
    found: dict[tuple[str, str], Seen] = {}
    for row in db.execute(_SEEN.format(source=source)):
        seen = _seen(row)
        known = found.get((seen.place, seen.item))
        if known is None or (seen.at.utc, seen.n) > (known.at.utc, known.n):
            found[seen.place, seen.item] = seen
    return found


@reads_record
def history(db: sqlite3.Connection, place: str, item: str, unit: str, limit: int) -> list[Seen]:
    """The newest `limit` readings with a value of one item at one place, oldest first."""
    # Joined, not "IN": with old statistics SQLite would walk through all of `entry` for it.
    newest_of_one = (
        "(SELECT x.entry FROM reading x"
        " WHERE x.place = (SELECT id FROM place WHERE code = :place)"
        " AND x.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)"
        f" AND x.value IS NOT NULL AND {_CURRENT.format(n='x.entry')}"
        " ORDER BY x.observed_at DESC, x.entry DESC LIMIT :limit)"
    )
    source = f"{newest_of_one} h CROSS JOIN entry e ON e.n = h.entry"
    sql = _SEEN.format(source=source) + " ORDER BY e.observed_at, e.n"
    values = {"place": place, "item": item, "unit": unit, "limit": limit}
    return [_seen(row) for row in db.execute(sql, values)]


class WorkingSeen(NamedTuple):
    """How a derived reading was worked out: its entries by input, and what the plan gave."""

    calculator: str
    equation: str
    facts: str
    parts: dict[str, int]


@reads_record
def working(db: sqlite3.Connection, n: int) -> WorkingSeen | None:
    """The working of a derived reading by its entry number; None for any other entry."""
    row = db.execute(
        "SELECT w.calculator, w.equation, w.facts FROM derived d JOIN working w"
        " ON w.id = d.working WHERE d.entry = ?",
        (n,),
    ).fetchone()
    if row is None:
        return None
    parts = db.execute("SELECT input, of FROM part WHERE entry = ?", (n,))
    return WorkingSeen(row[0], row[1], row[2], dict(parts))


@reads_record
def worked_from(db: sqlite3.Connection, n: int) -> list[Seen]:
    """Derived readings that stand and were worked out from an entry, in order of entry."""
    source = "(SELECT p.entry FROM part p WHERE p.of = :n) f CROSS JOIN entry e ON e.n = f.entry"
    sql = _SEEN.format(source=source) + f" WHERE {_CURRENT.format(n='e.n')} ORDER BY e.n"
    return [_seen(row) for row in db.execute(sql, {"n": n})]


class Moved(NamedTuple):
    """Fish in or out of a place, or counted there."""

    what: str
    fish: int
    at: int


@reads_record
def movements(db: sqlite3.Connection, place: str) -> list[Moved]:
    """All movements of a place that stand, oldest first; there are a handful a season."""
    sql = f"""
      SELECT m.what, m.fish, e.observed_at FROM movement m CROSS JOIN entry e ON e.n = m.entry
      WHERE e.place = (SELECT id FROM place WHERE code = ?)
      AND {_CURRENT.format(n="m.entry")} ORDER BY e.observed_at, e.n"""
    return [Moved(*row) for row in db.execute(sql, (place,))]


@reads_record
def counted_dead(
    db: sqlite3.Connection, place: str, item: str, unit: str, since: int
) -> list[tuple[int | None, int]]:
    """Every count of the dead at a place since a UTC second: its round and the count, in order."""
    sql = f"""
      SELECT e.round, r.value FROM reading r CROSS JOIN entry e ON e.n = r.entry
      WHERE r.place = (SELECT id FROM place WHERE code = :place)
      AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
      AND r.observed_at >= :since AND r.value IS NOT NULL
      AND {_CURRENT.format(n="r.entry")} ORDER BY r.observed_at, r.entry"""
    found = db.execute(sql, {"place": place, "item": item, "unit": unit, "since": since})
    return [(number, int(value)) for number, value in found]


class CountSeen(NamedTuple):
    """A count at a place: how many, when, by whom, and in which round of which checklist."""

    fish: int
    at: Instant
    who: str
    round: int | None
    checklist: str | None


@reads_record
def counts(db: sqlite3.Connection, place: str, item: str, unit: str, since: int) -> list[CountSeen]:
    """Every count of an item at a place since a UTC second that stands, in order of time."""
    # A round was opened shortly before: the look for it goes back a few rows from the count.
    sql = f"""
      SELECT r.value, e.observed_at, e.utc_offset, w.initials, e.round,
        CASE WHEN e.round IS NOT NULL THEN (SELECT o.checklist FROM round o
          WHERE o.entry < r.entry AND o.number = e.round ORDER BY o.entry DESC LIMIT 1) END
      FROM reading r CROSS JOIN entry e ON e.n = r.entry CROSS JOIN person w ON w.id = e.who
      WHERE r.place = (SELECT id FROM place WHERE code = :place)
      AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
      AND r.observed_at >= :since AND r.value IS NOT NULL
      AND {_CURRENT.format(n="r.entry")} ORDER BY r.observed_at, r.entry"""
    found = db.execute(sql, {"place": place, "item": item, "unit": unit, "since": since})
    return [
        CountSeen(int(value), Instant(at, offset), who, number, checklist)
        for value, at, offset, who, number, checklist in found
    ]


@reads_record
def checklist_of(db: sqlite3.Connection, number: int) -> str | None:
    """The checklist of a round, None for a number that no round has."""
    row = db.execute(
        "SELECT checklist FROM round WHERE number = ? ORDER BY entry DESC LIMIT 1", (number,)
    ).fetchone()
    return None if row is None else str(row[0])


class RoundSeen(NamedTuple):
    """A round: its number, its opening entry, and who signed it when."""

    number: int
    first: int
    checklist: str
    who: str
    opened: Instant
    signed: Instant | None
    signed_by: str | None


_ROUND = f"""
SELECT r.number, r.entry, r.checklist, w.initials, e.observed_at, e.utc_offset,
  se.observed_at, se.utc_offset, sw.initials
FROM round r JOIN entry e ON e.n = r.entry JOIN person w ON w.id = e.who
LEFT JOIN round s ON s.entry = (SELECT min(x.entry) FROM round x
  WHERE x.number = r.number AND x.event = 'sign' AND x.entry > r.entry
    AND {_CURRENT.format(n="x.entry")})
LEFT JOIN entry se ON se.n = s.entry LEFT JOIN person sw ON sw.id = se.who
WHERE r.event = 'open' AND {_CURRENT.format(n="r.entry")}
"""


@reads_record
def rounds(db: sqlite3.Connection, limit: int = 20) -> list[RoundSeen]:
    """The newest rounds, newest first."""
    found = []
    for row in db.execute(_ROUND + " ORDER BY r.entry DESC LIMIT ?", (limit,)):
        signed = None if row[6] is None else Instant(row[6], row[7])
        found.append(
            RoundSeen(row[0], row[1], row[2], row[3], Instant(row[4], row[5]), signed, row[8])
        )
    return found


@reads_record
def next_round_number(db: sqlite3.Connection) -> int:
    """A number no round has yet."""
    # Not the newest row's: a round that was opened before this one may be signed after it.
    row = db.execute("SELECT max(number) FROM round").fetchone()
    return int(row[0] or 0) + 1


@reads_record
def round_readings(db: sqlite3.Connection, number: int, first: int) -> list[Seen]:
    """All readings of a round that stand, in order of entry; `first` is its opening entry."""
    sql = _SEEN.format(source="entry e") + (
        f" WHERE e.n > ? AND e.round = ? AND e.kind = {KINDS['reading']}"
        f" AND {_CURRENT.format(n='e.n')} ORDER BY e.n"
    )
    return [_seen(row) for row in db.execute(sql, (first, number))]


@reads_record
def seen(db: sqlite3.Connection, n: int) -> Seen | None:
    """One reading by its entry number, standing or not."""
    row = db.execute(_SEEN.format(source="entry e") + " WHERE e.n = ?", (n,)).fetchone()
    return None if row is None else _seen(row)


class NoteSeen(NamedTuple):
    """Words in the record that stand."""

    n: int
    place: str | None
    item: str | None
    text: str
    at: Instant
    who: str
    round: int | None
    reason: str | None = None


@reads_record
def notes(db: sqlite3.Connection, since: int, limit: int = 200) -> list[NoteSeen]:
    """Notes observed since a UTC second, newest first."""
    sql = f"""
      SELECT e.n, p.code, i.code, t.text, e.observed_at, e.utc_offset, w.initials, e.round,
        e.reason
      FROM note t JOIN entry e ON e.n = t.entry JOIN person w ON w.id = e.who
      LEFT JOIN place p ON p.id = e.place LEFT JOIN item i ON i.id = e.item
      WHERE {_CURRENT.format(n="e.n")} ORDER BY t.entry DESC LIMIT ?"""
    found = []
    for n, place, item, text, at, offset, who, number, why in db.execute(sql, (limit,)):
        if at >= since:
            found.append(NoteSeen(n, place, item, text, Instant(at, offset), who, number, why))
    return found


class DoseSeen(NamedTuple):
    """A chemical that went in, and the change it was expected to make."""

    n: int
    place: str
    chemical: str
    amount: float
    unit: str
    volume_l: float | None
    expected: float | None
    expected_unit: str | None
    at: Instant
    who: str


@reads_record
def doses(db: sqlite3.Connection, chemical: str, place: str, limit: int = 50) -> list[DoseSeen]:
    """The doses of one chemical at one place that stand, newest first."""
    sql = f"""
      SELECT d.entry, p.code, d.chemical, d.amount, d.unit, d.volume_l, d.expected,
        d.expected_unit, e.observed_at, e.utc_offset, w.initials
      FROM dose d CROSS JOIN entry e ON e.n = d.entry CROSS JOIN place p ON p.id = e.place
      CROSS JOIN person w ON w.id = e.who
      WHERE d.chemical = ? AND p.code = ? AND {_CURRENT.format(n="d.entry")}
      ORDER BY d.entry DESC LIMIT ?"""
    found = []
    for row in db.execute(sql, (chemical, place, limit)):
        n, at, what, amount, unit, volume, expected, of, seconds, offset, who = row
        when = Instant(seconds, offset)
        found.append(DoseSeen(n, at, what, amount, unit, volume, expected, of, when, who))
    return found


@reads_record
def last_plan_digest(db: sqlite3.Connection) -> str | None:
    """Digest of the plan recorded last, None before the first."""
    row = db.execute("SELECT digest FROM plan_version ORDER BY entry DESC LIMIT 1").fetchone()
    return None if row is None else str(row[0])


@reads_record
def last_moment(db: sqlite3.Connection) -> Instant | None:
    """When the newest entry was recorded."""
    row = db.execute(
        "SELECT observed_at + late_s, utc_offset FROM entry WHERE n = (SELECT max(n) FROM entry)"
    ).fetchone()
    return None if row is None else Instant(row[0], row[1])


@reads_record
def amended(db: sqlite3.Connection, numbers: Iterable[int]) -> set[int]:
    """Which of these entries have been amended."""
    return {
        n
        for n in numbers
        if db.execute("SELECT 1 FROM entry WHERE amends = ? LIMIT 1", (n,)).fetchone()
    }
