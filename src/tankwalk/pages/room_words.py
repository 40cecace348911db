"""A handover that waits, or that nobody took, in words that board and handover share."""

from __future__ import annotations

from tankwalk.clock import Instant, ago
from tankwalk.practice.handover.handover_notes import NeverTaken


def waiting(given: Instant, now: Instant) -> str:
    """How long a handover waits to be taken."""
    hours = now.hours_since(given)
    return "not taken yet" if round(abs(hours) * 60) < 1 else f"NOT TAKEN for {ago(hours)}"


def untaken(one: NeverTaken) -> str:
    """Which handover nobody took."""
    return f"handover {one.given.at.short()} by {one.given.who}"
