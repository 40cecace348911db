"""The check of a record: file, guards and every digest; damage named by its first entry."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

from tankwalk.errors import Refusal
from tankwalk.ledger import backup, chain, schema, sqlite_errors
from tankwalk.rows import NamedTuple


class Inspection(NamedTuple):
    """Whether the record is sound, and what to tell."""

    sound: bool
    sentences: tuple[str, ...]


def inspect(path: Path, progress: Callable[[float], None] | None = None) -> Inspection:
    """Check the record without changing it, but for guards that are missing: those are set again.

    `progress` is called with the share of the entries seen, 0 to 1: 0 before SQLite's own check of
    the file, which tells nothing while it runs.

    What is damaged, or cannot be read, is not sound, and the newest copy is named with it. Raises
    Refusal for a file that is missing, made by a newer program, or held by another one.
    """
    if not path.exists():
        raise Refusal(f"There is no record at {path}: nothing was checked. {backup.way_back(path)}")
    with sqlite_errors.told(path):
        db = sqlite3.connect(path, timeout=5, isolation_level=None)
        try:
            return _inspect(db, path, progress)
        except sqlite_errors.FAULTS as fault:
            if not sqlite_errors.damages(fault):
                raise
            words = " ".join(str(fault).split())
            what = f"damaged, and cannot be read whole ({words[:200]})."
            return Inspection(False, (what, backup.way_back(path)))
        finally:
            db.close()


def _inspect(
    db: sqlite3.Connection, path: Path, progress: Callable[[float], None] | None
) -> Inspection:
    if db.execute("PRAGMA application_id").fetchone()[0] != schema.APPLICATION_ID:
        what = "this file is not a tankwalk record, or it is empty."
        return Inspection(False, (what, backup.way_back(path)))
    version = db.execute("PRAGMA user_version").fetchone()[0]
    sqlite_errors.refuse_newer(version, path)
    sentences = []
    if progress:
        progress(0.0)
    whole = db.execute("PRAGMA integrity_check(3)").fetchall()
    if whole != [("ok",)]:
        words = " ".join(whole[0][0].split())
        sentences.append(f"SQLite finds the file damaged: {words}.")
    damage = chain.verify(db, progress and _shares(db, progress))
    if progress:
        progress(1.0)
    if damage is not None:
        sentences.append(damage.sentence)
    if sentences:
        sentences.append(backup.way_back(path))
    lost, missing = 0, set[str]()
    if version == schema.VERSION:  # an older one gets what it has not yet when it is opened
        lost = db.execute(f"SELECT count(*) FROM ({schema.NOT_CARRIED})").fetchone()[0]
        missing = chain.missing_guards(db)
    if lost:
        sentences.append(
            f"{lost} of the open follow-ups were out of the list of what is carried over: "
            "someone took them out. They have been put back."
        )
    if missing:
        sentences.append(
            f"{len(missing)} of the guards that keep it append-only were missing or changed "
            f"(first: {min(missing)}): someone took them away. They have been set again."
        )
    if missing or lost:
        from tankwalk.ledger.migrations import set_guards

        set_guards(db)
    if sentences:
        return Inspection(False, tuple(sentences))
    count = db.execute("SELECT max(n) FROM entry").fetchone()[0] or 0
    return Inspection(True, (f"sound, {count} entries, every digest holds.",))


def _shares(db: sqlite3.Connection, progress: Callable[[float], None]) -> Callable[[int], None]:
    """What tells the share of the entries, given how many of them were seen."""
    newest = db.execute("SELECT max(n) FROM entry").fetchone()[0] or 1
    return lambda seen: progress(min(1.0, seen / newest))
