"""What the morning round of the demo's Sunday reads, slot by slot, as it would be typed."""

from __future__ import annotations

from tankwalk.ledger.entries import Reading
from tankwalk.practice.round.questions import REASONS
from tankwalk_demo.acts import Act
from tankwalk_demo.days import on
from tankwalk_demo.room import SEED, plan
from tankwalk_demo.story import in_order

SUNDAY = 21


def morning_answers(seed: int = SEED) -> dict[tuple[str, str], str]:
    """Answers by (place, item), in the order of the record, for Sunday 10 May, PB's round.

    Where a second reading is asked for, it reads the same again. A choice is its key on the pad
    (1 for all right). What is not taken is "/" and the key of the reason, as "/3".
    """
    found: dict[tuple[str, str], str] = {}
    for act in in_order(seed):
        if isinstance(act.detail, Reading) and act.item is not None and _asked(act):
            found[act.place, act.item] = _typed(act.item, act.detail)
    return found


def lines(answer: str) -> tuple[str, ...]:
    """The answers one slot takes, one a line: "/3" is a slash and then the reason's key."""
    return ("/", answer[1:]) if answer.startswith("/") else (answer,)


def _asked(act: Act) -> bool:
    """Whether an act belongs to that round, and not to the one of the afternoon."""
    return (
        act.round is not None
        and not act.amends
        and act.at.day == on(SUNDAY)
        and act.at.wall.hour < 12
    )


def _typed(item: str, reading: Reading) -> str:
    if reading.value is None:
        return "/" + next(one.key for one in REASONS if one.word == reading.qualifier)
    keys = {word: key for key, word in plan().item(item).answers}
    return keys.get(reading.typed, reading.typed)
