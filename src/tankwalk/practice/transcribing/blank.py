"""A round for a power cut: what it asks, and what was last seen, for a sheet of paper."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.questions import NO_LIMIT
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.plan.model import Checklist
from tankwalk.practice.round import rounds
from tankwalk.practice.round.agenda import Agenda, Slot, agenda
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple


class Blank(NamedTuple):
    """A round as the walk would ask it now. `begun` is the round in hand, `kept` what it holds."""

    site: str
    now: Instant
    agenda: Agenda
    begun: RoundSeen | None
    last: dict[tuple[str, str], Seen]
    kept: dict[tuple[str, str], Seen]
    emergency: str
    last_entry: int

    def seen(self, slot: Slot) -> Seen | None:
        """The newest value of what a slot asks; None for none, or one in another unit."""
        found = self.last.get((slot.place, slot.item.code))
        return None if found is None or found.unit != slot.item.unit else found


def last_entry(site: Site) -> int:
    """Number of the newest entry of the record: a page asked for after it holds all up to it."""
    return site.reader.spine.last_number()


def blank(site: Site, checklist: Checklist) -> Blank:
    """The round in hand, else the round as it would be opened now."""
    now, reader, top = site.now(), site.reader, last_entry(site)
    begun = rounds.unsigned(site, checklist, now)
    kept: dict[tuple[str, str], Seen] = {}
    if begun is None:
        whole = agenda(site, checklist, now.day, NO_LIMIT)
    else:
        whole = agenda(site, checklist, begun.opened.day, begun.first)
        asked = {(s.place, s.item.code) for page in whole.pages for s in page.slots}
        for seen in reader.readings.of_round(begun.number, begun.first):
            key = seen.place, seen.item
            if key in asked and (seen.value is not None or key not in kept):
                kept[key] = seen
    last = reader.readings.newest_of_all()
    return Blank(site.plan.name, now, whole, begun, last, kept, site.plan.emergency, top)
