"""What is hashed of values that were imported: each series by itself, in order of time.

A file may bring half a million values; the chain covers one digest of each of its series, and the
check goes through the values once.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from itertools import groupby, islice
from operator import itemgetter
from typing import Any, TypeVar

from tankwalk.figures import number_text

_VALUES = """
SELECT b.entry, b.nth, i.at, i.value, i.below, i.line, i.typed
FROM bundle b CROSS JOIN imported i ON i.bundle = b.id ORDER BY b.entry, b.nth, i.at
"""
_OLDER = "SELECT entry, nth, at, value, below, line, typed FROM imported ORDER BY entry, nth, at"
"""Of version 9, whose values lie at their entry."""

_NAMELESS = """
SELECT b.entry FROM bundle b LEFT JOIN series s ON s.entry = b.entry AND s.nth = b.nth
WHERE s.entry IS NULL ORDER BY b.entry LIMIT 1
"""
"""What only another hand adds."""

_SERIES = "SELECT entry, nth, kept, first_at, last_at, digest FROM series ORDER BY entry, nth"

R = TypeVar("R", bound=tuple[Any, ...])

_TOGETHER = 2000
"""Rows whose bytes are put together before they are hashed."""


class SeriesSum:
    """The sum over rows of a series, given in order of time: (at, value, below, line, typed)."""

    def __init__(self) -> None:
        from hashlib import sha256

        self._sum = sha256()
        self.kept = 0
        self.first_at = self.last_at = 0

    def add(self, rows: Iterable[tuple[Any, ...]]) -> None:
        """Take in the next rows."""
        words: list[str] = []
        for at, value, below, line, typed in rows:
            self.first_at = self.first_at if self.kept else at
            self.kept += 1
            self.last_at = at
            if typed is None:
                typed = number_text(value) if isinstance(value, float) else ""
            words.append(f"{at} {value!r} {below} {line} {typed}\n")
            if len(words) == _TOGETHER:
                self._take(words)
        self._take(words)

    def through(self, rows: Iterable[R]) -> Iterator[R]:
        """The rows as they are, each taken in."""
        left = iter(rows)
        while some := list(islice(left, _TOGETHER)):
            self.add(some)
            yield from some

    def _take(self, words: list[str]) -> None:
        self._sum.update("".join(words).encode("utf-8", "surrogatepass"))
        words.clear()

    @property
    def digest(self) -> str:
        """The sum so far, in hexadecimal digits."""
        return self._sum.hexdigest()


def altered(db: sqlite3.Connection, bundled: bool) -> int | None:
    """The first entry whose imported values are not those that it kept; None where all are.

    `bundled`: the values lie in bundles, as from version 10 on.
    """
    if bundled and (found := db.execute(_NAMELESS).fetchone()) is not None:
        return int(found[0])
    series = db.execute(_SERIES)
    due = series.fetchone()
    for key, rows in groupby(db.execute(_VALUES if bundled else _OLDER), itemgetter(0, 1)):
        while due is not None and due[:2] < key:  # it has no values
            if due[2:] != _found(SeriesSum()):
                return int(due[0])
            due = series.fetchone()
        if due is None or due[:2] != key:
            return int(key[0])
        whole = SeriesSum()
        whole.add(row[2:] for row in rows)
        if due[2:] != _found(whole):
            return int(due[0])
        due = series.fetchone()
    while due is not None:
        if due[2:] != _found(SeriesSum()):
            return int(due[0])
        due = series.fetchone()
    return None


def _found(one: SeriesSum) -> tuple[object, ...]:
    return one.kept, one.first_at, one.last_at, one.digest
