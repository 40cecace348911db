"""Has a run of numbers changed, since when, and as a step or as a ramp? A likelihood ratio."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from functools import cache
from itertools import accumulate
from math import sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.limits import above_zero, within, zero_or_more
from tankwalk.science.middle import some


class Shape(StrEnum):
    """How a change goes on from its onset."""

    STEP = "step"
    RAMP = "ramp"


FEWEST_OF_RAMP = 3
"""Numbers that a ramp needs: two of them are as well a step."""


class Onset(NamedTuple):
    """The change that explains a run best."""

    score: float
    """In standard deviations, with its sign; half its square is the log of the likelihood ratio."""
    at: int
    """Index of the first number that is part of it."""
    shape: Shape
    rate: float
    """The step, or the ramp a day."""
    size: float
    """How far it has gone by the last number."""


def persistence(share: float, correlation: float, looks: int) -> float:
    """How much a sum of so many numbers varies more than independent ones would: 1 or more.

    Equation: 1 + f (g - 1), g = 1 + 2 sum_(j<n) (1 - j/n) r^j.
    Parameters: `share` f, 0 to 1, of the variance that goes on from one number to the next;
    `correlation` r of that part, 0 to below 1; `looks` n, 1 or more. Errors: Refusal naming the
    input. Source: variance of a mean of a first-order autoregression (Bartlett 1946, from memory).
    """
    within("share", share, 0, 1)
    if not 0 <= correlation < 1:
        raise Refusal(f"correlation has to be from 0 to below 1, not {correlation:g}.")
    r, n = correlation, looks
    if r == 0 or n < 2:
        return 1.0
    return 1 + share * 2 * _tail(r, n)


@cache
def _tail(r: float, n: int) -> float:
    """The sum in closed form: sum_(j=1..n-1) (1 - j/n) r^j."""
    return (r * (n - 1) - n * r**2 + r ** (n + 1)) / (n * (1 - r) ** 2)


def best_onset(
    days: Sequence[float],
    values: Sequence[float],
    variances: Sequence[float],
    *,
    reference: int,
    newest: int,
    lasting: float = 0.0,
    correlation: float = 0.0,
    trend: float = 0.0,
    shapes: Sequence[Shape] = tuple(Shape),
) -> Onset | None:
    """The onset, as a step or as a ramp, that explains a run of numbers best; None for too few.

    The score of generalized least squares: with o = 1/variance, w = 1 (step) or the days since the
    number before the onset (ramp), and the level (and trend) X of the run unknown,
    z = w'O(y - X b) / sqrt(w'Ow - w'OX (X'OX + P)^-1 X'Ow). The largest |z| over the onsets.
    Parameters: `days` rising; `values` and `variances` (above 0) as many; at least `reference`
    numbers stand before an onset, which is among the `newest` last ones; `lasting` is the share of
    the variance that goes on with `correlation` (see persistence); `trend` the standard deviation
    of a slope a day that the run may always have had, 0 for none; `shapes` are those looked for.
    Range: numbers that are normal about their level. Errors: Refusal naming the input.
    Source: Siegmund & Venkatraman 1995, Ann. Stat. 23:255 (from memory), for an unknown level.
    """
    count = len(some("values", values))
    if len(days) != count or len(variances) != count:
        raise Refusal("days, values and variances have to be as many.")
    zero_or_more("trend", trend)
    persistence(lasting, correlation, 1)  # refuses what it cannot take
    if count <= reference:
        return None
    origin = days[-1]
    # From the newest number back: what is summed up so far is what an onset there is made of.
    at = [day - origin for day in reversed(days)]
    weight = [1 / above_zero("variance", v) for v in reversed(variances)]
    timed = _times(weight, at)
    heavy = [o * y for o, y in zip(weight, reversed(values), strict=True)]
    m0, m1, m2 = _summed(weight), _summed(timed), _summed(_times(timed, at))
    y0, y1 = _summed(heavy), _summed(_times(heavy, at))
    s0, s1, s2, c0, c1 = m0[-1], m1[-1], m2[-1], y0[-1], y1[-1]
    stiff = s2 + 1 / trend**2 if trend else 0.0
    whole = s0 * stiff - s1 * s1
    level = (c0 * stiff - c1 * s1) / whole if trend else 0.0
    slope = (s0 * c1 - s1 * c0) / whole if trend else 0.0
    step, ramp = Shape.STEP in shapes, Shape.RAMP in shapes
    best: tuple[float, int, Shape, float] | None = None
    most = -1.0
    for nth in range(min(newest, count - reference)):
        a0, a1, a2, d0, d1 = m0[nth], m1[nth], m2[nth], y0[nth], y1[nth]
        goes_on = 0.0 if correlation == 0 or not nth else _tail(correlation, nth + 1)
        wider = 1 + lasting * 2 * goes_on  # as `persistence`
        tried = [(Shape.STEP, a0, a1, a0, d0)] if step else []
        if ramp and nth + 1 >= FEWEST_OF_RAMP:
            s = at[nth + 1]
            w1, wt = a1 - s * a0, a2 - s * a1
            tried.append((Shape.RAMP, w1, wt, a2 - 2 * s * a1 + s * s * a0, d1 - s * d0))
        for shape, w1, wt, ww, wy in tried:
            if trend:
                left = wy - w1 * level - wt * slope
                known = ww - (w1 * w1 * stiff - 2 * w1 * wt * s1 + wt * wt * s0) / whole
            else:
                left, known = wy - w1 * c0 / s0, ww - w1 * w1 / s0
            if known <= 0:
                continue
            score = left / sqrt(known * wider)
            if abs(score) > most:
                most = abs(score)
                best = score, nth, shape, left / known
    if best is None:
        return None
    score, nth, shape, rate = best
    far = 1.0 if shape is Shape.STEP else -at[nth + 1]
    return Onset(score, count - 1 - nth, shape, rate, rate * far)


def _times(values: Sequence[float], at: Sequence[float]) -> list[float]:
    return [value * t for value, t in zip(values, at, strict=True)]


def _summed(values: Sequence[float]) -> list[float]:
    """Of each value the sum up to it."""
    return list(accumulate(values))
