"""What the fish are owed: meals by the hour, samples by the day, and what their age brings."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from tankwalk.clock import Instant, at, zone
from tankwalk.plan.feed_model import FeedKind
from tankwalk.plan.model import Plan, Tank
from tankwalk.practice.feeding import feed_off, meals
from tankwalk.practice.samples import sampling
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import (
    NEXT_HOURS,
    AgeChange,
    ChangeDue,
    Due,
    DueState,
    MealNext,
    MealsOwed,
    SampleLeft,
    SamplesDue,
    of_days,
)

PREPARE_MINUTES = 30
"""A meal is weighed and counted from so long before its time. Common practice, no source."""


def meals_due(site: Site, now: Instant) -> list[Due]:
    """Meals of today that a tank waits for since it was fed last, and the next one."""
    plan = site.plan
    fed = [tank for tank in plan.tanks if meals.is_fed(plan, tank, now.day)]
    if not plan.meals or not fed:
        return []
    before = now.day - timedelta(days=1)
    planned = meals.times(plan, before, now.day + timedelta(days=1))
    since_day = at(before, 0, 0, zone(plan.zone)).utc
    seen = meals.read(site, since_day)
    done = feed_off.done_lately(site, now)
    past = [when for when in planned if when.utc <= now.utc]
    coming = next((when for when in planned if when.utc > now.utc), None)
    waiting: dict[tuple[Instant, ...], list[str]] = {}
    today = {when for when in past if when.day == now.day}
    still: list[Tank] = []
    off: list[str] = []
    not_served = meals.not_served_of(plan, fed, planned, seen)
    for tank in fed:
        lacking = not_served[tank.code]
        told = (when for when in lacking if when == coming or when in today)
        missing = {when for when in told if not feed_off.off(plan, tank, when, seen, done)}
        if coming in missing:
            still.append(tank)
        elif coming is not None and feed_off.off(plan, tank, coming, seen, done):
            off.append(tank.code)
        since: list[Instant] = []
        for when in reversed(past):
            if when not in missing or when.day != now.day:
                break
            since.insert(0, when)
        if since:
            waiting.setdefault(tuple(since), []).append(tank.code)
    found = [_waits(since, tanks, now) for since, tanks in waiting.items()]
    if coming is not None and still and coming.hours_since(now) <= NEXT_HOURS:
        found.append(_next(plan, coming, still, off, now))
    return found


def _next(plan: Plan, coming: Instant, still: list[Tank], off: list[str], now: Instant) -> Due:
    """The next meal, and from when on it is made up."""
    early = coming.hours_since(now)
    kinds = {feed.kind for tank in still for feed in meals.owed(plan, tank, coming.day)}
    facts = MealNext(
        coming,
        len(still),
        early,
        Instant(coming.utc - 60 * PREPARE_MINUTES, coming.offset),
        bool(kinds - {FeedKind.LIVE}),
        FeedKind.LIVE in kinds,
        tuple(off),
    )
    return Due(-early - meals.LATE_HOURS, facts)


def _waits(since: tuple[Instant, ...], tanks: list[str], now: Instant) -> Due:
    late = now.hours_since(since[0])
    state = DueState.OVERDUE if late > meals.LATE_HOURS else DueState.NOW
    return Due(late - meals.LATE_HOURS, MealsOwed(since, tuple(tanks), state, late))


def samples_due(site: Site, now: Instant) -> list[Due]:
    """Samples that are due or overdue; those of the same tanks on the same day are one line."""
    plan = site.plan
    if not plan.samplings:
        return []
    last = sampling.newest(site, now)
    ages = {tank.code: plan.age(tank, now.day) for tank in plan.tanks}
    lines: dict[tuple[float, date | None, tuple[str, ...]], list[str]] = {}
    for one in plan.samplings:
        states: dict[tuple[float, date | None], list[str]] = {}
        for tank in plan.tanks:
            age = ages[tank.code]
            if age is None or not sampling.asked_at(one, age):
                continue
            seen = last.get((tank.code, one.what))
            day = None if seen is None else seen.at.day
            late = sampling.days_late(one, age, day, now.day)
            if late >= 0:
                states.setdefault((late, day), []).append(tank.code)
        for (late, day), codes in states.items():
            lines.setdefault((late, day, tuple(codes)), []).append(one.label)
    found = []
    for (late, day, places), labels in lines.items():
        facts = SamplesDue(tuple(labels), places, of_days(late), late, day)
        found.append(Due(late * 24, facts))
    return found


def samples_left(site: Site, now: Instant) -> list[Due]:
    """Samples that were begun and not ended: fish in the dish, and no sample before the end."""
    found = []
    for one in site.reader.samples.open_sittings():
        hours = now.hours_since(one.at)
        if hours >= 0:
            looked_at = len({fish.nth for fish in site.reader.samples.fish(one.n)})
            facts = SampleLeft(one.place, looked_at, one.planned, one.at, one.who)
            found.append(Due(hours, facts))
    return found


def changes(plan: Plan, now: Instant) -> list[Due]:
    """What changes for fish by their age today or tomorrow: feeds, and stages of life."""
    found = []
    midnight = at(now.day + timedelta(days=1), 0, 0, zone(plan.zone))
    for later in (0, 1):
        day = now.day + timedelta(days=later)
        late = -midnight.hours_since(now) if later else 0.0
        groups: dict[tuple[AgeChange, str, str, int], list[str]] = {}
        for tank in plan.tanks:
            age = plan.age(tank, day)
            for change in () if age is None else _changes(plan, tank, age):
                groups.setdefault((*change, age or 0), []).append(tank.code)
        for (kind, whom, what, age), codes in groups.items():
            facts = ChangeDue(kind, whom, what, bool(later), age, tuple(codes))
            found.append(Due(late, facts))
    return found


def _changes(plan: Plan, tank: Tank, age: int) -> Iterator[tuple[AgeChange, str, str]]:
    """What is new for the fish of a tank on the day they reach an age, for whom, and of what."""
    whom = tank.treatment or tank.lot or tank.code
    for feed, starts in meals.starts_and_ends(plan, tank, age):
        kind = AgeChange.FEED_STARTS if starts else AgeChange.FEED_ENDS
        yield kind, whom, meals.feed_words(feed)
    lot = plan.lot_of(tank)
    for profile in plan.profiles:
        if lot is not None and profile.species == lot.species and age > 0:
            stage = profile.stage(age)
            if stage and stage != profile.stage(age - 1):
                yield AgeChange.STAGE, lot.code, stage
