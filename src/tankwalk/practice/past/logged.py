"""What loggers and old sheets hold of a place in a window: by half day, beside the looks."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from tankwalk.clock import Instant
from tankwalk.plan.model import Item
from tankwalk.practice.past.window import Window
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple


class HalfDay(NamedTuple):
    """The lowest and the highest value of a morning or an afternoon, in the item's unit."""

    day: date
    afternoon: bool
    low: float
    high: float
    values: int


class Logged(NamedTuple):
    """What one source holds of one item: its half days, oldest first, and its newest value."""

    source: str
    item: Item
    halves: tuple[HalfDay, ...]
    last: float
    at: Instant

    @property
    def values(self) -> int:
        """How many values there are in the window."""
        return sum(half.values for half in self.halves)

    @property
    def low(self) -> float:
        """The lowest of the window."""
        return min(half.low for half in self.halves)

    @property
    def high(self) -> float:
        """The highest of the window."""
        return max(half.high for half in self.halves)


def logged(
    site: Site, place: str, items: Iterable[Item], span: Window, now: Instant
) -> tuple[Logged, ...]:
    """What was imported of some items at a place, in their order, by source.

    A half day is told by the wall clock's offset of now: around a change of the clock it is an
    hour off.
    """
    found: list[Logged] = []
    offset, asked = now.offset * 60, site.reader.imports
    first = date(1970, 1, 1)
    for item in items:
        if item.kind.by_words:
            continue
        sources = asked.by_half_day(place, item.code, item.unit, (span.since, span.until), offset)
        for source, (halves, last, at) in sources.items():
            days = tuple(
                HalfDay(first + timedelta(days=nth // 2), bool(nth % 2), low, high, many)
                for nth, (low, high, many) in sorted(halves.items())
            )
            found.append(Logged(source, item, days, last, Instant(at, now.offset)))
    return tuple(found)
