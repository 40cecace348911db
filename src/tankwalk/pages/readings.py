"""Readings and bands in a few words, as the walk, the paper and the plain lines say them alike."""

from __future__ import annotations

from tankwalk import quantity, text
from tankwalk.ledger.readings import Seen
from tankwalk.pages.lines import flag_tone
from tankwalk.plan.bands import describe
from tankwalk.plan.model import Kind
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.workings.derived import State, words_of


def value_shown(slot: Slot, seen: Seen) -> str:
    """A kept value without its unit."""
    if slot.item.kind is Kind.CHOICE or seen.value is None:
        return value_words(slot.item, seen)
    below = "< " if seen.qualifier == "<" else ""
    return below + quantity.show(seen.value, "", slot.item.decimals)


def band_words(slot: Slot) -> str:
    """The band today in a few figures; for a choice, the word that is all right."""
    if slot.item.kind is Kind.CHOICE:
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
    shown = words_of(state.item, seen)
    return f"{shown} {flag.mark if flag else 'ok'}", flag_tone(flag) if flag else "plain"


def fitting(cells: int, *ways: str) -> str:
    """The first way to say something that fits; the last one where none does."""
    return next((words for words in ways if text.width(words) <= cells), ways[-1])
