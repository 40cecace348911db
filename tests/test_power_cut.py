"""A pulled plug: every state that a disk may be left in is opened, and holds what was promised.

Short forms of tests/crash_states.py, whose counts are in docs/crash-states.md.
"""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

import pytest

import crash_seen
import power_traced
from ledger_support import OFFICE, TROLLEY, one_of_everything, record
from power_cut import (
    FOLDER,
    Cut,
    Drop,
    Event,
    Files,
    Found,
    Link,
    Make,
    Put,
    Rename,
    Said,
    Sync,
    SyncFolder,
    judge,
    look,
    replayed,
    states,
    torn,
)
from power_recorded import Recorded, watched
from tankwalk import paths
from tankwalk.commands import sites
from tankwalk.exchange import tables
from tankwalk.ledger.entries import Entry, Note
from tankwalk.ledger.store import FILE, Ledger
from tankwalk.pages.trial_tables import Table


def trees(before: Files, events: list[Event]) -> list[Files]:
    """All that a cut may leave."""
    return [state.files for state in states(before, events, samples=5, seed=1)]


# ---- the model of a disk


def test_what_was_synced_is_never_lost_and_what_was_not_may_be() -> None:
    events: list[Event] = [Put(-1, 0, b"new"), Sync(-1), Put(-1, 0, b"too")]
    found = trees({"a": b"old"}, events)
    assert {b"old", b"new", b"too"} == {files["a"] for files in found}
    after = [s.files["a"] for s in states({"a": b"old"}, events, 5, 1) if s.point == len(events)]
    assert set(after) == {b"new", b"too"}


def test_two_writes_reach_the_disk_in_either_order_and_a_long_one_in_pieces() -> None:
    first, second = b"1" * 512, b"2" * 512
    found = {files["a"] for files in trees({"a": bytes(1024)}, [Put(-1, 0, first + second)])}
    assert found == {bytes(1024), first + bytes(512), bytes(512) + second, first + second}
    assert torn(Put(7, 500, b"x" * 600)) == [
        Put(7, 500, b"x" * 12),
        Put(7, 512, b"x" * 512),
        Put(7, 1024, b"x" * 76),
    ]


def test_a_file_may_have_grown_before_what_was_written_there_arrived() -> None:
    found = {files["a"] for files in trees({"a": b""}, [Put(-1, 0, b"word")])}
    assert found == {b"", b"word", bytes(4), b"\xa5" * 4}


def test_a_new_name_is_sure_only_when_its_folder_was_synced() -> None:
    events: list[Event] = [Make("a.partial", 1), Put(1, 0, b"new"), Sync(1),
                           Rename("a.partial", "a")]  # fmt: skip
    found = trees({"a": b"old"}, events)
    assert {"a": b"old"} in found
    assert {"a": b"new"} in found
    assert all(files["a"] in (b"old", b"new") for files in found)
    after = [s.files for s in states({"a": b"old"}, [*events, SyncFolder(".")], 5, 1)]
    assert after[-1] == {"a": b"new"}


def test_links_lengths_and_removals_are_replayed() -> None:
    events: list[Event] = [Make("b", 1), Put(1, 2, b"xy"), Cut(1, 3), Link("b", "c"), Drop("a")]
    assert replayed({"a": b"old"}, events) == {"b": b"\0\0x", "c": b"\0\0x"}


def test_what_lies_in_a_new_folder_is_sure_only_when_the_folder_is() -> None:
    part = "new.partial"
    events: list[Event] = [Make(f"{part}/", FOLDER), Make(f"{part}/a", 1), Put(1, 0, b"x"),
                           Sync(1), SyncFolder(part), Rename(part, "new")]  # fmt: skip
    assert replayed({}, events) == {"new/a": b"x"}
    after = [s.files for s in states({}, events, 5, 1) if s.point == len(events)]
    assert {} in after
    assert {"new.partial/a": b"x"} in after
    sure = [s.files for s in states({}, [*events, SyncFolder(".")], 5, 1)]
    assert sure[-1] == {"new/a": b"x"}
    gone: list[Event] = [*events, Drop("new/a"), SyncFolder("new")]
    assert replayed({}, [*gone, SyncFolder(".")]) == {}, "taken away under either name"
    assert {"new.partial/a": b"x"} not in [s.files for s in states({}, gone, 5, 1)][-4:]


# ---- the record


def some_entries(scratch: Path, synchronous: str = "EXTRA", many: int = 3) -> Found:
    """Open every state of some entries, each said to be kept when it was."""
    with record() as path:
        recorded = Recorded(path, TROLLEY)
        recorded.execute(f"PRAGMA synchronous = {synchronous}")
        for line in one_of_everything()[:many]:
            n = recorded.ledger.append(line.entry, *line.details)
            recorded.said(f"kept {n}")
        recorded.close()
        assert replayed(recorded.before, recorded.events) == look(path.parent)
        before = {f"site/{name}": content for name, content in recorded.before.items()}
        events = [_in_site(event) for event in recorded.events]
        return judge(before, events, crash_seen.site(scratch), samples=1, seed=1, most=3)


def _in_site(event: Event) -> Event:
    match event:
        case Make(name, file):
            return Make(f"site/{name}", file)
        case Drop(name):
            return Drop(f"site/{name}")
        case SyncFolder():
            return SyncFolder("site")
    return event


@pytest.mark.long
def test_whatever_reached_the_disk_what_was_said_to_be_kept_is_there_whole(tmp_path: Path) -> None:
    found = some_entries(tmp_path)
    assert (found.lost, found.half) == ((), ())
    assert found.promises == 5
    assert found.opened > 200


def test_a_record_that_did_not_wait_for_the_disk_would_be_found_out(tmp_path: Path) -> None:
    found = some_entries(tmp_path, synchronous="OFF", many=2)
    assert found.lost
    assert found.half


def test_a_record_that_did_not_wait_for_its_folder_would_be_found_out(tmp_path: Path) -> None:
    """SQLite's FULL leaves the journal's end to the disk: a cut then takes an entry back."""
    found = some_entries(tmp_path, synchronous="FULL", many=2)
    assert found.lost
    assert found.half == ()


def test_what_strace_wrote_down_is_read_as_what_was_done() -> None:
    def said(words: str) -> str:
        return "".join(f"\\x{byte:02x}" for byte in words.encode())

    room, plan = said("/room"), said("/room/plan.toml")
    part, gone = said("/room/plan.toml.partial"), said("/room/old")
    log = f"""\
7 openat(AT_FDCWD<{room}>, "{part}", O_WRONLY|O_CREAT|O_TRUNC|O_CLOEXEC, 0666) = 3<{part}>
7 openat(AT_FDCWD<{room}>, "{said("/etc/x")}", O_WRONLY|O_CREAT, 0666) = 4<{said("/etc/x")}>
7 write(4<{said("/etc/x")}>, "{said("not ours")}", 8) = 8
7 write(3<{part}>, "{said("a = 1")}", 5) = 5
8 fsync(3<{part}> <unfinished ...>
7 write(1<{said("pipe:[1]")}>, "{said("wait")}", 4) = 4
8 <... fsync resumed>)              = 0
7 rename("{part}", "{plan}") = 0
7 pwrite64(3<{plan}>, "{said("b")}", 1, 0) = 1
7 unlink("{said("/room/none")}") = -1 ENOENT (No such file or directory)
7 unlink("{gone}") = 0
7 openat(AT_FDCWD<{room}>, "{room}", O_RDONLY|O_CLOEXEC) = 5<{room}>
7 fsync(5<{room}>) = 0
7 write(1<{said("pipe:[1]")}>, "{said("kept")}", 4) = 4
7 write(1<{said("pipe:[1]")}>, "{said(".")}", 1) = 1
7 +++ exited with 0 +++
"""
    assert power_traced.read(log, Path("/room"), {"old": b""}) == [
        Make("plan.toml.partial", 1),
        Put(1, 0, b"a = 1"),
        Said("wait"),
        Sync(1),
        Rename("plan.toml.partial", "plan.toml"),
        Put(1, 0, b"b"),
        Drop("old"),
        SyncFolder("."),
        Said("kept."),
    ]


# ---- plans, pages, tables, sites: files put whole


def opened_whole(folder: Path, act: object, scratch: Path) -> Found:
    """Open every state of what an act does to a folder, its end said to a person."""
    with watched(folder) as (before, events):
        assert callable(act)
        act()
    events.append(Said("done"))
    assert replayed(before, events) == look(folder)
    return judge(before, events, crash_seen.site(scratch, "."), samples=2, seed=1, most=4)


def test_a_plan_put_in_place_is_the_old_one_or_the_new_one_and_stays(tmp_path: Path) -> None:
    folder = tmp_path / "room"
    folder.mkdir()
    (folder / "plan.toml").write_bytes(b"old " * 400)
    found = opened_whole(
        folder, lambda: paths.put_whole(folder / "plan.toml", b"new " * 500), tmp_path
    )
    assert (found.lost, found.half) == ((), ())
    assert found.opened > 10


def test_a_plan_written_in_place_would_be_found_out(tmp_path: Path) -> None:
    folder = tmp_path / "room"
    folder.mkdir()
    (folder / "plan.toml").write_bytes(b"old " * 400)
    found = opened_whole(
        folder, lambda: (folder / "plan.toml").write_bytes(b"new " * 500), tmp_path
    )
    assert found.half


def test_a_new_site_has_a_record_where_it_has_a_plan_and_both_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TANKWALK_HOME", str(tmp_path / "home"))
    folder = tmp_path / "room"
    folder.mkdir()
    wanted = Namespace(
        folder=str(folder), zone="UTC", now=None, new_record=False, plan_from_record=False
    )
    with watched(folder) as (before, events):
        assert sites.start(wanted) == 0
    events.append(Said("A new site is in room"))
    seen = crash_seen.site(tmp_path, ".")
    found = judge(before, events, seen, samples=2, seed=1, most=4)
    assert (found.lost, found.half) == ((), ())
    for files in trees(before, events):
        assert "plan.toml" not in files or seen(files)["record"].startswith("0 entries")


def test_tables_of_a_trial_are_whole_and_stay(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    table = Table("survival", ("tank", "percent"), tuple(("T01", float(k)) for k in range(90)))
    found = opened_whole(
        folder, lambda: tables.write(folder, "a trial", [table], ["by tank"]), tmp_path
    )
    assert (found.lost, found.half) == ((), ())


def test_a_copy_of_the_record_is_whole_where_it_has_its_name_and_stays(tmp_path: Path) -> None:
    folder = tmp_path / "room"
    folder.mkdir()
    with Ledger.open(folder / FILE, OFFICE, create=True) as ledger:
        ledger.append(*_note())
        found = opened_whole(folder, lambda: ledger.back_up(folder / "copy.sqlite"), tmp_path)
    assert (found.lost, found.half) == ((), ())


def _note() -> tuple[Entry, Note]:
    line = next(one for one in one_of_everything() if isinstance(one.details[0], Note))
    assert isinstance(line.details[0], Note)
    return line.entry, line.details[0]
