"""A clock that the record speaks against, in words: on the board, and before anything is kept."""

from __future__ import annotations

from tankwalk.pages.lines import Line, wrapped
from tankwalk.practice.site import ClockDoubt


def clock_lines(doubt: ClockDoubt | None, width: int) -> list[Line]:
    """What stands on the board while the clock is in doubt; nothing while it is not."""
    if doubt is None:
        return []
    words = f"CLOCK? It reads {doubt.now.long()}. {doubt.words} Asked before anything is kept."
    return wrapped(width, words, "act", 3)
