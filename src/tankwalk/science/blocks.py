"""Treatments compared by tank means where tanks stand in blocks, also where a tank is missing."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.comparison import CONFIDENCE, MOST_GROUPS, Pair
from tankwalk.science.distributions import (
    f_sf,
    studentized_range_cdf,
    studentized_range_quantile,
    t_quantile,
)
from tankwalk.science.limits import finite


class Cell(NamedTuple):
    """One tank: its treatment and block, each counted from 0, and its value."""

    treatment: int
    block: int
    value: float


class Tested(NamedTuple):
    """One factor, the other one allowed for; F and p are None without any rest to test it by."""

    statistic: float | None
    df: int
    p: float | None
    sum_of_squares: float


class Fitted(NamedTuple):
    """The model of treatments and blocks, fitted to tank means by least squares."""

    treatments: Tested
    blocks: Tested | None
    """None where all tanks are of one block: then it is a one-way analysis."""
    df: int
    """Of the error."""
    mean_square: float
    """Of the error: its root is the scatter of a tank once treatment and block are taken out."""
    means: tuple[float, ...]
    """Each treatment's, as in the mean of all blocks; plain means where the design is complete."""
    errors: tuple[float, ...]
    """Standard errors of those."""
    pairs: tuple[Pair, ...]
    """Tukey-Kramer, all pairs together."""
    residuals: tuple[float, ...]
    """Of each cell, in their order."""
    leverages: tuple[float, ...]
    """How much a cell draws the fit to itself, 0 to 1."""
    complete: bool
    """Whether every treatment stands equally often in every block."""


class Bend(NamedTuple):
    """Whether treatments do the same in every block: Tukey's one degree of freedom."""

    statistic: float
    df: int
    p: float


def fitted(cells: Sequence[Cell]) -> Fitted:
    """Two-way analysis of tank means: treatments, blocks as fixed, no interaction.

    Equation: y = treatment + block + error by least squares; SS of a factor is what the error
    grows by without it, so that each is adjusted for the other. Without an interaction in the
    model these are the sums of squares of type II and of type III alike; in a complete design also
    those of type I. F = (SS / df) / MSE. Pairs: difference -+ q(0.95; k, df) x its standard
    error / sqrt(2), by the error mean square (Tukey-Kramer).
    Parameters: `cells`, one a tank, any one unit; a missing tank is left out, never filled in.
    Range: tank means that are about normal about the model, of like spread; blocks and treatments
    that only add.
    Errors: Refusal naming tanks: fewer than 2 treatments or more than 30, no tank to spare for an
    error, blocks that do not join the treatments.
    Source: Fisher 1935, The design of experiments; Yates 1933, Empire J. Exp. Agric. 1:129, for
    missing plots; Kramer 1956, Biometrics 12:307 (all from memory).
    """
    one = _solved(cells)
    k, many, df = one.treatments, one.blocks, one.df
    values, inverse, guesses = one.values, one.inverse, one.guesses
    rest = fsum(left * left for left in one.residuals)
    by_block = _within(values, [one.block for one in cells])
    by_treatment = _within(values, [one.treatment for one in cells])
    error = rest / df
    means = guesses[:k]
    return Fitted(
        _tested(by_block - rest, k - 1, error, df),
        _tested(by_treatment - rest, many - 1, error, df) if many > 1 else None,
        df,
        error,
        tuple(one.middle + mean for mean in means),
        tuple(sqrt(error * inverse[i][i]) for i in range(k)),
        tuple(_pairs(means, inverse, error, df)),
        one.residuals,
        tuple(_leverage(row, inverse) for row in one.rows),
        _complete(cells, k, many),
    )


def bend(cells: Sequence[Cell], fit: Fitted) -> Bend | None:
    """Tukey's test that treatments and blocks only add; None where it cannot be asked.

    Equation: the squared fits, freed of treatment and block, as one more term of the model; F with
    1 and df - 1 degrees of freedom.
    Parameters: `cells` and what `fitted` made of them. Returns F, df of its error and p.
    Range: one tank in a cell; it finds a bend, not every way not to add.
    Source: Tukey 1949, Biometrics 5:232 (from memory).
    """
    if fit.blocks is None or fit.df < 2 or not fit.mean_square:
        return None
    middle = fsum(one.value for one in cells) / len(cells)
    squares = [
        (one.value - middle - rest) ** 2 for one, rest in zip(cells, fit.residuals, strict=True)
    ]
    bent = _solved([one._replace(value=x) for one, x in zip(cells, squares, strict=True)]).residuals
    length = fsum(one * one for one in bent)
    if not length:
        return None
    along = fsum(a * b for a, b in zip(bent, fit.residuals, strict=True))
    taken = along * along / length
    rest = fit.mean_square * fit.df - taken
    if rest <= 0:
        return None
    f = taken / (rest / (fit.df - 1))
    return Bend(f, fit.df - 1, f_sf(f, 1, fit.df - 1))


def limits_of_means(fit: Fitted) -> list[tuple[float, float]]:
    """95 % limits of each treatment's mean, by the error mean square (Student's t)."""
    t = t_quantile((1 + CONFIDENCE) / 2, fit.df)
    return [(m - t * e, m + t * e) for m, e in zip(fit.means, fit.errors, strict=True)]


# ---- least squares


class _Solved(NamedTuple):
    """Least squares of the cells: how many of what, and what is left."""

    treatments: int
    blocks: int
    df: int
    middle: float
    values: list[float]
    """From the middle."""
    rows: list[list[float]]
    inverse: list[list[float]]
    guesses: list[float]
    residuals: tuple[float, ...]


def _solved(cells: Sequence[Cell]) -> _Solved:
    """The model of `fitted` at its least squares; its Refusals."""
    k = 1 + max((one.treatment for one in cells), default=-1)
    many = 1 + max((one.block for one in cells), default=-1)
    if not 2 <= k <= MOST_GROUPS:
        raise Refusal(f"tanks have to be of 2 to {MOST_GROUPS} treatments, not of {k}.")
    for one in cells:
        finite("tanks", one.value)
    df = len(cells) - (k + many - 1)
    if df < 1:
        raise Refusal(
            f"{len(cells)} tanks are too few for {k} treatments in {many} blocks: none is left to "
            "show how far tanks scatter."
        )
    # From the middle of the values, so that small differences keep their digits.
    middle = fsum(one.value for one in cells) / len(cells)
    values = [one.value - middle for one in cells]
    rows = [_row(one.treatment, one.block, k, many) for one in cells]
    inverse = _inverse(rows, k)
    guesses = _times(inverse, _crossed(rows, values))
    fits = [fsum(x * c for x, c in zip(row, guesses, strict=True)) for row in rows]
    residuals = [value - fit for value, fit in zip(values, fits, strict=True)]
    scale = max((abs(value) for value in values), default=0.0)
    # What rounding alone leaves is no scatter.
    residuals = [0.0 if abs(one) < 1e-12 * scale else one for one in residuals]
    return _Solved(k, many, df, middle, values, rows, inverse, guesses, tuple(residuals))


def _row(treatment: int, block: int, k: int, many: int) -> list[float]:
    """A row of the model: a column a treatment; of blocks all but one, so that they sum to 0."""
    row = [0.0] * (k + many - 1)
    row[treatment] = 1.0
    if block < many - 1:
        row[k + block] = 1.0
    else:
        for n in range(k, k + many - 1):
            row[n] = -1.0
    return row


def _crossed(rows: Sequence[Sequence[float]], values: Sequence[float]) -> list[float]:
    return [
        fsum(row[i] * value for row, value in zip(rows, values, strict=True))
        for i in range(len(rows[0]))
    ]


def _times(matrix: Sequence[Sequence[float]], vector: Sequence[float]) -> list[float]:
    return [fsum(x * y for x, y in zip(row, vector, strict=True)) for row in matrix]


def _inverse(rows: Sequence[Sequence[float]], k: int) -> list[list[float]]:
    """The inverse of X'X by elimination with the largest pivot; Refusal where there is none."""
    size = len(rows[0])
    work = [
        [fsum(row[i] * row[j] for row in rows) for j in range(size)]
        + [float(i == j) for j in range(size)]
        for i in range(size)
    ]
    for i in range(size):
        pivot = max(range(i, size), key=lambda n: abs(work[n][i]))
        if abs(work[pivot][i]) < 1e-9:
            raise Refusal(
                f"The blocks do not join all {k} treatments: some of them share no block with the "
                "others, or have no tank, so they cannot be compared within blocks."
            )
        work[i], work[pivot] = work[pivot], work[i]
        work[i] = [x / work[i][i] for x in work[i]]
        for n in range(size):
            if n != i and work[n][i]:
                by = work[n][i]
                work[n] = [x - by * y for x, y in zip(work[n], work[i], strict=True)]
    return [row[size:] for row in work]


def _leverage(row: Sequence[float], inverse: Sequence[Sequence[float]]) -> float:
    return fsum(x * y for x, y in zip(row, _times(inverse, row), strict=True))


def _within(values: Sequence[float], groups: Sequence[int]) -> float:
    """The sum of squares about the mean of each group."""
    total = 0.0
    for group in dict.fromkeys(groups):
        these = [value for value, of in zip(values, groups, strict=True) if of == group]
        mean = fsum(these) / len(these)
        total += fsum((value - mean) ** 2 for value in these)
    return total


def _tested(squares: float, df: int, error: float, rest: int) -> Tested:
    squares = max(squares, 0.0)
    if not error:
        return Tested(None, df, 0.0 if squares > 0 else None, squares)
    f = squares / df / error
    return Tested(f, df, f_sf(f, df, rest), squares)


def _pairs(
    means: Sequence[float], inverse: Sequence[Sequence[float]], error: float, df: int
) -> list[Pair]:
    k = len(means)
    q = studentized_range_quantile(CONFIDENCE, k, df)
    found = []
    for i in range(k):
        for j in range(i + 1, k):
            difference = means[i] - means[j]
            # The variance of the difference, over 2: what the studentized range goes by.
            spread = sqrt(error * (inverse[i][i] + inverse[j][j] - 2 * inverse[i][j]) / 2)
            p: float | None = 0.0 if difference else None
            if spread:
                p = 1 - studentized_range_cdf(abs(difference) / spread, k, df)
            low, high = difference - q * spread, difference + q * spread
            found.append(Pair(i + 1, j + 1, difference, low, high, p))
    return found


def _complete(cells: Sequence[Cell], k: int, many: int) -> bool:
    often = [[0] * many for _ in range(k)]
    for one in cells:
        often[one.treatment][one.block] += 1
    return len({count for row in often for count in row}) == 1
