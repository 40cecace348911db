"""The calendar of the bench's years: each day with its luck, its people, its day of the season."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from random import Random
from typing import NamedTuple

from tankwalk import clock
from tankwalk.clock import Instant
from tankwalk_demo.days import FIRST, ZONE

LAST = date(2026, 5, 9)
"""The evening before the demo's morning, 2026-05-10T06:50."""

SEASON = 56
"""Days from one stocking to the next; one of them falls on the demo's own."""


class Day(NamedTuple):
    """One day of the years: `number` since they began, `left` to their end, `nth` of its season."""

    on: date
    number: int
    left: int
    nth: int
    noon: Instant
    luck: Random

    @property
    def like(self) -> date:
        """The day of the demo's season that this one is like, for its bands and ages."""
        return FIRST + timedelta(days=self.nth - 1)

    @property
    def dph(self) -> int:
        return self.nth + 3

    @property
    def weekend(self) -> bool:
        return self.on.isoweekday() > 5

    @property
    def morning(self) -> str:
        return "PB" if self.weekend else "JQ"

    @property
    def afternoon(self) -> str:
        return "PB" if self.weekend else "RO"

    def at(self, wall: str, seconds: float = 0) -> Instant:
        """Wall-clock time "07:20" of this day, and some seconds after it."""
        hours, minutes = wall.split(":")
        later = (int(hours) - 12) * 3600 + int(minutes) * 60 + int(seconds)
        return Instant(self.noon.utc + later, self.noon.offset)


def days(count: int) -> Iterator[Day]:
    """So many days, the last of them the eve of the demo's morning."""
    tz = clock.zone(ZONE)
    for left in range(count - 1, -1, -1):
        on = LAST - timedelta(days=left)
        nth = (on - FIRST).days % SEASON + 1
        yield Day(on, count - 1 - left, left, nth, clock.at(on, 12, 0, tz), Random(f"bench {on}"))
