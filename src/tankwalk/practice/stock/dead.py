"""The dead that were counted: one count a round, and what each day had, with causes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import TypeVar

from tankwalk.ledger.stock import DeadSeen
from tankwalk.plan.model import Plan
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

MORTS = "morts"
"""Code of the item that counts the dead."""

Count = TypeVar("Count")


def unit_of_morts(plan: Plan) -> str:
    """The unit the plan keeps the count of the dead in, "" where it has none."""
    item = plan.find_item(MORTS)
    return "" if item is None else item.unit


def one_a_round(counts: Iterable[tuple[int | None, Count]]) -> list[Count]:
    """Counts by their round: two of one round are one, the second, as they were counted again.

    A count outside any round stands for itself.
    """
    last: dict[object, Count] = {}
    for nth, (number, count) in enumerate(counts):
        last[("apart", nth) if number is None else number] = count
    return list(last.values())


def counts(site: Site, since: Mapping[str, int]) -> dict[str, list[DeadSeen]]:
    """The counts of the dead at places, each since its UTC second, one a round, oldest first."""
    if not since:
        return {}
    found = site.reader.stock.deaths(sorted(since.items()), MORTS, unit_of_morts(site.plan))
    return {
        place: sorted(one_a_round((one.round, one) for one in seen), key=lambda one: one.at.utc)
        for place, seen in found.items()
    }


class DeadDay(NamedTuple):
    """The dead of one local day, and how many of them had which cause, the most first."""

    day: date
    fish: int
    causes: tuple[tuple[str, int], ...] = ()


def by_day(seen: Iterable[DeadSeen]) -> list[DeadDay]:
    """Counts by local day, oldest first; a day on which none was made is not among them."""
    fish: dict[date, int] = {}
    causes: dict[date, dict[str, int]] = {}
    for one in seen:
        day = one.at.day
        fish[day] = fish.get(day, 0) + one.fish
        for cause, many in one.causes:
            here = causes.setdefault(day, {})
            here[cause] = here.get(cause, 0) + many
    return [
        DeadDay(day, many, tuple(sorted(causes.get(day, {}).items(), key=lambda c: (-c[1], c[0]))))
        for day, many in sorted(fish.items())
    ]
