"""The dead of a tank by day, as they stand beside a count, and what other tanks had."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from tankwalk.ledger.readings import PastSeen
from tankwalk.practice.stock.dead import one_a_round
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import median

USUAL_DAYS = 10
"""Days before today whose middle is what is usual, common practice, no source."""


class DeadDays(NamedTuple):
    """Fish found dead by local day, oldest first; `usual` a day, None where no day is known.

    `others` are the fewest and the most that other tanks had in this round so far.
    """

    days: tuple[tuple[date, int], ...]
    usual: float | None
    others: tuple[int, int] | None


def usual(days: Iterable[tuple[date, int]], today: date) -> float | None:
    """The dead of a usual day: the middle of the newest days before today, oldest first."""
    before = [fish for day, fish in days if day < today][-USUAL_DAYS:]
    return median(before) if before else None


def dead_days(seen: Sequence[PastSeen], today: date, others: Iterable[int]) -> DeadDays:
    """The days of some counts of one tank, oldest first; two counts of a round are one."""
    kept = one_a_round((one.round, one) for one in seen if one.value is not None)
    found: dict[date, int] = {}
    for one in sorted(kept, key=lambda each: each.at.utc):
        found[one.at.day] = found.get(one.at.day, 0) + int(one.value or 0)
    had = sorted(others)
    return DeadDays(
        tuple(found.items()),
        usual(found.items(), today),
        (had[0], had[-1]) if had else None,
    )
