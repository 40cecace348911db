"""What became of the fish of each tank: stocked, seen dead, taken out, counted, by local day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from tankwalk.clock import Instant
from tankwalk.ledger.stock import COMES_IN, GOES_OUT, DeadSeen, MovedFish, What
from tankwalk.plan.model import Tank
from tankwalk.practice.site import Site
from tankwalk.practice.stock.numbers import numbers, quadrature
from tankwalk.rows import NamedTuple
from tankwalk.science import survival
from tankwalk.science.survival import Alive

CENSUS_DAYS = 2
"""Counts of all fish this close together are one census. Common practice, no source."""


class Counted(NamedTuple):
    """All fish of a tank counted: how many, give or take, when, and what the book held then."""

    fish: int
    plus_minus: float | None
    at: Instant
    method: str
    book: int
    came: int
    """Fish that were stocked or moved in up to then."""
    out: int
    """Fish that were taken out alive up to then: sampled, culled, cannibals, moved, escaped."""


class Fate(NamedTuple):
    """What the record holds of the fish of one tank, up to a moment."""

    tank: Tank
    stocked: int
    plus_minus: float | None
    method: str
    dead: int
    taken: Mapping[str, int]
    """Taken out, by the word of the movement."""
    book: int
    counted: tuple[Counted, ...]
    curve: tuple[Alive, ...]
    """The product-limit curve of the dead that were seen, a point a day from stocking (day 0)."""
    moved_in_later: bool

    def best(self, until: int) -> float | None:
        """Fish at a UTC second by the newest census up to a day after it, less what went since."""
        known = [one for one in self.counted if one.at.utc <= until + 86400]
        if not known:
            return None
        newest = known[-1]
        return float(newest.fish - max(0, newest.book - self.book_at(until)))

    def book_at(self, until: int) -> int:
        """The book at a UTC second."""
        return sum(fish for at, fish in self.steps if at <= until)

    steps: tuple[tuple[int, int], ...] = ()
    """Every change of the book: UTC second, and fish (below 0 where they went)."""


def fates(site: Site, tanks: Sequence[Tank], until: Instant) -> tuple[Fate, ...]:
    """The fates of tanks up to a moment, since their fish were stocked, in the order given."""
    found = numbers(site, [tank.code for tank in tanks], until)
    made = []
    for tank in tanks:
        one = found.get(tank.code)
        moved, counts = ((), ()) if one is None else (one.movements, one.counts)
        made.append(_fate(tank, moved, counts, until))
    return tuple(made)


def _fate(
    tank: Tank, moved: Sequence[MovedFish], counts: Sequence[DeadSeen], until: Instant
) -> Fate:
    came = [one for one in moved if one.what in COMES_IN]
    gone = [one for one in moved if one.what in GOES_OUT]
    steps = sorted(
        [(one.at.utc, one.fish) for one in came]
        + [(one.at.utc, -one.fish) for one in gone]
        + [(one.at.utc, -one.fish) for one in counts]
    )
    taken: dict[str, int] = {}
    for one in gone:
        taken[one.what] = taken.get(one.what, 0) + one.fish
    mass = taken.pop(What.DEAD, 0)
    first = next((one for one in came if one.what == What.STOCKED), came[0] if came else None)
    begun = first.at.day if first is not None else None
    later = [one for one in came if begun is not None and one.at.day > begun]
    stocked = sum(one.fish for one in came)
    out = [one for one in gone if one.what != What.DEAD]
    counted = []
    for one in moved:
        if one.what != What.CENSUS:
            continue
        at = one.at.utc
        # What is counted dead in its second comes after it, as in `numbers`.
        went = sum(seen.fish for seen in counts if seen.at.utc < at)
        entered = sum(other.fish for other in came if other.at.utc <= at)
        book = max(0, entered - went - sum(other.fish for other in gone if other.at.utc <= at))
        left = sum(other.fish for other in out if other.at.utc <= at)
        counted.append(
            Counted(one.fish, one.plus_minus, one.at, one.method or "", book, entered, left)
        )
    died: dict[date, int] = {}
    for found in counts:
        died[found.at.day] = died.get(found.at.day, 0) + found.fish
    removed: dict[date, int] = {}
    for one in gone:
        by_day = died if one.what == What.DEAD else removed
        by_day[one.at.day] = by_day.get(one.at.day, 0) + one.fish
    curve: list[Alive] = []
    if begun is not None and stocked and not later:
        days = range((until.day - begun).days + 1)
        dated = [date.fromordinal(begun.toordinal() + n) for n in days]
        left, dead_by_day, out_by_day = stocked, [], []
        for day in dated:
            dead = min(died.get(day, 0), left)
            went = min(removed.get(day, 0), left - dead)
            left -= dead + went
            dead_by_day.append(dead)
            out_by_day.append(went)
        curve = survival.product_limit(stocked, list(days), dead_by_day, out_by_day)
    return Fate(
        tank,
        stocked,
        quadrature(*(one.plus_minus for one in came)) if came else None,
        "" if first is None else first.method or "",
        sum(one.fish for one in counts) + mass,
        taken,
        sum(fish for _, fish in steps),
        tuple(counted),
        tuple(curve),
        bool(later),
        tuple(steps),
    )


class Census(NamedTuple):
    """One census of the room: the days it took, and what was counted, by tank."""

    first: date
    last: date
    by_tank: Mapping[str, Counted]


class Unfinished(NamedTuple):
    """The newest census while tanks that hold fish by the book are not counted: of how many."""

    on: date
    counted: int
    tanks: int
    whole_before: bool
    """Whether an earlier one is whole, and compared in its place."""


def whole_first(
    rounds: Sequence[Census], found: Sequence[Fate], until: Instant
) -> tuple[tuple[Census, ...], Unfinished | None]:
    """The censuses with the newest whole one in front, and what is said of a newer one.

    Whole: every tank that had fish by its book then was counted. Where none is, the newest leads.
    """

    def due(one: Census) -> int:
        end = min(until.utc, max(count.at.utc for count in one.by_tank.values()))
        return sum(fate.tank.code in one.by_tank or fate.book_at(end) > 0 for fate in found)

    whole = next((one for one in rounds if len(one.by_tank) == due(one)), None)
    if not rounds or whole is rounds[0]:
        return tuple(rounds), None
    newest = rounds[0]
    told = Unfinished(newest.last, len(newest.by_tank), due(newest), whole is not None)
    if whole is None:
        return tuple(rounds), told
    return (whole, *(one for one in rounds if one is not whole)), told


def censuses(found: Iterable[Fate]) -> tuple[Census, ...]:
    """The censuses of the room, the newest first; counts a day or two apart are one."""
    every = sorted(
        ((one.at.day, fate.tank.code, one) for fate in found for one in fate.counted),
        key=lambda row: (row[0], row[2].at.utc),
    )
    groups: list[Census] = []
    for day, code, one in every:
        last = groups[-1] if groups else None
        if last is not None and (day - last.last).days <= CENSUS_DAYS:
            groups[-1] = Census(last.first, day, {**last.by_tank, code: one})
        else:
            groups.append(Census(day, day, {code: one}))
    return tuple(reversed(groups))
