"""Which part changed: each tank, loop and meter held against the rest of the water."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import sqrt

from tankwalk.practice.judging.model.levels import (
    GOES_ON,
    OF_MEDIAN,
    Block,
    Levels,
    Noise,
    Read,
    levels,
    part_of_day,
)
from tankwalk.practice.judging.model.looks import Change, Look, Part, Settings, Suspect
from tankwalk.rows import NamedTuple
from tankwalk.science.changing import Onset, Shape, best_onset
from tankwalk.science.middle import median

CLIP = 6.0
"""A look further off than so many of its standard deviations says no more than that."""
MOST_CHANGES = 6
"""Changes that are told from each other at once."""
TREND = 0.5
"""A loop's water may always have gone so many of its standard deviations a day: fish grow."""
OPPOSED = 0.85
"""Scores of two meters that are this close tell nothing of which it is. Tried, no source."""
MOSTLY = 0.5
"""A part that is read without others beside it holds most of what its water does."""
FEWEST_OF_LOOP = 3
"""Tanks of a loop that have to be read before its water is spoken of."""


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


class Found(NamedTuple):
    """What explains a part's points best."""

    suspect: Suspect
    onset: Onset
    points: tuple[Point, ...]

    @property
    def evidence(self) -> float:
        """The log of the likelihood ratio."""
        return self.onset.score**2 / 2


def changes(looks: Sequence[Look], settings: Settings) -> tuple[Change, ...]:
    """What changed in the looks of one item, the best explained first; () for nothing.

    What has been found is taken out of the looks before the next is looked for, so that a meter's
    change is not told again of each of its tanks.
    """
    found: list[Change] = []
    left = list(looks)
    while len(found) < MOST_CHANGES:
        known = levels(left, settings)
        every = [one for s in suspects(known) if (one := held(known, s, settings)) is not None]
        told = [one for one in every if _told(one, settings)]
        if not told:
            break
        best = max(told, key=lambda one: abs(one.onset.score))
        change = _change(best, _rivals(best, every, settings))
        if any((c.kind, c.code) == (change.kind, change.code) for c in found):
            break
        found.append(change)
        left = _without(left, best)
    return tuple(found)


def suspects(known: Levels) -> Iterator[Suspect]:
    """Every tank, loop and meter that was read in the newest rounds."""
    seen: dict[Suspect, None] = {}
    for block in known.blocks:
        seen[Suspect(Part.LOOP, block.loop)] = None
        for read in block.reads:
            seen[Suspect(Part.TANK, read.tank)] = None
            if read.meter is not None:
                seen[Suspect(Part.METER, read.meter)] = None
    return iter(seen)


def held(known: Levels, suspect: Suspect, settings: Settings) -> Found | None:
    """One part held against the rest of the water; None with too few looks."""
    points = _points(known, suspect, beside=suspect.kind is Part.METER)
    if len(points) <= settings.reference and suspect.kind is Part.METER:
        points = _points(known, suspect)
    points = points[-settings.reach :]
    if len(points) <= settings.reference:
        return None
    swing = part_of_day([p.part for p in points], [p.off for p in points])
    values = [p.off - swing.get(p.part, 0.0) for p in points]
    middle = median(values[: max(settings.reference, len(values) - settings.newest)])
    if suspect.kind is Part.TANK:
        values = [
            min(max(v, middle - CLIP * sqrt(p.variance)), middle + CLIP * sqrt(p.variance))
            for v, p in zip(values, points, strict=True)
        ]
    begun = points[0].at
    lasting = sum(p.lasting * p.variance for p in points) / len(points)
    water = lasting > MOSTLY * known.noise.loop
    onset = best_onset(
        [(p.at - begun) / 86400 for p in points],
        values,
        [p.variance for p in points],
        reference=settings.reference,
        newest=settings.newest,
        lasting=sum(p.lasting for p in points) / len(points),
        correlation=GOES_ON,
        trend=TREND * sqrt(known.noise.loop) if water else 0.0,
    )
    return None if onset is None else Found(suspect, onset, tuple(points))


def belongs(suspect: Suspect) -> Callable[[Read], bool]:
    """Whether a reading shows what a suspected part does."""
    if suspect.kind is Part.TANK:
        return lambda read: read.tank == suspect.code
    if suspect.kind is Part.METER:
        return lambda read: read.meter == suspect.code
    return lambda _: True


def _points(known: Levels, suspect: Suspect, *, beside: bool = False) -> list[Point]:
    """The part's points, oldest first: blocks of one round are one point.

    `beside` leaves out blocks of which nothing else was read.
    """
    of = belongs(suspect)
    found: list[Point] = []
    for block in known.blocks:
        if suspect.kind is Part.LOOP and block.loop != suspect.code:
            continue
        one = _point(block, of, known.noise)
        if one is None or (suspect.kind is Part.LOOP and len(block.reads) < FEWEST_OF_LOOP):
            continue
        if beside and not one.beside:
            continue
        if found and found[-1].round == one.round:
            one = _joined(found.pop(), one)
        found.append(one)
    return found


def _point(block: Block, of: Callable[[Read], bool], noise: Noise) -> Point | None:
    """How far those of a block stand from what the others say its water did."""
    mine = [read for read in block.reads if of(read)]
    if not mine:
        return None
    count, rest = len(mine), len(block.reads) - len(mine)
    if count == 1:
        own, variance = mine[0].off, noise.look
    else:
        own = median([read.off for read in mine])
        variance = noise.look * (OF_MEDIAN if count > 2 else 1.0) / count
    water, lasting = 0.0, noise.loop
    if rest:
        others = _middle_without(block, mine)
        of_others = noise.look * (OF_MEDIAN if rest > 2 else 1.0) / rest
        if noise.days > 0:
            water = others * noise.days / (noise.days + of_others)
            lasting = 1 / (1 / noise.days + 1 / of_others)
    elif count > 1:
        # Tanks that do not agree are no one water: half of them moved by a meter, say.
        mean = sum(block.ordered) / count
        spread = sum((off - mean) ** 2 for off in block.ordered) / (count - 1)
        variance *= max(1.0, spread / noise.look)
    variance += lasting
    first = mine[-1]
    return Point(
        block.round,
        first.at,
        first.part,
        own - water,
        variance,
        lasting / variance,
        rest,
        tuple(read.tank for read in mine),
    )


def _middle_without(block: Block, mine: Sequence[Read]) -> float:
    """The middle of a block's others."""
    left = list(block.ordered)
    for read in mine:
        left.remove(read.off)
    half = len(left) // 2
    return left[half] if len(left) % 2 else (left[half - 1] + left[half]) / 2


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


def _told(one: Found, settings: Settings) -> bool:
    """Whether a part's change is more than chance makes often, and goes on."""
    limits = {Part.TANK: settings.tank, Part.LOOP: settings.loop, Part.METER: settings.meter}
    return abs(one.onset.score) >= limits[one.suspect.kind]


def _rivals(best: Found, every: Sequence[Found], settings: Settings) -> tuple[Suspect, ...]:
    """Other parts that explain as much: of the same looks, or the other meter the other way."""
    mine = set(_tanks(best))
    return tuple(
        one.suspect
        for one in sorted(every, key=lambda one: -one.evidence)
        if one.suspect != best.suspect
        and (
            (best.evidence - one.evidence < settings.margin and mine & set(_tanks(one)))
            or _other_meter(best, one)
        )
    )


def _other_meter(best: Found, one: Found) -> bool:
    """Whether what one meter reads too high may be what the other one reads too low.

    Only what the water did before tells these apart.
    """
    return (
        best.suspect.kind is one.suspect.kind is Part.METER
        and best.onset.score * one.onset.score < 0
        and abs(one.onset.score) > OPPOSED * abs(best.onset.score)
    )


def _tanks(one: Found) -> tuple[str, ...]:
    """The tanks read since the onset, in order of their names."""
    return tuple(sorted({t for point in one.points[one.onset.at :] for t in point.tanks}))


def _change(best: Found, rivals: tuple[Suspect, ...]) -> Change:
    onset = best.onset
    return Change(
        best.suspect.kind,
        best.suspect.code,
        _tanks(best),
        best.points[onset.at].at,
        len(best.points) - onset.at,
        onset.shape,
        onset.size,
        onset.rate if onset.shape is Shape.RAMP else 0.0,
        onset.score,
        best.points[-1].beside,
        rivals,
    )


def _without(looks: Sequence[Look], best: Found) -> list[Look]:
    """Looks with a change taken out of them."""
    onset, suspect = best.onset, best.suspect
    first = best.points[onset.at].round
    before = best.points[onset.at - 1].at
    found = []
    for look in looks:
        code = {Part.TANK: look.tank, Part.LOOP: look.loop, Part.METER: look.meter}[suspect.kind]
        if code == suspect.code and look.round >= first:
            days = (look.at - before) / 86400
            off = onset.rate * (1.0 if onset.shape is Shape.STEP else max(0.0, days))
            look = look._replace(value=look.value - off)
        found.append(look)
    return found
