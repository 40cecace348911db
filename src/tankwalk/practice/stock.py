"""How many fish a tank holds by the book: what went in and out, and the dead that were counted.

Larvae vanish unseen, so between two counts of all fish the book number is an upper guess.
"""

from __future__ import annotations

import sqlite3
from typing import NamedTuple

from tankwalk.ledger import queries
from tankwalk.plan.model import Item

COMES_IN = ("stocked", "moved in")
GOES_OUT = ("moved out", "culled", "sampled", "escaped")


class Book(NamedTuple):
    """The book number of a tank, and when it was last counted (UTC second)."""

    number: int
    counted_at: int


def book(db: sqlite3.Connection, place: str, morts: Item) -> Book | None:
    """The book number of a place; None where no fish were ever entered there.

    A count of all fish starts the book anew. Two counts of the dead in one round are one count,
    the second: they were counted again.
    """
    number, since, begun = 0, 0, False
    for moved in queries.movements(db, place):
        if moved.what == "census":
            number, since, begun = moved.fish, moved.at, True
        elif moved.what in COMES_IN:
            number += moved.fish
            since, begun = (since or moved.at), True
        elif moved.what in GOES_OUT:
            number -= moved.fish
    if not begun:
        return None
    dead: dict[object, int] = {}
    counts = queries.counted_dead(db, place, morts.code, morts.unit, since)
    for nth, (round_number, count) in enumerate(counts):
        dead[("apart", nth) if round_number is None else round_number] = count
    return Book(max(0, number - sum(dead.values())), since)
