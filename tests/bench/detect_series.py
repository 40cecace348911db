"""Seasons in memory for the bench of judging: what was read, by round, and what its maker knows.

No site and no record: the meters' numbers as a person types them, so that a detector is tried on
hundreds of seasons in a minute. Nothing here judges.
"""

from __future__ import annotations

from random import Random
from typing import NamedTuple

import chance_water
from chance_faults import READ, Dead, Fault, Look, Maker, Place, Planted, Waters
from chance_walk import Season

SECONDS = 12
"""Between two answers, as the walker takes."""


class Series(NamedTuple):
    """A whole season: looks by item in the order of the walk, counts in theirs."""

    seed: str
    fault: Fault
    room: Place
    planted: Planted | None
    looks: dict[str, tuple[Look, ...]]
    dead: tuple[Dead, ...]
    decimals: dict[str, int]
    """To how many decimals each item is read."""
    stocked: int

    @property
    def tank_days(self) -> float:
        stops = self.room.stops
        return len(self.room.tanks) * (stops[-1].day + 1.0)


def series(seed: str, fault: Fault, most: int = 24, make: Maker = chance_water.water) -> Series:
    """Have a maker draw a site, plant one thing in it or none, and read every round of it."""
    return read(seed, fault, make(Random(seed), fault, most))


def of_walk(seed: str, fault: Fault, told: Season) -> Series:
    """What was kept of a season that was walked, key by key; the last look of a round stands."""
    looks: dict[str, dict[tuple[str, int], Look]] = {item: {} for item in READ}
    for item, look in told.looks:
        looks[item][look.tank, look.round] = look
    dead = {(one.tank, one.round): one for one in told.dead}
    return Series(
        seed, fault, told.room, told.planted,
        {item: tuple(found.values()) for item, found in looks.items()}, tuple(dead.values()),
        dict(told.decimals), told.room.stocked,
    )  # fmt: skip


def read(seed: str, fault: Fault, water: Waters) -> Series:
    """Every round of a season in the order of the walk."""
    here = water.room
    looks: dict[str, list[Look]] = {item: [] for item in READ}
    dead: list[Dead] = []
    for index, stop in enumerate(here.stops):
        now = stop.at.utc
        for tank in here.tanks:
            if water.skips(tank, index):
                continue
            for item in _asked(here, stop.part):
                now += SECONDS
                if item == "morts":
                    mean = water.expected_dead(tank, index)
                    dead.append(
                        Dead(tank, here.loop_of[tank], water.treatment(tank), index, stop.part,
                             now, stop.day, water.age(index), water.dead(tank, index), mean,
                             water.clumps)
                    )  # fmt: skip
                    continue
                meter = water.in_hand(tank, item, index)
                value = _typed(water, tank, item, index, meter, now)
                looks[item].append(
                    Look(tank, here.loop_of[tank], meter, index, stop.part, now, value,
                         water.truth(tank, item, index, meter, now))
                )  # fmt: skip
    return Series(
        seed, fault, here, water.planted,
        {item: tuple(found) for item, found in looks.items()}, tuple(dead),
        dict(water.decimals), here.stocked,
    )  # fmt: skip


def _asked(here: Place, part: str) -> list[str]:
    """What is asked of a tank in such a round, of what something may be planted in."""
    morning = part == "am"
    return [
        "temp", "do", *["ph"] * (morning or here.afternoon_ph), "flow",
        *["morts"] * (morning or here.afternoon_morts),
    ]  # fmt: skip


def _typed(water: Waters, tank: str, item: str, index: int, meter: str | None, now: int) -> float:
    """What stands in the record at last: a slip is confirmed, a wild value read again."""

    def write() -> str:
        return water.written(item, index, water.shows(tank, item, index, meter, now))

    return float(water.typed(tank, item, index, write))
