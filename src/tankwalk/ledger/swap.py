"""A record put in the place of another: what only the old one holds, and the change of names."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from tankwalk.clock import Instant
from tankwalk.ledger import proof
from tankwalk.ledger.proof import Held, Seal
from tankwalk.paths import sync_folder
from tankwalk.rows import NamedTuple


class Ahead(NamedTuple):
    """Entries that a record holds and a copy of it does not: first and last, and their times."""

    first: int
    last: int
    since: Instant
    until: Instant

    @property
    def many(self) -> int:
        return self.last - self.first + 1


class Other(NamedTuple):
    """That a record is no later state of a copy: it was written apart from it."""

    entries: int


def ahead(record: Path, copy: Path) -> Ahead | Other | None:
    """What a record holds beyond a copy; None where it holds no more, or cannot be read."""
    try:
        with closing(_reading(record)) as old, closing(_reading(copy)) as new:
            copied, last = proof.seal(new), proof.seal(old)
            if proof.held(old, copied.number, proof.short(copied.digest)) is not Held.HOLDS:
                return Other(last.number) if last.number >= copied.number else None
            if last.number == copied.number:
                return None
            moments = [
                Instant(*old.execute(_MOMENT, (n,)).fetchone())
                for n in (copied.number + 1, last.number)
            ]
    except (OSError, sqlite3.Error, TypeError, ValueError):
        return None
    return Ahead(copied.number + 1, last.number, *moments)


_MOMENT = "SELECT observed_at + late_s, utc_offset FROM entry WHERE n = ?"


def seal_of(path: Path) -> Seal:
    """The seal of a record that is not open; sqlite3.Error where it cannot be read."""
    with closing(_reading(path)) as db:
        return proof.seal(db)


def holds(path: Path, words: str) -> bool:
    """Whether a record holds the entry that a seal names."""
    with closing(_reading(path)) as db:
        return proof.held(db, *proof.typed(words)) is Held.HOLDS


def _reading(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)


def put(new: Path, record: Path, aside: Path) -> bool:
    """Put a file in the place of a record; what was there is kept as `aside`. True if any was.

    At every moment a whole record lies in the place, old or new, but where a journal lies beside
    the old one: it belongs to the old one and would be played into the new.
    """
    journal = record.with_name(record.name + "-journal")
    there = record.exists()
    if there and journal.exists():
        record.replace(aside)
        journal.replace(aside.with_name(aside.name + "-journal"))
    elif there:
        try:
            os.link(record, aside)
        except OSError:  # a disk without links
            record.replace(aside)
    elif journal.exists():
        journal.replace(aside.with_name(aside.name + "-journal"))
    new.replace(record)
    sync_folder(record.parent)
    return there
