"""Whether anybody is there: the next long gap between looks, and how long nothing was entered."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from itertools import pairwise

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.follow_up_kinds import FollowUpState
from tankwalk.ledger.follow_ups import FollowUpSeen
from tankwalk.ledger.handovers import HandoverSeen
from tankwalk.plan.model import Plan
from tankwalk.practice.feeding import meals
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.tasks import Due, GapAhead, LastSaid, Missed, NobodyThere
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import median

LONG_GAP_HOURS = 12.0
"""A shorter stretch without a planned look is a night. Common practice, no source."""

LONGER_HOURS = 2.0
"""A gap is told that is so much longer than those of most days: the others everybody knows."""

SOON_HOURS = 2.0
"""A stretch without anybody is told so long before it begins. Common practice, no source."""

LATE_HOURS = 1.0
"""Who is so late to a tank may still go there. Common practice, no source."""

AHEAD_HOURS = 24.0
"""A gap is told from a day before it begins."""

UNATTENDED_HOURS = 24.0
"""Somebody who can tell a fault has to be there every day, weekends and holidays included.
Guide for the Care and Use of Laboratory Animals, 8th ed., 2011."""

CLOSED_DAYS = 60
"""A record that rested longer was of a closed season: nothing was missed meanwhile."""

GIST = ("STOCK", "ALTERED", "EXPECT")
"""Sections of a handover whose first line is told to whom comes after days."""


def looks(plan: Plan, first: date, last: date) -> list[Instant]:
    """When somebody is to look at the tanks, from one local day to another, in order."""
    tz = zone(plan.zone)
    found = set()
    for later in range((last - first).days + 1):
        day = first + timedelta(days=later)
        for one in plan.checklists:
            if one.is_on(day) and (one.glance is not None or one.tank):
                found.add(at(day, one.at.hour, one.at.minute, tz))
    return sorted(found)


class Goes(NamedTuple):
    """Somebody who said that they go meanwhile: who, when, and where."""

    who: str
    at: Instant
    place: str


class Away(NamedTuple):
    """A long stretch in which nobody is there by the plan, and who said that they go all the same.

    `start` is now, or the last round or meal before it.
    """

    start: Instant
    end: Instant
    goes: tuple[Goes, ...] = ()

    def covers(self, place: str) -> bool:
        """Whether somebody goes to a place meanwhile."""
        return any(one.place == place for one in self.goes)


def away(plan: Plan, now: Instant, to_do: Iterable[FollowUpSeen]) -> Away | None:
    """The long stretch without anybody that begins now or soon; None where none does.

    Who feeds is there as much as who walks a round. `to_do` are the open actions: one of a tank
    with an owner and a time in that stretch is somebody who goes there.
    """
    first, last = now.day, now.day + timedelta(days=7)
    fed = (
        when
        for when in meals.times(plan, first, last)
        if any(meals.is_fed(plan, tank, when.day) for tank in plan.tanks)
    )
    start = now
    for one in sorted({*looks(plan, first, last), *fed}):
        if one.utc <= now.utc:
            continue
        if one.hours_since(start) >= LONG_GAP_HOURS:
            return Away(start, one, _going(to_do, now, one))
        if one.hours_since(now) > SOON_HOURS:
            break
        start = one
    return None


def _going(to_do: Iterable[FollowUpSeen], now: Instant, until: Instant) -> tuple[Goes, ...]:
    earliest = now.utc - int(LATE_HOURS * 3600)
    found = [
        Goes(one.owner, Instant(one.due_at, now.offset), one.place)
        for one in to_do
        if one.owner is not None
        and one.place not in (None, SITE)
        and one.due_at is not None
        and earliest <= one.due_at < until.utc
        and one.state is not FollowUpState.DONE
    ]
    return tuple(sorted(found, key=lambda one: one.at.utc))


def gap(plan: Plan, now: Instant) -> list[Due]:
    """The next stretch without a planned look that is longer than those of most days."""
    first = now.day - timedelta(days=2)
    planned = list(pairwise(looks(plan, first, first + timedelta(days=11))))
    of_day: dict[date, float] = {}
    for one, two in planned:
        of_day[one.day] = max(of_day.get(one.day, 0.0), two.hours_since(one))
    if not of_day:
        return []
    usual = median(list(of_day.values())[:7])
    for one, two in planned:
        hours = two.hours_since(one)
        if two.utc <= now.utc or hours < LONG_GAP_HOURS or hours < usual + LONGER_HOURS:
            continue
        if one.hours_since(now) > AHEAD_HOURS:
            break
        return [Due(min(0.0, now.hours_since(one)), GapAhead(one, two))]
    return []


def unattended(site: Site, now: Instant) -> list[Due]:
    """That nobody entered anything for more than a day, and what was missed meanwhile."""
    last = site.reader.spine.last_entry()
    if last is None or now.hours_since(last.at) <= UNATTENDED_HOURS:
        return []
    hours = now.hours_since(last.at)
    late = hours - UNATTENDED_HOURS
    found = [Due(late, NobodyThere(hours, last.at, last.who))]
    if hours <= CLOSED_DAYS * 24 and any(missed := _missed(site, last.at, now)):
        found.append(Due(late, missed))
    given = site.reader.handovers.last()
    if given is not None and given.gist:
        found.append(Due(late, LastSaid(tuple(_in_order(given)), given.who, given.at)))
    return found


def _in_order(given: HandoverSeen) -> list[str]:
    """What a handover said first: its worst tank, what is altered, what to expect."""
    first = dict(given.gist)
    return [first[name] for name in GIST if name in first]


def _missed(site: Site, last: Instant, now: Instant) -> Missed:
    """How many rounds, meals and harvests fell between two moments."""
    from tankwalk.practice.livefeed import cones

    plan, tz = site.plan, zone(site.plan.zone)
    rounds = 0
    for later in range((now.day - last.day).days + 1):
        day = last.day + timedelta(days=later)
        for one in plan.checklists:
            if one.is_on(day):
                rounds += last.utc < at(day, one.at.hour, one.at.minute, tz).utc <= now.utc
    fed = [
        when
        for when in meals.times(plan, last.day, now.day)
        if last.utc < when.utc <= now.utc
        and any(meals.is_fed(plan, tank, when.day) for tank in plan.tanks)
    ]
    batches = site.reader.feeding.batches(last.utc - cones.USUAL_DAYS * 86400)
    due = [cones.due_at(events) for events in cones.open_batches(batches).values()]
    late = [when for when in due if when is not None and when <= now.utc]
    return Missed(rounds, len(fed), len(late))
