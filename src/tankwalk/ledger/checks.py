"""Questions about meters: their checks, the marks of suspect readings, what was read with them."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger.queries import NO_LIMIT
from tankwalk.ledger.sqlite_errors import reads_record

_STANDS = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = {n})"

LATELY = 8
"""Of so many checks entered last, the one made last is a meter's newest: a check typed in from
paper comes late, but no more than a few checks late."""


class CheckSeen(NamedTuple):
    """A check that stands. Where a meter was mended after it failed, a check of its own without
    `as_found` says how it was left."""

    n: int
    instrument: str
    what: str
    reference: float | None
    as_found: float | None
    as_left: float | None
    unit: str
    passed: bool
    at: Instant
    who: str


_CHECK = f"""
SELECT c.entry, c.instrument, c.what, c.reference, c.as_found, c.as_left, coalesce(c.unit, ''),
  c.passed, e.observed_at, e.utc_offset, w.initials
FROM calibration c CROSS JOIN entry e ON e.n = c.entry CROSS JOIN person w ON w.id = e.who
WHERE c.instrument = :code AND {_STANDS.format(n="c.entry")}
"""


def _check(row: tuple[Any, ...]) -> CheckSeen:
    n, meter, what, reference, found, left, unit, passed, at, offset, who = row
    when = Instant(at, offset)
    return CheckSeen(n, meter, what, reference, found, left, unit, bool(passed), when, who)


@reads_record
def checks(db: sqlite3.Connection, instrument: str, limit: int = 30) -> list[CheckSeen]:
    """The newest checks of an instrument that stand, newest first."""
    sql = _CHECK + " ORDER BY e.observed_at DESC, c.entry DESC LIMIT :limit"
    return [_check(row) for row in db.execute(sql, {"code": instrument, "limit": limit})]


@reads_record
def newest_checks(db: sqlite3.Connection, instruments: Iterable[str]) -> dict[str, list[CheckSeen]]:
    """For each instrument its checks of late, newest first; none for one that was not checked."""
    # By order of entry, so that it ends after a few steps and never sorts a season of checks.
    sql = _CHECK + " ORDER BY c.entry DESC LIMIT :limit"
    found = {}
    for code in instruments:
        late = [_check(row) for row in db.execute(sql, {"code": code, "limit": LATELY})]
        found[code] = sorted(late, key=lambda one: (-one.at.utc, -one.n))
    return found


@reads_record
def last_pass(db: sqlite3.Connection, instrument: str, before: int) -> CheckSeen | None:
    """The newest passed check of an instrument observed before a UTC second."""
    sql = _CHECK + (
        " AND c.passed = 1 AND e.observed_at < :before"
        " ORDER BY e.observed_at DESC, c.entry DESC LIMIT 1"
    )
    row = db.execute(sql, {"code": instrument, "before": before}).fetchone()
    return None if row is None else _check(row)


class MarkSeen(NamedTuple):
    """Readings of an item with a meter, between two UTC seconds, that are not to be trusted."""

    n: int
    instrument: str
    item: str
    unit: str
    since: int
    until: int
    at: Instant
    who: str
    reason: str | None


@reads_record
def marks(db: sqlite3.Connection) -> list[MarkSeen]:
    """The marks of suspect readings that stand, oldest first; there are a handful a season."""
    sql = f"""
      SELECT s.entry, s.instrument, i.code, i.unit, s.since_at, s.until_at, e.observed_at,
        e.utc_offset, w.initials, e.reason
      FROM suspect s CROSS JOIN entry e ON e.n = s.entry CROSS JOIN item i ON i.id = e.item
      CROSS JOIN person w ON w.id = e.who
      WHERE {_STANDS.format(n="s.entry")} ORDER BY s.entry"""
    return [
        MarkSeen(n, meter, item, unit, since, until, Instant(at, offset), who, reason)
        for n, meter, item, unit, since, until, at, offset, who, reason in db.execute(sql)
    ]


class ReadWith(NamedTuple):
    """A reading that a meter took; `recheck` says that it is the second of one look."""

    n: int
    place: str
    value: float
    at: Instant
    recheck: bool


_WITH = f"""
FROM reading r CROSS JOIN entry e ON e.n = r.entry
WHERE r.place = (SELECT id FROM place WHERE code = :place)
AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
AND r.observed_at BETWEEN :since AND :until
AND r.instrument = (SELECT id FROM instrument WHERE code = :code)
AND r.value IS NOT NULL AND {_STANDS.format(n="r.entry")}
ORDER BY r.observed_at, r.entry
"""


@reads_record
def readings_with(
    db: sqlite3.Connection,
    instrument: str,
    item: str,
    unit: str,
    places: Sequence[str],
    since: int = 0,
    until: int = NO_LIMIT,
) -> list[ReadWith]:
    """What stands of an item that was read with an instrument at some places, in order of time.

    `since` and `until` are UTC seconds, both of them inside. One seek a place.
    """
    sql = f"SELECT r.entry, r.value, r.observed_at, e.utc_offset, r.recheck {_WITH}"
    asks = {"code": instrument, "item": item, "unit": unit, "since": since, "until": until}
    found = [
        ReadWith(n, place, value, Instant(at, offset), bool(again))
        for place in places
        for n, value, at, offset, again in db.execute(sql, {"place": place, **asks})
    ]
    return sorted(found, key=lambda one: (one.at.utc, one.n))


@reads_record
def first_with(
    db: sqlite3.Connection, instrument: str, item: str, unit: str, places: Sequence[str]
) -> int | None:
    """The UTC second of the first reading of an item with an instrument; None without one."""
    asks = {"code": instrument, "item": item, "unit": unit, "since": 0, "until": NO_LIMIT}
    sql = f"SELECT r.observed_at {_WITH} LIMIT 1"
    firsts = [db.execute(sql, {"place": place, **asks}).fetchone() for place in places]
    return min((int(row[0]) for row in firsts if row is not None), default=None)


@reads_record
def places(db: sqlite3.Connection) -> list[str]:
    """Every place the record knows, also what the plan no longer has."""
    return [str(code) for (code,) in db.execute("SELECT code FROM place ORDER BY id")]
