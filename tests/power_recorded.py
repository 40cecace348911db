"""What this process asks of the disk, written down where it is asked, for systems without strace.

Two doors: SQLite's own (`Recorded`, a VFS that hands everything on), and Python's (`watched`,
which sees what changed in a folder whenever something is synced, renamed or removed).
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, cast

import apsw

from power_cut import Cut, Drop, Event, Files, Link, Make, Put, Rename, Said, Sync, SyncFolder, look
from tankwalk.ledger import store


class _File(apsw.VFSFile):
    """A file that says what is done to it, and does it."""

    def __init__(self, vfs: _Door, name: str, flags: list[int], file: int, made: bool) -> None:
        super().__init__("", name, flags)
        self.vfs, self.file = vfs, file
        # SQLite's own door syncs the folder with the first sync of a journal it made.
        self.names = made and bool(flags[0] & apsw.SQLITE_OPEN_MAIN_JOURNAL)

    def xWrite(self, data: Any, offset: int) -> None:
        super().xWrite(data, offset)
        self.vfs.events.append(Put(self.file, offset, bytes(data)))

    def xTruncate(self, newsize: int) -> None:
        super().xTruncate(newsize)
        self.vfs.events.append(Cut(self.file, newsize))

    def xSync(self, flags: int) -> None:
        super().xSync(flags)
        self.vfs.events.append(Sync(self.file))
        if self.names:
            self.vfs.events.append(SyncFolder("."))
            self.names = False


class _Door(apsw.VFS):
    """The door of one folder."""

    def __init__(self, folder: Path) -> None:
        self.name, self.folder = f"recorded {folder}", folder
        self.files = {name: -1 - k for k, name in enumerate(sorted(look(folder)))}
        self.made = 0
        self.events: list[Event] = []
        super().__init__(self.name, "")

    def xOpen(self, name: str | apsw.URIFilename | None, flags: list[int]) -> _File:
        path = name.filename() if isinstance(name, apsw.URIFilename) else str(name)
        short, new = Path(path).name, not Path(path).exists()
        if new:
            self.made += 1
            self.files[short] = self.made
            self.events.append(Make(short, self.made))
        return _File(self, path, flags, self.files[short], new)

    def xDelete(self, filename: str, syncdir: bool) -> None:
        super().xDelete(filename, syncdir)
        self.events.append(Drop(Path(filename).name))
        if syncdir:
            self.events.append(SyncFolder("."))


class _Rows:
    """A cursor as sqlite3 has it."""

    def __init__(self, cursor: apsw.Cursor) -> None:
        self.cursor, self.lastrowid = cursor, cursor.connection.last_insert_rowid()

    def fetchone(self) -> Any:
        return self.cursor.fetchone()

    def fetchall(self) -> Any:
        return self.cursor.fetchall()

    def __iter__(self) -> Iterator[Any]:
        return iter(self.cursor)


class Recorded:
    """A record written by the program's own append path, with what it asks of the disk."""

    def __init__(self, path: Path, station: store.Station) -> None:
        self.before: Files = look(path.parent)
        self._door = _Door(path.parent)
        self._db = apsw.Connection(str(path), vfs=self._door.name)
        plain = cast(sqlite3.Connection, self)
        store._set_pragmas(plain)
        self.ledger = store.Ledger(path, plain, station)

    def execute(self, words: str, values: Sequence[Any] = ()) -> _Rows:
        """As sqlite3's connection."""
        return _Rows(self._db.execute(words, tuple(values)))

    @property
    def in_transaction(self) -> bool:
        """As sqlite3's connection."""
        return self._db.in_transaction

    @property
    def events(self) -> list[Event]:
        """What was asked of the disk so far."""
        return self._door.events

    def said(self, words: str) -> None:
        """A person is shown something."""
        self._door.events.append(Said(words))

    def close(self) -> None:
        self._db.close()
        self._door.unregister()


@contextmanager
def watched(folder: Path) -> Iterator[tuple[Files, list[Event]]]:
    """The files of a folder before, and what Python then asks of the disk.

    What was written is seen when something is next synced, renamed or removed: between two of
    these no order is known, nor counts. Folders that are made are there at once.
    """
    before = look(folder)
    taker = _Taker(folder, before)
    real = {name: getattr(os, name) for name in ("fsync", "replace", "rename", "unlink", "link")}

    def fsync(handle: int) -> None:
        taker.changes()
        real["fsync"](handle)
        taker.synced(os.fstat(handle))

    def two(name: str, make: Callable[[str, str], Event]) -> Callable[..., None]:
        def act(old: Any, new: Any, **more: Any) -> None:
            taker.changes()
            real[name](old, new, **more)
            if taker.has(old) and taker.has(new):
                taker.named(make(taker.short(old), taker.short(new)))

        return act

    def unlink(path: Any, **more: Any) -> None:
        taker.changes()
        real["unlink"](path, **more)
        if taker.has(path):
            taker.named(Drop(taker.short(path)))

    patched = {"fsync": fsync, "unlink": unlink, "replace": two("replace", Rename),
               "rename": two("rename", Rename), "link": two("link", Link)}  # fmt: skip
    for name, patch in patched.items():
        setattr(os, name, patch)
    try:
        yield before, taker.events
    finally:
        for name, act in real.items():
            setattr(os, name, act)
        taker.changes()


class _Taker:
    def __init__(self, folder: Path, before: Files) -> None:
        self.folder, self.live = folder, dict(before)
        self.files = {name: -1 - k for k, name in enumerate(sorted(before))}
        self.made = 0
        self.events: list[Event] = []

    def has(self, path: object) -> bool:
        return Path(str(path)).is_relative_to(self.folder)

    def short(self, path: object) -> str:
        return Path(str(path)).relative_to(self.folder).as_posix()

    def changes(self) -> None:
        """What was written since the last time."""
        there = look(self.folder)
        for name, content in there.items():
            if name not in self.live:
                self.made += 1
                self.files[name] = self.made
                self.events.append(Make(name, self.made))
            elif content == self.live[name]:
                continue
            elif len(content) < len(self.live[name]):
                self.events.append(Cut(self.files[name], len(content)))
            self.events.append(Put(self.files[name], 0, content))
        self.live = there

    def synced(self, known: os.stat_result) -> None:
        for path in (self.folder, *self.folder.rglob("*")):
            if (path.stat().st_dev, path.stat().st_ino) == (known.st_dev, known.st_ino):
                name = self.short(path)
                self.events.append(SyncFolder(name) if path.is_dir() else Sync(self.files[name]))
                return

    def named(self, event: Event) -> None:
        match event:
            case Rename(old, new):
                self.files[new] = self.files.pop(old)
            case Link(old, new):
                self.files[new] = self.files[old]
            case Drop(name):
                self.files.pop(name, None)
        self.events.append(event)
        self.live = look(self.folder)
