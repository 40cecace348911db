"""An open site: its plan, its record and its clock, handed to everything else in this room."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar, cast

from tankwalk import paths
from tankwalk.clock import (
    BACK_MINUTES,
    Clock,
    FixedClock,
    Instant,
    RehearsalClock,
    SystemClock,
    ago,
    instant,
    parse_instant,
    zone,
)
from tankwalk.errors import Refusal
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk.plan.file import load
from tankwalk.plan.model import Person, Plan
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable

    from tankwalk.ledger.entries import Detail, Entry
    from tankwalk.ledger.reader import Reader

T = TypeVar("T")

SITE = "site"
"""Code of the site itself as a place, for what belongs to no loop or tank."""


SEALED = ("round", "look", "handover")
"""Kinds of entry after which this laptop keeps a seal: signing and handing over are among them."""


def placed(place: str | None, words: str) -> str:
    """Words after the place they belong to: "T01 lid off"; those of the whole site stand alone."""
    return words if place in (None, SITE) else f"{place} {words}"


LONG_DAYS = 14
"""After so many days without an entry the clock is asked about before one is kept.

Fish are looked at every day. A site that stood empty is asked once; a clock set ahead by years
would else date everything wrongly, and be found out only when it is set right. Common practice, no
source.
"""


YEARS = 3 * 8766
"""Hours from which a clock is told to be years off; a year has 8766."""


def _signs(detail: Detail) -> bool:
    """Whether a round is signed by it, or the room given or taken."""
    return getattr(detail, "event", "") in ("sign", "give", "take") and not hasattr(detail, "items")


class ClockDoubt(NamedTuple):
    """The clock against the record: the newest entry is later than now, or long before."""

    newest: Instant
    who: str
    now: Instant

    @property
    def back(self) -> bool:
        """Whether the clock reads earlier than what is in the record."""
        return self.newest.utc > self.now.utc

    @property
    def words(self) -> str:
        """What of the record speaks against the clock."""
        last = f"The last entry, by {self.who}, is of {self.newest.long()}"
        hours = abs(self.now.hours_since(self.newest))
        apart = ago(hours) if hours < YEARS else f"{round(hours / 8766)} years"
        return f"{last}: {apart} ahead of it." if self.back else f"{last}: {apart} before it."


class Site:
    """Folder, plan, record and clock of one site."""

    def __init__(
        self,
        folder: Path,
        plan: Plan,
        ledger: Ledger,
        clock: Clock,
        seals: Path | None = None,
    ) -> None:
        self.folder = folder
        self.seals = seals
        """Where this laptop keeps the seals of the record; None where it keeps none."""
        self.plan = plan
        self.ledger = ledger
        self.clock = clock
        self.signed: Callable[[Site], object] | None = None
        """What is done after a round was signed or the room handed over: a backup, where real."""
        self._worked: dict[str, tuple[tuple[int, int], Plan, object]] = {}

    @property
    def reader(self) -> Reader:
        """What answers every question to the record."""
        return self.ledger.reader

    def now(self) -> Instant:
        return self.clock.now()

    def worked(self, what: str, make: Callable[[], T]) -> T:
        """What follows from the record alone, made once a minute as long as no entry comes.

        The record is append-only, so that its newest number tells whether it is another one; what
        is dear to work out is asked by the board, the handover and a page of its own alike. While
        something is written it is made anew: what is read then may yet be taken back.
        """
        if self.ledger.writes:
            return make()
        state = (self.reader.spine.last_number(), self.now().utc // 60)
        kept = self._worked.get(what)
        if kept is None or kept[0] != state or kept[1] is not self.plan:
            kept = self._worked[what] = (state, self.plan, make())
        return cast("T", kept[2])

    def worked_at(self, when: Instant, what: str, make: Callable[[], T]) -> T:
        """As `worked`, where it is asked as of now; as of another moment it is made anew."""
        return self.worked(what, make) if when == self.now() else make()

    def clock_doubt(self) -> ClockDoubt | None:
        """What of the record speaks against the clock, None where nothing does."""
        last = self.reader.spine.last_entry()
        if last is None:
            return None
        now = self.now()
        hours = now.hours_since(last.at)
        if -BACK_MINUTES / 60 <= hours <= LONG_DAYS * 24:
            return None
        return ClockDoubt(last.at, last.who, now)

    def record(self, entry: Entry, *details: Detail, sure: bool = False) -> int:
        """Append an entry, after the plan in force where the record does not hold it yet.

        Refusal where the clock reads earlier than what is in the record, unless a person is `sure`
        of it: it may have been set back while the program was open.
        """
        with self.ledger.writing() as ledger:
            # What is recorded of another moment than now was not dated by this clock.
            by_clock = not sure and abs(entry.recorded.utc - self.now().utc) <= 60
            doubt = self.clock_doubt() if by_clock else None
            if doubt is not None and doubt.back:
                raise Refusal(
                    f"The clock reads {doubt.now.long()}, the last entry is of "
                    f"{doubt.newest.long()}: nothing was kept. Go to the board: it asks about this."
                )
            if ledger.reader.spine.last_plan_digest() != self.plan.digest:
                from tankwalk.ledger.entries import Entry as Line
                from tankwalk.ledger.entries import PlanVersion

                ledger.append(
                    Line("plan", entry.who, entry.recorded, entry.recorded, SITE),
                    PlanVersion(self.plan.digest, self.plan.text),
                )
            n = ledger.append(entry, *details)
        if entry.kind in SEALED:
            self.seal()
            if self.signed is not None and any(_signs(one) for one in details):
                self.signed(self)
        return n

    def seal(self) -> None:
        """Keep on this laptop how far the record goes, so that what is cut off later shows.

        What is not on the disk yet may be taken back, so nothing is kept while something is
        written, nor of a file that is no longer in its place.
        """
        if self.seals is None or self.ledger.writes or self.ledger.moved:
            return
        from tankwalk.ledger import proof

        try:
            proof.keep(self.seals, self.reader.spine.seal(), self.now())
        except Refusal:
            pass  # a record that cannot be read is told of where it is needed

    @property
    def people(self) -> tuple[Person, ...]:
        """Who may sign today: those of the plan who have come and have not left."""
        return self.plan.people_on(self.now().day)

    def signs(self, initials: str) -> str:
        """Initials as the plan writes them.

        Refusal for someone the plan does not name, or who has left or not come yet.
        """
        day = self.now().day
        for person in self.plan.people:
            if person.initials.upper() == initials.strip().upper():
                if person.there_on(day):
                    return person.initials
                gone = person.until is not None and day > person.until
                when = f"left on {person.until}" if gone else f"comes on {person.since}"
                raise Refusal(
                    f"{person.initials} {when} by the plan, and signs nothing today: "
                    "nothing was kept. What they entered before stays."
                )
        known = ", ".join(p.initials for p in self.people)
        raise Refusal(f"{initials[:12]!r} is not among the people of the plan ({known}).")

    def close(self) -> None:
        self.seal()
        self.ledger.close()


def open_site(
    folder: Path,
    station: Station,
    now: str | None,
    *,
    create: bool = False,
    plans: Path | None = None,
    seals: Path | None = None,
    older: Callable[[Site], object] | None = None,
) -> Site:
    """Open a site folder. `now` fixes the clock; a rehearsal site has a clock of its own.

    `plans` is this laptop's folder of plans that were checked before; None checks anew. `seals` is
    where it keeps the record's seals.

    A rehearsal clock starts at the plan's `rehearsal` instant, or where the record ends, and runs
    on while the program does.

    A record of an older version is brought forward after `older` was given the site with the
    record as it stands; without `older` it is refused.
    """
    plan = load(folder / paths.PLAN, plans)

    def site(ledger: Ledger) -> Site:
        return Site(folder, plan, ledger, _clock(plan, ledger, now), seals)

    before = None if older is None else _after(site, older)
    return site(Ledger.open(folder / FILE, station, create=create, older=before))


def _after(
    first: Callable[[Ledger], Site], then: Callable[[Site], object]
) -> Callable[[Ledger], object]:
    """What is done with a record, where it is done with the site that it belongs to."""
    return lambda ledger: then(first(ledger))


def _clock(plan: Plan, ledger: Ledger, now: str | None) -> Clock:
    tz = zone(plan.zone)
    if now is not None:
        return FixedClock(parse_instant(now, tz))
    if plan.rehearsal is None:
        return SystemClock(tz)
    start = parse_instant(plan.rehearsal, tz)
    last = ledger.reader.spine.last_moment()
    if last is not None and last.utc > start.utc:
        start = instant(datetime.fromtimestamp(last.utc, tz), tz)
    return RehearsalClock(start, tz)
