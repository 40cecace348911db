"""Questions about meters: their checks, the marks of suspect readings, what was read with them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.questions import NO_LIMIT, Questions, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple

LATELY = 8
"""Of so many checks entered last, the one made last is a meter's newest: a check typed in from
paper comes late, but no more than a few checks late."""


class CheckSeen(NamedTuple):
    """A check that stands. Where a meter was mended after it failed, a check of its own without
    `as_found` says how it was left."""

    n: int
    instrument: str
    what: str
    reference: float | None
    as_found: float | None
    as_left: float | None
    unit: str
    passed: bool
    at: Instant
    who: str


class MarkSeen(NamedTuple):
    """Readings of an item with a meter, between two UTC seconds, that are not to be trusted."""

    n: int
    instrument: str
    item: str
    unit: str
    since: int
    until: int
    at: Instant
    who: str
    reason: str | None


class ReadWith(NamedTuple):
    """A reading that a meter took; `recheck` says that it is the second of one look."""

    n: int
    place: str
    value: float
    at: Instant
    recheck: bool


_CHECK = f"""
SELECT c.entry, c.instrument, c.what, c.reference, c.as_found, c.as_left, coalesce(c.unit, ''),
  c.passed, e.observed_at, e.utc_offset, w.initials
FROM calibration c CROSS JOIN entry e ON e.n = c.entry CROSS JOIN person w ON w.id = e.who
WHERE c.instrument = :code AND {stands("c.entry")}
"""

_PASSED = _CHECK + " AND c.passed = 1"


def _check(row: tuple[Any, ...]) -> CheckSeen:
    n, meter, what, reference, found, left, unit, passed, at, offset, who = row
    when = Instant(at, offset)
    return CheckSeen(n, meter, what, reference, found, left, unit, bool(passed), when, who)


_WITH = f"""
FROM reading r CROSS JOIN entry e ON e.n = r.entry
WHERE r.place = (SELECT id FROM place WHERE code = :place)
AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
AND r.observed_at BETWEEN :since AND :until
AND r.instrument = (SELECT id FROM instrument WHERE code = :code)
AND r.value IS NOT NULL AND {stands("r.entry")}
ORDER BY r.observed_at, r.entry
"""


class MeterQuestions(Questions):
    """Checks of meters, suspect readings, what was read with them."""

    @reads_record
    def checks(self, instrument: str, limit: int = 30) -> list[CheckSeen]:
        """The newest checks of an instrument that stand, newest first."""
        return self._newest(_CHECK, instrument, limit + LATELY)[:limit]

    @reads_record
    def newest_checks(self, instruments: Iterable[str]) -> dict[str, list[CheckSeen]]:
        """For each instrument its checks of late, newest first; none where it was not checked."""
        return {code: self._checked_lately(code) for code in instruments}

    @reads_record
    def _checked_lately(self, instrument: str) -> list[CheckSeen]:
        return self._newest(_CHECK, instrument, LATELY)

    @reads_record
    def newest_passes(self, instruments: Iterable[str]) -> dict[str, int]:
        """The UTC second at which each of these instruments last passed a check, if ever."""
        late = {code: self._newest(_PASSED, code, LATELY) for code in instruments}
        return {code: passes[0].at.utc for code, passes in late.items() if passes}

    @reads_record
    def last_pass(self, instrument: str, before: int) -> CheckSeen | None:
        """The newest passed check of an instrument observed before a UTC second."""
        sql = _PASSED + " AND e.observed_at < :before"
        return next(iter(self._newest(sql, instrument, LATELY, before)), None)

    def _newest(self, sql: str, instrument: str, limit: int, before: int = 0) -> list[CheckSeen]:
        """The checks that were entered last, the one made last first."""
        # By order of entry, so that it ends after a few steps and never sorts a season of checks.
        asks = {"code": instrument, "limit": limit, "before": before}
        rows = self.db.execute(
            sql + self._then("e.observed_at") + " ORDER BY c.entry DESC LIMIT :limit", asks
        )
        return sorted(map(_check, rows), key=lambda one: (-one.at.utc, -one.n))

    @reads_record
    def marks(self, since: int = 0) -> list[MarkSeen]:
        """The marks of suspect readings that stand, oldest first: a handful a season.

        Only those that reach to the UTC second `since` or later.
        """
        sql = f"""
          SELECT s.entry, s.instrument, i.code, i.unit, s.since_at, s.until_at, e.observed_at,
            e.utc_offset, w.initials, e.reason
          FROM suspect s INDEXED BY suspect_until CROSS JOIN entry e ON e.n = s.entry
          CROSS JOIN item i ON i.id = e.item CROSS JOIN person w ON w.id = e.who
          WHERE s.until_at >= ? AND {stands("s.entry")}"""
        found = [
            MarkSeen(n, meter, item, unit, begun, until, Instant(at, offset), who, reason)
            for n, meter, item, unit, begun, until, at, offset, who, reason in self.db.execute(
                sql, (since,)
            )
        ]
        return sorted(found, key=lambda mark: mark.n)

    @reads_record
    def condemned(self, since: int, reach: int) -> dict[int, int]:
        """Readings of WATCH or worse that a mark makes suspect, each with the entry of its mark.

        Those of marks that reach to the UTC second `since` or later; and what was worked out from
        a suspect reading, no later than `reach` seconds after its mark ends.
        """
        sql = f"""
          SELECT r.entry, s.entry FROM suspect s INDEXED BY suspect_until
          CROSS JOIN entry e ON e.n = s.entry
          CROSS JOIN instrument m ON m.code = s.instrument
          CROSS JOIN reading r INDEXED BY flagged
            ON r.observed_at BETWEEN s.since_at AND s.until_at + :reach AND r.flag >= 2
          WHERE s.until_at >= :since AND {stands("s.entry")} AND {stands("r.entry")}
          AND CASE WHEN r.instrument IS NOT NULL
            THEN r.instrument = m.id AND r.item = e.item AND r.observed_at <= s.until_at
            ELSE EXISTS (SELECT 1 FROM part p CROSS JOIN entry x ON x.n = p.of
              CROSS JOIN reading y ON y.place = x.place AND y.item = x.item
                AND y.observed_at = x.observed_at AND y.entry = x.n
              WHERE p.entry = r.entry AND y.item = e.item AND y.instrument = m.id
              AND y.observed_at BETWEEN s.since_at AND s.until_at) END"""
        return dict(self.db.execute(sql, {"since": since, "reach": reach}))

    @reads_record
    def readings_with(
        self,
        instrument: str,
        item: str,
        unit: str,
        places: Sequence[str],
        since: int = 0,
        until: int = NO_LIMIT,
    ) -> list[ReadWith]:
        """What stands of an item that was read with an instrument at some places, in order of time.

        `since` and `until` are UTC seconds, both of them inside. One seek a place.
        """
        sql = f"SELECT r.entry, r.value, r.observed_at, e.utc_offset, r.recheck {_WITH}"
        asks = {"code": instrument, "item": item, "unit": unit, "since": since, "until": until}
        found = [
            ReadWith(n, place, value, Instant(at, offset), bool(again))
            for place in places
            for n, value, at, offset, again in self.db.execute(sql, {"place": place, **asks})
        ]
        return sorted(found, key=lambda one: (one.at.utc, one.n))

    @reads_record
    def first_with(
        self, instrument: str, item: str, unit: str, places: Sequence[str]
    ) -> int | None:
        """The UTC second of the first reading of an item with an instrument; None without one."""
        asks = {"code": instrument, "item": item, "unit": unit, "since": 0, "until": NO_LIMIT}
        sql = f"SELECT r.observed_at {_WITH} LIMIT 1"
        firsts = [self.db.execute(sql, {"place": place, **asks}).fetchone() for place in places]
        return min((int(row[0]) for row in firsts if row is not None), default=None)
