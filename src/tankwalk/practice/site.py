"""An open site: its plan, its record and its clock, handed to everything else in this room."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from tankwalk import paths
from tankwalk.clock import (
    Clock,
    FixedClock,
    Instant,
    RehearsalClock,
    SystemClock,
    instant,
    parse_instant,
    zone,
)
from tankwalk.errors import Refusal
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk.plan.file import load
from tankwalk.plan.model import Plan

if TYPE_CHECKING:
    from tankwalk.ledger.entries import Detail, Entry
    from tankwalk.ledger.reader import Reader

SITE = "site"
"""Code of the site itself as a place, for what belongs to no loop or tank."""


def placed(place: str | None, words: str) -> str:
    """Words after the place they belong to: "T01 lid off"; those of the whole site stand alone."""
    return words if place in (None, SITE) else f"{place} {words}"


class Site:
    """Folder, plan, record and clock of one site."""

    def __init__(self, folder: Path, plan: Plan, ledger: Ledger, clock: Clock) -> None:
        self.folder = folder
        self.plan = plan
        self.ledger = ledger
        self.clock = clock

    @property
    def reader(self) -> Reader:
        """What answers every question to the record."""
        return self.ledger.reader

    def now(self) -> Instant:
        return self.clock.now()

    def record(self, entry: Entry, *details: Detail) -> int:
        """Append an entry, after the plan in force where the record does not hold it yet."""
        with self.ledger.writing() as ledger:
            if ledger.reader.spine.last_plan_digest() != self.plan.digest:
                from tankwalk.ledger.entries import Entry as Line
                from tankwalk.ledger.entries import PlanVersion

                ledger.append(
                    Line("plan", entry.who, entry.recorded, entry.recorded, SITE),
                    PlanVersion(self.plan.digest, self.plan.text),
                )
            return ledger.append(entry, *details)

    def signs(self, initials: str) -> str:
        """Initials as the plan writes them; Refusal for someone the plan does not name."""
        for person in self.plan.people:
            if person.initials.upper() == initials.strip().upper():
                return person.initials
        known = ", ".join(p.initials for p in self.plan.people)
        raise Refusal(f"{initials[:12]!r} is not among the people of the plan ({known}).")

    def close(self) -> None:
        self.ledger.close()


def open_site(
    folder: Path,
    station: Station,
    now: str | None,
    *,
    create: bool = False,
    plans: Path | None = None,
) -> Site:
    """Open a site folder. `now` fixes the clock; a rehearsal site has a clock of its own.

    `plans` is this laptop's folder of plans that were checked before; None checks anew.

    A rehearsal clock starts at the plan's `rehearsal` instant, or where the record ends, and runs
    on while the program does.
    """
    plan = load(folder / paths.PLAN, plans)
    ledger = Ledger.open(folder / FILE, station, create=create)
    tz = zone(plan.zone)
    chosen: Clock
    if now is not None:
        chosen = FixedClock(parse_instant(now, tz))
    elif plan.rehearsal is not None:
        start = parse_instant(plan.rehearsal, tz)
        last = ledger.reader.spine.last_moment()
        if last is not None and last.utc > start.utc:
            start = instant(datetime.fromtimestamp(last.utc, tz), tz)
        chosen = RehearsalClock(start, tz)
    else:
        chosen = SystemClock(tz)
    return Site(folder, plan, ledger, chosen)
