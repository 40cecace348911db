"""Meters that are not as normal, in words."""

from __future__ import annotations

from tankwalk.clock import Instant, past
from tankwalk.practice.meters.meter_checks import MeterState, looks_words, name


def altered(state: MeterState, now: Instant) -> str:
    """A meter out of use and what is suspect for it, or one whose check is long past."""
    what = name(state.meter)
    if state.last is None:
        return f"{what} has not been checked yet"
    if not state.off:
        return f"{what} last checked {past(now.hours_since(state.last.at))}"
    words = f"{what} failed its check {state.last.at.short()}"
    if state.mark is None or not state.readings:
        return words
    since = Instant(state.mark.since, now.offset).short()
    return f"{words}: {looks_words(state.readings)} since {since} suspect"
