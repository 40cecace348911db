"""What a round holds, as last read or written: frozen, each value with what it was read for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Generic, TypeVar

from tankwalk.clock import Instant
from tankwalk.ledger.meters import CheckSeen, MarkSeen
from tankwalk.ledger.readings import Seen
from tankwalk.practice.judging.standing.life import Look, looks_of
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meters.suspects import Marks
from tankwalk.practice.round.agenda import Slot
from tankwalk.rows import NamedTuple

What = TypeVar("What")
Value = TypeVar("Value")

Readings = Mapping[tuple[str, str], tuple[Seen, ...]]
"""Readings by place and item code, each oldest first."""


class Held(NamedTuple):
    """The readings of a round that stand, and what follows from them for the slots it asks."""

    slots: tuple[Slot, ...]
    readings: Readings
    open_slots: tuple[int, ...]
    """Indices of slots that hold nothing yet."""
    flags: tuple[tuple[Slot, Seen], ...]
    """Slots with a look out of band, each with its newest such reading, worst first.

    A later look in band leaves it there: what was confirmed stays."""

    def of(self, slot: Slot) -> tuple[Seen, ...]:
        """What the round holds for a slot, oldest first."""
        return self.readings.get((slot.place, slot.item.code), ())

    def looks(self, slot: Slot) -> list[Look[Seen]]:
        """The values the round holds for a slot as looks, oldest first."""
        return _looks(slot, self.of(slot))

    def pending(self, slot: Slot) -> bool:
        """Whether a second reading of this slot is still wanted.

        What was confirmed once in this round is believed: its later looks are not asked twice.
        """
        here = self.of(slot)
        if not slot.item.kind.read_twice or not here or here[-1].value is None:
            return False
        looks = self.looks(slot)
        newest = looks[-1]
        return (
            newest.first is None
            and newest.reading.flag >= Flag.WATCH
            and not any(look.confirmed for look in looks)
        )

    def event(self, slot: Slot) -> tuple[Seen, ...]:
        """What its newest entry stands for where that was confirmed out of band: the readings
        that are taken back together; () where a correction needs no name."""
        here = self.of(slot)
        looks = self.looks(slot)
        if not looks or here[-1].n != looks[-1].reading.n:
            return ()
        reading, first = looks[-1]
        before = any(look.confirmed for look in looks[:-1])
        if reading.flag < Flag.WATCH or not (first is not None or before):
            return ()
        return (reading,) if first is None else (first, reading)

    def since(self, slot: Slot, flagged: Seen) -> tuple[Seen, ...]:
        """Looks after a flagged one."""
        return tuple(x.reading for x in self.looks(slot) if x.reading.n > flagged.n)

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
        return self._with(key, (*here, seen))

    def without(self, old: Seen) -> Held:
        """What is held once a reading is undone."""
        key = old.place, old.item
        return self._with(key, tuple(s for s in self.readings.get(key, ()) if s.n != old.n))

    def _with(self, key: tuple[str, str], here: tuple[Seen, ...]) -> Held:
        """What is held with other readings of one place and item: an Enter changes one slot."""
        readings = {**self.readings, key: here}
        if not here:
            del readings[key]
        asked = [(i, s) for i, s in enumerate(self.slots) if (s.place, s.item.code) == key]
        mine = {index for index, _ in asked}
        still = {*self.open_slots} - mine if here else {*self.open_slots} | mine
        others = [one for one in self.flags if (one[0].place, one[0].item.code) != key]
        if _loud(here) or len(others) < len(self.flags):
            return _held(self.slots, readings)
        return Held(self.slots, MappingProxyType(readings), tuple(sorted(still)), self.flags)


def held(slots: tuple[Slot, ...], found: Iterable[Seen]) -> Held:
    """What a round holds, from its readings that stand, in order of entry."""
    readings: dict[tuple[str, str], tuple[Seen, ...]] = {}
    for seen in found:
        key = seen.place, seen.item
        readings[key] = (*readings.get(key, ()), seen)
    return _held(slots, readings)


def _held(slots: tuple[Slot, ...], readings: dict[tuple[str, str], tuple[Seen, ...]]) -> Held:
    still, flagged = [], []
    # Few slots of a round hold something out of band.
    loud = {key for key, here in readings.items() if _loud(here)}
    for index, slot in enumerate(slots):
        here = readings.get(key := (slot.place, slot.item.code), ())
        if not here:
            still.append(index)
        if key not in loud:
            continue
        out = [look.reading for look in _looks(slot, here) if look.reading.flag >= Flag.WATCH]
        if out:
            flagged.append((slot, out[-1]))
    flagged.sort(key=lambda pair: -pair[1].flag)
    return Held(slots, MappingProxyType(readings), tuple(still), tuple(flagged))


def _loud(here: Sequence[Seen]) -> bool:
    return any(one.flag >= Flag.WATCH for one in here)


def _looks(slot: Slot, here: Sequence[Seen]) -> list[Look[Seen]]:
    return looks_of(slot.item, [one for one in here if one.value is not None])


class Snapshot(Generic[What, Value]):
    """Frozen values, the newest few, and what each is of; asked for something else, it reads anew.

    `What` names everything the value depends on, so that a snapshot is never out of date: where the
    round took something in, or the record was looked at again, what is asked for is another one.
    """

    def __init__(self, read: Callable[[What], Value], room: int = 1) -> None:
        self._read = read
        self._room = room
        self._known: list[tuple[What, Value]] = []

    def of(self, what: What) -> Value:
        """The value for `what`: the one read last where it was read for the same."""
        for one in self._known:
            if one[0] == what:
                return one[1]
        value = self._read(what)
        self._known = [(what, value), *self._known[: self._room - 1]]
        return value


# ---- what is held of the record of before, and what it was read for


class Trust(NamedTuple):
    """What the record says of the meters: marks of suspect readings, and each one's last check."""

    marks: Marks
    checks: Mapping[str, CheckSeen]

    def off(self, meter: str | None) -> bool:
        """Whether a meter failed its last check, and so is out of use."""
        check = self.checks.get(meter or "")
        return check is not None and not check.passed

    def of(self, item: str) -> tuple[MarkSeen, ...]:
        """The marks of an item, of whichever meter."""
        return tuple(one for (_, code), here in self.marks.items() if code == item for one in here)

    def passed(self, meter: str | None) -> Instant | None:
        """When a meter passed its last check; None where it did not, or never was checked."""
        check = self.checks.get(meter or "")
        return check.at if check is not None and check.passed else None


class WorkedAt(NamedTuple):
    """What the values worked out at a stop depend on besides the record of before."""

    look: int
    stop: int
    held: Held
    minute: int


class PastOf(NamedTuple):
    """What the newest readings of a slot's item depend on."""

    look: int
    slot: Slot
    here: tuple[Seen, ...]
    limit: int


class UsualOf(NamedTuple):
    """What the usual dead of a slot depend on: this round's counts at the other tanks as well."""

    look: int
    slot: Slot
    day: date
    others: tuple[tuple[Seen, ...], ...]


class Elsewhere(NamedTuple):
    """A slot of the round that asks the same item, and the newest value from before it there."""

    slot: Slot
    before: Seen | None
