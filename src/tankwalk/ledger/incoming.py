"""Values on their way into the record: laid out beside it, looked at whole, then kept as one act.

They lie in tables of the connection's own, which SQLite puts on the disk where they are many, so
that a file of any length takes the same memory. Nothing of them is in the record before `put`,
and nothing stands before `Put.keep`; see `bundles`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any

from tankwalk.errors import Refusal
from tankwalk.ledger import bundles, turns
from tankwalk.ledger.entries import Entry, ImportFile, Series
from tankwalk.ledger.questions import stands
from tankwalk.ledger.series_sums import SeriesSum
from tankwalk.ledger.sqlite_errors import told
from tankwalk.ledger.store import Ledger
from tankwalk.rows import NamedTuple

Row = tuple[int, int, int, float, int, str | None]
"""A value: number of its series, UTC second, line of the file, value, below (0 or 1), the cell.

The cell is None where it is just the value as the record writes it.
"""

_MAKE = (
    "DROP TABLE IF EXISTS temp.lying",
    "DROP TABLE IF EXISTS temp.turned_down",
    "CREATE TEMP TABLE lying (nth INTEGER, at INTEGER, line INTEGER, value REAL, below INTEGER, "
    "typed TEXT, PRIMARY KEY (nth, at, line)) WITHOUT ROWID",
    "CREATE TEMP TABLE turned_down (line INTEGER, name TEXT, cell TEXT, reason TEXT)",
)

_OTHERS = """
SELECT b.id FROM series o JOIN import_file f ON f.entry = o.entry
JOIN bundle b ON b.entry = o.entry AND b.nth = o.nth
WHERE o.place = ? AND o.item = ? AND o.unit = ? AND o.last_at >= ? AND o.first_at <= ?
AND f.source = ? AND {stands}
"""


class Channel(NamedTuple):
    """Whose values they are: a place and an item of the plan, and the unit they are kept in."""

    place: str
    item: str
    unit: str


class TurnedDown(NamedTuple):
    """A cell that is not taken: its line of the file, its column's name, what it says, and why."""

    line: int
    name: str
    cell: str
    reason: str


class Laid(NamedTuple):
    """What lies ready of one series: how many, from when until when, and what stands beside.

    `known` were in the record already with the same value, and are not kept twice; `other` stand
    there with another value, and `looks` are moments at which a person entered one: both stay
    beside.
    """

    channel: Channel
    values: int
    first_at: int
    last_at: int
    low: float
    high: float
    known: int
    other: int
    looks: int


class Put(NamedTuple):
    """Values that were put into the record and do not stand yet: series, and where they lie."""

    ledger: Ledger
    series: list[Series]
    bundles: list[bundles.Bundle]

    def keep(self, record: Callable[..., int], entry: Entry, file: ImportFile) -> int:
        """All of it stands from now on, in one transaction; returns the number of its entry.

        `record` is what appends an entry with its details.
        """
        with self.ledger.writing():
            n = record(entry, file, *self.series)
            bundles.name(self.ledger.db, n, self.bundles)
        return n


class Incoming:
    """The values of one file; see the module."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._db = ledger.db
        self._numbers: dict[Channel, int] = {}
        self._laid: list[Laid] = []
        with told(ledger.path):
            for statement in _MAKE:
                self._db.execute(statement)
            self._own = not self._db.in_transaction
            if self._own:
                self._db.execute("BEGIN")

    def number(self, channel: Channel) -> int:
        """The number of a series, given on first use."""
        return self._numbers.setdefault(channel, len(self._numbers) + 1)

    def lay(self, rows: Iterable[Row]) -> None:
        """Lay more values beside the record."""
        with told(self._ledger.path):
            self._db.executemany(
                "INSERT INTO temp.lying (nth, at, line, value, below, typed) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                rows,
            )

    def turn_down(self, cells: Iterable[TurnedDown]) -> None:
        """Remember cells that are not taken."""
        with told(self._ledger.path):
            self._db.executemany("INSERT INTO temp.turned_down VALUES (?, ?, ?, ?)", cells)

    def settle(self, same_moment: str, source: str) -> list[Laid]:
        """All is laid out: one value a moment, none that the record has. What there is, in order.

        `same_moment` is why the second of two values of a moment is not taken; it names the first
        line by {line}. What other imports of the same `source` hold already is not kept twice.
        """
        db = self._db
        names = {number: channel for channel, number in self._numbers.items()}
        with told(self._ledger.path):
            twice = db.execute(
                "SELECT nth, at, min(line) FROM temp.lying GROUP BY nth, at HAVING count(*) > 1"
            ).fetchall()
            for nth, at, first in twice:
                more = "FROM temp.lying WHERE nth = ? AND at = ? AND line > ?"
                cells = db.execute(f"SELECT line, coalesce(typed, value) {more}", (nth, at, first))
                name = f"{names[nth].place} {names[nth].item}"
                reason = same_moment.format(line=first)
                self.turn_down(
                    [TurnedDown(line, name, str(cell), reason) for line, cell in cells.fetchall()]
                )
                db.execute(f"DELETE {more}", (nth, at, first))
            if self._own:
                db.execute("COMMIT")  # asking the record in it would keep others from writing
            self._laid = [
                self._laid_of(channel, nth, source) for channel, nth in self._numbers.items()
            ]
        return self._laid

    def _laid_of(self, channel: Channel, nth: int, source: str) -> Laid:
        db = self._db
        span = "SELECT min(at), max(at) FROM temp.lying WHERE nth = ?"
        first, last = db.execute(span, (nth,)).fetchone()
        known = other = looks = 0
        if first is not None:
            asked = (*channel, first, last)
            known_by = _OTHERS.format(stands=stands("o.entry"))
            others = self._asked(known_by, *asked, source)
            for (bundle,) in others:
                same, others_say = self._held(nth, bundle)
                known += same
                other += others_say
            ((looks,),) = self._asked(
                f"""SELECT count(*) FROM reading r
                WHERE r.place = (SELECT id FROM place WHERE code = ?)
                AND r.item = (SELECT id FROM item WHERE code = ? AND unit = ?)
                AND r.observed_at BETWEEN ? AND ? AND {stands("r.entry")}
                AND EXISTS (SELECT 1 FROM temp.lying WHERE nth = ? AND at = r.observed_at)""",
                *asked,
                nth,
            )
        many, first, last, low, high = db.execute(
            "SELECT count(*), coalesce(min(at), 0), coalesce(max(at), 0), coalesce(min(value), 0), "
            "coalesce(max(value), 0) FROM temp.lying WHERE nth = ?",
            (nth,),
        ).fetchone()
        return Laid(channel, many, first, last, low, high, known, other, looks)

    def _held(self, nth: int, bundle: int) -> tuple[int, int]:
        """How many values of a series an import has with the same value, and with another one.

        The first are taken away here. A stretch at a time, so that nobody waits long.
        """
        db, after, same, other = self._db, -(1 << 63), 0, 0
        some = (
            "SELECT l.at, i.value = l.value FROM imported i CROSS JOIN temp.lying l ON l.nth = ? "
            "AND l.at = i.at WHERE i.bundle = ? AND i.at > ? ORDER BY i.at LIMIT ?"
        )
        while rows := self._asked(some, nth, bundle, after, bundles.PORTION):
            twice = [(nth, at) for at, alike in rows if alike]
            if self._own:
                db.execute("BEGIN")
            db.executemany("DELETE FROM temp.lying WHERE nth = ? AND at = ?", twice)
            if self._own:
                db.execute("COMMIT")
            same, other = same + len(twice), other + len(rows) - len(twice)
            after = rows[-1][0]
        return same, other

    def _asked(self, sql: str, *words: object) -> list[tuple[Any, ...]]:
        """What the record answers, also where others write without a pause."""
        db, path = self._db, self._ledger.path
        return turns.patiently(db, path, lambda: db.execute(sql, words).fetchall())

    def first_values(self, many: int) -> list[tuple[Channel, int, float, bool, int, str]]:
        """The first values by their line: series, UTC second, value, below, line, the cell."""
        names = {number: channel for channel, number in self._numbers.items()}
        rows = self._db.execute(
            "SELECT nth, at, value, below, line, coalesce(typed, printf('%.10g', value)) "
            "FROM temp.lying ORDER BY line, nth LIMIT ?",
            (many,),
        )
        return [
            (names[nth], at, value, bool(below), line, typed)
            for nth, at, value, below, line, typed in rows
        ]

    def reasons(self) -> list[tuple[str, int]]:
        """Why cells are not taken, the most frequent first, and how many each."""
        return self._db.execute(
            "SELECT reason, count(*) AS many FROM temp.turned_down GROUP BY reason "
            "ORDER BY many DESC, min(line)"
        ).fetchall()

    def turned_down(self, most: int = -1) -> Iterable[TurnedDown]:
        """Cells that are not taken, by line; all of them where no number is given."""
        rows = self._db.execute(
            "SELECT line, name, cell, reason FROM temp.turned_down ORDER BY line, rowid LIMIT ?",
            (most,),
        )
        return map(TurnedDown._make, rows)

    @contextmanager
    def put(self) -> Iterator[Put]:
        """All that lies ready put into the record, a portion at a time, and nobody else's there.

        Nothing of it stands before `Put.keep`; where it does not come to that, it is taken away.

        Raises:
            Refusal: another file is being imported.
        """
        ledger = self._ledger
        with told(ledger.path), bundles.alone(ledger.path):
            bundles.sweep(ledger)
            series: list[Series] = []
            lying: list[bundles.Bundle] = []
            done = Put(ledger, series, lying)
            try:
                for one in self._laid:
                    if one.values:
                        whole = SeriesSum()
                        rows = whole.through(self._values(self._numbers[one.channel]))
                        lying.append(bundles.put(ledger, rows))
                        series.append(
                            Series(
                                len(series) + 1, *one.channel, whole.kept, whole.first_at,
                                whole.last_at, whole.digest,
                            )
                        )  # fmt: skip
                yield done
            except BaseException:
                with suppress(Refusal):  # a full disk: then the next import takes it away
                    bundles.sweep(ledger)
                raise

    def _values(self, nth: int) -> Iterator[bundles.Value]:
        """The values of a series that lie ready, in order of time."""
        some = (
            "SELECT at, value, below, line, typed FROM temp.lying WHERE nth = ? AND at > ? "
            "ORDER BY at LIMIT ?"
        )
        after = -(1 << 63)
        while rows := self._db.execute(some, (nth, after, bundles.PORTION)).fetchall():
            yield from rows
            after = rows[-1][0]

    def close(self) -> None:
        """Drop what lies here."""
        if self._own and self._db.in_transaction:
            self._db.execute("ROLLBACK")
        for statement in _MAKE[:2]:
            self._db.execute(statement)


def laid_out(
    ledger: Ledger, channels: Sequence[Channel], rows: Iterable[Row], same_moment: str = "{line}"
) -> Incoming:
    """Values of a few series laid out and settled, their numbers as given by `channels`."""
    made = Incoming(ledger)
    for channel in channels:
        made.number(channel)
    made.lay(rows)
    made.settle(same_moment, "")
    return made
