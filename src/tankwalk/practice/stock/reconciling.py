"""A census against what was expected: how large the gap is, and what is to be done about it.

Percid larvae eat each other whole and decay within hours: 28 to 53 % of a stock vanished so in
perch (see docs/stock.md), so a large gap is expected of larvae and has a band of its own.
"""

from __future__ import annotations

from enum import Enum

from tankwalk.practice.stock.numbers import Gap
from tankwalk.rows import NamedTuple

FINE, EXPLAIN = 5.0, 15.0
"""Percent of what was expected: to the first a gap is fine, to the second it is explained, above
it is looked into. Common practice, no source."""

LARVAL_DPH = 45
"""Fish up to this age are larvae here. Common practice, no source."""

LARVAE_LOSE = 55.0
"""Percent of what was expected that larvae may lose unseen and be like others: percid trials told
of 28 to 53 %, and of more than half in the first weeks."""


class Verdict(Enum):
    """What a gap at a census says."""

    CHANCE = "within the error of the counts"
    FINE = "fine"
    EXPLAIN = "to be explained"
    INVESTIGATE = "to be looked into"
    LARVAE = "as expected of larvae"
    MORE = "more than expected"


class Why(Enum):
    """What a person takes to be behind a gap; kept as the reason of the census."""

    EATEN = "probable cannibalism"
    DECAYED = "decayed unseen"
    MISCOUNT = "miscount"
    ESCAPED = "escape"


class Judged(NamedTuple):
    """A gap with its verdict; limits are percent of what was expected, None where not known."""

    gap: Gap
    verdict: Verdict
    low: float | None
    high: float | None


def judge(gap: Gap, age: int | None) -> Judged:
    """The verdict on a gap, by the age of the fish then."""
    percent, error = gap.percent, gap.plus_minus
    low = high = None
    if percent is not None and error is not None:
        half = 100 * error / gap.expected.fish
        low, high = percent - half, percent + half
    return Judged(gap, _verdict(percent, low, high, age), low, high)


def _verdict(
    percent: float | None, low: float | None, high: float | None, age: int | None
) -> Verdict:
    if percent is None:
        return Verdict.MORE
    if low is not None and high is not None and low <= 0 <= high:
        return Verdict.CHANCE
    if percent < -FINE:
        return Verdict.MORE
    if abs(percent) <= FINE:
        return Verdict.FINE
    if age is not None and age <= LARVAL_DPH:
        return Verdict.LARVAE if percent <= LARVAE_LOSE else Verdict.INVESTIGATE
    return Verdict.EXPLAIN if percent <= EXPLAIN else Verdict.INVESTIGATE
