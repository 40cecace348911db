"""The site as it was when a paper round was walked: what is kept is marked, with both times."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.practice.site import Site

if TYPE_CHECKING:
    from tankwalk.ledger.entries import Detail, Entry
    from tankwalk.ledger.reader import Reader

AS_OF_NOW = ("void",)
"""Kinds of entry that are of the moment in which they are typed, whatever they are about."""


class SheetClock:
    """A clock that stands where the sheet says: at the stop that is typed in."""

    def __init__(self, at: Instant) -> None:
        self.at = at

    def now(self) -> Instant:
        return self.at


class SheetSite(Site):
    """A site at the moment of a sheet: what was seen later is not known yet.

    What is kept was seen then, is recorded now, and says who typed it in.
    """

    def __init__(self, desk: Site, typist: str, at: Instant) -> None:
        self.sheet_clock = SheetClock(at)
        super().__init__(desk.folder, desk.plan, desk.ledger, self.sheet_clock)
        self.desk = desk
        self.typist = typist
        self._then: tuple[int, Reader] | None = None

    @property
    def reader(self) -> Reader:
        until = self.sheet_clock.at.utc
        if self._then is None or self._then[0] != until:
            self._then = until, self.ledger.reader.then(until)
        return self._then[1]

    def record(self, entry: Entry, *details: Detail, sure: bool = False) -> int:
        """Append an entry with both times, marked as typed in from paper."""
        del sure
        from tankwalk.ledger.chain import DETAIL_TABLES
        from tankwalk.ledger.entries import Transcribed

        now = self.desk.now()
        entry = entry._replace(recorded=now)
        if entry.kind in AS_OF_NOW:
            entry = entry._replace(observed=now)
        if "transcribed" in DETAIL_TABLES[entry.kind]:
            details = (*details, Transcribed(self.typist))
        return self.desk.record(entry, *details, sure=True)
