"""Meals: when they are planned, which a tank was given, and what it may get."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from enum import Enum
from typing import TYPE_CHECKING

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.feeding import MealSeen
from tankwalk.plan.model import Feed, Plan, Tank
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    pass

EARLY_HOURS = 0.5
"""Feed given so long before a planned meal belongs to it. Common practice, no source."""

LATE_HOURS = 0.5
"""A meal is overdue so long after its time: a room takes a while to feed. Common practice."""

APART_SECONDS = 300
"""Feeds given further apart than this are two meals. Common practice, no source."""

TWICE_HOURS = 0.5
"""The same feed given again within this time is asked about. Common practice, no source."""

COVERED_BEFORE_HOURS = 1.0
"""A pause also covers a meal whose time was so long before it. Common practice, no source."""

FEED_ON = "feed on"
"""The event that ends the pauses of a place, and of what lies in it."""

FEED_OFF = "pause: feed off"
"""How an event begins that turns feed off until it is turned on again, where it says no end."""

HOLDS_DAYS = 90
"""Feed off is sought so far back: a lot of larvae is over by then. Common practice, no source."""

MISSED = "missed: "
"""How an event begins that says why a planned meal was not given: a deviation, owed no more."""

SHORT_SHARE = 0.15
"""Less than planned by more than this share is a short ration. Common practice, no source."""

_LASTING = r"\b(\d+(?:[.,]\d+)?)\s*(min|h)\b"
_UNTIL = r"\buntil (\d{1,2}):(\d{2})\b"


def times(plan: Plan, first: date, last: date) -> list[Instant]:
    """When meals are planned from one local day to another, in order."""
    tz = zone(plan.zone)
    found = []
    for later in range((last - first).days + 1):
        day = first + timedelta(days=later)
        found += [
            at(day, meal.at.hour, meal.at.minute, tz) for meal in plan.meals if meal.is_on(day)
        ]
    return sorted(found)


def next_meal(plan: Plan, now: Instant) -> Instant | None:
    """The next planned meal of today or tomorrow; None where no tank is fed then."""
    return next(
        (
            when
            for when in times(plan, now.day, now.day + timedelta(days=1))
            if when.utc > now.utc and any(is_fed(plan, tank, when.day) for tank in plan.tanks)
        ),
        None,
    )


def meal_after(plan: Plan, given: Instant) -> Instant | None:
    """The next planned meal after the one that feed given at a moment belongs to."""
    planned = times(plan, given.day - timedelta(days=1), given.day + timedelta(days=1))
    opens = openings(planned)
    return next(
        (
            when
            for when, opening in zip(planned, opens, strict=True)
            if opening > given.utc and any(is_fed(plan, tank, when.day) for tank in plan.tanks)
        ),
        None,
    )


def next_open(plan: Plan, seen: Mapping[str, Sequence[MealSeen]], now: Instant) -> Instant | None:
    """The next planned meal that a tank still waits for: one given before its time is over.

    `seen` is what was entered by place, oldest first (see `by_place`).
    """
    coming = next_meal(plan, now)
    if coming is None:
        return None
    planned = times(plan, now.day - timedelta(days=1), coming.day)
    nth = planned.index(coming)
    if openings(planned)[nth] > now.utc:
        return coming
    fed = [tank for tank in plan.tanks if is_fed(plan, tank, coming.day)]
    if any(coming in those for those in not_served_of(plan, fed, planned, seen).values()):
        return coming
    return next_meal(plan, coming)


def owed(plan: Plan, tank: Tank, on: date) -> tuple[Feed, ...]:
    """The feeds a tank is to get on a local day."""
    age = plan.age(tank, on)
    if age is None:
        return ()
    return tuple(f for f in plan.feeds_of(tank) if f.dph[0] <= age <= f.dph[1])


class Owed:
    """What many tanks are to get on many days: the feeds of a treatment at an age, sought once."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._known: dict[tuple[str | None, int], tuple[Feed, ...]] = {}

    def of(self, tank: Tank, on: date) -> tuple[Feed, ...]:
        """The feeds a tank is to get on a local day, as `owed` has them."""
        age = self._plan.age(tank, on)
        if age is None:
            return ()
        key = tank.treatment, age
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = owed(self._plan, tank, on)
        return found

    def is_fed(self, tank: Tank, on: date) -> bool:
        """Whether a tank is fed on a day, as `is_fed` has it."""
        return bool(self.of(tank, on)) if self._plan.feeds else is_fed(self._plan, tank, on)


def is_fed(plan: Plan, tank: Tank, on: date) -> bool:
    """Whether a tank is fed on a day: by its feeds, or where none is planned, if it has fish."""
    return bool(owed(plan, tank, on) if plan.feeds else plan.age(tank, on) is not None)


def starts_and_ends(plan: Plan, tank: Tank, age: int) -> Iterator[tuple[Feed, bool]]:
    """Feeds that a tank gets from this age on (True), or got until the day before (False)."""
    mine = plan.feeds_of(tank)

    def gets(code: str, on: int) -> bool:
        return any(f.code == code and f.dph[0] <= on <= f.dph[1] for f in mine)

    for feed in mine:
        if feed.dph[0] == age and not gets(feed.code, age - 1):
            yield feed, True
        if feed.dph[1] == age - 1 and not gets(feed.code, age):
            yield feed, False


def by_place(seen: Iterable[MealSeen]) -> dict[str, list[MealSeen]]:
    """Meals and pauses by the place they were entered for, in the order they came."""
    found: dict[str, list[MealSeen]] = {}
    for meal in seen:
        found.setdefault(meal.place, []).append(meal)
    return found


def in_order(seen: Mapping[str, Sequence[MealSeen]]) -> list[MealSeen]:
    """What was entered at all places, oldest first."""
    every = (meal for many in seen.values() for meal in many)
    return sorted(every, key=lambda meal: (meal.at.utc, meal.n))


def read(site: Site, since: int, until: Instant | None = None) -> dict[str, list[MealSeen]]:
    """What was entered of meals since a UTC second, and what holds since before: feed turned off.

    By place, oldest first; with `until` nothing later.
    """
    feeding = site.reader.feeding
    before = feeding.feed_off(since - HOLDS_DAYS * 86400)
    seen = [*(one for one in before if one.at.utc < since), *feeding.meals(since)]
    return by_place(one for one in seen if until is None or one.at.utc <= until.utc)


def not_served(
    plan: Plan, tank: Tank, planned: Sequence[Instant], seen: Mapping[str, Sequence[MealSeen]]
) -> list[Instant]:
    """Planned meals that nobody gave a tank and no pause covers.

    `planned` is in order, `seen` what was entered by place, oldest first (see `by_place`).
    """
    return not_served_of(plan, [tank], planned, seen)[tank.code]


def not_served_of(
    plan: Plan,
    tanks: Iterable[Tank],
    planned: Sequence[Instant],
    seen: Mapping[str, Sequence[MealSeen]],
) -> dict[str, list[Instant]]:
    """The same for many tanks, by tank: when feed belongs to which meal is worked out once."""
    opens = openings(planned)
    slots = {when.utc: nth for nth, when in enumerate(planned)}
    return {tank.code: _not_served(plan, tank, planned, opens, slots, seen) for tank in tanks}


def _not_served(
    plan: Plan,
    tank: Tank,
    planned: Sequence[Instant],
    opens: Sequence[int],
    slots: Mapping[int, int],
    seen: Mapping[str, Sequence[MealSeen]],
) -> list[Instant]:
    given: list[list[int]] = [[] for _ in planned]
    said = [False] * len(planned)
    for meal in seen.get(tank.code, ()):
        if meal.event is not None or meal.amount <= 0:
            continue
        known = None if meal.meal_at is None else slots.get(meal.meal_at)
        if known is not None:
            said[known] = True
        elif (slot := bisect_right(opens, meal.at.utc) - 1) >= 0 and not _elsewhere(planned, meal):
            given[slot].append(meal.at.utc)
    _fill_back(planned, given, said)
    off = [stretch[:2] for stretch in pauses(plan, tank, seen)]
    return [
        when
        for when, feeds, known in zip(planned, given, said, strict=True)
        if not feeds and not known and not any(start <= when.utc < end for start, end in off)
    ]


def _elsewhere(planned: Sequence[Instant], meal: MealSeen) -> bool:
    """Whether a feed was said to belong to a meal before or after all these.

    One that belongs to none of them and lies among them is of a plan that has changed since: it
    goes by its time, as what was kept before meals were named.
    """
    if meal.meal_at is None:
        return False
    return not planned[0].utc <= meal.meal_at <= planned[-1].utc


class Pause(NamedTuple):
    """A stretch without feed for a tank, in UTC seconds, and the entry that says so."""

    start: int
    end: int
    said: MealSeen


def pauses(plan: Plan, tank: Tank, seen: Mapping[str, Sequence[MealSeen]]) -> list[Pause]:
    """Stretches in which a tank is not fed: its own, its loop's and the site's, oldest first.

    "Feed on" ends all that began before it, for the place where it was entered and what lies in it.
    """
    there = [
        meal
        for place in dict.fromkeys((tank.code, tank.loop, SITE))
        for meal in seen.get(place, ())
        if meal.event is not None
    ]
    found: list[Pause] = []
    for meal in sorted(there, key=lambda meal: (meal.at.utc, meal.n)):
        if meal.event == FEED_ON:
            found = [p if _one_meal(p.said) else p._replace(end=min(p.end, meal.at.utc))
                     for p in found]  # fmt: skip
        else:
            found.append(Pause(*covers(plan, meal), meal))
    return found


def paused(
    plan: Plan, tank: Tank, seen: Mapping[str, Sequence[MealSeen]], now: Instant
) -> MealSeen | None:
    """The newest entry that says a tank is not fed at this moment; a single meal left out is not.

    `seen` by place, oldest first, from a local midnight on: a pause that does not say how long ends
    with its day.
    """
    return next(
        (
            one.said
            for one in reversed(pauses(plan, tank, seen))
            if not _one_meal(one.said) and one.said.at.utc <= now.utc < one.end
        ),
        None,
    )


def _one_meal(pause: MealSeen) -> bool:
    """Whether an entry without feed is of one planned meal alone."""
    return pause.meal_at is not None


def missed_why(meal: MealSeen) -> str | None:
    """Why a planned meal was not given; None for feed that was given, and for a planned pause."""
    event = meal.event or ""
    return event.removeprefix(MISSED) if event.startswith(MISSED) else None


def is_short(meal: MealSeen) -> bool:
    """Whether less was given than planned, by more than `SHORT_SHARE`, and some was given."""
    if meal.event is not None or not meal.planned:
        return False
    return 0 < meal.amount < meal.planned * (1 - SHORT_SHARE)


def openings(planned: Sequence[Instant]) -> list[int]:
    """UTC second from which feed belongs to each meal, and to the one before it no more."""
    early = int(EARLY_HOURS * 3600)
    found = []
    for k, when in enumerate(planned):
        gap = when.utc - planned[k - 1].utc if k else 2 * early
        found.append(when.utc - min(early, gap // 2))
    return found


def _fill_back(planned: Sequence[Instant], given: list[list[int]], said: Sequence[bool]) -> None:
    """Of two meals in one place, the one given before its time was the late one before it.

    Not where it was said that the one before was given.
    """
    for k in range(len(planned) - 1, 0, -1):
        here = given[k]
        if not here or given[k - 1] or said[k - 1] or here[0] >= planned[k].utc:
            continue
        first = [utc for utc in here if utc - here[0] <= APART_SECONDS]
        if len(first) < len(here):
            given[k - 1], given[k] = first, here[len(first) :]


def covers(plan: Plan, pause: MealSeen) -> tuple[int, int]:
    """From and until which UTC second a pause covers planned meals.

    One that names its meal covers that one alone, and a missed meal none that is to come. Else its
    words say how long ("40 min", "2 h") or until when ("until 14:00"); without that feed that was
    turned off stays off until it is turned on, and what else stands there holds for the local day.
    """
    if pause.meal_at is not None:
        return pause.meal_at, pause.meal_at + 1
    start = pause.at.utc - int(COVERED_BEFORE_HOURS * 3600)
    if missed_why(pause) is not None:
        return start, pause.at.utc + 1
    tz = zone(plan.zone)
    words = pause.event or ""
    timed = any(one.isdecimal() for one in words)
    if timed and (lasting := re.search(_LASTING, words)):
        length = float(lasting[1].replace(",", ".")) * (60 if lasting[2] == "min" else 3600)
        return start, pause.at.utc + int(length)
    if timed and (until := re.search(_UNTIL, words)) and int(until[1]) < 24 and int(until[2]) < 60:
        end = at(pause.at.day, int(until[1]), int(until[2]), tz)
        if end.utc > pause.at.utc:
            return start, end.utc
    days = HOLDS_DAYS if words.startswith(FEED_OFF) else 1
    return start, at(pause.at.day + timedelta(days=days), 0, 0, tz).utc


def feed_words(feed: Feed) -> str:
    """A feed as people say it: its label, with its code where the label lacks it."""
    if not feed.label:
        return feed.code
    return feed.label if feed.code in feed.label else f"{feed.code} {feed.label}"


class FeedFault(Enum):
    """Why the plan does not give a tank a feed."""

    NO_FEED_OF_PLAN = "no feed of the plan"
    NO_AGE = "no fish of a known age"
    OTHER_TREATMENT = "not planned for its treatment"
    TOO_EARLY = "starts later"
    ENDED = "ended before"


class FeedDoubt(NamedTuple):
    """A feed the plan does not give a tank: `feed` as people say it, ages in dph.

    `limit` is the age at which it starts or ended, `known` are the feeds there are.
    """

    place: str
    treatment: str | None
    fault: FeedFault
    feed: str = ""
    age: int | None = None
    limit: int | None = None
    known: tuple[str, ...] = ()


class GivenTwice(NamedTuple):
    """The same feed went into a tank a moment ago: when, by whom and how long ago."""

    place: str
    feed: str
    at: Instant
    who: str
    hours: float


def doubt(plan: Plan, tank: Tank, feed: str, on: date) -> FeedDoubt | None:
    """What to ask before a tank gets a feed on a local day; None when the plan gives it that."""
    if not plan.feeds:
        return None
    age = plan.age(tank, on)
    found = FeedDoubt(tank.code, tank.treatment, FeedFault.NO_FEED_OF_PLAN, feed, age)
    known = {f.code.casefold(): f for f in plan.feeds}
    meant = known.get(feed.casefold())
    if meant is None:
        return found._replace(known=tuple(dict.fromkeys(f.code for f in plan.feeds)))
    if age is None:
        return found._replace(fault=FeedFault.NO_AGE)
    mine = [f for f in plan.feeds_of(tank) if f.code == meant.code]
    found = found._replace(feed=feed_words(mine[0] if mine else meant))
    if not mine:
        return found._replace(fault=FeedFault.OTHER_TREATMENT)
    if any(f.dph[0] <= age <= f.dph[1] for f in mine):
        return None
    later = [f.dph[0] for f in mine if f.dph[0] > age]
    if later:
        return found._replace(fault=FeedFault.TOO_EARLY, limit=min(later))
    return found._replace(fault=FeedFault.ENDED, limit=max(f.dph[1] for f in mine))
