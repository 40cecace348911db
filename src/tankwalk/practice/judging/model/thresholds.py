"""How large a score has to be, so that chance tells no more than so many changes a day."""

from __future__ import annotations

from itertools import pairwise
from math import log

from tankwalk.plan.judging import JudgingLimits
from tankwalk.practice.judging.model.looks import Settings

OF_BUDGET = 0.22
"""The part of the wanted false alarms that changes may raise; bands and the dead have the rest."""

MADE: tuple[tuple[float, float], ...] = (
    (3.4, 0.317),
    (3.7, 0.174),
    (4.0, 0.086),
    (4.2, 0.054),
    (4.4, 0.036),
    (4.7, 0.024),
    (5.0, 0.017),
)
"""Score, and false changes of tanks and of meters told from their water in a day of twelve tanks,
of temperature, oxygen, pH and flow together: 106 quiet seasons of two makers, tuning seeds 1 to 43
of the rooms and 1 to 63 of the halls, 12,770 tank-days (tests/bench)."""


def score_for(false_a_day: float) -> float:
    """The score that chance reaches so many times a day of twelve tanks.

    Between the simulated ones, and beyond them, the logarithm goes along a line.
    """
    pairs = list(pairwise(MADE))
    (low, many), (high, few) = next(
        (pair for pair in pairs if false_a_day >= pair[1][1]), pairs[-1]
    )
    part = (log(many) - log(false_a_day)) / (log(many) - log(few))
    return low + part * (high - low)


def settings_for(limits: JudgingLimits, step: float) -> Settings:
    """What the model takes as given where a site has these limits, for what is read in a step."""
    return Settings(
        step=step,
        score=score_for(OF_BUDGET * limits.false_watch_a_day),
        reference=limits.reference_looks,
        newest=limits.onset_looks,
        reach=limits.reference_most,
        clip=limits.clip,
        margin=limits.margin,
    )
