"""Meals: when they are planned, which a tank was given, what it may get, and keeping one."""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from enum import Enum
from typing import NamedTuple

from tankwalk import text
from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import MealSeen
from tankwalk.plan.model import Feed, Plan, Tank
from tankwalk.practice.site import SITE, Site

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

_LASTING = re.compile(r"\b(\d+(?:[.,]\d+)?)\s*(min|h)\b")
_UNTIL = re.compile(r"\buntil (\d{1,2}):(\d{2})\b")


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


def owed(plan: Plan, tank: Tank, on: date) -> tuple[Feed, ...]:
    """The feeds a tank is to get on a local day."""
    age = plan.age(tank, on)
    if age is None:
        return ()
    return tuple(f for f in plan.feeds_of(tank) if f.dph[0] <= age <= f.dph[1])


def is_fed(plan: Plan, tank: Tank, on: date) -> bool:
    """Whether a tank is fed on a day: by its feeds, or where none is planned, if it has fish."""
    return bool(owed(plan, tank, on) if plan.feeds else plan.age(tank, on) is not None)


def by_place(seen: Iterable[MealSeen]) -> dict[str, list[MealSeen]]:
    """Meals and pauses by the place they were entered for, in the order they came."""
    found: dict[str, list[MealSeen]] = {}
    for meal in seen:
        found.setdefault(meal.place, []).append(meal)
    return found


def not_served(
    plan: Plan, tank: Tank, planned: Sequence[Instant], seen: Mapping[str, Sequence[MealSeen]]
) -> list[Instant]:
    """Planned meals that nobody gave a tank and no pause covers.

    `planned` is in order, `seen` what was entered by place, oldest first (see `by_place`).
    """
    given: list[list[int]] = [[] for _ in planned]
    opens = _openings(planned)
    for meal in seen.get(tank.code, ()):
        if meal.event is None and meal.amount > 0:
            slot = bisect_right(opens, meal.at.utc) - 1
            if slot >= 0:
                given[slot].append(meal.at.utc)
    _fill_back(planned, given)
    pauses = [
        covers(plan, meal)
        for place in (tank.code, tank.loop, SITE)
        for meal in seen.get(place, ())
        if meal.event is not None
    ]
    return [
        when
        for when, feeds in zip(planned, given, strict=True)
        if not feeds and not any(start <= when.utc < end for start, end in pauses)
    ]


def _openings(planned: Sequence[Instant]) -> list[int]:
    """UTC second from which feed belongs to each meal, and to the one before it no more."""
    early = int(EARLY_HOURS * 3600)
    found = []
    for k, when in enumerate(planned):
        gap = when.utc - planned[k - 1].utc if k else 2 * early
        found.append(when.utc - min(early, gap // 2))
    return found


def _fill_back(planned: Sequence[Instant], given: list[list[int]]) -> None:
    """Of two meals in one place, the one given before its time was the late one before it."""
    for k in range(len(planned) - 1, 0, -1):
        here = given[k]
        if not here or given[k - 1] or here[0] >= planned[k].utc:
            continue
        first = [utc for utc in here if utc - here[0] <= APART_SECONDS]
        if len(first) < len(here):
            given[k - 1], given[k] = first, here[len(first) :]


def covers(plan: Plan, pause: MealSeen) -> tuple[int, int]:
    """From and until which UTC second a pause covers planned meals.

    Its words say how long ("40 min", "2 h") or until when ("until 14:00"); without that it holds
    for the rest of the local day.
    """
    start = pause.at.utc - int(COVERED_BEFORE_HOURS * 3600)
    tz = zone(plan.zone)
    words = pause.event or ""
    if lasting := _LASTING.search(words):
        length = float(lasting[1].replace(",", ".")) * (60 if lasting[2] == "min" else 3600)
        return start, pause.at.utc + int(length)
    if (until := _UNTIL.search(words)) and int(until[1]) < 24 and int(until[2]) < 60:
        end = at(pause.at.day, int(until[1]), int(until[2]), tz)
        if end.utc > pause.at.utc:
            return start, end.utc
    return start, at(pause.at.day + timedelta(days=1), 0, 0, tz).utc


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


class MealGiven(NamedTuple):
    """What became of a meal: its entry, or what has to be asked about first."""

    n: int | None
    doubt: FeedDoubt | GivenTwice | None = None


def give(
    site: Site,
    who: str,
    place: str,
    feed: str,
    amount: float,
    unit: str,
    *,
    sure: bool = False,
    planned: float | None = None,
    left_over: int | None = None,
) -> MealGiven:
    """Keep a meal of a tank, in `unit`; `left_over` of the last one is a score from 0 to 3.

    A feed the plan does not give this tank today, or the same feed twice, is asked about and not
    kept until it is `sure`. Refusal for what cannot be a meal.
    """
    plan, now = site.plan, site.now()
    who = site.signs(who)
    tank = plan.find_tank(place)
    if tank is None:
        raise Refusal(f"{text.clean(place)[:20]!r} is no tank of the plan: no meal was kept.")
    code = text.clean(feed, limit=40)
    code = next((f.code for f in plan.feeds if f.code.casefold() == code.casefold()), code)
    unit = text.clean(unit, limit=20)
    if not code or not unit:
        raise Refusal(f"The feed and its unit are wanted: no meal of {tank.code} was kept.")
    if not math.isfinite(amount) or amount <= 0:
        raise Refusal(
            f"{amount:g} {unit} is no meal, so none was kept for {tank.code}. "
            "Where no feed is wanted, enter a pause and say why."
        )
    if left_over is not None and left_over not in range(4):
        raise Refusal(f"Left over is a score from 0 to 3, not {left_over}: no meal was kept.")
    if not sure:
        asks = doubt(plan, tank, code, now.day) or _twice(site, tank, code, now)
        if asks is not None:
            return MealGiven(None, asks)
    from tankwalk.ledger.entries import Entry, Meal

    meal = Meal(code, amount, unit, planned, left_over)
    return MealGiven(site.record(Entry("meal", who, now, now, tank.code), meal))


def _twice(site: Site, tank: Tank, feed: str, now: Instant) -> GivenTwice | None:
    """What to ask where the same feed went into this tank a moment ago."""
    for meal in reversed(site.reader.feeding.meals(now.utc - int(TWICE_HOURS * 3600))):
        same = meal.place == tank.code and meal.feed == feed and meal.event is None
        if same and meal.at.utc <= now.utc:
            return GivenTwice(tank.code, feed, meal.at, meal.who, now.hours_since(meal.at))
    return None


def pause(site: Site, who: str, place: str, words: str) -> int:
    """Keep that a tank, a loop or the site is not fed, and why; see `covers` for how long."""
    plan, now = site.plan, site.now()
    who = site.signs(who)
    if plan.find_tank(place) is None and place not in (SITE, *(p.code for p in plan.loops)):
        raise Refusal(f"{text.clean(place)[:20]!r} is no place of the plan: no pause was kept.")
    words = text.clean(words, limit=120)
    if not words:
        raise Refusal("Nothing was typed: say why there is no feed, and no pause was kept.")
    from tankwalk.ledger.entries import Entry, Meal

    feed = plan.feeds[0].code if plan.feeds else "feed"
    entry = Entry("meal", who, now, now, place)
    return site.record(entry, Meal(feed, 0.0, "g", event=words))
