"""What is put together from kept pieces is, byte for byte, what the encoder writes."""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from ledger_support import (
    OFFICE,
    TROLLEY,
    full_content,
    note,
    opened,
    plainly,
    record,
    void,
    without_guards,
)
from tankwalk.ledger import canonical, chain
from tankwalk.ledger.canonical import DIGEST, STATION, N

NAMES = canonical.Names(
    {1: ("3f6a", "trolley"), 2: ('a"b', "office")},
    {1: "AB", 2: "\\\n"},
    {1: "reading", 2: "note"},
    {1: "T01", 2: "na\u00efve\x00"},
    {1: ("temp", "degC"), 2: ('"', "\u2028")},
    {1: "meter"},
    {1: '{"low": 1e-7}'},
)
PIECES = canonical.pieces(NAMES)

some_words = st.none() | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
whole = st.integers(-(1 << 63), (1 << 63) - 1)
reals = st.floats(allow_nan=False, allow_infinity=False) | st.sampled_from(
    [1e-7, -0.0, 0.0, 1e22, 0.1 + 0.2, 17.4, 123456789.5, 12345678901.5, 1e-5, 0.0001, 100000.0,
     0.00012345678901, 9999999999.5, -1234567.89, 5e-324]
)  # fmt: skip


def one_of(names: Mapping[int, object]) -> st.SearchStrategy[int]:
    """The number of a name that is there."""
    return st.sampled_from(sorted(names))


usual = st.tuples(
    whole, one_of(NAMES.stations), whole, whole, whole, whole, one_of(NAMES.people),
    one_of(NAMES.kinds), st.none() | whole, st.sampled_from([None, 1, 2]),
    st.sampled_from([None, 1, 2]), st.none() | whole, some_words, st.binary(),
    st.none() | reals, some_words, some_words, some_words, st.sampled_from([None, 1]),
    st.sampled_from([None, 1]), st.none() | st.integers(0, 4), st.integers(0, 1),
)  # fmt: skip
"""An entry with its reading, as SQLite gives it."""

anything = (
    st.none()
    | whole
    | whole.map(str)
    | st.floats(allow_nan=False)
    | st.text(st.characters())
    | st.binary()
)
damaged = st.tuples(usual, st.integers(1, 21), anything).map(
    lambda t: (*t[0][: t[1]], t[2], *t[0][t[1] + 1 :])
)
"""The same with anything in one place of it."""


def named(n: int) -> str:
    return f"3f6a:{n}"


def written(row: canonical.Row) -> bytes:
    """What json writes of the entry."""
    (_, station, local, observed_at, late_s, offset, who, kind, in_round, place, item, amends,
     reason, _, value, typed, unit, qualifier, meter, band, flag, recheck) = row  # fmt: skip
    said: list[object] = [
        NAMES.stations.get(station, (station,))[0], local, observed_at, late_s, offset,
        NAMES.people.get(who, who), NAMES.kinds.get(kind, kind), in_round,
        NAMES.places.get(place, place), *NAMES.items.get(item, (item, None)),
        None if amends is None else named(amends), reason,
    ]  # fmt: skip
    if kind == 1 and flag is not None:
        if typed is None and isinstance(value, float):
            typed = f"{value:.10g}"
        said.append([
            "reading", value, typed, unit, qualifier, NAMES.instruments.get(meter, meter),
            NAMES.bands.get(band, band), flag, recheck,
        ])  # fmt: skip
    body = json.dumps(said, ensure_ascii=False, separators=(",", ":"), default=repr)
    return body.encode("utf-8", "surrogatepass")


def put_together(row: canonical.Row) -> bytes | None:
    return canonical.bodies(PIECES, [row], [""], {1}, named)[0]


@given(usual)
def test_a_usual_entry_is_put_together_as_json_writes_it(row: canonical.Row) -> None:
    assert put_together(row) == written(row)


@given(reals)
@example(-0.0)
@example(1e-7)
@example(0.30000000000000004)
@example(1e22)
def test_what_was_typed_is_left_out_and_written_as_the_value(value: float) -> None:
    row = (1, 1, 1, 0, 0, 0, 1, 1, None, 1, 1, None, None, b"", value, None, None, None, None,
           None, 0, 0)  # fmt: skip
    assert put_together(row) == written(row)


@given(damaged)
@example((1, 1, "1", 0, 0, 0, 1, 2, None, None, None, None, None, b"", *[None] * 8))
def test_of_an_unusual_entry_nothing_else_is_ever_said(row: canonical.Row) -> None:
    """It may be no JSON at all, which no digest holds for: then the encoder is asked."""
    made = put_together(row)
    if made is None or made == written(row):
        return
    try:
        says = json.loads(made)
    except ValueError:
        return
    assert json.dumps(says) == json.dumps(json.loads(written(row).decode("utf-8", "replace")))


def test_the_usual_entries_of_every_kind_need_no_encoder_of_their_own() -> None:
    with record(full_content()) as path, plainly(path) as db:
        entries, bodies = chain.Record(db).stretch(1)
        assert len(entries) == db.execute("SELECT count(*) FROM entry").fetchone()[0]
        keys = dict(db.execute("SELECT key, id FROM station"))
        last = {keys[s.key]: chain.first(s.name) for s in (TROLLEY, OFFICE)}
        for row, body in zip(entries, bodies, strict=True):
            assert body is not None, row
            assert sha256(last[row[STATION]] + body).digest() == row[DIGEST], row[N]
            last[row[STATION]] = row[DIGEST]


@pytest.mark.parametrize(("cut", "shows"), [((5000,), 5001), ((5001,), 5002), ((5000, 5001), 5002)])
def test_what_was_cut_out_where_two_stretches_meet_shows(cut: tuple[int, ...], shows: int) -> None:
    with record() as path:
        with opened(path) as ledger, ledger.writing():
            for k in range(5003):
                ledger.append(void(k, 1) if k else note(0, "first")[0])
        with plainly(path) as db:
            assert chain.verify(db) is None
            without_guards(db)
            for n in cut:
                db.execute("DELETE FROM entry WHERE n = ?", (n,))
            damage = chain.verify(db)
            assert damage is not None
            assert damage.entry == shows
            assert f"it follows entry {cut[0] - 1}." in damage.sentence
