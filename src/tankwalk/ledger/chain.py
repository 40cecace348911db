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
from collections.abc import Callable, Iterator, Sequence
from heapq import merge
from json import encoder
from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import TABLE, Derived, Detail, Reading
from tankwalk.ledger.schema import KINDS, guard_names, guards
from tankwalk.quantity import number_text

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
    "handover": ("handover", "said_back", "handover_gist"),
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


def _encoder() -> Callable[[object], str]:
    """Canonical JSON of a list, by one encoder that is kept: `json` makes one for every call."""
    # `default` is for what only a damaged file holds, such as bytes in the place of words.
    usual = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), default=repr)
    made = getattr(encoder, "c_make_encoder", None)
    if made is None:  # a Python without the part of json that is written in C
        return usual.encode
    parts = made(None, repr, encoder.encode_basestring, None, ":", ",", False, False, True)
    return lambda said: "".join(parts(said, 0))


_json = _encoder()


def digest(before: bytes, link: Sequence[object], details: list[Said]) -> bytes:
    """SHA-256 over the digest before and the canonical JSON of what the entry says.

    `link` is a Link, or its values in their order.
    """
    body = _json([*link, *details])
    return hashlib.sha256(before + body.encode("utf-8", "surrogatepass")).digest()


class Damage(NamedTuple):
    """The first thing found wrong with the record, in a sentence."""

    sentence: str
    entry: int | None = None


def _reference(column: str) -> str:
    """SQL for an entry as station:local. A number that names nothing stands for itself."""
    return (
        f"coalesce((SELECT s.key || ':' || x.local FROM entry x"
        f" JOIN station s ON s.id = x.station WHERE x.n = {column}), {column})"
    )


_SPINE = f"""
SELECT e.n, e.station, e.local, e.observed_at, e.late_s, e.utc_offset, e.who, e.kind, e.round,
  e.place, e.item, {_reference("e.amends")}, e.reason, e.digest,
  r.entry, r.value, r.typed, r.typed_unit, r.qualifier,
  r.instrument, r.band, r.flag, r.recheck
FROM entry e LEFT JOIN reading r ON r.place = e.place AND r.item = e.item
  AND r.observed_at = e.observed_at AND r.entry = e.n
ORDER BY e.n
"""
"""Every entry with its reading, in one statement: asking for each by itself takes twice as long."""

_IN_ORDER_OF = {
    "mort": "cause", "part": "input", "said_back": "question", "handover_gist": "section",
}  # fmt: skip
"""Column that sets the order of rows, in tables that may hold several of one entry."""


class _Names(NamedTuple):
    """The small dictionaries, read once; a number that none of them holds stands for itself."""

    stations: dict[int, tuple[str, str]]  # key and name
    people: dict[int, str]
    kinds: dict[int, str]
    places: dict[int, str]
    items: dict[int, tuple[str, str]]  # code and unit
    instruments: dict[int, str]
    bands: dict[int, str]


def _names(db: sqlite3.Connection) -> _Names:
    return _Names(
        {n: (key, name) for n, key, name in db.execute("SELECT id, key, name FROM station")},
        dict(db.execute("SELECT id, initials FROM person")),
        dict(db.execute("SELECT id, name FROM kind")),
        dict(db.execute("SELECT id, coalesce(code, id) FROM place")),
        {n: (code, unit) for n, code, unit in
         db.execute("SELECT id, coalesce(code, id), unit FROM item")},
        dict(db.execute("SELECT id, coalesce(code, id) FROM instrument")),
        dict(db.execute("SELECT id, coalesce(limits, id) FROM band")),
    )  # fmt: skip


def _rows(detail: type[Detail]) -> str:
    """SQL for all rows of a plain table of details: the entry, then the fields as hashed.

    In order of entry, then of what tells the rows of one entry apart.
    """
    table = TABLE[detail]
    # Only a damaged file holds words or bytes as an entry's number; they sort after every number.
    where = f"WHERE d.entry <= {(1 << 63) - 1} ORDER BY d.entry"
    if detail is Derived:
        # A working is as long as a page, and there may be many: they are not all held at once.
        return (
            "SELECT d.entry, w.calculator, w.equation, w.facts FROM derived d "
            f"LEFT JOIN working w ON w.id = d.working {where}"
        )
    columns = (_reference(f"d.{f}") if f in _REFERENCES else f"d.{f}" for f in detail._fields)
    by = f", d.{_IN_ORDER_OF[table]}" if table in _IN_ORDER_OF else ""
    return f"SELECT d.entry, {', '.join(columns)} FROM {table} d {where}{by}"


_STATEMENTS = {t: _rows(d) for d, t in TABLE.items() if d is not Reading}

_ORDER = list(dict.fromkeys(table for tables in DETAIL_TABLES.values() for table in tables))
"""All tables of details, those of one kind in the order in which they are hashed."""

_Row = tuple[float, int, Said]
_END: _Row = (math.inf, 0, ())


def _beside(db: sqlite3.Connection) -> Iterator[_Row]:
    """Every row of details but the readings, as entry, place in `_ORDER`, what is hashed.

    One cursor a table, merged into the order in which the spine is walked.
    """

    def rows(rank: int, table: str) -> Iterator[_Row]:
        for row in db.execute(_STATEMENTS[table]):
            yield row[0], rank, (table, *row[1:])

    there = _tables(db)
    asked = [k for k, table in enumerate(_ORDER) if table in _STATEMENTS and table in there]
    return merge(*(rows(k, _ORDER[k]) for k in asked))


def _tables(db: sqlite3.Connection) -> set[str]:
    """Tables of the record; one of an older version has not all of them yet."""
    return {name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}


def verify(db: sqlite3.Connection, progress: Callable[[int], None] | None = None) -> Damage | None:
    """Walk the whole chain; the first damage found, or None when every digest holds.

    `progress` is called with the number of entries seen, every few thousand.
    """
    usual = db.text_factory
    # Readings lie by place and item and are walked by time: the newest page of each stays at hand.
    cache = db.execute("PRAGMA cache_size").fetchone()[0]
    db.execute("PRAGMA cache_size = -16000")
    began = not db.in_transaction
    if began:
        db.execute("BEGIN")  # names, entries and details of one moment
    try:
        try:
            return _walk(db, progress)
        except sqlite3.OperationalError:  # text that is not UTF-8, written by another hand
            db.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
            return _walk(db, progress)
    finally:
        db.text_factory = usual
        if began and db.in_transaction:
            db.execute("ROLLBACK")
        db.execute(f"PRAGMA cache_size = {cache}")


def _walk(db: sqlite3.Connection, progress: Callable[[int], None] | None) -> Damage | None:
    stations, people, kinds, places, items, instruments, bands = _names(db)
    beside = _beside(db)
    waiting = next(beside, _END)
    hashed = dict.fromkeys(_ORDER, 0)
    last: dict[str, tuple[int, bytes]] = {}
    for seen, (
        n, station, local, observed_at, late_s, offset, who, kind, in_round, place, item, amends,
        reason, kept, read, value, typed, typed_unit, qualifier, meter, band, flag, recheck,
    ) in enumerate(db.execute(_SPINE), 1):  # fmt: skip
        key, station_name = stations.get(station, (None, None))
        initials, kind = people.get(who), kinds.get(kind)
        if key is None or initials is None or kind not in DETAIL_TABLES:
            return Damage(
                f"Entry {n} was altered: it names a station, person or kind that is not there.", n
            )
        before_local, before = last.get(key) or (0, first(station_name))
        if n != seen:
            return Damage(
                f"Entry {n} was altered, or entries before it were removed: it follows "
                f"entry {seen - 1}.",
                n,
            )
        if local != before_local + 1:
            return Damage(
                f"Entry {n} was altered, or entries before it were removed: it is "
                f"number {local} of its station and follows number {before_local}.",
                n,
            )
        place = places.get(place, place)
        item, unit = items.get(item, (item, None))
        tables = DETAIL_TABLES[kind]
        details: list[Said] = []
        if read is not None and "reading" in tables:
            if typed is None and isinstance(value, float):
                typed = number_text(value)  # as the append path left it out
            meter, band = instruments.get(meter, meter), bands.get(band, band)
            details.append(
                ("reading", value, typed, typed_unit, qualifier, meter, band, flag, recheck)
            )
            hashed["reading"] += 1
        while waiting[0] <= n:
            if waiting[0] == n and waiting[2][0] in tables:
                details.append(waiting[2])
                hashed[_ORDER[waiting[1]]] += 1
            waiting = next(beside, _END)
        link = (key, local, observed_at, late_s, offset, initials, kind, in_round, place, item,
                unit, amends, reason)  # fmt: skip
        if digest(before, link, details) != kept:
            when = _when(observed_at, offset)
            what = " ".join(str(x) for x in (place, item or kind) if x)
            return Damage(f"Entry {n} was altered: {what}, {when}, entered by {initials}.", n)
        last[key] = (local, kept)
        if progress and seen % 5000 == 0:
            progress(seen)
    return _stray(db, hashed)


def missing_guards(db: sqlite3.Connection) -> set[str]:
    """Names of the append-only guards that are not there, or not as they were made."""
    made = set(guards())
    rows = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
    return guard_names() - {name for name, sql in rows if sql in made}


def _stray(db: sqlite3.Connection, hashed: dict[str, int]) -> Damage | None:
    """A detail row that no entry of the right kind stands behind, or a kind of another name.

    `hashed` is how many rows of each table went into a digest: a table without more has no stray.
    """
    kinds: dict[str, list[str]] = {}
    for kind, tables in DETAIL_TABLES.items():
        for table in tables:
            kinds.setdefault(table, []).append(str(KINDS[kind]))
    there = _tables(db)
    for table, numbers in kinds.items():
        if table not in there:
            continue
        if db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] == hashed[table]:
            continue
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
