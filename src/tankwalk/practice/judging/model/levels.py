"""Levels and noise: what each tank reads by itself, what its loop shares, how far looks scatter."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import sqrt
from operator import attrgetter

from tankwalk.practice.judging.model.looks import Anew, Look, Part, Settings, Suspect
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import MAD_TO_SD, middle_of, some

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
WILD = 3.0
"""Beside others, a look counts for no more than so many of its standard deviations."""
LEAST = 0.1
"""What a loop's water does varies by this part of what its mean is uncertain by, at least: less
cannot be told from nothing, and nothing would make each breath of it a change. Tried."""
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


class Shown(NamedTuple):
    """A block, and those of its reads that show what a part does."""

    block: Block
    reads: tuple[Read, ...]


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
    shown: Mapping[Suspect, tuple[Shown, ...]]
    """For each part that was read, the blocks that show it, oldest first."""


def levels(looks: Sequence[Look], settings: Settings, anew: Anew | None = None) -> Levels:
    """Looks, in any order, held against what each tank reads with each meter.

    A look with a meter that has read this tank fewer than three times has no level, and is left
    out: what a swapped meter adds says nothing of the water.
    """
    since = anew or {}
    some("values", [look.value for look in looks] or [0.0])
    by_block: defaultdict[tuple[str, int], list[Paired]] = defaultdict(list)
    for look, pair in _counted(looks, since):
        by_block[look.loop, look.round].append((look, pair))
    level = _told_apart(by_block)
    blocks = tuple(
        _block(here, level)
        for _, here in sorted(by_block.items(), key=lambda one: (one[0][1], one[0][0]))
    )
    return Levels(blocks, noise(blocks, settings.step), level, since, _shown(blocks))


Paired = tuple[Look, Pair]
"""A look, and whose level it is held against."""


def _told_apart(by_block: Mapping[tuple[str, int], Sequence[Paired]]) -> dict[Pair, float]:
    """The level of each pair of tank and meter, told from what its loop did in each round.

    What the loop did is told by the pairs that go through most of its rounds: the level of a pair
    that is new would take in how far the water had gone by then.
    """
    # Pairs by their number: a list is asked much faster than a dict of them, and this is asked for
    # every look of every tank, at every Enter that may be news.
    numbers: dict[Pair, int] = {}
    here_by = [
        [(look.value, numbers.setdefault(pair, len(numbers))) for look, pair in here]
        for here in by_block.values()
    ]
    values: list[list[float]] = [[] for _ in numbers]
    rounds: defaultdict[str, int] = defaultdict(int)
    for (loop, _), here in zip(by_block, here_by, strict=True):
        rounds[loop] += 1
        for value, nth in here:
            values[nth].append(value)
    lasting_by = []
    for (loop, _), here in zip(by_block, here_by, strict=True):
        fewest = LONG * rounds[loop]
        lasting_by.append([one for one in here if len(values[one[1]]) >= fewest] or here)
    level = [middle_of(sorted(of)) for of in values]
    for _ in range(PASSES):
        off: list[list[float]] = [[] for _ in numbers]
        for here, lasting in zip(here_by, lasting_by, strict=True):
            middle = middle_of(sorted([value - level[nth] for value, nth in lasting]))
            for value, nth in here:
                off[nth].append(value - middle)
        level = [middle_of(sorted(of)) for of in off]
    return dict(zip(numbers, level, strict=True))


def of_round(known: Levels, looks: Sequence[Look]) -> Levels:
    """The looks of a later round alone, one a tank, held against levels that are known."""
    by_loop: defaultdict[str, list[Paired]] = defaultdict(list)
    for look in looks:
        pair = pair_of(look, known.anew)
        if pair in known.level:
            by_loop[look.loop].append((look, pair))
    more = tuple(_block(here, known.level) for here in by_loop.values())
    return known._replace(blocks=more, shown=_shown(more))


def pair_of(look: Look, anew: Anew) -> Pair:
    """Whose level a look is held against."""
    if look.meter is None:
        return look.tank, None, False
    return look.tank, look.meter, look.at >= anew.get(Suspect(Part.METER, look.meter), look.at + 1)


def _block(here: Sequence[Paired], level: Mapping[Pair, float]) -> Block:
    reads = tuple(
        Read(look.tank, look.meter, look.at, look.part, look.value - level[pair])
        for look, pair in here
    )
    first = here[0][0]
    return Block(first.loop, first.round, reads, tuple(sorted([read.off for read in reads])))


def _shown(blocks: Sequence[Block]) -> dict[Suspect, tuple[Shown, ...]]:
    """The blocks that show each loop, tank and meter, in the order in which these were read."""
    found: dict[tuple[Part, str], list[Shown]] = {}
    for block in blocks:
        found.setdefault((Part.LOOP, block.loop), []).append(Shown(block, block.reads))
        by_meter: dict[str, list[Read]] = {}
        for read in block.reads:
            found.setdefault((Part.TANK, read.tank), []).append(Shown(block, (read,)))
            if read.meter is not None:
                if read.meter not in by_meter:
                    by_meter[read.meter] = []
                    found.setdefault((Part.METER, read.meter), [])
                by_meter[read.meter].append(read)
        for meter, reads in by_meter.items():
            found[Part.METER, meter].append(Shown(block, tuple(reads)))
    return {Suspect(*part): tuple(here) for part, here in found.items()}


def _counted(looks: Sequence[Look], anew: Anew) -> list[Paired]:
    """One look a tank a round, the last, of pairs of tank and meter that were looked at enough."""
    last: dict[tuple[str, int], Look] = {}
    for look in sorted(looks, key=attrgetter("at")):
        last[look.tank, look.round] = look
    paired = [(look, pair_of(look, anew)) for look in last.values()]
    # What a meter read before it was set right says nothing of its tanks, nor of their water.
    paired = [(k, p) for k, p in paired if p[2] or Suspect(Part.METER, p[1] or "") not in anew]
    many: defaultdict[Pair, int] = defaultdict(int)
    for _, pair in paired:
        many[pair] += 1
    return [one for one in paired if many[one[1]] >= FEWEST_PAIR]


def noise(blocks: Sequence[Block], step: float) -> Noise:
    """The variances, from differences of one round to the next, which a change hardly moves.

    What is read in steps has at least the variance of its step, step^2 / 12.
    """
    last: dict[str, float] = {}
    apart: list[float] = []
    for block in blocks:
        count = len(block.reads)
        if count < 2:
            continue
        mean = sum(block.ordered) / count
        wider = sqrt(count / (count - 1))
        for read in block.reads:
            off = (read.off - mean) * wider
            if read.tank in last:
                apart.append((off - last[read.tank]) ** 2 / 2)
            last[read.tank] = off
    smallest = max(step * step / 12, 1e-12)
    wild = WILD * sqrt(max(_trimmed(apart), smallest))
    shared: defaultdict[str, list[tuple[str, float]]] = defaultdict(list)
    for block in blocks:
        shared[block.loop].append((block.reads[0].part, mean_of(block.ordered, wild)))
    wander: list[float] = []
    wide: list[float] = []
    for rounds in shared.values():
        swing = part_of_day([part for part, _ in rounds], [value for _, value in rounds])
        flat = [value - swing.get(part, 0.0) for part, value in rounds]
        wander += [(b - a) ** 2 / 2 for a, b in pairwise(flat)]
        level = middle_of(sorted(flat))
        wide += [abs(value - level) for value in flat]
    total = _trimmed(wander)
    if not apart:
        return Noise(max(total, smallest), 0.0, 0.0)
    look = max(_trimmed(apart), smallest)
    of_mean = look / middle_of(sorted([len(block.reads) for block in blocks]))
    loop = max(LEAST * of_mean, total - of_mean) / (1 - GOES_ON)
    days = (MAD_TO_SD * middle_of(sorted(wide))) ** 2 - of_mean
    return Noise(look, loop, max(loop, days))


def mean_of(ordered: Sequence[float], wild: float) -> float:
    """The mean of values in order, none of them further than `wild` from the middle one.

    It varies as a mean does, by 1/n and not by pi/2n, and one wild look hardly moves it.
    """
    if ordered[-1] - ordered[0] <= wild:
        return sum(ordered) / len(ordered)
    middle = middle_of(ordered)
    low, high = middle - wild, middle + wild
    return sum([min(max(value, low), high) for value in ordered]) / len(ordered)


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
        middle = middle_of(sorted(differences))
        spread = MAD_TO_SD * middle_of(sorted([abs(one - middle) for one in differences]))
        if abs(middle) > 2 * spread * sqrt(OF_MEDIAN / len(differences)):
            swings.setdefault(first, 0.0)
            swings[second] = swings[first] + middle
    return swings
