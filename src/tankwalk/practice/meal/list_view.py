"""The dispensing list as a page shows it: one frozen value."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import MealSeen
from tankwalk.practice.feeding.dispensing import Looked, MealList, meal_list
from tankwalk.practice.meal import listing, which
from tankwalk.practice.meal.held import EARLIEST_HOURS, Held, held
from tankwalk.practice.meal.stops import Stop
from tankwalk.practice.meal.which import MealStands
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple


class ListRow(NamedTuple):
    """A tank of the list: what it gets, what it was given, and what was seen at it last."""

    stop: Stop
    gave: tuple[tuple[MealSeen, ...], ...]
    """What it was given at this meal of each of its feeds."""
    missed: MealSeen | None
    last: tuple[Looked, ...]
    """What was seen at its last meals: left over, how they went for the feed."""


class ListView(NamedTuple):
    """The list of one meal, and the other meals of the day."""

    now: Instant
    meal: Instant
    meals: tuple[MealStands, ...]
    rows: tuple[ListRow, ...]
    list: MealList
    began: str
    """Who gave the newest of this meal; "" where nothing was given."""
    held: Held

    @property
    def stops(self) -> tuple[Stop, ...]:
        return tuple(row.stop for row in self.rows)


def made(site: Site, meal: Instant | None = None) -> ListView | None:
    """The list of a meal, else of the one to give now; None where no meal is planned."""
    now = site.now()
    stands = which.of_today(site, now)
    chosen = meal or which.to_give(stands, now)
    if chosen is None:
        return None
    listed = meal_list(site, chosen)
    since = chosen.utc - EARLIEST_HOURS * 3600
    stops = listing.stops(site.plan, listed, site.reader.feeding.poured(since))
    holds = held(site, chosen, stops)
    given = [one for many in holds.given.values() for one in many]
    newest = max(given, key=lambda one: one.n, default=None)
    rows = tuple(
        ListRow(
            stop,
            tuple(holds.gave(stop, one) for one in stop.portions),
            holds.missed(stop),
            row.last,
        )
        for stop, row in zip(stops, listed.rows, strict=True)
    )
    began = "" if newest is None else newest.who
    return ListView(now, chosen, stands, rows, listed, began, holds)
