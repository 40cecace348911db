"""Which way a flag goes: its last two looks, and when it would be back in band at that rate."""

from __future__ import annotations

from tankwalk.ledger.readings import Seen
from tankwalk.practice.incidents.incident import Incident
from tankwalk.rows import NamedTuple

LONGEST_MIN = 240.0
"""A forecast further ahead is none: the water changes meanwhile. Common practice, no source."""


class Trend(NamedTuple):
    """The newest look and the one before, and the band's edge that comes nearer.

    `edge` is in the item's unit, `minutes` how long until it is reached at the rate of these two;
    None where the value is in band, stands still, or goes the other way.
    """

    now: Seen
    before: Seen
    edge: float | None = None
    minutes: float | None = None

    @property
    def moved(self) -> float:
        """How far it went, in the item's unit."""
        return (self.now.value or 0.0) - (self.before.value or 0.0)


def trend(one: Incident) -> Trend | None:
    """The trend of a flag told with its story; None before the second look."""
    looks = [
        line.about
        for line in one.story
        if isinstance(line.about, Seen)
        and line.about.item == one.item.code
        and line.about.place == one.behind.place
        and line.about.value is not None
    ]
    if len(looks) < 2:
        return None
    now = looks[-1]
    # Two readings of one minute are one look.
    before = next((seen for seen in reversed(looks[:-1]) if now.at.utc - seen.at.utc >= 60), None)
    if before is None:
        return None
    found = Trend(now, before)
    limits = None if one.band is None else one.band.limits
    value, moved = now.value, found.moved
    if limits is None or value is None or not one.item.kind.by_band or not moved:
        return found
    low, high = limits.watch_below, limits.watch_above
    edge = low if low is not None and value < low else high if high is not None else None
    if edge is None or ((low is None or value >= low) and (high is None or value <= high)):
        return found
    rate = moved / ((now.at.utc - before.at.utc) / 60)
    minutes = (edge - value) / rate
    if not 0 < minutes <= LONGEST_MIN:
        return found
    return found._replace(edge=edge, minutes=minutes)
