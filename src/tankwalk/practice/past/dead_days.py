"""The dead of a tank by day, as they stand beside a count, and what other tanks had."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from tankwalk.ledger.readings import PastSeen
from tankwalk.practice.stock.dead import one_a_round
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:  # a wide board draws the days alone
    from tankwalk.practice.past.dead_usual import DeadUsual


class DeadDay(NamedTuple):
    """One day: the dead counted, None where nobody counted; the book at its end, where known."""

    day: date
    fish: int | None
    book: int | None = None


class DeadDays(NamedTuple):
    """Fish found dead by local day, oldest first, of the days on which somebody counted.

    `others` are the fewest and the most that other tanks had in this round so far; `usual` is what
    the tank should have today, None where it is not known.
    """

    days: tuple[DeadDay, ...]
    others: tuple[int, int] | None
    usual: DeadUsual | None = None


def dead_days(seen: Sequence[PastSeen], others: Iterable[int] = ()) -> DeadDays:
    """The days of some counts of one tank, oldest first; two counts of a round are one."""
    kept = one_a_round((one.round, one) for one in seen if one.value is not None)
    found: dict[date, int] = {}
    for one in sorted(kept, key=lambda each: each.at.utc):
        found[one.at.day] = found.get(one.at.day, 0) + int(one.value or 0)
    had = sorted(others)
    return DeadDays(
        tuple(DeadDay(day, fish) for day, fish in found.items()),
        (had[0], had[-1]) if had else None,
    )
