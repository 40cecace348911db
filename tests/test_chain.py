"""The chain of digests: what was written holds, what was altered afterwards shows."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from ledger_support import (
    OFFICE,
    TROLLEY,
    Line,
    at,
    fresh,
    full_content,
    line,
    note,
    one_of_everything,
    opened,
    plainly,
    record,
    temp,
    void,
    without_guards,
    write,
)
from tankwalk.clock import Instant
from tankwalk.ledger import chain
from tankwalk.ledger.entries import (
    Batch,
    BatchOf,
    Calibration,
    Call,
    Closing,
    Counted,
    Derived,
    Detail,
    DoneAbout,
    Dose,
    Entry,
    Fish,
    FlagEvent,
    FollowUp,
    Handover,
    HandoverGist,
    ImportFile,
    JudgedAs,
    Look,
    Meal,
    Mort,
    Movement,
    Note,
    Part,
    PlanVersion,
    Poured,
    Reading,
    Round,
    SaidBack,
    Sample,
    SecondEntry,
    Served,
    SheetStop,
    Sitting,
    Suspect,
    Transcribed,
)
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.schema import DICTIONARIES, GUARDED, KINDS
from tankwalk.ledger.stock import What
from tankwalk.ledger.store import Station

# ---- what was written holds

words = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
names = st.one_of(
    st.sampled_from(
        ["T01", "T02", "L1", "na\u00efve", "\u65e5\u672c", "\U0001f41f", "'; --", "%s"]
    ),
    st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=8),
)
reals = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from([-0.0, 0.0, 5e-324, 1.7976931348623157e308, 17.4, 1e22, 596236498.25]),
    st.integers(-(1 << 60), 1 << 60),  # a whole number is a fine float
)
counts = st.integers(0, (1 << 63) - 1)
whole = st.integers(-(1 << 63), (1 << 63) - 1)
a_real, some_words, a_whole = st.none() | reals, st.none() | words, st.none() | whole

readings = st.one_of(
    st.builds(
        Reading, reals, words, some_words, st.sampled_from([None, "<"]), st.none() | names,
        st.none() | names, st.integers(0, 4), st.booleans(),
    ),
    st.builds(
        Reading, st.none(), words, some_words, st.sampled_from(["not due", "could not", "unsafe"]),
        st.none(), st.none() | names, st.integers(0, 4), st.booleans(),
    ),
)  # fmt: skip
morts = st.lists(st.builds(Mort, words, counts), max_size=3, unique_by=lambda m: m.cause)
why = st.lists(st.builds(JudgedAs, words, words), max_size=1)
marked = st.lists(st.builds(Transcribed, names), max_size=1)
with_morts = st.tuples(readings, morts, why, marked, st.randoms()).map(
    lambda t: shuffled(t[0], [*t[1], *t[2], *t[3]], t[4])
)

parts = st.lists(st.builds(Part, words, counts), max_size=3, unique_by=lambda p: p.input)
worked_out = st.tuples(
    readings, st.builds(Derived, words, words, words), parts, marked, st.randoms()
).map(lambda t: shuffled(t[0], [t[1], *t[2], *t[3]], t[4]))


def beside(first: Detail, more: list[Detail]) -> tuple[Detail, ...]:
    """A detail and what stands beside it."""
    return first, *more


def alone(detail: Any) -> tuple[Detail, ...]:
    """A detail that is the only one of its entry."""
    return (detail,)


above_zero = st.floats(5e-324, allow_infinity=False) | st.integers(1, 1 << 60)
counted = st.lists(
    st.builds(
        Counted, st.sampled_from(["nauplii", "eggs", "cells", "umbrella"]), above_zero, above_zero,
        st.lists(st.integers(0, 1 << 70), min_size=1).map(lambda found: " ".join(map(str, found))),
    ),
    max_size=3,
    unique_by=lambda one: one.what,
)  # fmt: skip


DETAILS: dict[str, st.SearchStrategy[tuple[Detail, ...]]] = {
    "reading": with_morts,
    "derived": worked_out,
    "void": marked.map(tuple),
    "follow-up": st.tuples(
        st.builds(
            FollowUp, st.sampled_from(["action", "altered"]),
            st.sampled_from(["open", "done", "close", "drop", "reopen"]), words, some_words,
            a_whole, st.none() | counts,
        ),
        st.builds(Closing, st.sampled_from(["task", "meter", "deviation"]), some_words),
    ) | st.builds(
        FollowUp, st.just("altered"), st.just("open"), words, some_words, a_whole, st.none()
    ).map(alone),
    "handover": st.builds(
        beside,
        st.builds(
            Handover, st.sampled_from(["give", "take"]), words, some_words, st.none() | counts
        ),
        st.lists(
            st.builds(SaidBack, words, words, st.integers(1, 9)), max_size=3,
            unique_by=lambda one: one.question,
        )
        | st.lists(
            st.builds(HandoverGist, words, words), max_size=3, unique_by=lambda one: one.section
        ),
    ),
    "note": st.builds(beside, st.builds(Note, words), counted)
    | st.builds(beside, st.builds(Note, words), marked),
    "movement": st.builds(
        beside,
        st.builds(
            Movement, st.sampled_from([*What]), counts, a_real, some_words, words
        ),
        counted,
    ),
    "meal": st.tuples(
        st.builds(Meal, words, reals, words, a_real, a_whole, some_words),
        st.lists(st.builds(Served, whole), max_size=1),
        st.lists(
            st.builds(Poured, names, above_zero, st.just(0) | above_zero), max_size=3,
            unique_by=lambda one: one.batch,
        ),
        st.randoms(),
    ).map(lambda t: shuffled(t[0], [*t[1], *t[2]], t[3])),
    "batch": st.tuples(
        st.builds(
            Batch, words, words, some_words, a_real, a_real, a_real, a_real, a_real, a_real,
            a_real, a_whole, some_words,
        ),
        st.lists(
            st.builds(BatchOf, st.sampled_from(["cone", "shelled", "feed"]), st.none() | names),
            max_size=1,
        ),
        counted,
        st.randoms(),
    ).map(lambda t: shuffled(t[0], [*t[1], *t[2]], t[3])),
    **{
        kind: one.map(alone)
        for kind, one in {
            "round": st.builds(
                Round, whole, words, st.sampled_from(["open", "resume", "sign"]), some_words
            ),
            "plan": st.builds(PlanVersion, words, words),
            "sample": st.builds(
                Sample, words, st.integers(1, 99), a_whole, a_real, a_real, some_words
            ),
            "calibration": st.builds(
                Calibration, words, words, a_real, a_real, a_real, some_words, st.booleans()
            ),
            "dose": st.builds(Dose, words, reals, words, a_real, a_real, some_words),
            "flag": st.builds(
                FlagEvent, st.sampled_from(["close", "shelve", "return", "raise", "end"]),
                some_words, a_whole,
            ),
            "done": st.builds(
                DoneAbout, words, st.none() | st.integers(1, 99), st.none() | counts
            ),
            "call": st.builds(Call, words, words, st.booleans(), some_words),
            "look": st.builds(Look, whole, st.sampled_from(["open", "sign"]), words),
            "sampling": st.builds(
                Sitting, st.just("open"), st.just("length mass"), counts, st.none(), st.none()
            ) | st.builds(
                Sitting, st.just("end"), st.just("gut"), counts, counts,
                st.sampled_from([None, "returned", "kept"]),
            ),
            "fish": st.builds(
                Fish, counts, st.integers(1, 99), st.none() | above_zero, st.none() | above_zero,
                st.none() | counts, st.none() | counts, st.none() | counts, some_words,
            ),
            "sheet": st.builds(SheetStop, whole, st.sampled_from(["tank", "loop"]), whole, names)
            | st.builds(SecondEntry, counts, words),
            "import": st.builds(
                ImportFile, words.filter(bool), words, words, words, words, counts, counts
            ),
            "suspect": st.builds(Suspect, words, st.integers(0, 99), st.integers(99, 1 << 33)),
        }.items()
    },
}  # fmt: skip


def shuffled(first: Detail, more: Sequence[Detail], chance: object) -> tuple[Detail, ...]:
    """A detail and what stands beside it, in any order."""
    details: list[Detail] = [first, *more]
    chance.shuffle(details)  # type: ignore[attr-defined]
    return tuple(details)


@st.composite
def lines(draw: st.DrawFn) -> Line:
    """Anything a person may write, at one of two laptops."""
    kind = draw(st.sampled_from(sorted(KINDS)))
    here = kind in ("reading", "derived") or draw(st.booleans())
    observed = Instant(draw(st.integers(0, 1 << 33)), draw(st.sampled_from([-360, 0, 330, 1080])))
    recorded = Instant(observed.utc + draw(st.integers(-999, 1 << 20)), observed.offset)
    entry = Entry(
        kind, draw(words), observed, recorded, draw(names) if here else None,
        draw(names) if here else None, draw(words), draw(a_whole), draw(st.none() | counts),
        draw(some_words),
    )  # fmt: skip
    return Line(draw(st.sampled_from([TROLLEY, OFFICE])), entry, draw(DETAILS[kind]))


def referring(k: int, one: Line) -> Line:
    """The line with its references pointed at entries that are there: `k` are."""

    def there(n: int | None) -> int | None:
        return None if n is None or k == 0 else 1 + n % k

    details = tuple(
        d._replace(opened=there(d.opened)) if isinstance(d, FollowUp)
        else d._replace(given=there(d.given)) if isinstance(d, Handover)
        else d._replace(flagged=there(d.flagged)) if isinstance(d, DoneAbout)
        else d._replace(of=1 + d.of % max(k, 1)) if isinstance(d, Part)
        else d._replace(of=1 + d.of % max(k, 1)) if isinstance(d, SecondEntry)
        else d._replace(sitting=1 + d.sitting % max(k, 1)) if isinstance(d, Fish)
        else d._replace(event="end" if k and d.opened is not None else "open",
                        opened=there(d.opened)) if isinstance(d, Sitting)
        else d
        for d in one.details
        # The first entry of all has nothing before it to be worked out from, or to be a fish of.
        if k > 0 or not isinstance(d, Part | Fish | SecondEntry)
    )  # fmt: skip
    entry = one.entry._replace(amends=there(one.entry.amends))
    return replace(one, entry=entry, details=details)


@settings(max_examples=150, deadline=None)
@given(st.lists(lines(), min_size=1, max_size=12))
@example([line("reading", 1, Mort("", 1), Reading(-0.0, "-0"), place="T", item="i")])
@example([line("meal", 1, Meal("rotifer", 120, "mL", 125))])
@example([line("note", 1, Note("a\x00b\u2028\ufeff\U0010ffff"))])
def test_whatever_is_written_holds(written: list[Line]) -> None:
    with record() as path:
        write(path, [referring(k, one) for k, one in enumerate(written)])
        with plainly(path) as db:
            assert chain.verify(db) is None
            assert db.execute("SELECT count(*) FROM entry").fetchone() == (len(written),)
            assert db.execute("PRAGMA foreign_key_check").fetchall() == []
        assert inspect(path).sound


BESIDE = (
    *("mort", "part", "judged", "closing", "said_back", "handover_gist"),
    *("served", "poured", "batch_of", "counted", "found"),
    *("transcribed", "sheet_stop", "second_entry", "series"),
)
"""Tables with rows beside that of some entries of a kind, and not of all."""


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_every_kind_of_entry_holds(data: st.DataObject) -> None:
    with record() as path:
        entry = Entry("", "AB", at(0), at(5), "T01", "temp", "degC", 1, 1, "why")
        given_ = [
            Line((TROLLEY, OFFICE)[k % 2], entry._replace(kind=kind), data.draw(DETAILS[kind]))
            for k, kind in enumerate(KINDS)
        ]
        write(path, [referring(k, one) for k, one in enumerate(given_)])
        with plainly(path) as db:
            assert chain.verify(db) is None
            # The rows of each entry are in its own tables, so that none is left out of its digest.
            allowed: dict[str, set[int]] = {}
            for kind, tables in chain.DETAIL_TABLES.items():
                for table in tables:
                    allowed.setdefault(table, set()).add(KINDS[kind])
            for table, numbers in allowed.items():
                kinds = db.execute(
                    f"SELECT DISTINCT e.kind FROM {table} d JOIN entry e ON e.n = d.entry"
                ).fetchall()
                stands_beside = table in BESIDE
                found = {k for (k,) in kinds}
                assert found == numbers or (stands_beside and found < numbers)


def test_every_table_of_details_is_covered_by_the_chain() -> None:
    covered = {table for tables in chain.DETAIL_TABLES.values() for table in tables}
    # Imported values are covered by the digest of their series, which is one of them.
    beside = {*DICTIONARIES, "entry", "imported", "bundle"}
    assert sorted(covered) == sorted(set(GUARDED) - beside)
    assert set(chain.DETAIL_TABLES) == set(KINDS)


def test_the_progress_of_a_long_check_is_told() -> None:
    with fresh() as ledger:
        with ledger.writing():
            for k in range(10_001):
                ledger.append(void(k, 1) if k else note(0, "first")[0])
        seen: list[int] = []
        assert chain.verify(ledger.db, seen.append) is None
        assert seen == [5000, 10_000]


# ---- what was altered shows


class Cell(NamedTuple):
    """One value of the record: where it stands and what it is."""

    table: str
    key: tuple[tuple[str, object], ...]
    column: str
    type: str
    value: object


@cache
def cells() -> tuple[Cell, ...]:
    """Every value of a record that holds one of everything."""
    found = []
    with record(full_content()) as path, plainly(path) as db:
        for table in GUARDED:
            described = db.execute(f"PRAGMA table_info({table})").fetchall()
            keys = [d[1] for d in described if d[5]]
            for row in db.execute(f"SELECT * FROM {table}"):
                by_name = dict(zip((d[1] for d in described), row, strict=True))
                key = tuple((name, by_name[name]) for name in keys)
                found += [Cell(table, key, d[1], d[2], by_name[d[1]]) for d in described]
    return tuple(found)


def other_values(cell: Cell) -> st.SearchStrategy[object]:
    """Anything that the column's type takes, often something near."""
    by_type: dict[str, st.SearchStrategy[object]] = {
        "INTEGER": st.one_of(st.integers(-3, 45), whole),
        "REAL": st.one_of(reals, st.just(float("inf"))),
        "TEXT": st.one_of(words, st.sampled_from(["T01", "T02", "AB", "temp", "degC", "note"])),
        "BLOB": st.binary(max_size=40),
    }
    near: list[object] = []
    if isinstance(cell.value, int):
        near = [cell.value + 1, cell.value - 1]
    elif isinstance(cell.value, float):
        near = [cell.value * (1 + 2**-52), -cell.value, cell.value + 0.1]
    elif isinstance(cell.value, str):
        near = [cell.value + " ", cell.value.upper(), cell.value[:-1], cell.value + "\u0301"]
    elif isinstance(cell.value, bytes):
        near = [bytes([cell.value[0] ^ 1]) + cell.value[1:], bytes(32)]
    return st.one_of(by_type[cell.type], st.none(), *(st.just(value) for value in near))


@pytest.fixture(scope="module")
def bared() -> Iterator[sqlite3.Connection]:
    """The full record in the hands of somebody who took the guards away."""
    with record(full_content()) as path, plainly(path) as db:
        without_guards(db)
        yield db


@contextmanager
def altered(db: sqlite3.Connection, cell: Cell, value: object) -> Iterator[None]:
    """One value of the record is another meanwhile."""
    where = " AND ".join(f"{name} IS ?" for name, _ in cell.key)
    db.execute("BEGIN")
    try:
        changed = db.execute(
            f"UPDATE {cell.table} SET {cell.column} = ? WHERE {where}",
            (value, *(part for _, part in cell.key)),
        ).rowcount
        assert changed == 1
        yield
    except sqlite3.IntegrityError:
        assume(False)  # SQLite itself does not take it: no alteration
    finally:
        db.execute("ROLLBACK")


def says_the_same(db: sqlite3.Connection, cell: Cell, value: object) -> bool:
    """Whether the change is none: equal as SQLite keeps it, or a text that stood for itself."""
    if cell.column == "typed" and cell.table != "second_entry":
        where = " AND ".join(f"{name} = {part}" for name, part in cell.key)
        sql = f"SELECT coalesce(?, printf('%.10g', value)) FROM {cell.table} WHERE {where}"
        before, after = (db.execute(sql, (v,)).fetchone() for v in (cell.value, value))
        return bool(before == after)
    return value == cell.value


USES = {
    "station": "e.station", "person": "e.who", "kind": "e.kind", "place": "e.place",
    "item": "e.item", "instrument": "r.instrument", "band": "r.band", "working": "d.working",
}  # fmt: skip


def named_by(db: sqlite3.Connection, bundle: object) -> object:
    """The entry that names a bundle of imported values, None for none."""
    row = db.execute("SELECT entry FROM bundle WHERE id = ?", (bundle,)).fetchone()
    return None if row is None else row[0]


def first_said(db: sqlite3.Connection, cell: Cell, value: object) -> set[int]:
    """The entries that may be named first for this change: those that say something else now."""
    key = dict(cell.key)
    if cell.table in USES:
        uses = db.execute(
            "SELECT min(e.n) FROM entry e LEFT JOIN reading r ON r.entry = e.n"
            " LEFT JOIN derived d ON d.entry = e.n"
            f" WHERE {USES[cell.table]} = ?",
            (key["id"],),
        ).fetchone()[0]
        assert uses is not None, "every name of the record is used"
        return {uses}
    if cell.table in ("bundle", "imported"):
        bundle = key.get("id", key.get("bundle"))
        said = {named_by(db, bundle)}
        if cell.column in ("entry", "bundle"):  # it is missed there, and found too many here
            said.add(value if cell.column == "entry" else named_by(db, value))
        return {n for n in said if isinstance(n, int)}
    n = key["n"] if cell.table == "entry" else key["entry"]
    assert isinstance(n, int)
    if cell.column in ("n", "entry"):
        # The row is missed where it was and found where it is now; whichever comes first.
        assert isinstance(value, int)
        return {n, n + 1, value} if cell.column == "n" else {n, value}
    return {n}


@settings(max_examples=1000, deadline=None)
@given(data=st.data())
def test_any_altered_value_shows_and_the_first_altered_entry_is_named(
    bared: sqlite3.Connection, data: st.DataObject
) -> None:
    # A table first, so that the small ones come up as often as the spine.
    table = data.draw(st.sampled_from(sorted(GUARDED)))
    cell = data.draw(st.sampled_from([c for c in cells() if c.table == table]))
    value = data.draw(other_values(cell))
    assume(not says_the_same(bared, cell, value))
    with altered(bared, cell, value):
        damage = chain.verify(bared)
    assert damage is not None
    if not (cell.type == "INTEGER" and value is None):  # a key of NULL: SQLite gives a new number
        assert damage.entry in first_said(bared, cell, value)
    assert "altered" in damage.sentence or "added by hand" in damage.sentence


def test_every_single_value_of_the_record_is_watched(bared: sqlite3.Connection) -> None:
    """The same without chance: every value once, made another."""
    others: dict[str, object] = {
        "INTEGER": 777, "REAL": 0.125, "TEXT": "other", "BLOB": bytes(32)
    }  # fmt: skip
    for cell in cells():
        with altered(bared, cell, others[cell.type]):
            damage = chain.verify(bared)
        assert damage is not None, cell
        assert damage.entry in first_said(bared, cell, others[cell.type]), cell
    assert {cell.table for cell in cells()} == set(GUARDED)


NAMES = {
    "station": ("key", "name"), "place": ("code",), "person": ("initials",),
    "item": ("code", "unit"), "instrument": ("code",), "band": ("limits",), "kind": ("name",),
    "working": ("calculator", "equation", "facts"),
}  # fmt: skip


@pytest.mark.parametrize(
    ("table", "column"), [(table, column) for table, columns in NAMES.items() for column in columns]
)
def test_a_renamed_name_shows_at_the_first_entry_that_uses_it(
    bared: sqlite3.Connection, table: str, column: str
) -> None:
    renamed = [c for c in cells() if c.table == table and c.column == column]
    assert renamed
    for cell in renamed:
        with altered(bared, cell, f"{cell.value}2"):
            damage = chain.verify(bared)
        assert damage is not None
        assert {damage.entry} == first_said(bared, cell, "")


def test_two_names_that_changed_places_show() -> None:
    with record(full_content()) as path, plainly(path) as db:
        without_guards(db)
        for new, old in (("aside", "T01"), ("T01", "T02"), ("T02", "aside")):
            db.execute("UPDATE place SET code = ? WHERE code = ?", (new, old))
        damage = chain.verify(db)
        assert damage is not None
        assert damage.entry == 3
        assert "T02 temp" in damage.sentence


def test_the_sentence_says_which_reading_it_is() -> None:
    with record(full_content()) as path, plainly(path) as db:
        without_guards(db)
        db.execute("UPDATE reading SET value = 16.4 WHERE entry = 5")
        damage = chain.verify(db)
        assert damage is not None
        assert damage.sentence == (
            "Entry 5 was altered: T02 temp, Sun 10 May 03:05, entered by AB."
        )


@pytest.mark.parametrize("sql", [
    "UPDATE entry SET observed_at = 1 << 62 WHERE n = 3",
    "UPDATE entry SET observed_at = -(1 << 62) WHERE n = 3",
    "UPDATE entry SET utc_offset = 1 << 62 WHERE n = 3",
    "UPDATE entry SET reason = CAST(x'ff41' AS TEXT) WHERE n = 3",
    "UPDATE place SET code = CAST(x'ff41' AS TEXT) WHERE code = 'T01'",
    "UPDATE reading SET typed = CAST(x'eda0bd' AS TEXT) WHERE entry = 3",
])  # fmt: skip
def test_what_no_program_writes_is_named_all_the_same(sql: str) -> None:
    with record(full_content()) as path:
        with plainly(path) as db:
            without_guards(db)
            db.execute(sql)
            damage = chain.verify(db)
            assert damage is not None
            assert damage.entry == 3
            assert db.text_factory is str
        assert not inspect(path).sound


@pytest.mark.parametrize(("table", "column", "key"), [
    ("note", "text", "entry"), ("entry", "observed_at", "n"), ("reading", "value", "entry"),
    ("entry", "reason", "n"), ("entry", "place", "n"), ("station", "name", "id"),
    ("station", "key", "id"), ("entry", "local", "n"), ("mort", "fish", "entry"),
])  # fmt: skip
def test_bytes_where_no_bytes_belong_are_named_all_the_same(
    table: str, column: str, key: str
) -> None:
    with record(full_content()) as path:
        with plainly(path) as db:
            without_guards(db)
            version = db.execute("PRAGMA schema_version").fetchone()[0]
            kept = db.execute("SELECT sql FROM sqlite_schema WHERE name = ?", (table,)).fetchone()
            db.execute("PRAGMA writable_schema = ON")
            db.execute(
                "UPDATE sqlite_schema SET sql = replace(sql, 'STRICT', '') WHERE name = ?",
                (table,),
            )
            db.execute(f"PRAGMA schema_version = {version + 1}")
        with plainly(path) as db:
            n = db.execute(f"SELECT min({key}) FROM {table}").fetchone()[0]
            db.execute(f"UPDATE {table} SET {column} = x'ff00' WHERE {key} = ?", (n,))
            db.execute("PRAGMA writable_schema = ON")
            db.execute("UPDATE sqlite_schema SET sql = ? WHERE name = ?", (*kept, table))
            db.execute(f"PRAGMA schema_version = {version + 2}")
        with plainly(path) as db:
            damage = chain.verify(db)
            assert damage is not None
            assert damage.entry == n
        assert not inspect(path).sound


# ---- what was removed, moved or added shows

Altering = Callable[[sqlite3.Connection], object]


def remove(db: sqlite3.Connection, n: int) -> None:
    """Take an entry and all its rows out."""
    for tables in (*chain.DETAIL_TABLES.values(), ("bundle",)):
        for table in tables:
            db.execute(f"DELETE FROM {table} WHERE entry = ?", (n,))
    db.execute("DELETE FROM entry WHERE n = ?", (n,))


def renumber(db: sqlite3.Connection, old: int, new: int) -> None:
    """Give an entry and all its rows another number."""
    for tables in (*chain.DETAIL_TABLES.values(), ("bundle",)):
        for table in tables:
            db.execute(f"UPDATE {table} SET entry = ? WHERE entry = ?", (new, old))
    db.execute("UPDATE entry SET n = ? WHERE n = ?", (new, old))


def first_damage(alter: Altering) -> chain.Damage | None:
    """What the check finds after somebody altered the full record."""
    with record(full_content()) as path, plainly(path) as db:
        without_guards(db)
        alter(db)
        return chain.verify(db)


@pytest.mark.parametrize("n", range(1, 35))
def test_an_entry_removed_from_the_middle_shows_at_the_next(n: int) -> None:
    damage = first_damage(lambda db: remove(db, n))
    assert damage is not None
    assert damage.entry == n + 1
    assert f"Entry {n + 1} was altered, or entries before it were removed" in damage.sentence


@pytest.mark.parametrize("n", range(1, 34))
def test_a_gap_closed_by_renumbering_shows(n: int) -> None:
    last = len(one_of_everything())

    def alter(db: sqlite3.Connection) -> None:
        remove(db, n)
        for later in range(n + 1, last + 1):
            renumber(db, later, later - 1)

    damage = first_damage(alter)
    assert damage is not None
    # A later entry of the same station misses the one before it.
    stations = [one.station for one in one_of_everything()]
    later = [k for k in range(n + 1, last + 1) if stations[k - 1] == stations[n - 1]]
    assert damage.entry is not None
    assert damage.entry <= later[0] - 1


def same_laptop_neighbours() -> list[tuple[int, int]]:
    """Entries of one station that follow one another on it."""
    stations = [one.station for one in one_of_everything()]
    return [
        (n, n + 1 + stations[n:].index(station))
        for n, station in enumerate(stations, 1)
        if station in stations[n:]
    ]


@pytest.mark.parametrize(("one", "two"), same_laptop_neighbours())
def test_two_entries_that_changed_places_show(one: int, two: int) -> None:
    def alter(db: sqlite3.Connection) -> None:
        for old, new in ((one, 999), (two, one), (999, two)):
            renumber(db, old, new)

    damage = first_damage(alter)
    assert damage is not None
    assert damage.entry == one


def test_entries_of_two_laptops_may_stand_in_either_order() -> None:
    """Each laptop has a chain of its own: which was put into the file first is not what it says."""
    with record() as path:
        both = [line("note", 1, Note("a")), line("note", 2, Note("b"), station=OFFICE)]
        write(path, both)
        with plainly(path) as db:
            without_guards(db)
            for old, new in ((1, 999), (2, 1), (999, 2)):
                renumber(db, old, new)
            assert chain.verify(db) is None


@pytest.mark.parametrize(
    ("sql", "entry"),
    [
        ("INSERT INTO mort VALUES (9, 'eaten', 1)", 9),
        ("INSERT INTO mort VALUES (3, 'eaten', 1)", 3),
        ("INSERT INTO note VALUES (3, 'words')", 3),
        ("INSERT INTO meal VALUES (18, 'rotifer', 1, 'mL', NULL, NULL, NULL)", 18),
        ("INSERT INTO dose VALUES (12, 'salt', 1, 'kg', NULL, NULL, NULL)", 12),
        ("INSERT INTO note VALUES (777, 'words')", 777),
        ("INSERT INTO mort VALUES (777, 'eaten', 1)", 777),
        # A reading of another place, item or moment that hangs on an entry there is.
        ("INSERT INTO reading VALUES (2, 1, 5, 3, 9.9, NULL, NULL, NULL, NULL, NULL, 0, 0)", 3),
        (
            "INSERT INTO reading SELECT place, item, observed_at + 1, entry, 9.9, NULL, NULL, NULL,"
            " NULL, NULL, 0, 0 FROM reading WHERE entry = 35",
            35,
        ),
        ("INSERT INTO reading VALUES (2, 1, 5, 777, 9.9, NULL, NULL, NULL, NULL, NULL, 0, 0)", 777),
        ("INSERT INTO reading VALUES (2, 1, 5, 4, 9.9, NULL, NULL, NULL, NULL, NULL, 0, 0)", 4),
    ],
)
def test_a_row_added_by_hand_shows(sql: str, entry: int) -> None:
    damage = first_damage(lambda db: db.execute(sql))
    assert damage is not None
    assert damage.entry == entry


@pytest.mark.parametrize("table", [t for ts in chain.DETAIL_TABLES.values() for t in ts])
def test_a_row_of_details_that_was_removed_shows(table: str) -> None:
    with record(full_content()) as path, plainly(path) as db:
        without_guards(db)
        n = db.execute(f"SELECT max(entry) FROM {table}").fetchone()[0]
        db.execute(f"DELETE FROM {table} WHERE entry = ?", (n,))
        damage = chain.verify(db)
        assert damage is not None
        assert damage.entry == n


@pytest.mark.parametrize(("table", "column"), [
    ("entry", "amends"), ("entry", "place"), ("entry", "item"), ("reading", "instrument"),
    ("reading", "band"), ("follow_up", "opened"), ("handover", "given"),
])  # fmt: skip
def test_an_empty_reference_pointed_at_nothing_shows(table: str, column: str) -> None:
    """A number that names nothing reads like no number; it would still change what stands."""
    key = "n" if table == "entry" else "entry"
    with record(full_content()) as path, plainly(path) as db:
        without_guards(db)
        n = db.execute(f"SELECT min({key}) FROM {table} WHERE {column} IS NULL").fetchone()[0]
        db.execute(f"UPDATE {table} SET {column} = 0 WHERE {key} = ?", (n,))
        damage = chain.verify(db)
        assert damage is not None
        assert damage.entry == n


def test_numbers_that_changed_places_between_the_rows_of_one_entry_show() -> None:
    with fresh() as ledger:
        found = line("reading", 1, Reading(5, "5"), Mort("eaten", 2), Mort("jumped", 3),
                     place="T01", item="morts")  # fmt: skip
        ledger.append(*temp(0, 17.5))
        n = ledger.append(found.entry, *found.details)
        ledger.append(*temp(2, 17.6))
        assert chain.verify(ledger.db) is None
        without_guards(ledger.db)
        ledger.db.execute("UPDATE mort SET fish = 5 - fish")
        damage = chain.verify(ledger.db)
        assert damage is not None
        assert damage.entry == n


def test_a_reading_moved_to_another_place_shows() -> None:
    with fresh() as ledger:
        n = ledger.append(*temp(1, 17.5, place="T01"))
        ledger.append(*temp(2, 17.6, place="T02"))
        without_guards(ledger.db)
        ledger.db.execute(
            "UPDATE reading SET place = (SELECT id FROM place WHERE code = 'T02') WHERE entry = ?",
            (n,),
        )
        damage = chain.verify(ledger.db)
        assert damage is not None
        assert damage.entry == n


def test_a_row_that_hangs_on_words_and_no_entry_shows() -> None:
    """Only a damaged file holds it; the rows before and after it are held to their digests."""
    with record(full_content()) as path:
        with plainly(path) as db:
            without_guards(db)
            db.execute("PRAGMA writable_schema = ON")
            db.execute(
                "UPDATE sqlite_schema SET sql = replace(replace(sql, 'STRICT,', ''), "
                "'entry INTEGER', 'entry BLOB') WHERE name = 'mort'"
            )
        with plainly(path) as db:
            assert chain.verify(db) is None
            db.execute("INSERT INTO mort VALUES ('words', 'eaten', 1)")
            damage = chain.verify(db)
            assert damage is not None
            assert damage.sentence == "A row of mort was added by hand to entry words."


def test_the_check_leaves_the_connection_as_it_was() -> None:
    with fresh() as ledger:
        ledger.append(*note(1, "first"))
        db = ledger.db
        cache = db.execute("PRAGMA cache_size").fetchone()
        assert chain.verify(db) is None
        assert (db.in_transaction, db.text_factory) == (False, str)
        assert db.execute("PRAGMA cache_size").fetchone() == cache
        with ledger.writing():
            assert chain.verify(db) is None
            ledger.append(*note(2, "second"))
        assert db.execute("SELECT count(*) FROM note").fetchone() == (2,)


def test_a_kind_that_no_entry_has_yet_cannot_be_renamed_unseen() -> None:
    with fresh() as ledger:
        ledger.append(*note(1, "first"))
        assert chain.verify(ledger.db) is None
        without_guards(ledger.db)
        ledger.db.execute("UPDATE kind SET name = 'gift' WHERE name = 'dose'")
        damage = chain.verify(ledger.db)
        assert damage is not None
        assert "kinds" in damage.sentence


def test_an_entry_written_into_the_file_by_hand_shows() -> None:
    n = len(one_of_everything()) + 1

    def alter(db: sqlite3.Connection) -> None:
        db.execute(
            "INSERT INTO entry SELECT ?, station, (SELECT max(local) + 1 FROM entry x"
            " WHERE x.station = e.station), observed_at, 0, -300, who, kind, round, place, item,"
            " NULL, NULL, digest FROM entry e WHERE n = 35",
            (n,),
        )
        db.execute(
            "INSERT INTO reading SELECT place, item, observed_at, ?, 9.9, NULL, NULL, NULL, NULL,"
            " NULL, 0, 0 FROM reading WHERE entry = 35",
            (n,),
        )

    damage = first_damage(alter)
    assert damage is not None
    assert damage.entry == n


# ---- what the chain cannot see


def test_newest_entries_that_were_cut_off_are_not_seen_by_the_chain_but_by_their_count() -> None:
    """Only a backup or a printed handover, which show the last number, can tell."""
    last = len(one_of_everything())
    with record(full_content()) as path:
        assert inspect(path).sentences == (f"sound, {last} entries, every digest holds.",)
        with plainly(path) as db:
            guards = [
                row[0] for row in db.execute("SELECT sql FROM sqlite_schema WHERE type = 'trigger'")
            ]
            without_guards(db)
            for n in range(last, last - 5, -1):
                remove(db, n)
            for sql in guards:
                db.execute(sql)
            assert chain.verify(db) is None
        found = inspect(path)
        assert found.sound
        assert found.sentences[0] == f"sound, {last - 5} entries, every digest holds."
        assert "of an import that did not end" in found.sentences[1], "its entry was cut off"


def test_whoever_makes_the_whole_chain_anew_is_not_seen_either() -> None:
    """The digests show that a file holds together; that it is the same file a copy shows."""
    forged = one_of_everything()
    reading = forged[2].details[0]
    assert isinstance(reading, Reading)
    forged[2] = replace(forged[2], details=(reading._replace(value=16.0),))
    with record() as path:
        write(path, forged)
        assert inspect(path).sound
        assert path.read_bytes() != full_content()


# ---- the digest itself


def test_a_digest_can_be_made_again_from_the_description() -> None:
    """The form of what is hashed is fixed: an old record must hold in every later program."""
    import hashlib
    import json

    with fresh() as ledger:
        entry, reading = temp(2, 18.5, "65.3", place="T01", reason="why")
        ledger.append(entry._replace(recorded=at(3)), reading._replace(typed_unit="degF"))
        ledger.append(void(4, 1))
        kept = [row[0] for row in ledger.db.execute("SELECT digest FROM entry ORDER BY n")]
    utc = entry.observed.utc
    said: list[object] = [
        "3f6a-trolley", 1, utc, 60, -300, "AB", "reading", None, "T01", "temp", "degC", None, "why",
        ["reading", 18.5, "65.3", "degF", None, None, None, 0, 0],
    ]  # fmt: skip
    before = hashlib.sha256(b"trolley laptop").digest()
    body = json.dumps(said, separators=(",", ":")).encode()
    first = hashlib.sha256(before + body).digest()
    assert kept[0] == first
    said = [
        "3f6a-trolley", 2, utc + 120, 0, -300, "AB", "void", None, None, None, None,
        "3f6a-trolley:1", "undone",
    ]  # fmt: skip
    body = json.dumps(said, separators=(",", ":")).encode()
    assert kept[1] == hashlib.sha256(first + body).digest()


anything = st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.binary()


@given(st.lists(anything, max_size=13), st.lists(st.lists(anything).map(tuple), max_size=3))
def test_the_kept_encoder_writes_what_json_writes(
    link: list[object], details: list[tuple[object, ...]]
) -> None:
    import hashlib
    import json

    body = json.dumps(
        [*link, *details], ensure_ascii=False, separators=(",", ":"), default=repr
    ).encode("utf-8", "surrogatepass")
    assert chain.digest(b"before", link, details) == hashlib.sha256(b"before" + body).digest()


def test_what_is_typed_cannot_pass_for_another_field() -> None:
    """Quotes, commas and brackets in words do not move the borders between the fields."""
    tricky = ['a","b', "a]", '["note","a"]', "\\", '\\"', "null", "\n", "1", ""]
    with fresh() as ledger:
        for k, words_ in enumerate(tricky):
            ledger.append(*note(k, words_, who=f"W{k}", reason=words_))
        digests = {row[0] for row in ledger.db.execute("SELECT digest FROM entry")}
        assert len(digests) == len(tricky)
        assert chain.verify(ledger.db) is None


def test_a_laptop_renamed_later_keeps_the_name_it_began_with(tmp_path: Path) -> None:
    with record() as path:
        for name in ("trolley laptop", "the new name"):
            with opened(path, Station(TROLLEY.key, name)) as ledger:
                ledger.append(*note(1, f"written at {name}"))
        with plainly(path) as db:
            assert db.execute("SELECT name FROM station").fetchall() == [("trolley laptop",)]
            assert chain.verify(db) is None
