"""What was cut out of the record shows by its place in the file, also where its own chain ends."""

from __future__ import annotations

import pytest

from ledger_support import OFFICE, TROLLEY, line, plainly, record, without_guards, write
from tankwalk.ledger import chain
from tankwalk.ledger.entries import Note


@pytest.mark.parametrize(("cut", "shows"), [((2,), 3), ((2, 3), 4), ((1,), 2)])
def test_a_laptops_newest_entries_that_were_cut_out_show_at_the_next_of_another_laptop(
    cut: tuple[int, ...], shows: int
) -> None:
    """The chain of the laptop that goes on has no gap: only the place in the file tells."""
    with record() as path:
        written = [
            line("note", n, Note(f"note {n}"), station=OFFICE if n in cut else TROLLEY)
            for n in (1, 2, 3, 4)
        ]
        write(path, written)
        with plainly(path) as db:
            assert chain.verify(db) is None
            without_guards(db)
            for n in cut:
                db.execute("DELETE FROM note WHERE entry = ?", (n,))
                db.execute("DELETE FROM entry WHERE n = ?", (n,))
            damage = chain.verify(db)
            assert damage is not None
            assert damage.entry == shows
            assert f"it follows entry {cut[0] - 1}." in damage.sentence


def test_a_gap_closed_by_renumbering_is_told_by_the_laptops_own_count() -> None:
    with record() as path:
        write(path, [line("note", n, Note(f"note {n}")) for n in (1, 2, 3)])
        with plainly(path) as db:
            without_guards(db)
            for table, column in (("note", "entry"), ("entry", "n")):
                db.execute(f"DELETE FROM {table} WHERE {column} = 2")
                db.execute(f"UPDATE {table} SET {column} = 2 WHERE {column} = 3")
            damage = chain.verify(db)
            assert damage is not None
            assert damage.entry == 2
            assert "it is number 3 of its station and follows number 1." in damage.sentence
