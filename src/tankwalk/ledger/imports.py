"""Questions about what was imported: files, the series in them, and their values."""

from __future__ import annotations

from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.questions import NO_LIMIT, Questions, back_to, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple


class ImportSeen(NamedTuple):
    """A file that was imported and was not undone; `understood` is how it was read, as JSON."""

    n: int
    at: Instant
    who: str
    source: str
    file: str
    digest: str
    head: str
    understood: str
    kept: int
    refused: int


class ImportTold(NamedTuple):
    """A file that was imported, also one that was taken back: when that was, and by whom."""

    n: int
    at: Instant
    who: str
    source: str
    file: str
    kept: int
    refused: int
    undone: tuple[Instant, str] | None


class SeriesSeen(NamedTuple):
    """One series of a file: what it is of, how many values, and their first and last UTC second.

    Its values lie in the table `imported` under the number `bundle`; 0 where there are none.
    """

    entry: int
    nth: int
    source: str
    place: str
    item: str
    unit: str
    kept: int
    first_at: int
    last_at: int
    bundle: int


class ImportedValue(NamedTuple):
    """One imported value of a place: in the unit it was asked in, and what it came from."""

    at: int
    value: float
    below: bool
    source: str
    entry: int


HalfDays = dict[int, tuple[float, float, int]]
"""Lowest and highest value and how many, by half day."""

_IMPORT = f"""
SELECT e.n, e.observed_at, e.utc_offset, w.initials, f.source, f.file, f.digest, f.head,
  f.understood, f.kept, f.refused
FROM import_file f {{by}} CROSS JOIN entry e ON e.n = f.entry CROSS JOIN person w ON w.id = e.who
WHERE {{which}} AND {stands("f.entry")} {{then}}
"""

_TOLD = """
SELECT e.n, e.observed_at, e.late_s, e.utc_offset, w.initials, f.source, f.file, f.kept, f.refused,
  (SELECT max(a.n) FROM entry a WHERE a.amends = f.entry)
FROM import_file f CROSS JOIN entry e ON e.n = f.entry CROSS JOIN person w ON w.id = e.who
"""

_OF_SERIES = """
s.entry, s.nth, f.source, s.place, s.item, s.unit, s.kept, s.first_at, s.last_at,
  coalesce((SELECT b.id FROM bundle b WHERE b.entry = s.entry AND b.nth = s.nth), 0)
"""


class ImportQuestions(Questions):
    """Files that were imported."""

    @reads_record
    def newest(self, most: int = 50) -> list[ImportSeen]:
        """The newest imports that stand, newest first."""
        return self._imports("", "true", (), most)

    @reads_record
    def of_digest(self, digest: str) -> ImportSeen | None:
        """An import of the same file that stands."""
        return next(iter(self._imports("INDEXED BY import_of", "f.digest = ?", (digest,), 0)), None)

    @reads_record
    def of_head(self, head: str) -> ImportSeen | None:
        """The newest import that stands of a file with the same head."""
        by = "INDEXED BY import_headed"
        return next(iter(self._imports(by, "f.head = ?", (head,), 1)), None)

    @reads_record
    def by_number(self, n: int) -> ImportSeen | None:
        """An import by its entry, where it stands."""
        return next(iter(self._imports("", "f.entry = ?", (n,), 1)), None)

    @reads_record
    def told(self, since: int) -> list[ImportTold]:
        """Imports made since a UTC second, oldest first, with those that were taken back."""
        rows = back_to(self.db.execute(f"{_TOLD} ORDER BY f.entry DESC"), since, 1)
        return [self._told(row) for row in rows][::-1]

    @reads_record
    def told_at(
        self, place: str, item: str, unit: str, since: int, until: int = NO_LIMIT
    ) -> list[tuple[ImportTold, int]]:
        """Imports, also those taken back, with values of an item at a place in a stretch.

        Each with the UTC second of its last such value. The stretch is in UTC seconds.
        """
        sql = """SELECT s.entry, s.last_at FROM series s INDEXED BY series_of
          WHERE s.place = ? AND s.item = ? AND s.unit = ? AND s.last_at >= ? AND s.first_at <= ?"""
        found = self.db.execute(sql, (place, item, unit, since, until)).fetchall()
        one = f"{_TOLD} WHERE f.entry = ?"
        return [(self._told(self.db.execute(one, (n,)).fetchone()), last) for n, last in found]

    def _told(self, row: tuple[Any, ...]) -> ImportTold:
        n, at, _, offset, who, source, file, kept, refused, ended = row
        undone = None
        if ended is not None:
            by = """SELECT e.observed_at, e.utc_offset, w.initials FROM entry e
              CROSS JOIN person w ON w.id = e.who WHERE e.n = ?"""
            when, there, by_whom = self.db.execute(by, (ended,)).fetchone()
            undone = Instant(when, there), by_whom
        return ImportTold(n, Instant(at, offset), who, source, file, kept, refused, undone)

    def _imports(self, by: str, which: str, asked: tuple[Any, ...], most: int) -> list[ImportSeen]:
        """The newest imports; of a file there is seldom more than one, in any order (`most` 0)."""
        then = f"ORDER BY f.entry DESC LIMIT {most}" if most else ""
        rows = self.db.execute(_IMPORT.format(by=by, which=which, then=then), asked)
        return [ImportSeen(row[0], Instant(row[1], row[2]), *row[3:]) for row in rows]

    @reads_record
    def series(self, n: int) -> list[SeriesSeen]:
        """The series of one import."""
        sql = f"""SELECT {_OF_SERIES}
          FROM series s CROSS JOIN import_file f ON f.entry = s.entry WHERE s.entry = ?"""
        return [SeriesSeen._make(row) for row in self.db.execute(sql, (n,))]

    @reads_record
    def series_at(
        self, place: str, item: str, unit: str, since: int, until: int = NO_LIMIT
    ) -> list[SeriesSeen]:
        """Series of one item at one place that stand and reach into a stretch of UTC seconds."""
        sql = f"""SELECT {_OF_SERIES}
          FROM series s INDEXED BY series_of CROSS JOIN import_file f ON f.entry = s.entry
          WHERE s.place = ? AND s.item = ? AND s.unit = ? AND s.last_at >= ? AND s.first_at <= ?
          AND {stands("s.entry")}"""
        rows = self.db.execute(sql, (place, item, unit, since, until))
        return sorted(map(SeriesSeen._make, rows))

    @reads_record
    def values(
        self, place: str, item: str, unit: str, since: int, until: int = NO_LIMIT
    ) -> list[ImportedValue]:
        """Imported values of one item at one place in a stretch of UTC seconds, by time."""
        found: list[ImportedValue] = []
        for one in self.series_at(place, item, unit, since, until):
            rows = self.db.execute(
                "SELECT at, value, below FROM imported WHERE bundle = ? AND at BETWEEN ? AND ?",
                (one.bundle, since, until),
            )
            found += [
                ImportedValue(at, value, bool(below), one.source, one.entry)
                for at, value, below in rows
            ]
        return sorted(found, key=lambda one: (one.at, one.entry))

    @reads_record
    def by_half_day(
        self, place: str, item: str, unit: str, between: tuple[int, int], offset: int
    ) -> dict[str, tuple[HalfDays, float, int]]:
        """Values between two UTC seconds by source: lowest, highest and how many each half day.

        Half days are counted from 1970 by a clock `offset` seconds ahead of UTC. Beside them are
        the newest value and its UTC second.
        """
        since, until = between
        found: dict[str, tuple[HalfDays, float, int]] = {}
        for one in self.series_at(place, item, unit, since, until):
            halves, last, newest = found.get(one.source, ({}, 0.0, -1))
            rows = self.db.execute(
                "SELECT at, value FROM imported WHERE bundle = ? AND at BETWEEN ? AND ?",
                (one.bundle, since, until),
            )
            for at, value in rows:
                half = (at + offset) // 43200
                low, high, many = halves.get(half, (value, value, 0))
                halves[half] = (min(low, value), max(high, value), many + 1)
                if at > newest:
                    last, newest = value, at
            if halves:
                found[one.source] = halves, last, newest
        return found

    @reads_record
    def nearest(
        self, place: str, item: str, unit: str, at: int, within: int, source: str = ""
    ) -> ImportedValue | None:
        """The imported value nearest to a UTC second, at most `within` seconds from it.

        Of one source alone, where one is named.
        """
        near: list[ImportedValue] = []
        of = "SELECT at, value, below FROM imported WHERE bundle = ?1"
        for one in self.series_at(place, item, unit, at - within, at + within):
            if source not in ("", one.source):
                continue
            for which, end in (
                ("at BETWEEN ?2 AND ?3 ORDER BY at LIMIT 1", (at, at + within)),
                ("at BETWEEN ?2 AND ?3 ORDER BY at DESC LIMIT 1", (at - within, at)),
            ):
                asked = (one.bundle, *end)
                for found, value, below in self.db.execute(f"{of} AND {which}", asked):
                    near.append(ImportedValue(found, value, bool(below), one.source, one.entry))
        return min(near, key=lambda one: abs(one.at - at), default=None)
