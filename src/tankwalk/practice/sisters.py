"""One tank against its sisters: who moved from its usual while the others did not."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.plan.model import Item
from tankwalk.practice.causes import Shift
from tankwalk.practice.usual import deadband
from tankwalk.science.signals import median, robust_z

ODD_Z = 3.5
"""Iglewicz & Hoaglin 1993, How to detect and handle outliers (from memory)."""


def odd(item: Item, here: Shift, shifts: Sequence[Shift]) -> str:
    """The words for a tank that stands apart from those of its loop read in this round; or "".

    Each is held against its own usual, so that a place that is always cooler is not odd.
    """
    moved = here.lately()
    mates = [s for s in shifts if s.loop == here.loop and s.place != here.place]
    others = [d for s in mates if (d := s.lately()) is not None]
    if moved is None:
        return ""
    z = robust_z(moved, others, max([here.usual.scatter, *(s.usual.scatter for s in mates)]))
    apart = 0.0 if z is None else moved - median(others)
    if z is None or abs(z) <= ODD_Z or abs(apart) <= deadband(item):
        return ""
    way = "above" if apart > 0 else "below"
    return (
        f"odd one out: {abs(apart):.{item.decimals}f} {way} its usual beside "
        f"{len(others)} sisters (z {abs(z):.1f})"
    )
