"""The dispensing list as a page shows it: one frozen value."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import MealSeen
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import Item
from tankwalk.practice.meal import listing, which
from tankwalk.practice.meal.held import Held, held
from tankwalk.practice.meal.stops import Portion, Pour, Stop
from tankwalk.practice.meal.which import MealStands
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple


class Total(NamedTuple):
    """A feed of the meal: what is made up of it for all tanks, in its unit, and from which batch.

    `known` is whether the plan has a ration of it for every tank that gets it.
    """

    feed: str
    label: str
    unit: str
    live: bool
    listed: float
    full: float
    pours: tuple[Pour, ...]
    known: bool

    @property
    def ml(self) -> float | None:
        """In mL; None for what is weighed."""
        return sum(one.ml for one in self.pours) if self.pours else None


class ListRow(NamedTuple):
    """A tank of the list: what it gets, what it was given, and what was seen at it last."""

    stop: Stop
    gave: tuple[tuple[MealSeen, ...], ...]
    """What it was given at this meal of each of its feeds."""
    missed: MealSeen | None
    last: tuple[tuple[Item, Seen], ...]
    """The newest of what is asked at meals: left over, how they went for the feed."""


class ListView(NamedTuple):
    """The list of one meal, and the other meals of the day."""

    now: Instant
    meal: Instant
    meals: tuple[MealStands, ...]
    rows: tuple[ListRow, ...]
    totals: tuple[Total, ...]
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
    stops = listing.stops(site, chosen)
    holds = held(site, chosen, stops)
    given = [one for many in holds.given.values() for one in many]
    newest = max(given, key=lambda one: one.n, default=None)
    return ListView(
        now,
        chosen,
        stands,
        tuple(_row(site, stop, holds, chosen) for stop in stops),
        _totals(site, stops),
        "" if newest is None else newest.who,
        holds,
    )


def _row(site: Site, stop: Stop, holds: Held, meal: Instant) -> ListRow:
    last: list[tuple[Item, Seen]] = []
    for code in dict.fromkeys(code for codes in listing.asked_ever(site.plan) for code in codes):
        item = site.plan.item(code)
        seen = holds.seen.get((stop.tank.code, code))
        if seen is None:
            looks = holds.looks.get((stop.tank.code, code))
            if looks is None:
                looks = tuple(site.reader.readings.history(stop.tank.code, code, item.unit, 1))
            seen = looks[-1] if looks else None
        if seen is not None and meal.hours_since(seen.at) < 24:
            last.append((item, seen))
    gave = tuple(holds.gave(stop, one) for one in stop.portions)
    return ListRow(stop, gave, holds.missed(stop), tuple(last))


def _totals(site: Site, stops: tuple[Stop, ...]) -> tuple[Total, ...]:
    """The feeds of a meal in the order of the plan."""
    found = []
    for code in dict.fromkeys(feed.code for feed in site.plan.feeds):
        here = [one for stop in stops if stop.fed for one in stop.portions if one.feed == code]
        if not here:
            continue
        pours: dict[tuple[str, float], float] = {}
        for portion in here:
            for pour in portion.pours:
                key = pour.batch, pour.per_ml
                pours[key] = pours.get(key, 0.0) + pour.ml
        first: Portion = here[0]
        found.append(
            Total(
                code,
                first.label,
                first.unit,
                first.live,
                sum(one.listed or 0.0 for one in here),
                sum(one.full or 0.0 for one in here),
                tuple(Pour(batch, ml, per_ml) for (batch, per_ml), ml in pours.items()),
                all(one.listed is not None for one in here),
            )
        )
    return tuple(found)
