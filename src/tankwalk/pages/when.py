"""Moments and spans as pages say them: today by the clock, this week by day, else the date."""

from __future__ import annotations

from tankwalk.clock import Instant, ago, is_ahead

WEEK_DAYS = 6
"""A day as many days back still has a name of its own; one more and it is today's."""


def at_words(at: Instant, now: Instant) -> str:
    """A moment, past or to come: "07:15" today, "Sat 15:04" within a week, else "24 Apr"."""
    if at.day == now.day:
        return at.hm()
    if abs((now.day - at.day).days) <= WEEK_DAYS:
        return f"{at.wall.strftime('%a')} {at.hm()}"
    return f"{at.wall.day} {at.wall.strftime('%b')}"


def day_of(at: Instant, now: Instant) -> str:
    """The day of a moment: the time of today, "Sat" within a week, else "24 Apr"."""
    said = at_words(at, now)
    return said if at.day == now.day else said.partition(" ")[0] if ":" in said else said


def to_come(hours: float) -> str:
    """How long until something, or that it is overdue: "in 1 h 30 min", "overdue 8 d"."""
    if hours < 0:
        return f"overdue {ago(hours)}"
    return "due now" if round(hours * 60) < 1 else f"in {ago(hours)}"


def age_words(hours: float) -> str:
    """How long ago, in a narrow cell: "25 min", "16 h", "3 d"; "?" for what lies ahead."""
    if is_ahead(hours):
        return "?"
    if hours < 1:
        return f"{max(0, round(hours * 60))} min"
    return f"{round(hours)} h" if hours < 72 else f"{round(hours / 24)} d"
