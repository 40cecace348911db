"""Tanks that are not to be fed at a meal: by a pause that holds, or since the feed was stopped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.feeding import MealSeen
from tankwalk.ledger.incidents import DoneSeen
from tankwalk.plan.model import Plan, Tank
from tankwalk.plan.responses import stops_the_feed
from tankwalk.practice.feeding import meals
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

DONE_DAYS = 7
"""A step "stop the feed" is sought so far back: by then somebody fed, or turned it off by its own
entry. Common practice, no source."""


def done_lately(site: Site, now: Instant) -> list[DoneSeen]:
    """What was done about flags of late, oldest first."""
    return site.reader.incidents.done(now.utc - DONE_DAYS * 86400)


def reach(plan: Plan, now: Instant, done: Sequence[DoneSeen]) -> int:
    """UTC second since when meals tell who is not fed next: `done` about flags, and who fed since.

    What stands there without a time holds for its day, as it does for the meals that are due.
    """
    yesterday = at(now.day - timedelta(days=1), 0, 0, zone(plan.zone)).utc
    return min([yesterday, *(one.at.utc for one in done if _stops(one))])


class FeedOff(NamedTuple):
    """Why a tank gets no feed at a meal: the words of the entry, since when, and by whom.

    `place` is where it was entered: the tank, its loop or the site. `item` is the item whose flag
    it was done about, where it was; `one_meal` whether it is of this meal alone.
    """

    words: str
    since: Instant
    who: str
    place: str
    item: str | None = None
    one_meal: bool = False


def off(
    plan: Plan,
    tank: Tank,
    meal: Instant,
    seen: Mapping[str, Sequence[MealSeen]],
    done: Sequence[DoneSeen],
) -> FeedOff | None:
    """Why a tank is not fed at a planned meal; None where it is.

    `seen` is what was entered by place (see `meals.read`) and `done` what was done about flags in
    the last `DONE_DAYS`, both oldest first. The newest word holds.
    """
    found = [
        FeedOff(
            one.said.event or "",
            one.said.at,
            one.said.who,
            one.said.place,
            one_meal=one.said.meal_at is not None,
        )
        for one in meals.pauses(plan, tank, seen)
        if one.start <= meal.utc < one.end and meals.missed_why(one.said) is None
    ]
    stopped = _stopped(tank, meal, seen, done)
    return max((*found, *stopped), key=lambda one: one.since.utc, default=None)


def _stopped(
    tank: Tank,
    meal: Instant,
    seen: Mapping[str, Sequence[MealSeen]],
    done: Sequence[DoneSeen],
) -> list[FeedOff]:
    """The feed stopped about a flag: until it is turned on, or the tank is fed."""
    places = (tank.code, tank.loop, SITE)
    began = [
        one.at.utc
        for place in places
        for one in seen.get(place, ())
        if one.event == meals.FEED_ON or (place == tank.code and one.amount > 0)
    ]
    since = max(began, default=0)
    early = int(meals.COVERED_BEFORE_HOURS * 3600)
    return [
        FeedOff(one.text, one.at, one.who, one.place, one.item)
        for one in done
        if one.place in places
        and _stops(one)
        and one.at.utc > since
        and one.at.utc - early <= meal.utc
    ]


def _stops(one: DoneSeen) -> bool:
    return one.step is not None and stops_the_feed(one.text)
