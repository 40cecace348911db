"""What was not as planned in a trial, for the footnotes: deviations, and incidents of one tank."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Flagged
from tankwalk.ledger.follow_up_kinds import MayClose
from tankwalk.ledger.follow_ups import FollowUpSeen
from tankwalk.plan.model import Tank
from tankwalk.practice.doing.deviations import DraftDeviation, drafts
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

DEVIATIONS = (MayClose.DEVIATION, MayClose.TREATMENT)
"""Follow-ups by these rules are deviations from the plan of a trial."""


class Deviation(NamedTuple):
    """A deviation that somebody wrote down: where, since when, and how it ended, if it did."""

    tanks: tuple[str, ...]
    at: Instant
    text: str
    open: bool
    effect: str
    who: str


class Apart(NamedTuple):
    """What set one tank apart from the others on a day: items that called for action there."""

    tank: str
    at: Instant
    items: tuple[str, ...]
    worst: Flag


class NotAsPlanned(NamedTuple):
    """All of it, each list oldest first."""

    deviations: tuple[Deviation, ...]
    drafted: tuple[DraftDeviation, ...]
    """What the record shows and nobody has written down yet."""
    incidents: tuple[Apart, ...]

    @property
    def open(self) -> int:
        """Deviations that the study owner has not closed, written down or not."""
        return sum(one.open for one in self.deviations) + len(self.drafted)


def not_as_planned(
    site: Site,
    tanks: Sequence[Tank],
    since: Instant,
    until: Instant,
    suspect: Container[tuple[str, str, int]],
) -> NotAsPlanned:
    """What departed from the plan between two moments.

    `suspect` are looks of meters that failed, by tank, item and UTC second: they flag nothing.
    """
    codes = {tank.code for tank in tanks}
    follow_ups = site.reader.follow_ups
    every = [*follow_ups.open(), *follow_ups.ended(since.utc)]
    written = sorted(
        (one for one in every if one.rule in DEVIATIONS and since.utc <= one.at.utc <= until.utc),
        key=lambda one: (one.at.utc, one.opened),
    )
    return NotAsPlanned(
        tuple(_deviation(one, codes) for one in written),
        drafts(site, until, since),
        _incidents(site, tanks, since, until, suspect),
    )


def _deviation(one: FollowUpSeen, codes: set[str]) -> Deviation:
    # Drafts name their tanks in their words and in the key they went by; a person names the place.
    words = f"{one.about or ''} {one.text}".replace(",", " ").replace(":", " ").split()
    named = tuple(dict.fromkeys(word for word in words if word in codes))
    place = (one.place,) if one.place in codes else ()
    end = one.end
    closed = "" if end is None or one.stands else end.text
    return Deviation(named or place, one.at, one.text, one.stands, closed, one.who)


def _incidents(
    site: Site,
    tanks: Sequence[Tank],
    since: Instant,
    until: Instant,
    suspect: Container[tuple[str, str, int]],
) -> tuple[Apart, ...]:
    """Flags of ACT and worse that fewer than half of the tanks had that day."""
    codes = {tank.code for tank in tanks}
    seen = [
        one
        for one in site.reader.flags.flagged(since.utc, until.utc)
        if one.flag >= Flag.ACT
        and one.place in codes
        and (one.place, one.item, one.at.utc) not in suspect
    ]
    shared: dict[tuple[object, str], set[str]] = {}
    for one in seen:
        shared.setdefault((one.at.day, one.item), set()).add(one.place)
    own = [one for one in seen if 2 * len(shared[one.at.day, one.item]) < len(tanks)]
    return tuple(_by_day(own))


def _by_day(own: Iterable[Flagged]) -> list[Apart]:
    found: dict[tuple[object, str], Apart] = {}
    for one in own:
        key = one.at.day, one.place
        here = found.get(key)
        if here is None:
            found[key] = Apart(one.place, one.at, (one.item,), Flag(one.flag))
        else:
            items = tuple(dict.fromkeys((*here.items, one.item)))
            worst = max(here.worst, Flag(one.flag))
            found[key] = here._replace(items=items, worst=Flag(worst))
    return sorted(found.values(), key=lambda one: (one.at.utc, one.tank))
