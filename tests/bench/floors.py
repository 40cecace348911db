"""Floors for the bench: the smallest programs that do what ours is measured against.

python tests/bench/floors.py app      a bare Textual app with one line
python tests/bench/floors.py input    a bare Textual app with one Input
"""

from __future__ import annotations

import sys

from textual.app import App, ComposeResult
from textual.widgets import Input, Static


class Bare(App[None]):
    """One line of text."""

    def compose(self) -> ComposeResult:
        yield Static("ready now")


class OneInput(App[None]):
    """One input, its cursor still."""

    def compose(self) -> ComposeResult:
        one = Input(placeholder="ready now")
        one.cursor_blink = False
        yield one


if __name__ == "__main__":
    (OneInput() if sys.argv[1:] == ["input"] else Bare()).run(mouse=False)
