"""How far a part stood off in each round, held against what its water did."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from math import sqrt

from tankwalk.practice.judging.model.levels import WILD, Levels, Noise, Read, Shown, mean_of
from tankwalk.practice.judging.model.looks import Part, Suspect
from tankwalk.rows import NamedTuple

DISAGREE = 4.0
"""Tanks whose variance is so many times that of one look do not agree. Tried, no source."""
OF_ROUGH = 1 / 3
"""What of that variance tanks share that are rounded off in one round."""
FEWEST_OF_LOOP = 3
"""Tanks that have to be read before all of them are said to have moved, with nothing beside."""


class Point(NamedTuple):
    """How far a part stood off in one round, with its variance and how much of that goes on."""

    round: int
    at: int
    part: str
    off: float
    variance: float
    lasting: float
    beside: int
    tanks: tuple[str, ...]


def points_of(
    known: Levels, suspect: Suspect, *, beside: bool = False, alone: bool = False
) -> list[Point]:
    """The part's points, oldest first: blocks of one round are one point.

    `beside` leaves out blocks of which nothing else was read; `alone` does not look at the others.
    """
    found: list[Point] = []
    held_by = _HeldBy(known.noise)
    of_tank = suspect.kind is Part.TANK
    for here in known.shown.get(suspect, ()):
        rest = len(here.block.reads) - len(here.reads)
        if not rest and (beside or (not of_tank and len(here.reads) < FEWEST_OF_LOOP)):
            continue
        one = held_by.point(here, 0 if alone else rest)
        if found and found[-1].round == one.round:
            one = _joined(found.pop(), one)
        found.append(one)
    return found


class _HeldBy:
    """What a part is held against in each of its blocks; `noise` is gone through once for all."""

    def __init__(self, noise: Noise) -> None:
        self._noise = noise
        self._water: dict[tuple[int, float], tuple[float, float, float]] = {}

    def point(self, here: Shown, others: int) -> Point:
        """How far those of a block stand from what so many others say its water did."""
        (_, number, _, ordered, rough), mine = here
        look = self._noise.look + rough
        share, unknown, lasting = self._water.get((others, rough)) or self._water_by(others, rough)
        if len(mine) == 1:
            own, variance = mine[0].off, look
            names: tuple[str, ...] = (mine[0].tank,)
        else:
            own, variance = self._of_several(here, look)
            names = tuple([read.tank for read in mine])
            if rough and not others:
                # One who rounds off may have rounded all of them the same way.
                variance += OF_ROUGH * rough * (1 - 1 / len(mine))
        if share:
            own -= mean_of(_others(ordered, mine), WILD * sqrt(look)) * share
        variance += unknown
        _, _, at, part, _ = mine[-1]
        return Point(number, at, part, own, variance, lasting / variance, others, names)

    def _of_several(self, here: Shown, look: float) -> tuple[float, float]:
        """The mean of those of a block, and its variance; `look` is that of one of them."""
        offs = [read.off for read in here.reads]
        count = len(offs)
        variance = look / count
        # Tanks that do not agree have no one cause: half of a loop moved by a meter, say.
        mean = sum(offs) / count
        spread = sum([(off - mean) ** 2 for off in offs]) / (count - 1) / look
        variance *= spread if spread > DISAGREE else 1.0
        ordered = here.block.ordered if count == len(here.block.reads) else sorted(offs)
        return mean_of(ordered, WILD * sqrt(look)), variance

    def _water_by(self, others: int, rough: float) -> tuple[float, float, float]:
        """By so many others: the share of theirs that is the water's, the variance of what they
        leave unknown, and how much of that goes on."""
        noise = self._noise
        share, unknown, lasting = 0.0, noise.loop, noise.loop
        if others:
            of_others = (noise.look + rough) / others
            lasting = unknown = 0.0
            if noise.days > 0:
                share = noise.days / (noise.days + of_others)
                unknown = of_others * share
                # What the others' own noise leaves unknown is new in each round: it does not go on.
                lasting = (1 - share) ** 2 * noise.days
        self._water[others, rough] = share, unknown, lasting
        return share, unknown, lasting


def _others(ordered: tuple[float, ...], mine: Sequence[Read]) -> Sequence[float]:
    """How far a block's others stood off, in order."""
    if len(mine) == 1:
        nth = bisect_left(ordered, mine[0].off)
        return ordered[:nth] + ordered[nth + 1 :]
    left = list(ordered)
    for read in mine:
        del left[bisect_left(left, read.off)]
    return left


def _joined(one: Point, other: Point) -> Point:
    """Points of two loops in one round, each by its weight."""
    a, b = 1 / one.variance, 1 / other.variance
    return Point(
        one.round,
        max(one.at, other.at),
        one.part,
        (a * one.off + b * other.off) / (a + b),
        1 / (a + b),
        (a * one.lasting + b * other.lasting) / (a + b),
        one.beside + other.beside,
        (*one.tanks, *other.tanks),
    )
