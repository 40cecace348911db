"""The age of larvae by the calendar: days post hatch."""

from __future__ import annotations

from datetime import date


def dph(hatched: date, on: date) -> int | None:
    """Days post hatch.

    Parameters: `hatched`, the local calendar day on which half the lot had hatched (0 dph);
    `on`, a local calendar day. Returns whole days, or None before hatch.
    Source: common practice, no source; labs differ by a day, so the rule is stored, not typed.
    """
    days = (on - hatched).days
    return days if days >= 0 else None
