"""What the morning round of the demo's Sunday reads, slot by slot, as it would be typed."""

from __future__ import annotations

from tankwalk.ledger.entries import Entry, Reading
from tankwalk.plan.model import Kind
from tankwalk.practice.questions import REASONS
from tankwalk_demo.days import on
from tankwalk_demo.room import SEED, plan
from tankwalk_demo.story import events

SUNDAY = 21


def morning_answers(seed: int = SEED) -> dict[tuple[str, str], str]:
    """Answers by (place, item), in the order of the record, for Sunday 10 May, PB's round.

    Where a second reading is asked for, it reads the same again. A choice is its key on the pad
    ("+" for all right). What is not taken is "/" and the key of the reason, as "/3".
    """
    found: dict[tuple[str, str], str] = {}
    for entry, details in events(seed):
        for detail in details:
            if isinstance(detail, Reading) and _asked(entry) and not detail.recheck:
                found[entry.place or "", entry.item or ""] = _typed(entry, detail)
    return found


def lines(answer: str) -> tuple[str, ...]:
    """The answers one slot takes, one a line: "/3" is a slash and then the reason's key."""
    return ("/", answer[1:]) if answer.startswith("/") else (answer,)


def _asked(entry: Entry) -> bool:
    """Whether an entry belongs to that round, and not to the one of the afternoon."""
    return (
        entry.round is not None
        and entry.amends is None
        and entry.observed.day == on(SUNDAY)
        and entry.observed.wall.hour < 12
    )


def _typed(entry: Entry, reading: Reading) -> str:
    if reading.value is None:
        return "/" + next(key for key, word, _ in REASONS if word == reading.qualifier)
    if plan().item(entry.item or "").kind is Kind.CHOICE:
        return "+" if reading.value == 0 else str(int(reading.value) + 1)
    return reading.typed
