"""Seasons in memory for the bench of judging: what was read, by round, and what its maker knows.

No site and no record: the meters' numbers as a person types them, so that a detector is tried on
hundreds of seasons in a minute. Nothing here judges.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import NamedTuple

from chance_site import Room, room
from chance_water import Decoy, Fault, Planted, Truth, Water, decoys, plant

READ = ("temp", "do", "ph", "flow")
"""The items of a tank that are read off a meter and that something is planted in."""
SECONDS = 12
"""Between two answers, as the walker takes."""


class Look(NamedTuple):
    """One look: where, with what, in which round of the season, when and what was typed."""

    tank: str
    loop: str
    meter: str | None
    round: int
    part: str
    at: int
    """UTC second."""
    value: float
    truth: Truth


class Dead(NamedTuple):
    """One count of the dead, and the mean and the variance over mean that made it."""

    tank: str
    loop: str
    round: int
    part: str
    at: int
    day: int
    age: int
    """dph"""
    fish: int
    mean: float
    dispersion: float


class Series(NamedTuple):
    """A whole season: looks by item in the order of the walk, counts in theirs."""

    seed: str
    fault: Fault
    room: Room
    planted: Planted | None
    quiet: tuple[Decoy, ...]
    looks: dict[str, tuple[Look, ...]]
    dead: tuple[Dead, ...]
    stocked: int

    @property
    def tank_days(self) -> float:
        stops = self.room.stops
        return len(self.room.tanks) * (stops[-1].day + 1.0)


def series(seed: str, fault: Fault, most: int = 24) -> Series:
    """Draw a room, plant one thing or none, and read every round of it."""
    luck = Random(seed)
    here = room(luck, most, afternoon_morts=True if fault is Fault.TWICE else None)
    planted = plant(luck, here, fault)
    quiet = decoys(luck, here) if planted is None else []
    return read(seed, fault, Water(luck, here, planted, quiet))


def read(seed: str, fault: Fault, water: Water) -> Series:
    """Every round of a season in the order of the walk."""
    here = water.room
    looks: dict[str, list[Look]] = {item: [] for item in READ}
    dead: list[Dead] = []
    for index, stop in enumerate(here.stops):
        now = stop.at.utc
        for tank in here.tanks:
            if _skipped(water.quiet, tank, index):
                continue
            for item in _asked(here, stop.part):
                now += SECONDS
                if item == "morts":
                    mean = water.expected_dead(tank, index)
                    fish = water.dead(tank, index)
                    dead.append(
                        Dead(tank, here.loop_of[tank], index, stop.part, now, stop.day,
                             here.age + stop.day, fish, mean, here.noise.clumps)
                    )  # fmt: skip
                    continue
                meter = _in_hand(water, tank, item, index)
                value = _typed(water, tank, item, index, meter, now)
                looks[item].append(
                    Look(tank, here.loop_of[tank], meter, index, stop.part, now, value,
                         water.truth(tank, item, index, meter))
                )  # fmt: skip
    return Series(
        seed, fault, here, water.planted, tuple(water.quiet),
        {item: tuple(found) for item, found in looks.items()}, tuple(dead), here.usual.stocked,
    )  # fmt: skip


def _asked(here: Room, part: str) -> list[str]:
    """What is asked of a tank in such a round, of what something may be planted in."""
    morning = part == "am"
    return [
        "temp", "do", *["ph"] * (morning or here.habits.afternoon_ph), "flow",
        *["morts"] * (morning or here.habits.afternoon_morts),
    ]  # fmt: skip


def _in_hand(water: Water, tank: str, item: str, index: int) -> str | None:
    """The meter an item of a tank is read with in a round."""
    if item == "flow":
        return None
    if item == "ph":
        return water.room.ph_meter_of[tank]
    for decoy in water.quiet:
        if decoy.name.startswith("meter") and decoy.first <= index <= decoy.last:
            return decoy.name.split()[1]
    return water.room.meter_of[tank]


def _skipped(quiet: Sequence[Decoy], tank: str, index: int) -> bool:
    return any(
        d.name == "one tank skipped" and index == d.first and (tank, "level") in d.pairs
        for d in quiet
    )


def _typed(water: Water, tank: str, item: str, index: int, meter: str | None, now: int) -> float:
    """What stands in the record at last: a slip is confirmed, a wild value read again."""

    def write() -> str:
        value = water.shows(tank, item, index, meter, now)
        return f"{max(0.0, value):.{water.decimals(item)}f}"

    return float(water.typed(tank, item, index, write))
