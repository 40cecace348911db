"""How many fish a tank holds: by the book, by its census, by best estimate, and unaccounted for.

Larvae vanish unseen, so the book (what came in less what was seen to go, since stocking) is an
upper guess, and a census does not restart it. The best estimate is the newest census less what was
seen to go since then; rates, shares and rations go by it. What the book held at the census and the
census did not find is unaccounted. Each +/- is that of its entries, 95 %, put together in
quadrature (errors of separate counts are independent).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import sqrt

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.stock import COMES_IN, GOES_OUT, DeadSeen, MovedFish, What
from tankwalk.plan.model import Plan, Tank
from tankwalk.practice.site import Site
from tankwalk.practice.stock import dead
from tankwalk.practice.stock.dead import MORTS, one_a_round, unit_of_morts
from tankwalk.rows import NamedTuple

BEFORE_HATCH_DAYS = 30
"""Fish of a lot come into a tank, as eggs too, no longer than this before the lot hatches."""

ESTIMATED = (What.STOCKED, What.MOVED_IN, What.DEAD, What.CENSUS)
"""What is estimated where no +/- was entered: its error is not known. The rest was counted."""


class Best(NamedTuple):
    """The best estimate of a tank's fish, and when they were last counted or stocked."""

    fish: int
    counted: Instant
    plus_minus: float | None
    by_census: bool


class Number(NamedTuple):
    """A number of fish with its error (95 %, in fish; None: not known) and its newest moment.

    `times` is of how many entries or counts it is the sum, `method` the newest one's.
    """

    fish: int
    plus_minus: float | None = 0.0
    at: Instant | None = None
    times: int = 0
    method: str | None = None


class Gap(NamedTuple):
    """One census against what was to be expected then: the last census less what was seen to go.

    Before the first census that is the book. `lost` is below 0 where more were counted.
    """

    n: int
    at: Instant
    counted: Number
    expected: Number
    why: str | None

    @property
    def lost(self) -> int:
        return self.expected.fish - self.counted.fish

    @property
    def plus_minus(self) -> float | None:
        return quadrature(self.expected.plus_minus, self.counted.plus_minus)

    @property
    def percent(self) -> float | None:
        """Of what was expected; None where that is none."""
        return 100 * self.lost / self.expected.fish if self.expected.fish else None


class StockNumbers(NamedTuple):
    """All numbers of one tank since its fish were stocked.

    `dead` is what was counted and, beside it, what was estimated in mass events (`mass`); `moved`
    is in less out; `unaccounted` and `census` are None where nobody has counted since stocking.
    """

    tank: str
    since: Instant
    stocked: Number
    dead: Number
    mass: Number
    sampled: Number
    returned: Number
    moved: Number
    culled: Number
    cannibals: Number
    escaped: Number
    book: Number
    census: Number | None
    best: Number
    unaccounted: Number | None
    gaps: tuple[Gap, ...]
    movements: tuple[MovedFish, ...]
    counts: tuple[DeadSeen, ...]

    @property
    def gone_since(self) -> int:
        """What was seen to go since the census, less what came in; 0 without one."""
        return 0 if self.census is None else self.census.fish - self.best.fish

    @property
    def removed(self) -> int:
        """Fish taken out alive since stocking, less those moved in: no deaths."""
        out = (self.sampled, self.culled, self.cannibals, self.escaped)
        return sum(one.fish for one in out) - self.moved.fish


def quadrature(*errors: float | None) -> float | None:
    """The error of a sum of independent numbers; None where one of them is not known."""
    total = 0.0
    for one in errors:
        if one is None:
            return None
        total += one * one
    return sqrt(total)


# ---- which entries are of the fish that are there


def begins(plan: Plan, tank: Tank) -> int:
    """The UTC second from which a tank's entries can be of its lot; 0 where that is not known."""
    lot = plan.lot_of(tank)
    if lot is None or lot.hatched is None:
        return 0
    return at(lot.hatched, 0, 0, zone(plan.zone)).utc - BEFORE_HATCH_DAYS * 86400


def _of_lot(site: Site, places: Iterable[str]) -> dict[str, list[MovedFish]]:
    """The movements of places from the first that brought in fish of their lot, or counted them."""
    asked = sorted(set(places))
    tanks = {one.code: one for one in site.plan.tanks if one.code in asked}
    since = {place: begins(site.plan, tanks[place]) if place in tanks else 0 for place in asked}
    if not asked:
        return {}
    found = {}
    for place, seen in site.reader.stock.all_movements(asked, min(since.values())).items():
        here = [one for one in seen if one.at.utc >= since[place]]
        # What went or was counted before anything came in were fish of the lot before.
        came = [k for k, one in enumerate(here) if one.what in COMES_IN]
        counted = [k for k, one in enumerate(here) if one.what == What.CENSUS]
        if came or counted:
            found[place] = here[(came or counted)[0] :]
    return found


# ---- the best estimate alone, which the board asks for


def best(site: Site, places: Iterable[str]) -> dict[str, Best]:
    """The best estimates of tanks; one where no fish were ever entered is not among them."""
    found = {place: _best_before_deaths(seen) for place, seen in _of_lot(site, places).items()}
    since = sorted((place, one.counted.utc) for place, one in found.items())
    unit = unit_of_morts(site.plan)
    counts = site.reader.stock.counted_dead(since, MORTS, unit) if since else {}
    return {
        place: one._replace(fish=max(0, one.fish - sum(one_a_round(counts.get(place, ())))))
        for place, one in found.items()
    }


def _best_before_deaths(seen: Sequence[MovedFish]) -> Best:
    """What movements leave, oldest first, without the dead that were counted since."""
    fish, errors, since, by_census = 0, list[float | None](), seen[0].at, False
    for one in seen:
        if one.what == What.CENSUS:
            fish, errors, since, by_census = one.fish, [_error(one)], one.at, True
        elif one.what in COMES_IN or one.what in GOES_OUT:
            fish += one.fish if one.what in COMES_IN else -one.fish
            errors.append(_error(one))
    return Best(fish, since, quadrature(*errors), by_census)


def _error(one: MovedFish) -> float | None:
    """The error of an entry: what was counted one by one has none."""
    if one.plus_minus is None:
        return None if one.what in ESTIMATED else 0.0
    return one.plus_minus


# ---- all numbers


def numbers(
    site: Site, places: Iterable[str], until: Instant | None = None
) -> dict[str, StockNumbers]:
    """All numbers of tanks as of a moment, by what the record holds now.

    A tank where no fish were ever entered is not among them.
    """
    end = until.utc if until is not None else None
    moved = {
        place: here
        for place, seen in _of_lot(site, places).items()
        if (here := [one for one in seen if end is None or one.at.utc <= end])
    }
    counts = dead.counts(site, {place: seen[0].at.utc for place, seen in moved.items()})
    return {
        place: account(
            place, seen, [c for c in counts.get(place, ()) if end is None or c.at.utc <= end]
        )
        for place, seen in moved.items()
    }


def account(tank: str, movements: Sequence[MovedFish], counts: Sequence[DeadSeen]) -> StockNumbers:
    """The numbers that movements and counts of the dead come to, both oldest first."""
    totals = {what: _total(movements, what) for what in What}
    came, went = totals[What.MOVED_IN], totals[What.MOVED_OUT]
    mass = totals[What.DEAD]
    counted = sum(one.fish for one in counts)
    dead_at = [one.at for one in counts] + [one.at for one in movements if one.what == What.DEAD]
    ledger = _Ledger()
    gaps = []
    # What is of one second: what was counted dead then comes after, as in `best`.
    told: list[MovedFish | DeadSeen] = [*movements, *counts]
    for one in sorted(told, key=_in_time):
        if isinstance(one, MovedFish) and one.what == What.CENSUS:
            expected = ledger.best_now(one.at)
            gaps.append(Gap(one.n, one.at, _number(one), expected, one.reason))
        ledger.take(one)
    census = gaps[-1].counted if gaps else None
    newest = max(one.at for one in told)
    return StockNumbers(
        tank,
        movements[0].at,
        totals[What.STOCKED],
        Number(
            counted + mass.fish,
            mass.plus_minus,
            max(dead_at, default=None),
            len(counts) + mass.times,
        ),
        mass,
        totals[What.SAMPLED],
        totals[What.RETURNED],
        Number(
            came.fish - went.fish,
            quadrature(came.plus_minus, went.plus_minus),
            max((one.at for one in (came, went) if one.at), default=None),
            came.times + went.times,
        ),
        totals[What.CULLED],
        totals[What.CANNIBALS],
        totals[What.ESCAPED],
        ledger.book_now(newest),
        census,
        ledger.best_now(newest),
        ledger.unaccounted,
        tuple(gaps),
        tuple(movements),
        tuple(counts),
    )


class _Ledger:
    """Book and best estimate while entries are taken in one after another."""

    def __init__(self) -> None:
        self.book = self.best = 0
        self.book_errors: list[float | None] = []
        self.best_errors: list[float | None] = []
        self.unaccounted: Number | None = None

    def take(self, one: MovedFish | DeadSeen) -> None:
        """Take in one entry."""
        if isinstance(one, DeadSeen):
            self.book -= one.fish
            self.best -= one.fish
            return
        error = _error(one)
        if one.what == What.CENSUS:
            lost = max(0, self.book) - one.fish
            self.unaccounted = Number(lost, quadrature(*self.book_errors, error), one.at, 1)
            self.best, self.best_errors = one.fish, [error]
        elif one.what in COMES_IN or one.what in GOES_OUT:
            change = one.fish if one.what in COMES_IN else -one.fish
            self.book += change
            self.best += change
            self.book_errors.append(error)
            self.best_errors.append(error)

    def book_now(self, when: Instant) -> Number:
        return Number(max(0, self.book), quadrature(*self.book_errors), when)

    def best_now(self, when: Instant) -> Number:
        return Number(max(0, self.best), quadrature(*self.best_errors), when)


def _in_time(one: MovedFish | DeadSeen) -> tuple[int, bool, int]:
    return one.at.utc, isinstance(one, DeadSeen), one.n


def _number(one: MovedFish) -> Number:
    return Number(one.fish, _error(one), one.at, 1, one.method)


def _total(movements: Iterable[MovedFish], what: str) -> Number:
    """All entries of a kind as one number."""
    here = [one for one in movements if one.what == what]
    if not here:
        return Number(0)
    error = quadrature(*(_error(one) for one in here))
    return Number(sum(one.fish for one in here), error, here[-1].at, len(here), here[-1].method)


# ---- survival, three figures that are not mixed


class Survival(NamedTuple):
    """What became of the fish of a tank, as three figures, each a part of 1.

    `seen`: product-limit by the dead that were seen, fish taken out alive allowed for; an upper
    figure. `census`: counted alive, of those stocked and not taken out, with its error. `unseen`:
    unaccounted for, of those stocked, with its error. None where it is not known.
    """

    seen: float | None
    census: float | None
    census_error: float | None
    unseen: float | None
    unseen_error: float | None


def survival(of: StockNumbers) -> Survival:
    """The three survival figures of a tank; `census` and `unseen` are as of its newest census."""
    seen = _seen(of)
    census = census_error = unseen = unseen_error = None
    stocked = of.stocked.fish
    if of.census is not None and of.census.at is not None and of.unaccounted is not None:
        there = stocked + _alive(of, of.census.at)
        if there > 0:
            census = of.census.fish / there
            if of.census.plus_minus is not None and of.stocked.plus_minus is not None:
                census_error = census * sqrt(
                    (of.census.plus_minus / max(1, of.census.fish)) ** 2
                    + (of.stocked.plus_minus / there) ** 2
                )
        if stocked:
            unseen = of.unaccounted.fish / stocked
            if of.unaccounted.plus_minus is not None:
                unseen_error = of.unaccounted.plus_minus / stocked
    return Survival(seen, census, census_error, unseen, unseen_error)


_ALIVE_OUT = (What.SAMPLED, What.CULLED, What.CANNIBALS, What.ESCAPED, What.MOVED_OUT)


def _alive(of: StockNumbers, until: Instant) -> int:
    """Fish that came in less those taken out alive, beside the stocking, up to a moment."""
    change = 0
    for one in of.movements:
        if one.at.utc <= until.utc:
            change += one.fish * ((one.what == What.MOVED_IN) - (one.what in _ALIVE_OUT))
    return change


def _seen(of: StockNumbers) -> float | None:
    """Survival by the dead that were seen, day by day; never more than were left."""
    from tankwalk.science.survival import product_limit

    days: dict[object, list[int]] = {}
    for one in of.counts:
        days.setdefault(one.at.day, [0, 0])[0] += one.fish
    for moved in of.movements:
        here = days.setdefault(moved.at.day, [0, 0])
        if moved.what == What.DEAD:
            here[0] += moved.fish
        elif moved.what in COMES_IN:
            here[1] += moved.fish
        elif moved.what in _ALIVE_OUT:
            here[1] -= moved.fish
    dead, out, came, left = list[float](), list[float](), list[float](), 0
    for day in sorted(days):  # type: ignore[type-var]
        gone, change = days[day]
        left += max(0, change)
        came.append(max(0, change))
        dead.append(min(gone, left))
        out.append(min(max(0, -change), left - min(gone, left)))
        left -= min(gone, left) + int(out[-1])
    if not of.stocked.fish and not of.moved.fish:
        return None
    return product_limit(0, range(len(dead)), dead, out, came)[-1].part


def density(of: StockNumbers, volume_l: float) -> float | None:
    """Fish in a liter by the best estimate; None without a volume."""
    return of.best.fish / volume_l if volume_l > 0 else None
