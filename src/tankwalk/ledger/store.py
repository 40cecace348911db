"""The record itself: open it, append to it; nothing else is possible.

The append path is a handful of plain statements; every write is one BEGIN IMMEDIATE transaction
that is on the disk when it returns (rollback journal, synchronous EXTRA).
"""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tankwalk.errors import Refusal
from tankwalk.ledger import chain, faults, schema
from tankwalk.ledger.entries import TABLE, Detail, Entry, Reading, number_text

FILE = "ledger.sqlite"

_INSERT_ENTRY = (
    "INSERT INTO entry (n, station, local, observed_at, late_s, utc_offset, who, kind, round, "
    "place, item, amends, reason, digest) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)
_INSERT_READING = "INSERT INTO reading VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
_INSERT = {
    table: f"INSERT INTO {table} (entry, {', '.join(detail.__slots__)}) "
    f"VALUES (?{', ?' * len(detail.__slots__)})"
    for detail, table in TABLE.items()
    if detail is not Reading
}


@dataclass(frozen=True, slots=True)
class Station:
    """Which laptop writes: a key that no other has, and a name for people."""

    key: str
    name: str


class Ledger:
    """One open record. Not to be shared between threads; two programs may hold it at once."""

    def __init__(self, path: Path, connection: sqlite3.Connection, station: Station) -> None:
        self.path = path
        self.db = connection
        self.station = station
        self._numbers: dict[tuple[str, object], int] = {}
        self._fresh: list[tuple[str, object]] = []
        self._writing = False

    @classmethod
    def open(cls, path: Path, station: Station, *, create: bool = False) -> Ledger:
        """Open the record at `path`, migrating an older one forward after a backup.

        Raises Refusal for: no file, not ours, damaged, made by a newer program, a folder that
        cannot be written when it has to be.
        """
        there = path.exists()
        if not there and not create:
            raise Refusal(f"There is no record at {path}. Start a site with: tankwalk start DIR")
        with faults.told(path):
            if not there:
                _make(path)
            db = sqlite3.connect(path, timeout=5, isolation_level=None)
            try:
                _set_pragmas(db)
                _bring_forward(db, path)
            except BaseException:
                db.close()
                raise
        return cls(path, db, station)

    def close(self) -> None:
        self.db.close()

    def __enter__(self) -> Ledger:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextmanager
    def writing(self) -> Iterator[Ledger]:
        """One transaction: all that is appended inside is kept together, or none of it.

        Inside another `writing` it joins that one. Raises Refusal with what to do when the disk
        or another program refuses; then nothing of it was kept.
        """
        if self._writing:
            yield self
            return
        with faults.told(self.path):
            self.db.execute("BEGIN IMMEDIATE")
            self._writing = True
            try:
                yield self
                self.db.execute("COMMIT")
            except BaseException:
                if self.db.in_transaction:
                    self.db.execute("ROLLBACK")
                for name in self._fresh:
                    self._numbers.pop(name, None)
                raise
            finally:
                self._writing = False
                self._fresh.clear()

    def append(self, entry: Entry, *details: Detail) -> int:
        """Add one entry with its details; on the disk when this returns. Returns its number."""
        with self.writing():
            return self._append(entry, details)

    def _append(self, entry: Entry, details: tuple[Detail, ...]) -> int:
        db = self.db
        station = self._number("station", "key", self.station.key, name=self.station.name)
        last = db.execute("SELECT max(n) FROM entry").fetchone()[0]
        n: int = (last or 0) + 1
        before = db.execute(
            "SELECT local, digest FROM entry WHERE station = ? ORDER BY n DESC LIMIT 1", (station,)
        ).fetchone()
        local, previous = before or (0, chain.FIRST)
        who = self._number("person", "initials", entry.who)
        place = None if entry.place is None else self._number("place", "code", entry.place)
        item = None
        if entry.item is not None:
            item = self._number("item", "code", entry.item, unit=entry.unit)
        late = max(0, entry.recorded.utc - entry.observed.utc)
        link = chain.Link(
            self.station.key,
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
        ordered = sorted(details, key=_mort_order)
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
            else:
                fields = (getattr(detail, name) for name in detail.__slots__)
                db.execute(_INSERT[TABLE[type(detail)]], (n, *fields))
        return n

    def _append_reading(
        self, n: int, observed_at: int, place: int | None, item: int | None, r: Reading
    ) -> None:
        plain = r.value is not None and r.typed == number_text(r.value)
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
                None if plain else r.typed,
                r.typed_unit,
                r.qualifier,
                instrument or None,
                band or None,
                r.flag,
                int(r.recheck),
            ),
        )

    def _number(self, table: str, column: str, value: str, **more: str) -> int:
        """The dictionary number of a name, given once for all on first use."""
        key = (table, (value, *more.values()) if table == "item" else value)
        known = self._numbers.get(key)
        if known is not None:
            return known
        where, values = f"{column} = ?", [value]
        if table == "item":
            where, values = "code = ? AND unit = ?", [value, more["unit"]]
        found = self.db.execute(f"SELECT id FROM {table} WHERE {where}", values).fetchone()
        if found is None:
            columns = ", ".join([column, *more])
            marks = ", ".join("?" * (1 + len(more)))
            cursor = self.db.execute(
                f"INSERT INTO {table} ({columns}) VALUES ({marks})", [value, *more.values()]
            )
            found = (cursor.lastrowid,)
            self._fresh.append(key)
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


def _mort_order(detail: Detail) -> str:
    """Details are hashed in a fixed order: morts by cause, as they are read back."""
    return getattr(detail, "cause", "")


def _set_pragmas(db: sqlite3.Connection) -> None:
    db.execute("PRAGMA foreign_keys = ON")
    db.execute("PRAGMA recursive_triggers = ON")
    db.execute("PRAGMA trusted_schema = OFF")
    db.execute("PRAGMA synchronous = EXTRA")
    if sys.platform == "darwin":
        db.execute("PRAGMA fullfsync = ON")


def _make(path: Path) -> None:
    """A new empty record, under another name until it is whole: a plug may be pulled here too."""
    from tankwalk.ledger import migrations

    part = path.with_name(path.name + ".partial")
    part.unlink(missing_ok=True)
    db = sqlite3.connect(part, isolation_level=None)
    try:
        _set_pragmas(db)
        migrations.apply(db)
    finally:
        db.close()
    part.replace(path)


def _bring_forward(db: sqlite3.Connection, path: Path) -> None:
    """Check whose file this is and which version; migrate it where needed."""
    owner = db.execute("PRAGMA application_id").fetchone()[0]
    version = db.execute("PRAGMA user_version").fetchone()[0]
    if owner != schema.APPLICATION_ID:
        raise Refusal(
            f"{path} is not a tankwalk record (or is empty): nothing was changed. "
            "Look for the right file, or go back to a backup."
        )
    if version > schema.VERSION:
        raise Refusal(
            f"The record {path} was made by a newer tankwalk (version {version}, this one knows "
            f"{schema.VERSION}): nothing was changed. Install the newer program."
        )
    if version == schema.VERSION:
        return
    from tankwalk.ledger import migrations
    from tankwalk.ledger.backup import backup

    backup(db, path.with_name(f"{path.stem}-before-version-{schema.VERSION}.sqlite"))
    migrations.apply(db)
