"""Readings and bands in a few words, as the walk, the paper and the plain lines say them alike."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.clock import Instant, past
from tankwalk.ledger.readings import MovedSeen
from tankwalk.pages.lines import flag_tone
from tankwalk.plan.bands import describe
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.site import SITE

if TYPE_CHECKING:  # the board has withdrawn values too, and loads no room of the walk
    from tankwalk.practice.judging.standing.withdrawn import Withdrawn
    from tankwalk.practice.round.agenda import Slot
    from tankwalk.practice.round.view import StopView
    from tankwalk.practice.workings.derived import State


def band_words(slot: Slot) -> str:
    """The band today in a few figures; where words are judged, the one that is all right."""
    if not slot.item.kind.by_band:
        return slot.item.choices[0]
    return "" if slot.band is None else describe(slot.band, slot.item)


def state_words(state: State) -> tuple[str, str]:
    """A derived value with its mark, or what it lacks; and its tone."""
    if state.why:
        return f"cannot compute: {state.why}", "dim"
    seen = state.seen
    if seen is None:
        return "--", "dim"
    flag = Flag(seen.flag)
    shown = value_words(state.item, seen)
    return f"{shown} {flag.mark if flag else 'ok'}", flag_tone(flag) if flag else "plain"


def withdrawn_words(one: Withdrawn, now: Instant) -> str:
    """A value that was taken back: what it was, when and by whom, and why."""
    seen = one.seen
    place = "" if seen.place == SITE else f"{seen.place} "
    value = value_words(one.item, seen)
    return (
        f"{place}{one.item.label} {value}, {one.flag.word} at {seen.at.told(now)}, withdrawn "
        f"{one.at.told(now)} by {one.who}: {one.reason}"
    )


def moved_words(moved: Sequence[MovedSeen], place: str, now: Instant) -> list[str]:
    """What was moved from a place or to it, a sentence an act."""
    acts: dict[tuple[str, str, str, int], list[MovedSeen]] = {}
    for one in moved:
        acts.setdefault((one.origin, one.place, one.who, one.at.utc), []).append(one)
    found = []
    for (origin, to, who, _), many in acts.items():
        values = "1 value" if len(many) == 1 else f"{len(many)} values"
        way = f"moved to {to}" if origin == place else f"moved here from {origin}"
        found.append(f"{values} {way} {many[0].at.told(now)} by {who}: {many[0].reason}.")
    return found


def meanwhile(stop: StopView, now: Instant) -> str:
    """What others read where one stands in this round, and what was moved from there or to it."""
    other = stop.entry.by_other
    slot = stop.entry.line.slot
    said = moved_words(stop.moved, slot.place, now)
    if other is not None:
        when = past(now.hours_since(other.at))
        said = [f"{other.who} read {value_words(slot.item, other)} {when}, in this round.", *said]
    return " ".join(said)


def fitting(cells: int, *ways: str) -> str:
    """The first way to say something that fits; the last one where none does."""
    return next((words for words in ways if text.width(words) <= cells), ways[-1])
