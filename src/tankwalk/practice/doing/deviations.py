"""Deviations from the plan of a trial, drafted from what the record holds, for the study owner.

A draft is never a judgment: it says what was planned and what was entered. It stays a draft until
somebody keeps it as an open action; the study owner closes that with its effect.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from enum import Enum

from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import MealSeen
from tankwalk.ledger.follow_up_kinds import MayClose
from tankwalk.plan.model import Plan, Tank
from tankwalk.practice.feeding import meals
from tankwalk.practice.feeding.meals import FeedDoubt, Owed
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.tasks import DeviationsDrafted, Due
from tankwalk.rows import NamedTuple

MISSED_HOURS = 2.0
"""A planned meal that nobody gave for so long was missed. Common practice, no source."""

TOLD_HOURS = 72.0
"""Drafts of so many hours stand on the board: a weekend and the night before it."""

STUDY_OWNER = "study owner"

NOT_DONE = ("not looked", "could not", "unsafe")
"""Reasons that leave a measure of a treatment undone; "no fish" and "not due" leave none."""


class DeviationKind(Enum):
    """What can depart from the plan, as the key of a draft begins in the record."""

    WRONG_FEED = "wrong-feed"
    MISSED_FEED = "missed-feed"
    LATE_FEED = "late-feed"
    SHORT_FEED = "short-feed"
    MISSED_TREATMENT = "missed-treatment"


class WrongFeed(NamedTuple):
    """Feed that the plan did not give: why not, how much of it went in, and by whom."""

    doubt: FeedDoubt
    amount: float
    unit: str
    who: str


class MissedMeal(NamedTuple):
    """A planned meal that was not given, what was planned, and how many others were fed."""

    feeds: tuple[str, ...]
    others: int


class MealNotGiven(NamedTuple):
    """A planned meal that somebody said was not given, and why."""

    feeds: tuple[str, ...]
    why: str
    who: str


class LateMeal(NamedTuple):
    """A planned meal whose first feed came late: by how many hours at the last tank, and who."""

    hours: float
    who: tuple[str, ...]


class ShortRation(NamedTuple):
    """Less of a feed than planned on one day: at which meals, and percent of the plan.

    A meal is named where the entry says which it was; percent are the least and the most.
    """

    feed: str
    meals: tuple[Instant, ...]
    least: float
    most: float


class FeedLeftOut(NamedTuple):
    """A feed of the treatment not given all day, at which age (dph), and what was given."""

    feed: str
    day: date
    age: int | None
    got: tuple[str, ...]


class MeasureLeftOut(NamedTuple):
    """A measure of the treatment that a round did not take, and the reason."""

    label: str
    reason: str


Facts = (
    WrongFeed | MissedMeal | MealNotGiven | LateMeal | ShortRation | FeedLeftOut | MeasureLeftOut
)


class DraftDeviation(NamedTuple):
    """Something that was not as the plan has it: what, where, when, and the key it goes by.

    Where several tanks had it together, `tanks` are these, and `place` is their loop or the site.
    `rule` says who may close the follow-up it becomes.
    """

    kind: DeviationKind
    about: str
    place: str
    treatment: str | None
    at: Instant
    facts: Facts
    tanks: tuple[str, ...] = ()

    @property
    def rule(self) -> MayClose:
        left_out = self.kind is DeviationKind.MISSED_TREATMENT
        return MayClose.TREATMENT if left_out else MayClose.DEVIATION


def drafts(site: Site, now: Instant, since: Instant) -> tuple[DraftDeviation, ...]:
    """What departed from the plan between two instants and is no follow-up yet, oldest first."""
    plan = site.plan
    if not plan.feeds and not any(rule.treatment for rule in plan.bands):
        return ()
    start = at(since.day - timedelta(days=1), 0, 0, zone(plan.zone))
    seen = [m for m in site.reader.feeding.meals(start.utc) if m.at.utc <= now.utc]
    owed = meals.Owed(plan)
    missed = list(_missed_feeds(plan, owed, meals.by_place(seen), now, since))
    if missed:  # feed may have been off since long before
        since_before = meals.read(site, start.utc, now)
        missed = list(_missed_feeds(plan, owed, since_before, now, since))
    found = [
        *_wrong_feeds(plan, owed, seen),
        *missed,
        *_not_given(plan, seen),
        *_late_meals(plan, seen),
        *_short_rations(plan, seen),
        *_feeds_left_out(plan, owed, seen, now, since),
        *_items_left_out(site, now, since),
    ]
    kept = site.reader.follow_ups.drafted_from(one.about for one in found)
    open_ones = {d.about: d for d in found if since.utc <= d.at.utc and d.about not in kept}
    return tuple(sorted(open_ones.values(), key=lambda d: (d.at.utc, d.about)))


def owner_of(plan: Plan) -> str | None:
    """Who decides about a deviation: the first study owner of the plan."""
    return next((p.initials for p in plan.people if p.duty == STUDY_OWNER), None)


def recent(site: Site, now: Instant) -> tuple[DraftDeviation, ...]:
    """The drafts of the last days, which the board and the open list show."""
    return drafts(site, now, Instant(now.utc - int(TOLD_HOURS * 3600), now.offset))


def drafted(site: Site, now: Instant) -> list[Due]:
    """One line for the drafts of the last days, so that somebody keeps them or looks."""
    found = recent(site, now)
    if not found:
        return []
    kinds: dict[DeviationKind, dict[str, None]] = {}
    for one in found:
        kinds.setdefault(one.kind, {}).update(dict.fromkeys(one.tanks or (one.place,)))
    places = tuple((kind, tuple(there)) for kind, there in kinds.items())
    late = max(now.hours_since(found[0].at), 0.01)
    return [Due(late, DeviationsDrafted(len(found), places, owner_of(site.plan)))]


_EPOCH = date(1970, 1, 1)


def _day_number(when: Instant) -> int:
    """The local day as a number: many meals are sorted by it, and a date is slow to make."""
    return (when.utc + when.offset * 60) // 86400


def _stamp(when: Instant) -> str:
    return f"{when.wall:%Y-%m-%dT%H:%M}"


def _draft(
    kind: DeviationKind,
    tank: Tank,
    key: str,
    when: Instant,
    facts: Facts,
) -> DraftDeviation:
    about = f"{kind.value} {tank.code} {key}"
    return DraftDeviation(kind, about, tank.code, tank.treatment, when, facts)


def _together(
    kind: DeviationKind, plan: Plan, codes: Iterable[str], key: str, when: Instant, facts: Facts
) -> DraftDeviation:
    """One draft for all tanks that had the same, in the plan's order."""
    there = set(codes)
    found = [tank for tank in plan.tanks if tank.code in there]
    if len(found) == 1:
        return _draft(kind, found[0], key, when, facts)
    loops = {tank.loop for tank in found}
    place = (loops.pop() if len(loops) == 1 else None) or SITE
    about = f"{kind.value} {key}"
    return DraftDeviation(kind, about, place, None, when, facts, tuple(t.code for t in found))


def _wrong_feeds(plan: Plan, owed: Owed, seen: Iterable[MealSeen]) -> Iterator[DraftDeviation]:
    """Feed that the plan did not give this treatment at this age."""
    tanks = {tank.code: tank for tank in plan.tanks}
    asked: dict[tuple[str, str, int], FeedDoubt | None] = {}
    for meal in seen:
        tank = tanks.get(meal.place)
        if tank is None or meal.event is not None or meal.amount <= 0:
            continue
        fed = meal.place, meal.feed, _day_number(meal.at)
        if fed not in asked:
            day = meal.at.day
            planned = any(feed.code == meal.feed for feed in owed.of(tank, day))
            asked[fed] = None if planned else meals.doubt(plan, tank, meal.feed, day)
        doubt = asked[fed]
        if doubt is None:
            continue
        facts = WrongFeed(doubt, meal.amount, meal.unit, meal.who)
        key = f"{meal.feed} {_stamp(meal.at)}"
        yield _draft(DeviationKind.WRONG_FEED, tank, key, meal.at, facts)


def _missed_feeds(
    plan: Plan,
    owed: Owed,
    given: Mapping[str, Sequence[MealSeen]],
    now: Instant,
    since: Instant,
) -> Iterator[DraftDeviation]:
    """Planned meals that a tank never got while half of its sisters or more did."""
    planned = meals.times(plan, since.day - timedelta(days=1), now.day)
    ended = [when for when in planned if now.hours_since(when) > MISSED_HOURS]
    missing = meals.not_served_of(plan, plan.tanks, planned, given)
    fed_on: dict[date, list[Tank]] = {}
    for when in ended:
        if when.day not in fed_on:
            fed_on[when.day] = [t for t in plan.tanks if owed.is_fed(t, when.day)]
        fed = fed_on[when.day]
        without = [tank for tank in fed if when in missing[tank.code]]
        others = len(fed) - len(without)
        if not others or 2 * others < len(fed) - 1:
            continue  # the room was not fed: a missed meal of everybody sets no tank apart
        for tank in without:
            feeds = tuple(meals.feed_words(f) for f in owed.of(tank, when.day))
            facts = MissedMeal(feeds, others)
            yield _draft(DeviationKind.MISSED_FEED, tank, _stamp(when), when, facts)


def _not_given(plan: Plan, seen: Iterable[MealSeen]) -> Iterator[DraftDeviation]:
    """Planned meals that were entered as missed: those of one time and reason are one draft."""
    found: dict[tuple[int, int, str], dict[str, MealSeen]] = {}
    for meal in seen:
        why = meals.missed_why(meal)
        if why is None:
            continue
        which = meal.at.utc if meal.meal_at is None else meal.meal_at
        fed = found.setdefault((which, meal.at.offset, why), {})
        for tank in plan.tanks:
            if meal.place in (tank.code, tank.loop, SITE) and meals.is_fed(plan, tank, meal.at.day):
                fed[tank.code] = meal
    for (which, offset, why), fed in found.items():
        if not fed:
            continue
        when = Instant(which, offset)
        known = {feed.code: meals.feed_words(feed) for feed in plan.feeds}
        feeds = dict.fromkeys(known.get(meal.feed, meal.feed) for meal in fed.values())
        facts = MealNotGiven(tuple(feeds), why, next(iter(fed.values())).who)
        key = f"{_stamp(when)} {why}"
        yield _together(DeviationKind.MISSED_FEED, plan, fed, key, when, facts)


def _late_meals(plan: Plan, seen: Iterable[MealSeen]) -> Iterator[DraftDeviation]:
    """Meals whose first feed came to a tank more than `meals.LATE_HOURS` after their time.

    Only where the entry says which meal it was: else a late one is told from an early one by the
    time alone.
    """
    first: dict[tuple[int, str], MealSeen] = {}
    for meal in seen:
        if meal.meal_at is not None and meal.event is None and meal.amount > 0:
            first.setdefault((meal.meal_at, meal.place), meal)
    late: dict[int, list[MealSeen]] = {}
    for (which, _), meal in first.items():
        if meal.at.utc - which > meals.LATE_HOURS * 3600 and plan.find_tank(meal.place):
            late.setdefault(which, []).append(meal)
    for which, fed in late.items():
        when = Instant(which, fed[0].at.offset)
        hours = max(meal.at.hours_since(when) for meal in fed)
        facts = LateMeal(hours, tuple(dict.fromkeys(meal.who for meal in fed)))
        places = (meal.place for meal in fed)
        yield _together(DeviationKind.LATE_FEED, plan, places, _stamp(when), when, facts)


def _short_rations(plan: Plan, seen: Iterable[MealSeen]) -> Iterator[DraftDeviation]:
    """Less of a feed than planned; those of one day are one draft, as one shortage makes them."""
    short: dict[tuple[str, int], list[MealSeen]] = {}
    for meal in seen:
        if meals.is_short(meal) and plan.find_tank(meal.place):
            short.setdefault((meal.feed, _day_number(meal.at)), []).append(meal)
    known = {feed.code: meals.feed_words(feed) for feed in plan.feeds}
    for (feed, _), fed in short.items():
        percents = [100 * meal.amount / meal.planned for meal in fed if meal.planned]
        when = dict.fromkeys(
            Instant(meal.meal_at, meal.at.offset) for meal in fed if meal.meal_at is not None
        )
        facts = ShortRation(known.get(feed, feed), tuple(when), min(percents), max(percents))
        key = f"{feed} {fed[0].at.day}"
        places = {meal.place for meal in fed}
        # The newest of them: while meals are short, the draft is of today.
        yield _together(DeviationKind.SHORT_FEED, plan, places, key, fed[-1].at, facts)


def _feeds_left_out(
    plan: Plan, owed: Owed, seen: Sequence[MealSeen], now: Instant, since: Instant
) -> Iterator[DraftDeviation]:
    """A feed that makes the treatment, not given all day to a tank that was fed that day."""
    tz = zone(plan.zone)
    fed: dict[tuple[str, int], set[str]] = {}
    for meal in seen:
        if meal.event is None and meal.amount > 0:
            fed.setdefault((meal.place, _day_number(meal.at)), set()).add(meal.feed)
    day = since.day
    while day < now.day:
        end = at(day + timedelta(days=1), 0, 0, tz)
        for tank in plan.tanks:
            given = fed.get((tank.code, (day - _EPOCH).days), set())
            for feed in owed.of(tank, day) if given else ():
                if feed.treatment is None or feed.code in given:
                    continue
                facts = FeedLeftOut(
                    meals.feed_words(feed), day, plan.age(tank, day), tuple(sorted(given))
                )
                last = Instant(end.utc - 1, end.offset)
                key = f"{feed.code} {day}"
                yield _draft(DeviationKind.MISSED_TREATMENT, tank, key, last, facts)
        day += timedelta(days=1)


def _items_left_out(site: Site, now: Instant, since: Instant) -> Iterator[DraftDeviation]:
    """Measures a treatment has a band of its own for, that a round asked and nobody took."""
    plan = site.plan
    own = {(rule.item, rule.treatment) for rule in plan.bands if rule.treatment is not None}
    if not own:
        return
    for found in site.reader.rounds.since(since.utc):
        if found.signed is None or found.signed.utc > now.utc:
            continue
        last = {}
        for seen in site.reader.readings.of_round(found.number, found.first):
            last[seen.place, seen.item] = seen
        for seen in last.values():
            tank, item = plan.find_tank(seen.place), plan.find_item(seen.item)
            if tank is None or item is None or (seen.item, tank.treatment) not in own:
                continue
            if seen.value is not None or seen.qualifier not in NOT_DONE:
                continue
            facts = MeasureLeftOut(item.label, seen.qualifier)
            key = f"{item.code} {_stamp(seen.at)}"
            yield _draft(DeviationKind.MISSED_TREATMENT, tank, key, seen.at, facts)


def keep(site: Site, draft: DraftDeviation, words: str, who: str) -> int:
    """Open a draft as an action of the study owner, who alone may close it; its entry number.

    `words` are what the page says of the draft.
    """
    who = site.signs(who)
    owner = owner_of(site.plan)
    if owner is None:
        raise Refusal(
            "The plan names no study owner, so nobody could close this deviation: it was not "
            f'kept. Give somebody duty = "{STUDY_OWNER}" in plan.toml.'
        )
    from tankwalk.practice.doing import follow_ups

    with site.ledger.writing() as ledger:
        if ledger.reader.follow_ups.drafted_from([draft.about]):
            raise Refusal(
                f"This deviation of {draft.place} is an open action or was one already: "
                "nothing more was kept."
            )
        return follow_ups.open_action(
            site,
            who,
            f"Deviation: {words}",
            draft.place,
            owner,
            rule=draft.rule,
            about=draft.about,
        )
