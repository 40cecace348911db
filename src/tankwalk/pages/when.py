"""Moments as pages write them in a column: today by the clock, this week by day, else the date."""

from __future__ import annotations

from tankwalk.clock import Instant

WEEK_DAYS = 6
"""A day as many days back still has a name of its own; one more and it is today's."""


def at_words(at: Instant, now: Instant) -> str:
    """A moment of the past: "07:15" today, "Sat 15:04" this week, "24 Apr" before that."""
    if at.day == now.day:
        return at.hm()
    if 0 < (now.day - at.day).days <= WEEK_DAYS:
        return f"{at.wall.strftime('%a')} {at.hm()}"
    return f"{at.wall.day} {at.wall.strftime('%b')}"


def age_words(hours: float) -> str:
    """How long ago, in a narrow cell: "25 min", "16 h", "3 d"."""
    if hours < 1:
        return f"{max(0, round(hours * 60))} min"
    return f"{round(hours)} h" if hours < 72 else f"{round(hours / 24)} d"
