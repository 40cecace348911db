"""The command line: what each command prints, and one sentence with 1 or 2 where it cannot."""

from __future__ import annotations

import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from site_support import (
    NOW,
    SMALL,
    clock_shows,
    opened,
    readings,
    seen_before,
    sign,
    standing_at,
    surroundings,
    tankwalk,
    typed_lines,
    walking,
    write_plan,
)
from tankwalk import __version__
from tankwalk.ledger.entries import Entry
from tankwalk.ledger.store import FILE
from terminal import Terminal


def said(ran: subprocess.CompletedProcess[bytes]) -> str:
    return ran.stdout.decode()


def refused(ran: subprocess.CompletedProcess[bytes], status: int = 2) -> str:
    """The one sentence of a command that could not: on standard error, and nothing else."""
    assert ran.returncode == status, (ran.stdout, ran.stderr)
    words = ran.stderr.decode()
    assert "Traceback" not in words
    assert words.count("\n") == 1
    assert ran.stdout == b""
    return words.strip()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A site's folder with yesterday evening in its record."""
    with opened(tmp_path / "site", SMALL) as site:
        seen_before(site, "T01", "temp", 16.4, "2026-05-09T19:00")
    return tmp_path / "site"


# ---- start and the site in use


def test_start_makes_a_site_that_can_be_checked_walked_and_shown(tmp_path: Path) -> None:
    made = tmp_path / "new" / "room"
    ran = tankwalk(tmp_path / "home", "start", str(made), "--zone", "America/Chicago")
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert f"A new site is in {made}, and tankwalk opens it from now on." in said(ran)
    assert sorted(p.name for p in made.iterdir()) == [FILE, "plan.toml"]
    # It is the site in use from now on: no --site is needed.
    checked = tankwalk(tmp_path / "home", "check")
    assert checked.returncode == 0
    assert "\nPlan: sound, 4 tanks, " in said(checked)
    assert "Record: sound, 0 entries, every digest holds." in said(checked)
    walked = tankwalk(
        tmp_path / "home", "walk", "--plain", "--who", "AB", given=typed_lines(["+", "+"])
    )
    assert walked.returncode == 1
    assert "T01 Glance: ok kept." in said(walked)
    board = tankwalk(tmp_path / "home", "board")
    assert (board.returncode, board.stderr) == (0, b"")
    assert "My hatchery room" in said(board)


def test_start_leaves_a_site_that_is_there_as_it_is(tmp_path: Path, folder: Path) -> None:
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    words = refused(tankwalk(tmp_path, "start", str(folder)))
    assert words == (
        f"{folder / 'plan.toml'} is there already: nothing was written. Edit it, or name a new DIR."
    )
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_start_beside_a_record_that_is_none_leaves_nothing_behind(tmp_path: Path) -> None:
    made = tmp_path / "new"
    made.mkdir()
    (made / FILE).write_bytes(b"a letter to the editor, long enough to be read as a header" * 20)
    before = {p.name: p.read_bytes() for p in made.iterdir()}
    assert "is not a tankwalk record" in refused(tankwalk(tmp_path, "start", str(made)))
    assert {p.name: p.read_bytes() for p in made.iterdir()} == before


def test_start_in_a_folder_nobody_can_write_says_so(tmp_path: Path) -> None:
    words = refused(tankwalk(tmp_path, "start", "/proc/hatchery"))
    assert words.startswith("/proc/hatchery cannot be written (")
    assert words.endswith("no site was made. Name another DIR.")


def test_start_where_a_file_stands_in_the_way_says_so(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", "utf-8")
    words = refused(tankwalk(tmp_path, "start", str(tmp_path / "file" / "room")))
    assert "cannot be written" in words


def test_start_with_a_name_no_folder_can_have_says_so(tmp_path: Path) -> None:
    words = refused(tankwalk(tmp_path, "start", str(tmp_path / ("x" * 300))))
    assert words.endswith("no site was made. Name another DIR.")


def test_start_in_a_time_zone_nobody_knows_writes_nothing(tmp_path: Path) -> None:
    words = refused(tankwalk(tmp_path, "start", str(tmp_path / "new"), "--zone", "Mars/Base"))
    assert words == (
        "The time zone 'Mars/Base' is not known here; write one such as America/Chicago."
    )
    assert not (tmp_path / "new").exists()


def test_a_home_nobody_can_write_is_told_and_how_to_name_another(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", "utf-8")
    home = tmp_path / "file" / "home"
    words = refused(tankwalk(home, "start", str(tmp_path / "new")))
    assert "Set TANKWALK_HOME to a folder that can." in words
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("command", ["board", "handover", "check", "walk --plain", "backup x"])
def test_without_a_site_every_command_says_how_to_get_one(tmp_path: Path, command: str) -> None:
    words = refused(tankwalk(tmp_path, *command.split()))
    assert words == (
        "No site is chosen yet. Try the demo with: tankwalk demo; or start your own with: "
        "tankwalk start DIR"
    )


def test_a_folder_that_is_no_site_is_named(tmp_path: Path) -> None:
    words = refused(tankwalk(tmp_path, "board", "--site", str(tmp_path / "nowhere")))
    assert words == (
        f"There is no plan.toml in {tmp_path / 'nowhere'}. "
        f"Start a site with: tankwalk start {tmp_path / 'nowhere'}; or put a backup back with: "
        f"tankwalk restore FOLDER --to {tmp_path / 'nowhere'}"
    )


def test_a_plan_without_a_record_says_so(tmp_path: Path) -> None:
    site = write_plan(tmp_path / "site")
    words = refused(tankwalk(tmp_path, "board", "--site", str(site)))
    assert words.startswith(
        f"There is no record at {site / FILE}: nothing was changed. No backup is known"
    )


def test_the_site_may_be_named_before_or_after_the_command_or_by_the_environment(
    tmp_path: Path, folder: Path
) -> None:
    after = tankwalk(tmp_path / "a", "board", "--site", str(folder))
    before = tankwalk(tmp_path / "b", "--site", str(folder), "board")
    named = subprocess.run(
        [sys.executable, "-m", "tankwalk", "--now", NOW, "board"],
        capture_output=True,
        env={**surroundings(tmp_path / "c"), "TANKWALK_SITE": str(folder)},
        timeout=120,
        check=True,
    )
    last = tankwalk(tmp_path / "a", "board")
    assert after.returncode == 0
    assert after.stdout == before.stdout == named.stdout == last.stdout


# ---- no terminal


@pytest.mark.parametrize("command", [[], ["walk"]])
def test_without_a_terminal_it_says_what_works_without_one(
    tmp_path: Path, folder: Path, command: list[str]
) -> None:
    words = refused(tankwalk(tmp_path, *command, "--site", str(folder)))
    assert words == (
        "There is no terminal here. Print a page with: tankwalk board; or walk line by line "
        "with: tankwalk walk --plain"
    )


# ---- plans and people


def test_a_broken_plan_is_told_with_every_fault_and_its_line(tmp_path: Path, folder: Path) -> None:
    plan = SMALL.replace('loop = "L1"', 'loop = "L9"', 1).replace("decimals = 2", "decimals = 99")
    write_plan(folder, plan)
    shown = tankwalk(tmp_path, "board", "--site", str(folder))
    assert (shown.returncode, shown.stdout) == (2, b"")
    lines = shown.stderr.decode().splitlines()
    assert lines[0] == "The plan has 2 faults, so it was not taken into use:"
    assert [line.split(",")[0].split(" ")[0] for line in lines[1:]] == ["line", "line"]
    checked = tankwalk(tmp_path, "check", "--site", str(folder))
    assert checked.returncode == 1
    assert said(checked).splitlines()[0] == f"Site: {folder}"
    assert said(checked).splitlines()[1:4] == lines
    assert "Record: sound" in said(checked)


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"[site\n", b"", b"\x00" * 50])
def test_a_plan_that_is_no_plan_never_ends_in_a_traceback(
    tmp_path: Path, folder: Path, content: bytes
) -> None:
    (folder / "plan.toml").write_bytes(content)
    for command, status in (("board", 2), ("check", 1)):
        ran = tankwalk(tmp_path, command, "--site", str(folder))
        assert ran.returncode in (status, 2)
        assert b"Traceback" not in ran.stdout + ran.stderr
        assert b"plan" in ran.stdout + ran.stderr


def test_somebody_the_plan_does_not_name_cannot_walk(tmp_path: Path, folder: Path) -> None:
    words = refused(
        tankwalk(tmp_path, "walk", "--plain", "--who", "ZZ", "--site", str(folder), given=b"+\n")
    )
    assert words == "'ZZ' is not among the people of the plan (AB, CD, EF)."
    with opened(folder) as site:
        assert len(readings(site, "n")) == 1


def test_a_round_that_is_not_in_the_plan_is_refused(tmp_path: Path, folder: Path) -> None:
    words = refused(tankwalk(tmp_path, "walk", "--plain", "--round", "noon", "--site", str(folder)))
    assert words == "There is no round 'noon' in the plan (am, pm)."


# ---- pages


def test_the_board_and_the_handover_are_printed_no_wider_than_asked(
    tmp_path: Path, folder: Path
) -> None:
    with opened(folder) as site:
        walk = standing_at(site, "T01", "do")
        walk.answer("4.4")
        walk.answer("4.5")
        walk.note()
        walk.answer("larvae [red]at[/] the surface " * 8)
    for command in ("board", "handover"):
        for width in ("40", "80", "120"):
            ran = tankwalk(tmp_path, command, "--width", width, "--site", str(folder))
            assert (ran.returncode, ran.stderr) == (0, b"")
            assert "!!!" in said(ran)
            assert max(len(line) for line in said(ran).splitlines()) <= int(width)
            assert "\x1b" not in said(ran)


@pytest.mark.parametrize("width", ["39", "401", "0", "-5"])
def test_a_page_too_narrow_or_too_wide_is_refused(tmp_path: Path, folder: Path, width: str) -> None:
    words = refused(tankwalk(tmp_path, "board", f"--width={width}", "--site", str(folder)))
    assert words == f"A page is 40 to 400 cells wide, not {width}."


def test_the_handover_counts_the_rounds_signed_and_on_paper_says_who_signed(
    tmp_path: Path, folder: Path
) -> None:
    with opened(folder) as site:
        sign(walking(site))
    assert "1 round signed." in said(tankwalk(tmp_path, "handover", "--site", str(folder)))
    printed = tmp_path / "handover.html"
    ran = tankwalk(tmp_path, "handover", "--html", str(printed), "--site", str(folder))
    assert ran.returncode == 0
    assert "Morning round signed 07:00 by AB" in printed.read_text("utf-8")


def test_the_clock_may_be_fixed_and_nonsense_for_it_is_refused(
    tmp_path: Path, folder: Path
) -> None:
    late = tankwalk(tmp_path, "board", "--site", str(folder), "--now", "2026-05-10T10:00", now=None)
    assert "overdue 3 h" in said(late)
    words = refused(tankwalk(tmp_path, "board", "--site", str(folder), now="breakfast"))
    assert words == "'breakfast' is not a date and time; write one such as 2026-05-10T06:50."


def test_the_version_is_printed(tmp_path: Path) -> None:
    ran = tankwalk(tmp_path, "--version", now=None)
    assert (ran.returncode, said(ran)) == (0, f"tankwalk {__version__}\n")


@pytest.mark.parametrize("arguments", [["fly"], ["board", "--nothing"], ["start"], ["walk", "x"]])
def test_a_command_that_is_none_ends_with_2_and_says_what_there_is(
    tmp_path: Path, arguments: list[str]
) -> None:
    ran = tankwalk(tmp_path, *arguments)
    assert ran.returncode == 2
    words = refused(ran)
    assert "Nothing was done. See: tankwalk" in words
    assert words.endswith("--help")


@pytest.mark.parametrize(
    ("arguments", "answer"),
    [
        (["exprot"], "'exprot' is not a command: export? Nothing was done. See: tankwalk --help"),
        (["backpu", "/mnt"], "'backpu' is not a command: backup? Nothing was done."),
        (["zzz"], "'zzz' is not a command. Nothing was done. See: tankwalk --help"),
        (["restore"], "FOLDER is missing. Nothing was done. See: tankwalk restore --help"),
        (["judging", "--days", "few"], "--days takes a whole number, not 'few'."),
        (["judging", "T01", "temp", "--low", "x"], "--low takes a number, not 'x'."),
        (["export", "out", "--flavor", "x"], "--flavor takes plain or spreadsheet, not 'x'."),
        (["export", "out", "--from"], "--from needs something after it."),
        (["check", "--sael", "1"], "'--sael 1' is not understood here."),
        (["check", "--\x1b[2J"], "'--[2J' is not understood here."),
    ],
)
def test_words_that_were_mistyped_are_named_in_one_sentence(
    tmp_path: Path, arguments: list[str], answer: str
) -> None:
    assert refused(tankwalk(tmp_path, *arguments)).startswith(answer)


@pytest.mark.parametrize("command", ["transcribe", "count", "feed"])
def test_a_command_that_needs_a_terminal_says_how_it_goes_without_one(
    tmp_path: Path, folder: Path, command: str
) -> None:
    words = refused(tankwalk(tmp_path, command, "--site", str(folder)))
    assert words == (
        "There is no terminal here: nothing was done. It goes line by line with: "
        f"tankwalk {command} --plain"
    )


def test_a_reader_that_goes_away_is_no_error(tmp_path: Path, folder: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        ran = subprocess.run(
            [sys.executable, "-m", "tankwalk", "board", "--site", str(folder), "--now", NOW],
            stdout=writing,
            stderr=subprocess.PIPE,
            stdin=subprocess.DEVNULL,
            env=surroundings(tmp_path / "home"),
            timeout=120,
            check=False,
        )
    finally:
        os.close(writing)
    assert (ran.returncode, ran.stderr) == (0, b"")


def test_a_console_that_knows_only_ascii_still_gets_the_page(tmp_path: Path, folder: Path) -> None:
    with opened(folder) as site:
        walk = standing_at(site, "T01", "temp")
        walk.note()
        walk.answer("fish \U0001f41f \u6c34")
    ran = subprocess.run(
        [sys.executable, "-m", "tankwalk", "handover", "--site", str(folder), "--now", NOW],
        capture_output=True,
        env={
            **surroundings(tmp_path / "home"),
            "PYTHONUTF8": "0",
            "PYTHONIOENCODING": "ascii",
        },
        timeout=120,
        check=False,
    )
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert re.search(rb"T01 note: fish \? \? +AB 07:00\b", ran.stdout)


# ---- the record


def alter(folder: Path) -> int:
    """Change one reading as only somebody who goes round the guards can; returns its entry."""
    db = sqlite3.connect(folder / FILE)
    try:
        db.execute("DROP TRIGGER guard_reading_update")
        [n] = db.execute("SELECT entry FROM reading WHERE value = 16.6").fetchone()
        db.execute("UPDATE reading SET value = 16.2, typed = '16.2' WHERE entry = ?", (n,))
        db.commit()
        return int(n)
    finally:
        db.close()


def test_check_names_the_entry_that_was_altered(tmp_path: Path, folder: Path) -> None:
    with opened(folder) as site:
        walk = standing_at(site, "T01", "temp")
        clock_shows(site, "2026-05-10T07:03")
        walk.answer("16.6")
        walk.answer("8.0")
    assert tankwalk(tmp_path, "check", "--site", str(folder)).returncode == 0
    n = alter(folder)
    ran = tankwalk(tmp_path, "check", "--site", str(folder))
    assert (ran.returncode, ran.stderr) == (1, b"")
    assert f"Record: Entry {n} was altered: T01 temp, Sun 10 May 07:03, entered by AB." in said(ran)
    assert "guard_reading_update" in said(ran)


def test_check_with_standard_error_closed_answers_all_the_same(
    tmp_path: Path, folder: Path
) -> None:
    ran = subprocess.run(
        ["sh", "-c", 'exec "$@" 2>&-', "sh", sys.executable, "-m", "tankwalk", "check",
         "--site", str(folder)],
        capture_output=True, env=surroundings(tmp_path), timeout=120, check=False,
    )  # fmt: skip
    assert ran.returncode == 0
    assert "Record: sound, " in said(ran)


def test_check_on_a_terminal_shows_how_far_it_is_and_wipes_it(tmp_path: Path, folder: Path) -> None:
    with opened(folder) as site, site.ledger.writing():
        here = Entry("void", "AB", site.now(), site.now(), amends=1)
        for _ in range(5100):
            site.ledger.append(here)
    command = [sys.executable, "-m", "tankwalk", "check", "--site", str(folder)]
    with Terminal(command, surroundings(tmp_path)) as terminal:
        terminal.wait("Record: sound, 51", seconds=60)
        assert terminal.ended() == 0
        assert b"\rChecking the record:   0%" in terminal.received
        assert b"\rChecking the record:  98%" in terminal.received
        assert "Checking" not in terminal.text()


def test_check_of_a_record_that_is_none_says_so(tmp_path: Path, folder: Path) -> None:
    (folder / FILE).write_bytes(b"")
    ran = tankwalk(tmp_path, "check", "--site", str(folder))
    assert ran.returncode == 1
    assert "this file is not a tankwalk record, or it is empty." in said(ran)
    assert "is not a tankwalk record" in refused(tankwalk(tmp_path, "board", "--site", str(folder)))


def test_a_backup_is_a_whole_record_and_nothing_is_written_over(
    tmp_path: Path, folder: Path
) -> None:
    copy = tmp_path / "stick" / "copy"
    ran = tankwalk(tmp_path, "backup", str(copy), "--site", str(folder))
    words = f"A checked backup of record and plan is in {copy}, up to entry 2.\n"
    assert (ran.returncode, said(ran)) == (0, words)
    db = sqlite3.connect(copy / FILE)
    try:
        assert db.execute("SELECT value FROM readings").fetchall() == [(16.4,)]
    finally:
        db.close()
    assert (copy / "plan.toml").read_bytes() == (folder / "plan.toml").read_bytes()
    again = refused(tankwalk(tmp_path, "backup", str(copy), "--site", str(folder)))
    assert again == f"{copy} is there already: nothing was written. Give another name."
    (tmp_path / "file").touch()
    refused(tankwalk(tmp_path, "backup", str(tmp_path / "file" / "x"), "--site", str(folder)))
    assert [p.name for p in copy.parent.iterdir()] == ["copy"]


def test_a_record_held_by_another_program_is_told_in_one_sentence(
    tmp_path: Path, folder: Path
) -> None:
    other = sqlite3.connect(folder / FILE, isolation_level=None)
    try:
        other.execute("BEGIN EXCLUSIVE")
        words = refused(tankwalk(tmp_path, "board", "--site", str(folder)))
    finally:
        other.close()
    assert words.startswith("Another program holds the record")
