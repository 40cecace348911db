"""The record as a data package: CSV files, what their columns mean, the plans, and checksums.

`datapackage.json` follows the Data Package and Table Schema specifications, version 1.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from tankwalk import __version__
from tankwalk.clock import Instant
from tankwalk.exchange import package_words
from tankwalk.exchange.aside import Aside, Written, written_aside
from tankwalk.exchange.cells import Cells, Flavor, moment_text, plan_file
from tankwalk.exchange.package_lists import Listed, lists
from tankwalk.exchange.wide import Wide
from tankwalk.ledger import export
from tankwalk.ledger.export_columns import As, Column, Table
from tankwalk.ledger.export_tables import TABLES
from tankwalk.plan.model import Plan
from tankwalk.rows import NamedTuple

TYPES = {
    As.WHOLE: "integer", As.NUMBER: "number", As.YES_NO: "boolean", As.MOMENT: "datetime",
    As.OBSERVED: "datetime", As.RECORDED: "datetime", As.DAY: "date", As.NEXT: "integer",
}  # fmt: skip
"""The Table Schema type of what a column holds; all else is a string."""


class Choice(NamedTuple):
    """What of a record is exported, and how.

    `since` and `until` are moments, both inside; `days` are the words they were asked by.
    """

    since: Instant | None = None
    until: Instant | None = None
    places: tuple[str, ...] = ()
    items: tuple[str, ...] = ()
    flavor: Flavor = Flavor.PLAIN
    parquet: bool = False

    def scope(self, last: int) -> export.Scope:
        """The same as the record is asked for it, up to an entry."""
        scope = export.Scope(last, places=self.places, items=self.items)
        if self.since is not None:
            scope = scope._replace(since=self.since.utc)
        return scope if self.until is None else scope._replace(until=self.until.utc)


class Made(NamedTuple):
    """A table that was written: its name, its file, and how many rows it has."""

    name: str
    file: str
    rows: int


class Exported(NamedTuple):
    """What was written: every table, the seal of the record it is of, and how many files."""

    tables: tuple[Made, ...]
    seal: str
    files: int
    size: int


def write(
    record: Path,
    plan: Plan,
    now: Instant,
    target: Path,
    choice: Choice,
    progress: Callable[[float], None] | None = None,
) -> Exported:
    """Write a record as a data package into a new folder, whole or not at all."""
    with export.opened(record) as kept, written_aside(target) as aside:
        seal = kept.seal()
        scope = choice.scope(seal.number)
        names = kept.names()
        suspect = kept.suspect(scope.last)
        cells = Cells(names, suspect, plan.name, choice.flavor)
        package = _Package(aside, cells, choice, scope)
        for one in lists(plan, names, kept.imported_places()):
            package.listed(one)
        for nth, table in enumerate(TABLES):
            package.table(table, kept.portions(table, scope), _shares(progress, nth))
        package.wide(Wide(kept, plan, scope, cells, names, suspect))
        for n, text in kept.plan_texts(scope):
            aside.put(plan_file(n), text)
        if choice.parquet:
            from tankwalk.exchange import parquet

            parquet.beside(aside, package.resources)
        package.describe(plan, now, seal.words)
        if progress is not None:
            progress(1)
    return Exported(
        tuple(package.made), seal.words, len(aside.written), sum(o.size for o in aside.written)
    )


def _shares(progress: Callable[[float], None] | None, nth: int) -> Callable[[float], None] | None:
    """How far a table is, as a part of the whole: readings take two thirds of the time."""
    if progress is None:
        return None
    begun, part = (0.0, 0.6) if nth == 0 else (0.6 + 0.2 * nth / len(TABLES), 0.2 / len(TABLES))
    return lambda share: progress(min(0.99, begun + part * share))


class _Package:
    """The package while it is written: its folder, and what is said of every file."""

    def __init__(self, aside: Aside, cells: Cells, choice: Choice, scope: export.Scope) -> None:
        self.aside, self.cells, self.choice, self.scope = aside, cells, choice, scope
        self.resources: list[dict[str, Any]] = []
        self.made: list[Made] = []

    def listed(self, one: Listed) -> None:
        """A short table that is handed in whole."""
        with self.aside.file(f"{one.name}.csv") as sink:
            sink.write(self.cells.head([column.name for column in one.columns]))
            for row in one.rows:
                sink.write(self.cells.line(map(self.cells.cell, row)))
        self._resource(one.name, one.says, one.columns, one.key, len(one.rows))

    def table(
        self,
        table: Table,
        portions: Any,
        progress: Callable[[float], None] | None,
    ) -> None:
        """A table of entries, some rows at once."""
        rows = 0
        with self.aside.file(f"{table.name}.csv") as sink:
            sink.write(self.cells.head([column.name for column in table.columns]))
            for portion in portions:
                sink.write(self.cells.lines(table, portion))
                rows += len(portion.rows)
                if progress is not None:
                    progress(portion.share)
        self._resource(table.name, table.says, table.columns, table.key, rows)

    def wide(self, wide: Wide) -> None:
        """The table of a row a place and day."""
        rows = 0
        with self.aside.file("daily.csv") as sink:
            sink.write(self.cells.head([column.name for column in wide.columns]))
            for line in wide.lines():
                sink.write(line)
                rows += 1
        self._resource("daily", package_words.DAILY, wide.columns, ("place", "day"), rows)

    def _resource(
        self, name: str, says: str, columns: Sequence[Column], key: Sequence[str], rows: int
    ) -> None:
        written = self.aside.written[-1]
        self.made.append(Made(name, written.name, rows))
        spreadsheet = self.choice.flavor is Flavor.SPREADSHEET
        self.resources.append(
            {
                "name": name,
                "path": written.name,
                "description": says,
                "profile": "tabular-data-resource",
                "scheme": "file",
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8-sig" if spreadsheet else "utf-8",
                "bytes": written.size,
                "hash": f"sha256:{written.digest}",
                "rows": rows,
                "dialect": {
                    "delimiter": ",",
                    "lineTerminator": self.choice.flavor.line_end,
                    "quoteChar": '"',
                    "doubleQuote": True,
                    "header": True,
                },
                "schema": {
                    "fields": [_field(column) for column in columns],
                    "missingValues": [""],
                    "primaryKey": [*key],
                    **_foreign(columns),
                },
            }
        )

    def describe(self, plan: Plan, now: Instant, seal: str) -> None:
        """What the whole package says of itself, and the checksums of all of it, at the end."""
        about = {
            "version": __version__, "site": plan.name, "zone": plan.zone, "seal": seal,
            "entries": self.scope.last, "flavor": self.choice.flavor.value,
            "part": _part(self.choice),
        }  # fmt: skip
        self._put_json(
            "datapackage.json",
            {
                "profile": "tabular-data-package",
                "name": "tankwalk-export",
                "title": f"{plan.name}: the record up to entry {self.scope.last}",
                "description": package_words.DESCRIPTION,
                "created": moment_text(now),
                "tankwalk": about,
                "resources": self.resources,
            },
        )
        self.aside.put("README.md", package_words.readme(plan, now, about, self.made))
        sums = sorted(self.aside.written, key=lambda one: one.name)
        self.aside.put("SHA256SUMS", "".join(map(_sum_line, sums)))

    def _put_json(self, name: str, value: object) -> None:
        self.aside.put(name, json.dumps(value, indent=1, ensure_ascii=False) + "\n")


def _sum_line(one: Written) -> str:
    """A line as sha256sum -c reads it."""
    return f"{one.digest}  {one.name}\n"


def _part(choice: Choice) -> dict[str, Any] | None:
    """Which part of the record it is; None where it is all of it."""
    said = {
        "from": choice.since and choice.since.iso(),
        "to": choice.until and choice.until.iso(),
        "tanks": [*choice.places],
        "items": [*choice.items],
    }
    return {key: value for key, value in said.items() if value} or None


def _field(column: Column) -> dict[str, Any]:
    """A column as Table Schema has it; its unit beside, as the specification knows none."""
    limits: dict[str, Any] = {}
    if column.needed:
        limits["required"] = True
    if column.one_of:
        limits["enum"] = [*column.one_of]
    return {
        "name": column.name,
        "type": TYPES.get(column.kind, "string"),
        "description": column.says,
        **({"unit": column.unit} if column.unit else {}),
        **({"constraints": limits} if limits else {}),
    }


def _foreign(columns: Sequence[Column]) -> dict[str, Any]:
    """What the columns of a table refer to."""
    found: list[dict[str, Any]] = []
    for column in columns:
        if column.refers:
            table, _, field = column.refers.partition(".")
            found.append({
                "fields": [column.name], "reference": {"resource": table, "fields": [field]},
            })  # fmt: skip
    if any(column.kind is As.UNIT for column in columns):
        found.append({
            "fields": ["item", "unit"],
            "reference": {"resource": "items", "fields": ["item", "unit"]},
        })  # fmt: skip
    return {"foreignKeys": found} if found else {}
