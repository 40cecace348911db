"""The model is quick by what it counts once; a plain count of the same gives the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from random import Random
from statistics import median

import numpy as np
import pytest

from tankwalk.practice.judging.model.adding import AS_ANYWHERE, FEWEST_OF_METER, NOTHING
from tankwalk.practice.judging.model.evidence import suspects
from tankwalk.practice.judging.model.levels import (
    LONG,
    PASSES,
    Levels,
    levels,
    of_round,
    pair_of,
)
from tankwalk.practice.judging.model.looks import Anew, Look, Pair, Part, Settings, Suspect

SETTINGS = Settings(step=0.01)
SEEDS = range(1, 41)


def room(seed: int) -> tuple[list[Look], Anew]:
    """Rounds of a room by chance: tanks left out, meters changed, looks that were taken again."""
    luck = Random(seed)
    loops, per, meters = luck.randint(1, 3), luck.randint(1, 6), "ABC"[: luck.randint(1, 3)]
    looks: list[Look] = []
    for number in range(luck.randint(4, 40)):
        part = ("morning", "afternoon", "evening")[number % 3]
        for loop in range(loops):
            water, usual = luck.gauss(7, 0.2), luck.choice(meters)
            for tank in range(per):
                meter = luck.choice((usual, usual, usual, luck.choice(meters), None))
                at = 28_800 * number + 900 * loop + 60 * tank + luck.randint(0, 90)
                value = round(water + 0.1 * tank + luck.gauss(0, 0.1), 2)
                one = Look(f"T{loop}{tank}", f"L{loop}", meter, number, part, at, value)
                looks += [one] * (luck.random() < 0.9)
                looks += [one._replace(at=at + 100, value=value + 1)] * (luck.random() < 0.05)
    luck.shuffle(looks)
    anew = {Suspect(Part.METER, "A"): 28_800 * luck.randint(0, 40)} if luck.random() < 0.5 else {}
    return looks, anew


def kept(looks: Sequence[Look], anew: Anew) -> list[Look]:
    """The last look of a tank in a round, of what was read with a meter that has read enough.

    What a meter read before it was set right counts for nothing.
    """
    last = {(look.tank, look.round): look for look in sorted(looks, key=lambda one: one.at)}
    begins = {suspect.code: at for suspect, at in anew.items()}
    counts = [k for k in last.values() if k.at >= begins.get(k.meter or "", k.at)]
    every = [pair_of(look, anew)[1:] for look in counts]
    return [k for k in counts if every.count(pair_of(k, anew)[1:]) >= FEWEST_OF_METER]


def plain(looks: Sequence[Look], anew: Anew) -> dict[Pair, float]:
    """The levels, said as they are meant: medians of tanks and of rounds by turns."""
    every = kept(looks, anew)

    def many(look: Look) -> int:
        return sum(pair_of(k, anew) == pair_of(look, anew) for k in every)

    rounds = {loop: len({k.round for k in every if k.loop == loop}) for loop in
              {k.loop for k in every}}  # fmt: skip
    lasting = {look for look in every if many(look) >= LONG * rounds[look.loop]}
    pairs = {pair_of(look, anew) for look in every}
    level: dict[Pair, float] = {}
    middle: Mapping[tuple[str, int], float] = dict.fromkeys(((k.loop, k.round) for k in every), 0.0)
    for turn in range(1 + PASSES):
        if turn:
            middle = {
                key: median(
                    k.value - level[pair_of(k, anew)]
                    for k in [k for k in here if k in lasting] or here
                )
                for key in middle
                for here in [[k for k in every if (k.loop, k.round) == key]]
            }
        level = {
            pair: median(
                k.value - middle[k.loop, k.round] for k in every if pair_of(k, anew) == pair
            )
            for pair in pairs
        }
    return drawn(level, {pair: sum(pair_of(k, anew) == pair for k in every) for pair in level})


def drawn(level: Mapping[Pair, float], looks: Mapping[Pair, int]) -> dict[Pair, float]:
    """Drawn to tank + meter, which are solved for as one set of equations."""
    tanks = sorted({pair[0] for pair in level})
    if len(tanks) == len(level):
        return dict(level)
    meters = sorted({pair[1:] for pair in level}, key=str)
    rows, wanted = [], []
    for pair, n in looks.items():
        row = [pair[0] == tank for tank in tanks] + [pair[1:] == meter for meter in meters]
        rows.append(np.sqrt(n) * np.array(row, dtype=float))
        wanted.append(np.sqrt(n) * level[pair])
    for nth in range(len(meters)):
        rows.append(np.sqrt(NOTHING) * np.eye(len(tanks) + len(meters))[len(tanks) + nth])
        wanted.append(0.0)
    solved = np.linalg.lstsq(np.array(rows), np.array(wanted), rcond=None)[0]
    found = {}
    for tank, own in zip(tanks, solved, strict=False):
        for meter, adds in zip(meters, solved[len(tanks) :], strict=True):
            pair = (tank, *meter)
            n = looks.get(pair, 0)
            tied = any(
                sum(
                    min(looks.get((other, *meter), 0), looks.get((other, *its), 0))
                    for other in tanks
                ) >= FEWEST_OF_METER
                for its in meters
                if its != meter and (tank, *its) in level
            )  # fmt: skip
            if n or tied:
                found[pair] = (n * level.get(pair, 0.0) + AS_ANYWHERE * (own + adds)) / (
                    n + AS_ANYWHERE
                )
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_levels_are_those_of_the_plain_count(seed: int) -> None:
    looks, anew = room(seed)
    known, wanted = levels(looks, SETTINGS, anew), plain(looks, anew)
    assert known.level == pytest.approx(wanted, abs=1e-9)
    offs = {(r.tank, b.round): r.off for b in known.blocks for r in b.reads}
    assert offs == pytest.approx(
        {
            (k.tank, k.round): k.value - wanted[pair_of(k, anew)] - known.swing.get(k.part, 0.0)
            for k in kept(looks, anew)
        },
        abs=1e-9,
    )


def shows(known: Levels, part: Suspect) -> list[tuple[str, int, tuple[str, ...]]]:
    """The tanks of each block that show a part, gone through look by look."""
    found = []
    for block in known.blocks:
        of = {Part.TANK: "tank", Part.METER: "meter"}.get(part.kind)
        here = [
            r for r in block.reads if (block.loop if of is None else getattr(r, of)) == part.code
        ]
        if here:
            found.append((block.loop, block.round, tuple(r.tank for r in here)))
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_what_shows_a_part_is_every_look_of_it(seed: int) -> None:
    looks, anew = room(seed)
    known = levels(looks, SETTINGS, anew)
    newest = max(look.round for look in looks)
    for water in (known, of_round(known, [k for k in kept(looks, anew) if k.round == newest])):
        reads = [(b.loop, r) for b in water.blocks for r in b.reads]
        parts = {Suspect(Part.LOOP, loop) for loop, _ in reads}
        parts |= {Suspect(Part.TANK, read.tank) for _, read in reads}
        parts |= {Suspect(Part.METER, read.meter) for _, read in reads if read.meter is not None}
        assert set(suspects(water)) == parts
        for part in parts:
            said = [(s.block.loop, s.block.round, tuple(r.tank for r in s.reads))
                    for s in water.shown[part]]  # fmt: skip
            assert said == shows(water, part)
