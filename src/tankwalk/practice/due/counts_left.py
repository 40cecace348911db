"""Fish being counted by samples and not kept as a number: read after the board stands."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.stock import What
from tankwalk.practice.counting.under_way import GO_ON_HOURS, read
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import CountLeft, Due

FISH = {"fish": "", "dead fish": What.DEAD}
"""The sorts of a count that are fish of a tank, and what is counted where the sort says it."""


def counts_left(site: Site, now: Instant) -> list[Due]:
    """Fish of a tank that are being counted by samples: no number of them before the end."""
    found = []
    for note in site.reader.notes.since(now.utc - GO_ON_HOURS * 3600):
        left = read(note)
        if left is None or left.sort not in FISH or site.plan.find_tank(left.of) is None:
            continue
        hours = now.hours_since(note.at)
        counts = site.reader.feeding.counts([note.n]).get(note.n, [])
        if hours >= 0 and counts:
            many = len(counts[0].counts)
            facts = CountLeft(left.of, left.what or FISH[left.sort], many, note.at, note.who)
            found.append(Due(hours, facts))
    return found
