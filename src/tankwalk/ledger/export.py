"""The record read whole, or a part of it, for an export: a table after another, some rows at once.

Between two portions nothing is held, so that other programs can write. As the record only grows,
all that was entered up to `Scope.last` is one picture of it nonetheless: what comes later is left
out, corrections too.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tankwalk.ledger import proof
from tankwalk.ledger.export_columns import Table
from tankwalk.ledger.questions import NO_LIMIT
from tankwalk.ledger.schema import KINDS
from tankwalk.ledger.sqlite_errors import told
from tankwalk.rows import NamedTuple

PORTION = 10_000
"""Rows that are read at once: some ten megabytes, and a tenth of a second."""

STRETCH = 200_000
"""Entries that are gone through at once, however few of them are asked for."""

_ABOVE = b"\xff"
"""Above whatever a key can hold: to SQLite bytes come after words."""

CACHE = 64_000
"""KiB of the record that are kept at hand: the newest leaf of every item at every place."""

BASE = (
    "e.n", "e.kind", "e.observed_at", "e.late_s", "e.utc_offset",
)  # fmt: skip
"""What is read of every row before the columns of its table."""


class Scope(NamedTuple):
    """What is exported: entries up to `last`, seen from one UTC second to another, both inside.

    `places` and `items` are codes; none means all.
    """

    last: int
    since: int = 0
    until: int = NO_LIMIT
    places: tuple[str, ...] = ()
    items: tuple[str, ...] = ()

    @property
    def everything(self) -> bool:
        """Whether nothing is left out."""
        return self == Scope(self.last)


class Portion(NamedTuple):
    """Some rows of a table: each what `BASE` says, then its columns as the record has them.

    `amended` gives for an entry the one that corrects it and whether that only takes it back;
    `typists` who typed an entry in from paper; `share` how far through the record this is, 0 to 1.
    """

    rows: list[tuple[Any, ...]]
    amended: dict[int, tuple[int, bool]]
    typists: dict[int, str]
    share: float


class Names(NamedTuple):
    """What the record's numbers stand for."""

    places: dict[int, str]
    items: dict[int, tuple[str, str]]
    """Code and unit."""
    people: dict[int, str]
    meters: dict[int, str]
    bands: dict[int, str]
    """Limits as JSON."""
    workings: dict[int, tuple[str, str, str]]
    """Calculator, equation and facts."""
    laptops: dict[int, str]


class Value(NamedTuple):
    """A value that stands, of one item at one place: for the table of a row a day."""

    at: int
    n: int
    value: float
    text: str | None
    flag: int
    recheck: bool
    """1 or 0."""


class Moved(NamedTuple):
    """Fish in or out of a place, or counted there, as it stands."""

    at: int
    what: str
    fish: int


class Fed(NamedTuple):
    """Feed given at a place, or why none was, as it stands; `meal_at` is that of the planned meal.

    The place is its number, the moments are UTC seconds.
    """

    place: int | None
    at: int
    feed: str
    amount: float
    unit: str
    event: str | None
    meal_at: int | None


class Export:
    """A record that is read for an export."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    def seal(self) -> proof.Seal:
        """The seal of the record as it stands: it names the newest entry."""
        return proof.seal(self._db)

    def names(self) -> Names:
        """Every name the record has a number for."""

        def of(columns: str, table: str) -> dict[int, Any]:
            found = self._db.execute(f"SELECT id, {columns} FROM {table} ORDER BY id")
            return {row[0]: row[1] if len(row) == 2 else row[1:] for row in found}

        return Names(
            of("code", "place"), of("code, unit", "item"), of("initials", "person"),
            of("code", "instrument"), of("limits", "band"),
            of("calculator, equation, facts", "working"), of("name", "station"),
        )  # fmt: skip

    def imported_places(self) -> list[str]:
        """Places of imported series, which need not be among those of entries."""
        return [
            code for (code,) in self._db.execute("SELECT DISTINCT place FROM series ORDER BY place")
        ]

    def portions(self, table: Table, scope: Scope) -> Iterator[Portion]:
        """The rows of a table in order, some at once."""
        order = ", ".join(table.order)
        columns = ", ".join([*BASE, *(one.sql for one in table.columns)])
        chosen, asked = _chosen(table, scope)
        sql = f"""SELECT {columns}, {order} {table.rows}
          WHERE ({order}) > ({", ".join(f":k{n}" for n in range(len(table.order)))})
          AND {table.order[0]} <= :stop {chosen} ORDER BY {order} LIMIT :most"""
        # Below whatever a key can hold: numbers before words, and the entry begins at 1.
        after: Sequence[Any] = (0,) * len(table.order)
        width = len(BASE) + len(table.columns)
        while True:
            stop = min(after[0] + STRETCH, scope.last)
            keys = {f"k{n}": value for n, value in enumerate(after)}
            rows = self._db.execute(
                sql, {**asked, **keys, "stop": stop, "most": PORTION}
            ).fetchall()
            if rows:
                first, last = rows[0][0], rows[-1][0]
                amended = self._amended(first, last, scope.last)
                yield Portion(rows, amended, self._typists(first, last), last / scope.last)
            if len(rows) == PORTION:
                after = rows[-1][width:]
            elif stop < scope.last:
                after = stop, *[_ABOVE] * (len(table.order) - 1)
            else:
                return

    def _amended(self, first: int, last: int, newest: int) -> dict[int, tuple[int, bool]]:
        """What corrects or takes back entries of a stretch, the newest of several."""
        sql = """SELECT amends, n, kind FROM entry INDEXED BY amended
          WHERE amends BETWEEN ? AND ? AND n <= ? ORDER BY amends, n"""
        found = self._db.execute(sql, (first, last, newest))
        return {amends: (n, kind == KINDS["void"]) for amends, n, kind in found}

    def _typists(self, first: int, last: int) -> dict[int, str]:
        sql = "SELECT entry, typist FROM transcribed WHERE entry BETWEEN ? AND ?"
        return dict(self._db.execute(sql, (first, last)))

    def suspect(self, newest: int) -> set[int]:
        """Readings whose meter failed its check, and what was worked out from such."""
        sql = f"""
          WITH RECURSIVE bad (n) AS (
            SELECT r.entry FROM suspect s CROSS JOIN entry e ON e.n = s.entry
            CROSS JOIN instrument m ON m.code = s.instrument CROSS JOIN place p
            CROSS JOIN reading r ON r.place = p.id AND r.item = e.item
              AND r.observed_at BETWEEN s.since_at AND s.until_at
            WHERE r.instrument = m.id AND s.entry <= {newest:d}
            AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = s.entry AND a.n <= {newest:d})
            UNION SELECT p.entry FROM bad CROSS JOIN part p INDEXED BY part_of ON p.of = bad.n)
          SELECT n FROM bad"""
        return {n for (n,) in self._db.execute(sql)}

    def plan_texts(self, scope: Scope) -> Iterator[tuple[int, str]]:
        """Every plan that was in force, by its entry, one at a time."""
        numbers = self._db.execute("SELECT entry FROM plan_version WHERE entry <= ?", (scope.last,))
        for (n,) in numbers.fetchall():
            row = self._db.execute("SELECT text FROM plan_version WHERE entry = ?", (n,)).fetchone()
            yield n, str(row[0])

    def values(self, place: int, item: int, scope: Scope) -> list[Value]:
        """All values of one item at one place that stand, oldest first; both by their numbers."""
        sql = f"""
          SELECT r.observed_at, r.entry, r.value, r.typed, r.flag, r.recheck FROM reading r
          WHERE r.place = :place AND r.item = :item AND (r.observed_at, r.entry) > (:at, :n)
          AND r.observed_at <= :until AND r.entry <= :last AND r.value IS NOT NULL
          AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = r.entry AND a.n <= :last)
          ORDER BY r.observed_at, r.entry LIMIT {PORTION}"""
        asked = {"place": place, "item": item, "until": scope.until, "last": scope.last}
        found: list[Value] = []
        after = scope.since, -1
        while True:
            rows = self._db.execute(sql, {**asked, "at": after[0], "n": after[1]}).fetchall()
            found += map(Value._make, rows)
            if len(rows) < PORTION:
                return found
            after = rows[-1][:2]

    def rounds(self, entries: Sequence[int]) -> list[int | None]:
        """The round of each of these entries, None outside any."""
        sql = "SELECT round FROM entry WHERE n = ?"
        return [self._db.execute(sql, (n,)).fetchone()[0] for n in entries]

    def moved(self, place: int, scope: Scope) -> list[Moved]:
        """All movements of one place that stand, oldest first."""
        sql = f"""
          SELECT e.observed_at, d.what, d.fish FROM entry e INDEXED BY moved
          CROSS JOIN movement d ON d.entry = e.n
          WHERE e.kind = {KINDS["movement"]} AND e.place = :place AND e.n <= :last
          AND e.observed_at BETWEEN :since AND :until
          AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.n AND a.n <= :last)
          ORDER BY e.observed_at, e.n"""
        asked = {"place": place, "last": scope.last, "since": scope.since, "until": scope.until}
        return [Moved._make(row) for row in self._db.execute(sql, asked)]

    def feeds(self, scope: Scope) -> list[tuple[str, str]]:
        """Feeds that were ever given, each with the unit of its amounts."""
        sql = """SELECT DISTINCT feed, unit FROM meal
          WHERE entry <= ? AND amount > 0 AND event IS NULL ORDER BY feed, unit"""
        return self._db.execute(sql, (scope.last,)).fetchall()

    def fed(self, scope: Scope) -> Iterator[Fed]:
        """All feed that stands, in the order in which it was entered, some rows at once."""
        sql = f"""
          SELECT e.n, e.place, e.observed_at, d.feed, d.amount, d.unit, d.event, s.meal_at
          FROM meal d CROSS JOIN entry e ON e.n = d.entry LEFT JOIN served s ON s.entry = d.entry
          WHERE d.entry > :after AND d.entry <= :last
          AND e.observed_at BETWEEN :since AND :until
          AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = d.entry AND a.n <= :last)
          ORDER BY d.entry LIMIT {PORTION}"""
        asked = {"after": 0, "last": scope.last, "since": scope.since, "until": scope.until}
        while rows := self._db.execute(sql, asked).fetchall():
            yield from (Fed(*row[1:]) for row in rows)
            asked["after"] = rows[-1][0]


def _chosen(table: Table, scope: Scope) -> tuple[str, dict[str, Any]]:
    """SQL for the part of a table that is asked for, and what it is asked with."""
    said = ""
    if scope.since or scope.until != NO_LIMIT:
        said += f" AND {table.at} BETWEEN :since AND :until"
    if scope.places:
        said += f" AND {table.place} IN (SELECT value FROM json_each(:places))"
    if scope.items:
        said += f" AND {table.item} IN (SELECT value FROM json_each(:items))"
    return said, {
        "since": scope.since, "until": scope.until,
        "places": json.dumps(scope.places), "items": json.dumps(scope.items),
    }  # fmt: skip


@contextmanager
def opened(path: Path) -> Iterator[Export]:
    """The record at a path, to be read beside whoever has it open; faults in one sentence."""
    with told(path):
        db = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, timeout=30)
        try:
            db.execute(f"PRAGMA cache_size = -{CACHE}")
            yield Export(db)
        finally:
            db.close()
