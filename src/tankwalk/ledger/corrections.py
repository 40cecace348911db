"""Questions about what was corrected, taken back, or entered late: both times, and by whom."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.questions import OLD_IN_A_ROW, TYPIST, Questions, ReadAs, back_to, stands
from tankwalk.ledger.schema import KINDS
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple

LATE_S = 900
"""What is entered longer after it was seen is late. Common practice, no source."""


class Corrected(NamedTuple):
    """A reading that was amended: what it was, what stands in its place, why, when and by whom.

    `now` is None where it was taken back with nothing in its place; `to` another place, where it
    was read there.
    """

    n: int
    place: str
    item: str
    was: ReadAs
    seen: Instant
    by: str
    """Who had entered it."""
    now: ReadAs | None
    to: str
    reason: str | None
    who: str
    at: Instant
    """When it was amended."""


class Late(NamedTuple):
    """A reading that stands and was entered late: seen `at`, entered `late_s` seconds after.

    `typist` typed it in from paper, where it was; `who` saw it.
    """

    n: int
    place: str
    item: str
    read: ReadAs
    at: Instant
    late_s: int
    who: str
    typist: str | None
    round: int | None
    flag: int

    @property
    def entered(self) -> Instant:
        return self.at._replace(utc=self.at.utc + self.late_s)


_READ = "{r}.value, coalesce({r}.typed, printf('%.10g', {r}.value)), {r}.qualifier"

_CORRECTED = f"""
SELECT a.observed_at, a.late_s, a.n, p.code, i.code, {_READ.format(r="r")}, r.observed_at,
  o.utc_offset, w.initials, x.entry, {_READ.format(r="x")}, ap.code, a.reason, aw.initials,
  a.utc_offset
FROM {{source}} CROSS JOIN person w ON w.id = o.who CROSS JOIN person aw ON aw.id = a.who
LEFT JOIN place ap ON ap.id = a.place
LEFT JOIN reading x ON x.place = a.place AND x.item = a.item AND x.observed_at = a.observed_at
  AND x.entry = a.n
WHERE o.kind = {KINDS["reading"]}
"""

_LATE = f"""
SELECT e.observed_at, e.late_s, e.n, p.code, i.code, {_READ.format(r="r")}, e.utc_offset,
  w.initials, {TYPIST.format(n="e.n")}, e.round, r.flag
FROM {{source}} CROSS JOIN person w ON w.id = e.who
WHERE e.kind = {KINDS["reading"]} AND {stands("e.n")}
"""

_LATE_OF_ITSELF = f" AND e.late_s > {LATE_S} AND e.amends IS NULL"
"""A correction is not late itself."""


def _corrected(row: tuple[Any, ...]) -> Corrected:
    (at, late, n, place, item, value, typed, why, seen, offset, by, there, *new, to, reason, who,
     wall) = row  # fmt: skip
    return Corrected(
        n, place, item, ReadAs(value, typed or "", why), Instant(seen, offset), by,
        None if there is None else ReadAs(new[0], new[1] or "", new[2]),
        to if there is not None and to != place else "",
        reason, who, Instant(at + late, wall),
    )  # fmt: skip


def _late(row: tuple[Any, ...]) -> Late:
    at, late, n, place, item, value, typed, why, offset, who, typist, number, flag = row
    read = ReadAs(value, typed or "", why)
    return Late(n, place, item, read, Instant(at, offset), late, who, typist, number, flag)


_OF_PLACE = """
place p CROSS JOIN item i CROSS JOIN reading r ON r.place = p.id AND r.item = i.id
  AND r.observed_at BETWEEN :since AND :until
"""


class CorrectionQuestions(Questions):
    """Readings that were corrected or taken back, and those entered late."""

    @reads_record
    def of_place(self, place: str, since: int, until: int) -> list[Corrected]:
        """What was amended of readings of a place between two UTC seconds, in order of entry."""
        source = f"""{_OF_PLACE} CROSS JOIN entry o ON o.n = r.entry
          CROSS JOIN entry a INDEXED BY amended ON a.amends = r.entry"""
        sql = _CORRECTED.format(source=source) + " AND p.code = :place"
        asked = {"place": place, "since": since, "until": until}
        return sorted(map(_corrected, self.db.execute(sql, asked)), key=lambda one: one.n)

    @reads_record
    def since(self, since: int) -> list[Corrected]:
        """What was amended since a UTC second, at any place, in order of entry."""
        source = """entry a INDEXED BY amended CROSS JOIN entry o ON o.n = a.amends
          CROSS JOIN reading r ON r.place = o.place AND r.item = o.item
            AND r.observed_at = o.observed_at AND r.entry = o.n
          CROSS JOIN place p ON p.id = r.place CROSS JOIN item i ON i.id = r.item"""
        # By what they amend: corrections are of readings of the hours before.
        sql = _CORRECTED.format(source=source) + " AND a.amends IS NOT NULL ORDER BY a.amends DESC"
        return self._ordered(map(_corrected, back_to(self.db.execute(sql), since, 0)))

    @reads_record
    def late_at(self, place: str, since: int, until: int) -> list[Late]:
        """Readings of a place between two UTC seconds that were entered late, in order of entry."""
        source = f"{_OF_PLACE} CROSS JOIN entry e ON e.n = r.entry"
        sql = _LATE.format(source=source) + _LATE_OF_ITSELF + " AND p.code = :place"
        asked = {"place": place, "since": since, "until": until}
        return sorted(map(_late, self.db.execute(sql, asked)), key=lambda one: one.n)

    @reads_record
    def entered_late(self, since: int) -> list[Late]:
        """Readings that were entered late, or typed in from paper, since a UTC second and stand,
        in order of entry."""
        first = self._first_entered(since)
        source = """entry e NOT INDEXED
          CROSS JOIN reading r ON r.place = e.place AND r.item = e.item
            AND r.observed_at = e.observed_at AND r.entry = e.n
          CROSS JOIN place p ON p.id = e.place CROSS JOIN item i ON i.id = e.item"""
        late = f" AND ((1{_LATE_OF_ITSELF}) OR {TYPIST.format(n='e.n')} IS NOT NULL)"
        sql = _LATE.format(source=source) + late + " AND e.n >= ? ORDER BY e.n"
        found = map(_late, self.db.execute(sql, (first,)))
        return [one for one in found if one.entered.utc >= since]

    def _first_entered(self, since: int) -> int:
        """The first entry from which on all were entered since a UTC second, and maybe earlier."""
        first, old = 0, 0
        for n, entered in self.db.execute(
            "SELECT e.n, e.observed_at + e.late_s FROM entry e NOT INDEXED ORDER BY e.n DESC"
        ):
            first, old = n, 0 if entered >= since else old + 1
            if old >= OLD_IN_A_ROW:
                break
        return first

    @staticmethod
    def _ordered(found: Iterable[Corrected]) -> list[Corrected]:
        return sorted(found, key=lambda one: one.n)
