"""What stands with the worst flag of a place, in words: the same on board, handover and list."""

from __future__ import annotations

from tankwalk.clock import Instant, ago
from tankwalk.pages.when import at_words
from tankwalk.practice.stories import Story


def others(one: Story) -> list[str]:
    """The other flags of the place, worst first."""
    return [f"{other.flag.short} {other.sentence}".rstrip(".") for other in one.also]


def around(one: Story, now: Instant) -> list[str]:
    """What is altered there and overdue, that the feed is off, and the newest note."""
    said = []
    seen = one.worst.seen
    if seen.late_s or seen.amends is not None:  # seldom: a board loads no words for it
        from tankwalk.pages import correction_words

        told = correction_words.beside(seen, now)
        said += [f"{told[:1].upper()}{told[1:]}"] if told else []
    said += [
        f"altered: {each.seen.text}, back overdue {ago(each.terms.late_hours)}"
        for each in one.altered
    ]
    if one.feed is not None:
        said.append(f"No feed since {at_words(one.feed.since, now)} ({one.feed.who})")
    if one.note is not None:
        said.append(f"Note {at_words(one.note.at, now)} {one.note.who}: {one.note.text}")
    return [words.rstrip(".") for words in said]
