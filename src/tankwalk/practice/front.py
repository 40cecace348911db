"""Where one is and who has the room: what the board says before anything else of it is read."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.handovers import HandoverSeen
from tankwalk.plan.model import Person
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple


class Front(NamedTuple):
    """The site, the moment, and the newest handover, and whom to call."""

    name: str
    now: Instant
    handover: HandoverSeen | None
    on_call: Person | None


def front(site: Site) -> Front:
    """The front of the board at this moment: one question to the record."""
    now = site.now()
    return Front(site.plan.name, now, site.reader.handovers.last(), site.plan.called_at(now.wall))
