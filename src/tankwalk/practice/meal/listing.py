"""The dispensing list as the tanks of a meal: what each gets, what is asked there, who is off."""

from __future__ import annotations

from datetime import time

from tankwalk.clock import Instant
from tankwalk.plan.feed_model import Feed, FeedKind
from tankwalk.plan.model import Plan
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.feeding import meals
from tankwalk.practice.meal.stops import Off, Portion, Stop, stop
from tankwalk.practice.meal.stops import unlisted as unlisted
from tankwalk.practice.site import SITE, Site


def stops(site: Site, meal: Instant) -> tuple[Stop, ...]:
    """The tanks of a meal in walking order, each with what it is to get."""
    plan = site.plan
    asked = asked_at(plan, meal)
    pauses = _pauses(site, meal)
    found = []
    for tank in walking_order(plan, meal.day):
        portions = tuple(
            Portion(one.code, one.label or one.code, one.unit, one.kind is FeedKind.LIVE)
            for one in meals.owed(plan, tank, meal.day)
        )
        off = next((pauses[p] for p in (tank.code, tank.loop, SITE) if p in pauses), None)
        found.append(stop(plan, tank, meal, portions, off if portions else None, asked))
    return tuple(found)


def _pauses(site: Site, meal: Instant) -> dict[str, Off]:
    """What is off feed at a meal, by place: the newest pause that covers it."""
    found: dict[str, Off] = {}
    for one in site.reader.feeding.meals(meal.utc - 2 * 86400):
        if one.event is None or one.meal_at is not None:
            continue
        start, end = meals.covers(site.plan, one)
        if start <= meal.utc < end:
            found[one.place] = Off(one.event, one.at, one.who, one.place)
    return found


def asked_at(plan: Plan, meal: Instant) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Codes of what is asked at each tank before this meal and after it."""
    wall = meal.wall.time()
    at = time(wall.hour, wall.minute)
    planned = next((one for one in plan.meals if one.at == at and one.is_on(meal.day)), None)
    return ((), ()) if planned is None else (planned.before, planned.after)


def asked_ever(plan: Plan) -> tuple[tuple[str, ...], ...]:
    """Codes of what is asked at any meal, before and after it."""
    return tuple(codes for one in plan.meals for codes in (one.before, one.after))


def others(plan: Plan, stop: Stop) -> tuple[Feed, ...]:
    """Feeds of the plan that the list does not give a tank, each once."""
    here = {one.feed for one in stop.portions}
    return tuple({one.code: one for one in plan.feeds if one.code not in here}.values())[:9]


def flag_at(site: Site, stop: Stop) -> str:
    """The worst flag that stands at a tank: "oxygen ACT"; "" for none."""
    from tankwalk.practice.incidents.at_place import open_now

    flags = open_now(site, site.now()).at(stop.tank.code).flags
    return f"{flags[0].item.label} {flags[0].flag.word}" if flags else ""
