"""Values out of band that were confirmed and then taken back: they stay listed as withdrawn."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import Item
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

UNDONE = "undone"
"""The record's reason for what was taken back at once, with no other."""


class Withdrawn(NamedTuple):
    """A value that was taken back: what it was, why, by whom and when."""

    seen: Seen
    item: Item
    reason: str
    who: str
    at: Instant

    @property
    def flag(self) -> Flag:
        """How serious it was."""
        return Flag(self.seen.flag)


def withdrawn(
    site: Site, since: int, until: int, number: int | None = None
) -> tuple[Withdrawn, ...]:
    """What was read between two UTC seconds, confirmed, and taken back since, in that order.

    Where a second reading is taken, only that one confirms; a word that is seen by eye needs none.
    With `number` only what that round took back.
    """
    found = []
    for one in site.reader.flags.taken_back(since, until):
        if one.reason in (None, UNDONE) or (number is not None and one.round != number):
            continue
        seen = site.reader.readings.seen(one.n)
        item = None if seen is None else site.plan.find_item(seen.item)
        if seen is None or item is None or item.derived:
            continue
        if item.kind.read_twice and not seen.recheck:
            continue
        found.append(Withdrawn(seen, item, one.reason or "", one.who, one.at))
    return tuple(found)
