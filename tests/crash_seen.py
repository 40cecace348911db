"""What the program shows of a site that a crash left behind: opened as anybody would open it."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from hashlib import blake2b
from pathlib import Path

from ledger_support import OFFICE, rows, unguarded
from power_cut import Files, Parts, lay
from tankwalk.errors import Refusal
from tankwalk.ledger import chain, schema
from tankwalk.ledger.store import FILE, Ledger

PASSING = (".partial", "-journal", "-turns")
"""Ends of names of what is still being made: nobody looks at it, and nothing is promised of it."""

HINTS = ("copies.txt",)
"""Files that only say where to look; without them one looks in more places."""


def digest(words: str) -> str:
    """A short name for long content."""
    return blake2b(words.encode("utf-8", "surrogatepass"), digest_size=8).hexdigest()


def record(path: Path) -> str:
    """All that an open record holds, or in words what is wrong with it."""
    try:
        with Ledger.open(path, OFFICE) as ledger:
            ledger.db.execute("PRAGMA synchronous = OFF")
            return held(ledger.db)
    except Refusal as refusal:
        return f"refused: {refusal}"


def held(db: sqlite3.Connection) -> str:
    """What a sound record holds, by every row of every table; else what is wrong."""
    whole = db.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if whole != "ok":
        return f"damaged: {whole}"
    damage = chain.verify(db)
    if damage is not None:
        return f"chain: {damage.sentence}"
    if missing := unguarded(db):
        return f"guards: {missing}"
    lost = db.execute(f"SELECT count(*) FROM ({schema.NOT_CARRIED})").fetchone()[0]
    count = db.execute("SELECT max(n) FROM entry").fetchone()[0] or 0
    return f"{count} entries {digest(repr(rows(db)))}{' not carried' if lost else ''}"


def copied(path: Path) -> str:
    """What a copy under its final name holds; one that does not open whole is half."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        try:
            whole = db.execute("PRAGMA integrity_check(1)").fetchone()[0]
            version = db.execute("PRAGMA user_version").fetchone()[0]
            if whole != "ok" or version == 0:
                return f"damaged copy: {whole}, version {version}"
            entries = db.execute("SELECT n, digest FROM entry ORDER BY n").fetchall()
        except sqlite3.Error as fault:
            return f"damaged copy: {fault}"
    return f"copy of version {version}, {len(entries)} entries {digest(repr(entries))}"


def site(scratch: Path, place: str = "site") -> Callable[[Files], Parts]:
    """What looks at trees with a site in the folder `place`: record, plan, copies, other files."""

    def seen(files: Files) -> Parts:
        with tempfile.TemporaryDirectory(dir=scratch) as name:
            folder = Path(name)
            lay(files, folder)
            parts = {}
            for file in files:  # before the record is opened, which may make more of them
                path = folder / file
                if file.endswith(PASSING) or path.name in HINTS or path == folder / place / FILE:
                    continue
                if path.suffix == ".sqlite":
                    parts[file] = copied(path)
                else:
                    parts[file] = digest(repr(files[file]))
            if (folder / place / FILE).exists():
                parts["record"] = record(folder / place / FILE).replace(name, "")
            return parts

    return seen
