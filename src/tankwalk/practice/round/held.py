"""What a round holds, as last read or written: one frozen value, made anew by each change."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import NamedTuple

from tankwalk.ledger.readings import Seen
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.agenda import Slot

Readings = Mapping[tuple[str, str], tuple[Seen, ...]]
"""Readings by place and item code, each oldest first."""


class Held(NamedTuple):
    """The readings of a round that stand, and what follows from them for the slots it asks."""

    slots: tuple[Slot, ...]
    readings: Readings
    open_slots: tuple[int, ...]
    """Indices of slots that hold nothing yet."""
    flags: tuple[tuple[Slot, Seen], ...]
    """Slots whose newest value is out of band, worst first."""

    def of(self, slot: Slot) -> tuple[Seen, ...]:
        """What the round holds for a slot, oldest first."""
        return self.readings.get((slot.place, slot.item.code), ())

    def pending(self, slot: Slot) -> bool:
        """Whether a second reading of this slot is still wanted."""
        here = self.of(slot)
        return (
            bool(here)
            and slot.item.kind.read_twice
            and not any(s.recheck for s in here)
            and here[-1].value is not None
            and here[-1].flag >= Flag.WATCH
        )

    def index_of(self, seen: Seen) -> int | None:
        """Index of the slot a reading answers; None where the round does not ask it."""
        key = seen.place, seen.item
        return next((i for i, s in enumerate(self.slots) if (s.place, s.item.code) == key), None)

    def next_open(self, index: int) -> int:
        """Index of the next slot that holds nothing, round the end; past the last when none."""
        still = self.open_slots
        return next((i for i in still if i > index), still[0] if still else len(self.slots))

    def where_it_ends(self) -> int:
        """Index where the record of the round ends: a wanted second reading, else the next open.

        This is where a person who comes back stands.
        """
        every = (s for here in self.readings.values() for s in here)
        newest = max(every, key=lambda s: s.n, default=None)
        index = None if newest is None else self.index_of(newest)
        if index is not None and self.pending(self.slots[index]):
            return index
        return self.next_open(-1 if index is None else index)

    def taking_in(self, seen: Seen) -> Held:
        """What is held with a reading just written, in place of the one it amends."""
        key = seen.place, seen.item
        here = tuple(s for s in self.readings.get(key, ()) if s.n != seen.amends)
        return _held(self.slots, {**self.readings, key: (*here, seen)})

    def without(self, old: Seen) -> Held:
        """What is held once a reading is undone."""
        key = old.place, old.item
        here = tuple(s for s in self.readings.get(key, ()) if s.n != old.n)
        rest = {k: v for k, v in self.readings.items() if k != key}
        return _held(self.slots, {**rest, key: here} if here else rest)


def held(slots: tuple[Slot, ...], found: Iterable[Seen]) -> Held:
    """What a round holds, from its readings that stand, in order of entry."""
    readings: dict[tuple[str, str], tuple[Seen, ...]] = {}
    for seen in found:
        key = seen.place, seen.item
        readings[key] = (*readings.get(key, ()), seen)
    return _held(slots, readings)


def _held(slots: tuple[Slot, ...], readings: dict[tuple[str, str], tuple[Seen, ...]]) -> Held:
    still, flagged = [], []
    for index, slot in enumerate(slots):
        here = readings.get((slot.place, slot.item.code), ())
        if not here:
            still.append(index)
        newest = next((s for s in reversed(here) if s.value is not None), None)
        if newest is not None and newest.flag >= Flag.WATCH:
            flagged.append((slot, newest))
    flagged.sort(key=lambda pair: -pair[1].flag)
    return Held(slots, MappingProxyType(readings), tuple(still), tuple(flagged))
