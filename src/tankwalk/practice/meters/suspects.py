"""Readings that are suspect: taken with a meter that failed its check, in the span of a mark.

None of them is changed. Taking the mark back frees them.
"""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.ledger.meters import MarkSeen, ReadWith
from tankwalk.ledger.readings import Seen
from tankwalk.practice.site import SITE, Site


def mark_of(
    marks: Iterable[MarkSeen], instrument: str | None, item: str, at: int
) -> MarkSeen | None:
    """The mark that makes a reading of an item at a UTC second suspect; None for one trusted."""
    for mark in marks:
        same = mark.instrument == instrument and mark.item == item
        if same and mark.since <= at <= mark.until:
            return mark
    return None


Marks = dict[tuple[str, str], tuple[MarkSeen, ...]]
"""Marks that stand, by meter and item."""


def marks_by_meter(site: Site) -> Marks:
    """All marks that stand, to be asked about many readings: they are few."""
    found: Marks = {}
    for mark in site.reader.meters.marks():
        key = mark.instrument, mark.item
        found[key] = (*found.get(key, ()), mark)
    return found


def suspect_of(site: Site, seen: Seen, marks: Marks | None = None) -> MarkSeen | None:
    """The mark that makes a reading suspect, None for one that is trusted."""
    if seen.instrument is None:
        return None
    known = marks_by_meter(site) if marks is None else marks
    here = known.get((seen.instrument, seen.item), ())
    return mark_of(here, seen.instrument, seen.item, seen.at.utc)


def covered(site: Site, mark: MarkSeen) -> list[ReadWith]:
    """The readings that a mark makes suspect, in order of time, second readings among them."""
    reader = site.reader
    where = reader.spine.places()
    return reader.meters.readings_with(
        mark.instrument, mark.item, mark.unit, where, mark.since, mark.until
    )


def looks_of(site: Site, marks: tuple[MarkSeen, ...]) -> int:
    """How many looks some marks make suspect; what two of them cover counts once."""
    return len({one.n for mark in marks for one in covered(site, mark) if not one.recheck})


def lift(site: Site, who: str, mark_entry: int, reason: str) -> int:
    """Take a mark back, so that its readings count again. Returns the number of that entry.

    Refusal for a mark that does not stand, without a reason, and for the one who made the check.
    """
    from tankwalk.ledger.entries import Entry

    who, reason = site.signs(who), text.clean(reason)
    if not reason:
        raise Refusal("No reason was given: the mark stays, and its readings stay suspect.")
    with site.ledger.writing():
        mark = next((m for m in site.reader.meters.marks() if m.n == mark_entry), None)
        if mark is None:
            raise Refusal(f"Entry {mark_entry} is no mark that stands: nothing was changed.")
        refuse_own(mark, who)
        now = site.now()
        return site.record(
            Entry("void", who, now, now, SITE, mark.item, mark.unit, None, mark.n, reason)
        )


def refuse_own(mark: MarkSeen, who: str) -> None:
    """Refusal where it is the one who made the check that would take its mark back."""
    if mark.who == who:
        raise Refusal(
            f"{who} made the check of meter {mark.instrument}: somebody else takes the mark back. "
            "It stays."
        )
