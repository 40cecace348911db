"""The record as a data package: valid, whole, exact to the byte, and harmless in a spreadsheet."""

from __future__ import annotations

import hashlib
import json
import os
import resource
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest

from demo_support import whole
from export_support import NOW, demo_package, described, exported, table
from ledger_support import (
    Line,
    full_content,
    line,
    one_of_everything,
    opened,
    plainly,
    record,
    told,
)
from site_support import SMALL, surroundings, tankwalk
from tankwalk.cli import main
from tankwalk.commands import common
from tankwalk.exchange.aside import MADE, written_aside
from tankwalk.exchange.cells import Flavor, harmless, number_text
from tankwalk.exchange.package import Choice
from tankwalk.ledger import export
from tankwalk.ledger.entries import Note, Reading
from tankwalk.ledger.export_tables import READINGS, TABLES
from tankwalk.ledger.schema import DICTIONARIES, GUARDED
from tankwalk.ledger.store import FILE
from tankwalk.sums import sha256

HERE = Path(__file__).parent
GOLDEN = HERE / "data"

HOSTILE = ("=1+1", "+1", "-1", "@SUM(A1)", '=HYPERLINK("x","y")', "a, b", 'a "b"', "NA")
"""Words that a spreadsheet would run, and words that a CSV file has to quote."""


# ---- valid


@pytest.mark.long
def test_frictionless_finds_the_demo_valid_without_a_warning() -> None:
    assert faults_of(demo_package()) == []


@pytest.mark.parametrize("flavor", Flavor)
def test_frictionless_finds_one_of_everything_valid(tmp_path: Path, flavor: Flavor) -> None:
    assert faults_of(exported(tmp_path / "out", choice=Choice(flavor=flavor))) == []


def test_frictionless_finds_a_part_of_the_demo_valid(tmp_path: Path) -> None:
    part = tmp_path / "part"
    done = tankwalk(
        tmp_path, "export", str(part), "--site", str(whole()), "--tank", "T03", "--tank", "t04",
        "--item", "temp", "--from", "2026-05-01", "--to", "2026-05-02", now=NOW,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr.decode()
    assert faults_of(part) == []
    rows = table(part, "readings")
    assert {row["place"] for row in rows} == {"T03", "T04"}
    assert {row["item"] for row in rows} == {"temp"}
    assert {row["day"] for row in rows} == {"2026-05-01", "2026-05-02"}
    of_all = [
        row
        for row in table(demo_package(), "readings")
        if row["place"] in ("T03", "T04") and row["item"] == "temp"
        and "2026-05-01" <= row["day"] <= "2026-05-02"
    ]  # fmt: skip
    assert rows == of_all
    assert table(part, "meals") == []
    assert [row["day"] for row in table(part, "daily")] == ["2026-05-01", "2026-05-02"] * 2


def faults_of(folder: Path) -> list[object]:
    """What frictionless, a reader of data packages, has against one: errors and warnings."""
    from frictionless import validate

    report = validate(str(folder / "datapackage.json"))
    found = [*report.errors, *report.warnings, *report.flatten(["title", "message"])]
    found += [warning for task in report.tasks for warning in task.warnings]
    assert len(report.tasks) == len(described(folder)["resources"])
    return found


def test_a_package_that_was_altered_is_seen_by_frictionless_and_by_its_sums(tmp_path: Path) -> None:
    out = exported(tmp_path / "out")
    file = out / "notes.csv"
    assert _altered(out) == []
    file.write_text(file.read_text("utf-8").replace("smells", "smelts"), "utf-8")
    assert _altered(out) == ["notes.csv"]
    assert len(faults_of(out)) == 1


def _altered(folder: Path) -> list[str]:
    """Files that are not what SHA256SUMS says; every other file of the folder has a line there."""
    lines = (folder / "SHA256SUMS").read_text("utf-8").splitlines()
    sums = {name: digest for digest, name in (line.split("  ") for line in lines)}
    there = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert there - {"SHA256SUMS"} == {*sums}
    return [
        name for name, digest in sums.items()
        if hashlib.sha256((folder / name).read_bytes()).hexdigest() != digest
    ]  # fmt: skip


# ---- whole


NOT_EXPORTED = {"station"}
"""Tables that an export leaves out: its README says that the chain stays with the record."""

ELSEWHERE = {"transcribed": "the column typist of every table", "plan_version.text": "plans/"}

NOT_COLUMNS = {"call.phone", "imported.bundle", "bundle.id"}


def test_every_table_and_column_of_the_record_is_exported(tmp_path: Path) -> None:
    """By what stands in the SQL of the tables, and for dictionaries by their files."""
    said = " ".join(" ".join([t.rows, *(c.sql for c in t.columns), *t.order]) for t in TABLES)
    with record() as path, plainly(path) as db:
        for name in [*GUARDED, "imported"]:
            if name in {*DICTIONARIES, "entry", *ELSEWHERE}:
                continue
            assert f" {name} " in f"{said} ", f"no table is of {name}"
            columns = {row[1] for row in db.execute(f"PRAGMA table_info({name})")}
            of = [t for t in TABLES if f" {name} " in f"{t.rows} "]
            mine = " ".join(" ".join([t.rows, *(c.sql for c in t.columns)]) for t in of)
            alias = mine.split(f" {name} ")[1].split()[0]
            read = {c for c in columns - {"entry"} if f"{alias}.{c}" in f"{mine} "}
            left = {f"{name}.{column}" for column in columns - read - {"entry"}}
            assert left <= {*NOT_COLUMNS, *ELSEWHERE}
    files = {path.stem for path in exported(tmp_path / "out").glob("*.csv")}
    assert {"places", "items", "people", "meters", "bands", "workings"} <= files
    assert {*DICTIONARIES} - NOT_EXPORTED == {
        "kind", "place", "item", "person", "instrument", "band", "working",
    }  # fmt: skip


def test_the_readings_are_those_of_the_record_to_the_last_digit() -> None:
    rows = table(demo_package(), "readings")
    with plainly(whole() / FILE) as db:
        kept = db.execute(
            "SELECT n, place, item, value, unit, observed_utc, recorded_utc, who, flag, amended"
            " FROM readings_ever ORDER BY n"
        ).fetchall()
        suspect = {n for (n,) in db.execute("SELECT n FROM readings_judged WHERE suspect")}
        worked = set(db.execute("SELECT entry, of FROM part"))
    while more := {n for n, of in worked if of in suspect} - suspect:
        suspect |= more
    assert len(rows) == len(kept) > 9000
    for row, (n, place, item, value, unit, seen, entered, who, flag, amended) in zip(
        rows, kept, strict=True
    ):
        assert int(row["entry"]) == n
        assert (row["place"], row["item"], row["unit"], row["who"], row["flag"]) == (
            place, item, unit, who, flag,
        )  # fmt: skip
        assert (float(row["value"]) if row["value"] else None) == value
        assert _utc(row["observed"]) == seen
        assert _utc(row["recorded"]) == entered
        assert row["status"] == (
            "amended" if amended else "suspect" if n in suspect else "stands"
        ) or (amended and row["status"] == "withdrawn")
    assert {row["status"] for row in rows} == {"stands", "suspect", "amended"}


def _utc(text: str) -> str:
    moment = datetime.fromisoformat(text)
    offset = moment.utcoffset()
    assert offset is not None
    return (moment.replace(tzinfo=None) - offset).isoformat(" ")


def test_what_was_corrected_and_withdrawn_says_by_which_entry(tmp_path: Path) -> None:
    rows = {int(row["entry"]): row for row in table(exported(tmp_path / "out"), "readings")}
    corrected = [n for n, row in rows.items() if row["status"] == "amended"]
    withdrawn = [n for n, row in rows.items() if row["status"] == "withdrawn"]
    assert corrected
    assert withdrawn
    for n in corrected:
        assert rows[int(rows[n]["superseded_by"])]["supersedes"] == str(n)
    voids = {row["entry"]: row for row in table(tmp_path / "out", "withdrawn")}
    for n in withdrawn:
        assert voids[rows[n]["superseded_by"]]["supersedes"] == str(n)
        assert voids[rows[n]["superseded_by"]]["reason"] == "undone"


@pytest.mark.parametrize(
    "value", [0.1 + 0.2, 1 / 3, 17.536363636363635, 1e-9, 5e-324, 1.7976931348623157e308, 7.0, -0.5]
)
def test_a_number_comes_back_exactly(value: float) -> None:
    assert float(number_text(value)) == value
    assert number_text(7.0) == "7"


def test_the_plans_that_were_in_force_are_in_the_package() -> None:
    versions = table(demo_package(), "plan_versions")
    assert versions
    for row in versions:
        text = (demo_package() / row["file"]).read_bytes()
        assert sha256(text).hexdigest() == row["digest"]


# ---- exact to the byte


@pytest.mark.parametrize("flavor", Flavor)
def test_every_file_is_what_it_was_to_the_byte(tmp_path: Path, flavor: Flavor) -> None:
    """Of a record with one of everything, and words that are hostile to a spreadsheet."""
    out = exported(tmp_path / "out", hostile_lines(), Choice(flavor=flavor))
    content = b"".join(
        f"==> {path.name}\n".encode() + path.read_bytes() for path in sorted(out.glob("*.csv"))
    )
    golden = GOLDEN / f"export-{flavor.value}.txt"
    if os.environ.get("TANKWALK_GOLDEN") == "write":
        golden.write_bytes(content)
    assert content == golden.read_bytes()


def hostile_lines() -> list[Line]:
    lines = one_of_everything()
    lines += [
        line("note", 90 + k, Note(words), place="T01", reason=words)
        for k, words in enumerate(HOSTILE)
    ]
    lines.append(
        line(
            "reading", 99, Reading(1 / 3, "=1/3"), place="=cmd", item="temp", unit="degC", who="-A"
        )
    )
    return lines


def test_what_a_spreadsheet_would_run_is_made_safe_for_a_spreadsheet_alone(tmp_path: Path) -> None:
    plain = exported(tmp_path / "plain", hostile_lines())
    safe = exported(tmp_path / "safe", hostile_lines(), Choice(flavor=Flavor.SPREADSHEET))
    assert [row["text"] for row in table(plain, "notes")[-len(HOSTILE) :]] == [*HOSTILE]
    said = [row["text"] for row in table(safe, "notes")[-len(HOSTILE) :]]
    assert said == [harmless(words) for words in HOSTILE]
    assert [words for words in said if words.startswith("'")] == [f"'{w}" for w in HOSTILE[:5]]
    for file in safe.glob("*.csv"):
        content = file.read_bytes()
        assert content.startswith("\ufeff".encode())
        assert content.partition(b"\n")[0].endswith(b"\r")
        assert content.endswith(b"\r\n")
        for row in table(safe, file.stem):
            for name, cell in row.items():
                runs = cell.startswith(("=", "+", "@", "\t")) or name.startswith("=")
                assert not runs, (file.name, name, cell)
    last = table(safe, "readings")[-1]
    assert (last["place"], last["who"], last["text"]) == ("'=cmd", "'-A", "'=1/3")


# ---- a row a tank and day


def test_the_wide_table_is_what_the_long_one_comes_to() -> None:
    """Worked out anew from readings.csv: what stands, a second reading in place of its first."""
    import pandas as pd

    long = pd.read_csv(
        demo_package() / "readings.csv", keep_default_na=False, na_values=[""], low_memory=False
    )
    long = long[(long.status == "stands") & long.value.notna() & (long.item == "do")]
    again = long[long.recheck]
    assert len(again) > 1
    for _, one in again.iterrows():  # the first of the same round, place and item, out of band
        first = (long["round"] == one["round"]) & (long.place == one.place) & ~long.recheck
        long = long[~(first & long.flag.isin(["watch", "act", "urgent"]))]
    expected = long.groupby(["place", "day"]).value.agg(["mean", "min", "max", "count"])
    wide = pd.read_csv(
        demo_package() / "daily.csv", keep_default_na=False, na_values=[""], low_memory=False
    ).set_index(["place", "day"])
    columns = ["do_mg_L", "do_lowest_mg_L", "do_highest_mg_L", "do_looks"]
    found = wide[columns].dropna()
    assert len(found) == len(expected) > 200
    joined = found.join(expected, how="outer")
    for mine, theirs in zip(columns, expected.columns, strict=True):
        assert (joined[mine] - joined[theirs]).abs().max() < 1e-9, mine
    # Twelve tanks, two loops and the site: nothing is put together across them.
    assert wide.level.value_counts().index.tolist()[0] == "tank"
    tank = wide[wide.level == "tank"]
    assert tank.index.is_unique
    assert tank.dph.notna().all()


def test_the_dead_of_a_day_are_those_of_the_record() -> None:
    daily = {(row["place"], row["day"]): row for row in table(demo_package(), "daily")}
    rows = [
        row for row in table(demo_package(), "readings")
        if row["item"] == "morts" and row["status"] in ("stands", "suspect") and row["value"]
    ]  # fmt: skip
    last = {(row["place"], row["round"] or row["entry"]): row for row in rows}  # one a round
    dead: dict[tuple[str, str], int] = {}
    for row in last.values():
        key = row["place"], row["day"]
        dead[key] = dead.get(key, 0) + int(row["value"])
    assert len(dead) > 200
    assert {key: int(daily[key]["morts"]) for key in dead} == dead


# ---- beside others, and where the disk does not take it


def test_what_is_entered_while_it_is_exported_is_not_half_in_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A correction that comes between two portions is left out, and what it corrects stands."""
    monkeypatch.setattr(export, "PORTION", 3)
    lines = [
        line("reading", k, Reading(float(k), str(k)), place="T01", item="temp", unit="degC")
        for k in range(1, 10)
    ]
    with record() as path, opened(path) as ledger, export.opened(path) as kept:
        for one in lines:
            ledger.append(one.entry, *one.details)
        scope = export.Scope(9)
        seen = kept.portions(READINGS, scope)
        portions = [next(seen)]
        late = line("reading", 8, Reading(80.0, "80"), place="T01", item="temp", unit="degC")
        ledger.append(late.entry._replace(amends=8), *late.details)  # nobody is waited for
        portions += seen
    assert [len(one.rows) for one in portions] == [3, 3, 3]
    assert [one.amended for one in portions] == [{}, {}, {}]
    with record() as path, opened(path) as ledger, export.opened(path) as kept:
        for one in lines:
            ledger.append(one.entry, *one.details)
        ledger.append(late.entry._replace(amends=8), *late.details)
        after = [*kept.portions(READINGS, export.Scope(10))]
    assert after[2].amended == {8: (10, False)}


def test_a_folder_with_anything_in_it_is_left_as_it_is(tmp_path: Path) -> None:
    there = tmp_path / "out"
    there.mkdir()
    (there / "mine.txt").write_text("mine", "utf-8")
    assert told(lambda: exported(there)) == (
        f"{there} is there already: nothing was written. Name another folder."
    )
    assert [path.name for path in tmp_path.rglob("*")] == ["out", "mine.txt"]


def test_what_a_power_cut_left_is_cleared_and_what_others_put_there_is_not(tmp_path: Path) -> None:
    part = tmp_path / "out.partial"
    part.mkdir()
    (part / "mine.txt").write_text("mine", "utf-8")
    assert told(lambda: exported(tmp_path / "out")).startswith(f"{part} is in the way")
    (part / MADE).touch()
    exported(tmp_path / "out")
    assert not part.exists()
    assert not (tmp_path / "out" / MADE).exists()


def test_a_fault_in_the_midst_leaves_nothing(tmp_path: Path) -> None:
    def stopped() -> None:
        with written_aside(tmp_path / "out") as aside:
            aside.put("a.csv", "1")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert [*tmp_path.iterdir()] == []


@pytest.mark.parametrize("most", [10_000, 400_000])
def test_a_disk_that_takes_no_more_leaves_nothing_and_one_sentence(
    tmp_path: Path, most: int
) -> None:
    """By a limit of the system on the size of a file, which fails a write as a full disk does."""
    out = tmp_path / "out"
    done = subprocess.run(
        [sys.executable, "-m", "tankwalk", "export", out, "--site", whole(), "--now", NOW],
        env=surroundings(tmp_path / "home"), capture_output=True, check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most)),
    )  # fmt: skip
    assert done.returncode == 2
    said = done.stderr.decode().splitlines()
    (why,) = [one for one in said if not one.startswith("Writing the export: ")]  # where it is slow
    assert why.startswith(f"{out} cannot be written (")
    assert {path.name for path in tmp_path.iterdir()} <= {"home"}


def test_a_long_export_says_in_plain_lines_how_far_it_is_where_there_is_no_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(common, "FIRST_AFTER", 0)
    monkeypatch.setattr(common, "THEN_EVERY", 0)
    with record(full_content()) as path:
        (tmp_path / "site").mkdir()
        (tmp_path / "site" / FILE).write_bytes(path.read_bytes())
    (tmp_path / "site" / "plan.toml").write_text(SMALL, "utf-8")
    assert main(["export", str(tmp_path / "out"), "--site", str(tmp_path / "site")]) == 0
    told = capsys.readouterr().err
    assert "\r" not in told
    shares = [int(one.partition(": ")[2][:-1]) for one in told.splitlines()]
    assert len(shares) > 10
    assert shares == sorted(shares)
    assert told.startswith("Writing the export: ")


def test_a_day_a_place_or_an_item_that_is_none_is_refused(tmp_path: Path) -> None:
    for words, answer in (
        (["--from", "yesterday"], "is not a date and time"),
        (["--from", "2026-05-02", "--to", "2026-05-01"], "--from is later than --to"),
        (["--tank", "T99"], "'T99' is no place here (T01 T02 "),
        (["--item", "tmp"], "'tmp' is no item here ("),
        (["--parquet", "--flavor", "spreadsheet"], "goes with --flavor plain"),
    ):
        done = tankwalk(
            tmp_path, "export", str(tmp_path / "o"), "--site", str(whole()), *words, now=NOW
        )
        assert done.returncode == 2
        assert answer in done.stderr.decode()
        assert not (tmp_path / "o").exists()


def test_parquet_holds_what_the_csv_files_hold(tmp_path: Path) -> None:
    import pandas as pd

    out = exported(tmp_path / "out", choice=Choice(parquet=True))
    package = described(out)
    for one in package["resources"]:
        pages = pd.read_parquet(out / "parquet" / f"{one['name']}.parquet")
        rows = table(out, one["name"])
        assert [*pages.columns] == [field["name"] for field in one["schema"]["fields"]]
        assert len(pages) == len(rows) == one["rows"]
    readings = pd.read_parquet(out / "parquet" / "readings.parquet")
    rows = table(out, "readings")
    assert [None if pd.isna(v) else v for v in readings.value] == [
        float(row["value"]) if row["value"] else None for row in rows
    ]
    assert [t.isoformat(" ").partition("+")[0] for t in readings.observed] == [
        _utc(row["observed"]) for row in rows
    ]
    assert _altered(out) == []


def test_the_package_says_what_it_is_of() -> None:
    about = described(demo_package())["tankwalk"]
    seal = about["seal"]
    done = tankwalk(demo_package().parent, "check", "--seal", seal, "--site", str(whole()))
    assert done.returncode == 0, done.stdout.decode()
    assert about["entries"] == int(seal.partition("-")[0])
    readme = (demo_package() / "README.md").read_text("utf-8")
    assert seal in readme
    for path in demo_package().glob("*.csv"):
        assert f"| `{path.name}` |" in readme
    assert json.loads((demo_package() / "datapackage.json").read_text("utf-8"))["resources"]


@pytest.mark.parametrize("stretch", [1, 2, 7, 1000])
def test_rows_are_the_same_however_much_is_read_at_once(
    monkeypatch: pytest.MonkeyPatch, stretch: int
) -> None:
    def all_rows(path: Path) -> list[list[object]]:
        with export.opened(path) as kept:
            scope = export.Scope(kept.seal().number)
            return [[row for one in kept.portions(t, scope) for row in one.rows] for t in TABLES]

    with record(full_content()) as path:
        expected = all_rows(path)
        monkeypatch.setattr(export, "STRETCH", stretch)
        monkeypatch.setattr(export, "PORTION", 2)
        assert all_rows(path) == expected
        assert all(expected)
