"""Questions about fish: what came, went, was counted and died."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from enum import StrEnum
from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.questions import Questions, list_of, stands
from tankwalk.ledger.schema import KINDS
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple


class What(StrEnum):
    """What a movement says of fish, by the words the record keeps."""

    STOCKED = "stocked"
    MOVED_IN = "moved in"
    MOVED_OUT = "moved out"
    CULLED = "culled"
    CANNIBALS = "cannibals"  # taken out alive
    SAMPLED = "sampled"  # and kept
    RETURNED = "returned"  # handled and put back: no change
    ESCAPED = "escaped"
    DEAD = "dead"  # a mass event: estimated, and not in the counts of the dead
    CENSUS = "census"


COMES_IN = (What.STOCKED, What.MOVED_IN)
"""What brings fish into a tank."""

GOES_OUT = (What.MOVED_OUT, What.CULLED, What.CANNIBALS, What.SAMPLED, What.ESCAPED, What.DEAD)
"""What takes fish out of a tank; the dead of daily counts are readings."""


class MovedFish(NamedTuple):
    """A movement as it stands: fish in or out of a place, put back, or counted there.

    `what` is a word of `What`, `plus_minus` in fish (95 %); `reason` the person's own words.
    """

    n: int
    what: str
    fish: int
    plus_minus: float | None
    method: str | None
    other_place: str | None
    at: Instant
    who: str
    reason: str | None = None


class DeadSeen(NamedTuple):
    """A count of the dead at a place, and how many of them had which cause."""

    n: int
    at: Instant
    fish: int
    who: str
    round: int | None
    causes: tuple[tuple[str, int], ...]


class CountSeen(NamedTuple):
    """A count at a place: how many, when, by whom, and in which round of which checklist."""

    fish: int
    at: Instant
    who: str
    round: int | None
    checklist: str | None


class StockQuestions(Questions):
    """Fish that came, went, were counted or died."""

    @reads_record
    def all_movements(self, places: Iterable[str], since: int = 0) -> dict[str, list[MovedFish]]:
        """Every movement of places since a UTC second that stands, oldest first.

        A place without any is not among them. Ask since the hatch of the lot, not for all years.
        """
        sql = f"""
          SELECT asked.value, e.n, m.what, m.fish, m.plus_minus, m.method, m.other_place,
            e.observed_at, e.utc_offset, w.initials, e.reason
          FROM json_each(:places) asked
          CROSS JOIN entry e INDEXED BY moved
            ON e.place = (SELECT id FROM place WHERE code = asked.value)
          CROSS JOIN movement m ON m.entry = e.n CROSS JOIN person w ON w.id = e.who
          WHERE e.kind = {KINDS["movement"]} AND e.observed_at >= :since AND {stands("e.n")}"""
        found: dict[str, list[MovedFish]] = {}
        asked = {"places": list_of(places), "since": since}
        for place, *row, at, offset, who, reason in self.db.execute(sql, asked):
            one = MovedFish._make((*row, Instant(at, offset), who, reason))
            found.setdefault(place, []).append(one)
        return {
            place: sorted(several, key=lambda one: (one.at.utc, one.n))
            for place, several in found.items()
        }

    @reads_record
    def deaths(
        self, since: Iterable[tuple[str, int]], item: str, unit: str
    ) -> dict[str, list[DeadSeen]]:
        """Every count of the dead at places that stands, each since its UTC second, with causes.

        Oldest first; a place without any is not among them. Two counts of one round are one count
        made again: `dead.one_a_round` of practice.
        """
        columns = """e.utc_offset, r.value, (SELECT initials FROM person WHERE id = e.who), e.round,
              json((SELECT json_group_array(json_array(m.cause, m.fish)) FROM mort m
                    WHERE m.entry = r.entry))"""
        return {
            place: [
                DeadSeen(n, Instant(at, offset), int(fish), who, number, tuple(map(tuple, causes)))
                for at, n, offset, fish, who, number, causes in counts
            ]
            for place, counts in self._counted(columns, since, item, unit)
        }

    @reads_record
    def counted_dead(
        self, since: Iterable[tuple[str, int]], item: str, unit: str
    ) -> dict[str, list[tuple[int | None, int]]]:
        """Every count of the dead at places, each since its UTC second: the round and the count.

        In order; a place without any is not among them.
        """
        return {
            place: [(number, int(value)) for *_, number, value in counts]
            for place, counts in self._counted("e.round, r.value", since, item, unit)
        }

    @reads_record
    def counts(
        self, since: Iterable[tuple[str, int]], item: str, unit: str
    ) -> dict[str, list[CountSeen]]:
        """Every count of an item at places that stands, each since its UTC second, oldest first.

        A place without any is not among them.
        """
        columns = """e.utc_offset, r.value, (SELECT initials FROM person WHERE id = e.who), e.round,
              CASE WHEN e.round IS NOT NULL THEN (
                SELECT o.checklist FROM round o INDEXED BY round_number
                WHERE o.entry < r.entry AND o.number = e.round ORDER BY o.entry DESC LIMIT 1) END"""
        return {
            place: [
                CountSeen(int(value), Instant(at, offset), who, number, checklist)
                for at, _, offset, value, who, number, checklist in counts
            ]
            for place, counts in self._counted(columns, since, item, unit)
        }

    def _counted(
        self, columns: str, since: Iterable[tuple[str, int]], item: str, unit: str
    ) -> Iterator[tuple[str, list[list[Any]]]]:
        """Counts of an item at places that stand: UTC second, entry and `columns`, in order."""
        # An inner question for each place: in one join SQLite may walk through all readings first,
        # for a filter (BLOOM), where its statistics are of a record's first day.
        sql = f"""
          SELECT asked.key, (
            SELECT json_group_array(json_array(r.observed_at, r.entry, {columns}))
            FROM reading r CROSS JOIN entry e ON e.n = r.entry
            WHERE r.place = (SELECT id FROM place WHERE code = asked.key)
            AND r.item = (SELECT id FROM item WHERE code = :item AND unit = :unit)
            AND r.observed_at >= asked.value AND r.value IS NOT NULL AND {stands("r.entry")})
          FROM json_each(:since) asked"""
        asked = {"since": json.dumps(dict(since)), "item": item, "unit": unit}
        for place, counts in self.db.execute(sql, asked):
            if counts != "[]":
                yield place, sorted(json.loads(counts), key=_when)


def _when(count: list[float]) -> list[float]:
    """When a count was made, and its entry: the order in which counts come."""
    return count[:2]
