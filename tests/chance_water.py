"""What the meters show and how many are found dead in a room by chance."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import exp, hypot, sqrt
from random import Random

from chance_faults import Decoy, Fault, Planted, Truth, decoys, plant
from chance_site import PRESSURE_MMHG, Room, room
from mortality_support import clumped
from tankwalk.science.oxygen import saturation

STAYS = 0.5
"""How much of what a loop's water has beside its usual is still there a round later."""


class Water:
    """What is read and counted, look by look; drawn in the order in which it is asked."""

    def __init__(
        self, luck: Random, room: Room, planted: Planted | None, quiet: Sequence[Decoy]
    ) -> None:
        self.luck = luck
        self.room = room
        self.planted = planted
        self.quiet = quiet
        noise = room.noise
        self._wander = {
            (loop, item): self._walks(sd)
            for loop in room.loops
            for item, sd in (
                ("temp", noise.loop_temp), ("do", noise.loop_do), ("ph", noise.loop_ph),
            )
        }  # fmt: skip
        self._spread = {"temp": noise.temp, "do": noise.do, "ph": noise.ph, "flow": noise.flow}
        self._states: dict[tuple[str, str, int], float] = {}
        self._living = {t: float(room.usual.stocked) for t in room.tanks}
        self._left: dict[str, float] = {}
        self._counts: dict[tuple[str, int], int] = {}
        self._typed: dict[tuple[str, str], str] = {}
        self._shared = {"temp": noise.loop_temp, "do": noise.loop_do, "ph": noise.loop_ph}

    def _walks(self, sd: float) -> list[float]:
        """What all tanks of a loop share: it wanders, each round half of what it was."""
        found, now = [], self.luck.gauss(0, sd)
        for _ in self.room.stops:
            now = STAYS * now + self.luck.gauss(0, sd * (1 - STAYS**2) ** 0.5)
            found.append(now)
        return found

    # -- numbers

    def shows(self, tank: str, item: str, index: int, meter: str | None, utc: int) -> float:
        """What a meter shows in a tank in a round: state, meter and whatever is wrong with them."""
        key = tank, item, index
        if key not in self._states:
            self._states[key] = self._state(tank, item, index)
        scale = self.room.usual.flow if item == "flow" else 1.0
        look = self.luck.gauss(0, 0.6 * self._spread.get(item, 0.0)) * scale
        value = self._states[key] + look
        if meter is not None:
            value += self.room.bias.get((meter, item), 0.0)
        if self.planted is not None:
            value += self.planted.adds(tank, item, index, meter, utc) * scale
        return value

    def _state(self, tank: str, item: str, index: int) -> float:
        """What the tank holds in this round when nothing is wrong."""
        own = self.luck.gauss(0, 0.8 * self._spread.get(item, 0.0))
        usual = self._usual(tank, item, index)
        if item == "level":
            return usual + self.luck.choice((-0.5, 0.0, 0.0, 0.0, 0.5))
        if item == "flow":
            return usual + self.room.usual.flow * own
        return usual + self._wander[self.room.loop_of[tank], item][index] + own

    def _usual(self, tank: str, item: str, index: int) -> float:
        """The same without what shakes: the tank, the plan, the day and the part of the day."""
        room, usual = self.room, self.room.usual
        stop = room.stops[index]
        if item == "level":
            return 8.0
        if item == "flow":
            return usual.flow * (1 + room.offset[tank, "flow"])
        always = room.offset[tank, item]
        if item == "temp":
            return room.target(stop.day) + 0.3 * 0.3 * (stop.part == "pm") + always
        if item == "ph":
            dosed = next((d for d in self.quiet if d.name == "bicarbonate by plan"), None)
            risen = 0.0
            if dosed is not None and index > dosed.first:
                hours = (stop.at.utc - room.stops[dosed.first].at.utc) / 3600 - 2
                risen = 0.11 * exp(-max(0.0, hours) / 40)
            return usual.ph - usual.ph_fall * stop.day + risen + always
        full = saturation(room.target(stop.day), 0.0, PRESSURE_MMHG)
        part = usual.sat - usual.sat_fall * stop.day
        return full * part - room.noise.swing * (stop.part == "pm") + always

    def truth(self, tank: str, item: str, index: int, meter: str | None, utc: int) -> Truth:
        """What is known of a look by whoever made it."""
        scale = self.room.usual.flow if item == "flow" else 1.0
        bias = 0.0 if meter is None else self.room.bias.get((meter, item), 0.0)
        step = 10.0 ** -self.decimals[item]
        spread = sqrt(0.1) if item == "level" else self._spread[item] * scale
        return Truth(
            self._usual(tank, item, index) + bias,
            hypot(spread, step / sqrt(12)),
            self._shared.get(item, 0.0),
            STAYS,
        )

    @property
    def decimals(self) -> dict[str, int]:
        """To how many decimals each item is read here."""
        habits = self.room.habits
        return {
            "temp": 1, "do": habits.oxygen_decimals, "ph": 2, "flow": habits.flow_decimals,
            "level": 1,
        }  # fmt: skip

    def holds(self, place: str, item: str, index: int, utc: int) -> float:
        """What a tank, or its loop, holds in a round it was read in: no noise, no meter's error."""
        if place in self.room.loops:
            return self._in_loop(item, index)
        scale = self.room.usual.flow if item == "flow" else 1.0
        planted = self.planted
        adds = 0.0 if planted is None else planted.adds(place, item, index, None, utc)
        here = self._states.get((place, item, index))
        if here is None:  # copied forward: nobody looked
            wander = self._wander.get((self.room.loop_of[place], item))
            here = self._usual(place, item, index) + (0.0 if wander is None else wander[index])
        return here + adds * scale

    def of_loop(self, item: str, index: int) -> float:
        """What is read once for a whole loop."""
        return self._in_loop(item, index) + self.luck.gauss(0, 0.015 if item == "tan" else 3)

    def _in_loop(self, item: str, index: int) -> float:
        day = self.room.stops[index].day
        return self.room.usual.tan + 0.015 * day if item == "tan" else 95.0 - 3 * (day % 4)

    # -- the dead

    def dead(self, tank: str, index: int) -> int:
        """How many are found: those that died since they were counted last."""
        if (tank, index) in self._counts:
            return self._counts[tank, index]
        room, stop, bad = self.room, self.room.stops[index], self.planted
        hit = bad is not None and bad.item == "morts" and tank in bad.tanks
        share = (0.7 if stop.part == "am" else 0.3) if room.habits.afternoon_morts else 1.0
        mean = self.expected_dead(tank, index)
        if bad is not None:
            mean *= bad.times(tank, index, stop.at.utc)
        fish = clumped(self.luck, mean, room.noise.clumps) + round(self._left.pop(tank, 0))
        self._living[tank] *= 1 - 1.6 * seen_rate(room.age + stop.day) * share
        if hit and bad is not None and bad.fault is Fault.NOT_SIPHONED and index == bad.first:
            self._left[tank] = fish
            fish = 0
        if hit and bad is not None and bad.fault is Fault.TWICE and index == bad.first:
            fish = self._counts[tank, index - 1]
        self._counts[tank, index] = fish
        return fish

    def expected_dead(self, tank: str, index: int) -> float:
        """The mean of a count where nothing is wrong; right until the next count of the tank."""
        room, stop = self.room, self.room.stops[index]
        share = (0.7 if stop.part == "am" else 0.3) if room.habits.afternoon_morts else 1.0
        mean = self._living[tank] * seen_rate(room.age + stop.day) * share
        return mean * room.offset[tank, "morts"]

    def size_of_count(self) -> str:
        """How large the count was that was entered wrong, or those of the sisters of a 0."""
        return "" if self.planted is None else self.planted.sized(self._counts)

    # -- who, and what is typed

    def in_hand(self, tank: str, item: str, index: int) -> str | None:
        """The meter that is used there in a round."""
        if item == "ph":
            return self.room.ph_meter_of[tank]
        if item not in ("temp", "do"):
            return None
        for decoy in self.quiet:
            if decoy.name.startswith("meter") and decoy.first <= index <= decoy.last:
                return decoy.name.split()[1]
        return self.room.meter_of[tank]

    def written(self, item: str, index: int, value: float) -> str:
        """To as many decimals as the site reads."""
        return f"{max(0.0, value):.{self.decimals[item]}f}"

    def skips(self, tank: str, index: int) -> bool:
        """Whether a tank is left out of a round."""
        return any(
            d.name == "one tank skipped" and index == d.first and (tank, "level") in d.pairs
            for d in self.quiet
        )

    def who(self, index: int) -> str:
        """Who walks a round: always the same person here."""
        return "AB"

    def age(self, index: int) -> int:
        """dph in a round."""
        return self.room.age + self.room.stops[index].day

    def treatment(self, tank: str) -> str:
        """None here: all tanks are raised alike."""
        return ""

    @property
    def clumps(self) -> float:
        """Variance over mean of a count of the dead."""
        return self.room.noise.clumps

    def typed(self, tank: str, item: str, index: int, write: Callable[[], str]) -> str:
        """What a person types: what they read, or what was written here the last time."""
        copies = self.planted is not None and self.planted.copies(tank, item, index)
        if not copies or (tank, item) not in self._typed:
            self._typed[tank, item] = write()
        return self._typed[tank, item]


def seen_rate(age: int) -> float:
    """Part of the living found dead in a day at an age in dph, with the die-off at 7 to 12."""
    for until, rate in ((6, 0.006), (12, 0.016), (16, 0.009), (22, 0.006)):
        if age <= until:
            return rate
    return 0.004


def water(luck: Random, fault: Fault, most: int = 24) -> Water:
    """A room of at most so many tanks with one fault in it, or with decoys."""
    here = room(luck, most, afternoon_morts=True if fault is Fault.TWICE else None)
    planted = plant(luck, here, fault)
    return Water(luck, here, planted, decoys(luck, here) if planted is None else [])
