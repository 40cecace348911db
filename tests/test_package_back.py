"""A data package read back into a new site: the same truth, entry by entry, or nothing at all."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from demo_support import whole
from export_support import demo_package, exported
from ledger_support import TROLLEY, fresh, full_content, record
from ledger_support import told as sentence
from site_support import moment, tankwalk
from tankwalk.cli import main
from tankwalk.clock import Instant
from tankwalk.exchange.incoming import package, read_back
from tankwalk.ledger import chain
from tankwalk.ledger.schema import DICTIONARIES, GUARDED
from tankwalk.ledger.store import FILE

NOW = "2026-06-01T12:00"


def now(zone: str) -> Instant:
    """The moment of these tests, in whichever zone."""
    return moment(NOW)


def said(db: sqlite3.Connection) -> dict[str, list[tuple[object, ...]]]:
    """All that a record says, in names, without digests and the numbers that were called."""
    tables = set(GUARDED) - set(DICTIONARIES) - {"entry", "reading", "derived", "call"}
    found = {table: f"SELECT * FROM {table}" for table in tables}
    found |= {view: f"SELECT * FROM {view}" for view in ("readings_ever", "derived_readings")}
    spine = "n, kind, observed_utc, recorded_utc, utc_offset, who, round, place, item, unit"
    found["entries"] = f"SELECT {spine}, amends, reason, amended FROM entries"
    found["call"] = "SELECT entry, whom, reached, said FROM call"
    return {name: sorted(db.execute(sql), key=repr) for name, sql in found.items()}


def test_one_of_everything_comes_back_as_it_was(tmp_path: Path) -> None:
    out = exported(tmp_path / "out")
    with record(full_content()) as path, closing(sqlite3.connect(path)) as db:
        before = said(db)
    with fresh() as ledger:
        with ledger.writing():
            read_back.fill(ledger, out, package.about(out).entries)
        after = said(ledger.db)
        assert chain.verify(ledger.db) is None
    for name, rows in before.items():
        assert after[name] == rows, name
    assert all(before[table] for table in before), "every table was compared"


def test_a_season_comes_back_and_is_exported_to_the_same_bytes(tmp_path: Path) -> None:
    out, back = demo_package(), tmp_path / "back"
    status = main(["import", str(out), "--to", str(back), "--keep", "--who", "PB", "--now", NOW])
    assert status == 0
    assert (back / "plan.toml").read_bytes() == (whole() / "plan.toml").read_bytes()
    again = tmp_path / "again"
    assert main(["export", str(again), "--site", str(back), "--now", NOW]) == 0
    same = [file for file in sorted(out.glob("*.csv")) if file.name != "notes.csv"]
    assert len(same) > 30
    for file in same:
        assert (again / file.name).read_bytes() == file.read_bytes(), file.name
    *notes, last = (again / "notes.csv").read_text("utf-8").splitlines()
    assert notes == (out / "notes.csv").read_text("utf-8").splitlines()
    assert f"seal {package.about(out).seal}." in last
    with closing(sqlite3.connect(back / FILE)) as db:
        assert chain.verify(db) is None


def test_a_package_that_is_not_as_it_was_written_makes_no_site(tmp_path: Path) -> None:
    out = Path(shutil.copytree(demo_package(), tmp_path / "out"))
    readings = out / "readings.csv"
    words = readings.read_text("utf-8")
    readings.write_text(words.replace(",stands,", ",amended,", 1), "utf-8")
    target = tmp_path / "back"
    told = sentence(lambda: read_back.new_site(out, target, TROLLEY, "PB", now))
    assert told == "The file readings.csv is not as it was exported: nothing was imported."
    assert not target.exists()


def test_a_row_that_is_missing_leaves_nothing_half(tmp_path: Path) -> None:
    """Whoever makes the checksums anew as well: half a season was written by then."""
    out = Path(shutil.copytree(demo_package(), tmp_path / "out"))
    lines = (out / "readings.csv").read_text("utf-8").splitlines(keepends=True)
    (out / "readings.csv").write_text("".join(lines[:5000] + lines[5001:]), "utf-8")
    (out / "SHA256SUMS").write_text("", "utf-8")
    target = tmp_path / "back"
    told = sentence(lambda: read_back.new_site(out, target, TROLLEY, "PB", now))
    assert "is missing from the package" in told
    assert list(target.iterdir()) == []


def test_nothing_is_written_over_and_a_part_is_no_site(tmp_path: Path) -> None:
    there = tmp_path / "there"
    there.mkdir()
    (there / "letter.txt").write_text("mine", "utf-8")
    done = tankwalk(tmp_path, "import", str(demo_package()), "--to", str(there), "--keep",
                    "--who", "PB")  # fmt: skip
    assert done.returncode == 2
    assert b"not empty" in done.stderr
    assert [one.name for one in there.iterdir()] == ["letter.txt"]
    part = tmp_path / "part"
    assert main(["export", str(part), "--site", str(whole()), "--tank", "T01", "--now", NOW]) == 0
    assert "a part of a record" in sentence(lambda: package.about(part))
    with pytest.raises(Exception, match="no data package"):
        package.about(tmp_path)


def test_a_package_is_shown_before_anything_is_made(tmp_path: Path) -> None:
    done = tankwalk(tmp_path, "import", str(demo_package()))
    assert done.returncode == 0
    assert b"To make a site of it: --to DIR --keep --who INITIALS" in done.stdout
    assert package.about(demo_package()).seal.encode() in done.stdout
