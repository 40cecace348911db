"""Whether anybody is there: the next long gap between looks, and how long nothing was entered."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.handovers import HandoverSeen
from tankwalk.plan.model import Plan
from tankwalk.practice.feeding import meals
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import Due, GapAhead, LastSaid, Missed, NobodyThere
from tankwalk.science.middle import median

LONG_GAP_HOURS = 12.0
"""A shorter stretch without a planned look is a night. Common practice, no source."""

LONGER_HOURS = 2.0
"""A gap is told that is so much longer than those of most days: the others everybody knows."""

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
