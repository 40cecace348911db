"""The shift at a glance: what is wrong, what is due, what is altered, who has the room."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.ledger.follow_up_kinds import FollowUpWhat
from tankwalk.ledger.handovers import HandoverSeen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.plan.model import Person
from tankwalk.practice import budget
from tankwalk.practice.budget import Budget
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.doing.follow_ups import Carried
from tankwalk.practice.due import all_due
from tankwalk.practice.handover import handover_notes
from tankwalk.practice.handover.handover_notes import NeverTaken
from tankwalk.practice.incidents.incident import Incident, incidents, on_call
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.meters import meter_checks
from tankwalk.practice.meters.meter_checks import MeterState
from tankwalk.practice.round import rounds
from tankwalk.practice.site import ClockDoubt, Site
from tankwalk.practice.stories import Story, stories
from tankwalk.practice.tasks import (
    AHEAD,
    NEXT_HOURS,
    ConeToSet,
    Due,
    DueKind,
    LookDue,
    OrderDue,
    order_of,
    worst_first,
)
from tankwalk.practice.tiles import Gauge, Tile, tiles
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:  # loaded where something was taken back, and where a wide page draws
    from tankwalk.practice.judging.standing.withdrawn import Withdrawn
    from tankwalk.practice.tile_plots import TilePlot


class Board(NamedTuple):
    """Everything the board shows, at one moment."""

    name: str
    now: Instant
    wrong: tuple[Standing, ...]
    shelved: tuple[Standing, ...]
    tiles: tuple[Tile, ...]
    due: tuple[Due, ...]
    altered: tuple[Carried, ...]
    actions: tuple[Carried, ...]
    handover: HandoverSeen | None
    unsigned: RoundSeen | None
    emergency: str
    meters: tuple[MeterState, ...]
    gauge: Gauge | None = None
    """What the readings on the tiles are of."""
    never_taken: tuple[NeverTaken, ...] = ()
    """Handovers that nobody took and no lead has noted."""
    review: Budget | None = None
    """The week's flags and the noisiest bands, where they are more than the budget."""
    incidents: tuple[Incident, ...] = ()
    """How each flag of `wrong` is dealt with: steps, look and call, without its story."""
    on_call: Person | None = None
    clock: ClockDoubt | None = None
    """What of the record speaks against the clock."""
    withdrawn: tuple[Withdrawn, ...] = ()
    """Values out of band that this shift confirmed and then took back."""
    plots: tuple[TilePlot, ...] | None = None
    """The past of each of `tiles`, where a wide page has read it; () where there is none."""

    stories: tuple[Story, ...] = ()
    """The flags of `wrong` again, those of one tank in one, with what belongs to them."""

    def with_later(self, orders: Iterable[OrderDue], left: Iterable[Due] = ()) -> Board:
        """The board with what is to be ordered, but for what was ordered since that was read.

        `left` are counts that were left under way, and backups that are old. All of it is read
        after the board stands.
        """
        done = {one.seen.about for one in self.actions}
        more = [Due(24 * one.days, one) for one in orders if order_of(one.code) not in done]
        more += left
        return self._replace(due=tuple(worst_first((*self.due, *more)))) if more else self

    @property
    def owed(self) -> tuple[Due, ...]:
        """What somebody does: each leads to where it is entered."""
        return tuple(one for one in self.due if one.kind not in AHEAD)

    @property
    def expected(self) -> tuple[Due, ...]:
        """What comes by itself."""
        return tuple(one for one in self.due if one.kind in AHEAD)

    @property
    def next(self) -> list[Due]:
        """What is overdue or due soon, what fish wait for first."""
        return comes_next(self.due)

    @property
    def longest(self) -> Tile | None:
        """The tank that was looked at longest ago."""
        never = [t for t in self.tiles if t.looked is None]
        seen = [t for t in self.tiles if t.looked is not None]
        if never:
            return never[0]
        return min(seen, key=lambda t: t.looked.utc if t.looked else 0, default=None)


# ---- what comes next

PAPERS = (
    DueKind.UNSIGNED, DueKind.METER, DueKind.CHECK, DueKind.DEVIATION,
    DueKind.SAMPLE, DueKind.ORDER, DueKind.BACKUP,
)  # fmt: skip
"""What papers and machines wait for, and not fish."""


def comes_next(found: Iterable[Due]) -> list[Due]:
    """What is overdue or due soon: what fish wait for before what papers wait for.

    What comes by itself is not among it: each line leads to where it is entered.
    """
    waits = [one for one in found if one.kind not in AHEAD]
    soon = [one for one in waits if one.overdue or one.hours <= NEXT_HOURS or _tonight(one)]
    papers = [one for one in soon if one.kind in PAPERS or _mild(one)]
    return [*worst_first(one for one in soon if one not in papers), *worst_first(papers)]


def _tonight(one: Due) -> bool:
    """A cone of tomorrow is weighed and labeled the evening before."""
    return isinstance(one.facts, ConeToSet)


def _mild(one: Due) -> bool:
    """A look that is due for no more than WATCH: the round that is due comes by there as well."""
    return isinstance(one.facts, LookDue) and one.facts.flag < ACT


ACT = 3
"""The level of a flag, as kept in the record, from which somebody goes there for it alone."""


def board(site: Site) -> Board:
    """The board at this moment, read as one picture of the record."""
    with site.ledger.reading():
        return _read(site)


def _read(site: Site) -> Board:
    now = site.now()
    plan, reader = site.plan, site.reader
    newest = reader.readings.newest_of_all()
    flags = wrong_now(site, newest, now)
    wrong, shelved = flags
    dealt = incidents(site, flags, newest, now)
    every, gauge = tiles(site, newest, wrong, now)
    carried = [follow_ups.carried(one, plan, now) for one in reader.follow_ups.open()]
    altered = tuple(one for one in carried if one.seen.what is FollowUpWhat.ALTERED)
    last = reader.handovers.last()
    return Board(
        plan.name,
        now,
        wrong,
        shelved,
        every,
        tuple(all_due.everything(site, now, newest, dealt)),
        altered,
        tuple(one for one in carried if one.seen.what is FollowUpWhat.ACTION),
        last,
        rounds.begun(site, now),
        plan.emergency,
        meter_checks.altered(site, now),
        gauge,
        handover_notes.unnoted(site, now),
        spent if (spent := budget.week(site, now)).over else None,
        dealt,
        on_call(site, now),
        site.clock_doubt(),
        _withdrawn(site, _shift_began(last, now), now.utc),
        stories=stories(site, wrong, altered, now),
    )


def _withdrawn(site: Site, since: int, until: int) -> tuple[Withdrawn, ...]:
    if not site.reader.flags.taken_back(since, until):
        return ()
    from tankwalk.practice.judging.standing.withdrawn import withdrawn

    return withdrawn(site, since, until)


def _shift_began(last: HandoverSeen | None, now: Instant) -> int:
    """UTC second since when the people here have the room: a day ago at most."""
    day_ago = now.utc - 86400
    return day_ago if last is None else max(day_ago, (last.taken or last.at).utc)
