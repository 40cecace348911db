"""Keeping a meal: what a tank was given, and why a tank, a loop or the site gets none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import MealSeen
from tankwalk.plan.model import Tank
from tankwalk.practice.feeding.meals import (
    FEED_ON,
    MISSED,
    TWICE_HOURS,
    FeedDoubt,
    GivenTwice,
    doubt,
)
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.ledger.entries import Poured


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
    meal_at: Instant | None = None,
    poured: Sequence[Poured] = (),
    when: Instant | None = None,
    amends: MealSeen | None = None,
    reason: str | None = None,
) -> MealGiven:
    """Keep a meal of a tank, in `unit`; `left_over` of the last one is a score from 0 to 3.

    `meal_at` is the planned meal it belongs to, `poured` what went in of which batch of live feed,
    `when` the moment it went in where that was not now. What corrects another entry `amends` it for
    a `reason`, and has its moment.

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
    from tankwalk.ledger.entries import Entry, Meal, Served

    meal = Meal(code, amount, unit, planned, left_over)
    which = () if meal_at is None else (Served(meal_at.utc),)
    entry = Entry("meal", who, when or now, now, tank.code)
    if amends is not None:
        entry = entry._replace(observed=amends.at, amends=amends.n, reason=reason)
    return MealGiven(site.record(entry, meal, *which, *poured))


def _twice(site: Site, tank: Tank, feed: str, now: Instant) -> GivenTwice | None:
    """What to ask where the same feed went into this tank a moment ago."""
    for meal in reversed(site.reader.feeding.meals(now.utc - int(TWICE_HOURS * 3600))):
        same = meal.place == tank.code and meal.feed == feed and meal.event is None
        if same and meal.at.utc <= now.utc:
            return GivenTwice(tank.code, feed, meal.at, meal.who, now.hours_since(meal.at))
    return None


def pause(
    site: Site,
    who: str,
    place: str,
    words: str,
    *,
    meal_at: Instant | None = None,
    feed: str | None = None,
    unit: str = "g",
    planned: float | None = None,
    when: Instant | None = None,
) -> int:
    """Keep that a tank, a loop or the site is not fed, and why; see `covers` for how long.

    With `meal_at` it is that planned meal alone. `feed`, with what was `planned` of it in `unit`,
    is the feed that was left out where it is not the first of the plan that stands for all. `when`
    is the moment it was so, where that is not now.
    """
    plan, now = site.plan, site.now()
    who = site.signs(who)
    if plan.find_tank(place) is None and place not in (SITE, *(p.code for p in plan.loops)):
        raise Refusal(f"{text.clean(place)[:20]!r} is no place of the plan: no pause was kept.")
    words = text.clean(words, limit=120)
    if not words.removeprefix(MISSED.strip()).strip():
        raise Refusal("Nothing was typed: say why there is no feed, and no pause was kept.")
    from tankwalk.ledger.entries import Entry, Meal, Served

    feed = feed or (plan.feeds[0].code if plan.feeds else "feed")
    entry = Entry("meal", who, when or now, now, place)
    which = () if meal_at is None else (Served(meal_at.utc),)
    return site.record(entry, Meal(feed, 0.0, unit, planned, event=words), *which)


def feed_on(site: Site, who: str, place: str) -> int:
    """Keep that a tank, a loop or the site is fed again: it ends the pauses there."""
    return pause(site, who, place, FEED_ON)
