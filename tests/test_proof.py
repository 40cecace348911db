"""What the chain cannot see: cut tails, older files, other records, views and triggers; seals."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger_support import (
    OFFICE,
    TROLLEY,
    at,
    full_content,
    note,
    one_of_everything,
    opened,
    plainly,
    record,
    rows,
    temp,
    told,
    without_guards,
    write,
)
from tankwalk.errors import Refusal
from tankwalk.ledger import proof
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.proof import Seal
from tankwalk.ledger.schema import DICTIONARIES, GUARDED

# ---- a seal


def test_a_seal_is_the_number_and_the_first_forty_bits_of_the_digest() -> None:
    assert Seal(9228, bytes.fromhex("00443214c7ffff")).words == "9228-0123-4567"
    assert Seal(7, b"\xff" * 32).words == "7-ZZZZ-ZZZZ"
    assert Seal(0, b"").words == "0-0000-0000"


def test_no_letter_of_a_seal_looks_like_another() -> None:
    assert len(set(proof.LETTERS)) == 32
    assert not set("ILOU") & set(proof.LETTERS)


@given(st.integers(0, 10**15 - 1), st.binary(min_size=5, max_size=32), st.sampled_from([" ", "-"]))
def test_a_seal_is_read_however_it_is_typed(number: int, digest: bytes, between: str) -> None:
    one = Seal(number, digest)
    letters = proof.short(digest)
    assert proof.typed(one.words) == (number, letters)
    loose = one.words.lower().replace("-", between).replace("0", "o").replace("1", "l")
    loose = f" {number}{loose[len(str(number)) :]} "
    assert proof.typed(loose) == (number, letters)


@pytest.mark.parametrize("words", ["", "9228", "9228-ABCD", "ABCD-EFGH", "9-AB*D-EFGH", "9" * 400])
def test_what_is_no_seal_is_refused(words: str) -> None:
    with pytest.raises(Refusal, match="is not a seal: nothing was checked"):
        proof.typed(words)


def test_a_printed_seal_holds_however_much_was_entered_after_it() -> None:
    with record(full_content()) as path:
        with opened(path) as ledger:
            printed = ledger.reader.spine.seal().words
            ledger.append(*temp(200, 17.4))
        found = inspect(path, printed=printed.lower().replace("-", " "))
        assert found.sound
        last = len(one_of_everything())
        assert found.sentences[1] == (
            f"the seal {printed} holds: entries 1 to {last} are those it was printed with; 1 came "
            "after."
        )
        assert found.seal.startswith(f"{last + 1}-")


def test_a_printed_seal_does_not_hold_for_a_record_written_anew() -> None:
    with record(full_content()) as path:
        with opened(path) as ledger:
            printed = ledger.reader.spine.seal().words
        path.unlink()
        with record() as empty:
            shutil.copy(empty, path)
        lines = one_of_everything()
        entry, words = lines[3].entry, note(0, "cone 2 smells fine")[1]
        lines[3] = type(lines[3])(lines[3].station, entry, (words,))
        write(path, lines)
        assert inspect(path).sound
        found = inspect(path, printed=printed)
        # Each laptop has a chain of its own: the newest entry is the office's, as the note is.
        assert not found.sound
        assert f"the seal {printed} does not match: entry" in found.sentences[0]


# ---- what this laptop keeps


def kept_of(path: Path, file: Path, when: float = 100) -> Seal:
    """Keep the seal of a record as a program does that ends."""
    with plainly(path) as db:
        one = proof.seal(db)
    proof.keep(file, one, at(when))
    return one


def cut(path: Path, many: int) -> None:
    """Cut the newest entries off with the guards taken away, and set the guards again."""
    with plainly(path) as db:
        guards = [r[0] for r in db.execute("SELECT sql FROM sqlite_schema WHERE type = 'trigger'")]
        without_guards(db)
        last = db.execute("SELECT max(n) FROM entry").fetchone()[0]
        for table in set(GUARDED) - set(DICTIONARIES) - {"entry", "imported"}:
            db.execute(f"DELETE FROM {table} WHERE entry > ?", (last - many,))
        db.execute("DELETE FROM entry WHERE n > ?", (last - many,))
        for sql in guards:
            db.execute(sql)


def test_newest_entries_that_were_cut_off_are_told_by_what_this_laptop_saw(tmp_path: Path) -> None:
    seals = tmp_path / "seals.txt"
    with record(full_content()) as path:
        last = kept_of(path, seals).number
        assert inspect(path, seals=seals).sound
        cut(path, 5)
        assert inspect(path).sound
        found = inspect(path, seals=seals)
        assert not found.sound
        assert found.sentences[0] == (
            f"this laptop saw entry {last} on Sun 10 May 2026, 04:40, and the record ends at entry "
            f"{last - 5}: its newest entries were cut off, or an older copy was put in its place."
        )
        assert found.sentences[1] == (
            f"If you put that file there on purpose, say so: tankwalk restore {path}."
        )


def test_the_newest_entries_written_anew_are_told(tmp_path: Path) -> None:
    """Whoever has the program can append: the digests hold, and the seals of before do not."""
    seals = tmp_path / "seals.txt"
    with record(full_content()) as path:
        first = kept_of(path, seals).number
        with opened(path) as ledger:
            ledger.append(*temp(200, 12.0))
        kept_of(path, seals)
        cut(path, 1)
        with opened(path) as ledger:
            ledger.append(*temp(200, 17.0))
            ledger.append(*temp(201, 17.0))
        assert inspect(path).sound
        assert inspect(path, seals=seals).sentences[0] == (
            f"entries {first + 1} to {first + 1} are not those that this laptop saw: they were "
            "written anew, with digests that hold."
        )


def test_another_record_in_the_place_is_told(tmp_path: Path) -> None:
    seals = tmp_path / "seals.txt"
    with record(full_content()) as path:
        kept_of(path, seals)
        with record() as other:
            with opened(other) as ledger:
                for minute in range(100):
                    ledger.append(*temp(300 + minute, 17.0))
            shutil.copy(other, path)
        assert "another record lies in its place" in inspect(path, seals=seals).sentences[0]


def test_a_restored_backup_counts_from_then_on_and_is_told(tmp_path: Path) -> None:
    seals = tmp_path / "seals.txt"
    with record(full_content()) as path:
        kept_of(path, seals)
        cut(path, 5)
        with plainly(path) as db:
            proof.keep(seals, proof.seal(db), at(120), restored=True, lost=5)
        found = inspect(path, seals=seals)
        assert found.sound
        last = len(one_of_everything()) - 5
        assert found.sentences[2] == (  # after the values of the import whose entry was cut off
            f"a backup was restored on Sun 10 May 2026, 05:00, up to entry {last}; this laptop had "
            "seen 5 more, which are not in it."
        )


def test_a_laptop_that_kept_nothing_or_rubbish_says_nothing(tmp_path: Path) -> None:
    seals = tmp_path / "seals.txt"
    with record(full_content()) as path:
        assert inspect(path, seals=seals).sound
        seals.write_bytes(b"\xff\x00 nonsense\n9-AB\n\n12-ABCD-EFGH\n")
        assert proof.kept(seals) == ()
        assert inspect(path, seals=seals).sound


def test_what_is_known_already_is_not_kept_twice_and_the_file_stays_small(tmp_path: Path) -> None:
    seals = tmp_path / "deep" / "seals.txt"
    for n in range(1, 3001):
        one = Seal(n, n.to_bytes(32, "little"))
        for _ in range(2):
            proof.keep(seals, one, at(60 * n))
    found = proof.kept(seals)
    assert seals.stat().st_size < proof.MOST_BYTES + 100
    assert [one.number for one in found[-proof.NEWEST :]] == [*range(2801, 3001)]
    assert len({one.when[:10] for one in found}) == len({at(60 * n).day for n in range(1, 3001)})


def test_a_folder_that_takes_no_seals_is_no_fault(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    proof.keep(tmp_path / "file" / "seals.txt", Seal(1, b"x"), at(0))
    assert proof.kept(tmp_path / "file" / "seals.txt") == ()


# ---- the shape


SHAPES = {
    "a view redefined": (
        "DROP VIEW readings; CREATE VIEW readings AS SELECT * FROM readings_ever WHERE value < 20",
        "the view readings was changed",
    ),
    "a view taken away": ("DROP VIEW notes", "the view notes was taken away"),
    "an index taken away": ("DROP INDEX amended", "the index amended was taken away"),
    "an index that narrows": (
        "DROP INDEX flagged; CREATE INDEX flagged ON reading (observed_at) WHERE flag >= 4",
        "the index flagged was changed",
    ),
    "an index that refuses": (
        "CREATE UNIQUE INDEX once ON call (whom, phone, reached)", "the index once was added",
    ),
    "a trigger that swallows": (
        "CREATE TRIGGER quiet BEFORE INSERT ON reading BEGIN SELECT RAISE(IGNORE); END",
        "the trigger quiet was added",
    ),
    "a trigger that adds": (
        "CREATE TRIGGER more AFTER INSERT ON note BEGIN "
        "INSERT INTO counted VALUES (NEW.entry, 'fish', 1, 1, '1'); END",
        "the trigger more was added",
    ),
    "a guard that never fires": (
        "DROP TRIGGER guard_note_update; CREATE TRIGGER guard_note_update BEFORE UPDATE ON note "
        "WHEN 0 BEGIN SELECT RAISE(ABORT, 'the record is append-only: note'); END",
        "the trigger guard_note_update was changed",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", SHAPES)
def test_a_schema_that_was_altered_is_named_and_put_right(case: str) -> None:
    sql, words = SHAPES[case]
    with record(full_content()) as path:
        with plainly(path) as db:
            before = rows(db)
            db.executescript(sql)
        found = inspect(path)
        assert not found.sound
        assert any(words in one for one in found.sentences), found.sentences
        assert inspect(path).sentences == (
            f"sound, {len(one_of_everything())} entries, every digest holds.",
        )
        with plainly(path) as db:
            assert rows(db) == before
        with opened(path) as ledger:
            ledger.append(*temp(300, 19.0))
            shown = ledger.db.execute("SELECT value FROM readings WHERE value = 19.0").fetchall()
            assert shown == [(19.0,)]


@pytest.mark.parametrize("case", [c for c in SHAPES if "trigger" in c or "guard" in c])
def test_nothing_is_kept_while_a_guard_is_missing_until_the_check_has_set_it(case: str) -> None:
    with record(full_content()) as path:
        with opened(path) as ledger:
            ledger.append(*temp(300, 19.0))
            with plainly(path) as db:  # while the program is open
                db.executescript(SHAPES[case][0])
            before = rows(ledger.db)
            words = told(lambda: ledger.append(*temp(301, 19.1)))
            assert words.startswith("The guards of the record were taken away or changed (")
            assert "nothing was kept. Run tankwalk check" in words
            assert rows(ledger.db) == before
            assert not inspect(path).sound
            ledger.append(*temp(301, 19.1))
        assert inspect(path).sound


def test_a_table_without_its_checks_is_beyond_mending_and_named() -> None:
    with record(full_content()) as path:
        with plainly(path) as db:
            version = db.execute("PRAGMA schema_version").fetchone()[0]
            db.execute("PRAGMA writable_schema = ON")
            db.execute(
                "UPDATE sqlite_schema SET sql = replace(sql, 'CHECK (late_s >= 0)', '') "
                "WHERE name = 'entry'"
            )
            db.execute(f"PRAGMA schema_version = {version + 1}")
        found = inspect(path)
        assert not found.sound
        assert "the table entry was changed: only a backup mends that." in found.sentences
        assert found.sentences[0].startswith("No backup is known")


def test_a_version_set_back_hides_no_missing_guard() -> None:
    with record(full_content()) as path:
        with plainly(path) as db:
            without_guards(db)
            db.execute("PRAGMA user_version = 7")
        found = inspect(path)
        assert not found.sound
        assert found.sentences[0].startswith("its version was altered: it says 7")


def test_a_view_or_table_of_ones_own_is_told_and_does_no_harm() -> None:
    with record(full_content()) as path:
        with plainly(path) as db:
            db.execute("CREATE VIEW warm AS SELECT * FROM readings WHERE value > 18")
            db.execute("CREATE TABLE mine (a)")
        found = inspect(path)
        assert found.sound
        assert "somebody put mine, warm into the file" in found.sentences[1]
        with opened(path) as ledger:
            ledger.append(*temp(300, 19.0))


def test_the_shape_of_a_new_record_and_of_one_brought_forward_is_the_same() -> None:
    for content in (None, full_content()):
        with record(content) as path:
            assert inspect(path).sound


def test_another_laptops_entries_count_in_the_seal() -> None:
    with record(full_content()) as path:
        with opened(path, OFFICE) as ledger:
            ledger.append(*note(300, "from the office"))
            printed = ledger.reader.spine.seal().words
        with opened(path, TROLLEY) as ledger:
            ledger.append(*note(301, "from the trolley"))
        assert inspect(path, printed=printed).sound


def test_a_damaged_digest_is_no_traceback_to_a_seal() -> None:
    with record(full_content()) as path, plainly(path) as db:
        without_guards(db)
        db.execute("UPDATE entry SET digest = x'00' WHERE n = 3")
        held = proof.held(db, 3, "ABCD-EFGH")
    assert held is proof.Held.OTHER
    with pytest.raises(Refusal), record() as path:
        inspect(path.with_name("gone.sqlite"))
    with pytest.raises(sqlite3.Error), record(b"x" * 5000) as path, plainly(path) as db:
        proof.seal(db)
