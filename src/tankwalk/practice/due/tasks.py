"""One thing to be done: what, how late it is, in which words; and which of many comes first."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

KINDS = (
    "unattended",
    "harvest",
    "cone",
    "hatch",
    "meal",
    "round",
    "unsigned",
    "meter",
    "check",
    "deviation",
    "sample",
    "change",
    "gap",
)
"""What can be due; of what is overdue, the first of these comes first: fish before paper."""


class Due(NamedTuple):
    """One thing to be done: what, when, and how late it is (hours; negative: still to come)."""

    what: str
    late_hours: float
    sentence: str
    kind: str = ""

    @property
    def overdue(self) -> bool:
        return self.late_hours > 0


def worst_first(found: Iterable[Due]) -> list[Due]:
    """What is overdue first, by what it is and then the latest; then what comes next."""

    def rank(one: Due) -> tuple[bool, int, float]:
        urgent = KINDS.index(one.kind) if one.overdue and one.kind in KINDS else len(KINDS)
        return not one.overdue, urgent, -one.late_hours

    return sorted(found, key=rank)


def named(codes: Iterable[str], most: int = 6) -> str:
    """Codes of places one after another, or how many there are where they are many."""
    every = list(codes)
    return " ".join(every) if len(every) <= most else f"{len(every)} tanks"
