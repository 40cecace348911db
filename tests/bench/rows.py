"""The rows of the bench's table: ours beside its floor, the ratio, the most it should be."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Sequence
from typing import NamedTuple


class Row(NamedTuple):
    """One line of the table; `holds` is "yes", "NO", or "" for a figure without a limit."""

    what: str
    ours: str
    floor: str = ""
    ratio: str = ""
    most: str = ""
    holds: str = ""


def median(values: Sequence[float]) -> float:
    return statistics.median(values)


def high(values: Sequence[float]) -> float:
    """The 95th percentile."""
    return sorted(values)[min(len(values) - 1, round(0.95 * (len(values) - 1)))]


def ms(seconds: float) -> str:
    return f"{seconds * 1000:.1f} ms"


def mib(size: float) -> str:
    return f"{size:.0f} MiB"


def against(
    what: str, ours: float, floor: float, most: float, form: Callable[[float], str] = ms
) -> Row:
    """A ratio to a floor; it holds when it is at most `most`, as printed."""
    ratio = round(ours / floor, 2)
    return Row(what, form(ours), form(floor), f"{ratio:.2f}x", f"{most:.2f}x", _holds(ratio, most))


def at_most(what: str, ours: float, most: float, form: Callable[[float], str]) -> Row:
    """A figure that has a limit of its own."""
    return Row(what, form(ours), "", "", form(most), _holds(ours, most))


def _holds(ours: float, most: float) -> str:
    return "yes" if ours <= most else "NO"


def show(rows: Sequence[Row]) -> None:
    """The table."""
    heads = Row("what", "ours", "floor", "ratio", "at most", "holds")
    sizes = [max(len(row[i]) for row in (heads, *rows)) for i in range(len(heads))]
    for line in (heads, tuple("-" * size for size in sizes), *rows):
        cells = (cell.ljust(size) for cell, size in zip(line, sizes, strict=True))
        print("| " + " | ".join(cells) + " |")
