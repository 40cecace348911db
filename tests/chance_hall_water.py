"""What is read and counted in a hall: water that swings, people who round, fish by treatment."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, hypot, pi, sqrt
from random import Random

from chance_faults import Decoy, Fault, Planted, Truth, plant
from chance_hall import ROUNDS_OFF, Hall, hall
from mortality_support import clumped

STAYS = 0.6
"""How much of what a loop's water does by itself is still there in the next round."""
WARMEST = 15.0
"""The hour at which the day's swing is at its height."""
COARSE = {"temp": 0.5, "ph": 0.05, "flow": 0.1}
"""The steps in which the one who rounds off writes."""
UNSEEN = 1.4
"""So many die for one that is found."""


class HallWater:
    """What is read and counted, look by look; drawn in the order in which it is asked."""

    def __init__(self, luck: Random, room: Hall, planted: Planted | None) -> None:
        self.luck = luck
        self.room = room
        self.planted = planted
        self.quiet: Sequence[Decoy] = ()
        self._water: dict[tuple[str, str, int], float] = {}
        for loop in room.loops:
            for item, sd in room.spreads.water.items():
                here = luck.gauss(0, sd)
                for index in range(len(room.stops)):
                    self._water[loop, item, index] = here
                    here = STAYS * here + luck.gauss(0, sd * sqrt(1 - STAYS**2))
        self._living = dict.fromkeys(room.tanks, float(room.stocked))
        self._counts: dict[tuple[str, int], int] = {}
        self._left: dict[str, int] = {}
        self._typed: dict[tuple[str, str], str] = {}

    # -- numbers

    def shows(self, tank: str, item: str, index: int, meter: str | None, utc: int) -> float:
        """What a meter shows in a tank in a round: state, meter and whatever is wrong with them."""
        room = self.room
        scale = room.flow if item == "flow" else 1.0
        if item == "level":
            value = 8.0 + self.luck.choice((-0.5, 0.0, 0.0, 0.5))
        else:
            value = self._usual(tank, item, index, meter, utc)
            value += self._water[room.loop_of[tank], item, index]
            value += self.luck.gauss(0, room.spreads.look[item]) * scale
        if self.planted is not None:
            value += self.planted.adds(tank, item, index, meter, utc) * scale
        return value

    def _usual(self, tank: str, item: str, index: int, meter: str | None, utc: int) -> float:
        """What is read there when nothing is wrong and nothing shakes."""
        room, day = self.room, self.room.stops[index].day
        if item == "flow":
            return room.flow * (1 + room.level[tank, item])
        hours = (utc + room.stops[index].at.offset * 60) / 3600 % 24
        swing = room.spreads.swing[item] * cos(2 * pi * (hours - WARMEST) / 24)
        always = room.level[tank, item] + room.bias.get((meter or "", item), 0.0)
        warmer = room.target(day) - room.temp
        usual = {
            "temp": room.target(day),
            "do": room.oxygen - 0.19 * warmer - 0.02 * day,
            "ph": room.ph - 0.004 * day,
        }
        return usual[item] + swing + always

    def truth(self, tank: str, item: str, index: int, meter: str | None, utc: int) -> Truth:
        """What is known of a look by whoever made it."""
        room = self.room
        scale = room.flow if item == "flow" else 1.0
        sd = hypot(room.spreads.look[item] * scale, self._step(item, index) / sqrt(12))
        usual = self._usual(tank, item, index, meter, utc)
        return Truth(usual, sd, room.spreads.water[item], STAYS)

    def holds(self, place: str, item: str, index: int, utc: int) -> float:
        """What a tank holds in a round: no noise, no meter's error."""
        scale = self.room.flow if item == "flow" else 1.0
        value = 8.0 if item == "level" else self._usual(place, item, index, None, utc)
        value += self._water.get((self.room.loop_of[place], item, index), 0.0)
        planted = self.planted
        adds = 0.0 if planted is None else planted.adds(place, item, index, None, utc)
        return value + adds * scale

    def of_loop(self, item: str, index: int) -> float:
        """Nothing is read for a whole loop here."""
        raise KeyError(item)

    # -- the dead

    def expected_dead(self, tank: str, index: int) -> float:
        """The mean of a count where nothing is wrong; right until the next count of the tank."""
        dying = self.room.dying
        mean = self._living[tank] * self._rate(tank, index) * dying.tanks[tank]
        return mean * dying.days[self.room.stops[index].day]

    def _rate(self, tank: str, index: int) -> float:
        morning = 0.65 if self.room.stops[index].part == "am" else 0.35
        share = morning if self.room.afternoon_morts else 1.0
        return self.room.dying.rate(self.age(index), self.treatment(tank)) * share

    def dead(self, tank: str, index: int) -> int:
        """How many are found: those that died since they were counted last."""
        if (tank, index) in self._counts:
            return self._counts[tank, index]
        mean, bad = self.expected_dead(tank, index), self.planted
        if bad is not None:
            mean *= bad.times(tank, index, self.room.stops[index].at.utc)
        fish = clumped(self.luck, mean, self.clumps) + self._left.pop(tank, 0)
        self._living[tank] *= 1 - UNSEEN * self._rate(tank, index)
        if bad is not None and index == bad.first and tank in bad.tanks:
            if bad.fault is Fault.NOT_SIPHONED:
                self._left[tank], fish = fish, 0
            elif bad.fault is Fault.TWICE:
                fish = self._counts[tank, index - 1]
        self._counts[tank, index] = fish
        return fish

    def size_of_count(self) -> str:
        return "" if self.planted is None else self.planted.sized(self._counts)

    @property
    def decimals(self) -> dict[str, int]:
        """To how many decimals each item is read here."""
        return self.room.decimals

    @property
    def clumps(self) -> float:
        """Variance over mean of a count of the dead."""
        return self.room.dying.clumps

    # -- who, and what is typed

    def who(self, index: int) -> str:
        """Who walks a round."""
        return self.room.people[index]

    def age(self, index: int) -> int:
        """dph in a round."""
        return self.room.born + self.room.stops[index].day

    def treatment(self, tank: str) -> str:
        return self.room.treatment_of[tank]

    def in_hand(self, tank: str, item: str, index: int) -> str | None:
        """The meter that is used there in a round."""
        if item == "ph":
            return "P1"
        return self.room.hands[tank, index] if item in ("temp", "do") else None

    def skips(self, tank: str, index: int) -> bool:
        """Whether a tank is left out of a round; not the one that something is planted in."""
        bad = self.planted
        if bad is not None and index == bad.first and tank in bad.tanks:
            return False
        return (tank, index) in self.room.skipped

    def written(self, item: str, index: int, value: float) -> str:
        """What the person of that round types: in steps, where they round off."""
        step = self._step(item, index)
        return f"{max(0.0, round(value / step) * step):.{self.room.decimals[item]}f}"

    def _step(self, item: str, index: int) -> float:
        fine = 0.5 if item == "level" else 10.0 ** -self.room.decimals[item]
        rounds_off = self.room.people[index] == ROUNDS_OFF
        return max(fine, COARSE.get(item, fine)) if rounds_off else fine

    def typed(self, tank: str, item: str, index: int, write: Callable[[], str]) -> str:
        """What a person types: what they read, or what was written here the last time."""
        copies = self.planted is not None and self.planted.copies(tank, item, index)
        if not copies or (tank, item) not in self._typed:
            self._typed[tank, item] = write()
        return self._typed[tank, item]


def water(luck: Random, fault: Fault, most: int = 24) -> HallWater:
    """A hall of at most so many tanks with one fault in it or none."""
    here = hall(luck, fault, most)
    return HallWater(luck, here, plant(luck, here, fault))
