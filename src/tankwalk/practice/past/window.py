"""A window of whole local days that a past is told of."""

from __future__ import annotations

from datetime import date, timedelta

from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

DAYS = 14
"""So many days a page opens with."""

STEPS = (7, 14, 30, 60, 120, 365, 1826)
"""Lengths that + and - choose from, in days."""

MOST_DAYS = 3660
"""The longest window: ten years."""


class Window(NamedTuple):
    """Days `first` to `last`, both inside; UTC seconds `since` to `until`, both inside."""

    first: date
    last: date
    since: int
    until: int

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    def day(self, nth: int) -> date:
        """The nth day, from 0."""
        return self.first + timedelta(days=nth)

    def nth(self, moment: Instant) -> int:
        """Which day of the window a moment falls on, from 0; outside it below 0 or beyond."""
        return (moment.day - self.first).days


def window(site: Site, now: Instant, days: int = DAYS, back: int = 0) -> Window:
    """`days` days that end today, or `back` days before. Refusal for no 1 to 3660 days."""
    if not 1 <= days <= MOST_DAYS:
        raise Refusal(f"{days} days cannot be shown: ask for 1 to {MOST_DAYS} days.")
    last = now.day - timedelta(days=max(0, back))
    first = last - timedelta(days=days - 1)
    tz = zone(site.plan.zone)
    end = at(last + timedelta(days=1), 0, 0, tz).utc - 1
    return Window(first, last, at(first, 0, 0, tz).utc, min(end, now.utc))
