"""How many fish a tank holds by the book: what went in and out, and the dead that were counted.

Larvae vanish unseen, so between two counts of all fish the book number is an upper guess.
"""

from __future__ import annotations

from typing import NamedTuple

from tankwalk.ledger import queries
from tankwalk.practice.site import Site

MORTS = "morts"
"""Code of the item that counts the dead."""

COMES_IN = ("stocked", "moved in")
GOES_OUT = ("moved out", "culled", "sampled", "escaped")


class Book(NamedTuple):
    """The book number of a tank, and when it was last counted (UTC second)."""

    number: int
    counted_at: int


def book(site: Site, place: str) -> Book | None:
    """The book number of a tank; None where no fish were ever entered there.

    A count of all fish starts the book anew. Two counts of the dead in one round are one count,
    the second: they were counted again.
    """
    db = site.ledger.db
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
    unit = next((i.unit for i in site.plan.items if i.code == MORTS), "")
    counts = queries.counted_dead(db, place, MORTS, unit, since)
    for nth, (round_number, count) in enumerate(counts):
        dead[("apart", nth) if round_number is None else round_number] = count
    return Book(max(0, number - sum(dead.values())), since)
