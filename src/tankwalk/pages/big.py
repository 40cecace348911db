"""Large figures and names, solid: three columns by five points, in three lines of half blocks.

They can be read at arm's length; an ASCII terminal has them in quotes, underscores and hashes.
"""

from __future__ import annotations

_POINTS = {
    "0": "111 101 101 101 111", "1": "010 110 010 010 111", "2": "111 001 111 100 111",
    "3": "111 001 111 001 111", "4": "101 101 111 001 001", "5": "111 100 111 001 111",
    "6": "111 100 111 101 111", "7": "111 001 001 001 001", "8": "111 101 111 101 111",
    "9": "111 101 111 001 111", ".": "0 0 0 0 1", "-": "000 000 111 000 000",
    "<": "001 010 100 010 001", "_": "000 000 000 000 111", " ": "00 00 00 00 00",
    "A": "010 101 111 101 101", "B": "110 101 110 101 110", "C": "111 100 100 100 111",
    "D": "110 101 101 101 110", "E": "111 100 110 100 111", "F": "111 100 110 100 100",
    "G": "111 100 101 101 111", "H": "101 101 111 101 101", "I": "111 010 010 010 111",
    "J": "001 001 001 101 111", "K": "101 101 110 101 101", "L": "100 100 100 100 111",
    "M": "101 111 111 101 101", "N": "110 101 101 101 101", "O": "111 101 101 101 111",
    "P": "111 101 111 100 100", "Q": "111 101 101 111 001", "R": "111 101 110 101 101",
    "S": "111 100 111 001 111", "T": "111 010 010 010 010", "U": "101 101 101 101 111",
    "V": "101 101 101 101 010", "W": "101 101 111 111 101", "X": "101 101 010 101 101",
    "Y": "101 101 010 010 010", "Z": "111 001 010 100 111",
}  # fmt: skip
"""The points of each figure, row by row from the top."""

_HALVES = {"00": " ", "10": "\u2580", "01": "\u2584", "11": "\u2588"}
"""A cell by its upper and its lower point."""


def _drawn(points: str) -> tuple[str, str, str]:
    rows = [*points.split(), "0" * len(points.split()[0])]
    one, two, three = (
        "".join(_HALVES[up + down] for up, down in zip(rows[i], rows[i + 1], strict=True))
        for i in (0, 2, 4)
    )
    return one, two, three


_FIGURES = {figure: _drawn(points) for figure, points in _POINTS.items()}


def big(words: str, cells: int) -> tuple[str, str, str] | None:
    """Three lines for a number, each at most `cells` wide; None when it has no large form."""
    if any(c.isalpha() for c in words):
        return None
    return big_name(words.replace(",", "."), cells)


def big_name(name: str, cells: int) -> tuple[str, str, str] | None:
    """Three lines for a tank's name, in capitals; None when it has no large form."""
    text = name.upper()
    if any(c not in _FIGURES for c in text):
        return None
    one, two, three = (" ".join(_FIGURES[c][row] for c in text) for row in range(3))
    return None if len(one) > cells else (one, two, three)
