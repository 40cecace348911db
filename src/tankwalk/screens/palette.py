"""Every act by name: Textual's list of commands, still when idle and in plain characters."""

from __future__ import annotations

from textual.command import SearchIcon
from textual.widgets import Input

from tankwalk.screens._textual_private import CalmPalette

LEAST = (20, 6)
"""Columns and rows below which Textual's list cannot be drawn."""


class Palette(CalmPalette):
    """A blinking cursor would send bytes all the time; an emoji is two cells on some terminals."""

    def on_mount(self) -> None:
        self.query_one(Input).cursor_blink = False
        self.query_one(SearchIcon).icon = ">"


def fits(size: tuple[int, int]) -> bool:
    """Whether a window of these columns and rows has room for the list."""
    return size[0] >= LEAST[0] and size[1] >= LEAST[1]
