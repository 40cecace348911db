"""The demo's calendar: thirty numbered days, wall-clock times as instants, who has which shift."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from random import Random

from tankwalk import clock
from tankwalk.clock import Instant

ZONE = "America/Chicago"
FIRST = date(2026, 4, 20)
"""Day 1, a Monday; the fish are 4 dph."""

DAYS = range(1, 31)
AGE_BEFORE = 3
"""Day 1 is 4 dph."""


def age(day: int) -> int:
    """Age of the fish in dph on a numbered day."""
    return day + AGE_BEFORE


def on(day: int) -> date:
    """Local date of a numbered day."""
    return FIRST + timedelta(days=day - 1)


@cache
def _midnight(day: int) -> Instant:
    # No clock change falls into the thirty days, so seconds may be added to midnight.
    return clock.at(on(day), 0, 0, clock.zone(ZONE))


def moment(day: int, wall: str, seconds: float = 0) -> Instant:
    """Wall-clock time "07:20" of a numbered day, and some seconds after it."""
    hours, minutes = wall.split(":")
    start = _midnight(day)
    return Instant(start.utc + int(hours) * 3600 + int(minutes) * 60 + int(seconds), start.offset)


def weekend(day: int) -> bool:
    """Whether a numbered day is a Saturday or a Sunday."""
    return on(day).isoweekday() > 5


def morning(day: int) -> str:
    """Who walks the morning round; PB covers one Wednesday."""
    return "PB" if weekend(day) or day == 3 else "JQ"


def afternoon(day: int) -> str:
    """Who walks the afternoon round; RO takes one weekend."""
    return "PB" if weekend(day) and day not in (20, 21) else "RO"


def chance(seed: int, *what: object) -> Random:
    """A random stream of its own for each thing, so that a change in one moves no other."""
    return Random("/".join(str(part) for part in (seed, *what)))


def wobble(chance: Random, size: float, most: float) -> float:
    """A little noise: normal, never beyond `most` on either side."""
    return max(-most, min(most, chance.gauss(0, size)))
