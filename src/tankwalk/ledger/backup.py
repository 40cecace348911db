"""A checked copy of the record, written aside and checked; and where the copies lie."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger import schema
from tankwalk.paths import sync_folder
from tankwalk.rows import NamedTuple

KNOWN = "copies.txt"
"""Beside the record: where copies were written to, a path a line, newest last."""


class Copy(NamedTuple):
    """A copy of a record: where it lies, and how far it goes."""

    path: Path
    entries: int
    last: Instant | None
    """When its newest entry was recorded; None where it holds none."""


def backup(db: sqlite3.Connection, target: Path) -> None:
    """Copy the record to `target`; Refusal when it is there already or the copy is not sound."""
    part = target.parent / (target.name + ".partial")
    try:
        if target.exists():
            raise Refusal(f"{target} is there already: nothing was written. Give another name.")
        part.unlink(missing_ok=True)
        _write(db, part)
        part.replace(target)
        sync_folder(target.parent)
    except OSError as fault:
        raise Refusal(
            f"{target} cannot be written ({fault.strerror}): the record itself is unchanged. "
            "Give another name."
        ) from fault
    _remember(db, target)


def _write(db: sqlite3.Connection, part: Path) -> None:
    try:
        db.execute("VACUUM INTO ?", (str(part),))
        copy = sqlite3.connect(part)
        try:
            sound = copy.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        finally:
            copy.close()
    except sqlite3.Error as fault:
        part.unlink(missing_ok=True)
        raise Refusal(
            f"The copy could not be made ({fault}); the record itself is unchanged."
        ) from fault
    if not sound:
        part.unlink(missing_ok=True)
        raise Refusal("The copy was not sound and was thrown away; the record is unchanged.")
    with part.open("rb") as handle:
        os.fsync(handle.fileno())


def _remember(db: sqlite3.Connection, target: Path) -> None:
    """Note beside the record where this copy lies; not being able to is no fault of the copy."""
    record = Path(db.execute("PRAGMA database_list").fetchone()[2])
    try:
        with (record.parent / KNOWN).open("a", encoding="utf-8") as known:
            known.write(f"{target.resolve()}\n")
    except OSError:
        pass


# ---- where copies lie


def newest_copy(record: Path) -> Copy | None:
    """The copy that goes furthest, of those beside the record and those it was copied to.

    None where there is none that can be read now: it may lie on a drive that is not there.
    """
    found = [copy for path in _candidates(record) if (copy := _looked_at(path)) is not None]
    return max(found, key=lambda copy: copy.entries, default=None)


def way_back(record: Path) -> str:
    """How one goes back to the newest copy by hand, in one sentence."""
    copy = newest_copy(record)
    if copy is None:
        return (
            f"No backup is known that can be read now: look where tankwalk backup wrote one, and "
            f"copy it to {record}."
        )
    last = f" to {copy.last.iso()}" if copy.last is not None else ""
    return (
        f"The newest backup known is {copy.path} ({copy.entries} entries,{last}): "
        f"{_put_aside(record)}copy it to {record}, then check it with tankwalk check."
    )


def _put_aside(record: Path) -> str:
    """What has to leave its place first: an old journal would be played into the copy."""
    journal = record.with_name(record.name + "-journal")
    there = [path.name for path in (record, journal) if path.exists()]
    return f"rename {' and '.join(there)} to keep what is there, " if there else ""


def _candidates(record: Path) -> Iterator[Path]:
    try:
        known = (record.parent / KNOWN).read_text("utf-8", errors="replace").splitlines()
    except OSError:
        known = []
    beside = [*record.parent.glob("*.sqlite"), *(record.parent / "backups").glob("*.sqlite")]
    for path in dict.fromkeys([*map(Path, filter(None, known)), *beside]):
        if path.name != record.name or path.parent != record.parent:
            yield path


def _looked_at(path: Path) -> Copy | None:
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
