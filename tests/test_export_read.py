"""Exports read as docs/export.md says: by pandas, by R's rules, by the sqlite3 tool."""

from __future__ import annotations

import csv
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from demo_support import whole
from export_support import demo_package, described, exported, table
from ledger_support import line, plainly
from tankwalk.cli import main
from tankwalk.ledger.entries import Note
from tankwalk.ledger.store import FILE

DOCS = Path(__file__).parent.parent / "docs" / "export.md"


def blocks(language: str) -> list[str]:
    """The examples of the page in one language."""
    return re.findall(rf"```{language}\n(.*?)```", DOCS.read_text("utf-8"), re.DOTALL)


def test_the_commands_of_the_page_are_understood(tmp_path: Path) -> None:
    lines = [line.partition("#")[0].split() for line in blocks("sh")[0].splitlines()]
    assert len(lines) == 4
    for words in lines:
        assert words[:2] == ["tankwalk", "export"]
        out = tmp_path / words[2]
        main(["export", str(out), *words[3:], "--site", str(whole()), "--now", "2026-06-01T10:00"])
        assert (out / "readings.csv").exists()
        shutil.rmtree(out)


def test_the_files_that_the_page_names_are_there() -> None:
    named = {name for name in re.findall(r"`([a-z_]+\.csv)`", DOCS.read_text("utf-8"))}
    assert len(named) > 12
    assert named - {"read.csv"} <= {path.name for path in demo_package().iterdir()}


def test_the_example_in_pandas_says_what_the_record_says() -> None:
    done = subprocess.run(
        [sys.executable, "-c", blocks("python")[0]], cwd=demo_package(), text=True,
        capture_output=True, check=True,
    )  # fmt: skip
    low, of = map(int, re.findall(r"\d+", done.stdout.splitlines()[0])[:2])
    with plainly(whole() / FILE) as db:
        of_record = db.execute(
            """SELECT count(*), sum(value < json_extract(band, '$.watch_below')) FROM readings
            WHERE item = 'do' AND value IS NOT NULL"""
        ).fetchone()
    assert (of, low) == tuple(of_record)
    assert low > 0
    # Four treatments or so of as many tanks as the plan has: the last column counts tanks.
    counts = [int(line.split()[-1]) for line in done.stdout.splitlines()[3:]]
    tanks = [row for row in table(demo_package(), "places") if row["treatment"]]
    assert sum(counts) == len(tanks)


def by_the_tool(script: str, folder: Path) -> list[str]:
    """What the sqlite3 tool prints; where there is none, its `.import` and SQL by the library."""
    tool = shutil.which("sqlite3")
    if tool is not None:
        done = subprocess.run(
            [tool], input=script, cwd=folder, text=True, capture_output=True, check=True
        )
        assert done.stderr == ""
        return done.stdout.splitlines()
    with closing(sqlite3.connect(":memory:")) as db:
        for _, file, name in re.findall(r"^(\.import) (\S+) (\S+)$", script, re.MULTILINE):
            with (folder / file).open(encoding="utf-8", newline="") as stream:
                head, *rows = csv.reader(stream)
            db.execute(f"CREATE TABLE {name} ({', '.join(f'[{one}] TEXT' for one in head)})")
            marks = ", ".join("?" * len(head))
            db.executemany(f"INSERT INTO {name} VALUES ({marks})", rows)
        sql = re.sub(r"^\..*$", "", script, flags=re.MULTILINE)
        return [",".join(map(str, row)) for row in db.execute(sql)]


def test_the_example_for_the_sqlite3_tool_says_what_the_record_says() -> None:
    rows = [line.split(",") for line in by_the_tool(blocks("sql")[0], demo_package())]
    treated = {row["place"]: row["treatment"] for row in table(demo_package(), "places")}
    with plainly(whole() / FILE) as db:
        kept = db.execute(
            """SELECT place, value FROM readings_judged WHERE item = 'temp' AND NOT suspect
            AND value IS NOT NULL"""
        ).fetchall()
    for treatment, tanks, count, mean in rows:
        mine = [value for place, value in kept if treated.get(place) == treatment]
        assert int(count) == len(mine) > 100
        assert int(tanks) == sum(code == treatment for code in treated.values())
        assert float(mean) == pytest.approx(sum(mine) / len(mine), abs=0.0051)
    assert len(rows) == len({code for code in treated.values() if code})


# ---- R


def as_r_reads(file: Path) -> dict[str, str]:
    """The class of every column as R's `read.csv(file, na.strings = "")` has it.

    By the manual of `read.table` and `type.convert` of R (from memory; R is not installed here):
    quotes doubled, no comment character, header; a column whose cells but the missing are all T, F,
    TRUE, FALSE, true or false is logical, then integer (32 bits), then numeric, else character;
    one that is missing altogether is logical.
    """
    with file.open(encoding="utf-8", newline="") as lines:
        head, *rows = csv.reader(lines)
    assert len(set(head)) == len(head)
    assert all(re.fullmatch(r"[A-Za-z][A-Za-z0-9._]*", name) for name in head), "names stay"
    assert all(len(row) == len(head) for row in rows)
    found = {}
    for name, *cells in zip(head, *rows, strict=True):
        said = [cell for cell in cells if cell]
        if all(cell in {"T", "F", "TRUE", "FALSE", "true", "false"} for cell in said):
            found[name] = "logical"
        elif all(re.fullmatch(r"\s*[-+]?\d+\s*", c) and abs(int(c)) < 2**31 for c in said):
            found[name] = "integer"
        elif all(_number(cell) for cell in said):
            found[name] = "numeric"
        else:
            found[name] = "character"
    return found


def _number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


R_CLASSES = {
    "integer": {"integer"}, "number": {"integer", "numeric"}, "boolean": {"logical"},
    "string": {"character", "integer", "numeric", "logical"},  # codes that are all digits
    "date": {"character"}, "datetime": {"character"},
}  # fmt: skip


def test_r_would_read_every_column_as_the_package_says(tmp_path: Path) -> None:
    for folder in (demo_package(), exported(tmp_path / "out")):
        for one in described(folder)["resources"]:
            classes = as_r_reads(folder / one["path"])
            for field in one["schema"]["fields"]:
                missing = all(not row[field["name"]] for row in table(folder, one["name"]))
                allowed = R_CLASSES[field["type"]] | ({"logical"} if missing else set())
                assert classes[field["name"]] in allowed, (one["name"], field["name"])


def test_initials_that_mean_missing_elsewhere_stay_a_person(tmp_path: Path) -> None:
    import pandas as pd

    lines = [line("note", 2, Note("seen"), who="NA"), line("note", 3, Note("NA"), place="T01")]
    out = exported(tmp_path / "out", lines)
    notes = pd.read_csv(out / "notes.csv", keep_default_na=False, na_values=[""])
    assert [*notes.who] == ["NA", "CD"]
    assert [*notes.text] == ["seen", "NA"]
    assert [*notes.place.isna()] == [True, False]
