"""The one thing that goes wrong in a season by chance, and what every maker of such seasons tells.

What is planted is the same wherever it is planted; the water around it is the makers' own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from enum import StrEnum
from math import exp
from random import Random
from typing import NamedTuple, Protocol

from chance_site import Stop
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

    def adds(self, tank: str, item: str, index: int, meter: str | None, utc: int) -> float:
        """What is wrong with a value, in the item's unit; of a flow, as a part of what it is."""
        if utc < self.started or not self.first <= index <= self.last:
            return 0.0
        days = (utc - self.started) / 86400
        along = (index - self.first + 1) / (self.last - self.first + 1)
        if self.level and item == "level" and tank in self.tanks:
            return -3.5 * along
        if item != self.item:
            return 0.0
        match self.fault:
            case Fault.METER_DRIFT if meter == self.code:
                return self.amount * days
            case Fault.METER_STEP if meter == self.code:
                return self.amount
        if tank not in self.tanks:
            return 0.0
        match self.fault:
            case Fault.LOOP_OXYGEN | Fault.LOOP_TEMP:
                return self.amount
            case Fault.BICARBONATE:
                return self.amount * exp(-days * 24 / 40)
            case Fault.TANK_OXYGEN:
                return self.amount * along
            case Fault.TANK_DRIFT:
                return self.amount * days
        return 0.0

    def times(self, tank: str, index: int, utc: int) -> float:
        """How many times as many die in a tank before a round."""
        hit = self.item == "morts" and tank in self.tanks and self.first <= index <= self.last
        if not hit:
            return 1.0
        match self.fault:
            case Fault.MORT_JUMP:
                return self.amount if index == self.first else 1 + (self.amount - 1) / 2
            case Fault.MORT_RISE:
                days = max(0.0, (utc - self.started) / 86400)
                return 1 + (self.amount - 1) * min(1.0, days / 5)
        return 1.0

    def copies(self, tank: str, item: str, index: int) -> bool:
        """Whether what was written here the last time is written again."""
        return (
            self.fault is Fault.COPIED and item == self.item and tank in self.tanks
            and self.first <= index <= self.last
        )  # fmt: skip

    def sized(self, counts: Mapping[tuple[str, int], int]) -> str:
        """How large the count was that was entered wrong, or those of the sisters of a 0."""
        if self.fault not in (Fault.TWICE, Fault.NOT_SIPHONED):
            return self.size
        every = [fish for (_, index), fish in counts.items() if index == self.first]
        own = counts[self.tanks[0], self.first]
        told = own if self.fault is Fault.TWICE else median(every)
        return SIZES[(told >= COUNTED_SIZES[0]) + (told >= COUNTED_SIZES[1])]


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
    treatment: str
    round: int
    part: str
    at: int
    day: int
    age: int
    """dph"""
    fish: int
    mean: float
    dispersion: float


READ = ("temp", "do", "ph", "flow")
"""The items of a tank that are read off a meter and that something is planted in."""


class Place(Protocol):
    """A site by chance, as what goes wrong in it and the walker need to know it."""

    @property
    def tanks(self) -> tuple[str, ...]: ...
    @property
    def loop_of(self) -> Mapping[str, str]: ...
    @property
    def loops(self) -> tuple[str, ...]: ...
    @property
    def meters(self) -> tuple[str, ...]: ...
    @property
    def ph_meters(self) -> tuple[str, ...]: ...
    @property
    def bias(self) -> Mapping[tuple[str, str], float]: ...
    @property
    def layout(self) -> str: ...
    @property
    def stops(self) -> tuple[Stop, ...]: ...
    @property
    def check_days(self) -> int: ...
    @property
    def afternoon_ph(self) -> bool: ...
    @property
    def afternoon_morts(self) -> bool: ...
    @property
    def stocked(self) -> int: ...

    def of_loop(self, loop: str) -> tuple[str, ...]: ...
    def read_with(self, meter: str, first: int) -> tuple[str, ...]:
        """The tanks that an oxygen meter reads from a round on."""
        ...

    def target(self, day: int) -> float:
        """The planned temperature of a numbered day."""
        ...

    def plan(self) -> str: ...


class Waters(Protocol):
    """What is read in such a site, and what its maker knows of it."""

    luck: Random
    quiet: Sequence[Decoy]

    @property
    def room(self) -> Place: ...
    @property
    def planted(self) -> Planted | None: ...
    @property
    def decimals(self) -> Mapping[str, int]:
        """To how many decimals each item is read."""
        ...

    @property
    def clumps(self) -> float:
        """Variance over mean of a count of the dead."""
        ...

    def shows(self, tank: str, item: str, index: int, meter: str | None, utc: int) -> float:
        """What a meter shows in a tank in a round: state, meter and whatever is wrong with them."""
        ...

    def holds(self, place: str, item: str, index: int, utc: int) -> float:
        """What a tank, or its loop, holds in a round it was read in: no noise, no meter's error."""
        ...

    def in_hand(self, tank: str, item: str, index: int) -> str | None:
        """The meter that is used there in a round."""
        ...

    def written(self, item: str, index: int, value: float) -> str:
        """What the person of that round types of what a meter shows."""
        ...

    def typed(self, tank: str, item: str, index: int, write: Callable[[], str]) -> str:
        """What a person types: what they read, or what was written here the last time."""
        ...

    def skips(self, tank: str, index: int) -> bool:
        """Whether a tank is left out of a round."""
        ...

    def of_loop(self, item: str, index: int) -> float:
        """What is read once for a whole loop."""
        ...

    def dead(self, tank: str, index: int) -> int:
        """How many are found: those that died since they were counted last."""
        ...

    def expected_dead(self, tank: str, index: int) -> float:
        """The mean of a count where nothing is wrong; right until the next count of the tank."""
        ...

    def who(self, index: int) -> str:
        """Who walks a round."""
        ...

    def age(self, index: int) -> int:
        """dph in a round."""
        ...

    def treatment(self, tank: str) -> str: ...
    def truth(self, tank: str, item: str, index: int, meter: str | None, utc: int) -> Truth:
        """What is known of a look by whoever made it."""
        ...

    def size_of_count(self) -> str: ...


Maker = Callable[[Random, Fault, int], Waters]
"""Draws a site of at most so many tanks, and plants one fault in it or none."""


# ---- what goes wrong


def plant(luck: Random, room: Place, fault: Fault) -> Planted | None:
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
        # Afternoons that nobody walked may leave none in the second half: then one of before.
        after = [i for i in range(1, len(stops) - needed) if stops[i - 1].part == "am"]
        firsts = [i for i in after if i in firsts] or after
    # A short season, of which nobody walked some rounds, may have none left that is late enough.
    firsts = firsts or [i for i in range(len(stops) // 4, len(stops) - needed)]
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
                tanks=room.read_with(meter, first), code=meter, amount=sign * rate,
                words=f"{meter} {sign * rate:+.2f} mg/L a day, {room.layout}",
            )  # fmt: skip
        case Fault.METER_STEP:
            amount = sign * (0.3 + 1.2 * share)
            here = here._replace(
                tanks=room.read_with(meter, first), code=meter, amount=amount,
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


def _where(room: Place, bad: Planted) -> str:
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


def _looks_on(room: Place, first: int, item: str, looks: int) -> int:
    """The round of the so-manieth look at an item from a round on."""
    asked = [
        i for i, stop in enumerate(room.stops)
        if i >= first and (item != "ph" or stop.part == "am" or room.afternoon_ph)
    ]  # fmt: skip
    return asked[min(looks, len(asked)) - 1]


def decoys(luck: Random, room: Place) -> list[Decoy]:
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
