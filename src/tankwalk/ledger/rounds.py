"""Questions about rounds: opened, signed, and by which checklist."""

from __future__ import annotations

from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.questions import TYPIST, Questions, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple

LATELY = 8
"""So many rounds in a row from before the stretch that is asked for end the look back: one typed
in from paper comes late, but no more than a few rounds late."""


class RoundSeen(NamedTuple):
    """A round: its number, its opening entry, and who signed it when."""

    number: int
    first: int
    checklist: str
    who: str
    opened: Instant
    signed: Instant | None
    signed_by: str | None
    typist: str | None = None
    """Who began to type it in from paper, where it was not walked with the program."""


_ROUND = f"""
SELECT r.number, r.entry, r.checklist, w.initials, e.observed_at, e.utc_offset,
  se.observed_at, se.utc_offset, sw.initials, {TYPIST.format(n="r.entry")}
FROM round r CROSS JOIN entry e ON e.n = r.entry CROSS JOIN person w ON w.id = e.who
LEFT JOIN round s ON s.entry = (SELECT min(x.entry) FROM round x INDEXED BY round_number
  WHERE x.number = r.number AND x.event = 'sign' AND x.entry > r.entry
    AND {stands("x.entry")})
LEFT JOIN entry se ON se.n = s.entry LEFT JOIN person sw ON sw.id = se.who
WHERE r.event = 'open' AND {stands("r.entry")} ORDER BY r.entry DESC
"""


def _round(row: tuple[Any, ...]) -> RoundSeen:
    number, first, checklist, who, at, offset, signed_at, signed_offset, signed_by, typist = row
    signed = None if signed_at is None else Instant(signed_at, signed_offset)
    opened = Instant(at, offset)
    return RoundSeen(number, first, checklist, who, opened, signed, signed_by, typist)


class RoundQuestions(Questions):
    """Rounds opened and signed."""

    @reads_record
    def newest(self, limit: int = 20) -> list[RoundSeen]:
        """The newest rounds, newest first."""
        rows = self.db.execute(_ROUND + " LIMIT ?", (limit,))
        return [_round(row) for row in rows]

    @reads_record
    def since(self, since: int) -> list[RoundSeen]:
        """Rounds signed since a UTC second, or opened since then and not signed, newest first."""
        found, old = [], 0
        for one in map(_round, self.db.execute(_ROUND)):
            if (one.signed or one.opened).utc >= since:
                found.append(one)
                old = 0
            else:
                old += 1
            if old >= LATELY:
                break
        return found

    @reads_record
    def next_number(self) -> int:
        """A number no round and no look has yet."""
        # Not the newest row's: a round that was opened before this one may be signed after it.
        found = (
            self.db.execute(f"SELECT max(number) FROM {table}").fetchone()[0]
            for table in ("round", "look")
        )
        return max(int(number or 0) for number in found) + 1

    @reads_record
    def opened_by(self, number: int) -> int | None:
        """The entry that opened a round, None for a number that no round has."""
        sql = """SELECT min(entry) FROM round INDEXED BY round_number
          WHERE number = ? AND event = 'open'"""
        n = self.db.execute(sql, (number,)).fetchone()[0]
        return None if n is None else int(n)

    @reads_record
    def checklist_of(self, number: int) -> str | None:
        """The checklist of a round, None for a number that no round has."""
        sql = "SELECT checklist, max(entry) FROM round INDEXED BY round_number WHERE number = ?"
        checklist = self.db.execute(sql, (number,)).fetchone()[0]
        return None if checklist is None else str(checklist)
