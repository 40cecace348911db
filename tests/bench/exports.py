"""Ratio 9: an export of everything against the sqlite3 tool writing the same columns as CSV.

The tool gets the order that suits it and as large a cache, and works out the same columns: who,
when with offset, status, the entry that corrects. Both are measured by the time their process
computed (user and system), in turn: an export waits for the disk at its end, the tool does not.

    python tests/bench/exports.py DIR [TIMES]      one site alone
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parent.parent))

from driving import Sites, ours
from rows import Row, against, median, mib, show

from tankwalk.ledger import export
from tankwalk.ledger.export_columns import As, Column
from tankwalk.ledger.export_tables import TABLES
from tankwalk.ledger.schema import KINDS

MOST = 2.0
"""Times the tool's."""

FLAT = 1.5
"""Times the memory of an export of a year."""


class Ran(NamedTuple):
    """What a process took: seconds it computed, and MiB at the most."""

    seconds: float
    memory: float


def exports(sites: Sites, times: int) -> list[Row]:
    """Ratio 9 on every site there is, and memory of the largest against that of a year."""
    found, memory = [], {}
    for name, site in (sites.full | sites.some("6.6 M")).items():
        mine, floor = [], []
        for _ in range(1 if name == "6.6 M" else times):
            floor.append(_tool(site))
            mine.append(_ours(site, sites.env))
        memory[name] = max(one.memory for one in mine)
        row = against(
            f"9 export, {name}", median([one.seconds for one in mine]),
            median([one.seconds for one in floor]), MOST,
        )  # fmt: skip
        # A start alone is more than a small record.
        found.append(row._replace(most="", holds="") if name == "demo" else row)
    if "6.6 M" in memory and "1 year" in memory:
        found.append(
            against("9 memory, 6.6 M against 1 year", memory["6.6 M"], memory["1 year"], FLAT, mib)
        )
    return found


def _ours(site: Path, env: dict[str, str]) -> Ran:
    with tempfile.TemporaryDirectory(dir=site.parent) as folder:
        return _run(ours(site, "export", f"{folder}/out"), env)


def _tool(site: Path) -> Ran:
    with tempfile.TemporaryDirectory(dir=site.parent) as folder:
        script = Path(folder) / "script.sql"
        script.write_text(script_of(Path(folder)), "utf-8")
        words = ["sqlite3", f"file:{site}/ledger.sqlite?mode=ro", f".read {script}"]
        return _run(words, {})


def _run(words: list[str], env: dict[str, str]) -> Ran:
    one = subprocess.Popen(words, stdout=subprocess.DEVNULL, env={**os.environ, **env})
    _, status, used = os.wait4(one.pid, 0)
    one.returncode = os.waitstatus_to_exitcode(status)
    assert one.returncode == 0, words
    return Ran(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def script_of(folder: Path) -> str:
    """What the tool is told: every table of an export, and a row a place, item and day."""
    lines = [f"PRAGMA cache_size = -{export.CACHE};", ".mode csv", ".headers on"]
    for table in TABLES:
        columns = ", ".join(f"{_sql(one)} AS {one.name}" for one in table.columns)
        order = ", ".join(table.order)
        lines += [
            f".output {folder}/{table.name}.csv", f"SELECT {columns} {table.rows} ORDER BY {order};"
        ]  # fmt: skip
    lines += [
        f".output {folder}/daily.csv",
        """SELECT p.code, i.code, date(r.observed_at - 18000, 'unixepoch') AS day, avg(r.value),
        min(r.value), max(r.value), count(*) FROM place p CROSS JOIN item i CROSS JOIN reading r
        ON r.place = p.id AND r.item = i.id WHERE r.value IS NOT NULL
        AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = r.entry)
        GROUP BY p.id, i.id, day;""",
    ]
    return "\n".join(lines) + "\n"


def _iso(second: str) -> str:
    return (
        f"strftime('%Y-%m-%dT%H:%M:%S', {second} + e.utc_offset * 60, 'unixepoch')"
        " || printf('%+03d:%02d', e.utc_offset / 60, abs(e.utc_offset) % 60)"
    )


def _sql(column: Column) -> str:
    """A column as an export writes it, in SQL."""
    sql = column.sql
    named = {
        As.PLACE: f"(SELECT code FROM place WHERE id = {sql})",
        As.ITEM: f"(SELECT code FROM item WHERE id = {sql})",
        As.UNIT: f"(SELECT unit FROM item WHERE id = {sql})",
        As.PERSON: f"(SELECT initials FROM person WHERE id = {sql})",
        As.METER: f"(SELECT code FROM instrument WHERE id = {sql})",
        As.FLAG: f"CASE {sql} WHEN 0 THEN 'ok' WHEN 1 THEN 'check' WHEN 2 THEN 'watch' WHEN 3 "
        "THEN 'act' ELSE 'urgent' END",
        As.YES_NO: f"CASE {sql} WHEN 1 THEN 'true' ELSE 'false' END",
        As.MOMENT: _iso(sql),
        As.OBSERVED: _iso("e.observed_at"),
        As.RECORDED: _iso("e.observed_at + e.late_s"),
        As.DAY: "date(e.observed_at + e.utc_offset * 60, 'unixepoch')",
        As.TYPIST: "(SELECT typist FROM transcribed WHERE entry = e.n)",
        As.STATUS: "CASE WHEN EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.n) THEN 'amended' "
        "ELSE 'stands' END",
        As.NEXT: "(SELECT max(a.n) FROM entry a WHERE a.amends = e.n)",
        As.SOURCE: f"CASE e.kind WHEN {KINDS['derived']} THEN 'worked out' ELSE 'entered' END",
        As.SITE: "'A room by the river'",
        As.PLAN_FILE: f"'plans/plan-' || {sql} || '.toml'",
    }
    return named.get(column.kind, sql)


def main() -> None:
    site = Path(sys.argv[1]).resolve()
    times = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    home = os.environ.get("TANKWALK_HOME", tempfile.gettempdir())
    show(exports(Sites(site.parent, {"TANKWALK_HOME": home}, {"1 year": site}), times))


if __name__ == "__main__":
    main()
