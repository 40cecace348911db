"""Taking turns at a record, so that nobody waits long because others write without a pause.

SQLite has whoever waits look again every so often; a program that writes one entry after another
is then hardly ever found between two of them. So who has waited a moment leaves a small file beside
the record, and as long as it lies there everybody queues: one waits at the head, the others behind.
Who comes back from writing comes behind. Right or wrong does not hang on it: that is SQLite's.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

R = TypeVar("R")

SUFFIX = "-turns"

MOMENT = 100
"""Milliseconds that SQLite looks again before one queues."""

MOST = 5000
"""Milliseconds of waiting after which a person is told; as long again in the queue at most."""

_LOOK = 2
"""Milliseconds between two looks whether it is one's turn."""

_NOW, _NEXT = 0, 1
"""Bytes of the file that are locked: by whose turn it is, by who waits at the head."""


def wanted(path: Path) -> bool:
    """Whether somebody waits for this record."""
    return os.path.exists(f"{path}{SUFFIX}")


def patiently(db: sqlite3.Connection, path: Path, act: Callable[[], R]) -> R:
    """What `act` gives, which needs the record for a moment: at once, or else in turn."""
    try:
        return act()
    except sqlite3.OperationalError as fault:
        if not held(fault) or db.in_transaction:
            raise
    with turn(path), waiting(db):
        return act()


def held(fault: sqlite3.Error) -> bool:
    """Whether a fault says that another program holds the record."""
    return fault.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY


@contextmanager
def waiting(db: sqlite3.Connection) -> Iterator[None]:
    """SQLite looks again for as long as a person is kept waiting."""
    before = db.execute("PRAGMA busy_timeout").fetchone()[0]
    db.execute(f"PRAGMA busy_timeout = {max(before, MOST)}")
    try:
        yield
    finally:
        db.execute(f"PRAGMA busy_timeout = {before}")


_ours: set[str] = set()
"""Queues at whose head this process is: it does not queue behind itself."""


@contextmanager
def turn(path: Path) -> Iterator[None]:
    """It is one's turn inside, or one has waited for it long enough."""
    file = f"{path}{SUFFIX}"
    handle = None if file in _ours else _queued(file)
    if handle is None:
        yield
        return
    _ours.add(file)
    try:
        yield
    finally:
        _ours.discard(file)
        _leave(handle, file)


def _queued(file: str) -> int | None:
    """The open file once it is one's turn; None where there is no queue to be had."""
    try:
        import fcntl
    except ImportError:  # Windows: SQLite's own waiting has to do
        return None
    looks = iter(range(MOST // _LOOK))
    handle = None
    try:
        for _ in looks:
            handle = os.open(file, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o666)
            if _locked(handle, _NEXT, looks) and _locked(handle, _NOW, looks):
                fcntl.lockf(handle, fcntl.LOCK_UN, 1, _NEXT)
                if _same(handle, file):
                    return handle
            os.close(handle)  # the last one took the file away, or it has been long enough
            handle = None
    except OSError:  # a folder that cannot be written, or a disk without locks
        if handle is not None:
            os.close(handle)
    return None


def _locked(handle: int, byte: int, looks: Iterator[int]) -> bool:
    import fcntl

    while True:
        try:
            fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, byte)
        except BlockingIOError:
            if next(looks, None) is None:
                return False
            time.sleep(_LOOK / 1000)
        else:
            return True


def _same(handle: int, file: str) -> bool:
    try:
        there = os.stat(file)
    except OSError:
        return False
    return os.path.samestat(os.fstat(handle), there)


def _leave(handle: int, file: str) -> None:
    """One's turn is over; the last one takes the file away."""
    import fcntl

    try:
        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, _NEXT)
        os.unlink(file)
    except OSError:  # somebody waits
        pass
    finally:
        os.close(handle)
