"""When file, disk or another program refuses: one sentence, and nothing before it is lost."""

from __future__ import annotations

import shutil
import sqlite3
import struct
from collections.abc import Callable
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger_support import (
    TROLLEY,
    ended,
    full_content,
    hear,
    note,
    opened,
    plainly,
    program,
    record,
    rows,
    tell,
    temp,
    told,
    unguarded,
)
from tankwalk.errors import Refusal
from tankwalk.ledger import chain, schema, sqlite_errors, turns
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.reader import Reader
from tankwalk.ledger.store import Ledger

PAGE = 4096


def findings(path: Path) -> tuple[str, ...]:
    """What the check finds wrong with a file, be it that it refuses; at least one thing."""
    try:
        found = inspect(path)
    except Refusal as refusal:
        return (told_again(refusal),)
    assert not found.sound
    assert found.sentences
    assert all("\n" not in words for words in found.sentences)
    return found.sentences


def open_it(path: Path) -> None:
    """Open a record and close it again."""
    Ledger.open(path, TROLLEY).close()


QUESTIONS: list[Callable[[Reader], object]] = [
    lambda ask: ask.readings.newest("T01", "temp", "degC"),
    lambda ask: ask.readings.newest_of_all(),
    lambda ask: ask.readings.history("T01", "temp", "degC", 20),
    lambda ask: ask.rounds.newest(),
    lambda ask: ask.rounds.next_number(),
    lambda ask: ask.readings.of_round(1, 2),
    lambda ask: ask.readings.seen(3),
    lambda ask: ask.notes.since(0),
    lambda ask: ask.follow_ups.open(),
    lambda ask: ask.handovers.last(),
    lambda ask: ask.spine.last_plan_digest(),
    lambda ask: ask.spine.last_moment(),
    lambda ask: ask.spine.amended([1, 2, 3]),
]


# ---- files that are not what they should be


def test_a_record_that_is_not_there_is_not_made_by_opening_it(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    no_backup = (
        "No backup is known that can be read now: look for one on a stick or another disk, and put "
        f"it back with tankwalk restore FOLDER --to {tmp_path}."
    )
    assert told(lambda: open_it(path)) == (
        f"There is no record at {path}: nothing was changed. {no_backup} To begin an empty record "
        f"with this plan: tankwalk start {tmp_path} --new-record"
    )
    assert told(lambda: inspect(path)) == (
        f"There is no record at {path}: nothing was checked. {no_backup}"
    )
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_gets_no_record(tmp_path: Path) -> None:
    path = tmp_path / "gone" / "ledger.sqlite"
    words = told(lambda: Ledger.open(path, TROLLEY, create=True))
    assert "cannot be opened: nothing was changed." in words
    assert "Check that the folder is there" in words


def test_a_folder_in_the_place_of_the_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    path.mkdir()
    for refused in (told(lambda: open_it(path)), told(lambda: inspect(path))):
        assert "cannot be opened: nothing was changed." in refused


def test_an_empty_file_is_no_healthy_empty_record(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    path.touch()
    words = told(lambda: open_it(path))
    assert "is not a tankwalk record (or is empty): nothing was changed." in words
    assert "go back to a backup" in words
    assert not inspect(path).sound
    assert path.read_bytes() == b""


@pytest.mark.parametrize(
    "content", [b"tank,temp\nT01,17.4\n" * 50, b"\0" * 5000, b"SQLite format 3\0", b"x"]
)
def test_a_file_that_is_no_database_is_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "ledger.sqlite"
    path.write_bytes(content)
    words = told(lambda: open_it(path))
    assert "is not a tankwalk record" in words
    assert "nothing was changed" in words
    what, back = findings(path)
    assert what.startswith(("this file is not a tankwalk record", "damaged, and cannot be read"))
    assert back.startswith("No backup is known")
    assert path.read_bytes() == content


def test_the_database_of_another_program_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    with plainly(path) as db:
        db.execute("PRAGMA application_id = 252006673")
        db.execute("CREATE TABLE entry (n)")
    before = path.read_bytes()
    words = told(lambda: open_it(path))
    assert "is not a tankwalk record" in words
    assert "nothing was changed" in words
    assert inspect(path).sentences[0] == "this file is not a tankwalk record, or it is empty."
    assert path.read_bytes() == before


@pytest.mark.parametrize("act", [open_it, inspect])
def test_a_record_of_a_newer_program_is_left_alone(act: Callable[[Path], object]) -> None:
    with record(full_content()) as path:
        with plainly(path) as db:
            db.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
        before = path.read_bytes()
        assert told(lambda: act(path)) == (
            f"The record {path} was made by a newer tankwalk (version {schema.VERSION + 1}, this "
            f"one knows {schema.VERSION}): nothing was changed. Install the newer program."
        )
        assert path.read_bytes() == before
        assert [p.name for p in path.parent.iterdir()] == [path.name]


# ---- damaged files


def ask_everything(path: Path) -> set[str]:
    """Open the record and ask it everything; the sentences that were refused with."""
    words = set()
    try:
        ledger = Ledger.open(path, TROLLEY)
    except Refusal as refusal:
        return {told_again(refusal)}
    with ledger:
        for question in QUESTIONS:
            try:
                question(ledger.reader)
            except Refusal as refusal:
                words.add(told_again(refusal))
    return words


def told_again(refusal: Refusal) -> str:
    """The sentence of a refusal, held to what a sentence for a person is."""

    def again() -> None:
        raise refusal

    return told(again)


@pytest.mark.parametrize("pages", range(1, 30))
def test_a_record_cut_short_is_never_a_traceback_and_never_sound(pages: int) -> None:
    content = full_content()
    assert len(content) > 30 * PAGE
    for size in (pages * PAGE, pages * PAGE + 100):
        with record(content[:size]) as path:
            for words in ask_everything(path):
                assert "damaged: nothing more was kept." in words or "not a tankwalk" in words
                assert "backup" in words
            *found, back = findings(path)
            assert found
            assert all("damaged" in words or "altered" in words for words in found)
            assert back.startswith("No backup is known")


def with_a_page_lost(table: str) -> bytes:
    """The full record with the first page of a table overwritten, as a failing drive does."""
    with record(full_content()) as path, plainly(path) as db:
        sql = "SELECT rootpage FROM sqlite_schema WHERE name = ?"
        root = db.execute(sql, (table,)).fetchone()[0]
    content = bytearray(full_content())
    content[(root - 1) * PAGE : root * PAGE] = b"\xa5" * PAGE
    return bytes(content)


def test_the_questions_to_a_damaged_record_are_refused_in_words() -> None:
    with record(with_a_page_lost("entry")) as path:
        assert ask_everything(path) == {
            f"The record {path} is damaged: nothing more was kept. tankwalk check names what is "
            "damaged and the newest backup."
        }
        assert findings(path)[-1].startswith("No backup is known")


def test_nothing_is_written_to_a_damaged_record() -> None:
    with record(with_a_page_lost("entry")) as path, opened(path) as ledger:
        before = path.read_bytes()
        assert "damaged" in told(lambda: ledger.append(*temp(0, 17.4)))
        assert not ledger.db.in_transaction
        assert path.read_bytes() == before


@settings(max_examples=250, deadline=None)
@given(
    places=st.lists(
        st.tuples(st.integers(0, len(full_content()) - 1), st.integers(1, 255)),
        min_size=1, max_size=4,
    )
)  # fmt: skip
def test_flipped_bits_are_never_a_traceback(places: list[tuple[int, int]]) -> None:
    content = bytearray(full_content())
    for place, bits in places:
        content[place] ^= bits
    with record(bytes(content)) as path:
        ask_everything(path)
        try:
            found = inspect(path)
        except Refusal as refusal:
            told_again(refusal)
        else:
            assert found.sentences
            assert all("\n" not in words for words in found.sentences)


def test_a_fault_whose_words_are_damaged_too_is_told_all_the_same() -> None:
    content = full_content().replace(b"CREATE VIEW notes AS", b"CREATE VIEW n\xff\xff\xffs AS")
    assert content != full_content()
    with record(content) as path:
        for words in (*ask_everything(path), *findings(path)):
            assert "damaged" in words or words.startswith("No backup is known")


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_a_flipped_bit_in_what_was_said_is_found_and_named(data: st.DataObject) -> None:
    content = bytearray(full_content())
    words = data.draw(st.sampled_from([b"cone 2 smells of eggs", b"all looked at", b"mend screen"]))
    place = content.index(words) + data.draw(st.integers(0, len(words) - 1))
    content[place] ^= 1 << data.draw(st.integers(0, 7))
    with record(bytes(content)) as path:
        found = inspect(path)
        assert not found.sound
        entry = {b"cone 2": 4, b"all lo": 31, b"mend s": 26}[words[:6]]
        assert any(f"Entry {entry} was altered" in sentence for sentence in found.sentences)


def test_what_sqlite_finds_wrong_is_told_in_one_line() -> None:
    with record(full_content()) as path:
        with plainly(path) as db:
            root = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'meal'").fetchone()
        content = bytearray(path.read_bytes())
        content[(root[0] - 1) * PAGE + 3 : (root[0] - 1) * PAGE + 5] = struct.pack(">H", 500)
        path.write_bytes(content)
        words = findings(path)
        assert "damaged" in words[0]
        assert words[-1].startswith("No backup is known")


# ---- a full disk


def pages(ledger: Ledger) -> int:
    """How many pages the file has."""
    return int(ledger.db.execute("PRAGMA page_count").fetchone()[0])


def test_a_full_disk_keeps_all_before_and_takes_the_same_entry_when_there_is_room() -> None:
    with record(full_content()) as path, Ledger.open(path, TROLLEY) as ledger:
        ledger.db.execute(f"PRAGMA max_page_count = {pages(ledger) + 3}")
        kept = 0
        while True:
            entry, words = note(kept, f"{kept} " + "x" * 3000, place=f"new {kept}")
            before = rows(ledger.db)
            try:
                ledger.append(entry, words)
            except Refusal:
                break
            kept += 1
        assert kept
        assert told(lambda: ledger.append(entry, words)) == (
            "The disk is full: this was not kept, all before it is. Free some space, then enter "
            "it again."
        )
        assert rows(ledger.db) == before
        assert not ledger.db.in_transaction
        ledger.db.execute("PRAGMA max_page_count = 1000000")
        n = ledger.append(entry, words)
        found = ledger.db.execute("SELECT place, text FROM notes WHERE n = ?", (n,)).fetchone()
        assert found == (entry.place, words.text)
        assert chain.verify(ledger.db) is None
        assert ledger.db.execute("PRAGMA foreign_key_check").fetchall() == []


def test_a_full_disk_in_the_middle_of_what_belongs_together_keeps_none_of_it() -> None:
    with record() as path, Ledger.open(path, TROLLEY) as ledger:
        ledger.append(*temp(0, 17.4))
        before = rows(ledger.db)
        ledger.db.execute(f"PRAGMA max_page_count = {pages(ledger) + 1}")

        def walk() -> None:
            with ledger.writing():
                ledger.append(*temp(1, 17.5, place="T02"))
                ledger.append(*note(2, "x" * 20_000, place="T03"))

        assert "The disk is full" in told(walk)
        assert rows(ledger.db) == before
        ledger.db.execute("PRAGMA max_page_count = 1000000")
        walk()
        assert chain.verify(ledger.db) is None
        assert len(rows(ledger.db)["entry"]) == 3


def test_a_drive_that_takes_no_more_bytes_keeps_all_before() -> None:
    with record(full_content()) as path:
        last = len(rows_of(path)["entry"])
        out, words = ended(program("cramped", str(path)))
        assert words == ""
        sentence, n = out.splitlines()
        assert "this was not kept, all before it is." in sentence
        assert "then enter it again." in sentence
        assert int(n) == last + 1
        assert inspect(path).sentences == (f"sound, {last + 1} entries, every digest holds.",)


def rows_of(path: Path) -> dict[str, list[object]]:
    """Everything that the record at a path holds, by table."""
    with plainly(path) as db:
        return rows(db)


# ---- a record that cannot be written


@pytest.mark.parametrize("mode", ["mode=ro", "immutable=1"])
def test_a_record_that_may_only_be_read_is_read_and_not_written(mode: str) -> None:
    with record(full_content()) as path:
        before = path.read_bytes()
        uri = f"{path.as_uri()}?{mode}"
        with closing(sqlite3.connect(uri, uri=True, isolation_level=None)) as db:
            ledger = Ledger(path, db, TROLLEY)
            assert told(lambda: ledger.append(*temp(0, 17.4))) == (
                f"The record in {path} cannot be written: nothing was kept. Make the folder "
                "writable, or copy the site to one that is."
            )
            assert ledger.reader.readings.newest("T01", "temp", "degC") is not None
            assert chain.verify(db) is None
            assert not db.in_transaction
        assert path.read_bytes() == before


# ---- another program at the record


def test_a_record_held_by_another_program_is_a_matter_of_waiting(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(turns, "MOST", 40)
    with record(full_content()) as path, Ledger.open(path, TROLLEY) as ledger:
        before = rows(ledger.db)
        other = program("hold", str(path))
        assert hear(other) == "held"
        busy = (
            "Another program holds the record: this was not kept. Wait a moment, then enter it "
            "again."
        )
        assert told(lambda: ledger.append(*temp(0, 17.4, place="new"))) == busy
        assert told(lambda: ledger.reader.readings.newest_of_all()) == busy
        tell(other, "let go")
        assert ended(other) == ("let go\n", "")
        assert rows(ledger.db) == before
        n = ledger.append(*temp(0, 17.4, place="new"))
        found = ledger.reader.readings.newest("new", "temp", "degC")
        assert found is not None
        assert found.n == n


def test_a_reader_in_the_way_of_a_commit_leaves_nothing_half_done(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(turns, "MOST", 40)
    with record(full_content()) as path, Ledger.open(path, TROLLEY) as ledger, plainly(path) as db:
        db.execute("BEGIN")
        db.execute("SELECT count(*) FROM entry").fetchone()
        assert "Another program holds the record" in told(
            lambda: ledger.append(*temp(0, 17.4, place="new"))
        )
        assert not ledger.db.in_transaction
        db.execute("COMMIT")
        ledger.append(*temp(0, 17.4, place="new"))
        assert chain.verify(ledger.db) is None


# ---- sentences


@pytest.mark.parametrize("code", sorted(sqlite_errors._SENTENCES))
def test_every_known_fault_says_what_was_kept_and_what_to_do(code: int, tmp_path: Path) -> None:
    fault = sqlite3.OperationalError("words of SQLite")
    for extended in (code, code | 3 << 8):  # an extended code is a known one with more detail
        fault.sqlite_errorcode = extended
        words = sqlite_errors.sentence(fault, tmp_path)
        assert "words of SQLite" not in words
        assert "nothing" in words or "not kept" in words
        assert words.count(". ") == 1, "what is, then what to do"
        assert words.endswith(".")


def test_an_unknown_fault_keeps_the_words_of_sqlite(tmp_path: Path) -> None:
    words = sqlite_errors.sentence(sqlite3.OperationalError("no such table: x"), tmp_path)
    assert words == (
        "The record refused this (no such table: x): nothing was kept, all before it is."
    )


# ---- copies


def test_a_backup_is_the_whole_record_and_opens(tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    with record(full_content()) as path, opened(path) as ledger:
        ledger.back_up(copy)
        assert rows_of(copy) == rows(ledger.db)
        n = ledger.append(*temp(0, 17.4))
    assert inspect(copy).sentences == (f"sound, {n - 1} entries, every digest holds.",)
    with opened(copy) as ledger:
        assert unguarded(ledger.db) == ""
        assert ledger.append(*temp(0, 17.4)) == n
    assert [p.name for p in tmp_path.iterdir()] == ["copy.sqlite"]


@pytest.mark.parametrize("content", [b"", b"precious"])
def test_a_backup_does_not_overwrite(tmp_path: Path, content: bytes) -> None:
    copy = tmp_path / "copy.sqlite"
    copy.write_bytes(content)
    with record(full_content()) as path, opened(path) as ledger:
        words = told(lambda: ledger.back_up(copy))
        assert words == f"{copy} is there already: nothing was written. Give another name."
        assert "there already" in told(lambda: ledger.back_up(tmp_path))
        assert "there already" in told(lambda: ledger.back_up(path))
        assert "there already" in told(lambda: ledger.back_up(Path(".")))
    assert copy.read_bytes() == content
    assert [p.name for p in tmp_path.iterdir()] == ["copy.sqlite"]


def test_a_backup_takes_the_place_of_one_that_was_cut_off(tmp_path: Path) -> None:
    (tmp_path / "copy.sqlite.partial").write_bytes(b"half a copy")
    with record(full_content()) as path, opened(path) as ledger:
        ledger.back_up(tmp_path / "copy.sqlite")
    assert [p.name for p in tmp_path.iterdir()] == ["copy.sqlite"]


def test_a_backup_that_cannot_be_written_is_refused_in_words(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    (tmp_path / "dir.partial").mkdir()
    with record(full_content()) as path, opened(path) as ledger:
        for name in ("gone/copy", "file/copy", "x" * 300, "dir"):
            words = told(partial(ledger.back_up, tmp_path / name))
            assert "the record itself is unchanged" in words
        assert chain.verify(ledger.db) is None
    assert sorted(p.name for p in tmp_path.iterdir()) == ["dir.partial", "file"]


def test_a_damaged_record_gives_no_backup(tmp_path: Path) -> None:
    with record(with_a_page_lost("reading")) as path, opened(path) as ledger:
        words = told(lambda: ledger.back_up(tmp_path / "copy.sqlite"))
        assert "the record itself is unchanged" in words
    assert list(tmp_path.iterdir()) == []


def test_a_record_is_one_file_that_can_be_copied_when_it_is_closed(tmp_path: Path) -> None:
    with record(full_content()) as path:
        with Ledger.open(path, TROLLEY) as ledger:
            n = ledger.append(*temp(0, 17.4))
        assert [p.name for p in path.parent.iterdir()] == [path.name]
        shutil.copy(path, tmp_path / "copy.sqlite")
    assert inspect(tmp_path / "copy.sqlite").sentences == (
        f"sound, {n} entries, every digest holds.",
    )
