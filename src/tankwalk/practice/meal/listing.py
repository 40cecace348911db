"""The dispensing list as the tanks of a meal: what each gets, what is asked there, who is off."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import time

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import PouredSeen
from tankwalk.plan.feed_model import Feed, FeedKind
from tankwalk.plan.model import Plan
from tankwalk.practice.feeding import meals
from tankwalk.practice.feeding.dispensing import MealList, Row
from tankwalk.practice.feeding.sharing import Pour
from tankwalk.practice.meal.stops import Portion, Stop, stop
from tankwalk.practice.meal.stops import unlisted as unlisted
from tankwalk.practice.site import Site


def stops(plan: Plan, found: MealList, poured: Iterable[PouredSeen] = ()) -> tuple[Stop, ...]:
    """The tanks of a meal in walking order, each with what it is to get.

    `poured` is what went in of batches already: what was given may be corrected in mL.
    """
    asked = asked_at(plan, found.meal)
    went_in: dict[tuple[str, str], tuple[Pour, ...]] = {}
    for one in poured:
        if one.meal_at == found.meal.utc:
            pour = Pour(one.batch, one.ml, one.per_ml)
            went_in[one.place, one.feed] = (*went_in.get((one.place, one.feed), ()), pour)
    return tuple(_stop(plan, row, found.meal, asked, went_in) for row in found.rows)


def _stop(
    plan: Plan,
    row: Row,
    meal: Instant,
    asked: tuple[tuple[str, ...], tuple[str, ...]],
    went_in: dict[tuple[str, str], tuple[Pour, ...]],
) -> Stop:
    portions = tuple(
        Portion(
            one.feed.code,
            meals.feed_words(one.feed),
            one.feed.unit,
            one.feed.kind is FeedKind.LIVE,
            one.listed,
            one.full,
            one.pours or went_in.get((row.tank.code, one.feed.code), ()),
            one.need,
            one.served,
        )
        for one in row.portions
    )
    off = None if row.off is None or row.off.one_meal or not portions else row.off
    return stop(plan, row.tank, meal, portions, off, asked)


def asked_at(plan: Plan, meal: Instant) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Codes of what is asked at each tank before this meal and after it."""
    wall = meal.wall.time()
    at = time(wall.hour, wall.minute)
    planned = next((one for one in plan.meals if one.at == at and one.is_on(meal.day)), None)
    return ((), ()) if planned is None else (planned.before, planned.after)


def others(plan: Plan, stop: Stop) -> tuple[Feed, ...]:
    """Feeds of the plan that the list does not give a tank, each once."""
    here = {one.feed for one in stop.portions}
    return tuple({one.code: one for one in plan.feeds if one.code not in here}.values())[:9]


def flag_at(site: Site, stop: Stop) -> str:
    """The worst flag that stands at a tank: "oxygen ACT"; "" for none."""
    from tankwalk.practice.incidents.at_place import open_now

    flags = open_now(site, site.now()).at(stop.tank.code).flags
    return f"{flags[0].item.label} {flags[0].flag.word}" if flags else ""
