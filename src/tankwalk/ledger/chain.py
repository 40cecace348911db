"""The digest chain: what makes an altered entry show.

Every entry's SHA-256 covers the digest of the entry before it on its station and everything the
entry says, in names rather than dictionary numbers, so that renaming a tank in a dictionary shows
as well. References to other entries are hashed as station and local number, which stay true when
records of several stations are brought together.

A station's first entry chains to the station's name.

The chain cannot see that the newest entries of a station were cut off: compare with a backup or a
printed handover, which show the last number.
"""

from __future__ import annotations

import hashlib
import json
import math
import sqlite3
from collections.abc import Callable, Iterator
from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import TABLE, Derived, Detail, Reading
from tankwalk.ledger.schema import KINDS, guard_names, guards

DETAIL_TABLES: dict[str, tuple[str, ...]] = {
    "reading": ("reading", "judged", "mort"),
    "round": ("round",),
    "note": ("note",),
    "void": (),
    "plan": ("plan_version",),
    "movement": ("movement",),
    "meal": ("meal",),
    "sample": ("sample",),
    "batch": ("batch",),
    "calibration": ("calibration",),
    "dose": ("dose",),
    "follow-up": ("follow_up", "closing"),
    "handover": ("handover", "said_back"),
    "derived": ("reading", "judged", "derived", "part"),
    "flag": ("flag_event",),
    "suspect": ("suspect",),
}
"""Tables that may hold rows for an entry of each kind."""

_REAL = {d: {f for f, t in d.__annotations__.items() if "float" in str(t)} for d in TABLE}
"""Fields that SQLite gives back as a float, also where a whole number was handed in."""

_REFERENCES = ("opened", "given", "of")
"""Fields that hold the number of another entry."""

Said = tuple[object, ...]
"""What an entry says, in names: see `digest`."""


class Link(NamedTuple):
    """What is hashed of the spine: names and plain numbers, in this order."""

    station: str
    local: int
    observed_at: int
    late_s: int
    utc_offset: int
    who: str
    kind: str
    round: int | None
    place: str | None
    item: str | None
    unit: str | None
    amends: str | None
    reason: str | None


def said(detail: Detail, refs: Callable[[int], str]) -> Said:
    """A detail as hashed: its table, then its fields in order; entry numbers as station:local."""
    values: list[object] = list(detail)
    for i, name in enumerate(detail._fields):
        value = values[i]
        if value is None:
            continue
        if name in _REFERENCES and isinstance(value, int):
            values[i] = refs(value)
        elif name in _REAL[type(detail)] and isinstance(value, int | float):
            if not math.isfinite(value):
                raise Refusal(f"{value} is no number to keep: nothing was kept. Type it again.")
            values[i] = value + 0.0  # a float; and SQLite gives -0.0 back as 0.0
        elif isinstance(value, bool):
            values[i] = int(value)
    return (TABLE[type(detail)], *values)


def first(station_name: object) -> bytes:
    """What the first entry of a station chains to; a damaged file may hold a name that is none."""
    return hashlib.sha256(str(station_name).encode("utf-8", "surrogatepass")).digest()


def digest(before: bytes, link: Link, details: list[Said]) -> bytes:
    """SHA-256 over the digest before and the canonical JSON of what the entry says."""
    # `default` is for what only a damaged file holds, such as bytes in the place of words.
    said = [*link, *details]
    body = json.dumps(said, ensure_ascii=False, separators=(",", ":"), default=repr)
    return hashlib.sha256(before + body.encode("utf-8", "surrogatepass")).digest()


class Damage(NamedTuple):
    """The first thing found wrong with the record, in a sentence."""

    sentence: str
    entry: int | None = None


# A number that names nothing stands for itself, so that pointing a NULL at nothing shows as well.
_SPINE = """
SELECT e.n, s.key, e.local, e.observed_at, e.late_s, e.utc_offset, p.initials, k.name, e.round,
  coalesce(pl.code, e.place), coalesce(i.code, e.item), i.unit,
  coalesce(am.key || ':' || a.local, e.amends), e.reason, e.digest, e.place, e.item, s.name
FROM entry e LEFT JOIN station s ON s.id = e.station LEFT JOIN person p ON p.id = e.who
LEFT JOIN kind k ON k.id = e.kind LEFT JOIN place pl ON pl.id = e.place
LEFT JOIN item i ON i.id = e.item LEFT JOIN entry a ON a.n = e.amends
LEFT JOIN station am ON am.id = a.station
ORDER BY e.n
"""

_READING = """
SELECT r.value, coalesce(r.typed, printf('%.10g', r.value)), r.typed_unit, r.qualifier,
  coalesce(m.code, r.instrument), coalesce(b.limits, r.band), r.flag, r.recheck
FROM reading r LEFT JOIN instrument m ON m.id = r.instrument LEFT JOIN band b ON b.id = r.band
WHERE r.place = ? AND r.item = ? AND r.observed_at = ? AND r.entry = ?
"""


def _plain(table: str) -> str:
    """Statement that reads a plain detail row in field order, references in names."""
    detail = next(d for d, t in TABLE.items() if t == table)
    if detail is Derived:
        return (
            "SELECT w.calculator, w.equation, w.facts FROM derived d "
            "LEFT JOIN working w ON w.id = d.working WHERE d.entry = ?"
        )
    columns = []
    for name in detail._fields:
        if name in _REFERENCES:
            columns.append(
                f"coalesce((SELECT s.key || ':' || x.local FROM entry x"
                f" JOIN station s ON s.id = x.station WHERE x.n = d.{name}), d.{name})"
            )
        else:
            columns.append(f"d.{name}")
    by = {"mort": "cause", "part": "input", "said_back": "question"}.get(table)
    order = f" ORDER BY d.{by}" if by else ""
    return f"SELECT {', '.join(columns)} FROM {table} d WHERE d.entry = ?{order}"


_STATEMENTS = {t: _plain(t) for d, t in TABLE.items() if d is not Reading}


def _details(db: sqlite3.Connection, row: tuple[object, ...], kind: str) -> Iterator[Said]:
    n, observed_at, place, item = row[0], row[3], row[15], row[16]
    for table in DETAIL_TABLES[kind]:
        if table == "reading":
            rows = db.execute(_READING, (place, item, observed_at, n))
        else:
            rows = db.execute(_STATEMENTS[table], (n,))
        for found in rows:
            yield (table, *found)


def verify(db: sqlite3.Connection, progress: Callable[[int], None] | None = None) -> Damage | None:
    """Walk the whole chain; the first damage found, or None when every digest holds.

    `progress` is called with the number of entries seen, every few thousand.
    """
    try:
        return _walk(db, progress)
    except sqlite3.OperationalError:  # text that is not UTF-8, written by another hand
        usual = db.text_factory
        db.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
        try:
            return _walk(db, progress)
        finally:
            db.text_factory = usual


def _walk(db: sqlite3.Connection, progress: Callable[[int], None] | None) -> Damage | None:
    last: dict[str, tuple[int, bytes]] = {}
    for seen, row in enumerate(db.execute(_SPINE), 1):
        n, station, kind = row[0], row[1], row[7]
        if None in (station, row[6], kind) or kind not in DETAIL_TABLES:
            return Damage(
                f"Entry {n} was altered: it names a station, person or kind that is not there.", n
            )
        local, before = last.get(station) or (0, first(row[17]))
        if n != seen:
            return Damage(
                f"Entry {n} was altered, or entries before it were removed: it follows "
                f"entry {seen - 1}.",
                n,
            )
        if row[2] != local + 1:
            return Damage(
                f"Entry {n} was altered, or entries before it were removed: it is "
                f"number {row[2]} of its station and follows number {local}.",
                n,
            )
        link = Link(*row[1:14])
        if digest(before, link, list(_details(db, row, kind))) != row[14]:
            when = _when(row[3], row[5])
            what = " ".join(str(x) for x in (row[9], row[10] or kind) if x)
            return Damage(f"Entry {n} was altered: {what}, {when}, entered by {row[6]}.", n)
        last[station] = (row[2], row[14])
        if progress and seen % 5000 == 0:
            progress(seen)
    return _stray(db)


def missing_guards(db: sqlite3.Connection) -> set[str]:
    """Names of the append-only guards that are not there, or not as they were made."""
    made = set(guards())
    rows = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
    return guard_names() - {name for name, sql in rows if sql in made}


def _stray(db: sqlite3.Connection) -> Damage | None:
    """A detail row that no entry of the right kind stands behind, or a kind of another name."""
    kinds: dict[str, list[str]] = {}
    for kind, tables in DETAIL_TABLES.items():
        for table in tables:
            kinds.setdefault(table, []).append(str(KINDS[kind]))
    for table, numbers in kinds.items():
        same = "e.n = d.entry"
        if table == "reading":
            same += " AND e.place = d.place AND e.item = d.item"
            same += " AND e.observed_at = d.observed_at"
        found = db.execute(
            f"SELECT d.entry FROM {table} d LEFT JOIN entry e ON {same} "
            f"WHERE e.n IS NULL OR e.kind NOT IN ({', '.join(numbers)}) LIMIT 1"
        ).fetchone()
        if found:
            return Damage(f"A row of {table} was added by hand to entry {found[0]}.", found[0])
    if dict(db.execute("SELECT name, id FROM kind")) != KINDS:
        return Damage("The table that names the kinds of entry was altered.")
    return None


def _when(observed_at: int, offset: int) -> str:
    try:
        return Instant(observed_at, offset).short()
    except (TypeError, ValueError, OverflowError, OSError):
        return f"at second {observed_at}"
