"""Questions about flags: what was out of band when it was read, and what people did about it."""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk.clock import Instant
from tankwalk.ledger.picture import further_back
from tankwalk.ledger.questions import NO_LIMIT, TYPIST, Questions, back_to, list_of, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple


class Flagged(NamedTuple):
    """A reading that was out of band when it was taken, and the rule that said so."""

    place: str
    item: str
    unit: str
    n: int
    at: Instant
    flag: int
    rule: str | None
    sentence: str | None
    typist: str | None = None
    """Who typed it in from paper, where it was."""


class Done(NamedTuple):
    """What a person did about a flag: closed, shelved or took it back, why, and until when.

    `about` is its kind and code where a whole round had found it.
    """

    n: int
    event: str
    place: str
    item: str
    instrument: str | None
    at: Instant
    who: str
    reason: str | None
    until: int | None
    about: tuple[str, str] | None = None


_DONE = f"""
SELECT f.entry, f.event, p.code, i.code, f.instrument, e.observed_at, e.late_s, e.utc_offset,
  w.initials, e.reason, f.until_at, (SELECT kind FROM found WHERE entry = f.entry),
  (SELECT code FROM found WHERE entry = f.entry)
FROM flag_event f {{how}} CROSS JOIN entry e ON e.n = f.entry
CROSS JOIN person w ON w.id = e.who CROSS JOIN place p ON p.id = e.place
CROSS JOIN item i ON i.id = e.item
WHERE f.event NOT IN ('raise', 'end') AND {stands("f.entry")}
"""


class TurnSeen(NamedTuple):
    """What a whole round said of a flag: it raised it, or found it no more ("end").

    `kind` and `code` say what the flag is about, `level` how serious, `places` whom it is of.
    """

    n: int
    event: str
    kind: str
    code: str
    item: str
    round: int | None
    at: Instant
    who: str
    rule: str
    level: int
    sentence: str
    response: str
    places: tuple[str, ...]


_TURNS = f"""
SELECT f.entry, f.event, x.kind, x.code, i.code, e.observed_at, e.late_s, e.utc_offset, e.round,
  w.initials, x.rule, x.level, x.sentence, x.response, x.places
FROM flag_event f INDEXED BY raised CROSS JOIN found x ON x.entry = f.entry
CROSS JOIN entry e ON e.n = f.entry CROSS JOIN person w ON w.id = e.who
CROSS JOIN item i ON i.id = e.item
WHERE f.event IN ('raise', 'end') AND {stands("f.entry")} ORDER BY f.entry DESC
"""


class TakenBack(NamedTuple):
    """A reading that was out of band and no longer stands: which, what ended it, why and by whom.

    `at` is when that was entered, `round` the round it was entered in.
    """

    n: int
    by: int
    reason: str | None
    who: str
    at: Instant
    round: int | None


class FlagQuestions(Questions):
    """Readings that were out of band, and what was done about it."""

    @reads_record
    def flagged(self, since: int, until: int = NO_LIMIT) -> list[Flagged]:
        """Every standing reading of WATCH or worse observed in a stretch of time, oldest first."""
        found = further_back(
            self.db, f"flagged until {until}", since, lambda back: self._flagged(back, until)
        )
        return [one for one in found if one.at.utc >= since]

    def _flagged(self, since: int, until: int) -> list[Flagged]:
        sql = f"""
          SELECT p.code, i.code, i.unit, r.entry, r.observed_at, e.utc_offset, r.flag, j.rule,
            j.sentence, {TYPIST.format(n="r.entry")}
          FROM reading r INDEXED BY flagged CROSS JOIN entry e ON e.n = r.entry
          CROSS JOIN place p ON p.id = r.place CROSS JOIN item i ON i.id = r.item
          LEFT JOIN judged j ON j.entry = r.entry
          WHERE r.flag >= 2 AND r.observed_at BETWEEN :since AND :until
          AND r.value IS NOT NULL AND {stands("r.entry")}"""
        found = [
            Flagged(place, item, unit, n, Instant(at, offset), flag, rule, sentence, typist)
            for place, item, unit, n, at, offset, flag, rule, sentence, typist in self.db.execute(
                sql, {"since": since, "until": until}
            )
        ]
        return sorted(found, key=lambda one: (one.at.utc, one.n))

    @reads_record
    def of_item(
        self, item: str, unit: str, places: Iterable[str], since: int, until: int, limit: int
    ) -> list[Flagged]:
        """The newest `limit` readings of WATCH or worse of one item at some places, oldest first.

        They stand, and were observed between two UTC seconds, both inside.
        """
        sql = f"""
          SELECT (SELECT code FROM place WHERE id = r.place), r.entry, r.observed_at, e.utc_offset,
            r.flag, (SELECT rule FROM judged WHERE entry = r.entry),
            (SELECT sentence FROM judged WHERE entry = r.entry)
          FROM reading r INDEXED BY flagged CROSS JOIN entry e ON e.n = r.entry
          WHERE r.flag >= 2 AND r.observed_at BETWEEN :since AND :until
          AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
          AND r.place IN (SELECT p.id FROM json_each(:places) asked
            CROSS JOIN place p ON p.code = asked.value)
          AND r.value IS NOT NULL AND {stands("r.entry")}
          ORDER BY r.observed_at DESC LIMIT :limit"""
        asked = {
            "item": item, "unit": unit, "places": list_of(places), "since": since, "until": until,
            "limit": limit,
        }  # fmt: skip
        found = [
            Flagged(place, item, unit, n, Instant(at, offset), flag, rule, sentence)
            for place, n, at, offset, flag, rule, sentence in self.db.execute(sql, asked)
        ]
        return sorted(found, key=lambda one: (one.at.utc, one.n))

    @reads_record
    def taken_back(self, since: int, until: int = NO_LIMIT) -> list[TakenBack]:
        """Readings of WATCH or worse, observed in a stretch of time, that were amended or voided,
        in order of what ended them."""
        sql = """
          SELECT r.entry, a.n, a.reason, w.initials, a.observed_at + a.late_s, a.utc_offset, a.round
          FROM reading r INDEXED BY flagged
          CROSS JOIN entry a INDEXED BY amended ON a.amends = r.entry
          CROSS JOIN person w ON w.id = a.who
          WHERE r.flag >= 2 AND r.observed_at BETWEEN :since AND :until AND r.value IS NOT NULL"""
        found = [
            TakenBack(n, by, reason, who, Instant(at, offset), number)
            for n, by, reason, who, at, offset, number in self.db.execute(
                sql, {"since": since, "until": until}
            )
        ]
        return sorted(found, key=lambda one: one.by)

    @reads_record
    def why(self, n: int) -> tuple[str, str] | None:
        """The rule and sentence a reading was flagged by; None for one that was not."""
        row = self.db.execute("SELECT rule, sentence FROM judged WHERE entry = ?", (n,)).fetchone()
        return None if row is None else (str(row[0]), str(row[1]))

    @reads_record
    def done(self, since: int) -> list[Done]:
        """What was done about flags since a UTC second, oldest first: few in a season.

        What was shelved before it until after it is among them.
        """
        newest_first = self.db.execute(_DONE.format(how="") + " ORDER BY f.entry DESC")
        shelved = self.db.execute(
            _DONE.format(how="INDEXED BY shelved_until") + " AND f.until_at >= ?", (since,)
        )
        rows = {row[0]: row for row in (*back_to(newest_first, since, 5), *shelved)}
        return [
            Done(
                n, event, place, item, meter, Instant(at, offset), who, reason, until,
                None if kind is None else (kind, code),
            )
            for n, (
                _, event, place, item, meter, at, _, offset, who, reason, until, kind, code,
            ) in sorted(rows.items())
        ]  # fmt: skip

    @reads_record
    def turns(self, since: int) -> list[TurnSeen]:
        """Flags that whole rounds raised and ended since a UTC second, oldest first."""
        rows = back_to(self.db.execute(_TURNS), since, 5)
        found = [
            TurnSeen(
                n, event, kind, code, item, number, Instant(at, offset), who, rule, level, sentence,
                response, tuple(places.split()),
            )
            for (
                n, event, kind, code, item, at, _, offset, number, who, rule, level, sentence,
                response, places,
            ) in rows
        ]  # fmt: skip
        return found[::-1]
