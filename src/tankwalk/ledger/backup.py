"""A checked copy of the record, written aside and checked; and where the copies lie."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger import schema, sqlite_errors
from tankwalk.paths import sync_folder
from tankwalk.rows import NamedTuple

KNOWN = "copies.txt"
"""Beside the record: where copies were written to, a path a line, newest last."""

MOST_TRIES = 200
WAIT_S = 0.05
"""So often, and so many seconds apart, a copy is tried where another program holds the record."""


class Copy(NamedTuple):
    """A copy of a record: where it lies, and how far it goes."""

    path: Path
    entries: int
    last: Instant | None
    """When its newest entry was recorded; None where it holds none."""


def backup(db: sqlite3.Connection, target: Path) -> None:
    """Copy the record to the file `target`; Refusal when it is there already, or is not sound."""
    part = target.parent / (target.name + ".partial")
    try:
        if target.exists():
            raise Refusal(f"{target} is there already: nothing was written. Give another name.")
        part.unlink(missing_ok=True)
        copy(db, part)
        _intact(part)
        part.replace(target)
        sync_folder(target.parent)
    except OSError as fault:
        raise Refusal(
            f"{target} cannot be written ({fault.strerror}): the record itself is unchanged. "
            "Give another name."
        ) from fault
    remember(Path(db.execute("PRAGMA database_list").fetchone()[2]), target)


def copy(db: sqlite3.Connection, part: Path) -> None:
    """Copy the record page by page to a new file, on the disk when this returns.

    Who writes meanwhile waits for a moment: pages are only copied. Whoever asked looks them over.
    """
    tries = iter(range(MOST_TRIES))

    def not_for_ever(status: int, remaining: int, total: int) -> None:
        if remaining and next(tries, None) is None:
            raise sqlite3.OperationalError("another program holds it")

    try:
        with closing(sqlite3.connect(part, isolation_level=None)) as made:
            made.execute("PRAGMA synchronous = OFF")
            db.backup(made, progress=not_for_ever, sleep=WAIT_S)
    except sqlite3.Error as fault:
        part.unlink(missing_ok=True)
        raise Refusal(
            f"The copy could not be made ({fault}); the record itself is unchanged."
        ) from fault
    with part.open("rb+") as handle:
        os.fsync(handle.fileno())


def _intact(part: Path) -> None:
    """Refusal, and no file, where SQLite finds a copy damaged."""
    with suppress(sqlite3.Error), closing(sqlite3.connect(part, isolation_level=None)) as made:
        if made.execute("PRAGMA integrity_check(1)").fetchone()[0] == "ok":
            return
    part.unlink(missing_ok=True)
    raise Refusal(
        "The copy was not sound and was thrown away; the record itself is unchanged. "
        "Run tankwalk check: it names what is damaged and the newest backup."
    )


def remember(record: Path, target: Path) -> None:
    """Note beside the record where this copy lies; not being able to is no fault of the copy."""
    with suppress(OSError), (record.parent / KNOWN).open("a", encoding="utf-8") as known:
        known.write(f"{target.resolve()}\n")


def free(path: Path) -> None:
    """Refusal where another program writes to the record now; nothing where it cannot be read."""
    try:
        with closing(sqlite3.connect(path, timeout=2, isolation_level=None)) as db:
            db.execute("BEGIN EXCLUSIVE")
            db.execute("ROLLBACK")
    except sqlite3.Error as fault:
        if (getattr(fault, "sqlite_errorcode", 0) & 0xFF) == sqlite3.SQLITE_BUSY:
            raise Refusal(sqlite_errors.sentence(fault, path)) from fault


# ---- where copies lie


def newest_copy(record: Path) -> Copy | None:
    """The copy that goes furthest, of those beside the record and those it was copied to.

    None where there is none that can be read now: it may lie on a drive that is not there.
    """
    found = [copy for path in _candidates(record) if (copy := looked_at(path)) is not None]
    return max(found, key=lambda copy: copy.entries, default=None)


def way_back(record: Path) -> str:
    """How one goes back to the newest copy, in one sentence."""
    found = newest_copy(record)
    if found is None:
        return (
            "No backup is known that can be read now: look for one on a stick or another disk, "
            f"and put it back with tankwalk restore FOLDER --to {record.parent}."
        )
    last = f" to {found.last.iso()}" if found.last is not None else ""
    return (
        f"The newest backup known is {found.path} ({found.entries} entries,{last}): "
        f"tankwalk restore {found.path} --to {record.parent} puts it in place, and keeps what is "
        "there."
    )


def _candidates(record: Path) -> Iterator[Path]:
    try:
        known = (record.parent / KNOWN).read_text("utf-8", errors="replace").splitlines()
    except OSError:
        known = []
    beside = [
        *(p for p in record.parent.glob("*.sqlite") if "-aside-" not in p.name),
        *(record.parent / "backups").glob("*.sqlite"),
        *(record.parent / "backups").glob(f"[!.]*/{record.name}"),
    ]
    for path in dict.fromkeys([*map(Path, filter(None, known)), *beside]):
        if (path.name != record.name or path.parent != record.parent) and (
            path.parent.suffix != ".partial"
        ):
            yield path


def looked_at(path: Path) -> Copy | None:
    """How far a copy goes; None for what is no copy of a record, or cannot be read."""
    try:
        if not path.is_file():
            return None
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as db:
            if db.execute("PRAGMA application_id").fetchone()[0] != schema.APPLICATION_ID:
                return None
            row = db.execute(
                "SELECT n, observed_at + late_s, utc_offset FROM entry ORDER BY n DESC LIMIT 1"
            ).fetchone()
    except (OSError, ValueError, sqlite3.Error, UnicodeDecodeError):
        return None
    return Copy(path, row[0], Instant(row[1], row[2])) if row else Copy(path, 0, None)
