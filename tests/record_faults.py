"""Faults of a record done one by one: what is read, what is on disk, what to do, and that it works.

`python tests/record_faults.py docs/faults.md` renews the table at the end of that page.
"""

from __future__ import annotations

import shutil
import sqlite3
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from ledger_support import TROLLEY, plainly, told
from site_support import SMALL, opened, seen_before, tankwalk
from tankwalk.errors import Refusal
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.store import FILE, Ledger
from tankwalk.practice.site import Site
from test_ledger import as_version_left_it

MARK = "## The record: faults that were made, and the way out\n"

HEAD = f"""{MARK}
Made by `python tests/record_faults.py docs/faults.md`, which does each in a site of its own with a
backup on a stick, and does what is said to do; a test holds every row.

| fault | what is read | what is on disk | what to do | and then |
| --- | --- | --- | --- | --- |
"""


class Row(NamedTuple):
    """One fault as it went."""

    read: str
    disk: str
    do: str
    then: str


class Made(NamedTuple):
    """A site whose record holds two readings, with a backup of the first on a stick."""

    home: Path
    folder: Path
    stick: Path

    @property
    def record(self) -> Path:
        return self.folder / FILE

    def run(self, *words: str, site: bool = True) -> str:
        """What a command says, with the places by their names."""
        more = ("--site", str(self.folder)) if site else ()
        ran = tankwalk(self.home, *words, *more)
        return (ran.stdout + ran.stderr).decode("utf-8", "replace").strip()

    def restored(self) -> str:
        """Do what every dead end leads to: put the stick's backup back, and check."""
        self.run("restore", str(self.stick), "--to", str(self.folder), site=False)
        aside = [one for one in self.folder.glob("ledger-aside-*.sqlite")]
        kept = "what lay there is kept aside; " if aside else ""
        return f"{kept}{self.checked()}"

    def checked(self) -> str:
        return next(
            line for line in self.run("check").splitlines() if line.startswith("Record:")
        ).removeprefix("Record: ")

    def held(self) -> str:
        """What of the two readings the record holds."""
        with plainly(self.record) as db:
            many = db.execute("SELECT count(*) FROM readings").fetchone()[0]
        return f"all {many} readings"


RESTORE = "`tankwalk restore STICK --to SITE`"


def _first(words: str) -> str:
    return words.splitlines()[-1]


def full_disk(made: Made) -> Row:
    with opened(made.folder, SMALL) as at:
        pages = at.ledger.db.execute("PRAGMA page_count").fetchone()[0]
        at.ledger.db.execute(f"PRAGMA max_page_count = {pages}")
        words = told(lambda: _many(at))
        disk = made.held()
        at.ledger.db.execute("PRAGMA max_page_count = 1000000")
        seen_before(at, "T01", "temp", 17.0, "2026-05-10T06:00")
    return Row(words, disk, "make room, enter it again", made.checked())


def _many(at: Site) -> None:
    """Enter until the disk refuses, all of it together: none of it is kept."""
    with at.ledger.writing():
        for minute in range(2000):
            seen_before(at, "T01", "temp", 17.0, f"2026-05-09T20:{minute % 60:02d}")


def read_only(made: Made) -> Row:
    uri = f"{made.record.as_uri()}?mode=ro"
    with closing(sqlite3.connect(uri, uri=True, isolation_level=None)) as db:
        ledger = Ledger(made.record, db, TROLLEY)
        with opened(made.folder, SMALL) as at:
            at.ledger = ledger
            words = told(lambda: seen_before(at, "T01", "temp", 17.0, "2026-05-10T06:00"))
            at.ledger = Ledger.open(made.record, TROLLEY)
            disk = made.held()
            seen_before(at, "T01", "temp", 17.0, "2026-05-10T06:00")
    return Row(words, disk, "make the folder writable, enter it again", made.checked())


def locked(made: Made) -> Row:
    with opened(made.folder, SMALL) as at:
        at.ledger.db.execute("PRAGMA busy_timeout = 20")
        with closing(sqlite3.connect(made.record, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            words = told(lambda: seen_before(at, "T01", "temp", 17.0, "2026-05-10T06:00"))
            other.execute("ROLLBACK")
        disk = made.held()
        seen_before(at, "T01", "temp", 17.0, "2026-05-10T06:00")
    return Row(words, disk, "enter it again", made.checked())


def damaged_header(made: Made) -> Row:
    content = bytearray(made.record.read_bytes())
    content[:100] = b"\xa5" * 100
    made.record.write_bytes(content)
    words = _first(made.run("board"))
    return Row(words, "the file as it was found", RESTORE, made.restored())


def truncated(made: Made) -> Row:
    made.record.write_bytes(made.record.read_bytes()[:20_000])
    words = made.checked()
    return Row(words, "the file as it was found", RESTORE, made.restored())


def newer(made: Made) -> Row:
    with plainly(made.record) as db:
        version = db.execute("PRAGMA user_version").fetchone()[0]
        db.execute("PRAGMA user_version = 999")
    before = made.record.read_bytes()
    words = _first(made.run("board"))
    untouched = "every byte as it was" if made.record.read_bytes() == before else "CHANGED"
    with plainly(made.record) as db:
        db.execute(f"PRAGMA user_version = {version}")
    return Row(
        words, untouched, "install the newer program", f"as by that program: {made.checked()}"
    )


def _of_version_8(made: Made) -> None:
    with plainly(made.record) as db:
        as_version_left_it(db, 8)


def _dumped(path: Path) -> list[str]:
    with plainly(path) as db:
        return [*db.iterdump()]


def older(made: Made) -> Row:
    _of_version_8(made)
    before = _dumped(made.record)
    words = _first(made.run("board"))
    [kept] = (made.folder / "backups").glob("*/ledger.sqlite")
    same = "all that was there" if _dumped(kept) == before else "ANOTHER RECORD"
    return Row(words, f"{made.held()}; in the backup {same}", "nothing", made.checked())


def older_without_a_backup(made: Made) -> Row:
    _of_version_8(made)
    before = made.record.read_bytes()
    in_the_way = made.folder / "backups"
    in_the_way.write_text("a file where backups are kept")
    words = _first(made.run("board"))
    disk = "every byte as it was" if made.record.read_bytes() == before else "CHANGED"
    in_the_way.unlink()
    made.run("board")
    return Row(words, disk, "make a place for it, open the site again", made.checked())


def clock_back(made: Made) -> Row:
    with opened(made.folder, SMALL) as at:
        from site_support import clock_shows

        clock_shows(at, "2026-05-09T08:00")
        words = told(lambda: seen_now(at))
        disk = made.held()
        clock_shows(at, "2026-05-10T08:00")
        seen_now(at)
    return Row(words, disk, "set the clock, enter it again", made.checked())


def seen_now(at: Site) -> None:
    """A note entered now."""
    from tankwalk.ledger.entries import Entry, Note

    at.record(Entry("note", "AB", at.now(), at.now(), "site"), Note("looked"))


def doubled_hour(made: Made) -> Row:
    with opened(made.folder, SMALL) as at:
        for value, when in ((11.0, "2026-11-01T01:30-05:00"), (12.0, "2026-11-01T01:30-06:00")):
            seen_before(at, "T01", "temp", value, when)
        shown = at.ledger.db.execute(
            "SELECT observed_local, observed_utc FROM readings WHERE value > 10 ORDER BY n DESC"
        ).fetchmany(2)
    hours = "; ".join(f"{local} is {utc} UTC" for local, utc in reversed(shown))
    return Row("nothing: both are kept", hours, "nothing", made.checked())


def plan_deleted(made: Made) -> Row:
    plan = made.folder / "plan.toml"
    before = plan.read_text()
    plan.unlink()
    words = _first(made.run("board"))
    made.run("start", str(made.folder), "--plan-from-record", site=False)
    same = "the plan is back, letter by letter; " if plan.read_text() == before else "ANOTHER; "
    do = "`tankwalk start SITE --plan-from-record`"
    return Row(words, "the record, which holds its plans", do, f"{same}{made.checked()}")


def saved(made: Made, refused: str) -> Row:
    """What was read of the record under the open program lies beside it, and is put back."""
    file = made.folder / "ledger-saved-1.sqlite"
    many = inspect(file).sentences[0]
    made.run("restore", str(file), "--to", str(made.folder), site=False)
    do = "`tankwalk restore SITE/ledger-saved-1.sqlite --to SITE`"
    return Row(refused, f"ledger-saved-1.sqlite: {many}", do, made.checked())


def deleted_while_open(made: Made) -> Row:
    with opened(made.folder, SMALL) as at:
        made.record.unlink()
        refused = told(lambda: seen_before(at, "T01", "temp", 17.0, "2026-05-10T06:00"))
        at.ledger.lost()
    return saved(made, refused)


def replaced_while_open(made: Made) -> Row:
    with opened(made.folder, SMALL) as at:
        other = made.folder / "other"
        shutil.copy(next(made.stick.glob("**/ledger.sqlite")), other)
        other.replace(made.record)
        refused = told(lambda: seen_before(at, "T01", "temp", 17.0, "2026-05-10T06:00"))
        at.ledger.lost()
    return saved(made, refused)


def swapped(made: Made) -> Row:
    """Two laptops work on copies of one site, and one's copy comes in the place of the other's."""
    other = made.home.parent / "other"
    shutil.copytree(made.folder, other)
    for folder, value in ((made.folder, 17.0), (other, 18.0)):
        with opened(folder, SMALL) as at:
            seen_before(at, "T01", "temp", value, "2026-05-10T06:00")
    made.run("board")  # this laptop sees its own record once more, and keeps its seal
    mine = made.home.parent / "mine.sqlite"
    made.record.replace(mine)
    shutil.copy(other / FILE, made.record)
    words = made.checked()
    made.run("restore", str(mine), "--to", str(made.folder), site=False)
    then = f"the other's is kept aside; {made.checked()}"
    return Row(words, "both records whole", "`tankwalk restore MINE --to SITE`", then)


def older_put_back(made: Made) -> Row:
    made.run("board")
    shutil.copy(next(made.stick.glob("**/ledger.sqlite")), made.record)
    words = made.checked()
    made.run("restore", str(made.record), "--to", str(made.folder), site=False)
    do = "put the right file back; or, if it was meant, `tankwalk restore SITE/ledger.sqlite`"
    return Row(words, "the older file", do, made.checked())


FAULTS: dict[str, Callable[[Made], Row]] = {
    "the disk is full": full_disk,
    "the record may only be read": read_only,
    "another program holds the record": locked,
    "the head of the file is damaged": damaged_header,
    "the file is cut short": truncated,
    "the record is of a newer program": newer,
    "the record is of an older program": older,
    "the same, and no backup of it can be made": older_without_a_backup,
    "the clock is set back while the program is open": clock_back,
    "the hour that comes twice, when summer time ends": doubled_hour,
    "the plan is deleted": plan_deleted,
    "the record is deleted while it is open": deleted_while_open,
    "the record is replaced while it is open": replaced_while_open,
    "an older copy of the record is put in its place": older_put_back,
    "two laptops' copies are swapped": swapped,
}


def done(fault: str) -> Row:
    """One fault, done in a site of its own."""
    with TemporaryDirectory() as folder:
        at = Path(folder).resolve()
        made = Made(at / "home", at / "site", at / "stick")
        with opened(made.folder, SMALL) as site:
            seen_before(site, "T01", "temp", 16.4, "2026-05-09T19:00")
        made.run("backup", str(made.stick / "2026-05-09-1900-entry-2"))
        with opened(made.folder, SMALL) as site:
            seen_before(site, "T01", "temp", 16.5, "2026-05-09T20:00")
        row = FAULTS[fault](made)
        names = ((made.folder, "SITE"), (made.stick, "STICK"), (at, "DIR"))
        return Row(*(_named(words, names) for words in row))


def _named(words: str, names: tuple[tuple[Path, str], ...]) -> str:
    for path, name in names:
        words = words.replace(str(path), name)
    return " ".join(words.split())


def table() -> str:
    """The table with its head."""
    return HEAD + "".join(f"| {name} | {' | '.join(done(name))} |\n" for name in FAULTS)


if __name__ == "__main__":
    page = Path(sys.argv[1])
    text = page.read_text("utf-8").partition(MARK)[0].rstrip()
    try:
        page.write_text(f"{text}\n\n{table()}", "utf-8")
    except Refusal as refusal:
        raise SystemExit(str(refusal)) from refusal
