"""One line for one story: what is out at a tank, with what was altered, noted, stopped there."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import MealSeen
from tankwalk.ledger.handovers import for_handover
from tankwalk.ledger.incidents import DoneSeen
from tankwalk.ledger.notes import NoteSeen
from tankwalk.plan.model import Plan
from tankwalk.practice.doing.follow_ups import Carried
from tankwalk.practice.feeding import feed_off, meals
from tankwalk.practice.feeding.feed_off import FeedOff
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

NOTE_HOURS = 12.0
"""A note so long before a flag was raised, or later, belongs to its story. Common practice."""


class Story(NamedTuple):
    """What stands at one place: its worst flag, the others there, and what belongs to them.

    `altered` is what should have been put back there by now, `note` the newest of the place or its
    loop, `feed` why the tank gets none.
    """

    worst: Standing
    also: tuple[Standing, ...] = ()
    altered: tuple[Carried, ...] = ()
    note: NoteSeen | None = None
    feed: FeedOff | None = None


def stories(
    site: Site, wrong: Sequence[Standing], altered: Sequence[Carried], now: Instant
) -> tuple[Story, ...]:
    """The flags that stand, worst first as they come, those of one tank in one."""
    if not wrong:
        return ()
    begun = min(one.raised.utc for one in wrong) - int(3600 * NOTE_HOURS)
    notes = [one for one in site.reader.notes.since(begun) if not for_handover(one)]
    told: list[Story] = []
    feed = Feed(site, now)
    for place in dict.fromkeys(one.place for one in wrong):
        here = [one for one in wrong if one.place == place]
        around = _around(site.plan, place)
        since = min(one.raised.utc for one in here) - int(3600 * NOTE_HOURS)
        note = next((n for n in notes if n.place in around and n.at.utc >= since), None)
        late = tuple(one for one in altered if one.terms.late and one.seen.place == place)
        told.append(Story(here[0], tuple(here[1:]), late, note, feed.off(place)))
    return tuple(told)


def _around(plan: Plan, place: str) -> tuple[str, ...]:
    tank = plan.find_tank(place)
    return (place,) if tank is None else (place, tank.loop)


class Feed:
    """Which tanks are not fed at the next meal; read once, and only where a tank is asked for."""

    def __init__(self, site: Site, now: Instant) -> None:
        self.site, self.now = site, now
        self.coming = meals.next_meal(site.plan, now)
        self._read: tuple[dict[str, list[MealSeen]], list[DoneSeen]] | None = None

    def off(self, place: str) -> FeedOff | None:
        """Why a tank is not fed at the next meal; None where it is, and for what is no tank."""
        tank = self.site.plan.find_tank(place)
        if tank is None or self.coming is None:
            return None
        if self._read is None:
            done = feed_off.done_lately(self.site, self.now)
            since = feed_off.reach(self.site.plan, self.now, done)
            self._read = meals.read(self.site, since, self.now), done
        return feed_off.off(self.site.plan, tank, self.coming, *self._read)
