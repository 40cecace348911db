"""Files of others brought in: understood or asked about, refused by cell, undone whole."""

from __future__ import annotations

import csv
import json
import sqlite3
from itertools import pairwise
from pathlib import Path

import pytest

from import_support import LATER, keep, said, tried, understood, values, written
from ledger_support import told as sentence
from site_support import opened, seen_before, tankwalk, typed_lines, write_plan
from tankwalk.exchange.incoming.understanding import Told
from tankwalk.ledger import chain
from tankwalk.practice.importing import keeping

LOGGER = """\
"Plot Title: sump stick"
"#","Date Time, GMT-05:00","Temp, °F (S/N: 123)","Marked"
1,05/09/26 06:00:00 AM,64.4,
2,05/09/26 06:15:00 AM,64.4,
3,05/09/26 06:30:00 PM,---,
4,05/13/26 12:45:00 AM,66.2,
5,05/13/26 01:00:00 AM,n/a (broken),
6,05/13/26 01:15:00 AM,644,
7,05/13/26 01:30:00 AM,64.4x,
8,05/13/26 01:45:00 AM,68.0,
9,05/13/26 01:45:00 AM,68.2,
"""

HERE = Told(place="T01")


def test_a_logger_with_title_lines_and_units_in_its_head_is_understood(tmp_path: Path) -> None:
    view = understood(tmp_path, LOGGER, HERE)
    assert (view.head, view.first, view.taken) == (2, 3, 4)
    assert said(view) == [
        "T01 temp 18.0 degC 2026-05-09T06:00-05:00",
        "T01 temp 18.0 degC 2026-05-09T06:15-05:00",
        "T01 temp 19.0 degC 2026-05-13T00:45-05:00",
        "T01 temp 20.0 degC 2026-05-13T01:45-05:00",
    ]
    assert view.without == (("---", 1), ("n/a (broken)", 1))
    assert [(one.line, one.cell) for one in view.refused] == [
        (8, "644"), (9, "64.4x"), (11, "68.2"),
    ]  # fmt: skip
    assert view.refused[0].reason == "Temperature is never outside -1 to 35 degC."
    assert view.refused[2].reason == "Line 10 has a value of the same moment."


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("time;T01 temp\n09.05.2026 06:00;17,5\n13.05.2026 07:00;1,7E1\n",
         "T01 temp 17.5 degC 2026-05-09T06:00-05:00"),
        ("Date\tTime\tTank\tTemp (C)\tDO mg/L\n2026-05-09\t6:00 PM\tTank 1\t17.5\t8.1\n",
         "T01 temp 17.5 degC 2026-05-09T18:00-05:00"),
        ("timestamp,tank,parameter,value,unit\n2026-05-09T06:00:00Z,t1,Water temp,63.5,°F\n",
         "T01 temp 17.5 degC 2026-05-09T01:00-05:00"),
        ("time,T1,T2\n9 May 2026 06:00,17.5,18\n", "T01 temp 17.5 degC 2026-05-09T06:00-05:00"),
        ("time,T01 temp\nUTC,degree_C\n2026-05-09T11:00,17.5\n2026-05-09T12:00,18\n",
         "T01 temp 17.5 degC 2026-05-09T06:00-05:00"),
        ("time,tz_cd,T01 temp\n2026-05-09 06:00,EST,17.5\n",
         "T01 temp 17.5 degC 2026-05-09T06:00-05:00"),
        ("epoch time,T01 temp\n1778324400,17.5\n1778325300,17.6\n",
         "T01 temp 17.5 degC 2026-05-09T06:00-05:00"),
        ("sep=|\nTime|T01 temp\n20260509 06:00|17.5\n",
         "T01 temp 17.5 degC 2026-05-09T06:00-05:00"),
    ],
)  # fmt: skip
def test_the_ways_in_which_files_are_written(tmp_path: Path, words: str, first: str) -> None:
    view = understood(tmp_path, words, Told(item="temp"))
    assert view.asks == ()
    # EST is five hours behind all year; the test room's clock is at -05:00 in May.
    assert said(view)[0] == first


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_bytes_are_read_as_they_were_written(tmp_path: Path, encoding: str) -> None:
    words = "time,T01 temp (°C)\n2026-05-09 06:00,17.5\n2026-05-09 06:15,17.6\n"
    view = understood(tmp_path, words, encoding=encoding)
    assert [name for name, _ in view.columns] == ["time", "T01 temp (°C)"]
    assert view.taken == 2


def test_a_date_that_can_be_both_is_asked_about_and_nothing_is_read(tmp_path: Path) -> None:
    words = "time,T01 temp\n03/04/2026 06:00,17.5\n05/04/2026 06:00,17.6\n"
    view = understood(tmp_path, words)
    assert [(one.words, one.flag) for one in view.asks] == [
        ("Is '03/04/2026 06:00' day first or month first? Every date of the file can be both.",
         "--dates day-first"),
    ]  # fmt: skip
    assert view.taken == 0
    assert said(understood(tmp_path, words, Told(dates="day-first")))[0].endswith(
        "2026-04-03T06:00-05:00"
    )
    assert said(understood(tmp_path, words, Told(dates="month-first")))[0].endswith(
        "2026-03-04T06:00-06:00"
    )


def test_a_column_of_places_under_another_word_is_named_in_the_question(tmp_path: Path) -> None:
    words = "Datum;Becken;Temp (C)\n13.05.2026 00:00;T01;17,5\n13.05.2026 00:05;T09x;17,5\n"
    words += "13.05.2026 00:10;T01;17,6\n"
    [asked] = understood(tmp_path, words).asks
    assert asked.words == "Where was it? 'Becken' holds places of the plan."
    assert asked.flag == '--column "Becken=place"'
    told = Told(columns={"Becken": "place"})
    assert said(understood(tmp_path, words, told))[0].startswith("T01 temp 17.5 degC")


def test_a_date_that_shows_its_order_speaks_for_all(tmp_path: Path) -> None:
    words = "time,T01 temp\n03/04/2026 06:00,17.5\n13/04/2026 06:00,17.6\n"
    assert said(understood(tmp_path, words))[0].endswith("2026-04-03T06:00-05:00")


def test_what_nothing_says_is_asked_with_the_words_that_answer_it(tmp_path: Path) -> None:
    view = understood(tmp_path, "time,reading\n2026-05-09 06:00,17.5\n2026-05-09 07:00,17.5\n")
    assert {one.flag for one in view.asks} == {'--column "reading=temp"', "--place T01"}
    view = understood(tmp_path, "time,air temp\n2026-05-09 06:00,17.5\n2026-05-09 07:00,17.5\n")
    assert view.asks[0].flag == '--column "air temp=temp degC"'


def test_a_clock_that_was_set_is_followed_and_a_skipped_hour_refused(tmp_path: Path) -> None:
    """Chicago: back at 02:00 on 1 November 2026, on at 02:00 on 8 March 2026."""
    words = (
        "time,T01 temp\n2026-03-08 01:30,17\n2026-03-08 02:30,17\n2026-03-08 03:30,17\n"
        "2025-11-02 00:30,17\n2025-11-02 01:30,17\n2025-11-02 01:00,17.2\n2025-11-02 01:30,17.3\n"
        "2025-11-02 02:30,17.4\n"
    )
    with tried(tmp_path, written(tmp_path, words)) as trial:
        found = trial.incoming.first_values(20) if trial.incoming else []
        view = trial.view()
    moments = [at for _, at, *_ in found]
    # An hour between the two 01:30, half an hour from 01:00 to 01:30.
    assert [b - a for a, b in pairwise(moments[2:])] == [
        3600, 1800, 1800, 3600
    ]  # fmt: skip
    assert [(one.line, one.reason) for one in view.refused] == [
        (3, "The clock skipped this hour: there was no such time.")
    ]
    assert view.changed_clock == 3


def test_what_is_later_than_now_is_not_taken(tmp_path: Path) -> None:
    """As it comes of a date read the wrong way round."""
    view = understood(tmp_path, "time,T01 temp\n2026-05-09 06:00,17.5\n2026-12-09 06:00,17.5\n")
    assert [(one.line, one.reason) for one in view.refused] == [(3, "This is later than now.")]


def test_every_cell_that_is_not_taken_says_why(tmp_path: Path) -> None:
    words = (
        "time,tank,temp,tan (mg/L)\n"
        "2026-05-09 06:00,T01,17.5,<0.02\n"
        "2026-05-09 06:00,T99,17.5,0.1\n"
        "2026-02-30 06:00,T01,17.5,0.1\n"
        "2026-05-09 07:00,T01,12 34,0.1\n"
        "2026-05-09 08:00,T01,17.5.1,\n"
        "2026-05-09 09:00,T01,<2,0.1\n"
    )  # fmt: skip
    view = understood(tmp_path, words)
    assert said(view)[:2] == [
        "T01 temp 17.5 degC 2026-05-09T06:00-05:00",
        "T01 tan <0.02 mg/L as N 2026-05-09T06:00-05:00",
    ]
    why = {(one.line, one.name): one.reason for one in view.refused}
    assert why[3, "temp"] == "The plan has no place 'T99'."
    assert why[4, "time"] == "There is no such day."
    assert "one number" in why[5, "temp"]
    assert "one number" in why[6, "temp"]
    assert (7, "temp") not in why


def test_the_refused_are_written_to_a_file_whole(tmp_path: Path) -> None:
    words = "time,T01 temp\n" + "2026-05-09 06:00,bad\n" * 50 + "2026-05-09 06:00,17\n"
    folder = write_plan(tmp_path / "site")
    path, refused = written(tmp_path, words), tmp_path / "refused.csv"
    with opened(folder):
        pass
    done = tankwalk(
        tmp_path, "import", str(path), "--site", str(folder), "--refused", str(refused), now=LATER
    )
    assert done.returncode == 0, done.stderr
    rows = list(csv.reader(refused.read_text("utf-8").splitlines()))
    assert len(rows) == 51
    assert rows[1] == ["2", "T01 temp", "bad", "This is not a number."]


# ---- kept, known again, undone


def test_what_is_kept_stands_marked_as_imported_and_every_digest_holds(tmp_path: Path) -> None:
    path = written(tmp_path, LOGGER)
    with opened(tmp_path / "site", now=LATER) as site:
        n = keep(site, path, Told(place="T01", source="sump stick"))
        assert [(one.value, one.source, one.entry) for one in values(site)] == [
            (18.0, "sump stick", n), (18.0, "sump stick", n), (19.0, "sump stick", n),
            (20.0, "sump stick", n),
        ]  # fmt: skip
        found = site.reader.imports.by_number(n)
        assert found is not None
        assert (found.file, found.kept, found.refused, found.who) == ("logger.csv", 4, 3, "AB")
        rows = site.ledger.db.execute("SELECT line, typed FROM imported ORDER BY line").fetchall()
        assert rows == [(3, "64.4"), (4, "64.4"), (6, "66.2"), (10, "68.0")]
        assert chain.verify(site.ledger.db) is None
        # No look of a person came of it.
        assert site.reader.readings.newest("T01", "temp", "degC") is None


def test_an_altered_value_of_an_import_shows(tmp_path: Path) -> None:
    with opened(tmp_path / "site", now=LATER) as site:
        n = keep(site, written(tmp_path, LOGGER), HERE)
        db = site.ledger.db
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            db.execute("UPDATE imported SET value = 17 WHERE line = 6")
        db.execute("DROP TRIGGER guard_imported_update")
        db.execute("UPDATE imported SET value = 17 WHERE line = 6")
        damage = chain.verify(db)
        assert damage is not None
        assert damage.entry == n


def test_the_same_file_is_not_imported_twice(tmp_path: Path) -> None:
    path = written(tmp_path, LOGGER)
    with opened(tmp_path / "site", now=LATER) as site:
        n = keep(site, path, HERE)
        assert f"import {n}" in sentence(lambda: keep(site, path, HERE))
        assert len(values(site)) == 4


def test_a_longer_download_of_the_same_logger_brings_only_what_is_new(tmp_path: Path) -> None:
    longer = LOGGER.replace("6,05/13/26 01:15:00 AM,644,", "6,05/13/26 01:15:00 AM,65.3,")
    with opened(tmp_path / "site", now=LATER) as site:
        keep(site, written(tmp_path, LOGGER), HERE)
        path = written(tmp_path, longer, "logger 2.csv")
        # Known again by its head: the place is not told a second time.
        n = keep(site, path)
        found = site.reader.imports.by_number(n)
        assert found is not None
        assert (found.kept, found.source) == (1, "logger")
        assert [one.value for one in values(site)] == [18.0, 18.0, 19.0, 18.5, 20.0]


def test_an_import_is_taken_back_whole_and_may_come_again(tmp_path: Path) -> None:
    path = written(tmp_path, LOGGER)
    with opened(tmp_path / "site", now=LATER) as site:
        n = keep(site, path, HERE)
        keeping.undo(site, "CD", n)
        assert values(site) == []
        assert site.reader.imports.newest() == []
        assert "no import" in sentence(lambda: keeping.undo(site, "CD", n))
        assert "no import" in sentence(lambda: keeping.undo(site, "CD", 1))
        keep(site, path, HERE)
        assert len(values(site)) == 4
        assert chain.verify(site.ledger.db) is None


def test_what_a_person_entered_stands_beside_and_is_said(tmp_path: Path) -> None:
    with opened(tmp_path / "site", now=LATER) as site:
        seen_before(site, "T01", "temp", 16.6, "2026-05-09T06:15")
        keep(site, written(tmp_path, LOGGER), HERE)
        newest = site.reader.readings.newest("T01", "temp", "degC")
        assert newest is not None
        assert newest.value == 16.6
        again = LOGGER.replace("64.4,\n2", "64.6,\n2")
        path = written(tmp_path, again, "other.csv")
    with tried(tmp_path, path) as trial:
        (one,) = trial.view().laid
    assert (one.known, one.other, one.values) == (3, 1, 1)
    with tried(tmp_path, path, Told(place="T02")) as trial:
        (one,) = trial.view().laid
    assert one.looks == 0


def test_a_fault_far_down_the_file_keeps_nothing_half(tmp_path: Path) -> None:
    """An open quote in line 90,001 of 100,000: the file is no table from there on."""
    lines = [
        f"2026-0{1 + k // 25000}-{1 + k // 1440 % 17:02} {k // 60 % 24:02}:{k % 60:02},17.{k % 10}"
        for k in range(100_000)
    ]
    lines[90_000] = '2026-05-09 06:00,"17.5'
    path = written(tmp_path, "time,T01 temp\n" + "\n".join(lines))
    csv.field_size_limit(1 << 27)  # as an export that was read before leaves it
    with opened(tmp_path / "site", now=LATER) as site:
        before = site.reader.spine.last_number()
        words = sentence(lambda: keep(site, path))
        assert "Line 90002" in words
        assert site.reader.spine.last_number() == before
        assert values(site) == []
        assert site.ledger.db.execute("SELECT count(*) FROM imported").fetchone() == (0,)
        # And the record takes the next entry.
        seen_before(site, "T01", "temp", 16.6, "2026-05-09T06:15")


# ---- the command


def test_what_the_file_does_not_say_is_asked_by_number_and_enter_keeps_nothing(
    tmp_path: Path,
) -> None:
    folder = write_plan(tmp_path / "site")
    with opened(folder):
        pass
    path = written(tmp_path, "time,probe\n03/04/2026 06:00,17.5\n04/04/2026 06:00,17.6\n")
    command = ("import", str(path), "--site", str(folder), "--ask")

    def answered(*numbers: str) -> str:
        done = tankwalk(tmp_path, *command, given=typed_lines(numbers), now=LATER)
        assert not done.stderr, done.stderr
        return done.stdout.decode()

    # 9 is no order, 1 day first; 1 the column, 1 temperature, 2 T02; 7 is nobody, 2 is CD.
    page = answered("9", "1", "1", "1", "2", "7", "2")
    assert "   1  Temperature, degC" in page
    assert "'9' is not one of the numbers." in page
    assert "2026-04-03 06:00-05:00" in page
    assert "Kept as import" in page
    with opened(folder, now=LATER) as site:
        assert [one.value for one in values(site, "T02")] == [17.5, 17.6]
        (kept,) = site.reader.imports.newest()
        assert kept.who == "CD"
        keeping.undo(site, "CD", kept.n)
    assert answered("1", "1", "1", "2", "").endswith("Nothing was kept.\n")
    assert "add  --place T01" in answered("1", "1", "1")
    with opened(folder, now=LATER) as site:
        assert values(site, "T02") == []


def test_the_command_is_a_dry_run_until_it_is_told_to_keep(tmp_path: Path) -> None:
    folder = write_plan(tmp_path / "site")
    with opened(folder):
        pass
    path = written(tmp_path, LOGGER)
    where = ("import", str(path), "--site", str(folder))

    def run(*more: str) -> tuple[int, str]:
        done = tankwalk(tmp_path, *where, *more, now=LATER)
        return done.returncode, (done.stdout + done.stderr).decode()

    status, words = run()
    assert status == 1
    assert "add  --place T01" in words
    status, words = run("--place", "T01")
    assert status == 0
    assert "TO BE KEPT  4 values" in words
    assert "dry run, nothing is kept" in words
    assert run("--place", "T01", "--keep") == (
        2, "Say who does this: --who INITIALS. Nothing was changed.\n"
    )  # fmt: skip
    alone = tankwalk(tmp_path, "import", "--site", str(folder), "--keep", now=LATER)
    assert alone.returncode == 2
    assert alone.stderr.startswith(b"--keep goes with a file: ")
    status, words = run("--place", "T01", "--keep", "--who", "ab")
    assert status == 0
    n = words.split("import ")[1].split(":")[0]
    done = tankwalk(tmp_path, "import", "--site", str(folder), "--json", now=LATER)
    assert [one["file"]["n"] for one in json.loads(done.stdout)["kept"]] == [int(n)]
    done = tankwalk(
        tmp_path, "import", "--site", str(folder), "--undo", n, "--who", "CD", now=LATER
    )
    assert done.returncode == 0
    done = tankwalk(tmp_path, "import", "--site", str(folder), now=LATER)
    assert b"Nothing was imported" in done.stdout
