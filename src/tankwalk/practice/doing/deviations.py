"""Deviations from the plan of a trial, drafted from what the record holds, for the study owner.

A draft is never a judgment: it says what was planned and what was entered. It stays a draft until
somebody keeps it as an open action; the study owner closes that with the effect in words.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import MealSeen
from tankwalk.plan.model import Plan, Tank
from tankwalk.practice.due.tasks import Due, named
from tankwalk.practice.feeding import meals
from tankwalk.practice.site import Site

MISSED_HOURS = 2.0
"""A planned meal that nobody gave for so long was missed. Common practice, no source."""

TOLD_HOURS = 72.0
"""Drafts of so many hours stand on the board: a weekend and the night before it."""

STUDY_OWNER = "study owner"

NOT_DONE = ("not looked", "could not", "unsafe")
"""Reasons that leave a measure of a treatment undone; "no fish" and "not due" leave none."""


class DraftDeviation(NamedTuple):
    """Something that was not as the plan has it: what, where, when, and the key it goes by.

    `rule` is that of the follow-up it becomes: "deviation", or "treatment" for what was left out.
    """

    rule: str
    about: str
    place: str
    at: Instant
    sentence: str


def drafts(site: Site, now: Instant, since: Instant) -> tuple[DraftDeviation, ...]:
    """What departed from the plan between two instants and is no follow-up yet, oldest first."""
    plan = site.plan
    if not plan.feeds and not any(rule.treatment for rule in plan.bands):
        return ()
    start = at(since.day - timedelta(days=1), 0, 0, zone(plan.zone))
    seen = [m for m in site.reader.feeding.meals(start.utc) if m.at.utc <= now.utc]
    found = [
        *_wrong_feeds(plan, seen),
        *_missed_feeds(plan, seen, now, since),
        *_feeds_left_out(plan, seen, now, since),
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
    plan = site.plan
    found = recent(site, now)
    if not found:
        return []
    kinds: dict[str, dict[str, None]] = {}
    for one in found:
        word = one.about.split(" ", 1)[0].replace("-", " ")
        kinds.setdefault(word, {})[one.place] = None
    owner = owner_of(plan) or "the study owner"
    words = ", ".join(f"{word} {named(places, 4)}" for word, places in kinds.items())
    what = f"{len(found)} deviation{'s' if len(found) > 1 else ''} drafted"
    late = max(now.hours_since(found[0].at), 0.01)
    return [Due(what, late, f"{words}; for {owner} to decide", "deviation")]


_EPOCH = date(1970, 1, 1)


def _day_number(when: Instant) -> int:
    """The local day as a number: many meals are sorted by it, and a date is slow to make."""
    return (when.utc + when.offset * 60) // 86400


def _stamp(when: Instant) -> str:
    return f"{when.wall:%Y-%m-%dT%H:%M}"


def _whom(tank: Tank) -> str:
    return f"{tank.code} {tank.treatment}" if tank.treatment else tank.code


def _wrong_feeds(plan: Plan, seen: Iterable[MealSeen]) -> Iterator[DraftDeviation]:
    """Feed that the plan did not give this treatment at this age."""
    tanks = {tank.code: tank for tank in plan.tanks}
    asked: dict[tuple[str, str, int], str] = {}
    for meal in seen:
        tank = tanks.get(meal.place)
        if tank is None or meal.event is not None or meal.amount <= 0:
            continue
        key = meal.place, meal.feed, _day_number(meal.at)
        if key not in asked:
            asked[key] = meals.question(plan, tank, meal.feed, meal.at.day)
        asks = asked[key]
        if not asks:
            continue
        why = asks.removesuffix(" Continue?").rstrip(".")
        words = f"{why}; got {meal.amount:g} {meal.unit} {meal.at.short()} ({meal.who})"
        about = f"wrong-feed {tank.code} {meal.feed} {_stamp(meal.at)}"
        yield DraftDeviation(
            "deviation", about, tank.code, meal.at, _on_that_day(words, meal.at, why)
        )


def _on_that_day(words: str, when: Instant, why: str) -> str:
    """The age in a question is that of the day it is asked; a draft is read later."""
    return words.replace(why, why.replace(", today ", ", that day "), 1)


def _missed_feeds(
    plan: Plan, seen: Sequence[MealSeen], now: Instant, since: Instant
) -> Iterator[DraftDeviation]:
    """Planned meals that a tank never got while half of its sisters or more did."""
    planned = meals.times(plan, since.day - timedelta(days=1), now.day)
    ended = [when for when in planned if now.hours_since(when) > MISSED_HOURS]
    given = meals.by_place(seen)
    missing = {tank: set(meals.not_served(plan, tank, planned, given)) for tank in plan.tanks}
    fed_on: dict[date, list[Tank]] = {}
    for when in ended:
        if when.day not in fed_on:
            fed_on[when.day] = [t for t in plan.tanks if meals.is_fed(plan, t, when.day)]
        fed = fed_on[when.day]
        without = [tank for tank in fed if when in missing[tank]]
        others = len(fed) - len(without)
        if not others or 2 * others < len(fed) - 1:
            continue  # the room was not fed: a missed meal of everybody sets no tank apart
        for tank in without:
            feeds = ", ".join(meals.feed_words(f) for f in meals.owed(plan, tank, when.day))
            words = (
                f"{_whom(tank)}: no feed at {when.short()}"
                + (f" ({feeds} planned)" if feeds else "")
                + f"; {others} other tanks were fed"
            )
            about = f"missed-feed {tank.code} {_stamp(when)}"
            yield DraftDeviation("deviation", about, tank.code, when, words)


def _feeds_left_out(
    plan: Plan, seen: Sequence[MealSeen], now: Instant, since: Instant
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
            for feed in meals.owed(plan, tank, day) if given else ():
                if feed.treatment is None or feed.code in given:
                    continue
                words = f"{_whom(tank)}: no {meals.feed_words(feed)} on {_date(day)}"
                words += f", planned at {plan.age(tank, day)} dph; got {', '.join(sorted(given))}"
                about = f"missed-treatment {tank.code} {feed.code} {day}"
                yield DraftDeviation(
                    "treatment", about, tank.code, Instant(end.utc - 1, end.offset), words
                )
        day += timedelta(days=1)


def _date(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


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
            words = f"{_whom(tank)}: {item.label} not taken {seen.at.short()} ({seen.qualifier})"
            about = f"missed-treatment {tank.code} {item.code} {_stamp(seen.at)}"
            yield DraftDeviation("treatment", about, tank.code, seen.at, words)


def keep(site: Site, draft: DraftDeviation, who: str) -> int:
    """Open a draft as an action of the study owner, who alone may close it; its entry number."""
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
            f"Deviation: {draft.sentence}",
            draft.place,
            owner,
            rule=draft.rule,
            about=draft.about,
        )
