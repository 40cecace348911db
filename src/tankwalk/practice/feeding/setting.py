"""Cones to set: what the meals to come need of nauplii, worked back to when cysts go into water.

The board asks it, so that it reads and works out nothing else of a day to come.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import BatchKind, BatchSeen
from tankwalk.plan.model import Plan, Tank
from tankwalk.practice.feeding import forecast, meals, rations
from tankwalk.practice.feeding.forecast import Shelled, Standing, ToSet
from tankwalk.practice.feeding.rations import Known, Need
from tankwalk.practice.livefeed import batches, cones
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple


class Days:
    """What every tank needs at the meals of the days to come, each worked out once."""

    def __init__(self, plan: Plan, known: Mapping[str, Known]) -> None:
        self.plan, self.known = plan, known
        self._needs: dict[date, list[tuple[Tank, Need]]] = {}
        self._nauplii: dict[date, dict[int, list[tuple[str, float]]]] = {}

    def needs(self, on: date) -> list[tuple[Tank, Need]]:
        """Every tank with every feed that it gets on a day."""
        if on not in self._needs:
            self._needs[on] = [
                (tank, need)
                for tank in self.plan.tanks
                for need in rations.owed(self.plan, tank, on, self._of(tank))
            ]
        return self._needs[on]

    def nauplii(self, when: Instant, but: Iterable[str] = ()) -> float:
        """What the tanks need at a planned meal, in thousand, without some of them."""
        left_out = set(but)
        return sum(thousand for tank, thousand in self.each(when) if tank not in left_out)

    def each(self, when: Instant) -> Sequence[tuple[str, float]]:
        """What each tank needs at a planned meal, in thousand: its cup."""
        if when.day not in self._nauplii:
            self._nauplii[when.day] = self._by_meal(when.day)
        return self._nauplii[when.day].get(when.utc, ())

    def _by_meal(self, on: date) -> dict[int, list[tuple[str, float]]]:
        """What each tank needs of nauplii, in thousand, at the meals of a day by their second."""
        every = [
            (tank.code, rations.need(self.plan, tank, feed, on, self._of(tank)))
            for tank in self.plan.tanks
            for feed in meals.owed(self.plan, tank, on)
            if feed.hatched
        ]
        return {
            when.utc: [
                (tank, rations.measured(need.each[nth], need.feed.unit))
                for tank, need in every
                if nth < len(need.each)
            ]
            for nth, when in enumerate(meals.times(self.plan, on, on))
        }

    def _of(self, tank: Tank) -> Known:
        return self.known.get(tank.code, Known())


class Setting(NamedTuple):
    """Cones that stand and cones to set, with what they were worked back from.

    `seen` is what happened to batches lately, oldest first.
    """

    to_set: tuple[ToSet, ...]
    standing: tuple[Standing, ...]
    days: Days
    seen: Sequence[BatchSeen]


def worked_back(site: Site) -> Setting:
    """Cones to set until the end of tomorrow, and what tells."""
    return site.worked("cones to set", lambda: _worked_back(site))


def _worked_back(site: Site) -> Setting:
    plan, now = site.plan, site.now()
    with site.ledger.reading() as reader:
        since = now.utc - cones.USUAL_DAYS * 86400
        seen = [one for one in reader.feeding.batches(since) if one.at.utc <= now.utc]
        shelled = [
            Shelled(one.name, one.grams)
            for one in batches.live_batches(site, now)
            if one.kind is BatchKind.SHELLED and one.grams and one.next and one.next.hours(now) > 0
        ]
        days = Days(plan, rations.known_now(site, now))
    stand = forecast.standing(plan, seen, now)
    planned = meals.times(plan, now.day, now.day + timedelta(days=3))

    def needed(start: Instant, until: Instant) -> float:
        return sum(days.nauplii(one) for one in planned if start.utc <= one.utc < until.utc)

    found = forecast.to_set(plan, now, stand, seen, shelled, needed)
    return Setting(found, stand, days, seen)
