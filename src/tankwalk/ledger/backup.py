"""A checked copy of the record: written aside, checked, then given its name."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

from tankwalk.errors import Refusal


def backup(db: sqlite3.Connection, target: Path) -> None:
    """Copy the record to `target`; Refusal when it is there already or the copy is not sound."""
    part = target.parent / (target.name + ".partial")
    try:
        if target.exists():
            raise Refusal(f"{target} is there already: nothing was written. Give another name.")
        part.unlink(missing_ok=True)
        _write(db, part)
        part.replace(target)
    except OSError as fault:
        raise Refusal(
            f"{target} cannot be written ({fault.strerror}): the record itself is unchanged. "
            "Give another name."
        ) from fault


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
