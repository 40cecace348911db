"""What the record holds of one meal so far: fed, not fed and why, what was seen, and before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import timedelta

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.feeding import MealSeen
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import Plan
from tankwalk.practice.feeding import meals
from tankwalk.practice.meal.stops import Asked, Line, Portion, Stop
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

PAST_DAYS = 2
"""Meals of so many days before are shown beside this one."""

EARLIEST_HOURS = 12
"""What was said to be of a meal went in so long before its time at most."""

PAST = 8
"""Looks of an item that are read: those of this meal, and some before."""

SHOWN = 4
"""Meals before this one that a line shows."""

Key = tuple[str, str]
"""A tank, and a feed or an item there."""


class Held(NamedTuple):
    """What the record holds of a meal; mappings are replaced, never changed."""

    given: Mapping[Key, tuple[MealSeen, ...]]
    none: Mapping[Key, MealSeen]
    """Why a tank, a loop or the site gets none of a feed at this meal, by place and feed."""
    seen: Mapping[Key, Seen | None]
    """What was read at this meal; None where it was not taken."""
    past: Mapping[Key, tuple[MealSeen, ...]]
    looks: Mapping[Key, tuple[Seen, ...]]

    def gave(self, stop: Stop, portion: Portion) -> tuple[MealSeen, ...]:
        """What a tank was given of a feed at this meal, oldest first."""
        return self.given.get((stop.tank.code, portion.feed), ())

    def why_none(self, stop: Stop, portion: Portion) -> MealSeen | None:
        """Why a tank gets none of a feed at this meal; None where nobody said so."""
        here = self.none.get((stop.tank.code, portion.feed))
        if here is not None:
            return here
        places = (stop.tank.loop, SITE)
        return next((one for (place, _), one in self.none.items() if place in places), None)

    def fed(self, stop: Stop) -> bool:
        """Whether anything was given at a tank."""
        return any(self.gave(stop, one) for one in stop.portions)

    def open(self, stop: Stop, line: Line) -> bool:
        """Whether a line is still to be answered; how they went for it is asked once fed."""
        if stop.off is not None:
            return False
        if isinstance(line, Portion):
            return not self.gave(stop, line) and self.why_none(stop, line) is None
        if (stop.tank.code, line.slot.item.code) in self.seen:
            return False
        return any(
            self.gave(stop, one) or (self.why_none(stop, one) is None and not line.after)
            for one in stop.portions
        )

    def missed(self, stop: Stop) -> MealSeen | None:
        """Why a tank got nothing at all at this meal, where somebody said so."""
        if self.fed(stop) or stop.off is not None:
            return None
        found = [self.why_none(stop, one) for one in stop.portions]
        return found[0] if found and None not in found else None


def is_missed(one: MealSeen) -> bool:
    """Whether a meal was missed, and not paused on purpose."""
    return meals.missed_why(one) is not None


def held(site: Site, meal: Instant, stops: Iterable[Stop], before: Held | None = None) -> Held:
    """Read what the record holds of a meal; `before` is what was read last, for the past."""
    plan = site.plan
    start, end = bounds(plan, meal)
    back = EARLIEST_HOURS * 3600 if before is not None else PAST_DAYS * 86400
    given: dict[Key, tuple[MealSeen, ...]] = {}
    past: dict[Key, tuple[MealSeen, ...]] = {}
    none: dict[Key, MealSeen] = {}
    for one in site.reader.feeding.meals(meal.utc - back):
        key = one.place, one.feed
        mine = one.meal_at == meal.utc or (one.meal_at is None and start <= one.at.utc < end)
        if one.event is not None:
            if one.meal_at == meal.utc:
                none[key] = one
        elif one.amount <= 0:
            continue
        elif mine:
            given[key] = (*given.get(key, ()), one)
        elif one.at.utc < start or (one.meal_at or 0) < meal.utc:
            past[key] = (*past.get(key, ()), one)[-SHOWN:]
    kept = past if before is None else before.past
    looks = _looks(site, stops) if before is None else before.looks
    found = Held(given, none, {}, kept, looks)
    if before is not None:
        return found._replace(seen=before.seen)
    return _seen(site, found, stops, start)


def bounds(plan: Plan, meal: Instant) -> tuple[int, int]:
    """From and until which UTC second what is given belongs to a meal, where nobody said."""
    around = meals.times(plan, meal.day - timedelta(days=1), meal.day + timedelta(days=1))
    moments = sorted({one.utc: one for one in (*around, meal)}.values())
    opens = meals.openings(moments)
    here = moments.index(meal)
    day_after = at(meal.day + timedelta(days=1), 0, 0, zone(plan.zone)).utc
    return opens[here], opens[here + 1] if here + 1 < len(moments) else day_after


def _looks(site: Site, stops: Iterable[Stop]) -> dict[Key, tuple[Seen, ...]]:
    found = {}
    for stop in stops:
        for line in stop.lines:
            if isinstance(line, Asked):
                item = line.slot.item
                here = site.reader.readings.history(stop.tank.code, item.code, item.unit, PAST)
                found[stop.tank.code, item.code] = tuple(here)
    return found


def _seen(site: Site, found: Held, stops: Iterable[Stop], start: int) -> Held:
    """What was read at this meal, told from what was read before: by when, and after which feed."""
    seen: dict[Key, Seen | None] = {}
    looks = dict(found.looks)
    for stop in stops:
        fed = min((one.n for p in stop.portions for one in found.gave(stop, p)), default=0)
        for line in stop.lines:
            if isinstance(line, Portion):
                continue
            item = line.slot.item
            key = stop.tank.code, item.code
            here = looks[key]
            mine = [
                one
                for one in here
                if one.at.utc >= start and (not line.after or (fed and one.n > fed))
            ]
            if mine:
                seen[key] = mine[-1]
                looks[key] = tuple(one for one in here if one not in mine)
            elif not line.after or fed:
                left = site.reader.readings.not_taken(stop.tank.code, item.code, item.unit)
                if left is not None and left[1].utc >= start:
                    seen[key] = None
    return found._replace(seen=seen, looks=looks)
