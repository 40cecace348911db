"""Treatments of one measure compared: means, the test, pairs, sizes, what could be found."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from math import fsum, sqrt

from tankwalk.errors import Refusal
from tankwalk.plan.trial import Trial
from tankwalk.practice.trial.measures import Measure, Missing, TankValue
from tankwalk.rows import NamedTuple
from tankwalk.science import blocks, comparison, effects
from tankwalk.science.effects import Size

NORMAL_NEEDS = 20
"""Below so many tanks no test tells whether they are normal. Common practice, no source."""

SOME_SPREAD = 10
"""Tanks a treatment below which a test of spreads finds only gross differences."""

FAR = 2.0
"""A residual of so many of its own standard errors is named."""


class Arm(NamedTuple):
    """A treatment: its tanks with a value, and what they come to."""

    treatment: str
    values: tuple[TankValue, ...]
    mean: float | None
    sd: float | None
    se: float | None
    low: float | None
    high: float | None

    @property
    def n(self) -> int:
        """Tanks."""
        return len(self.values)


class How(Enum):
    """Which analysis it is."""

    BLOCKS = "two-way analysis of variance, treatment and block"
    ONE_WAY = "one-way analysis of variance"
    WELCH = "Welch's t test"


class Test(NamedTuple):
    """The test of the treatments; F, or for Welch t, with its degrees of freedom."""

    how: How
    statistic: float | None
    df: int | None
    error: float
    """Degrees of freedom of the error."""
    p: float | None
    mean_square: float
    block_p: float | None = None
    complete: bool = True


class Pairwise(NamedTuple):
    """Two treatments: the first minus the second, with limits for all pairs together, and g."""

    first: str
    second: str
    difference: float
    low: float | None
    high: float | None
    p: float | None
    g: Size | None


class Findable(NamedTuple):
    """What these tanks could have found with 80 % power, and how many a wanted one would take."""

    difference: float
    percent: float | None
    """Of the mean of all tanks."""
    wanted: float | None
    needed: int | None
    """Tanks a treatment; None where it would take over a thousand."""


class Assumptions(NamedTuple):
    """What the analysis takes for granted, as far as these tanks can say."""

    tanks: int
    fewest: int
    spread_p: float | None
    bend_p: float | None
    farthest: str
    """The tank whose residual is the largest."""
    residual: float | None
    """That residual in its own standard errors."""


class Compared(NamedTuple):
    """One measure of a trial, compared. `why_not` says why there is no test."""

    measure: Measure
    arms: tuple[Arm, ...]
    test: Test | None
    pairs: tuple[Pairwise, ...]
    omega: Size | None
    findable: Findable | None
    assumptions: Assumptions | None
    why_not: str
    arcsine: bool
    adjusted: tuple[float, ...] = ()
    """Means over all blocks, by arm, where a tank is missing and blocks are not complete."""


def compared(
    measure: Measure, treatments: Sequence[str], trial: Trial, *, arcsine: bool = False
) -> Compared:
    """A measure compared between treatments, on the values of tanks.

    With blocks (every tank stands in one) two-way, where not the test of Welch for two treatments
    and one-way for more. `arcsine` tests shares as the arcsine of their square root.
    Refusal where the arcsine is asked of what is no share.
    """
    if arcsine and measure.unit != "%":
        raise Refusal(
            f"{measure.code} is no share in percent: the arcsine of its square root means nothing."
        )
    arms = tuple(_arm(code, measure) for code in treatments)
    empty = Compared(measure, arms, None, (), None, None, None, "", arcsine)
    there = [arm for arm in arms if arm.n]
    if len(there) < 2:
        return empty._replace(why_not="fewer than two treatments have a value")
    scaled = [[_scaled(one, arcsine) for one in arm.values] for arm in there]
    blocked = _blocked(there)
    try:
        cells = _cells(there, scaled, blocked=blocked)
        fit = blocks.fitted(cells)
    except Refusal as refusal:
        return empty._replace(why_not=str(refusal))
    if not fit.mean_square:
        return empty._replace(why_not="tanks of a treatment do not differ at all")
    names = [arm.treatment for arm in there]
    two = len(there) == 2 and not blocked
    if two and min(arm.n for arm in there) < 2:
        return empty._replace(why_not="a treatment of one tank shows no scatter")
    test, pairs = _welch(names, scaled, fit) if two else _analysis(names, scaled, fit)
    f = fit.treatments.statistic or 0.0
    number = len(cells) / len(there)
    return empty._replace(
        test=test,
        pairs=pairs,
        omega=effects.omega_squared(f, fit.treatments.df, fit.df),
        findable=None if arcsine else _findable(measure, trial, fit, number, len(there)),
        assumptions=_assumptions(there, cells, scaled, fit),
        adjusted=() if fit.complete or arcsine or not blocked else _by_arm(arms, names, fit.means),
    )


def _by_arm(arms: Sequence[Arm], names: Sequence[str], means: Sequence[float]) -> tuple[float, ...]:
    found = dict(zip(names, means, strict=True))
    return tuple(found[arm.treatment] for arm in arms if arm.treatment in found)


def _arm(treatment: str, measure: Measure) -> Arm:
    these = tuple(one for one in measure.known if one.tank.treatment == treatment)
    values = [one.value for one in these if one.value is not None]
    if not values:
        return Arm(treatment, these, None, None, None, None, None)
    n = len(values)
    mean = fsum(values) / n
    sd = sqrt(fsum((value - mean) ** 2 for value in values) / (n - 1)) if n > 1 else None
    se = None if sd is None else sd / sqrt(n)
    return Arm(treatment, these, mean, sd, se, min(values), max(values))


def _scaled(one: TankValue, arcsine: bool) -> float:
    value = one.value or 0.0
    return effects.arcsine(min(100.0, max(0.0, value))) if arcsine else value


def _blocked(arms: Sequence[Arm]) -> bool:
    """Whether every tank stands in a block, and there are several."""
    found = {one.tank.block for arm in arms for one in arm.values}
    return None not in found and len(found) > 1


def _cells(
    arms: Sequence[Arm], scaled: Sequence[Sequence[float]], *, blocked: bool
) -> list[blocks.Cell]:
    order: dict[str | None, int] = {}
    for arm in arms:
        for one in arm.values:
            order.setdefault(one.tank.block if blocked else None, len(order))
    return [
        blocks.Cell(i, order[one.tank.block if blocked else None], value)
        for i, (arm, values) in enumerate(zip(arms, scaled, strict=True))
        for one, value in zip(arm.values, values, strict=True)
    ]


def _analysis(
    names: Sequence[str], scaled: Sequence[Sequence[float]], fit: blocks.Fitted
) -> tuple[Test, tuple[Pairwise, ...]]:
    tested = fit.treatments
    test = Test(
        How.ONE_WAY if fit.blocks is None else How.BLOCKS,
        tested.statistic, tested.df, fit.df, tested.p, fit.mean_square,
        None if fit.blocks is None else fit.blocks.p, fit.complete,
    )  # fmt: skip
    pairs = tuple(
        Pairwise(
            names[pair.first - 1], names[pair.second - 1], pair.difference, pair.low, pair.high,
            pair.p, _size(scaled[pair.first - 1], scaled[pair.second - 1]),
        )
        for pair in fit.pairs
    )  # fmt: skip
    return test, pairs


def _welch(
    names: Sequence[str], scaled: Sequence[Sequence[float]], fit: blocks.Fitted
) -> tuple[Test, tuple[Pairwise, ...]]:
    found = comparison.welch(scaled)
    test = Test(How.WELCH, found.statistic, None, found.df or 0.0, found.p, fit.mean_square)
    pair = Pairwise(
        names[0], names[1], found.difference, found.low, found.high, found.p,
        _size(scaled[0], scaled[1]),
    )  # fmt: skip
    return test, (pair,)


def _size(first: Sequence[float], second: Sequence[float]) -> Size | None:
    return effects.hedges(first, second) if min(len(first), len(second)) > 1 else None


def _findable(
    measure: Measure, trial: Trial, fit: blocks.Fitted, number: float, groups: int
) -> Findable:
    least = comparison.findable(fit.mean_square, fit.df, number, alpha=trial.alpha)
    mean = fsum(one.value or 0.0 for one in measure.known) / len(measure.known)
    percent = 100 * least / abs(mean) if mean else None
    wanted = trial.wanted if measure.code == trial.primary else None
    needed = None
    if wanted is not None:
        try:
            needed = comparison.tanks_needed(
                wanted, sqrt(fit.mean_square), comparison.POWER, trial.alpha, groups,
                blocked=fit.blocks is not None,
            )  # fmt: skip
        except Refusal:
            needed = None
    return Findable(least, percent, wanted, needed)


def _assumptions(
    arms: Sequence[Arm],
    cells: Sequence[blocks.Cell],
    scaled: Sequence[Sequence[float]],
    fit: blocks.Fitted,
) -> Assumptions:
    tanks = [one.tank.code for arm in arms for one in arm.values]
    by_arm: list[list[float]] = [[] for _ in arms]
    for cell, rest in zip(cells, fit.residuals, strict=True):
        by_arm[cell.treatment].append(rest)
    spread = None
    if min(len(group) for group in by_arm) > 1:
        spread = effects.equal_spreads(by_arm).p
    worst, far = "", None
    for code, rest, hat in zip(tanks, fit.residuals, fit.leverages, strict=True):
        if hat < 1 - 1e-9:
            size = abs(rest) / sqrt(fit.mean_square * (1 - hat))
            if far is None or size > far:
                worst, far = code, size
    bend = blocks.bend(cells, fit)
    return Assumptions(
        len(tanks), min(len(group) for group in scaled), spread, None if bend is None else bend.p,
        worst, far,
    )  # fmt: skip


def missing_by_reason(measure: Measure) -> dict[Missing, list[str]]:
    """Tanks without a value, by the reason."""
    found: dict[Missing, list[str]] = {}
    for one in measure.values:
        if one.why is not None:
            found.setdefault(one.why, []).append(one.tank.code)
    return found
