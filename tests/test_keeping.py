"""Backups made, kept by the rule, rehearsed, and put back: nothing that lay there is lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from time import sleep

import pytest

from ledger_support import plainly, rows, without_guards
from site_support import NOW, SMALL, ZONE, clock_shows, moment, opened, seen_before, write_plan
from tankwalk.clock import Instant, SystemClock, zone
from tankwalk.errors import Refusal
from tankwalk.ledger import proof, swap
from tankwalk.ledger.entries import Entry, Round
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.store import FILE
from tankwalk.ledger.swap import Ahead, Other
from tankwalk.pages import due_words, keeping_words
from tankwalk.paths import PLAN
from tankwalk.plan.advice import advice
from tankwalk.plan.backups import Backups
from tankwalk.plan.faults import PlanFaults
from tankwalk.plan.load import read_plan
from tankwalk.practice.board import board
from tankwalk.practice.keeping import background, packing, rehearsing, restoring, rule
from tankwalk.practice.keeping.age import backups_due
from tankwalk.practice.keeping.packing import Backup
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import BackupDue

READ = 16.4


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """A site with yesterday evening in its record."""
    with opened(tmp_path / "site", SMALL) as at:
        seen_before(at, "T01", "temp", READ, "2026-05-09T19:00")
        yield at


def put_back(source: Path, folder: Path) -> restoring.Restored:
    """Restored at the usual moment, on a laptop that keeps seals beside the folder."""
    seals = folder.parent / "seals.txt"
    return restoring.restore(source, folder, moment(NOW), seals)


def held(folder: Path) -> dict[str, list[object]]:
    """All that the record in a folder holds."""
    with plainly(folder / FILE) as db:
        return rows(db)


# ---- made


def test_a_backup_is_record_plan_seal_and_words_in_one_folder(site: Site, tmp_path: Path) -> None:
    made = packing.make(site, tmp_path / "stick" / "may")
    assert sorted(p.name for p in made.folder.iterdir()) == [
        "README.txt", FILE, "plan.toml", "seal.txt",
    ]  # fmt: skip
    assert held(made.folder) == rows(site.ledger.db)
    assert (made.folder / PLAN).read_bytes() == (site.folder / PLAN).read_bytes()
    assert (made.folder / "seal.txt").read_text() == f"{site.reader.spine.seal().words}\n"
    assert "tankwalk restore" in (made.folder / "README.txt").read_text()
    assert [p.name for p in made.folder.parent.iterdir()] == ["may"]
    assert inspect(made.record).sound


def test_a_backup_onto_a_stick_is_a_folder_of_its_own_there_and_never_in_another_backup(
    site: Site, tmp_path: Path
) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    one, two = (rule.make_at(site, stick) for _ in range(2))
    assert one.folder.parent == two.folder.parent == stick
    assert one.folder != two.folder
    named = rule.make_at(site, stick / "may")
    assert named.folder == stick / "may"
    with pytest.raises(Refusal, match="may is there already: nothing was written"):
        rule.make_at(site, stick / "may")


def altered(path: Path) -> None:
    with plainly(path) as db:
        without_guards(db)
        db.execute("UPDATE reading SET value = 12.5")


def test_a_record_whose_chain_is_broken_gives_no_backup(site: Site, tmp_path: Path) -> None:
    altered(site.folder / FILE)
    with pytest.raises(Refusal, match="not sound, so it was not copied as a backup: Entry"):
        packing.make(site, tmp_path / "stick" / "may")
    assert [*(tmp_path / "stick").iterdir()] == []


def test_a_record_whose_view_lies_gives_no_backup(site: Site, tmp_path: Path) -> None:
    with plainly(site.folder / FILE) as db:
        db.execute("DROP VIEW readings")
    with pytest.raises(Refusal, match="the view readings was taken away"):
        packing.make(site, tmp_path / "may")


def test_a_record_shorter_than_this_laptop_saw_takes_no_good_backups_place(
    site: Site, tmp_path: Path
) -> None:
    site.seals = tmp_path / "seals.txt"
    proof.keep(site.seals, proof.Seal(500, b"x" * 32), moment(NOW))
    [kept] = rule.keep(site)
    assert kept.made is None
    assert "this laptop saw entry 500" in kept.why


# ---- kept by the rule


def made_at(days_ago: float, number: int) -> Backup:
    when = Instant(moment(NOW).utc - int(days_ago * 86400), 0)
    return Backup(Path(f"{packing.name_of(when, number)}"), when, number)


def test_all_of_two_days_one_a_day_for_thirty_and_one_a_month_are_kept() -> None:
    """Four sign-offs a day for 100 days. The counts follow from the rule, by hand."""
    every = [made_at(100 - n / 4, n + 1) for n in range(401)]
    now = every[-1]
    gone = rule.to_drop(every[:-1], Backups(), now)
    stay = [one for one in every if one not in gone]
    by_day: dict[date, int] = {}
    for one in stay:
        by_day[one.made.day] = by_day.get(one.made.day, 0) + 1
    today = now.made.day
    assert by_day[today] == len([e for e in every if e.made.day == today])
    yesterday = today - timedelta(days=1)
    assert by_day[yesterday] == 4
    for back in range(2, 30):
        assert by_day[today - timedelta(days=back)] == 1
    older = sorted(str(day) for day in by_day if day <= today - timedelta(days=30))
    assert older == ["2026-01-31", "2026-02-28", "2026-03-31"]
    assert now in stay


def test_what_stays_of_a_day_is_its_last_which_holds_all_of_the_others() -> None:
    day = [made_at(5.3, 1), made_at(5.2, 2), made_at(5.1, 3)]
    assert rule.to_drop(day, Backups(), made_at(0, 9)) == day[:2]


def test_the_last_one_stays_however_old_and_so_does_one_of_a_clock_ahead() -> None:
    only = made_at(4000, 1)
    assert rule.to_drop([only], Backups(), only) == []
    ahead = made_at(-300, 7)
    assert rule.to_drop([ahead], Backups("", 1, 1, 0), made_at(0, 9)) == []


def test_the_rule_drops_only_what_it_made(site: Site) -> None:
    place = site.folder / packing.FOLDER
    mine = place / "photos of May"
    mine.mkdir(parents=True)
    (mine / "a.jpg").touch()
    old = [packing.make(site, place / packing.name_of(made_at(n, 2).made, 2)) for n in (40, 41)]
    [kept] = rule.keep(site)
    assert kept.made is not None
    assert kept.dropped == 1
    assert (mine / "a.jpg").exists()
    left = [one.folder for one in packing.listed(place)]
    assert len(left) == 2
    assert old[0].folder in left


def test_two_backups_of_one_minute_have_two_names(site: Site) -> None:
    for _ in range(3):
        assert all(one.made for one in rule.keep(site))
    assert len(packing.listed(site.folder / packing.FOLDER)) == 3


def test_a_second_disk_takes_them_too_and_is_told_when_it_is_not_there(tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    with opened(tmp_path / "site", f'{SMALL}\n[backup]\nsecond = "{stick}"\n') as at:
        seen_before(at, "T01", "temp", READ, "2026-05-09T19:00")
        beside, second = rule.keep(at)
        assert beside.made is not None
        assert (second.made, second.why) == (
            None, f"{stick} is not there: put the disk or stick in.",
        )  # fmt: skip
        stick.mkdir()
        _, second = rule.keep(at)
        assert second.made is not None
        assert second.made.folder.parent == stick / "test-room"
        assert put_back(stick, tmp_path / "new").entries == 2


# ---- by itself, and on the board


def test_signing_a_round_begins_a_backup_that_no_key_waits_for(
    site: Site, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TANKWALK_HOME", str(tmp_path / "home"))
    site.clock = SystemClock(zone(ZONE))
    site.signed = background.begin
    now = site.now()
    for event in ("open", "sign"):
        assert not (site.folder / packing.FOLDER).exists()
        site.record(Entry("round", "AB", now, now, "site"), Round(1, "am", event))
    place, tries = site.folder / packing.FOLDER, 0
    while not packing.listed(place) and tries < 600:
        sleep(0.1)
        tries += 1
    [made] = packing.listed(place)
    assert made.number == site.reader.spine.last_number()
    assert held(made.folder) == rows(site.ledger.db)


def test_a_rehearsal_begins_none(site: Site) -> None:
    assert not background.begin(site)
    assert not (site.folder / packing.FOLDER).exists()


def due(site: Site) -> list[tuple[str, str]]:
    return [due_words.told(one, site.now()) for one in backups_due(site, site.now())]


def test_the_board_tells_of_a_backup_only_where_it_is_old_or_missing(tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    with opened(tmp_path / "site", f'{SMALL}\n[backup]\nsecond = "{stick}"\n') as at:
        seen_before(at, "T01", "temp", READ, "2026-05-06T19:00")
        assert due(at) == [
            ("Backup of the record", "none for 4 d"),
            ("Second disk for backups", "not there: put it in"),
        ]  # fmt: skip
        stick.mkdir()
        assert due(at)[1] == ("Backup on the second disk", "none for 4 d")
        rule.keep(at)
        assert due(at) == []
        seen_before(at, "T01", "temp", READ, "2026-05-10T06:30")
        assert due(at) == []
        clock_shows(at, "2026-05-13T07:00")
        assert due(at)[0] == ("Backup of the record", "none for 3 d")
        found = board(at).with_later((), backups_due(at, at.now()))
        assert [one for one in found.next if isinstance(one.facts, BackupDue)]


def test_the_board_says_first_which_disk_has_no_backup_and_names_no_long_folder(
    tmp_path: Path,
) -> None:
    stick = tmp_path / "stick"
    with opened(tmp_path / "site", f'{SMALL}\n[backup]\nsecond = "{stick}"\n') as at:
        number = at.reader.spine.last_number()
        made = f"Backup made and checked, up to entry {number}."
        absent = f"NOT on the second disk: {stick} is not there: put the disk or stick in."
        assert keeping_words.on_board(rule.keep(at)) == f"{absent} {made}"
        stick.mkdir()
        assert keeping_words.on_board(rule.keep(at)) == f"{made} The second disk has it too."


def test_a_plan_without_a_second_disk_and_without_a_backup_is_told_by_the_check_alone(
    site: Site,
) -> None:
    clock_shows(site, "2026-05-20T07:00")
    assert due(site) == []
    assert "[backup] second: every backup lies on the same disk" in str(advice(site.plan)[-1])


@pytest.mark.parametrize(("line", "words"), [
    ('second = "stick"', "does not say where it is from the top of the disk"),
    ("keep_days = 0", "is not a whole number from 1 to 3660"),
])  # fmt: skip
def test_a_faulty_table_of_backups_is_named_with_its_line(line: str, words: str) -> None:
    with pytest.raises(PlanFaults, match=words):
        read_plan(f"{SMALL}\n[backup]\n{line}\n")


# ---- put back


def test_a_laptop_died_and_a_stick_makes_a_site_of_an_empty_folder(
    site: Site, tmp_path: Path
) -> None:
    packing.make(site, tmp_path / "stick" / "tankwalk" / "room" / "2026-05-09-1900-entry-2")
    done = put_back(tmp_path / "stick", tmp_path / "new")
    assert (done.entries, done.aside, done.gone, done.seen) == (2, None, None, 0)
    assert held(tmp_path / "new") == rows(site.ledger.db)
    assert (tmp_path / "new" / PLAN).read_text() == (site.folder / PLAN).read_text()
    assert sorted(p.name for p in (tmp_path / "new").iterdir()) == ["copies.txt", FILE, PLAN]


def test_what_lay_there_is_kept_and_what_is_not_in_the_backup_is_told(
    site: Site, tmp_path: Path
) -> None:
    made = packing.make(site, tmp_path / "may")
    seen_before(site, "T01", "temp", 17.0, "2026-05-10T06:00")
    seen_before(site, "T01", "temp", 17.1, "2026-05-10T06:30")
    before = rows(site.ledger.db)
    site.close()
    done = put_back(made.folder, site.folder)
    assert done.gone == Ahead(3, 4, moment("2026-05-10T06:00"), moment("2026-05-10T06:30"))
    assert done.aside is not None
    with plainly(done.aside) as db:
        assert rows(db) == before
    said = keeping_words.restored(done, moment(NOW))
    assert said[1].startswith(
        "NOT IN IT: 2 entries, 3 to 4, entered Sun 10 May 06:00 to Sun 10 May 06:30. Kept in "
    )
    found = inspect(site.folder / FILE, seals=tmp_path / "seals.txt")
    assert found.sound
    assert "this laptop had seen 2 more" in found.sentences[1]


def test_an_old_journal_goes_with_its_record_and_is_not_played_into_the_backup(
    tmp_path: Path,
) -> None:
    record, new, aside = (tmp_path / f"{name}.sqlite" for name in ("ledger", "new", "aside"))
    for one in (record, new):
        one.write_bytes(one.name.encode())
    (tmp_path / "ledger.sqlite-journal").write_bytes(b"half a transaction")
    assert swap.put(new, record, aside)
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {
        "ledger.sqlite": b"new.sqlite",
        "aside.sqlite": b"ledger.sqlite",
        "aside.sqlite-journal": b"half a transaction",
    }


def test_a_damaged_record_is_kept_too_and_what_the_laptop_saw_is_told(
    site: Site, tmp_path: Path
) -> None:
    made = packing.make(site, tmp_path / "may")
    seen_before(site, "T01", "temp", 17.0, "2026-05-10T06:00")
    site.seals = tmp_path / "seals.txt"
    site.close()
    content = bytearray((site.folder / FILE).read_bytes())
    content[4096:] = b"\xa5" * (len(content) - 4096)
    (site.folder / FILE).write_bytes(content)
    done = put_back(made.folder, site.folder)
    assert (done.gone, done.seen) == (None, 1)
    assert done.aside is not None
    assert done.aside.read_bytes() == content
    assert held(site.folder) == held(made.folder)


def test_another_record_that_lay_there_is_told(site: Site, tmp_path: Path) -> None:
    with opened(tmp_path / "other", SMALL) as other:
        for hour in range(5):
            seen_before(other, "T01", "temp", 17.0, f"2026-05-09T1{hour}:00")
    made = packing.make(site, tmp_path / "may")
    assert put_back(made.folder, tmp_path / "other").gone == Other(6)


@pytest.mark.parametrize("what", ["chain", "bytes", "seal", "nothing", "newer"])
def test_what_is_not_sound_is_not_put_back_and_nothing_changes(
    site: Site, tmp_path: Path, what: str
) -> None:
    made = packing.make(site, tmp_path / "may")
    if what == "chain":
        altered(made.record)
    elif what == "bytes":
        made.record.write_bytes(made.record.read_bytes()[:9000])
    elif what == "seal":
        (made.folder / "seal.txt").write_text("2-ABCD-EFGH\n")
    elif what == "newer":
        with plainly(made.record) as db:
            db.execute("PRAGMA user_version = 999")
    else:
        shutil.rmtree(made.folder)
    site.close()
    before = {p.name: p.read_bytes() for p in site.folder.iterdir()}
    with pytest.raises(Refusal, match=r"(?i)nothing was changed"):
        put_back(made.folder, site.folder)
    assert {p.name: p.read_bytes() for p in site.folder.iterdir()} == before


def test_a_record_that_another_program_writes_to_is_not_replaced(
    site: Site, tmp_path: Path
) -> None:
    made = packing.make(site, tmp_path / "may")
    with closing(sqlite3.connect(site.folder / FILE, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Refusal, match="Another program holds the record"):
            put_back(made.folder, site.folder)
    assert not [*site.folder.glob("*aside*")]


def test_a_stick_with_two_sites_asks_which(site: Site, tmp_path: Path) -> None:
    for name in ("one", "two"):
        packing.make(site, tmp_path / "stick" / name / "2026-05-09-1900-entry-2")
    with pytest.raises(Refusal, match="holds backups of 2 sites"):
        put_back(tmp_path / "stick", tmp_path / "new")
    assert not (tmp_path / "new" / FILE).exists()


def test_the_newest_of_a_disk_is_taken(site: Site, tmp_path: Path) -> None:
    rule.keep(site)
    seen_before(site, "T01", "temp", 17.0, "2026-05-10T06:00")
    rule.keep(site)
    assert put_back(site.folder / packing.FOLDER, tmp_path / "new").entries == 3


def test_a_changed_plan_is_not_undone_and_a_faulty_one_gives_way(
    site: Site, tmp_path: Path
) -> None:
    made = packing.make(site, tmp_path / "may")
    site.close()
    write_plan(site.folder, SMALL + "\n# a band was changed this morning\n")
    done = put_back(made.folder, site.folder)
    assert "this morning" in (site.folder / PLAN).read_text()
    assert done.plan.kept
    assert done.plan.other is not None
    assert done.plan.other.read_text() == (made.folder / PLAN).read_text()
    (site.folder / PLAN).write_text("[site\nname =")
    done = put_back(made.folder, site.folder)
    assert (site.folder / PLAN).read_text() == (made.folder / PLAN).read_text()
    assert done.plan.other is not None
    assert done.plan.other.read_text() == "[site\nname ="


def test_a_record_alone_brings_the_plan_it_holds(site: Site, tmp_path: Path) -> None:
    site.ledger.back_up(tmp_path / "alone.sqlite")
    done = put_back(tmp_path / "alone.sqlite", tmp_path / "new")
    assert done.plan.made_from_record
    assert (tmp_path / "new" / PLAN).read_text() == (site.folder / PLAN).read_text()


def test_a_file_put_there_by_hand_is_taken_as_it_is_when_one_says_so(
    site: Site, tmp_path: Path
) -> None:
    seals = tmp_path / "seals.txt"
    proof.keep(seals, proof.Seal(500, b"x" * 32), moment(NOW))
    assert not inspect(site.folder / FILE, seals=seals).sound
    done = put_back(site.folder / FILE, site.folder)
    assert (done.same, done.aside, done.seen) == (True, None, 498)
    assert inspect(site.folder / FILE, seals=seals).sound


def test_a_disk_without_links_keeps_what_lay_there_too(
    site: Site, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = packing.make(site, tmp_path / "may")
    site.close()

    def no_link(*_: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_link)
    done = put_back(made.folder, site.folder)
    assert done.aside is not None
    assert held(site.folder) == held(made.folder)


# ---- rehearsed


def test_a_rehearsal_opens_the_newest_and_says_what_came_after(site: Site, tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="There is no backup in"):
        rehearsing.rehearse(site, lambda _: "x")
    rule.keep(site)
    seen_before(site, "T01", "temp", 17.0, "2026-05-10T06:00")
    shown: list[str] = []

    def drawn(there: Site) -> str:
        shown.append(there.plan.name)
        return "a\nb"

    found = rehearsing.rehearse(site, drawn)
    assert (found.entries, found.since, found.same, found.lines) == (2, 1, True, 2)
    assert shown == [site.plan.name]
    words = keeping_words.rehearsed(found)
    assert words.endswith("It equals the record here up to entry 2. 1 entry came after it.")


def test_a_backup_on_a_stick_is_rehearsed_by_the_name_of_the_stick(
    site: Site, tmp_path: Path
) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    made = rule.make_at(site, stick)
    found = rehearsing.rehearse(site, lambda _: "x", stick)
    assert (found.folder, found.same) == (made.folder, True)
    with pytest.raises(Refusal, match="tankwalk backup FOLDER --rehearse"):
        rehearsing.rehearse(site, lambda _: "x")


def test_a_rehearsal_tells_a_backup_of_another_record(site: Site, tmp_path: Path) -> None:
    with opened(tmp_path / "other", SMALL) as other:
        seen_before(other, "T01", "temp", 9.9, "2026-05-09T19:00")
        packing.make(other, site.folder / packing.FOLDER / "2026-05-09-1900-entry-2")
    found = rehearsing.rehearse(site, lambda _: "x")
    assert not found.same
    assert "it is not the record that is here" in keeping_words.rehearsed(found)


def test_a_rehearsal_of_a_damaged_backup_is_refused(site: Site) -> None:
    [kept] = rule.keep(site)
    assert kept.made is not None
    altered(kept.made.record)
    with pytest.raises(Refusal, match="is not sound, so it was not put back"):
        rehearsing.rehearse(site, lambda _: "x")
