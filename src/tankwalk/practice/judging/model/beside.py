"""Which of the tanks beside a change stayed: what is said of them has to be so."""

from __future__ import annotations

from collections.abc import Collection
from math import sqrt

from tankwalk.practice.judging.model.levels import Levels
from tankwalk.practice.judging.model.looks import Part, Suspect
from tankwalk.science.middle import middle_of

PART, SPREADS = 0.5, 2.5
"""A tank stayed where it went less than half as far, or no further than so many standard deviations
of one look. Common practice, no source."""
RECENT, FEWEST = 4, 3
"""Looks of before that tell where a tank was, and fewest of the same part of the day."""


def stayed(known: Levels, mine: Collection[str], begun: int, newest: int, size: float) -> int:
    """How many others, read in round `newest` with tanks of `mine`, are where they were before.

    `begun` is the round in which the change of `size` began. The water itself may have moved: what
    moved besides is no witness that it stayed.
    """
    far = max(PART * abs(size), SPREADS * sqrt(known.noise.look))
    here = [block for block in known.blocks if block.round == newest]
    water = [block for block in here if any(read.tank in mine for read in block.reads)]
    others = {read.tank for block in water for read in block.reads} - set(mine)
    return sum(_went(known, tank, begun, newest) <= far for tank in others)


def _went(known: Levels, tank: str, begun: int, newest: int) -> float:
    """How far a tank's look in a round is from its looks of before a change began.

    Those of the same part of the day, where they are enough.
    """
    looks = [(one.block.round, one.reads[0]) for one in known.shown[Suspect(Part.TANK, tank)]]
    old = [read for number, read in looks if number < begun]
    now = next(read for number, read in reversed(looks) if number == newest)
    alike = [read for read in old if read.part == now.part]
    if len(alike) >= FEWEST:
        old = alike
    if not old:
        return 0.0
    return abs(now.off - middle_of(sorted([read.off for read in old[-RECENT:]])))
