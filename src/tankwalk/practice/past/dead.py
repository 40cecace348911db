"""The dead of a tank day by day, and what the book leaves of those that were stocked."""

from __future__ import annotations

from datetime import date

from tankwalk.clock import Instant
from tankwalk.ledger.stock import COMES_IN, GOES_OUT, What
from tankwalk.practice.judging.dead_counts import Counted, by_day
from tankwalk.practice.past.window import Window
from tankwalk.practice.site import Site
from tankwalk.practice.stock.book_number import MORTS, one_a_round, unit_of_morts
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import median

USUAL_DAYS = 10
"""Days before the newest whose middle is what is usual, as judging looks back."""


class DeadDay(NamedTuple):
    """One day: the dead counted, None where nobody counted; the book at its end, where known."""

    day: date
    fish: int | None
    book: int | None


class Dead(NamedTuple):
    """The dead of the days of a window; `came_in` are the fish that were stocked or moved in.

    `usual` is the middle of the ten days counted before the newest.
    """

    days: tuple[DeadDay, ...]
    came_in: int | None
    usual: float | None

    def percent(self, one: DeadDay) -> int | None:
        """What the book leaves, in percent of what came in; a whole number, never rounded up."""
        if one.book is None or not self.came_in:
            return None
        return int(100 * one.book / self.came_in + 1e-9)


def dead(site: Site, place: str, window: Window, now: Instant) -> Dead | None:
    """The dead by day of a tank; None where the plan counts none."""
    unit = unit_of_morts(site.plan)
    if site.plan.find_item(MORTS) is None:
        return None
    tank = site.plan.find_tank(place)
    lot = None if tank is None else site.plan.lot_of(tank)
    begun = 0
    if lot is not None and lot.hatched is not None:
        begun = window.since - 86400 * max(0, (window.first - lot.hatched).days)
    moved = site.reader.stock.all_movements([place], begun).get(place, [])
    ins = [one for one in moved if one.what in COMES_IN and one.at.utc <= window.until]
    since = min(window.since - USUAL_DAYS * 86400, ins[0].at.utc if ins else window.since)
    counts = site.reader.stock.counts(place, MORTS, unit, since)
    kept = one_a_round((one.round, one) for one in counts if one.at.utc <= window.until)
    told = sorted(kept, key=lambda one: one.at.utc)
    found = by_day([Counted(one.at, "", one.fish, one.who, one.round) for one in told])
    sums = {day: sum(one.fish for one in here) for day, here in found.items()}
    changed: dict[date, int] = {}
    masses: dict[date, int] = {}
    for one in moved:
        way = 1 if one.what in COMES_IN else -1 if one.what in GOES_OUT else 0
        changed[one.at.day] = changed.get(one.at.day, 0) + way * one.fish
    for one in moved:
        if one.what == What.DEAD:  # a mass event is no count, and the book has it as a movement
            masses[one.at.day] = masses.get(one.at.day, 0) + one.fish
    first = ins[0].at.day if ins else None
    book = sum(fish for day, fish in changed.items() if day < window.first) - sum(
        fish for day, fish in sums.items() if first is not None and first <= day < window.first
    )
    days = []
    for nth in range(window.days):
        day = window.day(nth)
        book += changed.get(day, 0) - (sums.get(day, 0) if first and first <= day else 0)
        known = first is not None and first <= day
        fish = sums.get(day)
        if day in masses:
            fish = (fish or 0) + masses[day]
        days.append(DeadDay(day, fish, max(0, book) if known else None))
    before = [fish for day, fish in sorted(sums.items()) if day < window.last][-USUAL_DAYS:]
    usual = median(before) if before else None
    return Dead(tuple(days), sum(one.fish for one in ins) or None, usual)
