"""One tank against its sisters: who moved from its usual while the others did not."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.plan.model import Band, Item
from tankwalk.practice.judging.baseline import deadband
from tankwalk.practice.judging.change import away, half_width
from tankwalk.practice.judging.shared_causes import Shift
from tankwalk.science.middle import median
from tankwalk.science.signals import robust_z

ODD_Z = 3.5
"""Iglewicz & Hoaglin 1993, How to detect and handle outliers (from memory)."""

OF_HALF_BAND = 1 / 3
"""What stands apart by less of the half band is told by nobody. Common practice, no source."""


def odd(item: Item, here: Shift, shifts: Sequence[Shift], band: Band | None) -> str:
    """The words for a tank that stands apart from those of its loop read in this round; or "".

    Each is held against its own usual, so that a place that is always cooler is not odd; one that
    comes back to where it should be is not odd either.
    """
    moved = here.lately()
    mates = [s for s in shifts if s.loop == here.loop and s.place != here.place]
    others = [d for s in mates if (d := s.lately()) is not None]
    if moved is None:
        return ""
    z = robust_z(moved, others, max([here.usual.scatter, *(s.usual.scatter for s in mates)]))
    apart = 0.0 if z is None else moved - median(others)
    half = None if band is None else half_width(band)
    least = max(deadband(item), 0.0 if half is None else OF_HALF_BAND * half)
    if z is None or abs(z) <= ODD_Z or abs(apart) <= least:
        return ""
    if not away(here.value, here.value - moved, band, here.usual):
        return ""
    way = "above" if apart > 0 else "below"
    return (
        f"odd one out: {abs(apart):.{item.decimals}f} {way} its usual, "
        f"compared with {len(others)} other tanks"
    )
