"""What is done first about an item: its steps by side or by word, and as one sentence."""

from __future__ import annotations

from tankwalk.plan.model import Item, Side, Steps
from tankwalk.rows import NamedTuple


class First(NamedTuple):
    """Steps with what they are for: a side, a word of a choice, or "" for whatever is out."""

    when: str
    steps: Steps

    @property
    def words(self) -> str:
        """As a line under its item says it, "low: Open the oxygen, stop the feed."."""
        said = response(self.steps)
        return f"{self.when}: {said}" if self.when else said


STOPS_THE_FEED = ("stop the feed", "hold the feed")
"""Steps that end feeding until somebody turns it on again, word by word as plans write them."""


def stops_the_feed(step: str) -> bool:
    """Whether a step that was done means that no feed goes in."""
    return step.casefold().strip(" .") in STOPS_THE_FEED


def steps(item: Item, side_or_word: Side | str | None) -> Steps:
    """The steps for a side, or for the word of a choice; () where the plan gives none.

    None is for a value whose side is not known: then only what holds for both sides does.
    """
    if item.kind.by_words:
        return dict(item.when).get(side_or_word or "", ())
    if side_or_word is None:
        return item.when_low if item.when_low == item.when_high else ()
    return item.when_low if side_or_word == Side.LOW else item.when_high


def response(steps: Steps) -> str:
    """Steps as one sentence; "" for none."""
    if not steps:
        return ""
    words = ", ".join(steps)
    return words[:1].upper() + words[1:] + ("" if words[-1] in ".!?" else ".")


def every(item: Item) -> tuple[First, ...]:
    """All an item's steps, for where no value is known: once where both sides say the same."""
    if item.kind.by_words:
        said = {steps for _, steps in item.when}
        if len(said) == 1 and len(item.when) > 1:
            return (First("", said.pop()),)
        return tuple(First(word, steps) for word, steps in item.when)
    if item.when_low == item.when_high:
        return (First("", item.when_low),) if item.when_low else ()
    both = ((Side.LOW, item.when_low), (Side.HIGH, item.when_high))
    return tuple(First(side.value, steps) for side, steps in both if steps)
