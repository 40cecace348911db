"""A round from paper in words: who walked it, when, and who typed it in."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.practice.round.view import WalkView


def begun_words(seen: WalkView) -> str:
    """What is typed in, said once as one begins."""
    return (
        f"{seen.label} of {seen.opened.short()} from paper, walked by {seen.who}, typed in by "
        f"{seen.typist}. {seen.done} of {seen.asked} done."
    )


def typed_in(typist: str, recorded: Instant, now: Instant) -> str:
    """That something was typed in from paper, by whom and when."""
    return f"transcribed by {typist} {recorded.told(now)}"
