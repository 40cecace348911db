"""What stands open at a place: its flags, what is shelved or altered there, and the next look."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.follow_up_kinds import FollowUpWhat
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.incidents.incident import incidents
from tankwalk.practice.incidents.open_here import OpenNow
from tankwalk.practice.incidents.owed import looks_due
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import LookDue


def open_now(site: Site, now: Instant) -> OpenNow:
    """What stands open, read as one picture of the record."""
    with site.ledger.reading() as reader:
        newest = reader.readings.newest_of_all()
        flags = wrong_now(site, newest, now)
        found = incidents(site, flags, newest, now)
        carried = [follow_ups.carried(one, site.plan, now) for one in reader.follow_ups.open()]
    looks = [due.facts for due in looks_due(site.plan, found, now)]
    first = min(
        (one for one in looks if isinstance(one, LookDue)),
        key=lambda one: (one.flag < Flag.URGENT, one.at.utc),
        default=None,
    )
    return OpenNow(
        found,
        flags.shelved,
        tuple(one for one in carried if one.seen.what is FollowUpWhat.ALTERED),
        first,
    )
