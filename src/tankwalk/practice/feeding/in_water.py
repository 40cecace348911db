"""Live feed in the water of a tank: what is left of it at a meal, and what a density needs."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from enum import Enum

from tankwalk.clock import Instant
from tankwalk.plan.model import Item, Level, Plan, Tank
from tankwalk.rows import NamedTuple
from tankwalk.science.feeding import Meal, balance, filled
from tankwalk.science.prey import density_after

PER_ML = "per mL"
"""The unit of items that count what is left in the water."""

LOOK_BACK_HOURS = 48.0
"""Live feed given longer ago than this is not carried on. Common practice, no source."""


class LeftHow(Enum):
    """How it is known what is left."""

    COUNTED = "counted since the last meal"
    WORKED_OUT = "worked out by washout and grazing"
    NO_FLOW = "no flow was ever read: taken as none"
    NOTHING_GIVEN = "no meal in the last two days"


class Left(NamedTuple):
    """What is left in the water: per mL at `at`, and what that was carried on from.

    `since` is the count or the meal it was worked out from, `start` the density then, per mL;
    flow in L/min and `eaten` in prey an hour of all the fish of the tank.
    """

    per_ml: float
    how: LeftHow
    at: Instant
    since: Instant | None = None
    start: float | None = None
    flow: float | None = None
    eaten: float = 0.0


class Given(NamedTuple):
    """Live feed that went in: when, and how many thousand."""

    at: Instant
    thousand: float


class Counted(NamedTuple):
    """Live feed counted in the water of a tank: when, and how many per mL."""

    at: Instant
    per_ml: float


def counting_items(plan: Plan) -> tuple[Item, ...]:
    """Items that count what is left of the live feed: numbers per mL of each tank."""
    return tuple(
        item
        for item in plan.items
        if item.level is Level.TANK and item.unit == PER_ML and item.kind.by_band
    )


def left(
    volume: float,
    when: Instant,
    flow: float | None,
    eaten: float,
    given: Sequence[Given],
    counted: Counted | None,
) -> Left:
    """What is left at a moment: as counted since the last meal, else worked out from the meals.

    Volume in L, flow in L/min, `eaten` in prey an hour of all the fish; `given` oldest first.
    """
    meals = [one for one in given if 0 < when.hours_since(one.at) <= LOOK_BACK_HOURS]
    fresh = counted is not None and 0 <= when.hours_since(counted.at) <= LOOK_BACK_HOURS
    if counted is not None and fresh and not any(m.at.utc > counted.at.utc for m in meals):
        hours = when.hours_since(counted.at)
        still = counted.per_ml
        if flow is not None:
            still = density_after(still, flow, volume, hours, eaten)
        return Left(still, LeftHow.COUNTED, when, counted.at, counted.per_ml, flow, eaten)
    if not meals:
        return Left(0.0, LeftHow.NOTHING_GIVEN, when)
    if flow is None:
        return Left(0.0, LeftHow.NO_FLOW, when, meals[-1].at)
    start, before = meals[0].at, 0.0
    if counted is not None and fresh:
        start, before = counted.at, counted.per_ml
        meals = [one for one in meals if one.at.utc > start.utc]
    found = balance(
        volume, flow, _rising(meals, start), when.hours_since(start), start=before, eaten=eaten
    )
    return Left(
        found.left / (1000 * volume),
        LeftHow.WORKED_OUT,
        when,
        meals[-1].at,
        found.spans[-1].after,
        flow,
        eaten,
    )


def _rising(meals: Sequence[Given], start: Instant) -> list[Meal]:
    """Meals by their hour from the start; those of one second are one."""
    found: dict[float, float] = {}
    for one in meals:
        hour = one.at.hours_since(start)
        found[hour] = found.get(hour, 0.0) + 1000 * one.thousand
    return [Meal(hour, prey) for hour, prey in sorted(found.items())]


def of_a_day(
    plan: Plan, tank: Tank, on: date, target: float, flow: float | None, eaten: float
) -> tuple[float, ...]:
    """Thousand that each meal of a day needs to fill a tank up to a density in per mL.

    The first one finds what a night leaves of the density, where the meals of the day before were
    as many. Without a flow nothing is taken to be left at any of them.
    """
    clock = sorted({60 * m.at.hour + m.at.minute for m in plan.meals if m.is_on(on)})
    hours = [(minutes - clock[0]) / 60 for minutes in clock]
    if not hours:
        return ()
    if flow is None:
        return tuple(target * tank.volume_l for _ in hours)
    night = density_after(target, flow, tank.volume_l, 24 - hours[-1], eaten)
    found = filled(tank.volume_l, flow, target, hours, 24, night, eaten)
    return tuple(span.given / 1000 for span in found.spans)
