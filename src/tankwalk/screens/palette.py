"""Every act by name: Textual's list of commands, still when idle and in plain characters."""

from __future__ import annotations

from textual.command import CommandPalette, SearchIcon
from textual.widgets import Input


class Palette(CommandPalette):
    """A blinking cursor would send bytes all the time; an emoji is two cells on some terminals."""

    def on_mount(self) -> None:
        self.query_one(Input).cursor_blink = False
        self.query_one(SearchIcon).icon = ">"
