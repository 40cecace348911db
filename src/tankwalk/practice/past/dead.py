"""The dead of a tank day by day, and what the book leaves of those that were stocked."""

from __future__ import annotations

from collections import Counter
from datetime import date

from tankwalk.ledger.stock import COMES_IN, GOES_OUT, What
from tankwalk.practice.past.dead_days import DeadDay
from tankwalk.practice.past.dead_usual import DeadUsual
from tankwalk.practice.past.window import Window
from tankwalk.practice.stock.numbers import StockNumbers
from tankwalk.rows import NamedTuple


class Dead(NamedTuple):
    """The dead of the days of a window; `came_in` are the fish that were stocked or moved in.

    `usual` is what the tank should have on the last day that was counted, None where not known.
    """

    days: tuple[DeadDay, ...]
    came_in: int | None
    usual: DeadUsual | None

    def percent(self, one: DeadDay) -> int | None:
        """What the book leaves, in whole percent of what came in; 100 and 0 are only told whole."""
        if one.book is None or not self.came_in:
            return None
        share = round(100 * one.book / self.came_in)
        if one.book < self.came_in:
            share = min(share, 99)
        return max(share, 1) if one.book else 0


def dead(numbers: StockNumbers | None, window: Window, usual: DeadUsual | None = None) -> Dead:
    """The dead by day of a tank; no counts and no book where no fish were ever entered.

    What was taken for dead in a mass event stands with the counts of its day.
    """
    fish: Counter[date] = Counter()
    change: Counter[date] = Counter()
    came_in = 0
    for one in () if numbers is None else numbers.movements:
        if one.at.utc > window.until:
            continue
        if one.what == What.DEAD:
            fish[one.at.day] += one.fish
        elif one.what in COMES_IN:
            change[one.at.day] += one.fish
            came_in += one.fish
        elif one.what in GOES_OUT:
            change[one.at.day] -= one.fish
    for count in () if numbers is None else numbers.counts:
        if count.at.utc <= window.until:
            fish[count.at.day] += count.fish
    first = None if numbers is None else numbers.since.day
    book = sum(many for day, many in change.items() if day < window.first) - sum(
        many for day, many in fish.items() if day < window.first
    )
    days = []
    for nth in range(window.days):
        day = window.day(nth)
        book += change[day] - fish[day]
        known = first is not None and first <= day
        # A day that was asked about is in the counter; asking alone puts none there.
        days.append(DeadDay(day, fish.get(day), max(0, book) if known else None))
    return Dead(tuple(days), came_in or None, usual)
