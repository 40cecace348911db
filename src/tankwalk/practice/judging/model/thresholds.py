"""How large a score has to be, so that chance tells no more than so many changes a day."""

from __future__ import annotations

from itertools import pairwise
from math import log

from tankwalk.plan.judging import JudgingLimits
from tankwalk.practice.judging.model.looks import Settings

OF_BUDGET = 0.5
"""The part of the wanted false alarms that changes may raise; bands and the dead have the rest."""

MADE: tuple[tuple[float, float], ...] = (
    (3.2, 0.303),
    (3.4, 0.168),
    (3.55, 0.103),
    (3.7, 0.068),
    (3.85, 0.051),
    (4.0, 0.031),
    (4.2, 0.021),
    (4.7, 0.010),
    (5.0, 0.006),
)
"""Score, and false changes of tanks and of meters in a day of twelve tanks, of temperature, oxygen,
pH and flow together: 42 quiet seasons of two makers, tuning seeds 1 to 21 of the rooms and of the
halls, 8,072 tank-days (tests/bench). Of loops they are a fifth as many, and fewer are told."""


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


OF_DEADBAND = 0.5
"""What water does from round to round, as a part of what the plan takes for no more than noise.
Common practice, no source."""


def settings_for(limits: JudgingLimits, step: float, deadband: float = 0.0) -> Settings:
    """What the model takes as given where a site has these limits, for what is read in a step.

    `deadband` is the item's, in its unit.
    """
    return Settings(
        step=step,
        water=OF_DEADBAND * deadband,
        score=score_for(OF_BUDGET * limits.false_watch_a_day),
        reference=limits.reference_looks,
        newest=limits.onset_looks,
        reach=limits.reference_most,
        clip=limits.clip,
        margin=limits.margin,
    )
