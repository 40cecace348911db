"""Values put into the record some at a time, which stand all at once when an entry names them.

A transaction holds the record for as long as it lasts, and half a million rows last seconds. So
the values of a file lie in bundles that nothing reads: each portion is a transaction of its own,
and others write between two of them. The entry that ends the import names its bundles; before it
none of them is there for anybody, and after it all are. What an import that did not end left
behind belongs to nothing: the next one takes it away.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import islice
from pathlib import Path

from tankwalk.errors import Refusal
from tankwalk.ledger import turns
from tankwalk.ledger.store import Ledger
from tankwalk.rows import NamedTuple

PORTION = 10_000
"""Values that are put down, or taken away, in one transaction: some tenth of a second."""

SUFFIX = "-import"

Value = tuple[int, float, int, int, str | None]
"""UTC second, value, below (0 or 1), line of the file, the cell."""

_NUMBERS = """
WITH RECURSIVE there (id) AS (
  SELECT min(bundle) FROM imported
  UNION ALL
  SELECT (SELECT min(bundle) FROM imported WHERE bundle > there.id) FROM there
  WHERE there.id IS NOT NULL)
SELECT id FROM there
WHERE id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM bundle b WHERE b.id = there.id)
"""
"""Bundles that no entry names, by one seek each rather than by a walk through their values."""


class Bundle(NamedTuple):
    """Values of one series that lie in the record: their number, and how many they are."""

    id: int
    values: int


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """No other program puts values down inside; what one left that did not end is taken for gone.

    It is held by a lock that ends with its process, on a file that lies there only meanwhile.

    Raises:
        Refusal: another import is under way.
    """
    file = path.with_name(path.name + SUFFIX)
    lock = sqlite3.connect(file, timeout=0, isolation_level=None)
    try:
        try:
            lock.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as fault:
            if not turns.held(fault):
                raise
            raise Refusal(
                "Another file is being imported: nothing was kept. Wait until it is done, then "
                "say it again."
            ) from fault
        try:
            yield
        finally:
            with suppress(OSError):  # where an open file cannot be taken away it stays, empty
                file.unlink()
    finally:
        lock.close()


def left_over(db: sqlite3.Connection) -> list[int]:
    """Bundles that no entry names: an import puts them down just now, or did not end."""
    return [n for (n,) in db.execute(_NUMBERS)]


def sweep(ledger: Ledger) -> None:
    """Take away what no entry names, a portion at a time. Only inside `alone`."""
    gone = (
        "DELETE FROM imported WHERE bundle = ?1 AND at <= (SELECT max(at) FROM "
        "(SELECT at FROM imported WHERE bundle = ?1 ORDER BY at LIMIT ?2))"
    )
    for n in turns.patiently(ledger.db, ledger.path, lambda: left_over(ledger.db)):
        while True:
            with ledger.writing():
                if ledger.db.execute(gone, (n, PORTION)).rowcount < PORTION:
                    break


def put(ledger: Ledger, values: Iterable[Value]) -> Bundle:
    """Put the values of one series down in a bundle of its own. Only inside `alone`."""
    db, left, many, n = ledger.db, iter(values), 0, 0
    while rows := list(islice(left, PORTION)):
        with ledger.writing():
            if not n:
                newest = "SELECT max(coalesce((SELECT max(bundle) FROM imported), 0), "
                newest += "coalesce((SELECT max(id) FROM bundle), 0))"
                n = 1 + db.execute(newest).fetchone()[0]
            db.executemany(
                "INSERT INTO imported (bundle, at, value, below, line, typed) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                ((n, *row) for row in rows),
            )
        many += len(rows)
    return Bundle(n, many)


def name(db: sqlite3.Connection, entry: int, bundles: Sequence[Bundle]) -> None:
    """From here on the values stand: an entry names its bundles, one each for its series in order.

    Raises:
        Refusal: they are not all there.
    """
    for nth, one in enumerate(bundles, 1):
        there = "SELECT count(*) FROM imported WHERE bundle = ?"
        if db.execute(there, (one.id,)).fetchone()[0] != one.values:
            raise Refusal(
                "What was put down of this file was taken away by another program: nothing was "
                "kept. Say it again."
            )
        db.execute("INSERT INTO bundle (id, entry, nth) VALUES (?, ?, ?)", (one.id, entry, nth))
