"""Questions about feeding: meals, batches of feed and what was poured of them, counts, samples.

They are read from the newest back and only as far as asked, or sought by a batch's name.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from json import dumps
from operator import itemgetter
from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.picture import further_back
from tankwalk.ledger.questions import Questions, back_to, list_of, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple

STOCK_LOTS = 200
"""So many tins and bags, the newest, are looked at for what is in stock."""

NO_END = 2**62
"""A UTC second that never comes."""


class BatchKind(StrEnum):
    """What a batch is: a cone, shelled cysts, a culture, a tin of cysts, a bag of feed."""

    CONE = "cone"
    SHELLED = "shelled"
    ROTIFERS = "rotifers"
    ALGAE = "algae"
    CYSTS = "cysts"
    FEED = "feed"


class BatchEvent(StrEnum):
    """What happens to a batch, by the words the record keeps."""

    SET = "set"
    CHECK = "check"
    HARVEST = "harvest"
    CHILL = "chill"
    ENRICH = "enrich"
    DISCARD = "discard"
    COUNT = "count"
    FEED = "feed"
    DILUTE = "dilute"
    RECEIVED = "received"
    OPENED = "opened"
    TEST_HATCH = "test hatch"
    WEIGHED = "weighed"  # its grams are what is left
    EMPTY = "empty"
    STEP = "step"  # of a guided procedure: its words are the text


BEGINS = (BatchEvent.SET, BatchEvent.RECEIVED)
"""Events that begin a batch: a name may come again, and then it is another batch."""


class CountOf(StrEnum):
    """What is counted in sub-samples."""

    NAUPLII = "nauplii"
    ROTIFERS = "rotifers"
    EGGS = "eggs"
    CELLS = "cells"
    LARVAE = "larvae"
    CYSTS = "cysts"
    UMBRELLA = "umbrella"
    EMBRYOS = "embryos"
    FISH = "fish"


class MealSeen(NamedTuple):
    """Feed given at a place, or with `event` a planned pause, as it stands.

    `meal_at` is the UTC second of the planned meal it belongs to, where that was said.
    """

    n: int
    place: str
    feed: str
    amount: float
    unit: str
    planned: float | None
    left_over: int | None
    event: str | None
    at: Instant
    who: str
    meal_at: int | None = None


class BatchSeen(NamedTuple):
    """Something that happened to a batch, as it stands; degC, g/kg, UTC second.

    What begins a batch has its kind, and the batch or lot it was made from.
    """

    n: int
    batch: str
    event: str
    lot: str | None
    grams: float | None
    litres: float | None
    temperature: float | None
    ph: float | None
    salinity: float | None
    per_ml: float | None
    hatch_percent: float | None
    due_at: int | None
    text: str | None
    at: Instant
    who: str
    kind: str | None = None
    source: str | None = None


class PouredSeen(NamedTuple):
    """What of which batch went in at a place with a meal; `meal_at` as in `MealSeen`."""

    n: int
    place: str
    batch: str
    ml: float
    per_ml: float
    feed: str
    amount: float
    unit: str
    meal_at: int | None
    at: Instant
    who: str


class SampleSeen(NamedTuple):
    """Fish of a place that were looked at, as it stands: how many had it, or mean and spread."""

    n: int
    place: str
    what: str
    looked_at: int
    with_it: int | None
    mean: float | None
    sd: float | None
    unit: str | None
    at: Instant
    who: str


class CountSeen(NamedTuple):
    """Sub-samples as they were counted: of so many mL each, of what was diluted so many times."""

    what: str
    ml: float
    dilution: float
    counts: tuple[int, ...]


_BATCH_SEEN = f"""
  SELECT b.entry, b.batch, b.event, b.lot, b.grams, b.litres, b.temperature, b.ph,
    b.salinity, b.per_ml, b.hatch_percent, b.due_at, b.text, e.observed_at, e.late_s,
    e.utc_offset, w.initials,
    coalesce((SELECT o.kind FROM batch_of o WHERE o.entry = b.entry),
      CASE b.event WHEN '{BatchEvent.SET}' THEN '{BatchKind.CONE}' END),
    (SELECT o.source FROM batch_of o WHERE o.entry = b.entry)"""
"""A "set" that says no kind is a cone: older records hold only these.

What may be missing is asked for by itself: a join that may find nothing was put together by a walk
through the whole table where the statistics were of a record's first day."""

_OF_BATCH = """
  CROSS JOIN entry e ON e.n = b.entry CROSS JOIN person w ON w.id = e.who"""

_POURED_SEEN = """
  SELECT q.entry, p.code, q.batch, q.ml, q.per_ml, m.feed, m.amount, m.unit,
    (SELECT s.meal_at FROM served s WHERE s.entry = q.entry),
    e.observed_at, e.late_s, e.utc_offset, w.initials"""

_OF_MEAL = """
  CROSS JOIN entry e ON e.n = q.entry CROSS JOIN person w ON w.id = e.who
  CROSS JOIN place p ON p.id = e.place CROSS JOIN meal m ON m.entry = q.entry"""


_MEAL_SEEN = """
  SELECT m.entry, (SELECT p.code FROM place p WHERE p.id = e.place), m.feed, m.amount, m.unit,
    m.planned, m.left_over, m.event, e.observed_at, e.late_s, e.utc_offset,
    (SELECT w.initials FROM person w WHERE w.id = e.who),
    (SELECT s.meal_at FROM served s WHERE s.entry = m.entry)
  FROM meal m {how} CROSS JOIN entry e ON e.n = m.entry"""


class FeedingQuestions(Questions):
    """Meals, batches of feed, what was poured of them, counts, samples of fish."""

    @reads_record
    def meals(self, since: int) -> list[MealSeen]:
        """Meals and pauses observed since a UTC second, oldest first."""
        found = further_back(self.db, "meals", since, self._meals)
        return [one for one in found if one.at.utc >= since]

    def _meals(self, since: int) -> list[MealSeen]:
        sql = f"""{_MEAL_SEEN.format(how="NOT INDEXED")}
          WHERE {stands("m.entry")} ORDER BY m.entry DESC"""
        return _meals(back_to(self.db.execute(sql), since, 8))

    @reads_record
    def feed_off(self, since: int) -> list[MealSeen]:
        """What turned feed off or on since a UTC second, oldest first."""
        sql = f"""{_MEAL_SEEN.format(how="INDEXED BY feed_off")}
          WHERE (m.event = 'feed on' OR m.event GLOB 'pause: feed off*') AND {stands("m.entry")}
          ORDER BY m.entry DESC"""
        return _meals(back_to(self.db.execute(sql), since, 8))

    @reads_record
    def batches(self, since: int) -> list[BatchSeen]:
        """What happened to batches of feed since a UTC second, oldest first."""
        found = further_back(self.db, "batches", since, self._batches)
        return [one for one in found if one.at.utc >= since]

    def _batches(self, since: int) -> list[BatchSeen]:
        sql = f"""{_BATCH_SEEN} FROM batch b {_OF_BATCH}
          WHERE {stands("b.entry")} ORDER BY b.entry DESC"""
        return _batches(back_to(self.db.execute(sql), since, 13))

    @reads_record
    def batch(self, name: str) -> list[BatchSeen]:
        """All that ever happened to batches of a name, oldest first; a name may come again."""
        sql = f"""{_BATCH_SEEN} FROM batch b INDEXED BY batch_named {_OF_BATCH}
          WHERE b.batch = ? AND {stands("b.entry")}"""
        return _batches(self.db.execute(sql, (name,)))

    @reads_record
    def newest_batch(self, name: str) -> list[BatchSeen]:
        """All that happened to the newest batch of a name, oldest first, however old the name is.

        From the newest entry back to the one that begins it; all where none does.
        """
        began = f"""
          SELECT b.entry, b.event FROM batch b INDEXED BY batch_named
          WHERE b.batch = ? AND {stands("b.entry")} ORDER BY b.entry DESC"""
        since = next((n for n, event in self.db.execute(began, (name,)) if event in BEGINS), 0)
        sql = f"""{_BATCH_SEEN} FROM batch b INDEXED BY batch_named {_OF_BATCH}
          WHERE b.batch = ? AND b.entry >= ? AND {stands("b.entry")}"""
        return _batches(self.db.execute(sql, (name, since)))

    @reads_record
    def stock_batches(self, until: int = NO_END) -> list[BatchSeen]:
        """All that happened to tins of cysts and bags of feed, the newest, however old they are.

        Those that were empty by a UTC second are left out: after years they are nearly all.
        """
        sql = f"""
          SELECT s.batch FROM (
            SELECT b.batch, o.entry FROM batch_of o INDEXED BY batches_of
            CROSS JOIN batch b ON b.entry = o.entry
            WHERE o.kind = ? ORDER BY o.entry DESC LIMIT ?) s
          WHERE NOT EXISTS (
            SELECT 1 FROM batch x INDEXED BY batch_named CROSS JOIN entry e ON e.n = x.entry
            WHERE x.batch = s.batch AND x.entry > s.entry AND x.event = '{BatchEvent.EMPTY}'
              AND e.observed_at <= ? AND {stands("x.entry")})"""
        names = dict.fromkeys(
            name
            for kind in (BatchKind.CYSTS, BatchKind.FEED)
            for (name,) in self.db.execute(sql, (kind, STOCK_LOTS, until))
        )
        found = [one for name in names for one in self.newest_batch(name)]
        return sorted(found, key=lambda b: (b.at.utc, b.n))

    @reads_record
    def poured(self, since: int) -> list[PouredSeen]:
        """What was poured of batches since a UTC second, oldest first."""
        sql = f"""{_POURED_SEEN} FROM poured q NOT INDEXED {_OF_MEAL}
          WHERE {stands("q.entry")} ORDER BY q.entry DESC"""
        return _pourings(back_to(self.db.execute(sql), since, 9))

    @reads_record
    def poured_from(self, batch: str) -> list[PouredSeen]:
        """What was ever poured of batches of a name, oldest first; a name may come again."""
        sql = f"""{_POURED_SEEN} FROM poured q INDEXED BY poured_from {_OF_MEAL}
          WHERE q.batch = ? AND {stands("q.entry")}"""
        return _pourings(self.db.execute(sql, (batch,)))

    @reads_record
    def poured_after(self, since: Iterable[tuple[str, int, int]], until: int) -> dict[str, float]:
        """How many mL were poured of batches by a UTC second, each since a second and its entry.

        `since` is a batch's name, the second and the entry; one of which none was is not there.
        """
        sql = f"""
          SELECT asked.key, (
            SELECT sum(q.ml) FROM poured q INDEXED BY poured_from
            CROSS JOIN entry e ON e.n = q.entry
            WHERE q.batch = asked.key AND e.observed_at <= :until AND {stands("e.n")}
            AND (e.observed_at, e.n) >
              (json_extract(asked.value, '$[0]'), json_extract(asked.value, '$[1]')))
          FROM json_each(:since) asked"""
        asked = {"since": dumps({batch: (at, n) for batch, at, n in since}), "until": until}
        return {batch: ml for batch, ml in self.db.execute(sql, asked) if ml is not None}

    @reads_record
    def counts(self, entries: Iterable[int]) -> dict[int, list[CountSeen]]:
        """Sub-samples that were counted with some entries, by entry; none of one without any."""
        sql = """
          SELECT c.entry, c.what, c.ml, c.dilution, c.counts
          FROM json_each(?) asked CROSS JOIN counted c ON c.entry = asked.value"""
        found: dict[int, list[CountSeen]] = {}
        for entry, what, ml, times, counts in sorted(self.db.execute(sql, (list_of(entries),))):
            seen = CountSeen(what, ml, times, tuple(map(int, counts.split())))
            found.setdefault(entry, []).append(seen)
        return found

    @reads_record
    def samples(self, since: int) -> list[SampleSeen]:
        """Samples of fish taken since a UTC second, oldest first."""
        found = further_back(self.db, "samples", since, self._samples)
        return [one for one in found if one.at.utc >= since]

    def _samples(self, since: int) -> list[SampleSeen]:
        sql = f"""
          SELECT s.entry, p.code, s.what, s.looked_at, s.with_it, s.mean, s.sd, s.unit,
            e.observed_at, e.late_s, e.utc_offset, w.initials
          FROM sample s CROSS JOIN entry e ON e.n = s.entry CROSS JOIN person w ON w.id = e.who
          CROSS JOIN place p ON p.id = e.place
          WHERE {stands("s.entry")} ORDER BY s.entry DESC"""
        in_order = sorted(back_to(self.db.execute(sql), since, 8), key=itemgetter(8, 0))
        return [SampleSeen._make((*row[:8], Instant(row[8], row[10]), row[11])) for row in in_order]


def _meals(rows: Iterable[tuple[Any, ...]]) -> list[MealSeen]:
    """Rows of `_MEAL_SEEN`, oldest first."""
    in_order = sorted(rows, key=itemgetter(8, 0))
    return [MealSeen._make((*r[:8], Instant(r[8], r[10]), *r[11:])) for r in in_order]


def _batches(rows: Iterable[tuple[Any, ...]]) -> list[BatchSeen]:
    """Rows of `_BATCH_SEEN`, oldest first."""
    in_order = sorted(rows, key=itemgetter(13, 0))
    return [BatchSeen._make((*r[:13], Instant(r[13], r[15]), *r[16:])) for r in in_order]


def _pourings(rows: Iterable[tuple[Any, ...]]) -> list[PouredSeen]:
    """Rows of `_POURED_SEEN`, oldest first."""
    found = [PouredSeen._make((*r[:9], Instant(r[9], r[11]), *r[12:])) for r in rows]
    return sorted(found, key=lambda p: (p.at.utc, p.n, p.batch))
