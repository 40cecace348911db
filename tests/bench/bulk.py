"""Appends to a record in bulk: what its own append path writes, at several times the speed.

For the bench alone. The guards are down while it fills and are set again at the end, and nothing is
on the disk before that.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger import chain
from tankwalk.ledger.entries import (
    TABLE,
    Counted,
    Derived,
    Detail,
    Entry,
    Fish,
    FollowUp,
    Handover,
    Mort,
    Part,
    Poured,
    Reading,
    SaidBack,
    Sitting,
)
from tankwalk.ledger.migrations import set_guards
from tankwalk.ledger.schema import KINDS, by_name
from tankwalk.ledger.store import FILE, Ledger, Station

AT_ONCE = 100_000
"""Rows that are kept back before they are written."""

ENTRY = (
    "n", "station", "local", "observed_at", "late_s", "utc_offset", "who", "kind", "round",
    "place", "item", "amends", "reason", "digest",
)  # fmt: skip
COLUMNS: dict[str, tuple[str, ...]] = {
    "entry": ENTRY,
    "derived": ("entry", "working"),
    "reading": ("place", "item", "observed_at", "entry", *Reading._fields),
    **{t: ("entry", *d._fields) for d, t in TABLE.items() if d not in (Reading, Derived)},
}


NAMED = (Mort, Part, SaidBack, Poured, Counted)
"""Details of which an entry may have several, told apart by their first field."""


class Act(NamedTuple):
    """One thing somebody entered, before its entry has a number.

    `name` is what later acts call it by; `refers` names what a turn of a follow-up or the taking
    of a handover belongs to, `amends` what is corrected, `parts` what a value was worked out from,
    by input.
    """

    entry: Entry
    details: tuple[Detail, ...] = ()
    name: str = ""
    refers: str = ""
    amends: str = ""
    parts: tuple[tuple[str, str], ...] = ()


def act(
    kind: str, who: str, at: Instant, place: str, *details: Detail, name: str = "",
    refers: str = "", reason: str | None = None, late: int = 0,
) -> Act:  # fmt: skip
    """Something entered at a place, `late` seconds after it was so."""
    entered = Instant(at.utc + late, at.offset)
    return Act(Entry(kind, who, at, entered, place, reason=reason), details, name, refers)


class Bulk:
    """One station's entries, numbered and chained; written when many are together."""

    def __init__(self, db: sqlite3.Connection, station: Station) -> None:
        self.db = db
        self.station = station
        self._n = 0
        self._before = chain.first(station.name)
        self._numbers: dict[tuple[object, ...], int] = {}
        self._rows: dict[str, list[tuple[object, ...]]] = {table: [] for table in COLUMNS}
        self._named: dict[str, tuple[int, Entry]] = {}
        self._here = self._number("station", key=station.key, name=station.name)

    def enter(self, acts: Iterable[Act]) -> None:
        """Put acts into the record in the order in which they were entered."""
        for one in sorted(acts, key=lambda one: one.entry.recorded.utc):
            entry, details = one.entry, one.details
            if one.amends:
                n, old = self._named[one.amends]
                entry = entry._replace(amends=n)
                if entry.kind != "void":  # a correction is of the moment of what it corrects
                    entry = entry._replace(observed=old.observed, round=old.round)
            if one.refers:
                n = self._named[one.refers][0]
                details = tuple(_referring(detail, n) for detail in details)
            if one.parts:
                parts = sorted(one.parts)
                details += tuple(Part(key, self._named[name][0]) for key, name in parts)
            n = self.put(entry, *details)
            if one.name:
                self._named[one.name] = n, entry

    def put(self, entry: Entry, *details: Detail) -> int:
        """One entry with its details, in the order the chain reads them; returns its number."""
        self._n = n = self._n + 1
        at, offset = entry.observed
        late = max(0, entry.recorded.utc - at)
        unit = None if entry.item is None else entry.unit
        amends = None if entry.amends is None else self._reference(entry.amends)
        link = chain.Link(
            self.station.key, n, at, late, offset, entry.who, entry.kind, entry.round, entry.place,
            entry.item, unit, amends, entry.reason,
        )  # fmt: skip
        if len(details) > 1:
            details = _in_order(entry.kind, details)
        said = [chain.said(detail, self._reference) for detail in details]
        self._before = chain.digest(self._before, link, said)
        who = self._number("person", initials=entry.who)
        place = None if entry.place is None else self._number("place", code=entry.place)
        item = None
        if entry.item is not None:
            item = self._number("item", code=entry.item, unit=entry.unit)
        rows = self._rows
        rows["entry"].append(
            (n, self._here, n, at, late, offset, who, KINDS[entry.kind], entry.round, place, item,
             entry.amends, entry.reason, self._before)
        )  # fmt: skip
        for detail in details:
            if isinstance(detail, Reading):
                rows["reading"].append((place, item, at, n, *self._reading(detail)))
            elif isinstance(detail, Derived):
                rows["derived"].append((n, self._number("working", **detail._asdict())))
            else:
                rows[TABLE[type(detail)]].append((n, *detail))
        if len(rows["entry"]) >= AT_ONCE:
            self.flush()
        return n

    def flush(self) -> None:
        """Write what was kept back."""
        for table, rows in self._rows.items():
            if rows:
                names = COLUMNS[table]
                marks = ", ".join("?" * len(names))
                sql = f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})"
                self.db.executemany(sql, rows)
                rows.clear()

    def _reading(self, r: Reading) -> tuple[object, ...]:
        plain = r.value is not None and r.typed == f"{r.value:.10g}" and float(r.typed) == r.value
        return (
            r.value,
            None if plain else r.typed,
            r.typed_unit,
            r.qualifier,
            r.instrument and self._number("instrument", code=r.instrument),
            r.band and self._number("band", limits=r.band),
            int(r.flag),
            int(r.recheck),
        )

    def _number(self, table: str, **names: str) -> int:
        """The number of a name in a dictionary, given on first use."""
        key = (table, *names.values())
        known = self._numbers.get(key)
        if known is None:
            marks = ", ".join("?" * len(names))
            sql = f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})"
            known = self._numbers[key] = int(self.db.execute(sql, key[1:]).lastrowid or 0)
        return known

    def _reference(self, n: int) -> str:
        return f"{self.station.key}:{n}"


def _referring(detail: Detail, n: int) -> Detail:
    if isinstance(detail, FollowUp | Sitting):
        return detail._replace(opened=n)
    if isinstance(detail, Fish):
        return detail._replace(sitting=n)
    return detail._replace(given=n) if isinstance(detail, Handover) else detail


def _in_order(kind: str, details: tuple[Detail, ...]) -> tuple[Detail, ...]:
    """By table as the chain lists them, then by the name that tells rows of one table apart."""
    tables = chain.DETAIL_TABLES[kind]

    def rank(detail: Detail) -> tuple[int, str]:
        name = str(detail[0]) if isinstance(detail, NAMED) else ""
        return tables.index(TABLE[type(detail)]), name

    return tuple(sorted(details, key=rank))


@contextmanager
def filling(folder: Path, station: Station) -> Iterator[Bulk]:
    """A new record to be filled; sound and guarded when this ends."""
    with Ledger.open(folder / FILE, station, create=True) as ledger:
        db = ledger.db
        for name in by_name():
            db.execute(f"DROP TRIGGER {name}")
        db.execute("PRAGMA synchronous = OFF")
        db.execute("PRAGMA journal_mode = OFF")
        db.execute("PRAGMA foreign_keys = OFF")
        db.execute("PRAGMA cache_size = -100000")
        db.execute("BEGIN")
        bulk = Bulk(db, station)
        yield bulk
        bulk.flush()
        db.execute("COMMIT")
        db.execute("PRAGMA journal_mode = DELETE")
        set_guards(db)
