"""One tank against its own past: when a limit is reached."""

from __future__ import annotations

from tankwalk import figures
from tankwalk.clock import Instant, ago
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan.model import Band, Item, Limits
from tankwalk.practice.judging.baseline import RECENT, Usual
from tankwalk.science.signals import hours_until

OUT = 2
"""A look of this flag or worse was out of band."""

# Seeds, to be tuned by a site. Common practice, no source.

TOLD_HOURS = 24.0
"""How long ahead a limit is told for a value that is out already."""


def away(value: float, level: float, band: Band | None, usual: Usual) -> bool:
    """Whether a value goes away from where it should be, and is not on its way back.

    Where the band has a target: farther from it than `level` was. Else: none of the newest looks
    was out of band.
    """
    if band is not None and band.target is not None:
        return abs(value - band.target) > abs(level - band.target)
    return all(look.flag < OUT for look in usual.looks[-RECENT:])


def ahead(item: Item, value: float, limits: Limits, last: ValueSeen | None, now: Instant) -> str:
    """When the next limit is reached at the slope since the last look, in words; "" for never.

    A value that is out and on its way back reaches none.
    """
    low, high = limits.watch_below, limits.watch_above
    if last is None or (low is not None and value < low and value > last.value):
        return ""
    if high is not None and value > high and value < last.value:
        return ""
    found = _reaches(value, limits, last, now)
    if found is None or found[1] > TOLD_HOURS:
        return ""
    limit, hours = found
    shown = figures.show(limit, "", item.decimals)
    return f"at this rate {shown} in about {ago(hours)}"


def _reaches(
    value: float, limits: Limits, last: ValueSeen | None, now: Instant
) -> tuple[float, float] | None:
    """The next limit on the way a value goes, and in how many hours it is there."""
    if last is None or now.utc <= last.at:
        return None
    slope = (value - last.value) / ((now.utc - last.at) / 3600)
    down = (limits.watch_below, limits.act_below, limits.urgent_below)
    up = (limits.watch_above, limits.act_above, limits.urgent_above)
    ways = [limit for limit in (down if slope < 0 else up) if limit is not None]
    beyond = [limit for limit in ways if (limit < value if slope < 0 else limit > value)]
    for limit in sorted(beyond, reverse=slope < 0):
        hours = hours_until(value, slope, limit)
        if hours is not None:
            return limit, hours
    return None
