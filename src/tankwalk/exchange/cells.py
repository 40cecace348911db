"""Cells of exported tables: values of the record as the text of a CSV file, a column at a time.

The same record gives the same bytes. A number is the shortest text that gives it back exactly, a
moment is ISO 8601 with its offset, what is missing an empty cell. Words are as they were kept; in
the spreadsheet flavor alone what a spreadsheet would run gets an apostrophe in front.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date
from enum import Enum
from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.export import BASE, Names, Portion
from tankwalk.ledger.export_columns import FLAGS, SOURCE, As, Column, Table
from tankwalk.ledger.schema import KINDS

RUNS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""What a spreadsheet takes for the beginning of a formula."""


_TO_QUOTE = re.compile('[,"\r\n]').search


class Flavor(Enum):
    """For whom files are written: programs, or a spreadsheet."""

    PLAIN = "plain"
    SPREADSHEET = "spreadsheet"

    @property
    def line_end(self) -> str:
        return "\r\n" if self is Flavor.SPREADSHEET else "\n"

    @property
    def mark(self) -> str:
        """What a file begins with: spreadsheets need it to know UTF-8."""
        return "\ufeff" if self is Flavor.SPREADSHEET else ""


def harmless(words: str) -> str:
    """Words that a spreadsheet would take for a formula, so that it does not."""
    return f"'{words}" if words.startswith(RUNS) else words


def quoted(words: str) -> str:
    """Words as a cell of a CSV file (RFC 4180)."""
    if _TO_QUOTE(words):
        return '"' + words.replace('"', '""') + '"'
    return words


def number_text(value: float) -> str:
    """A number as the shortest text that gives it back; a whole one without a decimal point."""
    said = repr(value)
    return said[:-2] if said.endswith(".0") else said


class Kept(dict[Any, str]):
    """Texts of values that were written before; missing values are empty cells."""

    MOST = 100_000

    def __init__(self, make: Callable[[Any], str]) -> None:
        super().__init__()
        self._make = make
        self[None] = ""

    def __missing__(self, value: Any) -> str:
        if len(self) > self.MOST:  # a long record has many numbers: memory stays flat
            self.clear()
            self[None] = ""
        text = self[value] = self._make(value)
        return text


class Cells:
    """What turns portions of the record into lines of CSV."""

    def __init__(
        self, names: Names, suspect: Collection[int], site: str, flavor: Flavor = Flavor.PLAIN
    ) -> None:
        self.flavor = flavor
        self._suspect = suspect
        self._site = self.words(site)
        self._words = Kept(self.words)
        self._numbers = Kept(number_text)
        self._whole = Kept(str)
        self._days = Kept(lambda day: date.fromordinal(719163 + day).isoformat())
        self._clock = [f"T{s // 3600:02d}:{s // 60 % 60:02d}:{s % 60:02d}" for s in range(86400)]
        self._offsets = Kept(offset_text)
        self._by: dict[As, dict[Any, str]] = {
            As.WHOLE: self._whole,
            As.NUMBER: self._numbers,
            As.WORDS: self._words,
            As.YES_NO: {0: "false", 1: "true", None: ""},
            As.PLACE: self._named(names.places),
            As.ITEM: self._named({n: code for n, (code, _) in names.items.items()}),
            As.UNIT: self._named({n: unit for n, (_, unit) in names.items.items()}),
            As.PERSON: self._named(names.people),
            As.METER: self._named(names.meters),
            As.FLAG: dict(enumerate(FLAGS)),
            As.PLAN_FILE: Kept(plan_file),
        }

    def words(self, said: str) -> str:
        """Words as a cell."""
        return quoted(harmless(said) if self.flavor is Flavor.SPREADSHEET else said)

    def _named(self, names: dict[int, str]) -> dict[Any, str]:
        return {None: "", **{n: self.words(name) for n, name in names.items()}}

    def cell(self, value: str | float | bool | date | None) -> str:
        """One value that is not of the record, as a cell."""
        if isinstance(value, bool):
            return self._by[As.YES_NO][int(value)]
        if isinstance(value, int):
            return str(value)
        if isinstance(value, float):
            return number_text(value)
        if isinstance(value, date):
            return value.isoformat()
        return "" if value is None else self.words(value)

    def line(self, cells: Iterable[str]) -> str:
        """Cells as a line, with its end."""
        return ",".join(cells) + self.flavor.line_end

    def head(self, columns: Sequence[str]) -> str:
        """The first line of a file."""
        return self.flavor.mark + self.line(map(self.words, columns))

    def lines(self, table: Table, portion: Portion) -> str:
        """Rows of a table as lines."""
        sources = [*zip(*portion.rows, strict=True)]
        base = dict(zip(BASE, sources, strict=False))
        entries, offsets = base["e.n"], base["e.utc_offset"]
        seen = self._moments(base["e.observed_at"], offsets)
        made: dict[As, Sequence[str]] = {As.OBSERVED: seen, As.DAY: [one[:10] for one in seen]}
        columns: list[Iterable[str]] = []
        for nth, column in enumerate(table.columns, len(BASE)):
            if column.kind in made:
                columns.append(made[column.kind])
            elif column.kind is As.WHOLE and column.needed:
                columns.append(map(str, sources[nth]))  # seldom the same twice
            elif column.kind in self._by:
                columns.append(map(self._by[column.kind].__getitem__, sources[nth]))
            elif column.kind is As.MOMENT:
                columns.append(self._moments(sources[nth], offsets))
            elif column.kind is As.RECORDED:
                late = base["e.late_s"]
                entered = map(int.__add__, base["e.observed_at"], late)
                columns.append(self._moments([*entered], offsets) if any(late) else seen)
            else:
                columns.append(self._of_entries(column, portion, entries, base["e.kind"]))
        end = self.flavor.line_end
        return end.join(map(",".join, zip(*columns, strict=True))) + end

    def _moments(self, seconds: Sequence[int | None], offsets: Sequence[int]) -> list[str]:
        """UTC seconds as ISO 8601, each at its offset in minutes."""
        days, clock, zones = self._days, self._clock, self._offsets
        return [
            ""
            if second is None
            else f"{days[(second + offset * 60) // 86400]}{clock[(second + offset * 60) % 86400]}"
            f"{zones[offset]}"
            for second, offset in zip(seconds, offsets, strict=True)
        ]

    def _of_entries(
        self, column: Column, portion: Portion, entries: Sequence[int], kinds: Sequence[int]
    ) -> Iterable[str]:
        """Columns that say how an entry stands in the record."""
        amended, typists = portion.amended, portion.typists
        match column.kind:
            case As.SITE:
                return [self._site] * len(entries)
            case As.TYPIST:
                return [self._words[typists.get(n)] for n in entries]
            case As.NEXT:
                return [str(amended[n][0]) if n in amended else "" for n in entries]
            case As.SOURCE:
                worked = KINDS["derived"]
                return [
                    SOURCE[2] if n in typists else SOURCE[1] if kind == worked else SOURCE[0]
                    for n, kind in zip(entries, kinds, strict=True)
                ]
            case As.STATUS:
                return [
                    ("withdrawn" if amended[n][1] else "amended")
                    if n in amended
                    else "suspect"
                    if n in self._suspect
                    else "stands"
                    for n in entries
                ]
        raise AssertionError(column)


def plan_file(entry: int) -> str:
    """Where the plan that was in force from an entry on lies in the package."""
    return f"plans/plan-{entry}.toml"


def moment_text(moment: Instant) -> str:
    """A moment as every cell has it, to the second."""
    return f"{moment.wall.isoformat(timespec='seconds')}{offset_text(moment.offset)}"


def offset_text(minutes: int) -> str:
    """The wall clock's offset from UTC, as ISO 8601 has it."""
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"
