"""The record itself: open it, append to it; nothing else is possible.

The append path is a handful of plain statements; every write is one BEGIN IMMEDIATE transaction
that is on the disk when it returns (rollback journal, synchronous EXTRA).
"""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from tankwalk.errors import Refusal
from tankwalk.ledger import picture, schema, sqlite_errors, turns
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.clock import Instant
    from tankwalk.ledger.append import Appender
    from tankwalk.ledger.entries import Detail, Entry
    from tankwalk.ledger.proof import Seal
    from tankwalk.ledger.reader import Reader

FILE = "ledger.sqlite"


class Station(NamedTuple):
    """Which laptop writes: a key that no other has, and a name for people."""

    key: str
    name: str


class Ledger:
    """One open record. Not to be shared between threads; two programs may hold it at once."""

    def __init__(self, path: Path, connection: sqlite3.Connection, station: Station) -> None:
        self.path = path
        self.db = connection
        self.station = station
        self._appender: Appender | None = None
        self._writing = False
        self._reading = False
        self._spoilt = False
        self._file = _identity(path)
        self._guarded: int | None = None
        """SQLite's number of the schema whose guards were found to stand."""

    @property
    def moved(self) -> bool:
        """Whether the file that was opened no longer lies in its place: deleted, or replaced."""
        return _identity(self.path) != self._file

    @classmethod
    def open(
        cls,
        path: Path,
        station: Station,
        *,
        create: bool = False,
        older: Callable[[Ledger], object] | None = None,
    ) -> Ledger:
        """Open the record at `path`; one of an older version is brought forward after `older`.

        `older` is given the record as it stands, to make a backup of it. What it raises leaves the
        record as it was; without it an older record is refused.

        Raises Refusal for: no file, not ours, damaged, made by a newer program, a folder that
        cannot be written when it has to be.
        """
        if create and not path.exists():
            with sqlite_errors.told(path):
                _make(path)
        db = _ours(path)
        try:
            ledger = cls(path, db, station)
            with sqlite_errors.told(path):
                ledger._bring_forward(older)
        except BaseException:
            db.close()
            raise
        return ledger

    @staticmethod
    def plan_held(path: Path) -> tuple[str, Instant] | None:
        """The plan that a record holds last and since when, whatever its version; None without one.

        Raises Refusal as `open` does.
        """
        from tankwalk.ledger.reader import Reader

        with closing(_ours(path)) as db:
            return Reader(db).spine.last_plan()

    @property
    def version(self) -> int:
        """The version of its tables, `schema.VERSION` once it is open for work."""
        with sqlite_errors.told(self.path):
            return int(self.db.execute("PRAGMA user_version").fetchone()[0])

    def _bring_forward(self, older: Callable[[Ledger], object] | None) -> None:
        """Bring a record of an older version to this one, in one step, after `older`."""
        version = self.version
        if version == schema.VERSION:
            return
        if older is None:
            raise Refusal(
                f"The record {self.path} was made by an older tankwalk (version {version}, this "
                f"one makes {schema.VERSION}): nothing was changed. Open its site with tankwalk: "
                "it makes a backup of it, then brings it forward."
            )
        from tankwalk.ledger import migrations

        with turns.waiting(self.db):
            older(self)
            migrations.apply(self.db)

    def close(self) -> None:
        self.db.close()

    def __enter__(self) -> Ledger:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def writes(self) -> bool:
        """Whether something is being written, which may yet be taken back as a whole."""
        return self._writing

    @contextmanager
    def writing(self) -> Iterator[Ledger]:
        """One transaction: all that is appended inside is kept together, or none of it.

        Inside another `writing` it joins that one, and what fails there fails the whole. Raises
        Refusal with what to do when the disk or another program refuses; then nothing was kept.
        """
        if self._writing:
            try:
                yield self
            except BaseException:
                self._spoilt = True
                raise
            return
        if self._reading:
            self._end_reading()
        with sqlite_errors.told(self.path), self._begun():
            self._writing, self._spoilt = True, False
            try:
                self._held_by_guards()
                yield self
                if self._spoilt:
                    raise Refusal("A part of this was refused: nothing of it was kept.")
                self.db.execute("COMMIT")
            except BaseException:
                if self.db.in_transaction:
                    self.db.execute("ROLLBACK")
                if self._appender is not None:
                    self._appender.rolled_back()
                raise
            finally:
                self._writing = False

    def _held_by_guards(self) -> None:
        """Refusal where guards are missing, or a trigger is there that nobody made.

        SQLite changes a number of its own with every change of a schema, so that all is looked
        over once, and again when somebody changed it.
        """
        number = self.db.execute("PRAGMA schema_version").fetchone()[0]
        if number == self._guarded:
            return
        sql = "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"
        wrong = schema.unguarded(self.db.execute(sql))
        if wrong:
            raise Refusal(
                f"The guards of the record were taken away or changed ({wrong}): nothing was kept. "
                "Run tankwalk check: it sets them again, and says whether anything was altered."
            )
        self._guarded = number

    @contextmanager
    def _begun(self) -> Iterator[None]:
        """A transaction that may write: begun at once where nobody waits, else in turn."""
        with ExitStack() as held:
            if turns.wanted(self.path) or not self._at_once():
                held.enter_context(turns.turn(self.path))
                held.enter_context(turns.waiting(self.db))
                self.db.execute("BEGIN IMMEDIATE")
            else:
                held.enter_context(turns.waiting(self.db))  # its end may wait for who reads
            yield

    def _at_once(self) -> bool:
        try:
            self.db.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as fault:
            if not turns.held(fault):
                raise
            return False
        return True

    @cached_property
    def reader(self) -> Reader:
        """What answers every question to this record."""
        from tankwalk.ledger.reader import Reader

        return Reader(self.db)

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """One transaction for all that is read inside: one picture, whoever writes meanwhile.

        In it a question that was answered is not asked again.

        Inside another `reading`, or inside `writing`, it joins that one. What is written inside
        ends the picture: all after it is read as it then stands. Keep it short: while it is open
        other programs wait with what they write.
        """
        if self.db.in_transaction:
            yield self.reader
            return
        with sqlite_errors.told(self.path):
            turns.patiently(self.db, self.path, self._look)
        self._reading = True
        picture.hold(self.db)
        try:
            yield self.reader
        finally:
            if self._reading:
                self._end_reading()

    def _look(self) -> None:
        """Begin a transaction that reads; the picture is taken now."""
        self.db.execute("BEGIN")
        try:
            self.db.execute("SELECT 1 FROM sqlite_schema LIMIT 1").fetchone()
        except sqlite3.Error:
            self.db.execute("ROLLBACK")
            raise

    def _end_reading(self) -> None:
        self._reading = False
        picture.let_go(self.db)
        with sqlite_errors.told(self.path):
            if self.db.in_transaction:  # a fault may have ended it
                self.db.execute("COMMIT")

    def holds(self, one: Seal) -> bool:
        """Whether the record holds what was once sealed, and so all before it."""
        from tankwalk.ledger import proof

        with sqlite_errors.told(self.path):
            return proof.held(self.db, one.number, proof.short(one.digest)) is proof.Held.HOLDS

    def back_up(self, target: Path) -> None:
        """Copy the record to `target`; Refusal when it is there already, or not sound."""
        from tankwalk.ledger.backup import backup

        with turns.turn(self.path), turns.waiting(self.db):
            backup(self.db, target)

    def lost(self) -> str:
        """What is said on leaving where the file was deleted or replaced meanwhile, else "".

        What it held can still be read while it is open, so a copy of it is put beside its place.
        """
        if not self.moved:
            return ""
        tries, stem = 1, f"{self.path.stem}-saved"
        while (copy := self.path.with_name(f"{stem}-{tries}.sqlite")).exists():
            tries += 1
        try:
            self.back_up(copy)
        except Refusal:
            pass  # the folder may be gone with it: then what is said names no such copy
        return sqlite_errors.moved(self.path)

    def append(self, entry: Entry, *details: Detail) -> int:
        """Add one entry with its details; on the disk when this returns. Returns its number."""
        if self._appender is None:
            from tankwalk.ledger.append import Appender

            self._appender = Appender(self.db, self.station.key, self.station.name)
        with self.writing():
            try:
                return self._appender.append(entry, details)
            except (OverflowError, UnicodeEncodeError) as fault:
                raise Refusal(
                    f"The record cannot hold this ({fault}): nothing was kept. Type it again."
                ) from fault


def _identity(path: Path) -> tuple[int, int] | None:
    """Which file lies at a path, None where none does."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _ours(path: Path) -> picture.Record:
    """A connection to the record at a path; Refusal where there is none, or one of a newer program.

    It waits where another program holds the record for a moment.
    """
    if not path.exists():
        from tankwalk.ledger.backup import way_back

        raise Refusal(
            f"There is no record at {path}: nothing was changed. {way_back(path)} To begin an "
            f"empty record with this plan: tankwalk start {path.parent} --new-record"
        )
    with sqlite_errors.told(path):
        db = sqlite3.connect(
            path, timeout=turns.MOMENT / 1000, isolation_level=None, factory=picture.Record
        )
        try:
            turns.patiently(db, path, lambda: _set_pragmas(db))
            _refuse_others(db, path)
        except BaseException:
            db.close()
            raise
    return db


def _refuse_others(db: sqlite3.Connection, path: Path) -> None:
    """Refusal for a file of another program, or of a newer one of ours."""
    asked = "PRAGMA application_id"
    owner = turns.patiently(db, path, lambda: db.execute(asked).fetchone()[0])
    if owner != schema.APPLICATION_ID:
        raise Refusal(
            f"{path} is not a tankwalk record (or is empty): nothing was changed. "
            "Look for the right file, or go back to a backup: tankwalk check names the newest."
        )
    version = db.execute("PRAGMA user_version").fetchone()[0]
    sqlite_errors.refuse_newer(version, path)


def _set_pragmas(db: sqlite3.Connection) -> None:
    db.execute("PRAGMA foreign_keys = ON")
    db.execute("PRAGMA recursive_triggers = ON")
    db.execute("PRAGMA trusted_schema = OFF")
    db.execute("PRAGMA synchronous = EXTRA")
    # A fifth of the usual 2 MiB: a page reads what it shows once, and a start has it all in memory.
    db.execute("PRAGMA cache_size = -400")
    if sys.platform == "darwin":
        db.execute("PRAGMA fullfsync = ON")


def _make(path: Path) -> None:
    """A new empty record, under another name until it is whole: a plug may be pulled here too."""
    from tankwalk.ledger import migrations
    from tankwalk.paths import sync_folder

    part = path.with_name(path.name + ".partial")
    part.unlink(missing_ok=True)
    db = sqlite3.connect(part, isolation_level=None)
    try:
        _set_pragmas(db)
        # Nothing is lost with it before it has its name: the disk is waited for once, at the end.
        db.execute("PRAGMA synchronous = OFF")
        migrations.apply(db)
    finally:
        db.close()
    with part.open("rb+") as whole:
        os.fsync(whole.fileno())
    part.replace(path)
    sync_folder(path.parent)
