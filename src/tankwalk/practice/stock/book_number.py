"""How many fish a tank holds by the book: what went in and out, and the dead that were counted.

Larvae vanish unseen, so between two counts of all fish the book number is an upper guess.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from tankwalk.ledger.stock import Moved
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
    """The book number of a tank; None where no fish were ever entered there."""
    return books(site, [place]).get(place)


def books(site: Site, places: Iterable[str]) -> dict[str, Book]:
    """The book numbers of tanks; one where no fish were ever entered is not among them.

    A count of all fish starts the book anew.
    """
    stock = site.reader.stock
    moved = stock.movements(sorted(places))
    found = {place: one for place, seen in moved.items() if (one := _in_and_out(seen)) is not None}
    since = sorted((place, one.counted_at) for place, one in found.items())
    dead = stock.counted_dead(since, MORTS, unit_of_morts(site.plan)) if since else {}
    return {
        place: one._replace(number=max(0, one.number - sum(one_a_round(dead.get(place, ())))))
        for place, one in found.items()
    }


def _in_and_out(seen: Iterable[Moved]) -> Book | None:
    """What movements leave, oldest first; None where none brought fish in or counted them."""
    number, since, begun = 0, 0, False
    for moved in seen:
        if moved.what == "census":
            number, since, begun = moved.fish, moved.at, True
        elif moved.what in COMES_IN:
            number += moved.fish
            since, begun = (since or moved.at), True
        elif moved.what in GOES_OUT:
            number -= moved.fish
    return Book(number, since) if begun else None


def unit_of_morts(plan: Plan) -> str:
    """The unit the plan keeps the count of the dead in, "" where it has none."""
    item = plan.find_item(MORTS)
    return "" if item is None else item.unit
