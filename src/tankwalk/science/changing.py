"""Has a run of numbers changed, since when, and as a step or as a ramp? A likelihood ratio."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
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

    The score of generalized least squares: with V the covariance of the numbers, O = V^-1, w = 1
    (step) or the days since the number before the onset (ramp), and the level (and trend) X of the
    run unknown, z = w'O(y - X b) / sqrt(w'Ow - w'OX (X'OX + P)^-1 X'Ow). The largest |z| over the
    onsets. V_ij = f sqrt(v_i v_j) r^|i-j|, and v_i where i = j: f `lasting`, r `correlation`.
    Parameters: `days` rising; `values` and `variances` (above 0) as many; at least `reference`
    numbers stand before an onset, which is among the `newest` last ones; `lasting` is the share of
    the variance that goes on, `correlation` of it from one number to the next; `trend` the standard
    deviation of a slope a day that the run may always have had, 0 for none; `shapes` are those
    looked for.
    Range: numbers that are normal about their level. Errors: Refusal naming the input.
    Source: Siegmund & Venkatraman 1995, Ann. Stat. 23:255 (from memory), for an unknown level.
    """
    count = len(some("values", values))
    if len(days) != count or len(variances) != count:
        raise Refusal("days, values and variances have to be as many.")
    zero_or_more("trend", trend)
    within("lasting", lasting, 0, 1)
    if not 0 <= correlation < 1:
        raise Refusal(f"correlation has to be from 0 to below 1, not {correlation:g}.")
    for variance in variances:
        above_zero("variance", variance)
    if count <= reference:
        return None
    at = [day - days[-1] for day in days]
    many = min(newest, count - reference)
    summed = (
        _of_lasting(at, values, variances, lasting, correlation, many)
        if lasting > 0 and correlation > 0
        else _of_single(at, values, variances, many)
    )
    s0, s1, s2, c0, c1 = summed.whole
    stiff = s2 + 1 / trend**2 if trend else 0.0
    whole = s0 * stiff - s1 * s1
    level = (c0 * stiff - c1 * s1) / whole if trend else c0 / s0
    slope = (s0 * c1 - s1 * c0) / whole if trend else 0.0
    step, ramp = Shape.STEP in shapes, Shape.RAMP in shapes
    best: tuple[float, int, Shape, float] | None = None
    most = -1.0
    for nth, (ss, st, tt, step_1, days_1, step_t, days_t, sy, ty) in enumerate(summed.since):
        tried = [(Shape.STEP, step_1, step_t, ss, sy)] if step else []
        if ramp and nth + 1 >= FEWEST_OF_RAMP:
            s = at[count - nth - 2]
            w1, wt = days_1 - s * step_1, days_t - s * step_t
            tried.append((Shape.RAMP, w1, wt, tt - 2 * s * st + s * s * ss, ty - s * sy))
        for shape, w1, wt, ww, wy in tried:
            left = wy - w1 * level - wt * slope
            if trend:
                known = ww - (w1 * w1 * stiff - 2 * w1 * wt * s1 + wt * wt * s0) / whole
            else:
                known = ww - w1 * w1 / s0
            if known <= 0:
                continue
            score = left / sqrt(known)
            if abs(score) > most:
                most = abs(score)
                best = score, nth, shape, left / known
    if best is None:
        return None
    score, nth, shape, rate = best
    far = 1.0 if shape is Shape.STEP else -at[count - nth - 2]
    return Onset(score, count - 1 - nth, shape, rate, rate * far)


Nine = tuple[float, float, float, float, float, float, float, float, float]
"""Of an onset: a step and the days from there on, each with itself and with the other, then each
with the level, with the days of the whole run and with the values."""


class _Summed(NamedTuple):
    """Products of columns of a run, V^-1 between them."""

    whole: tuple[float, float, float, float, float]
    """Of level and days: with themselves and each other, and with the values."""
    since: Sequence[Nine]
    """Of an onset at each of the newest numbers, the last first."""


def _of_single(
    at: Sequence[float], values: Sequence[float], variances: Sequence[float], many: int
) -> _Summed:
    """Numbers that say nothing of each other: what is summed up from the newest one back."""
    days = at[::-1]
    weight = [1 / variance for variance in reversed(variances)]
    timed = _times(weight, days)
    heavy = _times(weight, values[::-1])
    m0, m1, m2, y0, y1 = (
        list(accumulate(each))
        for each in (weight, timed, _times(timed, days), heavy, _times(heavy, days))
    )
    since = [
        (a0, a1, a2, a0, a1, a1, a2, d0, d1)
        for a0, a1, a2, d0, d1 in zip(m0[:many], m1, m2, y0, y1, strict=False)
    ]
    return _Summed((m0[-1], m1[-1], m2[-1], y0[-1], y1[-1]), since)


def _of_lasting(
    at: Sequence[float],
    values: Sequence[float],
    variances: Sequence[float],
    lasting: float,
    correlation: float,
    many: int,
) -> _Summed:
    """Numbers of which a part goes on, set apart: what each says that those before it did not.

    Every run of numbers becomes one of independent ones with variance 1 (Kalman 1960, from memory):
    what is thought of the part that goes on is held against each number, and corrected by it.
    """
    filters: list[tuple[float, float, float]] = []
    unsure = 1.0
    for variance in variances:
        scale = sqrt(lasting * variance)
        all_of = (1 - lasting) * variance + lasting * variance * unsure
        gain = unsure * scale / all_of
        filters.append((scale, 1 / sqrt(all_of), gain))
        unsure = correlation**2 * (unsure - gain * scale * unsure) + 1 - correlation**2

    def apart(numbers: Sequence[float], begun: int = 0) -> list[float]:
        found, thought = [], 0.0
        for x, (scale, sharp, gain) in zip(numbers, filters[begun:], strict=True):
            off = x - scale * thought
            found.append(off * sharp)
            thought = correlation * (thought + gain * off)
        return found

    count = len(at)
    one, time, value = apart([1.0] * count), apart(at), apart(values)
    since = []
    for n in range(count - 1, count - 1 - many, -1):
        step, days = apart([1.0] * (count - n), n), apart(at[n:], n)
        o, t, y = one[n:], time[n:], value[n:]
        since.append(
            (
                _sum(step, step), _sum(step, days), _sum(days, days), _sum(step, o),
                _sum(days, o), _sum(step, t), _sum(days, t), _sum(step, y), _sum(days, y),
            )
        )  # fmt: skip
    whole = (_sum(one, one), _sum(one, time), _sum(time, time), _sum(one, value), _sum(time, value))
    return _Summed(whole, since)


def _times(values: Sequence[float], by: Sequence[float]) -> list[float]:
    return [value * t for value, t in zip(values, by, strict=True)]


def _sum(one: Sequence[float], other: Sequence[float]) -> float:
    return sum([a * b for a, b in zip(one, other, strict=True)])
