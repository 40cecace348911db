"""Ways in which somebody alters a record, done one by one; and what the check says of each.

`python tests/tamperings.py > docs/proof.md` renews the page; a test holds it.
"""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from ledger_support import (
    at,
    full_content,
    guard_names,
    note,
    one_of_everything,
    opened,
    plainly,
    record,
    temp,
    without_guards,
    write,
)
from tankwalk.ledger import proof
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.schema import DICTIONARIES, GUARDED

ROWS = {
    "a reading made another": "UPDATE reading SET value = 16.4 WHERE entry = 5",
    "a reading by its last bit": "UPDATE reading SET value = value * (1 + 2.3e-16) WHERE entry = 5",
    "what was typed": "UPDATE reading SET typed = '17.5' WHERE entry = 3",
    "the unit that was typed": "UPDATE reading SET typed_unit = 'degC' WHERE entry = 5",
    "a flag taken off": "UPDATE reading SET flag = 0 WHERE entry = 5",
    "the band in force": "UPDATE reading SET band = NULL WHERE entry = 5",
    "the meter of a reading": "UPDATE reading SET instrument = 2 WHERE entry = 5",
    "'could not' made 'not due'": "UPDATE reading SET qualifier = 'not due' WHERE entry = 7",
    "a dead fish less": "UPDATE mort SET fish = fish - 1 WHERE entry = 9",
    "the cause of death": "UPDATE mort SET cause = 'culled' WHERE entry = 9 AND cause = 'jumped'",
    "the time of an entry": "UPDATE entry SET observed_at = observed_at - 3600 WHERE n = 4",
    "a late entry made on time": "UPDATE entry SET late_s = 0 WHERE n = 8",
    "the wall clock of an entry": "UPDATE entry SET utc_offset = 0 WHERE n = 4",
    "whose entry it is": "UPDATE entry SET who = 2 WHERE n = 4",
    "the reason of a correction": "UPDATE entry SET reason = 'typed wrong' WHERE n = 11",
    "a correction that corrects nothing": "UPDATE entry SET amends = NULL WHERE n = 11",
    "a correction of another entry": "UPDATE entry SET amends = 5 WHERE n = 11",
    "a note's words": "UPDATE note SET text = 'cone 2 is fine' WHERE entry = 4",
    "a round never signed": "UPDATE round SET event = 'resume' WHERE entry = 31",
    "fish stocked": "UPDATE movement SET fish = 380 WHERE entry = 14",
    "how a count was made": "UPDATE movement SET method = 'eye' WHERE entry = 14",
    "a dose": "UPDATE dose SET amount = 4 WHERE entry = 24",
    "a meter that failed, passed": "UPDATE calibration SET passed = 1 WHERE entry = 23",
    "a follow-up closed": "UPDATE follow_up SET event = 'close' WHERE entry = 26",
    "a handover's page": "UPDATE handover SET text = 'all steady' WHERE entry = 29",
    "who reached whom": "UPDATE call SET reached = 1 WHERE entry = 50",
    "a fish's length": "UPDATE fish SET length = 9.8 WHERE entry = 61",
    "a plan of before": "UPDATE plan_version SET text = '[site]' WHERE entry = 1",
    "why a reading was flagged": "UPDATE judged SET sentence = 'fine' WHERE entry = 38",
    "a tank renamed": "UPDATE place SET code = 'T09' WHERE code = 'T01'",
    "initials renamed": "UPDATE person SET initials = 'ZZ' WHERE initials = 'AB'",
    "a laptop renamed": "UPDATE station SET name = 'mine'",
    "a kind renamed": "UPDATE kind SET name = 'gift' WHERE name = 'dose'",
    "a note taken out": "DELETE FROM note WHERE entry = 4; DELETE FROM entry WHERE n = 4",
    "its words alone taken out": "DELETE FROM note WHERE entry = 4",
    "a row of the dead added": "INSERT INTO mort VALUES (9, 'eaten', 1)",
    "words hung on nothing": "INSERT INTO note VALUES (777, 'words')",
    "a digest": "UPDATE entry SET digest = zeroblob(32) WHERE n = 40",
}
"""38 alterations of what the rows say, by plain SQL, the guards taken away and set again."""

Way = Callable[[Path, Path], object]
"""What alters the record at a path, whose laptop keeps its seals in a file."""


def _sql(text: str) -> Way:
    def way(path: Path, seals: Path) -> None:
        with plainly(path) as db:
            guards = [
                row[0] for row in db.execute("SELECT sql FROM sqlite_schema WHERE type = 'trigger'")
            ]
            without_guards(db)
            db.executescript(text)
            for sql in guards:
                db.execute(sql)

    return way


def _plain(text: str) -> Way:
    def way(path: Path, seals: Path) -> None:
        with plainly(path) as db:
            db.executescript(text)

    return way


def cut(path: Path, seals: Path) -> None:
    """The newest five entries, cut off with all their rows."""
    last = len(one_of_everything()) - 5
    tables = sorted(set(GUARDED) - set(DICTIONARIES) - {"entry", "imported"})
    gone = "".join(f"DELETE FROM {table} WHERE entry > {last};" for table in tables)
    _sql(f"{gone} DELETE FROM entry WHERE n > {last}")(path, seals)


def put_back(path: Path, seals: Path) -> None:
    """Yesterday's file in the place of today's."""
    shutil.copy(path, yesterday := path.with_name("yesterday"))
    with opened(path) as ledger:
        ledger.append(*temp(900, 17.0))
        proof.keep(seals, proof.seal(ledger.db), at(901))
    yesterday.replace(path)


def another(path: Path, seals: Path) -> None:
    """The record of another site."""
    with record() as other:
        with opened(other) as ledger:
            for minute in range(100):
                ledger.append(*temp(minute, 17.0))
        shutil.copy(other, path)


def tail_anew(path: Path, seals: Path) -> None:
    """The newest five entries cut off, and as many others appended by the program itself."""
    cut(path, seals)
    with opened(path) as ledger:
        for minute in range(5):
            ledger.append(*note(800 + minute, "all well"))


def all_anew(path: Path, seals: Path) -> None:
    """Every entry written anew, one of them with other words."""
    lines = one_of_everything()
    first = lines[3]
    lines[3] = type(first)(first.station, first.entry, (note(0, "cone 2 smells fine")[1],))
    with record() as made:
        write(made, lines)
        shutil.copy(made, path)


def all_anew_unseen(path: Path, seals: Path) -> None:
    """The same, where no seal was ever kept or printed."""
    all_anew(path, seals)
    seals.unlink()


def version_back(path: Path, seals: Path) -> None:
    """Guards taken away and the version set back, so that none seems to be missing."""
    with plainly(path) as db:
        for name in guard_names():
            db.execute(f"DROP TRIGGER {name}")
        db.execute("PRAGMA user_version = 8")


def no_checks(path: Path, seals: Path) -> None:
    """A table made anew without the checks of its columns."""
    with plainly(path) as db:
        number = db.execute("PRAGMA schema_version").fetchone()[0]
        db.execute("PRAGMA writable_schema = ON")
        db.execute(
            "UPDATE sqlite_schema SET sql = replace(sql, 'CHECK (late_s >= 0)', '') "
            "WHERE name = 'entry'"
        )
        db.execute(f"PRAGMA schema_version = {number + 1}")


UNSEEN: dict[str, Way] = {
    "the newest five entries cut off": cut,
    "yesterday's file put back": put_back,
    "the record of another site in the place": another,
    "the newest entries cut off, others appended by the program": tail_anew,
    "every entry written anew, by whoever has the program": all_anew,
    "a view redefined: the warm readings are not shown": _plain(
        "DROP VIEW readings; CREATE VIEW readings AS SELECT * FROM readings_ever WHERE value < 18"
    ),
    "a trigger that swallows what is entered": _plain(
        "CREATE TRIGGER quiet BEFORE INSERT ON reading BEGIN SELECT RAISE(IGNORE); END"
    ),
    "a trigger that adds to what is entered": _plain(
        "CREATE TRIGGER more AFTER INSERT ON note BEGIN "
        "INSERT INTO counted VALUES (NEW.entry, 'fish', 1, 1, '1'); END"
    ),
    "an index narrowed, so that flags are not found": _plain(
        "DROP INDEX flagged; CREATE INDEX flagged ON reading (observed_at) WHERE flag >= 4"
    ),
    "guards taken away, and the version set back to hide it": version_back,
    "a table without the checks of its columns": no_checks,
}
"""Eleven that digests alone do not see."""

BEYOND: dict[str, Way] = {
    "every entry written anew, and no seal was kept or printed anywhere": all_anew_unseen,
}


def said(way: Way) -> tuple[bool, str]:
    """Whether the check finds the record sound after it, and its first words on it."""
    with TemporaryDirectory() as folder, record(full_content()) as path:
        seals = Path(folder) / "seals.txt"
        with plainly(path) as db:
            for back in (30, 0):
                row = db.execute(
                    "SELECT n, digest FROM entry WHERE n = (SELECT max(n) FROM entry) - ?", (back,)
                ).fetchone()
                proof.keep(seals, proof.Seal(*row), at(800 - back))
        way(path, seals)
        found = inspect(path, seals=seals)
        words = [one for one in found.sentences if "No backup is known" not in one]
        return found.sound, words[0].replace(str(path), "FILE")


def rows() -> Iterator[tuple[str, str, bool, str]]:
    """Every way: its group, its name, whether the record seemed sound, and what was said."""
    groups: tuple[tuple[str, dict[str, Way]], ...] = (
        ("rows", {name: _sql(text) for name, text in ROWS.items()}),
        ("beyond the digests", UNSEEN),
        ("not seen", BEYOND),
    )
    for group, ways in groups:
        for name, way in ways.items():
            yield (group, name, *said(way))


HEAD = """# What the check sees

Made by `python tests/tamperings.py > docs/proof.md`: each was done to a record that holds one of
everything (written at two laptops), with the guards taken away and set again where that was
needed; then `tankwalk check` was run on the laptop that had kept two seals of that record. A test
holds every line.

- **The chain**: each entry's SHA-256 covers all it says and the entry before it on its laptop.
- **The seal**, `1234-ABCD-EFGH`, is the number of the newest entry and forty bits of its digest
  (base 32 without I, L, O and U). Each laptop keeps one in its own folder when the program ends,
  at each sign-off and at each handover; each printed page shows one; each backup holds one.
  `tankwalk check` holds the record against those of the laptop, `tankwalk check --seal
  1234-ABCD-EFGH` against one from paper. Two records with the same seal can be made by some 10^12
  tries: a seal shows what a person did, not what a laboratory of codes may do.
- **The shape**: tables, views, indexes and triggers are held against those the program makes.
  While a guard is missing, or a trigger is there that the program did not make, nothing is kept
  until `tankwalk check` has set it right.
"""


COLUMNS = "| what was done | what the check says |\n| --- | --- |\n"


def page() -> str:
    """The page of all of it."""
    parts, last = [HEAD], ""
    heads = {
        "rows": "## What the rows say: altered, {}",
        "beyond the digests": "## Beyond the digests: {}",
        "not seen": "## Not seen: {}",
    }
    every = list(rows())
    for group, name, sound, words in every:
        if group != last:
            many = sum(one[0] == group for one in every)
            parts.append(f"\n{heads[group].format(many)}\n\n{COLUMNS}")
            last = group
        parts.append(f"| {name} | {'(sound) ' if sound else ''}{words} |\n")
    parts.append(
        "\nA chain that is written anew as a whole cannot be told from an honest one where no\n"
        "seal of it is kept on a laptop, in a backup or on paper.\n"
    )
    return "".join(parts)


if __name__ == "__main__":
    try:
        print(page(), end="")
    except sqlite3.Error as fault:
        raise SystemExit(str(fault)) from fault
