"""Questions about fish that were looked at one by one: sittings, and the fish of one."""

from __future__ import annotations

import json
from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.questions import Questions, back_to, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple

NEWEST = 60
"""Among so many sittings, the newest, are those that were not ended: nobody takes up an older one.
"""


class Event(StrEnum):
    """What happens to a sitting."""

    OPEN = "open"
    END = "end"


class Fate(StrEnum):
    """What becomes of the fish of a sample."""

    RETURNED = "returned"
    KEPT = "kept"


class SittingSeen(NamedTuple):
    """A sitting: the entry that opened it, and how and when it ended, if it did.

    `what` are codes, `planned` how many fish, `fate` a word of `Fate`.
    """

    n: int
    place: str
    what: tuple[str, ...]
    planned: int
    at: Instant
    who: str
    end: int | None
    ended: Instant | None
    fate: str | None


class FishSeen(NamedTuple):
    """A fish as it stands: length in mm, mass in mg; `left_out` is why it does not count."""

    n: int
    nth: int
    length: float | None
    mass: float | None
    bladder: int | None
    gut: int | None
    deformed: int | None
    left_out: str | None
    at: Instant
    who: str


# How it ended comes from an inner question: see `stock.counted_dead`.
_SITTING = f"""
SELECT o.entry, p.code, o.what, o.planned, w.initials, e.observed_at, e.late_s, e.utc_offset, (
  SELECT json_array(x.entry, xe.observed_at, xe.utc_offset, x.fate)
  FROM sitting x INDEXED BY sitting_ended CROSS JOIN entry xe ON xe.n = x.entry
  WHERE x.opened = o.entry AND x.event = 'end' AND {stands("x.entry")} ORDER BY x.entry LIMIT 1)
FROM sitting o CROSS JOIN entry e ON e.n = o.entry CROSS JOIN person w ON w.id = e.who
CROSS JOIN place p ON p.id = e.place
WHERE o.event = 'open' AND {stands("o.entry")} ORDER BY o.entry DESC
"""


class SampleQuestions(Questions):
    """Fish looked at one by one."""

    @reads_record
    def sittings(self, since: int) -> list[SittingSeen]:
        """Sittings opened since a UTC second, oldest first, ended or not."""
        return _sittings(back_to(self.db.execute(_SITTING), since, 5))[::-1]

    @reads_record
    def open_sittings(self) -> list[SittingSeen]:
        """Sittings that were not ended, newest first, among the newest there are."""
        rows = self.db.execute(f"{_SITTING} LIMIT {NEWEST}")
        return [one for one in _sittings(rows) if one.end is None]

    @reads_record
    def fish(self, sitting: int) -> list[FishSeen]:
        """The fish of a sitting as they stand, by their number, then in the order of entry."""
        sql = f"""
          SELECT f.entry, f.nth, f.length, f.mass, f.bladder, f.gut, f.deformed, f.left_out,
            e.observed_at, e.utc_offset, w.initials
          FROM fish f INDEXED BY fish_of CROSS JOIN entry e ON e.n = f.entry
          CROSS JOIN person w ON w.id = e.who
          WHERE f.sitting = ? AND {stands("f.entry")}"""
        found = [
            FishSeen._make((*row[:8], Instant(row[8], row[9]), row[10]))
            for row in self.db.execute(sql, (sitting,))
        ]
        return sorted(found, key=lambda one: (one.nth, one.n))


def _sittings(rows: Iterable[tuple[Any, ...]]) -> list[SittingSeen]:
    """Rows of `_SITTING`, in their order."""
    found = []
    for n, place, what, planned, who, at, _, offset, ending in rows:
        end, done, fate = None, None, None
        if ending is not None:
            end, ended, its, fate = json.loads(ending)
            done = Instant(ended, its)
        codes = tuple(what.split())
        seen = SittingSeen(n, place, codes, planned, Instant(at, offset), who, end, done, fate)
        found.append(seen)
    return found
