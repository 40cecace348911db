"""What the program shows of a site that a crash left behind: opened as anybody would open it."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from hashlib import blake2b
from pathlib import Path

from ledger_support import OFFICE, rows
from power_cut import Files, Parts, lay
from tankwalk.errors import Refusal
from tankwalk.ledger import proof
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.store import FILE, Ledger

PASSING = (".partial", ".restoring", "-journal", "-turns", "-import")
"""Ends of names of what is still being made: nobody looks at it, and nothing is promised of it."""

HINTS = ("copies.txt", ".made-by-tankwalk")
"""Files that only say where to look, or who was at work; nothing is lost with one."""


MADE_ANEW = ("plans", "words", "seals")
"""Folders of the laptop's own: kept for speed; the seals are held against the record."""


AS_SEEN = "as this laptop saw it"


def digest(words: str) -> str:
    """A short name for long content."""
    return blake2b(words.encode("utf-8", "surrogatepass"), digest_size=8).hexdigest()


def record(path: Path, known: dict[bytes, str]) -> str:
    """All that a sound record holds, by every row of every table; else what is wrong with it.

    It is opened as the program opens it, which plays back what a cut left half; then it is checked
    as `tankwalk check` does. Of the same file that is `known`.
    """
    try:
        Ledger.open(path, OFFICE, older=lambda _: None).close()
        key = blake2b(path.read_bytes()).digest()
        if key not in known:
            known[key] = _checked(path)
    except Refusal as refusal:
        return f"refused: {refusal}"
    return known[key]


def _checked(path: Path) -> str:
    with closing(sqlite3.connect(path)) as db:
        every = rows(db)
        stand = {n for (n,) in db.execute("SELECT id FROM bundle")}
    # What was put down of an import that did not end stands nowhere, and the next takes it away.
    every["imported"] = [one for one in every["imported"] if one[0] in stand]
    found = inspect(path)
    if not found.sound:
        return f"not sound: {found.sentences}"
    return f"{len(every['entry'])} entries {digest(repr(every))}"


def seals(path: Path, file: Path) -> str:
    """What the laptop's own seals say against the record."""
    with closing(sqlite3.connect(path)) as db:
        wrong = proof.against(db, proof.kept(file))
    return "not what this laptop saw" if wrong else AS_SEEN


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


def site(scratch: Path, place: str = "site", home: str = "home") -> Callable[[Files], Parts]:
    """What looks at trees with a site and a laptop's own folder: record, plan, copies, others."""

    known: dict[bytes, str] = {}

    def seen(files: Files) -> Parts:
        with tempfile.TemporaryDirectory(dir=scratch) as name:
            folder = Path(name)
            lay(files, folder)
            parts = {}
            for file in files:  # before the record is opened, which may make more of them
                path = folder / file
                if path.name in HINTS or path == folder / place / FILE:
                    continue
                if any(part.endswith(PASSING) for part in path.parts):
                    continue
                if file.startswith(tuple(f"{home}/{one}/" for one in MADE_ANEW)):
                    continue
                if path.suffix == ".sqlite":
                    parts[file] = copied(path)
                else:
                    parts[file] = digest(repr(files[file]))
            if (folder / place / FILE).exists():
                parts["record"] = record(folder / place / FILE, known).replace(name, "")
                parts["seals"] = AS_SEEN  # also where it knows of none
                for one in (folder / home / "seals").glob("*.txt"):
                    parts["seals"] = seals(folder / place / FILE, one)
            return parts

    return seen
