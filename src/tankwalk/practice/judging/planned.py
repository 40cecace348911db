"""What the plan itself moved: a ramp, a stage of life, a target or band that somebody edited.

The record keeps the band beside each value, so what was wanted at any look is known without the
plan of that day. A band that only got wider or narrower moved nothing.
"""

from __future__ import annotations

import json
from bisect import bisect_right
from collections.abc import Callable, Sequence
from datetime import date
from functools import lru_cache

from tankwalk.clock import Instant
from tankwalk.plan.bands import edges, resolve, rule_at
from tankwalk.plan.model import BandRule, Item, Limits
from tankwalk.practice.judging.baseline import deadband
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

REACH = 60
"""Looks back over which is asked what was wanted."""


class Wanted(NamedTuple):
    """What was wanted of an item at a place: now, and at each look that had a band, oldest first.

    `rule` is the one in force now.
    """

    now: Instant
    rule: BandRule | None
    limits: Limits | None
    at: tuple[int, ...] = ()
    then: tuple[Limits, ...] = ()

    def at_look(self, at: int) -> Limits | None:
        """The limits of the newest look that is not later than a UTC second."""
        nth = bisect_right(self.at, at)
        return self.then[nth - 1] if nth else None


def by_place(site: Site, item: Item, now: Instant) -> dict[str, list[tuple[int, str]]]:
    """The bands that stood beside the newest looks at an item, of every place by one question."""
    return site.reader.readings.bands_by_place(item.code, item.unit, REACH, now.utc)


def wanted(
    site: Site,
    item: Item,
    place: str,
    now: Instant,
    beside: Sequence[tuple[int, str]] | None = None,
) -> Wanted:
    """What was wanted of an item at a place, by the plan in force and by the record.

    `beside` are the bands that stood beside its looks, where they were asked for already.
    """
    rule = rule_at(site.plan, item, place, now.day)
    limits = None if rule is None else resolve(rule, now.day).limits
    rows = beside
    if rows is None:
        rows = site.reader.readings.bands(place, item.code, item.unit, REACH, now.utc)
    then = tuple(_limits(words) for _, words in rows)
    return Wanted(now, rule, limits, tuple(at for at, _ in rows), then)


def moved(site: Site, item: Item, place: str, now: Instant) -> Callable[[int], float]:
    """How far the plan's target moved from a UTC second until now, in the item's unit."""
    return moved_by(wanted(site, item, place, now))


def moved_by(of: Wanted) -> Callable[[int], float]:
    """The same, of what was wanted."""
    ramp = None if of.rule is None else of.rule.ramp
    today = None if ramp is None else ramp.at(of.now.day)
    targets: dict[date, float] = {}

    def since(at: int) -> float:
        by_band = shift(of.at_look(at), of.limits)
        if by_band or ramp is None or today is None:
            return by_band
        day = Instant(at, of.now.offset).day
        if day not in targets:
            targets[day] = ramp.at(day)
        return today - targets[day]

    return since


def changed_by(of: Wanted, least: float = 0.0) -> int | None:
    """The UTC second of the newest look from before the plan moved what is wanted at one stroke.

    What was usual until then tells nothing of what comes after. None where a ramp alone moved it,
    which the water follows day by day, and where nothing did. A stroke of `least` or less, in the
    item's unit, is none.
    """
    least = max(least, _NOTHING)
    ramp = None if of.rule is None else of.rule.ramp
    after, day = of.limits, of.now.day
    for at, then in zip(reversed(of.at), reversed(of.then), strict=True):
        before = Instant(at, of.now.offset).day
        planned = 0.0 if ramp is None else ramp.at(day) - ramp.at(before)
        by_band = shift(then, after)
        if abs(by_band) > least and abs(by_band - planned) > least:
            return at
        after, day = then, before
    return None


OF_DEADBAND = 0.5
"""Less than so much of what the plan takes for noise is no stroke. Common practice, no source."""


def last_stroke(item: Item, of: Wanted) -> int:
    """The same, of what is more than noise; -1 for none."""
    changed = changed_by(of, OF_DEADBAND * deadband(item))
    return -1 if changed is None else changed


_NOTHING = 1e-6


@lru_cache(maxsize=1024)
def shift(before: Limits | None, after: Limits | None) -> float:
    """How far the middle of what is wanted moved from one band to another.

    Both ends have to have moved, the same way: a band with one end, or that only got wider, says
    nothing of where the water should be.
    """
    if before is None or after is None or before == after:
        return 0.0
    low, high = edges(before)
    new_low, new_high = edges(after)
    if low is None or high is None or new_low is None or new_high is None:
        return 0.0
    by_low, by_high = new_low - low, new_high - high
    if by_low * by_high <= 0:
        return 0.0
    return (by_low + by_high) / 2


@lru_cache(maxsize=256)
def _limits(words: str) -> Limits:
    """Limits as the record keeps them beside a value; what it does not know is left out."""
    kept = json.loads(words)
    return Limits(**{name: kept[name] for name in Limits._fields if name in kept})
