"""Levels and noise: what each tank reads by itself, what its loop shares, how far looks scatter."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import sqrt

from tankwalk.practice.judging.model.looks import Anew, Look, Part, Settings, Suspect
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import MAD_TO_SD, median

KEPT, OF_NORMAL = 0.95, 0.7588
"""Of squared differences the smallest 95 % count, whose mean is 0.7588 of that of normal ones
(1 - 2 z phi(z) / 0.95, z = 1.96)."""
GOES_ON = 0.5
"""How much of what a loop shares is left a round later. Common practice, no source."""
FEWEST_PAIR = 3
"""Looks at a tank with a meter that tell what it reads there."""
LONG = 0.6
"""The part of its loop's rounds that a pair of tank and meter goes through, to tell what the loop
did in each of them. Common practice, no source."""
PASSES = 2
"""How often levels of tanks and of rounds are told from each other."""
OF_MEDIAN = 1.57
"""Variance of a median over that of a mean, many normal values: pi / 2."""


class Read(NamedTuple):
    """A look as it stands against what this tank reads with this meter."""

    tank: str
    meter: str | None
    at: int
    part: str
    off: float


class Block(NamedTuple):
    """What was read of one loop in one round, and the middle of it."""

    loop: str
    round: int
    reads: tuple[Read, ...]
    ordered: tuple[float, ...]
    """How far the tanks stood from their levels, in order."""


class Noise(NamedTuple):
    """Variances: of one look, of what a loop's water does from round to round, and over days."""

    look: float
    loop: float
    days: float


Pair = tuple[str, str | None, bool]
"""A tank, the meter that read it, and whether that meter was set right and counts anew."""


class Levels(NamedTuple):
    """The looks of one item as blocks, oldest first, with their noise."""

    blocks: tuple[Block, ...]
    noise: Noise
    level: dict[Pair, float]
    anew: Anew


def levels(looks: Sequence[Look], settings: Settings, anew: Anew | None = None) -> Levels:
    """Looks, in any order, held against what each tank reads with each meter.

    A look with a meter that has read this tank fewer than three times has no level, and is left
    out: what a swapped meter adds says nothing of the water.
    """
    since = anew or {}
    kept = _counted(looks, since)
    by_block: defaultdict[tuple[str, int], list[Look]] = defaultdict(list)
    for look in kept:
        by_block[look.loop, look.round].append(look)
    level = _told_apart(by_block, since)
    blocks = [
        _block(here, level, since)
        for _, here in sorted(by_block.items(), key=lambda one: (one[0][1], one[0][0]))
    ]
    return Levels(tuple(blocks), noise(blocks, settings.step), level, since)


def _told_apart(by_block: dict[tuple[str, int], list[Look]], anew: Anew) -> dict[Pair, float]:
    """The level of each pair of tank and meter, told from what its loop did in each round.

    What the loop did is told by the pairs that go through most of its rounds: the level of a pair
    that is new would take in how far the water had gone by then.
    """
    every = [look for here in by_block.values() for look in here]
    pairs = _by_pair(((look, look.value) for look in every), anew)
    rounds: defaultdict[str, int] = defaultdict(int)
    for loop, _ in by_block:
        rounds[loop] += 1
    long = {
        pair_of(look, anew)
        for look in every
        if len(pairs[pair_of(look, anew)]) >= LONG * rounds[look.loop]
    }
    level = {pair: median(values) for pair, values in pairs.items()}
    for _ in range(PASSES):
        middle = {}
        for key, here in by_block.items():
            lasting = [look for look in here if pair_of(look, anew) in long] or here
            middle[key] = median([k.value - level[pair_of(k, anew)] for k in lasting])
        off = _by_pair(((k, k.value - middle[k.loop, k.round]) for k in every), anew)
        level = {pair: median(values) for pair, values in off.items()}
    return level


def of_round(known: Levels, looks: Sequence[Look]) -> Levels:
    """The looks of a later round alone, one a tank, held against levels that are known."""
    by_loop: defaultdict[str, list[Look]] = defaultdict(list)
    for look in looks:
        if pair_of(look, known.anew) in known.level:
            by_loop[look.loop].append(look)
    more = [_block(here, known.level, known.anew) for here in by_loop.values()]
    return known._replace(blocks=tuple(more))


def pair_of(look: Look, anew: Anew) -> Pair:
    """Whose level a look is held against."""
    if look.meter is None:
        return look.tank, None, False
    return look.tank, look.meter, look.at >= anew.get(Suspect(Part.METER, look.meter), look.at + 1)


def _block(here: Sequence[Look], level: dict[Pair, float], anew: Anew) -> Block:
    reads = tuple(
        Read(k.tank, k.meter, k.at, k.part, k.value - level[pair_of(k, anew)]) for k in here
    )
    return Block(here[0].loop, here[0].round, reads, tuple(sorted(read.off for read in reads)))


def _counted(looks: Sequence[Look], anew: Anew) -> list[Look]:
    """One look a tank a round, the last, of pairs of tank and meter that were looked at enough."""
    last: dict[tuple[str, int], Look] = {}
    for look in sorted(looks, key=lambda one: one.at):
        last[look.tank, look.round] = look
    pairs = _by_pair(((look, 0.0) for look in last.values()), anew)
    return [k for k in last.values() if len(pairs[pair_of(k, anew)]) >= FEWEST_PAIR]


def _by_pair(values: Iterable[tuple[Look, float]], anew: Anew) -> dict[Pair, list[float]]:
    found: defaultdict[Pair, list[float]] = defaultdict(list)
    for look, value in values:
        found[pair_of(look, anew)].append(value)
    return found


def noise(blocks: Sequence[Block], step: float) -> Noise:
    """The variances, from differences of one round to the next, which a change hardly moves.

    What is read in steps has at least the variance of its step, step^2 / 12.
    """
    last: dict[str, float] = {}
    apart: list[float] = []
    shared: defaultdict[str, list[tuple[str, float]]] = defaultdict(list)
    many: list[int] = []
    for block in blocks:
        count = len(block.reads)
        mean = sum(block.ordered) / count
        shared[block.loop].append((block.reads[0].part, median(block.ordered)))
        many.append(count)
        if count < 2:
            continue
        for read in block.reads:
            off = (read.off - mean) * sqrt(count / (count - 1))
            if read.tank in last:
                apart.append((off - last[read.tank]) ** 2 / 2)
            last[read.tank] = off
    wander: list[float] = []
    wide: list[float] = []
    for rounds in shared.values():
        swing = part_of_day([part for part, _ in rounds], [value for _, value in rounds])
        flat = [value - swing.get(part, 0.0) for part, value in rounds]
        wander += [(b - a) ** 2 / 2 for a, b in pairwise(flat)]
        level = median(flat)
        wide += [abs(value - level) for value in flat]
    total = _trimmed(wander)
    look = max(_trimmed(apart) if apart else total, step * step / 12, 1e-12)
    if not apart:
        return Noise(look, 0.0, 0.0)
    each = median(many)
    of_middle = look * (OF_MEDIAN if each > 2 else 1.0) / each
    loop = max(0.0, total - of_middle) / (1 - GOES_ON)
    days = (MAD_TO_SD * median(wide)) ** 2 - of_middle
    return Noise(look, loop, max(loop, days))


def _trimmed(squares: Sequence[float]) -> float:
    """The mean of squares of normal values, which a few wild ones do not move."""
    if not squares:
        return 0.0
    most = max(1, round(KEPT * len(squares)))
    return sum(sorted(squares)[:most]) / most / OF_NORMAL


FEWEST_DAYS = 4
"""Differences between the parts of a day from which a swing is told."""


def part_of_day(parts: Sequence[str], values: Sequence[float]) -> dict[str, float]:
    """What each part of the day adds, from differences to the look before and after it.

    {} where there are too few, or where they scatter more than they differ (2 standard errors).
    """
    found: defaultdict[tuple[str, str], list[float]] = defaultdict(list)
    for (a, x), (b, y) in zip(
        zip(parts, values, strict=True), zip(parts[1:], values[1:], strict=True), strict=False
    ):
        if a != b:
            found[min(a, b), max(a, b)].append(y - x if a < b else x - y)
    swings: dict[str, float] = {}
    for (first, second), differences in found.items():
        if len(differences) < FEWEST_DAYS:
            continue
        middle = median(differences)
        spread = MAD_TO_SD * median([abs(one - middle) for one in differences])
        if abs(middle) > 2 * spread * sqrt(OF_MEDIAN / len(differences)):
            swings.setdefault(first, 0.0)
            swings[second] = swings[first] + middle
    return swings
