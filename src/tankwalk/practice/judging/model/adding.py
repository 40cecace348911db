"""What a meter adds to what a tank reads anyhow: levels of pairs drawn to their sums."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from tankwalk.practice.judging.model.looks import Meter, Pair

FEWEST_OF_METER = 3
"""Looks with a meter that tell what it adds to what a tank reads, and what ties it to another."""
AS_ANYWHERE = 8
"""What a meter reads at a tank is thought to be what it reads anywhere, as by so many looks: a
probe hangs a little differently in each. Common practice, no source."""


def as_sums(level: Mapping[Pair, float], looks: Mapping[Pair, int]) -> dict[Pair, float]:
    """Levels drawn to what the tank reads anyhow and what the meter adds anywhere.

    A tank that is read with a new meter needs no past with it, where other tanks tell what that
    meter adds: least squares of tank + meter, each pair by its looks.
    """
    of_tank: dict[str, list[Pair]] = {}
    for pair in level:
        of_tank.setdefault(pair[0], []).append(pair)
    if all(len(pairs) == 1 for pairs in of_tank.values()):
        return dict(level)
    meters = list(dict.fromkeys(pair[1:] for pair in level))
    adds, tied = _added(level, looks, of_tank, meters)
    found: dict[Pair, float] = {}
    for tank, pairs in of_tank.items():
        count = sum(looks[pair] for pair in pairs)
        own = sum(looks[pair] * (level[pair] - adds[pair[1:]]) for pair in pairs) / count
        for meter in meters:
            pair = (tank, *meter)
            if pair in level:
                n = looks[pair]
                found[pair] = (n * level[pair] + AS_ANYWHERE * (own + adds[meter])) / (
                    n + AS_ANYWHERE
                )
            elif any((meter, other[1:]) in tied for other in pairs):
                found[pair] = own + adds[meter]
    return found


def _added(
    level: Mapping[Pair, float],
    looks: Mapping[Pair, int],
    of_tank: Mapping[str, Sequence[Pair]],
    meters: Sequence[Meter],
) -> tuple[dict[Meter, float], set[tuple[Meter, Meter]]]:
    """What each meter adds beside the others, and which two were held against each other enough."""
    nth = {meter: n for n, meter in enumerate(meters)}
    rows = [[0.0] * (len(meters) + 1) for _ in meters]
    both: defaultdict[tuple[Meter, Meter], int] = defaultdict(int)
    for pairs in of_tank.values():
        count = sum(looks[pair] for pair in pairs)
        mean = sum(looks[pair] * level[pair] for pair in pairs) / count
        for pair in pairs:
            row, n = rows[nth[pair[1:]]], looks[pair]
            row[nth[pair[1:]]] += n
            row[-1] += n * (level[pair] - mean)
            for other in pairs:
                row[nth[other[1:]]] -= n * looks[other] / count
                if other is not pair:
                    both[pair[1:], other[1:]] += min(n, looks[other])
    for n, row in enumerate(rows):
        row[n] += NOTHING
    adds = dict(zip(meters, _solved(rows), strict=True))
    return adds, {two for two, n in both.items() if n >= FEWEST_OF_METER}


NOTHING = 1e-3
"""So many looks say that a meter adds nothing: what ties it to no other stays where it is."""


def _solved(rows: list[list[float]]) -> list[float]:
    """The unknowns of a few equations, each a row with its right side last (elimination)."""
    count = len(rows)
    for n in range(count):
        best = max(range(n, count), key=lambda row: abs(rows[row][n]))
        rows[n], rows[best] = rows[best], rows[n]
        for row in range(n + 1, count):
            by = rows[row][n] / rows[n][n]
            if by:
                rows[row] = [a - by * b for a, b in zip(rows[row], rows[n], strict=True)]
    found = [0.0] * count
    for n in reversed(range(count)):
        known = sum(rows[n][m] * found[m] for m in range(n + 1, count))
        found[n] = (rows[n][-1] - known) / rows[n][n]
    return found
