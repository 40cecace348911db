"""Flags that are over since a moment: what was confirmed or dealt with is told once more."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import MASS_EVENT
from tankwalk.practice.incidents import looking
from tankwalk.practice.incidents.incident import Incident, acts, over
from tankwalk.practice.judging.rules import Shared, recorded
from tankwalk.practice.judging.standing import flags as life
from tankwalk.practice.judging.standing import mass_events
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.standing.wrong_now import Flags
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site


def ended(
    site: Site, flags: Flags, newest: dict[tuple[str, str], Seen], since: int, now: Instant
) -> tuple[Incident, ...]:
    """Flags since a UTC second that stand no more, oldest first.

    Of those only what was beyond the action limit, what a second reading confirmed, and what
    somebody did something about or called for: the rest came and went.
    """
    known = acts(site, now)
    standing = {
        (place, one.key.item)
        for one in life.standing(site, newest, now)
        for place in (one.place, *one.places)
    }
    closed = mass_events.closed(site.reader.flags.done(since))
    found: dict[tuple[str, str], Incident] = {}
    for row in known.flagged:
        pair = row.place, row.item
        rule = recorded(row.rule)
        named = rule is not None and rule.shared is Shared.METER
        mass = row.item == MASS_EVENT.code
        gone = row.place not in closed if mass else row.at.utc < since
        if gone or pair in standing or pair in found or named:
            continue
        one = over(site, Key("place", *pair), flags, newest, known, now)
        if one is not None and _is_told(one):
            found[pair] = one
    return tuple(
        one
        for (place, item), one in found.items()
        if not any((place, part) in found for part in _parts(item))
    )


def _parts(item: str) -> frozenset[str]:
    """What a value that is worked out is told by, where that is a flag as well."""
    return looking.measured_with(item) - {item} if item in BY_CODE else frozenset()


def _is_told(one: Incident) -> bool:
    dealt = bool(one.others) or one.call.newest is not None
    return one.flag >= Flag.ACT or one.behind.recheck or dealt
