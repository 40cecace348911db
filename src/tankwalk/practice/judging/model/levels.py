"""Levels and noise: what each tank reads by itself, what its loop shares, how far looks scatter."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import sqrt

from tankwalk.practice.judging.model.looks import Look, Settings
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import MAD_TO_SD, median

KEPT, OF_NORMAL = 0.95, 0.7588
"""Of squared differences the smallest 95 % count, whose mean is 0.7588 of that of normal ones
(1 - 2 z phi(z) / 0.95, z = 1.96)."""
GOES_ON = 0.5
"""How much of what a loop shares is left a round later. Common practice, no source."""
FEWEST_PAIR = 3
"""Looks at a tank with a meter that tell what it reads there."""
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


class Levels(NamedTuple):
    """The looks of one item as blocks, oldest first, with their noise."""

    blocks: tuple[Block, ...]
    noise: Noise


def levels(looks: Sequence[Look], settings: Settings) -> Levels:
    """Looks, in any order, held against what each tank reads with each meter.

    A look with a meter that has read this tank fewer than three times has no level, and is left
    out: what a swapped meter adds says nothing of the water.
    """
    kept = _counted(looks)
    by_block: defaultdict[tuple[str, int], list[Look]] = defaultdict(list)
    for look in kept:
        by_block[look.loop, look.round].append(look)
    level = {pair: median(values) for pair, values in _by_pair((k, k.value) for k in kept).items()}
    for _ in range(PASSES):
        middle = {
            key: median([look.value - level[look.tank, look.meter] for look in here])
            for key, here in by_block.items()
        }
        level = {
            pair: median(values)
            for pair, values in _by_pair(
                (k, k.value - middle[k.loop, k.round]) for k in kept
            ).items()
        }
    blocks = []
    for (loop, number), here in sorted(by_block.items(), key=lambda one: (one[0][1], one[0][0])):
        reads = tuple(
            Read(k.tank, k.meter, k.at, k.part, k.value - level[k.tank, k.meter]) for k in here
        )
        blocks.append(Block(loop, number, reads, tuple(sorted(read.off for read in reads))))
    return Levels(tuple(blocks), noise(blocks, settings.step))


def _counted(looks: Sequence[Look]) -> list[Look]:
    """One look a tank a round, the last, of pairs of tank and meter that were looked at enough."""
    last: dict[tuple[str, int], Look] = {}
    for look in sorted(looks, key=lambda one: one.at):
        last[look.tank, look.round] = look
    pairs = _by_pair((look, 0.0) for look in last.values())
    return [k for k in last.values() if len(pairs[k.tank, k.meter]) >= FEWEST_PAIR]


def _by_pair(values: Iterable[tuple[Look, float]]) -> dict[tuple[str, str | None], list[float]]:
    found: defaultdict[tuple[str, str | None], list[float]] = defaultdict(list)
    for look, value in values:
        found[look.tank, look.meter].append(value)
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
