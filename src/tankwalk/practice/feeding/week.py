"""The feed of some days, of one tank or of the tanks of a treatment: planned beside given.

The plan of a meal is what the record kept as its full ration. Of a meal that was missed it is what
the other meals of that day had as theirs: of this tank, else of the tanks beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from tankwalk import text
from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.figures import percent_of
from tankwalk.ledger.feeding import MealSeen
from tankwalk.plan.model import RESPONSE, Item, Plan, Tank
from tankwalk.practice.feeding import meals
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

DAYS, MOST_DAYS = 7, 31
"""A week, and the longest stretch that is told."""

ANSWERS_A_DAY = 12
"""So many answers of an item are read for each day."""


class Head(NamedTuple):
    """A feed of the page and the unit of its amounts."""

    code: str
    label: str
    unit: str


class Gave(NamedTuple):
    """What of a feed went in on a day: a mean over `tanks` tanks, `low` to `high` among them.

    `planned` is None where the record does not say what was planned. `short` counts meals that
    were given short of their plan, `unplanned` those that the plan did not give.
    """

    planned: float | None
    given: float
    low: float
    high: float
    tanks: int
    short: int = 0
    unplanned: int = 0


class Missed(NamedTuple):
    """A planned meal that a tank did not get, and why where somebody said it."""

    tank: str
    at: Instant
    why: str = ""


class Answered(NamedTuple):
    """An item asked at meals, and what was answered by tank: places in its list, oldest first."""

    item: Item
    by_tank: Mapping[str, tuple[int, ...]]


class Day(NamedTuple):
    """One local day; `age` in dph, of the youngest and the oldest of its fish."""

    day: date
    age: tuple[int, int] | None
    feeds: tuple[Gave | None, ...]
    """By the heads of the page, None where it was neither planned nor given."""
    missed: tuple[Missed, ...]
    paused: tuple[str, ...]
    """Why there was no feed, in the words it was entered with."""
    answered: tuple[Answered, ...]


class Week(NamedTuple):
    """The feed of some days, at one moment."""

    site: str
    now: Instant
    whom: str
    """A tank or a treatment."""
    label: str
    tanks: tuple[str, ...]
    feeds: tuple[Head, ...]
    days: tuple[Day, ...]

    def total(self, nth: int) -> tuple[float | None, float]:
        """Planned and given of a feed in all days; planned None where a day's is not known."""
        found = [one for day in self.days if (one := day.feeds[nth]) is not None]
        known = [one.planned for one in found if one.planned is not None]
        planned = sum(known) if len(known) == len(found) else None
        return planned, sum(one.given for one in found)


def week(site: Site, whom: str, days: int = DAYS) -> Week:
    """The last days of a tank or a treatment, today the last of them.

    Refusal for what is neither, and for days that are no 1 to 31.
    """
    plan = site.plan
    if not 1 <= days <= MOST_DAYS:
        raise Refusal(f"Feed is told of 1 to {MOST_DAYS} days, not of {days}.")
    tanks, label = _meant(plan, whom)
    with site.ledger.reading():
        return _read(site, whom, label, tanks, days)


def _meant(plan: Plan, whom: str) -> tuple[tuple[Tank, ...], str]:
    """The tanks that are meant, and what a treatment is."""
    tank = plan.find_tank(whom)
    if tank is not None:
        return (tank,), tank.treatment or ""
    treatment = next((one for one in plan.treatments if one.code == whom), None)
    found = tuple(one for one in plan.tanks if one.treatment == whom)
    if treatment is None or not found:
        known = ", ".join(one.code for one in plan.treatments)
        more = f", nor a treatment ({known})" if known else ""
        raise Refusal(f"{text.clean(whom)[:20]!r} is no tank of the plan{more}.")
    return found, treatment.label


def _read(site: Site, whom: str, label: str, tanks: tuple[Tank, ...], days: int) -> Week:
    now, plan = site.now(), site.plan
    tz = zone(plan.zone)
    first = now.day - timedelta(days=days - 1)
    since = at(first - timedelta(days=1), 0, 0, tz)
    by_place = meals.read(site, since.utc, now)
    seen = meals.in_order(by_place)
    planned = [one for one in meals.times(plan, first, now.day) if one.utc <= now.utc]
    lacking = {tank.code: _lacking(plan, tank, planned, by_place, now) for tank in tanks}
    codes = {tank.code for tank in tanks}
    mine = [
        one
        for one in seen
        if one.place in codes and one.event is None and one.amount > 0 and one.at.day >= first
    ]
    heads = _heads(plan, tanks, mine, first, now.day)
    answers = _answers(site, tanks, days)
    found = []
    for later in range(days):
        day = first + timedelta(days=later)
        here = [one for one in mine if one.at.day == day]
        missed = tuple(one for tank in tanks for one in lacking[tank.code] if one.at.day == day)
        ages = [age for tank in tanks if (age := plan.age(tank, day)) is not None]
        found.append(
            Day(
                day,
                (min(ages), max(ages)) if ages else None,
                tuple(_gave(plan, tanks, head, here, missed, day) for head in heads),
                missed,
                _paused(tanks, by_place, day),
                tuple(
                    Answered(item, {code: these.get(day, ()) for code, these in by_tank.items()})
                    for item, by_tank in answers
                ),
            )
        )
    return Week(plan.name, now, whom, label, tuple(one.code for one in tanks), heads, tuple(found))


def _lacking(
    plan: Plan,
    tank: Tank,
    planned: Sequence[Instant],
    seen: Mapping[str, Sequence[MealSeen]],
    now: Instant,
) -> list[Missed]:
    """Meals a tank did not get: those that nobody entered, and those entered as missed."""
    found = {
        when.utc: Missed(tank.code, when)
        for when in meals.not_served(plan, tank, planned, seen)
        if now.hours_since(when) > meals.LATE_HOURS and meals.is_fed(plan, tank, when.day)
    }
    for place in (tank.code, tank.loop, SITE):
        for one in seen.get(place, ()):
            why = meals.missed_why(one)
            if why is not None:
                when = one.at if one.meal_at is None else Instant(one.meal_at, one.at.offset)
                found[when.utc] = Missed(tank.code, when, why)
    return [found[utc] for utc in sorted(found)]


def _heads(
    plan: Plan, tanks: Sequence[Tank], mine: Iterable[MealSeen], first: date, last: date
) -> tuple[Head, ...]:
    """Feeds that were planned or given in these days, in the order of the plan."""
    units: dict[str, str] = {}
    for one in mine:
        units.setdefault(one.feed, one.unit)
    for tank in tanks:
        for day in (first, last):
            for feed in meals.owed(plan, tank, day):
                units.setdefault(feed.code, feed.unit)
    labels = {feed.code: feed.label or feed.code for feed in reversed(plan.feeds)}
    order = {feed.code: nth for nth, feed in enumerate(plan.feeds)}
    codes = sorted(units, key=lambda code: order.get(code, len(order)))
    return tuple(Head(code, labels.get(code, code), units[code]) for code in codes)


def _gave(
    plan: Plan,
    tanks: Sequence[Tank],
    head: Head,
    here: Sequence[MealSeen],
    missed: Sequence[Missed],
    day: date,
) -> Gave | None:
    given, wanted, short, unplanned = [], [], 0, 0
    of_all = [one.planned for one in here if one.feed == head.code and one.planned is not None]
    for tank in tanks:
        mine = [one for one in here if (one.place, one.feed) == (tank.code, head.code)]
        owed = any(feed.code == head.code for feed in meals.owed(plan, tank, day))
        if not mine and not owed:
            continue
        given.append(sum(one.amount for one in mine))
        short += sum(meals.is_short(one) for one in mine)
        unplanned += sum(not owed for _ in mine)
        each = [one.planned for one in mine if one.planned is not None]
        lacking = sum(one.tank == tank.code for one in missed) if owed else 0
        alike = each or of_all
        if len(each) == len(mine) and (alike or not lacking):
            wanted.append(sum(each) + (mean(alike) * lacking if lacking else 0.0))
    if not given:
        return None
    planned = mean(wanted) if len(wanted) == len(given) else None
    return Gave(planned, mean(given), min(given), max(given), len(given), short, unplanned)


def mean(values: Sequence[float]) -> float:
    """The mean of at least one value."""
    return sum(values) / len(values)


def _paused(
    tanks: Sequence[Tank], seen: Mapping[str, Sequence[MealSeen]], day: date
) -> tuple[str, ...]:
    """What was entered where there was no feed, each once."""
    places = dict.fromkeys([SITE, *(p for tank in tanks for p in (tank.loop, tank.code))])
    words = {
        one.event: None
        for place in places
        for one in seen.get(place, ())
        if one.event and one.at.day == day and meals.missed_why(one) is None
    }
    return tuple(words)


def _answers(
    site: Site, tanks: Sequence[Tank], days: int
) -> list[tuple[Item, dict[str, dict[date, tuple[int, ...]]]]]:
    """What was answered to the items that are asked at meals, by tank and day."""
    plan = site.plan
    codes = [code for meal in plan.meals for code in (*meal.after, *meal.before)]
    found = []
    for code in dict.fromkeys([RESPONSE, *codes]):
        item = plan.find_item(code)
        if item is None or not item.kind.by_words:
            continue
        by_tank: dict[str, dict[date, tuple[int, ...]]] = {}
        for tank in tanks:
            by_day = by_tank.setdefault(tank.code, {})
            limit = days * ANSWERS_A_DAY
            for seen in site.reader.readings.history(tank.code, code, item.unit, limit):
                if seen.value is not None:
                    day = seen.at.day
                    by_day[day] = (*by_day.get(day, ()), int(seen.value))
        if any(by_tank.values()):
            found.append((item, by_tank))
    return found


def as_json(page: Week) -> dict[str, object]:
    """The days as the command line prints them with --json."""
    return {
        "of": page.whom,
        "tanks": list(page.tanks),
        "at": page.now.iso(),
        "span_days": len(page.days),
        "days": [_json(page, day) for day in page.days],
        "together": {head.code: _whole(page, nth) for nth, head in enumerate(page.feeds)},
    }


def _whole(page: Week, nth: int) -> dict[str, object]:
    """What of a feed was planned and given in all days."""
    planned, given = page.total(nth)
    percent = percent_of(given / planned) if planned else None
    return {"planned": planned, "given": given, "percent": percent}


def _json(page: Week, day: Day) -> dict[str, object]:
    feeds = {
        head.code: {"unit": head.unit, **gave._asdict()}
        for head, gave in zip(page.feeds, day.feeds, strict=True)
        if gave is not None
    }
    return {
        "day": day.day.isoformat(),
        "dph": None if day.age is None else list(day.age),
        "feeds": feeds,
        "missed": [
            {"tank": one.tank, "at": one.at.iso(), "why": one.why or None} for one in day.missed
        ],
        "paused": list(day.paused),
        "answers": {
            one.item.code: {
                tank: [one.item.choices[n] for n in these if n < len(one.item.choices)]
                for tank, these in one.by_tank.items()
            }
            for one in day.answered
        },
    }
