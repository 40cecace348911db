"""What the questions of every topic share: the connection, what stands, how far to look back."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from typing import Any

from tankwalk.rows import NamedTuple

NO_LIMIT = 1 << 62
"""A limit beyond every entry number and every UTC second."""

OLD_IN_A_ROW = 60
"""So many entries in a row from before the stretch that is asked for end the look back.

One is not enough: a clock that stood wrong for an hour may have put one where it does not belong.
"""

TYPIST = "(SELECT typist FROM transcribed WHERE entry = {n})"
"""SQL for who typed an entry in from paper, NULL where nobody did; `n` is its column."""

WAS = """CASE WHEN e.amends IS NULL THEN NULL ELSE (
  SELECT json_array(o.value, coalesce(o.typed, printf('%.10g', o.value)), o.qualifier, op.code)
  FROM entry oe CROSS JOIN reading o ON o.place = oe.place AND o.item = oe.item
    AND o.observed_at = oe.observed_at AND o.entry = oe.n
  CROSS JOIN place op ON op.id = oe.place WHERE oe.n = e.amends) END"""
"""SQL for the reading that an entry `e` amends, as `ReadAs` and its place; NULL for none."""


class ReadAs(NamedTuple):
    """A value as it was entered; None with a `qualifier` where it was not taken."""

    value: float | None
    typed: str
    qualifier: str | None


class Questions:
    """A topic of questions to an open record; see `reader.Reader` for all of them.

    With `until`, a UTC second, questions that heed it leave out what was seen later.
    """

    def __init__(self, db: sqlite3.Connection, until: int = NO_LIMIT) -> None:
        self.db = db
        self._until = until

    def _then(self, column: str) -> str:
        """SQL that leaves out what was seen later; "" where nothing is left out."""
        return "" if self._until == NO_LIMIT else f" AND {column} <= {self._until:d}"


def list_of(several: Iterable[int | str | tuple[str, ...]]) -> str:
    """Numbers, words or tuples of words for `json_each`: a question about several is put once."""
    from json import dumps

    return dumps(list(several))


def stands(n: str) -> str:
    """SQL that is true of an entry nobody has corrected or taken back; `n` is its column."""
    return f"NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = {n})"


def back_to(rows: Iterable[tuple[Any, ...]], since: int, at: int) -> Iterator[tuple[Any, ...]]:
    """Of rows that come newest entry first, those observed since a UTC second.

    Column `at` is when it was observed, the next how many seconds later it was entered. A record
    grows in the order in which it was entered, so the look back ends early.
    """
    old, after = 0, at + 1
    for row in rows:
        seen = row[at]
        if seen >= since:
            yield row
        # What was seen since then was entered since then as well.
        if seen + row[after] >= since:
            old = 0
            continue
        old += 1
        if old >= OLD_IN_A_ROW:
            return
