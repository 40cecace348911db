"""The middle of some numbers: what one wild value does not move."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.errors import Refusal
from tankwalk.science.limits import finite

MAD_TO_SD = 1.4826
"""The standard deviation of normal values over their median absolute deviation: 1 / 0.67449."""


def median(values: Sequence[float]) -> float:
    """The middle value, or the mean of the middle two. Refusal for an empty list."""
    return middle_of(sorted(some("values", values)))


def middle_of(ordered: Sequence[float]) -> float:
    """The same of values that are finite, at least one, and in order; it checks none of that."""
    half = len(ordered) // 2
    if len(ordered) % 2:
        return ordered[half]
    return (ordered[half - 1] + ordered[half]) / 2


def some(name: str, values: Sequence[float]) -> Sequence[float]:
    """Values as they are; Refusal naming them where there are none, or one is no number."""
    if not values:
        raise Refusal(f"{name} has to hold at least one number.")
    for value in values:
        finite(name, value)
    return values
