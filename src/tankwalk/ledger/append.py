"""The append path: one entry and its details, numbered, digested and written.

Apart from the rest of the record so that what only reads need not load it.
"""

from __future__ import annotations

import math
import sqlite3

from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.ledger import chain, schema
from tankwalk.ledger.entries import (
    TABLE,
    Counted,
    Derived,
    Detail,
    Entry,
    HandoverGist,
    Mort,
    Part,
    Poured,
    Reading,
    SaidBack,
    Series,
)

_INSERT_ENTRY = (
    "INSERT INTO entry (n, station, local, observed_at, late_s, utc_offset, who, kind, round, "
    "place, item, amends, reason, digest) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)
_INSERT_READING = "INSERT INTO reading VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
_INSERT = {
    table: f"INSERT INTO {table} (entry, {', '.join(detail._fields)}) "
    f"VALUES (?{', ?' * len(detail._fields)})"
    for detail, table in TABLE.items()
    if detail not in (Reading, Derived)
}

_NAMED_BY = {"item": ("code", "unit"), "working": ("calculator", "equation", "facts")}
"""Columns that make a dictionary row the same, where one alone does not."""


class Appender:
    """Writes entries of one station inside a transaction that is already open."""

    def __init__(self, db: sqlite3.Connection, station_key: str, station_name: str) -> None:
        self.db = db
        self.station_key = station_key
        self.station_name = station_name
        self._numbers: dict[tuple[str, object], int] = {}

    def rolled_back(self) -> None:
        """Forget the dictionary numbers: some may have been given in what was undone."""
        self._numbers.clear()

    def append(self, entry: Entry, details: tuple[Detail, ...]) -> int:
        """Put one entry and its details into the open transaction; returns its number."""
        db = self.db
        for detail in details:
            if TABLE[type(detail)] not in chain.DETAIL_TABLES[entry.kind]:
                raise ValueError(f"a {entry.kind} entry keeps no {TABLE[type(detail)]}")
        # A laptop that never wrote here has no entry to look for through all the others.
        known = ("station", (self.station_key,)) in self._numbers or db.execute(
            "SELECT 1 FROM station WHERE key = ?", (self.station_key,)
        ).fetchone()
        station = self._number("station", "key", self.station_key, name=self.station_name)
        last = db.execute("SELECT max(n) FROM entry").fetchone()[0]
        n: int = (last or 0) + 1
        before = (
            known
            and db.execute(
                "SELECT local, digest FROM entry WHERE station = ? ORDER BY n DESC LIMIT 1",
                (station,),
            ).fetchone()
        )
        local, previous = before or (0, chain.first(self.station_name))
        who = self._number("person", "initials", entry.who)
        place = None if entry.place is None else self._number("place", "code", entry.place)
        item = None
        if entry.item is not None:
            item = self._number("item", "code", entry.item, unit=entry.unit)
        late = max(0, entry.recorded.utc - entry.observed.utc)
        link = chain.Link(
            self.station_key,
            local + 1,
            entry.observed.utc,
            late,
            entry.observed.offset,
            entry.who,
            entry.kind,
            entry.round,
            entry.place,
            entry.item,
            None if entry.item is None else entry.unit,
            None if entry.amends is None else self._reference(entry.amends),
            entry.reason,
        )
        ordered = sorted(details, key=lambda detail: _as_read_back(entry.kind, detail))
        said = [chain.said(detail, self._reference) for detail in ordered]
        row = (
            n,
            station,
            local + 1,
            entry.observed.utc,
            late,
            entry.observed.offset,
            who,
            schema.KINDS[entry.kind],
            entry.round,
            place,
            item,
            entry.amends,
            entry.reason,
            chain.digest(previous, link, said),
        )
        db.execute(_INSERT_ENTRY, row)
        for detail in ordered:
            if isinstance(detail, Reading):
                self._append_reading(n, entry.observed.utc, place, item, detail)
            elif isinstance(detail, Derived):
                working = self._number("working", "calculator", *detail)
                db.execute("INSERT INTO derived VALUES (?, ?)", (n, working))
            else:
                db.execute(_INSERT[TABLE[type(detail)]], (n, *detail))
        return n

    def _append_reading(
        self, n: int, observed_at: int, place: int | None, item: int | None, r: Reading
    ) -> None:
        instrument = r.instrument and self._number("instrument", "code", r.instrument)
        band = r.band and self._number("band", "limits", r.band)
        self.db.execute(
            _INSERT_READING,
            (
                place,
                item,
                observed_at,
                n,
                r.value,
                None if _plainly(r) else r.typed,
                r.typed_unit,
                r.qualifier,
                instrument or None,
                band or None,
                r.flag,
                int(r.recheck),
            ),
        )

    def _number(self, table: str, column: str, *values: str, **more: str) -> int:
        """The dictionary number of a name, given once for all on first use.

        `more` are columns that stand beside the name; those of an item and of a working are
        part of what makes it the same.
        """
        key = (table, (*values, *more.values()) if table in _NAMED_BY else values)
        known = self._numbers.get(key)
        if known is not None:
            return known
        names = _NAMED_BY.get(table, (column,))
        given = dict(zip(names, values, strict=False)) | more
        where = " AND ".join(f"{name} = ?" for name in names)
        found = self.db.execute(f"SELECT id FROM {table} WHERE {where}", key[1]).fetchone()
        if found is None:
            marks = ", ".join("?" * len(given))
            cursor = self.db.execute(
                f"INSERT INTO {table} ({', '.join(given)}) VALUES ({marks})", [*given.values()]
            )
            found = (cursor.lastrowid,)
        self._numbers[key] = int(found[0])
        return int(found[0])

    def _reference(self, n: int) -> str:
        """An entry as station:local, which stays true when records are brought together."""
        row = self.db.execute(
            "SELECT s.key, e.local FROM entry e JOIN station s ON s.id = e.station WHERE e.n = ?",
            (n,),
        ).fetchone()
        if row is None:
            raise Refusal(f"There is no entry {n} to correct: nothing was kept.")
        return f"{row[0]}:{row[1]}"


def _as_read_back(kind: str, detail: Detail) -> tuple[int, str]:
    """Details are hashed in a fixed order: by table as `chain` lists them, then by name."""
    name = ""
    match detail:
        case Mort():
            name = detail.cause
        case Part():
            name = detail.input
        case SaidBack():
            name = detail.question
        case HandoverGist():
            name = detail.section
        case Poured():
            name = detail.batch
        case Counted():
            name = detail.what
        case Series():
            name = f"{detail.nth:09}"
    return chain.DETAIL_TABLES[kind].index(TABLE[type(detail)]), name


def _plainly(r: Reading) -> bool:
    """Whether what was typed is just the value as the record writes it.

    The value must be what was typed exactly: the tenth digit of a half is rounded one way by
    Python and another by SQLite.
    """
    if r.value is None or not math.isfinite(r.value):
        return False
    return r.typed == number_text(r.value + 0.0) and float(r.typed) == r.value
