"""Large figures for what is being typed, in three lines of plain characters.

Seven-segment figures from "_" and "|" stand in any font and code page, and can be read at arm's
length.
"""

from __future__ import annotations

_TOP = {
    "0": " _ ", "1": "   ", "2": " _ ", "3": " _ ", "4": "   ", "5": " _ ", "6": " _ ",
    "7": " _ ", "8": " _ ", "9": " _ ", ".": " ", "-": "   ", "<": "  ", " ": "  ",
}  # fmt: skip
_MIDDLE = {
    "0": "| |", "1": "  |", "2": " _|", "3": " _|", "4": "|_|", "5": "|_ ", "6": "|_ ",
    "7": "  |", "8": "|_|", "9": "|_|", ".": " ", "-": " _ ", "<": " /", " ": "  ",
}  # fmt: skip
_BOTTOM = {
    "0": "|_|", "1": "  |", "2": "|_ ", "3": " _|", "4": "  |", "5": " _|", "6": "|_|",
    "7": "  |", "8": "|_|", "9": " _|", ".": "o", "-": "   ", "<": " \\", " ": "  ",
}  # fmt: skip


def big(words: str, cells: int) -> tuple[str, str, str] | None:
    """Three lines for figures, each at most `cells` wide; None when they have no large form."""
    text = words.replace(",", ".")
    if any(c not in _TOP for c in text):
        return None
    rows = tuple(" ".join(font[c] for c in text) for font in (_TOP, _MIDDLE, _BOTTOM))
    if any(len(row) > cells for row in rows):
        return None
    return rows[0], rows[1], rows[2]
