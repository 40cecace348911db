"""A record of an older version: a backup of it comes first, and what stops it costs nothing."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from forked import forked
from ledger_support import OFFICE, TROLLEY, plainly, without_guards, write
from site_support import NOW, SMALL, moment, opened, write_plan
from tankwalk.errors import Refusal
from tankwalk.ledger import migrations, schema
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.store import FILE, Ledger
from tankwalk.pages import keeping_words
from tankwalk.paths import PLAN
from tankwalk.practice.keeping import forward, packing, rehearsing, restoring
from tankwalk.practice.keeping.forward import Before
from tankwalk.practice.site import Site, open_site
from test_ledger import as_version_left_it, known_at

OLD = 8


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A room whose record an older version left."""
    made = tmp_path / "site"
    write_plan(made, SMALL)
    Ledger.open(made / FILE, TROLLEY, create=True).close()
    write(made / FILE, known_at(OLD))
    with plainly(made / FILE) as db:
        as_version_left_it(db, OLD)
    return made


def brought_forward(folder: Path) -> Before:
    """The room opened as the program opens it; what was kept of the record before."""
    seen: list[Before] = []
    site = open_site(folder, OFFICE, NOW, older=lambda at: seen.append(forward.back_up(at)))
    assert site.ledger.version == schema.VERSION
    site.close()
    return seen[0]


def held(path: Path) -> str:
    """All that a record holds, tables, views and rows, whatever its version."""
    with plainly(path) as db:
        return "\n".join(db.iterdump())


def version(path: Path) -> int:
    with plainly(path) as db:
        return int(db.execute("PRAGMA user_version").fetchone()[0])


def entries(path: Path) -> list[object]:
    with plainly(path) as db:
        return db.execute("SELECT n, digest FROM entry ORDER BY n").fetchall()


# ---- the backup that comes first


def test_what_comes_first_is_a_backup_as_any_other_with_the_plan(folder: Path) -> None:
    before = held(folder / FILE)
    kept = brought_forward(folder)
    assert kept.made is not None
    assert packing.listed(folder / packing.FOLDER)[0].folder == kept.made.folder
    assert held(kept.made.record) == before
    assert (version(kept.made.record), version(folder / FILE)) == (OLD, schema.VERSION)
    assert inspect(kept.made.record).sound
    assert (kept.made.folder / PLAN).read_bytes() == (folder / PLAN).read_bytes()
    assert f"(version {OLD})" in (kept.made.folder / packing.README).read_text()
    words = keeping_words.before(kept)
    assert words.startswith(f"The record was of an older tankwalk (version {OLD}) and is brought")
    assert str(kept.made.folder) in words


def test_it_is_put_back_and_rehearsed_as_any_other(folder: Path, tmp_path: Path) -> None:
    before = entries(folder / FILE)
    kept = brought_forward(folder)
    assert kept.made is not None
    with opened(folder, laptop="office") as site:
        found = rehearsing.rehearse(site, lambda there: f"{there.ledger.version}")
    assert (found.same, found.since, found.entries) == (True, 0, len(before))
    elsewhere, seals = tmp_path / "elsewhere", tmp_path / "seals.txt"
    restoring.restore(kept.made.folder, elsewhere, moment(NOW), seals)
    assert (version(elsewhere / FILE), entries(elsewhere / FILE)) == (OLD, before)
    assert brought_forward(elsewhere).made is not None
    assert entries(elsewhere / FILE) == before


def test_the_rule_drops_an_older_backup_for_it_as_for_any_other(folder: Path) -> None:
    old = folder / packing.FOLDER / "2024-01-05-0700-entry-1"
    older = folder / packing.FOLDER / "2024-01-04-0700-entry-1"
    for one in (old, older):
        one.mkdir(parents=True)
        (one / FILE).write_bytes(b"")
    brought_forward(folder)
    assert [one.number for one in packing.listed(folder / packing.FOLDER)] != [1, 1]
    assert not older.exists()


# ---- where none can be made


def refused(folder: Path) -> str:
    before = (folder / FILE).read_bytes()
    with pytest.raises(Refusal) as refusal:
        brought_forward(folder)
    assert (folder / FILE).read_bytes() == before
    return str(refusal.value)


def test_without_a_place_for_it_the_record_stays_of_its_version(folder: Path) -> None:
    (folder / packing.FOLDER).write_text("somebody put a file here")
    words = refused(folder)
    assert words.startswith(
        f"The record is of an older tankwalk (version {OLD}, now {schema.VERSION}). A"
    )
    assert "make room there" in words


def test_a_file_that_sqlite_finds_damaged_is_not_brought_forward(folder: Path) -> None:
    with plainly(folder / FILE) as db:
        size = db.execute("PRAGMA page_size").fetchone()[0]
        root = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'note'").fetchone()[0]
    with (folder / FILE).open("rb+") as file:
        file.seek((root - 1) * size)
        file.write(b"\xff" * size)
    assert "could be" in refused(folder)


def test_a_chain_that_does_not_hold_gives_no_backup_and_stops_no_round(folder: Path) -> None:
    with plainly(folder / FILE) as db:
        without_guards(db)
        db.execute("UPDATE note SET text = 'another'")
    before = held(folder / FILE)
    kept = brought_forward(folder)
    assert kept.made is None
    assert kept.copy is not None
    assert "was altered" in kept.why
    assert kept.why in keeping_words.before(kept)
    assert packing.listed(folder / packing.FOLDER) == []
    assert held(kept.copy) == before
    assert version(kept.copy) == OLD
    assert "was altered" in inspect(folder / FILE).sentences[0]


# ---- killed on its way

ASKED = ("open", "os.rename", "os.mkdir", "os.remove", "sqlite3.connect", "shutil.rmtree")
"""Audit events of Python at which a backup is killed: each asks something of the disk."""

CHANGES = (
    sqlite3.SQLITE_CREATE_TABLE, sqlite3.SQLITE_CREATE_VIEW, sqlite3.SQLITE_SAVEPOINT,
    sqlite3.SQLITE_TRANSACTION,
)  # fmt: skip
"""What SQLite is asked at which the bringing forward itself is killed."""


def in_a_child(act: Callable[[], object]) -> int:
    """What ended a fork of this program that does this: 0, or minus the signal."""
    return os.waitstatus_to_exitcode(os.waitpid(forked(act), 0)[1])


def opened_and_killed(folder: Path, at_backup: int, at_change: int, counts: Path) -> None:
    """The room opened in this process, which is killed at one of the steps; 0 kills at none."""
    asked = changed = 0
    backing_up = False

    def heard(event: str, about: tuple[object, ...]) -> None:
        nonlocal asked
        if backing_up and event in ASKED and str(folder) in str(about[0]):
            asked += 1
            if asked == at_backup:
                os.kill(os.getpid(), signal.SIGKILL)

    def change(action: int, *_: object) -> int:
        nonlocal changed
        if action in CHANGES:
            changed += 1
            if changed == at_change:
                os.kill(os.getpid(), signal.SIGKILL)
        return sqlite3.SQLITE_OK

    def older(site: Site) -> None:
        nonlocal backing_up
        site.ledger.db.execute("PRAGMA synchronous = OFF")  # a kill needs no disk
        backing_up = True
        forward.back_up(site)
        backing_up = False
        site.ledger.db.set_authorizer(change)

    sys.addaudithook(heard)
    open_site(folder, OFFICE, NOW, older=older).close()
    counts.write_text(f"{asked} {changed}")


def test_killed_at_any_step_the_record_of_before_is_whole_and_opens(
    folder: Path, tmp_path: Path
) -> None:
    before, ends = held(folder / FILE), entries(folder / FILE)
    counts, room = tmp_path / "counts", tmp_path / "room"

    def killed(at_backup: int, at_change: int) -> int:
        shutil.rmtree(room, ignore_errors=True)
        shutil.copytree(folder, room)
        return in_a_child(lambda: opened_and_killed(room, at_backup, at_change, counts))

    assert killed(0, 0) == 0
    asked, changed = map(int, counts.read_text().split())
    assert (asked > 15, changed > 10) == (True, True)
    steps = [(n, 0) for n in range(1, asked + 1)] + [(0, n) for n in range(1, changed + 1)]
    for at_backup, at_change in steps:
        assert killed(at_backup, at_change) == -signal.SIGKILL
        made = packing.listed(room / packing.FOLDER)
        for one in made:  # what has its name is whole
            assert inspect(one.record).sound
            assert held(one.record) == before
            assert (one.folder / PLAN).read_bytes() == (room / PLAN).read_bytes()
        if at_change:
            assert len(made) == 1
        assert version(room / FILE) == OLD
        assert held(room / FILE) == before
        if (at_backup + at_change) % 8 == 0:
            brought_forward(room)
            assert entries(room / FILE) == ends


def test_a_step_that_is_kept_alone_would_be_found(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The kills see a migration that keeps its steps one by one, as it once did."""

    whole = migrations.apply

    def one_by_one(db: sqlite3.Connection, *version: int) -> None:
        if version:  # only made anew, to hold a record against
            whole(db, *version)
            return
        db.execute("CREATE TABLE half (a)")
        db.execute("CREATE TABLE half_too (a)")

    monkeypatch.setattr(migrations, "apply", one_by_one)
    before = held(folder / FILE)
    assert in_a_child(lambda: opened_and_killed(folder, 0, 2, tmp_path / "counts")) < 0
    assert held(folder / FILE) != before
