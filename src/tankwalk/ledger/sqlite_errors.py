"""SQLite's faults as one sentence each: what happened, what was kept, what to do."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial, wraps
from pathlib import Path
from typing import TYPE_CHECKING, Concatenate, ParamSpec, TypeVar

from tankwalk.errors import Refusal
from tankwalk.ledger import schema, turns
from tankwalk.ledger.picture import once

if TYPE_CHECKING:
    from tankwalk.ledger.questions import Questions

Q = TypeVar("Q", bound="Questions")
P = ParamSpec("P")
R = TypeVar("R")

_SENTENCES = {
    sqlite3.SQLITE_FULL: "The disk is full: this was not kept, all before it is. "
    "Free some space, then enter it again.",
    sqlite3.SQLITE_READONLY: "The record in {path} cannot be written: nothing was kept. "
    "Make the folder writable, or copy the site to one that is.",
    sqlite3.SQLITE_BUSY: "Another program holds the record: this was not kept. "
    "Wait a moment, then enter it again.",
    sqlite3.SQLITE_IOERR: "The disk did not take it: this was not kept, all before it is. "
    "Check the drive, then enter it again.",
    sqlite3.SQLITE_CORRUPT: "The record {path} is damaged: nothing more was kept. "
    "tankwalk check names what is damaged and the newest backup.",
    sqlite3.SQLITE_NOTADB: "{path} is not a tankwalk record: nothing was changed. "
    "Look for the right file, or go back to a backup: tankwalk check names the newest.",
    sqlite3.SQLITE_CANTOPEN: "The record {path} cannot be opened: nothing was changed. "
    "Check that the folder is there and may be written.",
}


def moved(path: Path) -> str:
    """What is said where the record's file is no longer the one that was opened."""
    from tankwalk.ledger.backup import way_back

    return (
        f"The record {path} was deleted, moved or replaced while it was open: nothing more is "
        f"kept. All before that is in the file that was there: put it back. {way_back(path)}"
    )


FAULTS = (sqlite3.Error, UnicodeDecodeError)
"""What SQLite raises; the second where its words about a damaged file are themselves damaged."""


def damages(fault: Exception) -> bool:
    """Whether a fault says that the file itself is damaged, or is no record."""
    code = getattr(fault, "sqlite_errorcode", 0)
    broken = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
    return isinstance(fault, UnicodeDecodeError) or (code or 0) & 0xFF in broken


def sentence(fault: Exception, path: Path) -> str:
    """The sentence for a fault; an unknown one keeps SQLite's own words."""
    code = getattr(fault, "sqlite_errorcode", None)
    if isinstance(fault, UnicodeDecodeError):
        code = sqlite3.SQLITE_CORRUPT
    if code == sqlite3.SQLITE_READONLY_DBMOVED:
        return moved(path)
    known = _SENTENCES.get(code & 0xFF) if isinstance(code, int) else None
    if known:
        return known.format(path=path)
    return f"The record refused this ({fault}): nothing was kept, all before it is."


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn any SQLite fault inside into a Refusal with its sentence."""
    try:
        yield
    except FAULTS as fault:
        raise Refusal(sentence(fault, path)) from fault


def reads_record(
    question: Callable[Concatenate[Q, P], R],
) -> Callable[Concatenate[Q, P], R]:
    """A question to an open record whose SQLite faults become a Refusal with its sentence.

    In one picture of the record (`Ledger.reading`) it is asked once.
    """

    @wraps(question)
    def safely(topic: Q, /, *args: P.args, **named: P.kwargs) -> R:
        try:
            said = (*args, *named.items())
            ask = partial(once, topic.db, question, said, lambda: question(topic, *args, **named))
            try:
                return ask()
            except sqlite3.OperationalError as fault:
                if not turns.held(fault):
                    raise
            return turns.patiently(topic.db, _path(topic.db), ask)
        except FAULTS as fault:
            raise Refusal(sentence(fault, _path(topic.db))) from fault

    return safely


def _path(db: sqlite3.Connection) -> Path:
    return Path(db.execute("PRAGMA database_list").fetchone()[2])


def refuse_newer(version: int, path: Path) -> None:
    """Refusal for a record whose tables a later program made."""
    if version > schema.VERSION:
        raise Refusal(
            f"The record {path} was made by a newer tankwalk (version {version}, this one knows "
            f"{schema.VERSION}): nothing was changed. Install the newer program."
        )
