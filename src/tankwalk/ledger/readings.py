"""Questions about readings: the newest, the history, what they were worked out from."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.questions import NO_LIMIT, TYPIST, WAS, Questions, ReadAs, list_of, stands
from tankwalk.ledger.schema import KINDS
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple


class Seen(NamedTuple):
    """One reading as it stands: entry number, what and when, by whom, and how it was judged."""

    n: int
    place: str
    item: str
    unit: str
    value: float | None
    typed: str
    qualifier: str | None
    reason: str | None
    at: Instant
    who: str
    instrument: str | None
    flag: int
    recheck: bool
    amends: int | None
    late_s: int = 0
    """How many seconds after `at` it was entered."""
    typist: str | None = None
    """Who typed it in from paper, where it was; `who` saw it."""
    was: ReadAs | None = None
    """What it was before `who` amended it, for the `reason`."""
    was_of: str = ""
    """At which place that stood: another one where it was read in the wrong tank."""


# CROSS JOIN keeps SQLite to this order, entry first: left to itself it may scan all of `reading`.
_PAST = f"""
  SELECT r.entry, r.value, r.qualifier, r.observed_at, e.utc_offset, e.late_s, r.flag,
    r.recheck, e.round, m.code, w.initials, e.amends, {TYPIST.format(n="r.entry")}
  FROM reading r CROSS JOIN entry e ON e.n = r.entry
  CROSS JOIN person w ON w.id = e.who LEFT JOIN instrument m ON m.id = r.instrument
  WHERE r.place = (SELECT id FROM place WHERE code = :place)
  AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
"""
"""One item at one place as a `PastSeen`, for `_past`."""

_SEEN = f"""
SELECT e.n, p.code, i.code, i.unit, r.value, coalesce(r.typed, printf('%.10g', r.value)),
  r.qualifier, e.reason, e.observed_at, e.utc_offset, w.initials, m.code, r.flag, r.recheck,
  e.amends, e.late_s, {TYPIST.format(n="e.n")}, {WAS}
FROM {{source}}
CROSS JOIN reading r ON r.place = e.place AND r.item = e.item AND r.observed_at = e.observed_at
  AND r.entry = e.n
CROSS JOIN place p ON p.id = e.place CROSS JOIN item i ON i.id = e.item
CROSS JOIN person w ON w.id = e.who LEFT JOIN instrument m ON m.id = r.instrument
"""

_NEWEST = f"""
(SELECT x.entry FROM reading x WHERE x.place = {{place}} AND x.item = {{item}}
  AND x.value IS NOT NULL AND x.entry < {{before}}{{then}} AND {stands("x.entry")}
  ORDER BY x.observed_at DESC, x.entry DESC LIMIT 1)
"""


def _seen(row: tuple[Any, ...]) -> Seen:
    (n, place, item, unit, value, typed, qualifier, reason, at, offset, who, meter, flag, again,
     amends, late, typist, was) = row  # fmt: skip
    first = read_first(was)
    return Seen(
        n, place, item, unit, value, typed or "", qualifier, reason, Instant(at, offset), who,
        meter, flag, bool(again), amends, late, typist, *first,
    )  # fmt: skip


def read_first(was: str | None) -> tuple[ReadAs | None, str]:
    """What an entry amends, by the text that `WAS` gives, and of which place."""
    if was is None:
        return None, ""
    from json import loads

    value, typed, why, place = loads(was)
    return ReadAs(value, typed or "", why), place


class ValueSeen(NamedTuple):
    """One value of one item at one place, as far as judging needs it; `at` is a UTC second."""

    n: int
    value: float
    at: int
    flag: int
    recheck: bool
    round: int | None
    instrument: str | None


class Taken(NamedTuple):
    """What a reading was of, at which UTC second, and with which meter."""

    n: int
    item: str
    at: int
    instrument: str | None


class PastSeen(NamedTuple):
    """One reading of a stretch of time: a value, or None and in `qualifier` why it was not taken.

    `late_s` is how many seconds after `at` it was entered.
    """

    n: int
    value: float | None
    qualifier: str | None
    at: Instant
    late_s: int
    flag: int
    recheck: bool
    round: int | None
    instrument: str | None
    who: str
    amends: int | None = None
    typist: str | None = None


def _past(row: tuple[Any, ...]) -> PastSeen:
    n, value, why, at, offset, late, flag, again, number, meter, who, amends, typist = row
    when = Instant(at, offset)
    return PastSeen(
        n, value, why, when, late, flag, bool(again), number, meter, who, amends, typist
    )


class WorkingSeen(NamedTuple):
    """How a derived reading was worked out: its entries by input, and what the plan gave."""

    calculator: str
    equation: str
    facts: str
    parts: dict[str, int]


class MovedSeen(NamedTuple):
    """A reading that stands at another place than the one it amends: from where, to where."""

    n: int
    origin: str
    place: str
    who: str
    at: Instant
    """When it was moved."""
    reason: str | None


class ReadingQuestions(Questions):
    """Values of items at places, as they stand."""

    @reads_record
    def newest(self, place: str, item: str, unit: str, before: int = NO_LIMIT) -> Seen | None:
        """The newest reading with a value of an item at a place, entered before entry `before`."""
        inner = _NEWEST.format(
            place="(SELECT id FROM place WHERE code = :place)",
            item="(SELECT id FROM item WHERE code = :item AND unit = :unit)",
            before=":before",
            then=self._then("x.observed_at"),
        )
        sql = _SEEN.format(source="entry e") + f" WHERE e.n = {inner}"
        row = self.db.execute(
            sql, {"place": place, "item": item, "unit": unit, "before": before}
        ).fetchone()
        return None if row is None else _seen(row)

    @reads_record
    def newest_of_all(self) -> dict[tuple[str, str], Seen]:
        """The newest reading with a value of every item at every place, by (place, item) code."""
        then = self._then("x.observed_at")
        inner = _NEWEST.format(place="pp.id", item="ii.id", before=str(NO_LIMIT), then=then)
        source = f"place pp CROSS JOIN item ii CROSS JOIN entry e ON e.n = {inner}"
        found: dict[tuple[str, str], Seen] = {}
        for row in self.db.execute(_SEEN.format(source=source)):
            seen = _seen(row)
            known = found.get((seen.place, seen.item))
            if known is None or (seen.at.utc, seen.n) > (known.at.utc, known.n):
                found[seen.place, seen.item] = seen
        return found

    @reads_record
    def history(self, place: str, item: str, unit: str, limit: int) -> list[Seen]:
        """The newest `limit` readings with a value of one item at one place, oldest first."""
        # Joined, not "IN": with old statistics SQLite would walk through all of `entry` for it.
        newest_of_one = (
            "(SELECT x.entry FROM reading x"
            " WHERE x.place = (SELECT id FROM place WHERE code = :place)"
            " AND x.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)"
            f" AND x.value IS NOT NULL{self._then('x.observed_at')} AND {stands('x.entry')}"
            " ORDER BY x.observed_at DESC, x.entry DESC LIMIT :limit)"
        )
        source = f"{newest_of_one} h CROSS JOIN entry e ON e.n = h.entry"
        values = {"place": place, "item": item, "unit": unit, "limit": limit}
        found = map(_seen, self.db.execute(_SEEN.format(source=source), values))
        return sorted(found, key=lambda one: (one.at.utc, one.n))

    @reads_record
    def looks(
        self,
        place: str,
        item: str,
        unit: str,
        limit: int,
        before: int = NO_LIMIT,
        until: int = NO_LIMIT,
    ) -> list[ValueSeen]:
        """The newest `limit` values that stand, oldest first.

        They were entered before entry `before` and observed no later than UTC second `until`.
        """
        sql = f"""
          SELECT r.entry, r.value, r.observed_at, r.flag, r.recheck, e.round, m.code
          FROM reading r CROSS JOIN entry e ON e.n = r.entry
          LEFT JOIN instrument m ON m.id = r.instrument
          WHERE r.place = (SELECT id FROM place WHERE code = :place)
          AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
          AND r.observed_at <= :until AND r.value IS NOT NULL AND r.entry < :before
          AND {stands("r.entry")}
          ORDER BY r.observed_at DESC, r.entry DESC LIMIT :limit"""
        values = {
            "place": place, "item": item, "unit": unit, "limit": limit, "before": before,
            "until": until,
        }  # fmt: skip
        found = [
            ValueSeen(n, value, at, flag, bool(again), number, meter)
            for n, value, at, flag, again, number, meter in self.db.execute(sql, values)
        ]
        return found[::-1]

    @reads_record
    def looks_of(
        self, asked: Iterable[tuple[str, str, str]], limit: int, until: int
    ) -> dict[tuple[str, str], list[ValueSeen]]:
        """The same of several items at places, by place and item; one statement for all.

        Each is asked for by place, item and unit.
        """
        # By their entries: joined as a stretch of time, SQLite would first walk through all
        # readings, for a Bloom filter.
        sql = f"""
          SELECT json_extract(asked.value, '$[0]'), json_extract(asked.value, '$[1]'),
            r.entry, r.value, r.observed_at, r.flag, r.recheck, e.round, m.code
          FROM json_each(:asked) asked CROSS JOIN json_each((
            SELECT json_group_array(entry) FROM (SELECT x.entry FROM reading x
              WHERE x.place = (SELECT id FROM place WHERE code = json_extract(asked.value, '$[0]'))
              AND x.item = (SELECT id FROM item WHERE code = json_extract(asked.value, '$[1]')
                AND unit = json_extract(asked.value, '$[2]'))
              AND x.observed_at <= :until AND x.value IS NOT NULL AND {stands("x.entry")}
              ORDER BY x.observed_at DESC, x.entry DESC LIMIT :limit) newest)) here
          CROSS JOIN entry e ON e.n = here.value
          CROSS JOIN reading r ON r.place = e.place AND r.item = e.item
            AND r.observed_at = e.observed_at AND r.entry = e.n
          LEFT JOIN instrument m ON m.id = r.instrument"""
        found: dict[tuple[str, str], list[ValueSeen]] = {}
        values = {"asked": list_of(asked), "limit": limit, "until": until}
        for place, item, n, value, at, flag, again, number, meter in self.db.execute(sql, values):
            one = ValueSeen(n, value, at, flag, bool(again), number, meter)
            found.setdefault((place, item), []).append(one)
        return {
            pair: sorted(several, key=lambda one: (one.at, one.n))
            for pair, several in found.items()
        }

    @reads_record
    def bands(
        self, place: str, item: str, unit: str, limit: int, until: int = NO_LIMIT
    ) -> list[tuple[int, str]]:
        """The bands that the newest `limit` values were judged by, oldest first.

        Each with the UTC second of the value and its limits as the record keeps them; values that
        had no band, and those later than `until`, are not among them.
        """
        sql = f"""
          SELECT r.observed_at, b.limits FROM reading r LEFT JOIN band b ON b.id = r.band
          WHERE r.place = (SELECT id FROM place WHERE code = :place)
          AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
          AND r.observed_at <= :until AND r.value IS NOT NULL AND {stands("r.entry")}
          ORDER BY r.observed_at DESC, r.entry DESC LIMIT :limit"""
        asked = {"place": place, "item": item, "unit": unit, "limit": limit, "until": until}
        rows = self.db.execute(sql, asked).fetchall()
        return [(at, limits) for at, limits in reversed(rows) if limits is not None]

    @reads_record
    def bands_by_place(
        self, item: str, unit: str, limit: int, until: int = NO_LIMIT
    ) -> dict[str, list[tuple[int, str]]]:
        """The same of every place, one statement for all; a place without values is not there."""
        this = "(SELECT id FROM item WHERE code = :item AND unit = :unit)"
        sql = f"""
          SELECT p.code, r.observed_at, r.entry, (SELECT limits FROM band WHERE id = r.band)
          FROM place p CROSS JOIN reading r ON r.place = p.id AND r.item = {this}
            AND r.observed_at BETWEEN coalesce((SELECT x.observed_at FROM reading x
              WHERE x.place = p.id AND x.item = {this} AND x.observed_at <= :until
              AND x.value IS NOT NULL AND {stands("x.entry")}
              ORDER BY x.observed_at DESC, x.entry DESC LIMIT 1 OFFSET :most), 0) AND :until
          WHERE r.value IS NOT NULL AND {stands("r.entry")}"""
        found: dict[str, list[tuple[int, int, str | None]]] = {}
        asked = {"item": item, "unit": unit, "most": limit - 1, "until": until}
        for place, *row in self.db.execute(sql, asked):
            found.setdefault(place, []).append(tuple(row))
        return {
            place: [(at, limits) for at, _, limits in sorted(of)[-limit:] if limits is not None]
            for place, of in found.items()
        }

    @reads_record
    def past(self, place: str, item: str, unit: str, since: int, until: int) -> list[PastSeen]:
        """All that stands of one item at one place between two UTC seconds, both inside.

        Oldest first, and what was not taken among it.
        """
        sql = f"""{_PAST}
          AND r.observed_at BETWEEN :since AND :until AND {stands("r.entry")}
          ORDER BY r.observed_at, r.entry"""
        asked = {"place": place, "item": item, "unit": unit, "since": since, "until": until}
        return [_past(row) for row in self.db.execute(sql, asked)]

    @reads_record
    def trail(self, place: str, item: str, unit: str, limit: int) -> list[PastSeen]:
        """The newest `limit` of one item at one place that stand, oldest first.

        What was not taken is among them.
        """
        sql = f"""{_PAST}{self._then("r.observed_at")}
          AND {stands("r.entry")} ORDER BY r.observed_at DESC, r.entry DESC LIMIT :limit"""
        asked = {"place": place, "item": item, "unit": unit, "limit": limit}
        return [_past(row) for row in self.db.execute(sql, asked)][::-1]

    @reads_record
    def lately(
        self, item: str, unit: str, limit: int, before: int = NO_LIMIT
    ) -> dict[str, list[ValueSeen]]:
        """The newest values of one item that stand, by place, oldest first; one statement for all.

        At least the newest `limit` of each place: more only where several share the oldest second.
        Entries from `before` on are not among them.
        """
        this = "(SELECT id FROM item WHERE code = :item AND unit = :unit)"
        sql = f"""
          SELECT p.code, r.entry, r.value, r.observed_at, r.flag, r.recheck, e.round, m.code
          FROM place p CROSS JOIN reading r ON r.place = p.id AND r.item = {this}
            AND r.observed_at >= coalesce((SELECT x.observed_at FROM reading x
              WHERE x.place = p.id AND x.item = {this} AND x.entry < :before
              {self._then("x.observed_at")} AND x.value IS NOT NULL AND {stands("x.entry")}
              ORDER BY x.observed_at DESC, x.entry DESC LIMIT 1 OFFSET :most), 0)
          CROSS JOIN entry e ON e.n = r.entry LEFT JOIN instrument m ON m.id = r.instrument
          WHERE r.entry < :before{self._then("r.observed_at")} AND r.value IS NOT NULL
          AND {stands("r.entry")}"""
        found: dict[str, list[ValueSeen]] = {}
        asked = {"item": item, "unit": unit, "most": limit - 1, "before": before}
        rows = self.db.execute(sql, asked)
        for place, n, value, at, flag, again, number, meter in rows:
            one = ValueSeen(n, value, at, flag, bool(again), number, meter)
            found.setdefault(place, []).append(one)
        return {place: sorted(of, key=lambda v: (v.at, v.n)) for place, of in found.items()}

    @reads_record
    def since(self, item: str, unit: str, since: int) -> dict[str, list[PastSeen]]:
        """All of one item that stands since a UTC second, by place, oldest first; one statement.

        What was not taken is among it.
        """
        sql = f"""
          SELECT p.code, r.entry, r.value, r.qualifier, r.observed_at, e.utc_offset, e.late_s,
            r.flag, r.recheck, e.round, m.code, w.initials, e.amends,
            {TYPIST.format(n="r.entry")}
          FROM place p CROSS JOIN reading r ON r.place = p.id
            AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
            AND r.observed_at >= :since
          CROSS JOIN entry e ON e.n = r.entry CROSS JOIN person w ON w.id = e.who
          LEFT JOIN instrument m ON m.id = r.instrument
          WHERE {stands("r.entry")}"""
        found: dict[str, list[PastSeen]] = {}
        for place, *row in self.db.execute(sql, {"item": item, "unit": unit, "since": since}):
            found.setdefault(place, []).append(_past(tuple(row)))
        return {
            place: sorted(of, key=lambda one: (one.at.utc, one.n)) for place, of in found.items()
        }

    @reads_record
    def seen(self, n: int) -> Seen | None:
        """One reading by its entry number, standing or not."""
        row = self.db.execute(_SEEN.format(source="entry e") + " WHERE e.n = ?", (n,)).fetchone()
        return None if row is None else _seen(row)

    @reads_record
    def seen_of(self, entries: Iterable[int]) -> dict[int, Seen]:
        """Readings by their entry numbers, standing or not; one statement for all."""
        source = "json_each(?) asked CROSS JOIN entry e ON e.n = asked.value"
        rows = self.db.execute(_SEEN.format(source=source), (list_of(entries),))
        return {one.n: one for one in map(_seen, rows)}

    @reads_record
    def not_taken(self, place: str, item: str, unit: str) -> tuple[str, Instant] | None:
        """Why and when an item was not taken, where that is the newest the record holds of it."""
        row = self.db.execute(
            f"""SELECT r.qualifier, e.observed_at, e.utc_offset, r.value
               FROM reading r CROSS JOIN entry e ON e.n = r.entry
               WHERE r.place = (SELECT id FROM place WHERE code = :place)
               AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
               {self._then("r.observed_at")} AND {stands("r.entry")}
               ORDER BY r.observed_at DESC, r.entry DESC LIMIT 1""",
            {"place": place, "item": item, "unit": unit},
        ).fetchone()
        if row is None or row[3] is not None:
            return None
        return str(row[0]), Instant(row[1], row[2])

    @reads_record
    def of_round(self, number: int, first: int) -> list[Seen]:
        """All readings of a round that stand, in order of entry; `first` is its opening entry."""
        sql = _SEEN.format(source="entry e") + (
            f" WHERE e.n > ? AND e.round = ? AND e.kind = {KINDS['reading']}"
            f" AND {stands('e.n')} ORDER BY e.n"
        )
        return [_seen(row) for row in self.db.execute(sql, (first, number))]

    @reads_record
    def moved(self, number: int, first: int) -> list[MovedSeen]:
        """Readings of a round that stand and were moved from another place, in order of entry;
        `first` is its opening entry."""
        sql = f"""
          SELECT m.n, op.code, p.code, w.initials, m.observed_at + m.late_s, m.utc_offset, m.reason
          FROM entry m NOT INDEXED CROSS JOIN entry o ON o.n = m.amends
          CROSS JOIN place op ON op.id = o.place CROSS JOIN place p ON p.id = m.place
          CROSS JOIN person w ON w.id = m.who
          WHERE m.n > ? AND m.round = ? AND m.kind = {KINDS["reading"]} AND o.place <> m.place
          AND {stands("m.n")} ORDER BY m.n"""
        return [
            MovedSeen(n, origin, place, who, Instant(at, offset), reason)
            for n, origin, place, who, at, offset, reason in self.db.execute(sql, (first, number))
        ]

    @reads_record
    def working(self, n: int) -> WorkingSeen | None:
        """The working of a derived reading by its entry number; None for any other entry."""
        row = self.db.execute(
            "SELECT w.calculator, w.equation, w.facts FROM derived d JOIN working w"
            " ON w.id = d.working WHERE d.entry = ?",
            (n,),
        ).fetchone()
        if row is None:
            return None
        parts = self.db.execute("SELECT input, of FROM part WHERE entry = ?", (n,))
        return WorkingSeen(row[0], row[1], row[2], dict(parts))

    @reads_record
    def parts_of(self, entries: Iterable[int]) -> dict[int, list[Taken]]:
        """What derived readings were worked out from, by their entry; one statement for all."""
        sql = """
          SELECT p.entry, r.entry, i.code, r.observed_at, m.code
          FROM json_each(?) asked CROSS JOIN part p ON p.entry = asked.value
          CROSS JOIN entry e ON e.n = p.of
          CROSS JOIN reading r ON r.place = e.place AND r.item = e.item
            AND r.observed_at = e.observed_at AND r.entry = e.n
          CROSS JOIN item i ON i.id = r.item LEFT JOIN instrument m ON m.id = r.instrument"""
        found: dict[int, list[Taken]] = {}
        for n, *row in self.db.execute(sql, (list_of(entries),)):
            found.setdefault(n, []).append(Taken._make(row))
        return found

    @reads_record
    def worked_from(self, n: int) -> list[Seen]:
        """Derived readings that stand and were worked out from an entry, in order of entry."""
        source = (
            "(SELECT p.entry FROM part p WHERE p.of = :n) f CROSS JOIN entry e ON e.n = f.entry"
        )
        sql = _SEEN.format(source=source) + f" WHERE {stands('e.n')}"
        return sorted(map(_seen, self.db.execute(sql, {"n": n})), key=lambda one: one.n)
