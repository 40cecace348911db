"""Questions about notes: words about a place, or about an item there."""

from __future__ import annotations

from itertools import islice

from tankwalk.clock import Instant
from tankwalk.ledger.questions import Questions, back_to, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple


class NoteSeen(NamedTuple):
    """Words in the record that stand."""

    n: int
    place: str | None
    item: str | None
    text: str
    at: Instant
    who: str
    round: int | None
    reason: str | None = None


class NoteQuestions(Questions):
    """Words about a place."""

    @reads_record
    def since(self, since: int, limit: int = 200) -> list[NoteSeen]:
        """The newest `limit` notes observed since a UTC second, newest first."""
        sql = f"""
          SELECT t.entry, (SELECT code FROM place WHERE id = e.place),
            (SELECT code FROM item WHERE id = e.item), t.text, e.observed_at, e.late_s,
            e.utc_offset, (SELECT initials FROM person WHERE id = e.who), e.round, e.reason
          FROM note t CROSS JOIN entry e ON e.n = t.entry
          WHERE {stands("t.entry")} ORDER BY t.entry DESC"""
        newest_first = back_to(self.db.execute(sql), since, 4)
        return [
            NoteSeen(n, place, item, text, Instant(at, offset), who, number, why)
            for n, place, item, text, at, _, offset, who, number, why in islice(newest_first, limit)
        ]
