"""What was done last time: the last flag of an item before one that stands, and what people did."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Done as Decided
from tankwalk.ledger.flags import Flagged
from tankwalk.ledger.handovers import for_handover
from tankwalk.ledger.incidents import CallSeen, DoneSeen
from tankwalk.ledger.notes import NoteSeen
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import Item
from tankwalk.practice.incidents import looking
from tankwalk.practice.incidents.incident import OVER_HOURS, last_run, worst_of
from tankwalk.practice.past.story import of_a_meter
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple


class LastTime(NamedTuple):
    """The last flag of an item before one that stands, here or at a sister, and what people did.

    `over` is the first look in band after it, None where the record holds none.
    """

    place: str
    item: Item
    worst: Seen
    begun: Instant
    over: Instant | None
    did: tuple[DoneSeen, ...]
    called: tuple[CallSeen, ...]
    decided: tuple[Decided, ...]
    notes: tuple[NoteSeen, ...]


LOOKS = 60
"""So many looks that were out of band are gone through to find where the last flag began."""

NOTES_DAYS, NOTES = 62, 2000
"""So many days back, and so many of them, notes are read for what was done."""

LAST_DAYS = 400
"""How far back a flag of the same item is sought: last season is still told."""

AFTER_HOURS = 24
"""What people did so long after the last look out of band still belongs to it."""


def last_time(site: Site, place: str, item: Item, before: Instant) -> LastTime | None:
    """The newest flag of an item that began before a moment: of this tank, else of a sister.

    A flag of which a meter was the cause does not count, nor one that is nearer than a day.
    """
    since = before.utc - LAST_DAYS * 86400
    until = before.utc - OVER_HOURS * 3600
    flags = site.reader.flags

    def told(places: Sequence[str]) -> list[Flagged]:
        found = flags.of_item(item.code, item.unit, places, since, until, LOOKS)
        return [row for row in found if not of_a_meter(row)]

    own = told([place])
    if not own:
        tank = site.plan.find_tank(place)
        sisters = (
            []
            if tank is None
            else [
                one.code for one in site.plan.tanks if one.loop == tank.loop and one.code != place
            ]
        )
        own = told(sisters) if sisters else []
    if not own:
        return None
    where = own[-1].place
    run = last_run([row for row in own if row.place == where])
    worst = site.reader.readings.seen(worst_of(run).n)
    return None if worst is None else _dealt(site, where, item, worst, run[0].at, run[-1].at)


def _dealt(
    site: Site, place: str, item: Item, worst: Seen, begun: Instant, last: Instant
) -> LastTime:
    """What people did about a flag that is over."""
    reader, same = site.reader, looking.measured_with(item.code)
    end = last.utc + AFTER_HOURS * 3600

    def belongs(at: Instant, where: str | None, of: str | None) -> bool:
        return where == place and begun.utc <= at.utc <= end and (of is None or of in same)

    # Notes are read from the newest back: those of a year ago lie too far.
    recent = site.now().hours_since(begun) <= 24 * NOTES_DAYS
    after = reader.readings.past(place, item.code, item.unit, last.utc + 1, end + 3 * 86400)
    over = next((one.at for one in after if one.value is not None and not one.flag), None)
    return LastTime(
        place,
        item,
        worst,
        begun,
        over,
        tuple(d for d in reader.incidents.done(begun.utc) if belongs(d.at, d.place, d.item)),
        tuple(c for c in reader.incidents.calls(begun.utc) if belongs(c.at, c.place, c.item)),
        tuple(d for d in reader.flags.done(begun.utc) if belongs(d.at, d.place, d.item)),
        tuple(
            note
            for note in (reader.notes.since(begun.utc, NOTES) if recent else ())
            if belongs(note.at, note.place, note.item) and not for_handover(note)
        ),
    )
