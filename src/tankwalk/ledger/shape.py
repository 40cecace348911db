"""The shape of a record against the schema: tables, views, indexes and triggers, and mending them.

The digests hold what the rows say; what a view shows, or a trigger does to what is written, no
digest covers. So the file's schema is held against one that the same steps make anew.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing
from enum import Enum

from tankwalk.ledger import schema
from tankwalk.rows import NamedTuple


class Way(Enum):
    """How one part of the schema differs from what it should be."""

    MISSING = "missing"
    CHANGED = "changed"
    ADDED = "added"


class Difference(NamedTuple):
    """A table, view, index or trigger that is not as the schema has it."""

    type: str
    name: str
    way: Way

    @property
    def words(self) -> str:
        return f"the {self.type} {self.name} was {_SAID[self.way]}"

    @property
    def harmless(self) -> bool:
        """Whether it changes nothing of what the record takes or tells: a view of one's own."""
        return self.way is Way.ADDED and self.type in ("view", "table")

    @property
    def mended(self) -> bool:
        """Whether `mend` puts it right; a table that is missing or changed only a backup does."""
        return self.type != "table" and not self.harmless


_SAID = {Way.MISSING: "taken away", Way.CHANGED: "changed", Way.ADDED: "added"}

_STEPS = "_sqlite_migrations"
"""Where the versions that a record went through are kept."""

Parts = dict[tuple[str, str], str]


def differences(db: sqlite3.Connection) -> tuple[Difference, ...]:
    """All in which a record differs from the schema of its version, what acts on writing first."""
    version = db.execute("PRAGMA user_version").fetchone()[0]
    wanted, found = _wanted(version), _parts(db)
    older = version != schema.VERSION
    wrong = []
    for part in sorted({*wanted, *found}, key=lambda p: (_ORDER.get(p[0], 9), p)):
        type_, name = part
        if older and type_ == "trigger" and part in wanted:
            continue  # opening an older record makes every guard anew
        if part not in found:
            wrong.append(Difference(type_, name, Way.MISSING))
        elif part not in wanted:
            wrong.append(Difference(type_, name, Way.ADDED))
        elif wanted[part] != found[part]:
            wrong.append(Difference(type_, name, Way.CHANGED))
    return tuple(wrong)


_ORDER = {"trigger": 0, "table": 1, "index": 2, "view": 3}


def went_through(db: sqlite3.Connection) -> bool:
    """Whether the steps that a record says it went through are those of its version."""
    from tankwalk.ledger.migrations import names

    version = db.execute("PRAGMA user_version").fetchone()[0]
    try:
        found = [name for (name,) in db.execute(f"SELECT name FROM {_STEPS} ORDER BY id")]
    except sqlite3.OperationalError:
        return False
    return found == names()[:version]


def _wanted(version: int) -> Parts:
    """The schema of a version, made anew in memory by the steps that make a record."""
    from tankwalk.ledger import migrations

    with closing(sqlite3.connect(":memory:", isolation_level=None)) as made:
        migrations.apply(made, version)
        return _parts(made)


def _parts(db: sqlite3.Connection) -> Parts:
    """Every part of a schema by type and name, its text without what does not count."""
    rows = db.execute("SELECT type, name, sql FROM sqlite_schema WHERE sql IS NOT NULL")
    return {
        (type_, name): _bare(sql)
        for type_, name, sql in rows
        if not str(name).startswith("sqlite_")
    }


def _bare(sql: str) -> str:
    """A statement without quotes around names and with single blanks: SQLite's releases differ."""
    return " ".join(re.sub(r'"(\w+)"', r"\1", sql).split())


def mend(db: sqlite3.Connection, wrong: Iterable[Difference]) -> None:
    """Put right what can be: guards, views and indexes made anew, what was added dropped.

    In one transaction: all of it, or nothing.
    """
    wanted = _texts()
    these = [one for one in wrong if one.mended]
    db.execute("BEGIN IMMEDIATE")
    try:
        for one in these:
            db.execute(
                f'DROP {one.type.upper()} IF EXISTS "{one.name.replace(chr(34), chr(34) * 2)}"'
            )
        for key, sql in wanted.items():  # in the order in which they were made
            if any((one.type, one.name) == key for one in these):
                db.execute(sql)
        db.execute(schema.CARRY)
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise


def _texts() -> dict[tuple[str, str], str]:
    """The statement of every part of the schema, in the order in which they were made."""
    from tankwalk.ledger import migrations

    with closing(sqlite3.connect(":memory:", isolation_level=None)) as made:
        migrations.apply(made)
        rows = made.execute(
            "SELECT type, name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY rowid"
        )
        return {(type_, name): sql for type_, name, sql in rows}


def told(wrong: Sequence[Difference]) -> tuple[str, ...]:
    """What is said of the differences: those that act on what is written first, then the others."""
    said = []
    triggers = [one for one in wrong if one.type == "trigger"]
    if triggers:
        said.append(
            f"{len(triggers)} of the guards that keep it append-only were taken away, changed or "
            f"added to (first: {triggers[0].words}). They have been set again."
        )
    for one in wrong:
        if one.type == "table" and not one.harmless:
            said.append(f"{one.words}: only a backup mends that.")
        elif one.mended and one.type != "trigger":
            said.append(f"{one.words}: it has been put right.")
    return tuple(said)


def own(wrong: Sequence[Difference]) -> str:
    """That somebody has put tables or views of their own into the file; "" where nobody did."""
    names = [one.name for one in wrong if one.harmless]
    if not names:
        return ""
    what = ", ".join(names[:5]) + (" and more" if len(names) > 5 else "")
    return f"somebody put {what} into the file, which is not of this program: no harm, no digest."
