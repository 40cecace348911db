"""Meals given, eaten and washed out, against scipy's steps; counts to come, against its quantiles.

`stepped` and `limits_by_scipy` are others' routes to what `science/feeding.py` and the counts of
`science/livefeed.py` give; tests of those modules use them too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from math import ceil
from typing import NamedTuple

from outside import Source, Value, typed


class Stepped(NamedTuple):
    """A tank run by scipy: prey eaten, washed out and left, and what each meal found per mL."""

    eaten: float
    washed: float
    left: float
    given: float
    before: tuple[float, ...]


def stepped(
    volume: float,
    flow: float,
    meals: Sequence[float],
    hours: float,
    start: float,
    eaten: float,
    amount: Callable[[int, float], float],
) -> Stepped:
    """dN/dt = -k N - G while there is prey, with what is eaten and washed out as their own sums.

    `amount` says what meal n gives, by the prey that it finds. Solved by DOP853 between meals.
    """
    from scipy.integrate import solve_ivp

    k = 60 * flow / volume

    def rates(_: float, state: list[float]) -> list[float]:
        return [-k * state[0] - eaten, eaten, k * state[0]]

    def run_out(_: float, state: list[float]) -> float:
        return state[0]

    run_out.terminal = True  # type: ignore[attr-defined]
    run_out.direction = -1  # type: ignore[attr-defined]
    state, found, given = [start * 1000 * volume, 0.0, 0.0], [], 0.0
    for n, (begin, end) in enumerate(pairwise((0.0, *meals, hours))):
        if n:
            found.append(state[0] / 1000 / volume)
            more = amount(n - 1, state[0])
            given += more
            state[0] += more
        if end > begin and state[0] > 0:
            run = solve_ivp(rates, (begin, end), state, events=run_out if eaten else None,
                            method="DOP853", rtol=1e-12, atol=1e-6)  # fmt: skip
            state = [float(one) for one in run.y[:, -1]]
            if run.status == 1:
                state[0] = 0.0
    return Stepped(state[1], state[2], state[0], given, tuple(found))


TANKS = (
    (220.0, 0.6, 5.0, (8.5, 10.0, 12.0, 14.0, 15.75), 90000.0),
    (60.0, 0.2, 3.0, (8.0, 16.0), 4000.0),
    (800.0, 4.0, 10.0, (0.0, 4.0, 8.0, 12.0, 16.0, 20.0), 250000.0),
    (100.0, 0.5, 2.0, (9.25,), 0.0),
)


def _up_to(full: float) -> Callable[[int, float], float]:
    """Meals that each fill the tank up."""
    return lambda _, found: full - found


def _days() -> Iterable[Value]:
    for volume, flow, target, at, eaten in TANKS:
        since = [hour + 24 - at[-1] for hour in at]
        day = stepped(volume, flow, since, 24, target, eaten, _up_to(target * 1000 * volume))
        asked = typed(volume=volume, flow=flow, target=target, meals=at, eaten=eaten)
        yield Value(asked, day.given, 1e-7 * day.given)
        yield Value(asked, day.washed / day.given, 1e-7, "washed")
        yield Value(asked, day.eaten / day.given, 1e-7, "eaten_part")
        yield Value(asked, min(day.before), 1e-7, "lowest")


def _meals() -> Iterable[Value]:
    """Meals a day from the moment at which the stepped tank meets its floor."""
    from scipy.integrate import solve_ivp

    for start, flow, volume, floor, eaten in (
        (10.0, 4.0, 800.0, 4.0, 0.0),
        (8.0, 1.5, 220.0, 1.0, 250000.0),
        (5.0, 0.2, 60.0, 2.0, 20000.0),
        (5.0, 0.6, 220.0, 0.5, 90000.0),
    ):
        k, g = 60 * flow / volume, eaten / 1000 / volume

        def crossing(_: float, c: list[float], floor: float = floor) -> float:
            return c[0] - floor

        run = solve_ivp(
            lambda _, c, k=k, g=g: [-k * c[0] - g],
            (0, 60), [start], events=crossing, method="DOP853", rtol=1e-12, atol=1e-12,
        )  # fmt: skip
        many = ceil(24 / float(run.t_events[0][0]))
        asked = typed(start=start, flow=flow, volume=volume, hours=1, floor=floor, eaten=eaten)
        yield Value(asked, many, 0, "meals_per_day")


COUNTS = ((38, 45, 41, 36, 44, 43), (31, 28, 36), (34, 29, 38), (10, 30, 55, 22), (5, 60), (41,))
"""Three that look well mixed, two that do not, and one alone."""


def limits_by_scipy(counts: Sequence[int], more: int) -> tuple[float, float]:
    """95 % limits of the mean, were `more` counts like these added, by scipy's quantiles."""
    from scipy import stats

    n, mean = len(counts), sum(counts) / len(counts)
    mixed = len(counts) < 2 or float(stats.chisquare(counts).pvalue) > 0.025
    if not mixed:
        half = stats.t.ppf(0.975, n + more - 1) * stats.tstd(counts) / (n + more) ** 0.5
        return max(0.0, mean - half), mean + half
    k = round(mean * (n + more))
    low, high = stats.chi2.ppf(0.025, 2 * k), stats.chi2.isf(0.025, 2 * k + 2)
    return float(low) / 2 / (n + more), float(high) / 2 / (n + more)


def _narrowed() -> Iterable[Value]:
    for counts in COUNTS:
        for more in (0, 1, 2, 7):
            low, high = limits_by_scipy(counts, more)
            asked = typed(counts=counts, subsample=0.5, dilution=4, volume=2, more=more)
            yield Value(asked, low * 16000, 1e-3, "low_more")
            yield Value(asked, high * 16000, 1e-3, "high_more")


SOURCES: tuple[Source, ...] = (
    Source(
        "prey-day",
        "tank with meals, eating and washout, stepped by scipy.integrate.solve_ivp (DOP853)",
        "1e-7 of the day: steps to 1e-12, and the moment at which prey is gone, found by scipy",
        _days,
    ),
    Source(
        "prey-washout",
        "meals a day by the floor that scipy.integrate.solve_ivp (DOP853) meets",
        "whole numbers",
        _meals,
    ),
    Source(
        "aliquot",
        "scipy.stats: limits with counts to come, chi2.ppf, chi2.isf and t.ppf",
        "other routes to the same quantiles; limits are of some 10 000 to 1 000 000",
        _narrowed,
    ),
    Source(
        "gape",
        "Oetker 1998: a San Francisco Bay nauplius laid across (428 um, Vanhaecke and Sorgeloos "
        "1980) is as wide as the mouth at 7.21 mm",
        "7.21 has three digits",
        lambda: (Value(typed(length=7.21, width=428), 1, 0.001, "part"),),
        again=True,
    ),
)
