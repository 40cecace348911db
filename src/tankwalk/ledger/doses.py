"""Questions about doses: chemicals that went in."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.questions import TYPIST, Questions, back_to, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple


class DoseSeen(NamedTuple):
    """A chemical that went in, and the change it was expected to make."""

    n: int
    place: str
    chemical: str
    amount: float
    unit: str
    volume_l: float | None
    expected: float | None
    expected_unit: str | None
    at: Instant
    who: str
    typist: str | None = None
    """Who typed it in from paper, where it was; `who` gave it."""


class DoseQuestions(Questions):
    """Chemicals that went in."""

    @reads_record
    def newest(self, chemical: str, place: str, limit: int = 50) -> list[DoseSeen]:
        """The doses of one chemical at one place that stand, newest first."""
        sql = f"""
          SELECT d.entry, p.code, d.chemical, d.amount, d.unit, d.volume_l, d.expected,
            d.expected_unit, e.observed_at, e.utc_offset, w.initials, {TYPIST.format(n="e.n")}
          FROM dose d INDEXED BY dosed CROSS JOIN entry e ON e.n = d.entry
          CROSS JOIN place p ON p.id = e.place CROSS JOIN person w ON w.id = e.who
          WHERE d.chemical = ? AND p.code = ? AND {stands("d.entry")}
          ORDER BY d.entry DESC LIMIT ?"""
        found = []
        for row in self.db.execute(sql, (chemical, place, limit)):
            when = Instant(row[8], row[9])
            found.append(DoseSeen._make((*row[:8], when, *row[10:])))
        return found

    @reads_record
    def since(self, since: int) -> list[DoseSeen]:
        """All that went in since a UTC second, oldest first."""
        sql = f"""
          SELECT d.entry, p.code, d.chemical, d.amount, d.unit, d.volume_l, d.expected,
            d.expected_unit, e.observed_at, e.late_s, e.utc_offset, w.initials,
            {TYPIST.format(n="e.n")}
          FROM dose d NOT INDEXED CROSS JOIN entry e ON e.n = d.entry
          CROSS JOIN place p ON p.id = e.place CROSS JOIN person w ON w.id = e.who
          WHERE {stands("d.entry")} ORDER BY d.entry DESC"""
        found = [
            DoseSeen._make((*row[:8], Instant(row[8], row[10]), *row[11:]))
            for row in back_to(self.db.execute(sql), since, 8)
        ]
        return sorted(found, key=lambda one: (one.at.utc, one.n))
