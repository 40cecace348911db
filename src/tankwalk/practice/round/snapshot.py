"""What was read last, kept with what it was read for: nothing has to be emptied by hand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

What = TypeVar("What")
Value = TypeVar("Value")


class Snapshot(Generic[What, Value]):
    """One frozen value, and what it is of; asked for something else, it is read anew.

    `What` names everything the value depends on, so that a snapshot is never out of date: where the
    round took something in, or the record was looked at again, what is asked for is another one.
    """

    def __init__(self, read: Callable[[What], Value]) -> None:
        self._read = read
        self._last: tuple[What, Value] | None = None

    def of(self, what: What) -> Value:
        """The value for `what`: the one read last where it was read for the same."""
        if self._last is None or self._last[0] != what:
            self._last = (what, self._read(what))
        return self._last[1]
