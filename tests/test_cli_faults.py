"""Streams that are closed or full, homes that are not there, records that went: one sentence each.

Every case is a row of docs/faults.md, done as a person would do it, in a process of its own.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from ledger_support import empty
from site_support import (
    NOW,
    ROOM,
    SMALL,
    opened,
    readings,
    seen_before,
    surroundings,
    tankwalk,
    write_plan,
)
from tankwalk import plain
from tankwalk.errors import Refusal
from tankwalk.ledger.backup import newest_copy
from tankwalk.ledger.store import FILE


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A site's folder with yesterday evening in its record."""
    with opened(tmp_path / "site", SMALL) as at:
        seen_before(at, "T01", "temp", 16.4, "2026-05-09T19:00")
    return tmp_path / "site"


def by_shell(
    home: Path, line: str, /, without: tuple[str, ...] = ()
) -> subprocess.CompletedProcess[str]:
    """A line of a shell in which `tankwalk` is the program."""
    program = f'tankwalk() {{ {sys.executable} -m tankwalk "$@"; }}\n'
    around = {k: v for k, v in surroundings(home).items() if k not in without}
    return subprocess.run(
        ["bash", "-c", program + line], env=around, capture_output=True, text=True, timeout=60
    )


def one_sentence(ran: subprocess.CompletedProcess[str], status: int = 2) -> str:
    assert ran.returncode == status, (ran.stdout, ran.stderr)
    assert "Traceback" not in ran.stderr
    assert ran.stderr.count("\n") == 1, ran.stderr
    return ran.stderr.strip()


# ---- standard input, output and error


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize("what", ["board", "calc", "sheet", "walk --plain --who AB"])
def test_a_full_disk_behind_a_redirect_is_one_sentence(
    tmp_path: Path, site: Path, what: str
) -> None:
    ran = by_shell(tmp_path, f"tankwalk {what} --site {site} --now {NOW} </dev/null >/dev/full")
    words = one_sentence(ran)
    assert words.startswith("Standard output does not take what is printed (No space left")


def test_closed_standard_input_is_one_sentence_and_begins_no_round(
    tmp_path: Path, site: Path
) -> None:
    ran = by_shell(tmp_path, f"tankwalk walk --plain --who AB --site {site} <&-")
    assert one_sentence(ran).startswith("Standard input is closed")
    with opened(site, SMALL) as at:
        assert at.reader.rounds.newest() == []


def test_a_closed_standard_input_opens_no_screen(tmp_path: Path, site: Path) -> None:
    ran = by_shell(tmp_path, f"tankwalk --site {site} <&-")
    assert one_sentence(ran).startswith("There is no terminal here.")


def test_closed_standard_output_is_refused_before_anything_is_done(
    tmp_path: Path, site: Path
) -> None:
    ran = by_shell(tmp_path, f"tankwalk board --site {site} >&-")
    assert one_sentence(ran).startswith("Standard output is closed")


def test_a_check_with_closed_standard_error_says_its_result(tmp_path: Path, site: Path) -> None:
    ran = by_shell(tmp_path, f"tankwalk check --site {site} 2>&-")
    assert ran.returncode == 0
    assert "Record: sound, 2 entries, every digest holds." in ran.stdout


def test_nothing_that_is_opened_takes_the_place_of_a_closed_stream(
    tmp_path: Path, site: Path
) -> None:
    before = (site / FILE).read_bytes()
    ran = by_shell(tmp_path, f"tankwalk board --nonsense --site {site} <&- 2>&-")
    assert ran.returncode == 2
    assert (site / FILE).read_bytes() == before


def test_a_page_may_be_read_in_part_but_an_unsigned_round_stays_unsigned(
    tmp_path: Path, site: Path
) -> None:
    page = by_shell(tmp_path, f"tankwalk board --site {site} | head -1; echo ${{PIPESTATUS[0]}}")
    assert page.stdout.endswith("\n0\n")
    walk = by_shell(
        tmp_path,
        f"yes + | tankwalk walk --plain --who AB --site {site} --now {NOW} | head -3; "
        "echo ${PIPESTATUS[1]}",
    )
    assert walk.stdout.endswith("\n1\n"), walk.stdout
    assert page.stderr == walk.stderr == ""


# ---- no home


def test_a_user_without_a_home_is_told_what_to_name(
    tmp_path: Path, site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tankwalk import paths

    def nobody(path: Path) -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr(Path, "expanduser", nobody)
    monkeypatch.setattr(Path, "home", lambda: nobody(Path("~")))
    monkeypatch.setattr(os.path, "expanduser", lambda path: nobody(Path(path)))
    with pytest.raises(Refusal, match=r"TANKWALK_HOME=DIR, and the site with --site DIR\.$"):
        paths.home({})
    assert paths.home({"TANKWALK_HOME": str(tmp_path)}) == tmp_path


@pytest.mark.skipif(not hasattr(os, "getuid") or os.getuid() != 0, reason="only root can change")
def test_a_user_without_a_home_and_without_a_name_gets_a_sentence(
    tmp_path: Path, site: Path
) -> None:
    ran = by_shell(
        tmp_path,
        f"setpriv --reuid=54321 --clear-groups {sys.executable} -m tankwalk board --site {site}",
        without=("HOME", "TANKWALK_HOME"),
    )
    if "setpriv" in ran.stderr or "Permission" in ran.stderr or "No module" in ran.stderr:
        pytest.skip("this machine does not let another user run it here")
    assert one_sentence(ran).startswith("This user has no home folder here")


# ---- a record that went while it was open


def test_a_record_deleted_while_one_walks_is_told_and_saved_aside(tmp_path: Path) -> None:
    said: list[str] = []
    with opened(tmp_path / "site", SMALL) as at:
        record = tmp_path / "site" / FILE

        def answers() -> object:
            yield "+"
            record.unlink()
            yield "2"

        status = plain.walk(at, answers(), said.append, "AB", "am")  # type: ignore[arg-type]
    assert status == 1
    refused = [
        words for words in said if "was deleted, moved or replaced while it was open" in words
    ]
    assert len(refused) == 2, said
    assert "nothing more is kept" in refused[0]
    saved = tmp_path / "site" / "ledger-saved-1.sqlite"
    assert f"The newest backup known is {saved}" in said[-1]
    assert "are kept" not in said[-1]
    # What had been kept is in it, and going back is what the sentence says.
    shutil.copy(saved, record)
    with opened(tmp_path / "site", SMALL) as at:
        assert len(readings(at, "*", "readings")) == 1


def test_a_record_replaced_while_it_is_open_takes_nothing_more(tmp_path: Path) -> None:
    with opened(tmp_path / "site", SMALL) as at:
        seen_before(at, "T01", "temp", 16.4, "2026-05-09T19:00")
        assert not at.ledger.moved
        assert at.ledger.lost() == ""
        record = tmp_path / "site" / FILE
        other = tmp_path / "other.sqlite"
        shutil.copy(record, other)
        other.replace(record)
        assert at.ledger.moved
        with pytest.raises(Refusal, match="deleted, moved or replaced while it was open"):
            seen_before(at, "T01", "temp", 16.5, "2026-05-09T20:00")


# ---- a refused write, the next meter, a line too long


def test_a_refused_write_says_what_to_do_in_words_that_hold_line_by_line(tmp_path: Path) -> None:
    said: list[str] = []
    with opened(tmp_path / "site", SMALL) as at:
        at.ledger.db.execute("PRAGMA busy_timeout = 20")
        with closing(sqlite3.connect(tmp_path / "site" / FILE, isolation_level=None)) as other:

            def answers() -> object:
                other.execute("BEGIN IMMEDIATE")
                yield "+"
                other.execute("ROLLBACK")
                yield "+"

            plain.walk(at, answers(), said.append, "AB", "am")  # type: ignore[arg-type]
            assert len(readings(at, "*", "readings")) == 1
    assert any(words.endswith("Wait a moment, then enter it again.") for words in said)


def test_the_next_meter_is_taken_line_by_line(tmp_path: Path) -> None:
    said: list[str] = []
    with opened(tmp_path / "site", ROOM) as at:
        plain.walk(at, iter(["m", "meter"]), said.append, "AB", "pm")
    assert sum("Readings that follow are taken with oxygen meter" in words for words in said) == 2


def test_a_line_longer_than_any_answer_is_refused_at_once(tmp_path: Path) -> None:
    said: list[str] = []
    with opened(tmp_path / "site", SMALL) as at:
        plain.walk(at, iter(["9" * 100_000, "note", "x" * 100_000]), said.append, "AB", "am")
        assert readings(at, "*", "notes") == []
    too_long = "No more than 10000 characters are taken here: the rest was not."
    assert said.count(too_long) == 2


# ---- a record without a plan, a plan without a record, a damaged record


def test_a_record_without_its_plan_gets_the_plan_it_holds(tmp_path: Path, site: Path) -> None:
    held = (site / "plan.toml").read_text("utf-8")
    (site / "plan.toml").unlink()
    words = one_sentence(by_shell(tmp_path, f"tankwalk start {site}"))
    assert words == (
        f"{site} holds a record without its plan: nothing was written. Get back the plan that it "
        f"holds with: tankwalk start {site} --plan-from-record"
    )
    assert not (site / "plan.toml").exists()
    ran = by_shell(tmp_path, f"tankwalk start {site} --plan-from-record")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert (site / "plan.toml").read_text("utf-8") == held
    again = by_shell(tmp_path, f"tankwalk start {site} --plan-from-record")
    assert "is there already: nothing was written." in one_sentence(again)


def test_a_plan_without_a_record_names_the_newest_backup_and_how_to_begin_anew(
    tmp_path: Path, site: Path
) -> None:
    assert tankwalk(tmp_path, "backup", str(tmp_path / "old"), "--site", str(site)).stdout
    with opened(site, SMALL) as at:
        seen_before(at, "T01", "temp", 16.5, "2026-05-09T20:00")
    copy = tmp_path / "away" / "new"
    assert tankwalk(tmp_path, "backup", str(copy), "--site", str(site)).stdout
    (site / FILE).unlink()
    words = one_sentence(by_shell(tmp_path, f"tankwalk board --site {site}"))
    assert words == (
        f"There is no record at {site / FILE}: nothing was changed. The newest backup known is "
        f"{copy / FILE} (3 entries, to 2026-05-09T20:00-05:00): tankwalk restore {copy / FILE} "
        f"--to {site} puts it in place, and keeps what is there. To begin an empty record with "
        f"this plan: tankwalk start {site} --new-record"
    )
    assert by_shell(tmp_path, f"tankwalk restore {copy / FILE} --to {site}").returncode == 0
    assert "Record: sound, 3 entries" in by_shell(tmp_path, f"tankwalk check --site {site}").stdout
    (site / FILE).unlink()
    anew = by_shell(tmp_path, f"tankwalk start {site} --new-record")
    assert (anew.returncode, anew.stderr) == (0, "")
    assert "Record: sound, 0 entries" in by_shell(tmp_path, f"tankwalk check --site {site}").stdout
    assert one_sentence(by_shell(tmp_path, f"tankwalk start {site} --new-record")).endswith(
        "is there already: nothing was written."
    )


def test_the_check_of_a_damaged_record_names_the_newest_backup(tmp_path: Path, site: Path) -> None:
    copy = site / "backups" / "may"
    assert tankwalk(tmp_path, "backup", str(copy), "--site", str(site)).stdout
    content = bytearray((site / FILE).read_bytes())
    content[2 * 4096 : 6 * 4096] = b"\xa5" * 4 * 4096
    (site / FILE).write_bytes(content)
    ran = by_shell(tmp_path, f"tankwalk check --site {site}")
    assert (ran.returncode, ran.stderr) == (1, "")
    assert "Record: damaged" in ran.stdout
    assert (
        f"The newest backup known is {copy / FILE} (2 entries, to 2026-05-09T19:00-05:00): "
        f"tankwalk restore {copy / FILE} --to {site} puts it in place, and keeps what is there."
        in ran.stdout
    )
    assert by_shell(tmp_path, f"tankwalk restore {copy / FILE} --to {site}").returncode == 0
    assert "Record: sound, 2 entries" in by_shell(tmp_path, f"tankwalk check --site {site}").stdout
    assert "Run tankwalk check" not in ran.stdout


def test_only_a_copy_of_a_record_is_named_as_a_backup(tmp_path: Path, site: Path) -> None:
    (site / "photo.sqlite").write_bytes(b"x" * 5000)
    with closing(sqlite3.connect(site / "other.sqlite")) as other:
        other.execute("CREATE TABLE entry (n)")
    assert newest_copy(site / FILE) is None


# ---- plans that are no plans


def test_a_plan_that_is_no_file_is_refused_at_once(tmp_path: Path, site: Path) -> None:
    (site / "plan.toml").unlink()
    os.mkfifo(site / "plan.toml")
    for what in ("check", "board"):
        words = one_sentence(by_shell(tmp_path, f"tankwalk {what} --site {site}"))
        assert "plan.toml is no ordinary file; nothing was read." in words


def test_a_link_to_a_device_is_no_plan(tmp_path: Path, site: Path) -> None:
    (site / "plan.toml").unlink()
    (site / "plan.toml").symlink_to("/dev/zero")
    words = one_sentence(by_shell(tmp_path, f"tankwalk board --site {site}"))
    assert "plan.toml is no ordinary file; nothing was read." in words


def test_a_band_for_a_list_of_species_is_a_fault_with_its_line(tmp_path: Path) -> None:
    site = write_plan(
        tmp_path / "site",
        SMALL + '[[band]]\nitem = "temp"\nspecies = ["sauger"]\nwatch_above = 20\n',
    )
    (site / FILE).write_bytes(empty())
    ran = by_shell(tmp_path, f"tankwalk check --site {site}")
    assert ran.returncode == 1
    line = SMALL.count("\n") + 3
    assert f"line {line}, [[band]]: species is a list where a text in quotes" in ran.stdout


@pytest.mark.parametrize(
    ("written", "mend"),
    [
        ("20 Nov 2026", "write hatched = 2026-11-20."),
        ('"Nov 20, 2026"', "write hatched = 2026-11-20."),
        ("20.11.2026", "write hatched = 2026-11-20."),
        ("2026/11/20", "write hatched = 2026-11-20."),
        (
            "04/05/2026",
            "write hatched = 2026-05-04 or hatched = 2026-04-05, whichever day is meant.",
        ),
        ("31 Feb 2026", "write hatched as year-month-day, such as hatched = 2026-04-16."),
    ],
)
def test_a_date_written_another_way_is_given_back_as_the_day_it_means(
    tmp_path: Path, written: str, mend: str
) -> None:
    plan = SMALL.replace("hatched = 2026-05-01", f"hatched = {written}")
    site = write_plan(tmp_path / "site", plan)
    (site / FILE).write_bytes(empty())
    ran = by_shell(tmp_path, f"tankwalk check --site {site}")
    assert f"Mend: {mend}" in ran.stdout
    assert ran.returncode == 1


@pytest.mark.parametrize(
    ("added", "said"),
    [
        ("a." * 100_000 + "b = 1\n", "has a key of more than five parts"),
        ("[" + "a." * 100_000 + "b]\n", "has a key of more than five parts"),
        ("x = " + "[" * 100_000 + "]" * 100_000 + "\n", "too many brackets inside each other"),
        ("# " + "x" * 400_000, "larger than 300 kB"),
    ],
)
def test_a_plan_too_deep_or_too_large_is_refused_at_once(
    tmp_path: Path, added: str, said: str
) -> None:
    site = write_plan(tmp_path / "site")
    with (site / "plan.toml").open("a", encoding="utf-8") as plan:
        plan.write(added)
    ran = tankwalk(tmp_path, "board", "--site", str(site))
    assert ran.returncode == 2
    assert said in ran.stderr.decode()
    assert "Traceback" not in ran.stderr.decode()


def test_thousands_of_tanks_are_read_in_a_time_that_grows_with_their_number() -> None:
    from tankwalk.plan.fields import Names, PlanRow
    from tankwalk.plan.lines import Table

    names = Names("tank")
    compared = 0

    class Code(str):
        def casefold(self) -> str:
            nonlocal compared
            compared += 1
            return super().casefold()

    row = PlanRow(Table("tank", 1, listed=True), [], "tank")
    for number in range(1000):
        names.declare(row, "code", Code(f"T{number}"))
    assert compared <= 2000
