"""The check of a record: file, guards and every digest; damage named by its first entry."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

from tankwalk.errors import Refusal
from tankwalk.ledger import backup, chain, proof, schema, shape, sqlite_errors
from tankwalk.rows import NamedTuple


class Inspection(NamedTuple):
    """Whether the record is sound, and what to tell."""

    sound: bool
    sentences: tuple[str, ...]
    seal: str = ""
    """The seal of the record as it stands; "" where it cannot be read."""


def inspect(
    path: Path,
    progress: Callable[[float], None] | None = None,
    *,
    seals: Path | None = None,
    printed: str | None = None,
) -> Inspection:
    """Check the record without changing it, but for guards and views: those are set again.

    `seals` is the file with what this laptop knows of it, `printed` a seal from a printed page: the
    record is held against both.

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
            return _inspect(db, path, progress, seals, printed)
        except sqlite_errors.FAULTS as fault:
            if not sqlite_errors.damages(fault):
                raise
            words = " ".join(str(fault).split())
            what = f"damaged, and cannot be read whole ({words[:200]})."
            return Inspection(False, (what, backup.way_back(path)))
        finally:
            db.close()


def _inspect(
    db: sqlite3.Connection,
    path: Path,
    progress: Callable[[float], None] | None,
    seals: Path | None,
    printed: str | None,
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
    if not shape.went_through(db):
        sentences.append(
            f"its version was altered: it says {version}, and went through other steps than that."
        )
    if seals is not None:
        sentences += proof.of_laptop(db, seals, path)
    printed_holds, of_printed = (True, "") if printed is None else proof.of_printed(db, printed)
    if not printed_holds:
        sentences.append(of_printed)
    wrong = shape.differences(db)
    beyond = any(one.type == "table" and not one.harmless for one in wrong)
    if sentences or beyond:
        sentences.append(backup.way_back(path))
    lost = 0
    if version == schema.VERSION and not beyond:  # an older one is mended when it is opened
        lost = db.execute(f"SELECT count(*) FROM ({schema.NOT_CARRIED})").fetchone()[0]
    if lost:
        sentences.append(
            f"{lost} of the open follow-ups were out of the list of what is carried over: "
            "someone took them out. They have been put back."
        )
    sentences += shape.told(wrong)
    if version == schema.VERSION and not beyond and (lost or any(one.mended for one in wrong)):
        shape.mend(db, wrong)
    more = [words for words in (of_printed if printed_holds else "", shape.own(wrong)) if words]
    if version == schema.VERSION and not beyond and (left := _left_over(db)):
        more.append(
            f"it holds {left:,} values of an import that did not end: they count for nothing, and "
            "the next import takes them away."
        )
    if seals is not None and (restored := proof.put_back(proof.kept(seals))):
        more.append(restored)
    last = proof.seal(db)
    if sentences:
        return Inspection(False, (*sentences, *more), last.words)
    sound = f"sound, {last.number} entries, every digest holds."
    return Inspection(True, (sound, *more), last.words)


def _left_over(db: sqlite3.Connection) -> int:
    """Values that were put down and that no import names."""
    from tankwalk.ledger.bundles import left_over

    many = "SELECT count(*) FROM imported WHERE bundle = ?"
    return sum(db.execute(many, (n,)).fetchone()[0] for n in left_over(db))


def _shares(db: sqlite3.Connection, progress: Callable[[float], None]) -> Callable[[int], None]:
    """What tells the share of the entries, given how many of them were seen."""
    newest = db.execute("SELECT max(n) FROM entry").fetchone()[0] or 1
    return lambda seen: progress(min(1.0, seen / newest))
