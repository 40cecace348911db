"""What each tank of a trial was fed: live and dry, beside its plan, and meals it did not get."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.feeding import MealSeen
from tankwalk.plan.model import Feed, FeedKind, Tank
from tankwalk.practice.feeding import meals
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple


class Fed(NamedTuple):
    """The feed of one tank: live in thousands, dry in g, over `days` days.

    `planned` and `against` sum the meals whose plan the record kept, in shares of each plan, so
    that feeds of several units add up.
    """

    tank: Tank
    days: int
    live: float
    dry: float
    planned: int
    against: float
    missed: tuple[Instant, ...]
    given: tuple[tuple[int, float, float], ...] = ()
    """Every meal: its UTC second, live in thousands, dry in g."""

    def between(self, first: Instant, last: Instant) -> tuple[float, float]:
        """Live in thousands and dry in g from one moment to another."""
        here = [one for one in self.given if first.utc <= one[0] <= last.utc]
        return sum(live for _, live, _ in here), sum(dry for _, _, dry in here)

    @property
    def of_plan(self) -> float | None:
        """Given of planned, in percent: the mean over meals whose plan was kept."""
        return 100 * self.against / self.planned if self.planned else None


def fed(site: Site, tanks: Sequence[Tank], first: date, until: Instant) -> tuple[Fed, ...]:
    """The feed of tanks from a local day to a moment."""
    plan = site.plan
    since = at(first, 0, 0, zone(plan.zone)).utc
    seen = [one for one in site.reader.feeding.meals(since) if one.at.utc <= until.utc]
    by_place = meals.by_place(seen)
    planned = [
        one
        for one in meals.times(plan, first, until.day)
        if since <= one.utc and until.hours_since(one) > meals.LATE_HOURS
    ]
    kinds = {one.code: one for one in plan.feeds}
    days = (until.day - first).days + 1
    return tuple(_fed(site, tank, by_place, planned, kinds, days) for tank in tanks)


def _fed(
    site: Site,
    tank: Tank,
    seen: Mapping[str, Sequence[MealSeen]],
    planned: Sequence[Instant],
    kinds: Mapping[str, Feed],
    days: int,
) -> Fed:
    plan = site.plan
    live = dry = against = 0.0
    known, given = 0, []
    for one in seen.get(tank.code, ()):
        if one.event is not None or one.amount <= 0:
            continue
        feed = kinds.get(one.feed)
        if feed is not None and feed.kind is FeedKind.LIVE:
            live += one.amount
            given.append((one.at.utc, one.amount, 0.0))
        elif one.unit == "g":
            dry += one.amount
            given.append((one.at.utc, 0.0, one.amount))
        if one.planned:
            known += 1
            against += one.amount / one.planned
    missed = {
        when.utc: when
        for when in meals.not_served(plan, tank, planned, seen)
        if meals.is_fed(plan, tank, when.day)
    }
    for place in (tank.code, tank.loop, SITE):
        for one in seen.get(place, ()):
            if meals.missed_why(one) is not None:
                when = one.at if one.meal_at is None else Instant(one.meal_at, one.at.offset)
                missed[when.utc] = when
    late = tuple(missed[utc] for utc in sorted(missed))
    return Fed(tank, days, live, dry, known, against, late, tuple(given))
