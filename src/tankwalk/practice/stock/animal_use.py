"""The animal-use ledger: fish of each tank and of the site, in and out by fate, with their sum.

Animals are counted once, as they are stocked; moving them between tanks uses none. The sum is held
against the number that the plan says was approved.
"""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk.ledger.stock import What
from tankwalk.practice.stock.numbers import StockNumbers
from tankwalk.rows import NamedTuple

WARN_AT = 0.9
"""Part of the approved number from which on one is warned. Common practice, no source."""


class Use(NamedTuple):
    """A line of the ledger, in fish: what came in, what went by fate, what the book still holds."""

    place: str
    stocked: int
    moved_in: int
    dead: int
    mass: int
    culled: int
    cannibals: int
    sampled: int
    escaped: int
    moved_out: int
    closing: int

    @property
    def moved(self) -> int:
        """In less out."""
        return self.moved_in - self.moved_out

    @property
    def gone(self) -> int:
        """All that went by a fate; what was moved is still there."""
        parts = (self.dead, self.mass, self.culled, self.cannibals, self.sampled, self.escaped)
        return sum(parts)


class AnimalUse(NamedTuple):
    """The ledger of a site; `approved` 0 where the plan says none, `code` the protocol's own."""

    tanks: tuple[Use, ...]
    total: Use
    unaccounted: int
    code: str
    approved: int

    @property
    def share(self) -> float | None:
        """Stocked of what was approved; None where the plan says no number."""
        return self.total.stocked / self.approved if self.approved else None

    @property
    def warns(self) -> bool:
        return self.share is not None and self.share >= WARN_AT


def animal_use(every: Iterable[StockNumbers], code: str = "", approved: int = 0) -> AnimalUse:
    """The ledger of some tanks, in their order."""
    here = tuple(every)
    tanks = tuple(map(_use, here))
    sums = (sum(column) for column in zip(*(one[1:] for one in tanks), strict=True))
    total = Use("all", *sums) if tanks else Use("all", *(0,) * 10)
    lost = sum(one.unaccounted.fish for one in here if one.unaccounted is not None)
    return AnimalUse(tanks, total, lost, code, approved)


def _use(one: StockNumbers) -> Use:
    moved_in = sum(m.fish for m in one.movements if m.what == What.MOVED_IN)
    return Use(
        one.tank,
        one.stocked.fish,
        moved_in,
        one.dead.fish - one.mass.fish,
        one.mass.fish,
        one.culled.fish,
        one.cannibals.fish,
        one.sampled.fish,
        one.escaped.fish,
        moved_in - one.moved.fish,
        one.book.fish,
    )
