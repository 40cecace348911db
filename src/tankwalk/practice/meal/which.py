"""Which meal: those of today a tank still waits for, the one to give now, and one given earlier."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.practice.feeding import meals
from tankwalk.practice.site import Site
from tankwalk.practice.times import TYPED
from tankwalk.rows import NamedTuple


class MealStands(NamedTuple):
    """A planned meal of today: when, and the tanks that still wait for it."""

    at: Instant
    waiting: tuple[str, ...]


def of_today(site: Site, now: Instant) -> tuple[MealStands, ...]:
    """The meals of today with the tanks that wait for each; tomorrow's first where none is left."""
    plan = site.plan
    fed = [tank for tank in plan.tanks if meals.is_fed(plan, tank, now.day)]
    before, after = now.day - timedelta(days=1), now.day + timedelta(days=1)
    planned = meals.times(plan, before, after)
    seen = meals.read(site, at(before, 0, 0, zone(plan.zone)).utc)
    missing = meals.not_served_of(plan, fed, planned, seen)
    found = [
        MealStands(when, tuple(code for code, some in missing.items() if when in some))
        for when in planned
        if when.day >= now.day
    ]
    today = [one for one in found if one.at.day == now.day]
    left = any(one.waiting for one in today)
    return (*today, *([] if left else [one for one in found if one.at.day > now.day][:1]))


def open_now(stands: Sequence[MealStands], now: Instant) -> list[MealStands]:
    """The meals that a tank waits for and that can be given at this moment, in order.

    A meal opens half an hour early; of two that are closer than an hour the second opens between.
    """
    opens = meals.openings([one.at for one in stands])
    return [
        one
        for one, opening in zip(stands, opens, strict=True)
        if one.waiting and opening <= now.utc
    ]


def to_give(stands: tuple[MealStands, ...], now: Instant) -> Instant | None:
    """The meal that is given now: the newest that is due and waited for, else the next one."""
    due = open_now(stands, now)
    if due:
        return due[-1].at
    coming = [one.at for one in stands if one.at.utc > now.utc]
    return coming[0] if coming else (stands[-1].at if stands else None)


def earlier(site: Site, words: str) -> Instant:
    """A time of day that is past, as typed ("1015"): when feed was given. Refusal for any other."""
    found = TYPED.fullmatch(words.strip())
    hour, minute = (int(found[1]), int(found[2] or 0)) if found else (99, 0)
    if hour > 23 or minute > 59:
        raise Refusal(f"{words.strip()[:20]!r} is no time of day: type it as 1015.")
    now, tz = site.now(), zone(site.plan.zone)
    today = at(now.day, hour, minute, tz)
    if today.utc <= now.utc:
        return today
    yesterday = at(now.day - timedelta(days=1), hour, minute, tz)
    if now.hours_since(yesterday) > 12:
        raise Refusal(f"{today.hm()} is still to come: type when it was given.")
    return yesterday
