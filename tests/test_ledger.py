"""The record: nothing in it is overwritten, nothing that was accepted is lost."""

from __future__ import annotations

import random
import re
import sqlite3
import struct
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sqlite_utils import Database

from ledger_support import (
    OFFICE,
    TROLLEY,
    Line,
    at,
    ended,
    fresh,
    full_content,
    guard_names,
    hear,
    note,
    one_of_everything,
    opened,
    other_tool,
    plainly,
    program,
    put,
    record,
    rows,
    tell,
    temp,
    unguarded,
    void,
    write,
)
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.ledger import chain, migrations, schema, schema_later, turns
from tankwalk.ledger.entries import (
    TABLE,
    Entry,
    Fish,
    FoundFlag,
    HandoverGist,
    JudgedAs,
    Mort,
    Movement,
    Note,
    Reading,
    SecondEntry,
    Suspect,
)
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.schema import DICTIONARIES, GUARDED
from tankwalk.ledger.stock import What
from tankwalk.ledger.store import Ledger

TABLES = sorted(GUARDED)


def columns(db: sqlite3.Connection, table: str) -> list[str]:
    """Names of a table's columns."""
    return [row[1] for row in db.execute(f"PRAGMA table_info({table})")]


# ---- nothing is overwritten


def overwritings(table: str, names: list[str]) -> list[str]:
    """Every way SQL has of changing or removing rows of a table."""
    first = f"SELECT * FROM {table} LIMIT 1"
    listed = ", ".join(names)
    same_but_last = ", ".join([*names[:-1], f"{names[-1]} AS other"])
    return [
        *(f"UPDATE {table} SET {name} = {name}" for name in names),
        f"UPDATE OR REPLACE {table} SET {names[-1]} = {names[-1]}",
        f"UPDATE OR IGNORE {table} SET {names[-1]} = {names[-1]}",
        f"DELETE FROM {table}",
        f"INSERT OR REPLACE INTO {table} {first}",
        f"REPLACE INTO {table} ({listed}) {first}",
        f"REPLACE INTO {table} ({listed}) SELECT {same_but_last} FROM {table} LIMIT 1",
        f"INSERT INTO {table} SELECT * FROM {table} WHERE true LIMIT 1 "
        f"ON CONFLICT DO UPDATE SET {names[-1]} = excluded.{names[-1]}",
    ]


@pytest.mark.parametrize("table", TABLES)
def test_no_row_of_any_table_can_be_changed_or_removed_with_plain_sqlite(table: str) -> None:
    with record(full_content()) as path, plainly(path) as db:
        assert db.execute("PRAGMA recursive_triggers").fetchone() == (0,)
        before = rows(db)
        assert before[table], "the record holds one of everything"
        for sql in overwritings(table, columns(db, table)):
            with pytest.raises(sqlite3.IntegrityError, match=f"append-only: {table}"):
                db.execute(sql)
        assert rows(db) == before


@pytest.mark.parametrize("table", sorted(DICTIONARIES))
def test_a_name_cannot_be_given_another_number(table: str) -> None:
    with record(full_content()) as path, plainly(path) as db:
        before = rows(db)
        rest = ", ".join(columns(db, table)[1:])
        for number in ("NULL", "999"):
            sql = f"REPLACE INTO {table} (id, {rest}) SELECT {number}, {rest} FROM {table} LIMIT 1"
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                db.execute(sql)
        assert rows(db) == before


@pytest.mark.parametrize("table", TABLES)
def test_the_sqlite3_command_is_refused_as_well(table: str) -> None:
    with record(full_content()) as path:
        with plainly(path) as db:
            before, names = rows(db), columns(db, table)
        for sql in (
            f"UPDATE {table} SET {names[-1]} = {names[-1]}",
            f"DELETE FROM {table}",
            f"INSERT OR REPLACE INTO {table} SELECT * FROM {table} LIMIT 1",
        ):
            status, words = other_tool(path, sql)
            assert status != 0
            assert f"the record is append-only: {table}" in words
        with plainly(path) as db:
            assert rows(db) == before


@pytest.mark.parametrize("table", TABLES)
def test_sqlite_utils_is_refused_as_well(table: str) -> None:
    with record(full_content()) as path:
        db = Database(path, execute_plugins=False)
        before = rows(db.conn)
        keys = db.table(table).pks
        one = next(iter(db.table(table).rows))
        ids = tuple(one[key] for key in keys)
        change = {name: value for name, value in one.items() if name not in keys} or one
        ways: list[Callable[[], object]] = [
            lambda: db.table(table).update(ids, change),
            lambda: db.table(table).delete(ids),
            lambda: db.table(table).delete_where("1 = 1"),
            lambda: db.table(table).insert(one, pk=keys, replace=True),
            lambda: db.table(table).upsert(one, pk=keys),
        ]
        for overwrite in ways:
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                overwrite()
        assert rows(db.conn) == before
        db.close()


def test_every_table_of_the_file_that_keeps_what_happened_is_guarded() -> None:
    with record() as path, plainly(path) as db:
        there = {r[0] for r in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
        # What is carried is an index in all but name: the follow-ups themselves are guarded.
        assert there - set(GUARDED) == {"_sqlite_migrations", "carried"}


def guards_of(db: sqlite3.Connection) -> set[str]:
    """Names of the triggers of a file."""
    return {r[0] for r in db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'")}


def test_the_guards_stand_after_the_first_migration_of_an_empty_file(tmp_path: Path) -> None:
    with plainly(tmp_path / "new.sqlite") as db:
        migrations.apply(db)
        assert guards_of(db) == guard_names()
        assert unguarded(db) == ""
        assert db.execute("PRAGMA application_id").fetchone() == (schema.APPLICATION_ID,)
        assert db.execute("PRAGMA user_version").fetchone() == (schema.VERSION,)


def test_the_guards_stand_in_a_record_that_this_program_made(tmp_path: Path) -> None:
    with Ledger.open(tmp_path / "ledger.sqlite", TROLLEY, create=True) as ledger:
        assert guards_of(ledger.db) == guard_names()
    assert [p.name for p in tmp_path.iterdir()] == ["ledger.sqlite"]


@pytest.mark.parametrize("table", ["note", "meal", "entry", "place"])
def test_a_table_rebuilt_by_sqlite_utils_gets_its_guards_back(table: str) -> None:
    with record(full_content()) as path:
        db = Database(path, execute_plugins=False)
        order = [c.name for c in db.table(table).columns]
        if table != "entry":
            order.reverse()
        views = db.conn.execute("SELECT name FROM sqlite_schema WHERE type = 'view'").fetchall()
        for (view,) in views:
            db.execute(f"DROP VIEW {view}")
        db.table(table).transform(column_order=order)
        lost = guard_names() - guards_of(db.conn)
        guards = {f"guard_{table}_{verb}" for verb in ("update", "delete", "replace")}
        assert lost == guards | ({"carry_again"} if table == "entry" else set())
        assert unguarded(db.conn) == min(lost)
        migrations.set_guards(db.conn)
        assert guards_of(db.conn) == guard_names()
        with pytest.raises(sqlite3.IntegrityError, match=f"append-only: {table}"):
            db.execute(f"DELETE FROM {table}")
        db.close()


def test_an_older_record_is_handed_over_as_it_is_then_brought_forward_with_its_guards() -> None:
    with record(full_content()) as path:
        with plainly(path) as db:
            before = rows(db)
            for name in guard_names():
                db.execute(f"DROP TRIGGER {name}")
            db.execute("PRAGMA user_version = 0")
        seen = []
        with Ledger.open(path, TROLLEY, older=lambda one: seen.append((one.version, rows(one.db)))):
            pass
        assert seen == [(0, before)]
        with opened(path) as ledger:
            assert guards_of(ledger.db) == guard_names()
            assert ledger.version == schema.VERSION
            assert rows(ledger.db) == before


def test_an_older_record_is_refused_where_nobody_makes_a_backup_of_it() -> None:
    with record() as path:
        write(path, known_at(8))
        with plainly(path) as db:
            as_version_left_it(db, 8)
        before = path.read_bytes()
        with pytest.raises(
            Refusal, match=rf"older tankwalk \(version 8, this one makes {schema.VERSION}\)"
        ):
            Ledger.open(path, TROLLEY)
        assert path.read_bytes() == before


def test_of_two_programs_that_bring_one_record_forward_the_second_finds_it_done() -> None:
    with record() as path:
        write(path, known_at(8))
        with plainly(path) as db:
            as_version_left_it(db, 8)

        def another(_: Ledger) -> None:
            with opened(path, OFFICE) as first:
                first.append(*note(300, "the other was faster"))

        with Ledger.open(path, TROLLEY, older=another) as second:
            assert second.version == schema.VERSION
            second.append(*note(301, "and this one too"))
        assert inspect(path).sound


LATER = {
    1: ({"derived"}, ("derived_readings",), ("part", "derived", "working"), "derived_readings"),
    2: (
        {"flag", "suspect"},
        ("readings_judged", "suspects"),
        ("judged", "flag_event", "suspect", "closing", "said_back"),
        "flags_with_a_life",
    ),
    3: (set(), (), ("handover_gist", "carried"), "seeking"),
    4: ({"done", "call", "look"}, ("calls", "dones"), ("done", "call", "look"), "incidents"),
    5: (
        set(),
        ("batches", "counts", "meals"),
        ("served", "poured", "batch_of", "counted"),
        "feed_record",
    ),
    6: (
        {"sampling", "fish"},
        ("movements", "sittings", "fish_seen"),
        ("fish", "sitting"),
        "samples_by_fish",
    ),
    7: (set(), ("found_flags",), ("found",), "flags_of_whole_rounds"),
    8: (
        {"sheet", "import"},
        ("transcriptions", "imports", "imported_values"),
        ("transcribed", "sheet_stop", "second_entry", "imported", "series", "import_file"),
        "in_and_out",
    ),
    9: (set(), (), ("bundle",), "values_in_bundles"),
}
"""What came after each version: kinds, views, tables, and the step that brought them."""


def as_version_left_it(db: sqlite3.Connection, version: int) -> None:
    """Take out of a file that uses none of it what came after a version."""
    for name in guard_names():
        db.execute(f"DROP TRIGGER {name}")
    db.execute("DROP VIEW imported_values")  # values lay at their entry
    db.execute("ALTER TABLE imported RENAME TO bundled")
    for statement in schema.statements(schema_later.IMPORT_TABLES + schema_later.IMPORT_VIEWS):
        if re.match(r"CREATE (TABLE imported |VIEW imported_values)", statement):
            db.execute(statement)
    db.execute(
        "INSERT INTO imported SELECT b.entry, b.nth, i.at, i.value, i.below, i.line, i.typed "
        "FROM bundled i JOIN bundle b ON b.id = i.bundle"
    )
    db.execute("DROP TABLE bundled")
    for kinds, views, tables, step in [
        LATER[v] for v in sorted(LATER, reverse=True) if v >= version
    ]:
        for view in views:
            db.execute(f"DROP VIEW {view}")
        for table in tables:
            db.execute(f"DROP TABLE {table}")
        for kind in kinds:
            db.execute("DELETE FROM kind WHERE name = ?", (kind,))
        db.execute("DELETE FROM _sqlite_migrations WHERE name = ?", (step,))
    if version < 7:  # fish went in fewer ways
        db.execute("ALTER TABLE movement RENAME TO wide")
        made = next(s for s in schema.statements(schema.TABLES) if s.startswith("CREATE TABLE mov"))
        db.execute(made)
        db.execute("INSERT INTO movement SELECT * FROM wide")
        db.execute("DROP TABLE wide")
        db.execute("DROP INDEX feed_off")
    if 3 <= version < 8:  # a flag had fewer turns
        db.execute("ALTER TABLE flag_event RENAME TO wide")
        db.execute("DROP INDEX raised")
        db.execute("DROP INDEX shelved_until")
        brought = schema.statements(schema.JUDGED_TABLES)
        db.execute(next(s for s in brought if s.startswith("CREATE TABLE flag_event")))
        db.execute("INSERT INTO flag_event SELECT * FROM wide")
        db.execute("DROP TABLE wide")
        wanted = schema.statements(schema.SEEKING) if version >= 4 else []
        for one in wanted:
            if one.startswith("CREATE INDEX shelved_until"):
                db.execute(one)
    if version < 3:
        db.execute("DROP INDEX flagged")
    if version < 6:
        db.execute("DROP INDEX batch_named")
    for statement in schema.statements(schema.SEEKING) if version < 4 else ():
        if statement.startswith("CREATE INDEX"):
            db.execute(f"DROP INDEX IF EXISTS {statement.split()[2]}")
    db.execute(f"PRAGMA user_version = {version}")


def known_at(version: int) -> list[Line]:
    """One of everything that a version could hold."""
    kinds = {kind for v, later in LATER.items() if v >= version for kind in later[0]}
    tables = {table for v, later in LATER.items() if v >= version for table in later[2]}
    details = {detail for detail, table in TABLE.items() if table in tables}
    return [
        one
        for one in one_of_everything()
        if one.entry.kind not in kinds
        and not details & {type(d) for d in one.details}
        and not (version < 7 and {"cannibals", "dead", "returned"} & {d[0] for d in one.details})
    ]


@pytest.mark.parametrize("version", LATER)
def test_a_record_of_an_older_version_is_brought_forward_whole_and_takes_what_is_new(
    version: int,
) -> None:
    with record() as path:
        write(path, known_at(version))
        with opened(path) as ledger:
            carried = ledger.reader.follow_ups.open()
        assert carried
        with plainly(path) as db:
            as_version_left_it(db, version)
            entries = db.execute("SELECT n, digest FROM entry ORDER BY n").fetchall()
        with opened(path) as ledger:
            assert guards_of(ledger.db) == guard_names()
            assert ledger.db.execute("SELECT n, digest FROM entry ORDER BY n").fetchall() == entries
            assert ledger.reader.follow_ups.open() == carried
            assert chain.verify(ledger.db) is None
            for kind in sorted(LATER[version][0]):
                new = next(one for one in one_of_everything() if one.entry.kind == kind)
                # A fish is one of a sitting: here any entry will do.
                details = [
                    d._replace(sitting=1)
                    if isinstance(d, Fish)
                    else d._replace(of=1)
                    if isinstance(d, SecondEntry)
                    else d
                    for d in new.details
                ]
                put(ledger, replace(new, details=tuple(details)))
            for what in What:
                ledger.append(Entry("movement", "AB", at(0), at(0), "T01"), Movement(what, 3))
            for one in one_of_everything():
                if any(isinstance(detail, FoundFlag) for detail in one.details):
                    ledger.append(one.entry, *one.details)
            told = next(
                one for one in one_of_everything() if HandoverGist in map(type, one.details)
            )
            before = ledger.db.execute("SELECT count(*) FROM handover_gist").fetchone()[0]
            ledger.append(told.entry, *told.details)
            after = ledger.db.execute("SELECT count(*) FROM handover_gist").fetchone()[0]
            assert (before, after) == ((0, 2) if version < 4 else (2, 4))
            assert chain.verify(ledger.db) is None


def test_a_record_of_the_version_before_is_sound_to_the_check_and_left_as_it_is() -> None:
    with record() as path:
        write(path, known_at(schema.VERSION - 1))
        with plainly(path) as db:
            as_version_left_it(db, schema.VERSION - 1)
        before = path.read_bytes()
        assert inspect(path).sound
        assert path.read_bytes() == before


@pytest.mark.parametrize("stop", range(1, 16))
def test_what_stops_bringing_forward_leaves_the_record_of_before(stop: int) -> None:
    with record() as path:
        write(path, known_at(1))
        with plainly(path) as db:
            as_version_left_it(db, 1)
        before = path.read_bytes()
        with plainly(path) as db:
            done = 0

            def pulled(action: int, *_: object) -> int:
                nonlocal done
                done += action == sqlite3.SQLITE_CREATE_TABLE
                done += action == sqlite3.SQLITE_CREATE_INDEX
                done += action == sqlite3.SQLITE_CREATE_VIEW
                done += action == sqlite3.SQLITE_CREATE_TRIGGER
                return sqlite3.SQLITE_DENY if done >= stop else sqlite3.SQLITE_OK

            db.set_authorizer(pulled)
            with pytest.raises(sqlite3.DatabaseError):
                migrations.apply(db)
            db.set_authorizer(None)
        assert path.read_bytes() == before
        with opened(path) as ledger:
            assert guards_of(ledger.db) == guard_names()
            assert chain.verify(ledger.db) is None


def test_the_check_sets_guards_again_that_were_taken_away_or_hollowed_out() -> None:
    with record(full_content()) as path:
        with plainly(path) as db:
            db.execute("DROP TRIGGER guard_note_update")
            db.execute("DROP TRIGGER guard_meal_delete")
            db.execute("CREATE TRIGGER guard_meal_delete BEFORE DELETE ON meal BEGIN SELECT 1; END")
            assert unguarded(db) == "guard_meal_delete"
        found = inspect(path)
        assert not found.sound
        assert "2 of the guards" in found.sentences[0]
        with plainly(path) as db, pytest.raises(sqlite3.IntegrityError, match="append-only"):
            db.execute("DELETE FROM meal")
        assert inspect(path).sound


# ---- what was typed


typed_texts = st.one_of(
    st.from_regex(r"-?[0-9]{1,12}[.,]?[0-9]{0,12}", fullmatch=True), st.text(max_size=12)
).filter(lambda text: not any("\ud800" <= c <= "\udfff" for c in text))


def halves() -> st.SearchStrategy[float]:
    """Numbers whose tenth digit Python and SQLite may round each their own way."""
    return st.builds(
        lambda whole, power: whole / 2**power, st.integers(10**9, 10**12), st.integers(0, 30)
    )


@settings(max_examples=150, deadline=None)
@given(
    value=st.one_of(st.floats(allow_nan=False, allow_infinity=False), halves()),
    typed=st.one_of(st.none(), typed_texts),
)
@example(596236498.25, None)
@example(1855761991500.0, None)
@example(-0.0, None)
@example(-0.0, "0")
@example(17.4, "17,4")
@example(1e-7, "0.0000001")
@example(5e-324, None)
def test_what_was_typed_comes_back_as_it_was_typed(value: float, typed: str | None) -> None:
    text = number_text(value) if typed is None else typed
    with fresh() as ledger:
        n = ledger.append(*temp(0, value, text))
        kept = ledger.db.execute("SELECT typed, value FROM readings WHERE n = ?", (n,)).fetchone()
        assert kept == (text, value)
        assert chain.verify(ledger.db) is None


def test_a_number_typed_as_the_program_writes_it_takes_no_room() -> None:
    with fresh() as ledger:
        for value, typed in ((17.4, "17.4"), (17.4, "17,4"), (17.4, "17.40"), (7.0, "7")):
            ledger.append(*temp(value, value, typed))
        kept = [r[0] for r in ledger.db.execute("SELECT typed FROM reading ORDER BY entry")]
        assert kept == [None, "17,4", "17.40", None]


# ---- corrections


def test_a_correction_shows_and_the_old_value_stays() -> None:
    with fresh() as ledger:
        old = ledger.append(*temp(0, 71.4))
        new = ledger.append(*temp(1, 17.4, amends=old, reason="digits turned round", who="CD"))
        now = ledger.db.execute("SELECT n, value, who, reason FROM readings").fetchall()
        assert now == [(new, 17.4, "CD", "digits turned round")]
        ever = "SELECT n, value, who, amends, amended FROM readings_ever ORDER BY n"
        assert ledger.db.execute(ever).fetchall() == [
            (old, 71.4, "AB", None, 1),
            (new, 17.4, "CD", old, 0),
        ]


def test_a_correction_of_a_correction_shows_alone() -> None:
    with fresh() as ledger:
        n = ledger.append(*temp(0, 1.0))
        for value in (2.0, 3.0, 4.0):
            n = ledger.append(*temp(0, value, amends=n))
        assert ledger.db.execute("SELECT value FROM readings").fetchall() == [(4.0,)]
        ever = ledger.db.execute("SELECT value FROM readings_ever ORDER BY n").fetchall()
        assert ever == [(1.0,), (2.0,), (3.0,), (4.0,)]


def test_what_is_taken_back_no_longer_stands_and_can_still_be_read() -> None:
    with fresh() as ledger:
        reading = ledger.append(*temp(0, 17.4))
        words = ledger.append(*note(1, "cone 2 smells", place="site"))
        ledger.append(void(2, reading))
        ledger.append(void(3, words))
        assert ledger.db.execute("SELECT * FROM readings").fetchall() == []
        assert ledger.db.execute("SELECT * FROM notes").fetchall() == []
        assert ledger.db.execute("SELECT value FROM readings_ever").fetchall() == [(17.4,)]
        assert ledger.db.execute("SELECT text FROM note").fetchall() == [("cone 2 smells",)]


def test_a_correction_of_an_entry_that_is_not_there_is_refused() -> None:
    with fresh() as ledger:
        with pytest.raises(Refusal, match="no entry 7 to correct: nothing was kept"):
            ledger.append(*temp(0, 17.4, amends=7))
        assert rows(ledger.db)["entry"] == []


def test_the_views_say_in_words_and_on_the_wall_clock_what_the_tables_keep() -> None:
    with record(full_content()) as path, plainly(path) as db:
        entry = db.execute(
            "SELECT station, local, kind, observed_local, observed_utc, recorded_utc, who, place,"
            " item, unit FROM entries WHERE item = 'tan'"
        ).fetchone()
        assert entry == (
            "office laptop", 2, "reading", "2026-05-10 03:08:00", "2026-05-10 08:08:00",
            "2026-05-10 08:12:00", "AB", "T03", "tan", "mg/L",
        )  # fmt: skip
        reading = db.execute(
            "SELECT value, unit, typed, typed_unit, qualifier, instrument, band, flag, recheck"
            " FROM readings WHERE place = 'T02' AND typed_unit IS NOT NULL"
        ).fetchone()
        assert reading == (18.5, "degC", "65.3", "degF", None, "M1", '{"low":16}', "watch", 0)
        undone = db.execute("SELECT opened, event, place FROM follow_ups ORDER BY entry").fetchall()
        assert undone == [
            (26, "open", "T02"), (27, "open", None), (26, "done", "T02"), (42, "open", None)
        ]  # fmt: skip


def test_the_view_of_judged_readings_says_why_and_marks_those_of_a_suspect_meter() -> None:
    def reading(meter: str, minutes: float, *more: JudgedAs) -> tuple[Any, ...]:
        entry, kept = temp(minutes, 18.0)
        return entry, kept._replace(instrument=meter, flag=2 * len(more)), *more

    with fresh() as ledger:
        ledger.append(*reading("A", 5))
        ledger.append(*reading("B", 6, JudgedAs("band", "Temperature 18.0 degC")))
        ledger.append(*reading("B", 90))
        mark = Entry("suspect", "PB", at(60), at(60), "site", "temp", "degC", reason="110 %")
        n = ledger.append(mark, Suspect("B", at(0).utc, at(60).utc))
        seen = "SELECT instrument, rule, sentence, suspect FROM readings_judged ORDER BY n"
        assert ledger.db.execute(seen).fetchall() == [
            ("A", None, None, 0),
            ("B", "band", "Temperature 18.0 degC", 1),
            ("B", None, None, 0),
        ]
        ledger.append(Entry("void", "MV", at(70), at(70), "site", amends=n, reason="the cap only"))
        assert {row[3] for row in ledger.db.execute(seen)} == {0}


# ---- all of it or nothing


def test_what_belongs_together_is_kept_together_or_not_at_all() -> None:
    with fresh() as ledger:
        ledger.append(*temp(0, 17.4))
        before = rows(ledger.db)

        def half_a_walk() -> None:
            with ledger.writing():
                ledger.append(*temp(1, 18.0, place="T99", item="ph", unit="", who="ZZ"))
                ledger.append(*note(2, "never", place="T98"))
                raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            half_a_walk()
        assert rows(ledger.db) == before
        assert not ledger.db.in_transaction


def test_names_first_used_in_what_was_undone_get_their_number_anew() -> None:
    with record() as path, opened(path) as ledger, opened(path, OFFICE) as other:
        entry, _ = temp(0, 18.0, place="T99", item="ph", unit="", who="ZZ")

        def undone() -> None:
            with ledger.writing():
                ledger.append(entry, Reading(18.0, "18", None, None, "M9", '{"high":9}'))
                raise ZeroDivisionError

        with pytest.raises(ZeroDivisionError):
            undone()
        # The numbers that were undone go to other names now.
        other.append(*temp(1, 1.0, place="L1", item="do", unit="mg/L", who="CD"))
        ledger.append(entry, Reading(18.0, "18", None, None, "M9", '{"high":9}'))
        stands = ledger.db.execute(
            "SELECT place, item, who, instrument, band FROM readings WHERE who = 'ZZ'"
        ).fetchall()
        assert stands == [("T99", "ph", "ZZ", "M9", '{"high":9}')]
        assert ledger.db.execute("PRAGMA foreign_key_check").fetchall() == []
        assert chain.verify(ledger.db) is None


def test_a_part_that_was_refused_spoils_the_whole() -> None:
    with fresh() as ledger:
        before = rows(ledger.db)

        def careless() -> None:
            with ledger.writing():
                ledger.append(*temp(0, 17.4))
                # The second cause is there twice: the table refuses it after the entry is in.
                entry, reading = temp(1, 2.0, item="morts", unit="count")
                with pytest.raises(sqlite3.IntegrityError):
                    ledger.append(entry, reading, Mort("jumped", 1), Mort("jumped", 1))
                ledger.append(*temp(2, 17.6))

        with pytest.raises(Refusal, match="nothing of it was kept"):
            careless()
        assert rows(ledger.db) == before
        ledger.append(*temp(3, 17.5))
        assert chain.verify(ledger.db) is None


def test_writing_inside_writing_is_one_writing() -> None:
    with fresh() as ledger:
        with ledger.writing(), ledger.writing():
            ledger.append(*temp(0, 17.4))

        def undone() -> None:
            with ledger.writing():
                with ledger.writing():
                    ledger.append(*temp(1, 17.5))
                raise ZeroDivisionError

        with pytest.raises(ZeroDivisionError):
            undone()
        assert ledger.db.execute("SELECT value FROM readings").fetchall() == [(17.4,)]


@pytest.mark.parametrize("value", [float("inf"), float("-inf"), float("nan")])
@pytest.mark.parametrize("qualifier", [None, "could not"])
def test_a_value_that_is_no_number_is_refused(value: float, qualifier: str | None) -> None:
    with fresh() as ledger:
        with pytest.raises(Refusal, match="nothing was kept"):
            ledger.append(*temp(0, value, "x", qualifier=qualifier))
        assert rows(ledger.db)["entry"] == []


@pytest.mark.parametrize(
    ("value", "qualifier"), [(None, None), (None, "<"), (1.0, "could not"), (1.0, "no idea")]
)
def test_a_missing_value_needs_its_reason_and_a_value_has_none(
    value: float | None, qualifier: str | None
) -> None:
    with fresh() as ledger:
        with pytest.raises(Refusal, match="nothing was kept"):
            ledger.append(*temp(0, value, "x", qualifier=qualifier))
        assert rows(ledger.db)["entry"] == []


def test_what_the_file_cannot_hold_is_refused_in_words() -> None:
    with fresh() as ledger:
        entry, reading = temp(0, 1.0, item="morts", unit="count")
        with pytest.raises(Refusal, match="cannot hold this"):
            ledger.append(entry, reading, Mort("unknown", 1 << 70))
        with pytest.raises(Refusal, match="cannot hold this"):
            ledger.append(*note(1, "half a sign \ud83d"))
        assert rows(ledger.db)["entry"] == []


def test_a_detail_of_another_kind_is_a_mistake_of_the_program() -> None:
    with fresh() as ledger:
        entry = Entry("note", "AB", at(0), at(0), "T01", "temp", "degC")
        with pytest.raises(ValueError, match="a note entry keeps no reading"):
            ledger.append(entry, Reading(17.4, "17.4"))
        with pytest.raises(ValueError, match="a void entry keeps no note"):
            ledger.append(void(0, 1), Note("x"))
        assert rows(ledger.db)["entry"] == []


# ---- two programs at once


@pytest.mark.parametrize("keys", [("trolley", "office"), ("trolley", "trolley")])
def test_two_programs_write_at_once_and_lose_nothing(keys: tuple[str, str]) -> None:
    each = 200
    with record() as path:
        both = [
            program("write", str(path), name, str(each), key)
            for name, key in zip(("AB", "CD"), keys, strict=True)
        ]
        assert [hear(one) for one in both] == ["ready", "ready"]
        for one in both:
            tell(one, "go")
        said = [ended(one) for one in both]
        assert [words for _, words in said] == ["", ""]
        told = [[line.split() for line in out.splitlines()] for out, _ in said]
        with opened(path) as ledger:
            kept = ledger.db.execute(
                "SELECT e.n, p.initials, s.key, e.local, pl.code, r.value FROM entry e"
                " JOIN person p ON p.id = e.who JOIN station s ON s.id = e.station"
                " JOIN place pl ON pl.id = e.place JOIN reading r ON r.entry = e.n ORDER BY e.n"
            ).fetchall()
            assert chain.verify(ledger.db) is None
    assert [row[0] for row in kept] == list(range(1, 2 * each + 1))
    for name, lines in zip(("AB", "CD"), told, strict=True):
        mine = {n: (place, value) for n, who, _, _, place, value in kept if who == name}
        assert len(lines) == len(mine) == each
        for n, k in ((int(n), int(k)) for n, k in lines):
            place = f"T{k % 12:02d}" if k % 2 else f"{name}{k}"
            assert mine[n] == (place, 10 + k / 100)
    for key, count in Counter(row[2] for row in kept).items():
        assert [row[3] for row in kept if row[2] == key] == list(range(1, count + 1))


def test_two_open_programs_see_what_the_other_keeps() -> None:
    with record() as path, opened(path) as one, opened(path, OFFICE) as two:
        for k in range(6):
            (one, two)[k % 2].append(*temp(k, float(k), place=f"T{k // 2}"))
        for ledger in (one, two):
            seen = ledger.db.execute("SELECT value FROM readings ORDER BY n").fetchall()
            assert seen == [(float(k),) for k in range(6)]
        assert one.db.execute("SELECT count(*) FROM place").fetchone() == (3,)


# ---- a pulled plug


@pytest.mark.parametrize("seed", range(8))
def test_a_reading_that_was_accepted_survives_a_killed_process(seed: int) -> None:
    chance = random.Random(seed)
    with record() as path:
        one = program("write", str(path), "AB", "100000", "trolley")
        assert hear(one) == "ready"
        tell(one, "go")
        acknowledged = [hear(one) for _ in range(chance.randint(1, 60))]
        for _ in range(chance.randint(0, 20_000)):
            pass  # not always at the same point of the next entry
        one.kill()
        rest, words = ended(one)
        assert words == ""
        acknowledged += [line for line in rest.splitlines(keepends=True) if line.endswith("\n")]
        with opened(path) as ledger:
            kept = dict(ledger.db.execute("SELECT n, value FROM readings").fetchall())
            for n, k in (line.split() for line in acknowledged):
                assert kept[int(n)] == 10 + int(k) / 100
            assert len(kept) - len(acknowledged) in range(4), "at most the entries in hand"
            assert chain.verify(ledger.db) is None
            assert ledger.append(*temp(0, 17.4)) == len(kept) + 1
        assert inspect(path).sound


def test_every_commit_waits_for_the_disk() -> None:
    with record() as path, Ledger.open(path, TROLLEY) as ledger:

        def setting(name: str) -> object:
            return ledger.db.execute(f"PRAGMA {name}").fetchone()[0]

        assert setting("journal_mode") == "delete"
        assert setting("synchronous") == 3  # EXTRA
        assert setting("foreign_keys") == 1
        assert setting("recursive_triggers") == 1
        assert setting("trusted_schema") == 0
        assert setting("busy_timeout") == turns.MOMENT
        with ledger.writing():  # its end waits for who reads
            assert setting("busy_timeout") == turns.MOST == 5000
        assert setting("busy_timeout") == turns.MOMENT


def test_the_file_says_whose_it_is() -> None:
    with record() as path:
        head = path.read_bytes()[:100]
    assert struct.unpack(">I", head[68:72]) == (schema.APPLICATION_ID,)
    assert head[68:72] == b"tkwk"


def test_a_record_is_made_over_what_a_pulled_plug_left_of_one(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    path.with_name("ledger.sqlite.partial").write_bytes(b"half a record" * 500)
    with Ledger.open(path, TROLLEY, create=True) as ledger:
        assert ledger.append(*temp(0, 17.4)) == 1
    assert inspect(path).sound
    assert [one.name for one in tmp_path.iterdir()] == ["ledger.sqlite"]


def test_a_check_says_when_it_begins_and_when_all_of_it_is_seen() -> None:
    with record() as path:
        told: list[float] = []
        assert inspect(path, told.append).sound
        assert told == [0.0, 1.0]
