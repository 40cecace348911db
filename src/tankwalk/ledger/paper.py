"""Questions about rounds typed in from paper: the times of its stops, and what was typed twice."""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk.clock import Instant
from tankwalk.ledger.questions import Questions, list_of, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple


class StopSeen(NamedTuple):
    """When a stop was walked, by its sheet, and by whom; `kind` and `place` say which stop."""

    n: int
    kind: str
    place: str
    at: Instant
    walker: str


class PaperQuestions(Questions):
    """Rounds typed in from paper."""

    @reads_record
    def stops(self, number: int) -> list[StopSeen]:
        """The times of stops of a round that stand, in order of entry; the newest of a stop holds.

        Each time has the offset of the wall clock then: that of its own entry.
        """
        sql = f"""
          SELECT s.entry, s.stop, p.code, s.at, e.utc_offset, s.walker
          FROM sheet_stop s INDEXED BY sheet_of CROSS JOIN entry e ON e.n = s.entry
          CROSS JOIN place p ON p.id = e.place
          WHERE s.number = ? AND {stands("s.entry")}"""
        return [
            StopSeen(n, kind, place, Instant(at, offset), walker)
            for n, kind, place, at, offset, walker in sorted(self.db.execute(sql, (number,)))
        ]

    @reads_record
    def typed_twice(self, entries: Iterable[int]) -> set[int]:
        """Which of these readings were typed a second time and came to the same."""
        # Joined, SQLite would first walk through all of them, for a Bloom filter.
        sql = f"""
          SELECT asked.value FROM json_each(?) asked
          WHERE EXISTS (SELECT 1 FROM second_entry t INDEXED BY second_of
            WHERE t.of = asked.value AND {stands("t.entry")})"""
        return {n for (n,) in self.db.execute(sql, (list_of(entries),))}
