"""One picture of the record: while it is held each question is put to SQLite once."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Hashable, Iterator
from typing import Any, TypeVar

R = TypeVar("R")


class Record(sqlite3.Connection):
    """A connection to a record, with what was answered while one picture of it is held."""

    answers: dict[Hashable, Any] | None = None
    """None where no picture is held: the record may change between two questions."""


def hold(db: sqlite3.Connection) -> None:
    """From now on the record is one picture: an answer holds until `let_go`."""
    if isinstance(db, Record):
        db.answers = {}


def let_go(db: sqlite3.Connection) -> None:
    """The picture ends: what is asked now is asked of the record as it then stands."""
    if isinstance(db, Record):
        db.answers = None


def once(
    db: sqlite3.Connection, question: object, said: tuple[Any, ...], ask: Callable[[], R]
) -> R:
    """The answer to a question as it was given before in this picture, else as `ask` gives it.

    `said` is what the question was asked about. A list or a dict is handed out as a copy, so that
    who changes it changes no other's answer.
    """
    answers = db.answers if isinstance(db, Record) else None
    if answers is None or any(isinstance(one, Iterator) for one in said):
        return ask()
    key = question, tuple(_kept(one) for one in said)
    if key not in answers:
        answers[key] = ask()
    found: Any = answers[key]
    if isinstance(found, list | dict):
        found = found.copy()
    answer: R = found
    return answer


def further_back(
    db: sqlite3.Connection, what: str, since: int, ask: Callable[[int], list[R]]
) -> list[R]:
    """What happened since a UTC second, or earlier: as far back as it was read in this picture.

    Questions that differ only in how far they look back are then put once, if the one that looks
    back furthest comes first.
    """
    answers = db.answers if isinstance(db, Record) else None
    if answers is None:
        return ask(since)
    kept = answers.get(what)
    if kept is None or kept[0] > since:
        kept = answers[what] = since, ask(since)
    found: list[R] = kept[1]
    return found


def _kept(one: object) -> object:
    """What a question was asked about, as a key."""
    if isinstance(one, dict):
        return tuple(one.items())
    return tuple(one) if isinstance(one, list | set) else one
