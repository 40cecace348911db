"""Whether a reading is suspect: taken with a meter that failed its check, in a span of its mark."""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk.ledger.meters import MarkSeen


def mark_of(
    marks: Iterable[MarkSeen], instrument: str | None, item: str, at: int
) -> MarkSeen | None:
    """The mark that makes a reading of an item at a UTC second suspect; None for one trusted."""
    for mark in marks:
        same = mark.instrument == instrument and mark.item == item
        if same and mark.since <= at <= mark.until:
            return mark
    return None
