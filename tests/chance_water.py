"""What the meters show in a room by chance, and the one thing that goes wrong there, or none."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import StrEnum
from math import exp, hypot, sqrt
from random import Random
from typing import NamedTuple

from chance_site import PRESSURE_MMHG, Room, Stop
from mortality_support import clumped
from tankwalk.science.oxygen import saturation
from tankwalk.science.signals import median


class Fault(StrEnum):
    """What is planted in a season."""

    METER_DRIFT = "oxygen meter drifts"
    METER_STEP = "oxygen meter steps"
    LOOP_OXYGEN = "oxygen falls in a loop"
    LOOP_TEMP = "a loop warms or cools"
    BICARBONATE = "tenfold bicarbonate"
    TANK_OXYGEN = "one tank's oxygen falls"
    TANK_DRIFT = "one tank drifts slowly"
    COPIED = "values copied forward"
    SLIP = "unit slip"
    MORT_JUMP = "morts jump"
    MORT_RISE = "morts rise slowly"
    TWICE = "a count entered twice"
    NOT_SIPHONED = "not siphoned, entered as 0"
    QUIET = "nothing"


SIZES = ("small", "middle", "large")

DRIFTS = {"temp": (0.1, 0.4), "do": (0.1, 0.4), "ph": (0.02, 0.08), "flow": (0.01, 0.05)}
"""A slow drift of one tank, a day; flow as a part of itself."""

COUNTED_SIZES = (10, 20)
"""Where size is a count of the dead: fewer than these are small, and middle."""


class Planted(NamedTuple):
    """What went wrong: from which UTC second on, in which rounds, where and how far."""

    fault: Fault
    started: int
    first: int
    """Index of the first round that can show it; `last` of the last one that does."""
    last: int
    tanks: tuple[str, ...]
    item: str
    code: str
    """The meter or the loop."""
    amount: float
    size: str
    words: str
    where: str = ""
    """What else decides whether it can be told: the item, who was read before, which meters."""
    level: bool = False
    """The screen is blocked, so that the water rises as well."""

    @property
    def affected(self) -> set[tuple[str, str]]:
        """Places and items that may show it, with what is worked out from them."""
        items = {
            "do": ("do", "sat"),
            "temp": ("temp", "sat", "nh3n", "co2"),
            "ph": ("ph", "nh3n", "co2"),
            "flow": ("flow", "exch"),
            "morts": ("morts", "density"),
        }.get(self.item, ())
        more = ("level", "screen") if self.level else ()
        return {(tank, item) for tank in self.tanks for item in (*items, *more)}


class Truth(NamedTuple):
    """What only the maker of the water knows of one look: for the ideal detector of the bench."""

    mean: float
    """What is read here when nothing is wrong and nothing shakes."""
    sd: float
    """Spread of one look, the step to which it is read within."""
    shared: float
    """Spread of what the whole loop shares from round to round."""
    follows: float
    """How much of that stays until the next round, 0 to 1."""


class Decoy(NamedTuple):
    """Something that is to stay quiet: where and when it could be seen."""

    name: str
    pairs: frozenset[tuple[str, str]]
    first: int
    last: int


# ---- what goes wrong


def plant(luck: Random, room: Room, fault: Fault) -> Planted | None:
    """One thing of this kind, of random size, place and start in the second half."""
    if fault is Fault.QUIET:
        return None
    stops = room.stops
    share = luck.random()
    size = SIZES[min(2, int(3 * share))]
    needed = {Fault.METER_DRIFT: 6, Fault.TANK_DRIFT: 6, Fault.MORT_RISE: 6}.get(fault, 2)
    part = {
        Fault.TWICE: "pm", Fault.NOT_SIPHONED: "am", Fault.MORT_JUMP: "am", Fault.MORT_RISE: "am",
    }.get(fault)  # fmt: skip
    item = {
        Fault.LOOP_TEMP: "temp", Fault.BICARBONATE: "ph", Fault.MORT_JUMP: "morts",
        Fault.MORT_RISE: "morts", Fault.TWICE: "morts", Fault.NOT_SIPHONED: "morts",
        Fault.TANK_DRIFT: luck.choice(tuple(DRIFTS)),
        Fault.COPIED: luck.choice(("temp", "do", "ph", "flow")),
        Fault.SLIP: luck.choice(("temp", "do", "ph", "flow")),
    }.get(fault, "do")  # fmt: skip
    if item == "ph" and fault is not Fault.BICARBONATE:
        part = "am"
    firsts = [
        i for i, stop in enumerate(stops)
        if len(stops) // 2 <= i < len(stops) - needed and part in (None, stop.part)
    ]  # fmt: skip
    if fault is Fault.TWICE:
        firsts = [i for i in firsts if stops[i - 1].part == "am"]
    first = luck.choice(firsts)
    began = _between(luck, stops, first)
    last = len(stops) - 1
    tank, loop, meter = (luck.choice(c) for c in (room.tanks, room.loops, room.meters))
    sign = luck.choice((-1, 1))
    here = Planted(fault, began, first, last, (tank,), item, "", 0.0, size, "")
    match fault:
        case Fault.METER_DRIFT:
            rate = 0.1 + 0.4 * share
            here = here._replace(
                tanks=room.of_meter(meter), code=meter, amount=sign * rate,
                words=f"{meter} {sign * rate:+.2f} mg/L a day, {room.layout}",
            )  # fmt: skip
        case Fault.METER_STEP:
            amount = sign * (0.3 + 1.2 * share)
            here = here._replace(
                tanks=room.of_meter(meter), code=meter, amount=amount,
                words=f"{meter} {amount:+.2f} mg/L, {room.layout}",
            )  # fmt: skip
        case Fault.LOOP_OXYGEN | Fault.LOOP_TEMP:
            oxygen = fault is Fault.LOOP_OXYGEN
            amount = -(0.5 + 2.5 * share) if oxygen else sign * (0.7 + 1.3 * share)
            here = here._replace(
                tanks=room.of_loop(loop), code=loop, amount=amount,
                last=min(last, first + luck.randint(1, 3)),
                words=f"{loop} {amount:+.2f} {'mg/L' if oxygen else 'degC'}, {room.layout}",
            )  # fmt: skip
        case Fault.BICARBONATE:
            amount = 0.4 + 0.5 * share
            everywhere = luck.random() < 0.5
            here = here._replace(
                tanks=room.tanks if everywhere else room.of_loop(loop),
                code="" if everywhere else loop, amount=amount,
                words=f"{'all loops' if everywhere else loop} {amount:+.2f}",
            )  # fmt: skip
        case Fault.TANK_OXYGEN:
            rounds, blocked = luck.randint(2, 4), luck.random() < 0.5
            amount = -(0.6 + 2.4 * share)
            here = here._replace(
                amount=amount, last=min(last, first + rounds - 1), level=blocked,
                words=f"{tank} {amount:+.2f} mg/L over {rounds} rounds"
                f"{', water rises' if blocked else ''}",
            )  # fmt: skip
        case Fault.TANK_DRIFT:
            low, high = DRIFTS[item]
            rate = sign * (low + (high - low) * share)
            here = here._replace(amount=rate, words=f"{tank} {item} {rate:+.3f} a day")
        case Fault.COPIED:
            looks = 4 + int(5 * share)
            everybody = luck.random() < 0.5
            here = here._replace(
                tanks=room.tanks if everybody else (tank,), amount=looks,
                last=_looks_on(room, first, item, looks),
                words=f"{'all tanks' if everybody else tank} {item} {looks} rounds",
            )  # fmt: skip
        case Fault.SLIP:
            how = {"temp": ("degF", "point"), "flow": ("gal/min", "point")}.get(item, ("point",))
            kind = luck.choice(how)
            here = here._replace(last=first, code=kind, size="-", words=f"{tank} {item} {kind}")
        case Fault.MORT_JUMP:
            times = 2 + 6 * share
            here = here._replace(last=first + 1, amount=times, words=f"{tank} x{times:.1f}")
        case Fault.MORT_RISE:
            times = 1.5 + 2.5 * share
            here = here._replace(amount=times, words=f"{tank} to x{times:.1f} in 5 days")
        case _:
            here = here._replace(last=first, size="-", words=tank)
    if fault in (Fault.COPIED, Fault.SLIP, Fault.TWICE, Fault.NOT_SIPHONED):
        here = here._replace(started=stops[first].at.utc)
    return here._replace(where=_where(room, here))


FEWEST = 3
"""Tanks that a comparison needs, as the judgement has it."""


def _where(room: Room, bad: Planted) -> str:
    """What decides, besides size, whether this can be told."""
    if bad.fault in (Fault.METER_DRIFT, Fault.METER_STEP):
        loops = {room.loop_of[t] for t in bad.tanks}
        others = [t for t in room.tanks if t not in bad.tanks and room.loop_of[t] in loops]
        before = [t for t in others if t < bad.tanks[-1]]
        if min(len(bad.tanks), len(others)) < FEWEST:
            return "fewer than 3 tanks on either side"
        return "read before the others" if len(before) < FEWEST else "others read before"
    if bad.item in ("temp", "do", "ph", "flow") and len(bad.tanks) == 1:
        first = bad.tanks[0] in room.of_loop(room.loop_of[bad.tanks[0]])[:FEWEST]
        if bad.fault is Fault.TANK_OXYGEN:
            return "among the first 3 of its loop" if first else "after 3 sisters"
    return bad.item if bad.fault in (Fault.TANK_DRIFT, Fault.COPIED) else ""


def _between(luck: Random, stops: Sequence[Stop], first: int) -> int:
    """A moment between the end of the round before and the round that can show it."""
    before = stops[first - 1].at.utc + 5400
    return luck.randint(before, max(before, stops[first].at.utc))


def _looks_on(room: Room, first: int, item: str, looks: int) -> int:
    """The round of the so-manieth look at an item from a round on."""
    asked = [
        i for i, stop in enumerate(room.stops)
        if i >= first and (item != "ph" or stop.part == "am" or room.habits.afternoon_ph)
    ]  # fmt: skip
    return asked[min(looks, len(asked)) - 1]


def decoys(luck: Random, room: Room) -> list[Decoy]:
    """What is to stay quiet in a season where nothing goes wrong."""
    found = []
    stops = room.stops
    half = len(stops) // 2

    def some_round(part: str | None = None) -> int:
        return luck.choice([i for i in range(half, len(stops)) if part in (None, stops[i].part)])

    if luck.random() < 0.7:
        at = some_round()
        pair = (luck.choice(room.tanks), luck.choice(("temp", "do")))
        found.append(Decoy("one wild value", frozenset({pair}), at, at))
    if luck.random() < 0.7:
        at, tank = some_round(), luck.choice(room.tanks)
        pairs = frozenset((tank, item) for item in ("temp", "do", "ph", "flow", "level", "morts"))
        found.append(Decoy("one tank skipped", pairs, at, min(at + 2, len(stops) - 1)))
    if luck.random() < 0.7:
        at, meter = some_round("am"), luck.choice(room.meters)
        pairs = frozenset((tank, item) for tank in room.tanks for item in ("temp", "do", "sat"))
        same = [i for i in range(at, len(stops)) if stops[i].day == stops[at].day]
        found.append(Decoy(f"meter {meter} for all tanks", pairs, at, same[-1]))
    if luck.random() < 0.7:
        at = some_round("am")
        pairs = frozenset((tank, item) for tank in room.tanks for item in ("ph", "nh3n", "co2"))
        found.append(Decoy("bicarbonate by plan", pairs, at, min(at + 3, len(stops) - 1)))
    return found


# ---- what the meters show


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
        return value + self._wrong(tank, item, index, meter, utc)

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

    def truth(self, tank: str, item: str, index: int, meter: str | None) -> Truth:
        """What is known of a look by whoever made it."""
        scale = self.room.usual.flow if item == "flow" else 1.0
        bias = 0.0 if meter is None else self.room.bias.get((meter, item), 0.0)
        step = 10.0 ** -self.decimals(item)
        spread = sqrt(0.1) if item == "level" else self._spread[item] * scale
        return Truth(
            self._usual(tank, item, index) + bias,
            hypot(spread, step / sqrt(12)),
            self._shared.get(item, 0.0),
            STAYS,
        )

    def decimals(self, item: str) -> int:
        """To how many decimals an item is read here."""
        habits = self.room.habits
        several = {"do": habits.oxygen_decimals, "flow": habits.flow_decimals, "ph": 2}
        return several.get(item, 1)

    def _wrong(self, tank: str, item: str, index: int, meter: str | None, utc: int) -> float:
        """What is wrong with a value, in the item's unit."""
        bad = self.planted
        if bad is None or utc < bad.started or not bad.first <= index <= bad.last:
            return 0.0
        days = (utc - bad.started) / 86400
        if bad.level and item == "level" and tank in bad.tanks:
            return -3.5 * (index - bad.first + 1) / (bad.last - bad.first + 1)
        if item != bad.item:
            return 0.0
        match bad.fault:
            case Fault.METER_DRIFT if meter == bad.code:
                return bad.amount * days
            case Fault.METER_STEP if meter == bad.code:
                return bad.amount
        if tank not in bad.tanks:
            return 0.0
        match bad.fault:
            case Fault.LOOP_OXYGEN | Fault.LOOP_TEMP:
                return bad.amount
            case Fault.BICARBONATE:
                return bad.amount * exp(-days * 24 / 40)
            case Fault.TANK_OXYGEN:
                return bad.amount * (index - bad.first + 1) / (bad.last - bad.first + 1)
            case Fault.TANK_DRIFT:
                return bad.amount * days * (self.room.usual.flow if item == "flow" else 1.0)
        return 0.0

    def of_loop(self, item: str, index: int) -> float:
        """What is read once for a whole loop."""
        day = self.room.stops[index].day
        if item == "tan":
            return self.room.usual.tan + 0.015 * day + self.luck.gauss(0, 0.015)
        return 95.0 - 3 * (day % 4) + self.luck.gauss(0, 3)

    # -- the dead

    def dead(self, tank: str, index: int) -> int:
        """How many are found: those that died since they were counted last."""
        if (tank, index) in self._counts:
            return self._counts[tank, index]
        room, stop, bad = self.room, self.room.stops[index], self.planted
        hit = bad is not None and bad.item == "morts" and tank in bad.tanks
        share = (0.7 if stop.part == "am" else 0.3) if room.habits.afternoon_morts else 1.0
        mean = self.expected_dead(tank, index)
        if hit and bad is not None and bad.first <= index <= bad.last:
            if bad.fault is Fault.MORT_JUMP:
                mean *= bad.amount if index == bad.first else 1 + (bad.amount - 1) / 2
            elif bad.fault is Fault.MORT_RISE:
                days = max(0.0, (stop.at.utc - bad.started) / 86400)
                mean *= 1 + (bad.amount - 1) * min(1.0, days / 5)
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
        bad = self.planted
        if bad is None or bad.fault not in (Fault.TWICE, Fault.NOT_SIPHONED):
            return "" if bad is None else bad.size
        counts = [fish for (_, index), fish in self._counts.items() if index == bad.first]
        own = self._counts[bad.tanks[0], bad.first]
        told = own if bad.fault is Fault.TWICE else median(counts)
        return SIZES[(told >= COUNTED_SIZES[0]) + (told >= COUNTED_SIZES[1])]

    # -- what is typed

    def typed(self, tank: str, item: str, index: int, write: Callable[[], str]) -> str:
        """What a person types: what they read, or what was written here the last time."""
        bad = self.planted
        copies = (
            bad is not None and bad.fault is Fault.COPIED and item == bad.item
            and tank in bad.tanks and bad.first <= index <= bad.last
        )  # fmt: skip
        if not copies or (tank, item) not in self._typed:
            self._typed[tank, item] = write()
        return self._typed[tank, item]


def seen_rate(age: int) -> float:
    """Part of the living found dead in a day at an age in dph, with the die-off at 7 to 12."""
    for until, rate in ((6, 0.006), (12, 0.016), (16, 0.009), (22, 0.006)):
        if age <= until:
            return rate
    return 0.004
