"""Where one is and who has the room: what the board says before anything else of it is read."""

from __future__ import annotations

from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger.handovers import HandoverSeen
from tankwalk.practice.site import Site


class Front(NamedTuple):
    """The site, the moment, and the newest handover."""

    name: str
    now: Instant
    handover: HandoverSeen | None


def front(site: Site) -> Front:
    """The front of the board at this moment: one question to the record."""
    return Front(site.plan.name, site.now(), site.reader.handovers.last())
