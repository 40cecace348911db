"""Schema versions of the record, each step once, oldest first; all that are missing, or none."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlite_utils import Database, Migrations

from tankwalk.ledger import schema, schema_later

migrations = Migrations("tankwalk")


@migrations()
def first_schema(db: Database) -> None:
    """Version 1: the spine, one narrow table a kind, the dictionaries and the views."""
    for statement in schema.statements(schema.TABLES) + schema.statements(schema.VIEWS):
        db.execute(statement)
    for name, number in schema.KINDS.items():
        if number < schema.KINDS["derived"]:  # the others came with later versions
            db.execute("INSERT INTO kind (id, name) VALUES (?, ?)", (number, name))


@migrations()
def derived_readings(db: Database) -> None:
    """Version 2: readings that were worked out, with their parts and equation."""
    _add(db, schema.DERIVED_TABLES, schema.DERIVED_VIEWS, "derived")


@migrations()
def flags_with_a_life(db: Database) -> None:
    """Version 3: why a reading was flagged, and what people did about it."""
    _add(db, schema.JUDGED_TABLES, schema.JUDGED_VIEWS, "flag", "suspect")


@migrations()
def seeking(db: Database) -> None:
    """Version 4: indexes, so that no question grows with age; a handover's gist as rows."""
    _add(db, schema.GIST_TABLE, "")
    for statement in schema.statements(schema.SEEKING):
        db.execute(statement)
    db.execute(schema.CARRY)


@migrations()
def incidents(db: Database) -> None:
    """Version 5: what was done about a flag, calls, and looks at one place."""
    _add(db, schema_later.INCIDENT_TABLES, schema_later.INCIDENT_VIEWS, "done", "call", "look")


@migrations()
def feed_record(db: Database) -> None:
    """Version 6: which meal, from which batch, what a batch is, and sub-samples as counted."""
    _add(db, schema_later.FEED_TABLES, schema_later.FEED_VIEWS)


@migrations()
def samples_by_fish(db: Database) -> None:
    """Version 7: more ways for fish to go, the rows of before kept; samples fish by fish."""
    _add(db, schema_later.SAMPLE_TABLES, schema_later.SAMPLE_VIEWS, "sampling", "fish")


@migrations()
def flags_of_whole_rounds(db: Database) -> None:
    """Version 8: flags that a whole round raises and ends; what people did about flags is kept."""
    _add(db, schema_later.FOUND_TABLES, schema_later.FOUND_VIEWS)


@migrations()
def in_and_out(db: Database) -> None:
    """Version 9: rounds typed in from paper; files that were imported, with their values."""
    _add(db, schema_later.PAPER_TABLES, schema_later.PAPER_VIEWS, "sheet")
    _add(db, schema_later.IMPORT_TABLES, schema_later.IMPORT_VIEWS, "import")


@migrations()
def values_in_bundles(db: Database) -> None:
    """Version 10: values of a file that is imported lie in bundles, which its entry names."""
    _add(db, schema_later.BUNDLE_TABLES, schema_later.BUNDLE_VIEWS)


def _add(db: Database, tables: str, views: str, *kinds: str) -> None:
    """Tables, views and kinds of entry that a version brings."""
    for statement in schema.statements(tables) + schema.statements(views):
        db.execute(statement)
    for name in kinds:
        number = schema.KINDS[name]
        db.execute("INSERT OR IGNORE INTO kind (id, name) VALUES (?, ?)", (number, name))


def names() -> list[str]:
    """The steps by name, oldest first: version 1 is the first of them."""
    db = Database(memory=True)
    try:
        return [step.name for step in migrations.pending(db)]
    finally:
        db.close()


def apply(connection: sqlite3.Connection, version: int = schema.VERSION) -> None:
    """Bring an open file to a version, the current one, and set the guards again.

    One transaction: whatever stops it leaves the file as it was. Of two programs at it the second
    finds it done. An older `version` is only made anew, to hold a record of it against.
    """
    stop = names()[version:]
    with _at_once(connection):
        # Its steps join the transaction that is open, as savepoints.
        migrations.apply(
            Database(connection, execute_plugins=False), stop_before=stop[0] if stop else None
        )
        _set_guards(connection, only_there=bool(stop))
        connection.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {version}")


def set_guards(connection: sqlite3.Connection) -> None:
    """(Re)make every guard in one transaction, and put back what `carried` lost without them."""
    with _at_once(connection):
        _set_guards(connection, only_there=False)


def _set_guards(connection: sqlite3.Connection, *, only_there: bool) -> None:
    """`only_there`: of the tables that are there, where the file is of an older version."""
    there = {name for (name,) in connection.execute("SELECT name FROM sqlite_schema")}
    for statement in schema.guards(there if only_there else None):
        connection.execute(statement)
    if not only_there:
        connection.execute(schema.CARRY)


@contextmanager
def _at_once(connection: sqlite3.Connection) -> Iterator[None]:
    """A transaction that writes: kept whole at its end, or taken back."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
