"""Questions about the entries themselves: the newest, the plan in force, what was amended."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.ledger.questions import Questions
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.ledger.proof import Seal


class LastEntry(NamedTuple):
    """The newest entry of any kind: when it was entered, and by whom."""

    at: Instant
    who: str


class PlanSeen(NamedTuple):
    """A plan as it was recorded: when, by whose entry, and why where it was changed on a page."""

    digest: str
    text: str
    at: Instant
    who: str
    reason: str | None


class SpineQuestions(Questions):
    """The entries themselves, of whatever kind."""

    @reads_record
    def last_number(self) -> int:
        """The number of the newest entry, 0 while the record is empty."""
        return int(self.db.execute("SELECT max(n) FROM entry").fetchone()[0] or 0)

    @reads_record
    def last_digest(self) -> str | None:
        """The digest of the newest entry, in hex: it stands for all before; None while empty."""
        row = self.db.execute(
            "SELECT digest FROM entry WHERE n = (SELECT max(n) FROM entry)"
        ).fetchone()
        return None if row is None else bytes(row[0]).hex()

    @reads_record
    def seal(self) -> Seal:
        """The seal of the record as it stands: its newest entry by number and digest."""
        from tankwalk.ledger.proof import seal

        return seal(self.db)

    @reads_record
    def others_wrote(self) -> int:
        """A number that is another one after another program has written to the record."""
        return int(self.db.execute("PRAGMA data_version").fetchone()[0])

    @reads_record
    def last_entry(self) -> LastEntry | None:
        """The newest entry of the record, None while it is empty."""
        row = self.db.execute(
            """SELECT e.observed_at + e.late_s, e.utc_offset, w.initials
               FROM entry e CROSS JOIN person w ON w.id = e.who
               WHERE e.n = (SELECT max(n) FROM entry)"""
        ).fetchone()
        return None if row is None else LastEntry(Instant(row[0], row[1]), row[2])

    @reads_record
    def last_moment(self) -> Instant | None:
        """When the newest entry was recorded."""
        row = self.db.execute(
            "SELECT observed_at + late_s, utc_offset FROM entry"
            " WHERE n = (SELECT max(n) FROM entry)"
        ).fetchone()
        return None if row is None else Instant(row[0], row[1])

    @reads_record
    def first_moment(self) -> Instant | None:
        """When the first entry was recorded."""
        row = self.db.execute(
            "SELECT observed_at + late_s, utc_offset FROM entry WHERE n = 1"
        ).fetchone()
        return None if row is None else Instant(row[0], row[1])

    @reads_record
    def last_plan_digest(self) -> str | None:
        """Digest of the plan recorded last, None before the first."""
        row = self.db.execute(
            "SELECT digest FROM plan_version ORDER BY entry DESC LIMIT 1"
        ).fetchone()
        return None if row is None else str(row[0])

    @reads_record
    def last_plan(self) -> tuple[str, Instant] | None:
        """The text of the plan recorded last, and when that was; None before the first."""
        row = self.db.execute(
            """SELECT p.text, e.observed_at + e.late_s, e.utc_offset
               FROM plan_version p CROSS JOIN entry e ON e.n = p.entry
               ORDER BY p.entry DESC LIMIT 1"""
        ).fetchone()
        return None if row is None else (str(row[0]), Instant(row[1], row[2]))

    @reads_record
    def plans(self, limit: int) -> list[PlanSeen]:
        """The newest `limit` plans that were recorded, the newest first."""
        rows = self.db.execute(
            """SELECT p.digest, p.text, e.observed_at + e.late_s, e.utc_offset, w.initials, e.reason
               FROM plan_version p CROSS JOIN entry e ON e.n = p.entry
               CROSS JOIN person w ON w.id = e.who ORDER BY p.entry DESC LIMIT ?""",
            (limit,),
        )
        return [
            PlanSeen(digest, text, Instant(at, offset), who, reason)
            for digest, text, at, offset, who, reason in rows
        ]

    @reads_record
    def amended(self, numbers: Iterable[int]) -> set[int]:
        """Which of these entries have been amended."""
        return {
            n
            for n in numbers
            if self.db.execute("SELECT 1 FROM entry WHERE amends = ? LIMIT 1", (n,)).fetchone()
        }

    @reads_record
    def places(self) -> list[str]:
        """Every place the record knows, also what the plan no longer has."""
        return [str(code) for (code,) in self.db.execute("SELECT code FROM place ORDER BY id")]

    @reads_record
    def items(self) -> list[str]:
        """Every item the record knows, also what the plan no longer has."""
        found = self.db.execute("SELECT code FROM item ORDER BY id")
        return [*dict.fromkeys(str(code) for (code,) in found)]
