"""The best that can be done with a series: a detector that knows all but what went wrong, and when.

It knows each tank's level, the plan, the meters' habits, the noise, what a loop's water does from
round to round and how counts clump: nobody at a site does. What it does not know is whether, where,
when and how far something moved: that it asks by likelihood ratio, for every tank, loop and meter,
for every onset of the last rounds, as a step and as a ramp (Page 1954; Siegmund & Venkatraman 1995,
Ann. Stat. 23:255, from memory). What misses here is hidden by chance; no rule can find it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import groupby
from typing import Any, NamedTuple

import numpy as np
from scipy.special import gammaln

from chance_faults import Dead, Look

ONSETS = 16
"""So many rounds back something may have begun."""
RATIOS = (1.5, 2.0, 3.0, 4.0, 6.0, 8.0)
"""How many times the usual dead are thought of."""
RISES_IN = 5.0
"""Days in which a slow rise of the dead is full."""
TOLD_APART = 2.0
"""Parts whose log likelihood ratios lie closer than this are not told apart (a ratio of 7)."""

Matrix = Any
"""An array of numpy, which is seen without its types."""


class Scored(NamedTuple):
    """One part that may have changed: what it is, its tanks, and how much speaks for it."""

    kind: str
    """ "place", "loop" or "meter"."""
    code: str
    item: str
    tanks: frozenset[str]
    score: float
    """Log likelihood ratio of the best onset and shape against nothing."""
    rivals: tuple[tuple[str, str], ...] = ()
    """Kind and code of what a detector itself cannot tell from it."""


class AtRound(NamedTuple):
    """What a detector finds of one item when a round is whole; the largest first."""

    round: int
    at: int
    found: tuple[Scored, ...]


# ---- what meters show


def readings(item: str, looks: Sequence[Look]) -> list[AtRound]:
    """What is known after each round of one item."""
    rounds = [list(group) for _, group in groupby(looks, lambda look: look.round)]
    if not rounds:
        return []
    loops = _loops(rounds)
    found = []
    for last, group in enumerate(rounds):
        shapes = _shapes([one[0].at for one in rounds[: last + 1]])
        scored = [one for loop in loops for one in _of_loop(item, loop, last, shapes)]
        scored += _meters(item, loops, last, shapes)
        scored.sort(key=lambda one: -one.score)
        found.append(AtRound(group[0].round, group[-1].at, tuple(scored)))
    return found


class _Loop(NamedTuple):
    """One loop's looks as tables of rounds and tanks; what was not read is 0 in both."""

    code: str
    tanks: tuple[str, ...]
    there: Matrix
    """How sharply it was looked: 1 for the sharpest look of the loop, 0 where nobody looked."""
    apart: Matrix
    """Beside what is known, in spreads of that look."""
    meters: dict[str, Matrix]
    shared: Matrix
    """Covariance of what the loop shares, of rounds, in the same measure."""


def _loops(rounds: Sequence[Sequence[Look]]) -> list[_Loop]:
    tanks: dict[str, dict[str, int]] = defaultdict(dict)
    for look in (look for group in rounds for look in group):
        tanks[look.loop].setdefault(look.tank, len(tanks[look.loop]))
    numbers = np.array([group[0].round for group in rounds])
    found = []
    for code, places in tanks.items():
        there = np.zeros((len(rounds), len(places)))
        apart = np.zeros_like(there)
        meters: dict[str, Matrix] = {}
        every = [look for group in rounds for look in group if look.loop == code]
        sharp = min(look.truth.sd for look in every)
        truth = every[0].truth
        for row, group in enumerate(rounds):
            for look in group:
                if look.loop != code:
                    continue
                column = places[look.tank]
                there[row, column] = sharp / look.truth.sd
                apart[row, column] = (look.value - look.truth.mean) / look.truth.sd
                if look.meter is not None:
                    meters.setdefault(look.meter, np.zeros_like(there))[row, column] = 1.0
        stays = truth.follows ** np.abs(numbers[:, None] - numbers[None, :])
        shared = (truth.shared / sharp) ** 2 * stays
        found.append(_Loop(code, tuple(places), there, apart, meters, shared))
    return found


def _shapes(times: Sequence[int]) -> Matrix:
    """A step and a ramp from each of the last onsets on, as rows over the rounds so far.

    A ramp begins half way between the last round without it and the first with it.
    """
    at = np.array(times) / 86400
    rows = []
    for onset in range(max(0, len(at) - ONSETS), len(at)):
        since = np.arange(len(at)) >= onset
        before = at[onset - 1] if onset else at[0] - 0.5
        rows.append(since.astype(float))
        if onset < len(at) - 1:
            rows.append(np.where(since, at - (before + at[onset]) / 2, 0.0))
    return np.array(rows)


def _weigh(loop: _Loop, last: int) -> tuple[Matrix, Matrix, Matrix, Matrix]:
    """Rounds so far, and what takes out of a sum what the loop shares.

    With V = I + U A U' (U tells the round of a look and how sharp it was), V^-1 = I - U (A^-1 +
    U'U)^-1 U'.
    """
    upto = last + 1
    there, apart = loop.there[:upto], loop.apart[:upto]
    shared = loop.shared[:upto, :upto]
    if not shared.any():
        return there, apart, np.zeros((upto, upto)), (there * apart).sum(axis=1)
    inverse = np.linalg.inv(shared + 1e-9 * np.eye(upto))
    takes = np.linalg.inv(inverse + np.diag((there**2).sum(axis=1)))
    return there, apart, takes, (there * apart).sum(axis=1)


def _of_loop(item: str, loop: _Loop, last: int, shapes: Matrix) -> list[Scored]:
    """Each tank by itself, held against its loop, and the loop as a whole."""
    there, apart, takes, sums = _weigh(loop, last)
    taken = takes @ sums
    squared = there**2
    above = shapes @ (there * apart) - (shapes * taken) @ squared
    weights = shapes[:, :, None] * squared[None, :, :]
    below = shapes**2 @ squared - np.einsum("htn,tu,hun->hn", weights, takes, weights)
    best = (above**2 / np.maximum(below, 1e-9) / 2 * (below > 1e-6)).max(axis=0)
    found = [
        Scored("place", tank, item, frozenset({tank}), float(score))
        for tank, score in zip(loop.tanks, best, strict=True)
    ]
    number = squared.sum(axis=1)
    whole = shapes * number
    top = shapes @ sums - whole @ taken
    under = (shapes * whole).sum(axis=1) - np.einsum("ht,tu,hu->h", whole, takes, whole)
    score = (top**2 / np.maximum(under, 1e-9) / 2).max()
    found.append(Scored("loop", loop.code, item, frozenset(loop.tanks), float(score)))
    return found


def _meters(item: str, loops: Sequence[_Loop], last: int, shapes: Matrix) -> list[Scored]:
    """Each meter in all loops that it reads."""
    weighed = [_weigh(loop, last) for loop in loops]
    found = []
    for meter in sorted({code for loop in loops for code in loop.meters}):
        top = np.zeros(len(shapes))
        under = np.zeros(len(shapes))
        tanks: set[str] = set()
        for loop, (there, apart, takes, sums) in zip(loops, weighed, strict=True):
            if meter not in loop.meters:
                continue
            reads = loop.meters[meter][: last + 1]
            number = (reads * there**2).sum(axis=1)
            whole = shapes * number
            top += shapes @ (apart * there * reads).sum(axis=1) - whole @ (takes @ sums)
            under += (shapes * whole).sum(axis=1)
            under -= np.einsum("ht,tu,hu->h", whole, takes, whole)
            tanks |= {
                tank for tank, so in zip(loop.tanks, reads[-ONSETS:].any(axis=0), strict=True) if so
            }
        score = (top**2 / np.maximum(under, 1e-9) / 2 * (under > 1e-6)).max()
        found.append(Scored("meter", meter, item, frozenset(tanks), float(score)))
    return found


# ---- the dead


def counts(dead: Sequence[Dead]) -> list[AtRound]:
    """What is known of the dead of each tank after each round in which they were counted."""
    by_tank: dict[str, list[Dead]] = defaultdict(list)
    ends = {one.round: one.at for one in dead}
    scores: dict[int, list[Scored]] = {number: [] for number in ends}
    for one in dead:
        here = by_tank[one.tank]
        here.append(one)
        score = _more(here[-ONSETS:])
        scores[one.round].append(Scored("place", one.tank, "morts", frozenset({one.tank}), score))
    return [
        AtRound(number, ends[number], tuple(sorted(scores[number], key=lambda one: -one.score)))
        for number in sorted(scores)
    ]


def _more(here: Sequence[Dead]) -> float:
    """Log likelihood ratio of more dead since some round, as a step and as a rise of five days."""
    fish = np.array([one.fish for one in here], dtype=float)
    mean = np.array([one.mean for one in here])
    clumps = here[-1].dispersion
    days = np.array([one.at for one in here]) / 86400
    ratio = np.array(RATIOS)[:, None]
    best = 0.0
    for onset in range(len(here)):
        since, usual, at = fish[onset:], mean[onset:], days[onset:]
        along = np.minimum(1.0, (at - at[0] + 0.25) / RISES_IN)
        for shape in (np.ones_like(at), along):
            sums = _ratio(since, usual, 1 + (ratio - 1) * shape, clumps).sum(axis=1)
            best = max(best, float(sums.max()))
    return best


def _ratio(fish: Matrix, mean: Matrix, times: Matrix, clumps: float) -> Matrix:
    """Log likelihood ratio of negative binomial counts with variance `clumps` times the mean."""
    usual = mean / (clumps - 1)
    more = usual * times
    return (
        gammaln(fish + more) - gammaln(more) - gammaln(fish + usual) + gammaln(usual)
        - (more - usual) * np.log(clumps)
    )  # fmt: skip
