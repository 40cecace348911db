"""Levels and noise: what each tank reads by itself, what its loop shares, how far looks scatter."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from math import sqrt
from operator import attrgetter

from tankwalk.practice.judging.model.adding import FEWEST_OF_METER, as_sums
from tankwalk.practice.judging.model.looks import (
    WHOLE_STEPS,
    Anew,
    Look,
    Meter,
    Pair,
    Part,
    Settings,
    Suspect,
)
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import MAD_TO_SD, middle_of, some

KEPT, KEPT_OF_WATER = 0.95, 0.8
"""Of squared differences the smallest count, of a look and of what a loop's water does: a change is
one of the largest, and where loops are few and rounds are, it is one of few."""
OF_NORMAL = ((0.5, 0.143), (0.6, 0.215), (0.7, 0.310), (0.8, 0.438), (0.9, 0.623), (0.95, 0.759),
             (1.0, 1.0))  # fmt: skip
"""The mean of the smallest part of squared normal values: 1 - 2 z phi(z) / part."""
FREE, FREE_OF_WATER = 0.65, 0.55
"""Degrees of freedom for each difference of neighbors: each look stands in two of them, and the
largest do not count. Simulated."""
WATER_LOOKS = 8.0
"""What a site takes for noise counts as so many degrees of freedom. Tried."""
GOES_ON = 0.5
"""How much of what a loop shares is left a round later. Common practice, no source."""
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
    rough: float = 0.0
    """The variance that the one who walked this round adds by rounding off."""


class Shown(NamedTuple):
    """A block, and those of its reads that show what a part does."""

    block: Block
    reads: tuple[Read, ...]


class Noise(NamedTuple):
    """Variances: of one look, of what a loop's water does from round to round, and over days.

    `looks` and `rounds` tell from how much they are known: degrees of freedom.
    """

    look: float
    loop: float
    days: float
    looks: float = 1e6
    rounds: float = 1e6


class Levels(NamedTuple):
    """The looks of one item as blocks, oldest first, with their noise."""

    blocks: tuple[Block, ...]
    noise: Noise
    level: dict[Pair, float]
    """Of every tank with every meter that is known there, read or not."""
    swing: Mapping[str, float]
    """What the parts of the day add in all loops alike; it is out of the looks."""
    apart: bool
    """Tanks read in one round mostly differ by some steps, so that one who rounds off shows."""
    step: float
    anew: Anew
    shown: Mapping[Suspect, tuple[Shown, ...]]
    """For each part that was read, the blocks that show it, oldest first."""


def levels(looks: Sequence[Look], settings: Settings, anew: Anew | None = None) -> Levels:
    """Looks, in any order, held against what each tank reads with each meter.

    A look with a meter that has read fewer than three has no level, and is left out: what that
    meter adds is not known.
    """
    since = anew or {}
    some("values", [look.value for look in looks] or [0.0])
    by_block: defaultdict[tuple[str, int], list[Paired]] = defaultdict(list)
    by_round: defaultdict[int, list[float]] = defaultdict(list)
    for look, pair in _counted(looks, since):
        by_block[look.loop, look.round].append((look, pair))
        by_round[look.round].append(look.written)
    level = _told_apart(by_block)
    apart = _differ(by_round.values(), settings.step)
    rough = {n: _rough(of, settings.step, apart=apart) for n, of in by_round.items()}
    ordered = sorted(by_block.items(), key=lambda one: (one[0][1], one[0][0]))
    blocks = tuple([_block(here, level, rough[number], {}) for (_, number), here in ordered])
    swing = _swing(blocks)
    if swing:
        blocks = tuple([_block(here, level, rough[number], swing) for (_, number), here in ordered])
    found = noise(blocks, settings.step, settings.water)
    return Levels(blocks, found, level, swing, apart, settings.step, since, _shown(blocks))


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
    return as_sums(
        dict(zip(numbers, level, strict=True)),
        {pair: len(values[nth]) for pair, nth in numbers.items()},
    )


UNLIKELY = 1000
"""Values lie on a coarser step by chance less often than once in so many times: all of them."""
DIFFERENT = 3
"""Different values that are mostly read in a round, where one who rounds off can be told."""
ROUGH = 1 / 4
"""What one who rounds off adds to the variance, as a part of the square of that step: half a step
at worst, the same way for tanks that read alike and for as long as they do."""


def _differ(rounds: Iterable[Sequence[float]], step: float) -> bool:
    """Whether tanks read in a round mostly differ by some steps."""
    many = sorted(len({round(value / (step or 1)) for value in values}) for values in rounds)
    return bool(many) and bool(step) and many[len(many) // 2] >= DIFFERENT


def _rough(values: Sequence[float], step: float, *, apart: bool) -> float:
    """The variance that the one who read these in one round adds by rounding off."""
    if not apart:
        return 0.0
    for many in WHOLE_STEPS:
        if many ** len(values) < UNLIKELY:
            continue
        coarse = many * step
        if all(abs(value / coarse - round(value / coarse)) < ON_STEP for value in values):
            return ROUGH * coarse * coarse
    return 0.0


ON_STEP = 1e-6


def of_round(known: Levels, looks: Sequence[Look]) -> Levels:
    """The looks of a later round alone, one a tank, held against levels that are known."""
    by_loop: defaultdict[str, list[Paired]] = defaultdict(list)
    for look in looks:
        pair = pair_of(look, known.anew)
        if pair in known.level:
            by_loop[look.loop].append((look, pair))
    rough = _rough([look.written for look in looks], known.step, apart=known.apart)
    more = tuple(_block(here, known.level, rough, known.swing) for here in by_loop.values())
    return known._replace(blocks=more, shown=_shown(more))


def pair_of(look: Look, anew: Anew) -> Pair:
    """Whose level a look is held against."""
    if look.meter is None:
        return look.tank, None, False
    return look.tank, look.meter, look.at >= anew.get(Suspect(Part.METER, look.meter), look.at + 1)


def _block(
    here: Sequence[Paired], level: Mapping[Pair, float], rough: float, swing: Mapping[str, float]
) -> Block:
    reads = tuple(
        [
            Read(
                look.tank,
                look.meter,
                look.at,
                look.part,
                look.value - level[pair] - swing.get(look.part, 0.0),
            )
            for look, pair in here
        ]
    )
    first = here[0][0]
    ordered = tuple(sorted([read.off for read in reads]))
    return Block(first.loop, first.round, reads, ordered, rough)


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
    """One look a tank a round, the last, with a meter that has read enough."""
    last: dict[tuple[str, int], Look] = {}
    for look in sorted(looks, key=attrgetter("at")):
        last[look.tank, look.round] = look
    paired = [(look, pair_of(look, anew)) for look in last.values()]
    # What a meter read before it was set right says nothing of its tanks, nor of their water.
    paired = [(k, p) for k, p in paired if p[2] or Suspect(Part.METER, p[1] or "") not in anew]
    many: defaultdict[Meter, int] = defaultdict(int)
    for _, pair in paired:
        many[pair[1:]] += 1
    return [one for one in paired if many[one[1][1:]] >= FEWEST_OF_METER]


def noise(blocks: Sequence[Block], step: float, thought: float = 0.0) -> Noise:
    """The variances, from differences of one round to the next, which a change hardly moves.

    What is read in steps has at least the variance of its step, step^2 / 12. Rounds in which
    somebody rounded off say nothing here, while there are others. What water does is told by few
    rounds: `thought`, a standard deviation, counts beside them (conjugate prior of a variance).
    """
    fine = [block for block in blocks if not block.rough]
    if len(fine) * 2 >= len(blocks):
        blocks = fine
    apart = _apart(blocks)
    smallest = max(step * step / 12, 1e-12)
    wild = WILD * sqrt(max(_trimmed(apart), smallest))
    look = max(_trimmed(apart), smallest)
    shared: defaultdict[str, list[tuple[str, float, int]]] = defaultdict(list)
    for block in blocks:
        mean = mean_of(block.ordered, wild)
        shared[block.loop].append((block.reads[0].part, mean, len(block.reads)))
    wander: list[float] = []
    wide: list[float] = []
    of_means: list[float] = []
    for rounds in shared.values():
        swing = part_of_day([part for part, _, _ in rounds], [value for _, value, _ in rounds])
        flat = [(value - swing.get(part, 0.0), count) for part, value, count in rounds]
        for (a, here), (b, there) in pairwise(flat):
            wander.append((b - a) ** 2 / 2)
            of_means.append(look * (1 / here + 1 / there) / 2)
        level = middle_of(sorted([value for value, _ in flat]))
        wide += [abs(value - level) for value, _ in flat]
    total = _trimmed(wander, KEPT_OF_WATER)
    freedom = FREE * len(apart), max(1.0, FREE_OF_WATER * len(wander))
    if not apart:
        return Noise(max(total, smallest), 0.0, 0.0, freedom[1], freedom[1])
    of_mean = sum(of_means) / len(of_means) if of_means else 0.0
    loop = max(LEAST * of_mean, total - of_mean) / (1 - GOES_ON)
    if thought:
        loop = (WATER_LOOKS * thought**2 + freedom[1] * loop) / (WATER_LOOKS + freedom[1])
        freedom = freedom[0], freedom[1] + WATER_LOOKS
    days = (MAD_TO_SD * middle_of(sorted(wide))) ** 2 - of_mean
    return Noise(look, loop, max(loop, days), *freedom)


def _apart(blocks: Sequence[Block]) -> list[float]:
    """Half the squares of how far a tank moved from one look to the next, beside its likes.

    Its likes are those that the same meter read in the same water and round: what a meter that is
    off does to all of them is no noise. Where no meter reads two, they are all of that water.
    """
    last: dict[str, float] = {}
    found: list[float] = []
    for block in blocks:
        likes: dict[str | None, list[Read]] = {}
        for read in block.reads:
            likes.setdefault(read.meter, []).append(read)
        groups = [reads for reads in likes.values() if len(reads) > 1]
        if not groups and len(block.reads) > 1:
            groups = [list(block.reads)]
        for reads in groups:
            count = len(reads)
            mean = sum([read.off for read in reads]) / count
            wider = sqrt(count / (count - 1))
            for read in reads:
                off = (read.off - mean) * wider
                if read.tank in last:
                    found.append((off - last[read.tank]) ** 2 / 2)
                last[read.tank] = off
    return found


def mean_of(ordered: Sequence[float], wild: float) -> float:
    """The mean of values in order, none of them further than `wild` from the middle one.

    It varies as a mean does, by 1/n and not by pi/2n, and one wild look hardly moves it.
    """
    if ordered[-1] - ordered[0] <= wild:
        return sum(ordered) / len(ordered)
    middle = middle_of(ordered)
    low, high = middle - wild, middle + wild
    return sum([min(max(value, low), high) for value in ordered]) / len(ordered)


def _trimmed(squares: Sequence[float], part: float = KEPT) -> float:
    """The mean of squares of normal values, of which the largest, one at least, do not count."""
    count = len(squares)
    if not count:
        return 0.0
    most = max(1, min(count - 1, round(part * count)))
    return sum(sorted(squares)[:most]) / most / _of_normal(most / count)


def _of_normal(part: float) -> float:
    """The mean of the smallest part of squared normal values, as a part of that of all of them."""
    nth = next((n for n, (kept, _) in enumerate(OF_NORMAL) if kept >= part), len(OF_NORMAL) - 1)
    (low, of_low), (high, of_high) = OF_NORMAL[max(0, nth - 1)], OF_NORMAL[nth]
    along = (part - low) / (high - low) if high > low else 0.0
    return of_low + along * (of_high - of_low)


FEWEST_DAYS = 4
"""Differences between the parts of a day from which a swing is told."""


def part_of_day(parts: Sequence[str], values: Sequence[float]) -> dict[str, float]:
    """What each part of the day adds, from differences to the look before and after it.

    {} where there are too few; what their scatter alone would make is taken off (James & Stein).
    """
    return _of_day([list(zip(parts, values, strict=True))])


def _swing(blocks: Sequence[Block]) -> dict[str, float]:
    """The same of all loops together: the day is one for all of them."""
    by_loop: defaultdict[str, list[tuple[str, float]]] = defaultdict(list)
    for block in blocks:
        by_loop[block.loop].append((block.reads[0].part, middle_of(block.ordered)))
    return _of_day(list(by_loop.values()))


def _of_day(runs: Sequence[Sequence[tuple[str, float]]]) -> dict[str, float]:
    found: defaultdict[tuple[str, str], list[float]] = defaultdict(list)
    for run in runs:
        for (a, x), (b, y) in pairwise(run):
            if a != b:
                found[min(a, b), max(a, b)].append(y - x if a < b else x - y)
    swings: dict[str, float] = {}
    for (first, second), differences in found.items():
        if len(differences) < FEWEST_DAYS:
            continue
        middle = middle_of(sorted(differences))
        spread = MAD_TO_SD * middle_of(sorted([abs(one - middle) for one in differences]))
        unsure = spread**2 * OF_MEDIAN / len(differences)
        if middle**2 > unsure:
            swings.setdefault(first, 0.0)
            swings[second] = swings[first] + middle - unsure / middle
    return swings
