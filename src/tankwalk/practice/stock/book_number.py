"""How many fish a tank holds by the book: what went in and out, and the dead that were counted.

Larvae vanish unseen, so between two counts of all fish the book number is an upper guess.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from tankwalk.plan.model import Plan
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

MORTS = "morts"
"""Code of the item that counts the dead."""

COMES_IN = ("stocked", "moved in")
GOES_OUT = ("moved out", "culled", "sampled", "escaped")


Count = TypeVar("Count")


def one_a_round(counts: Iterable[tuple[int | None, Count]]) -> list[Count]:
    """Counts by their round: two of one round are one, the second, as they were counted again.

    A count outside any round stands for itself.
    """
    last: dict[object, Count] = {}
    for nth, (number, count) in enumerate(counts):
        last[("apart", nth) if number is None else number] = count
    return list(last.values())


class Book(NamedTuple):
    """The book number of a tank, and when it was last counted (UTC second)."""

    number: int
    counted_at: int


def book(site: Site, place: str) -> Book | None:
    """The book number of a tank; None where no fish were ever entered there.

    A count of all fish starts the book anew.
    """
    reader = site.reader
    number, since, begun = 0, 0, False
    for moved in reader.stock.movements(place):
        if moved.what == "census":
            number, since, begun = moved.fish, moved.at, True
        elif moved.what in COMES_IN:
            number += moved.fish
            since, begun = (since or moved.at), True
        elif moved.what in GOES_OUT:
            number -= moved.fish
    if not begun:
        return None
    counts = reader.stock.counted_dead(place, MORTS, unit_of_morts(site.plan), since)
    return Book(max(0, number - sum(one_a_round(counts))), since)


def unit_of_morts(plan: Plan) -> str:
    """The unit the plan keeps the count of the dead in, "" where it has none."""
    item = plan.find_item(MORTS)
    return "" if item is None else item.unit
