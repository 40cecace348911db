"""A hall by chance, the second maker of seasons: another hand, other habits, the same faults.

Written from how the work is done, not from the first maker: water that swings with the hours of the
day, a row with a warm and a cool end, three people of whom one rounds, meters taken as they come,
rounds left out, a trial in blocks whose treatments lose fish differently. Ranges are common
practice without a source, chosen before a season of it was judged.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random
from typing import NamedTuple

from chance_faults import Fault
from chance_site import Stop, moment
from plan_texts import by_chance

SPECIES = ("yellow perch", "walleye", "pikeperch", "sauger")
WEANED = {"WA": 10, "WB": 14, "WC": 18}
"""Treatments, and the age (dph) from which they get dry feed."""
PEOPLE = ("AB", "CD", "EF")
ROUNDS_OFF = "CD"
"""Reads temperature to half a degree, pH to 0.05 and flow to a tenth."""
ALL_WITH_ONE, SWAPPED, ONE_TANK = 0.12, 0.12, 0.03
"""How often a round is read with one meter, with two meters swapped, a tank with another one."""
LEFT_OUT, SKIPPED = 0.12, 0.01
"""How often an afternoon round is not walked, and a tank not read."""


class Spreads(NamedTuple):
    """Standard deviations: of a look, of what a loop's water does by itself, of the day's swing."""

    look: dict[str, float]
    water: dict[str, float]
    swing: dict[str, float]
    """From the mean of the day to its highest, by item; warmest and lowest in oxygen at 15:00."""


class Dying(NamedTuple):
    """How many are found dead a day, as a part of the living."""

    base: float
    peak: float
    """At ten days, where those that never fed die."""
    weaning: float
    """Times as many in the five days from the first dry feed on."""
    eaten: float
    """Cannibalism, at its height at 29 days, from 19 to 39."""
    treatments: dict[str, float]
    tanks: dict[str, float]
    days: tuple[float, ...]
    """What all tanks share on a day."""
    clumps: float

    def rate(self, age: int, treatment: str) -> float:
        """Part of the living found dead in a day at an age in dph."""
        found = self.base + self.peak * max(0.0, 1 - abs(age - 10) / 3)
        found += self.eaten * max(0.0, 1 - abs(age - 29) / 10)
        if WEANED[treatment] <= age < WEANED[treatment] + 5:
            found *= self.weaning
        return found * self.treatments[treatment]


class Hall(NamedTuple):
    """A hall, as it is planned and as it is."""

    tanks: tuple[str, ...]
    loop_of: dict[str, str]
    treatment_of: dict[str, str]
    habit: dict[str, str]
    """The oxygen meter of a tank by its plan."""
    hands: dict[tuple[str, int], str]
    """The oxygen meter it was read with in a round."""
    ph_meters: tuple[str, ...]
    level: dict[tuple[str, str], float]
    """How far a tank always stands off, by tank and item; of flow, as a part of it."""
    bias: dict[tuple[str, str], float]
    stops: tuple[Stop, ...]
    people: tuple[str, ...]
    """Who walks each round."""
    skipped: frozenset[tuple[str, int]]
    check_days: int
    afternoon_ph: bool
    afternoon_morts: bool
    stocked: int
    born: int
    """dph on the first day."""
    temp: float
    ramp: float
    ramp_days: tuple[int, int]
    oxygen: float
    ph: float
    flow: float
    spreads: Spreads
    dying: Dying
    species: str
    decimals: dict[str, int]

    @property
    def loops(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self.loop_of.values()))

    @property
    def meters(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self.habit.values()))

    @property
    def layout(self) -> str:
        return "as they come"

    def of_loop(self, loop: str) -> tuple[str, ...]:
        return tuple(tank for tank in self.tanks if self.loop_of[tank] == loop)

    def of_meter(self, meter: str) -> tuple[str, ...]:
        return tuple(tank for tank in self.tanks if self.habit[tank] == meter)

    def read_with(self, meter: str, first: int) -> tuple[str, ...]:
        """The tanks that an oxygen meter reads in any round from one on."""
        read = {tank for (tank, n), code in self.hands.items() if n >= first and code == meter}
        return tuple(tank for tank in self.tanks if tank in read) or self.of_meter(meter)

    def target(self, day: int) -> float:
        """The planned temperature of a numbered day."""
        first, last = self.ramp_days
        return self.temp + self.ramp * min(1.0, max(0.0, (day - first) / (last - first)))

    def plan(self) -> str:
        return _plan(self)


def hall(luck: Random, fault: Fault, most: int) -> Hall:
    """Draw a hall of at most so many tanks, 9 or more where that allows, and a season's habits."""
    count = luck.randint(min(9, most), most)
    tanks = tuple(f"T{n:02d}" for n in range(1, count + 1))
    loops = luck.randint(1, min(3, count // 3))
    dealt = luck.random() < 0.5
    loop_of = {
        tank: f"L{1 + (n % loops if dealt else n * loops // count)}" for n, tank in enumerate(tanks)
    }
    codes = list(WEANED)[: luck.randint(2, 3)]
    treatment_of: dict[str, str] = {}
    while len(treatment_of) < count:  # blocks: each treatment once, in an order by chance
        for code in luck.sample(codes, len(codes)):
            if len(treatment_of) < count:
                treatment_of[tanks[len(treatment_of)]] = code
    twice = True if fault is Fault.TWICE else luck.random() < 0.5
    stops = _stops(luck, luck.randint(9, 14))
    meters = "ABC"[: luck.randint(2, 3)]
    by_turn = luck.random() < 0.5
    habit = {
        tank: meters[n % len(meters) if by_turn else n * len(meters) // count]
        for n, tank in enumerate(tanks)
    }
    look = {
        "temp": luck.uniform(0.05, 0.2), "do": luck.uniform(0.05, 0.15),
        "ph": luck.uniform(0.01, 0.03), "flow": luck.uniform(0.015, 0.04),
    }  # fmt: skip
    water = {
        "temp": luck.uniform(0.05, 0.2), "do": luck.uniform(0.05, 0.15),
        "ph": luck.uniform(0.005, 0.025), "flow": 0.0,
    }  # fmt: skip
    swing = {
        "temp": luck.uniform(0.1, 0.4), "do": -luck.uniform(0.1, 0.4),
        "ph": luck.uniform(-0.06, 0.03), "flow": 0.0,
    }  # fmt: skip
    level = {}
    slope = luck.gauss(0, 0.15)  # one end of the row stands by the door
    for n, tank in enumerate(tanks):
        along = n / (count - 1) - 0.5
        level[tank, "temp"] = slope * along + luck.gauss(0, 0.08)
        level[tank, "do"] = -0.2 * slope * along + luck.gauss(0, 0.12)
        level[tank, "ph"] = luck.gauss(0, 0.02)
        level[tank, "flow"] = luck.gauss(0, 0.03)
    bias = {(meter, item): luck.gauss(0, sd) for meter in meters
            for item, sd in (("do", 0.06), ("temp", 0.08))}  # fmt: skip
    bias["P1", "ph"] = luck.gauss(0, 0.02)
    begins = luck.randint(1, 4)
    temp = round(luck.uniform(15.0, 18.5), 1)
    return Hall(
        tanks, loop_of, treatment_of, habit, _hands(luck, tanks, habit, len(stops)), ("P1",),
        level, bias, stops, tuple(luck.choice(PEOPLE) for _ in stops),
        frozenset((tank, n) for tank in tanks for n in range(len(stops))
                  if luck.random() < SKIPPED and fault is not Fault.TWICE),
        luck.choice((1, 1, 2)), luck.random() < 0.3, twice, luck.randint(20, 60) * 100,
        luck.randint(4, 28), temp, luck.choice((0.0, round(luck.uniform(0.8, 2.0), 1))),
        (begins, begins + luck.randint(4, 8)), 9.9 - 0.19 * (temp - 15) - luck.uniform(0.3, 0.9),
        luck.uniform(7.2, 7.8), luck.uniform(2.0, 8.0), Spreads(look, water, swing),
        _dying(luck, tanks, codes, stops[-1].day + 1), luck.choice(SPECIES),
        {"temp": 1, "do": luck.choice((1, 1, 2)), "ph": 2, "flow": luck.choice((1, 2)), "level": 1},
    )  # fmt: skip


def _hands(
    luck: Random, tanks: tuple[str, ...], habit: dict[str, str], rounds: int
) -> dict[tuple[str, int], str]:
    """Which meter reads a tank in a round: its own, mostly."""
    meters = sorted(set(habit.values()))
    found = {}
    for n in range(rounds):
        chance, (one, other) = luck.random(), luck.sample(meters, 2)
        swapped = {one: other, other: one}
        for tank in tanks:
            meter = habit[tank]
            if chance < ALL_WITH_ONE:
                meter = one
            elif chance < ALL_WITH_ONE + SWAPPED:
                meter = swapped.get(meter, meter)
            elif luck.random() < ONE_TANK:
                meter = luck.choice(meters)
            found[tank, n] = meter
    return found


def _dying(luck: Random, tanks: tuple[str, ...], codes: list[str], days: int) -> Dying:
    return Dying(
        luck.uniform(0.003, 0.007), luck.uniform(0.008, 0.02), luck.uniform(1.3, 2.2),
        luck.uniform(0.002, 0.006), {code: luck.lognormvariate(0, 0.2) for code in codes},
        {tank: luck.lognormvariate(0, 0.12) for tank in tanks},
        tuple(luck.lognormvariate(0, 0.12) for _ in range(days)), luck.uniform(1.5, 4.0),
    )  # fmt: skip


def _stops(luck: Random, days: int) -> tuple[Stop, ...]:
    """Mornings every day; afternoons on most, at the weekend on fewer."""
    first = date(2026, 5, 4) + timedelta(days=luck.randrange(7))
    found = []
    for day in range(days):
        on = first + timedelta(days=day)
        found.append(Stop(day, "am", moment(on, 420 + luck.randint(-20, 40))))
        left_out = LEFT_OUT if on.isoweekday() < 6 else 0.5
        if luck.random() >= left_out:
            found.append(Stop(day, "pm", moment(on, 900 + luck.randint(-30, 45))))
    return tuple(found)


# ---- the plan


def _plan(here: Hall) -> str:
    """The hall's plan.toml: bands as a manual has them, not drawn around its noise."""
    first = here.stops[0].at.day
    every = f'"{here.check_days} d"'
    treatments = sorted(set(here.treatment_of.values()))
    parts = [_SITE.format(species=here.species, hatched=first - timedelta(days=here.born))]
    parts += [f'[[person]]\ninitials = "{who}"\n' for who in PEOPLE]
    parts += [f'[[loop]]\ncode = "{loop}"\n' for loop in here.loops]
    parts += [
        f'[[treatment]]\ncode = "{code}"\nlabel = "dry feed from {WEANED[code]} dph"\n'
        for code in treatments
    ]
    parts += [
        f'[[tank]]\ncode = "{tank}"\nloop = "{here.loop_of[tank]}"\nvolume = "220 L"\n'
        f'lot = "LOT"\ntreatment = "{here.treatment_of[tank]}"\n'
        for tank in here.tanks
    ]
    parts += [
        _METER.format(
            code=meter, kind="oxygen meter", tanks=_listed(here.of_meter(meter)),
            how="moist air", item="do", reference=100, within=2, more='check_unit = "%"\n',
            every=every,
        )
        for meter in here.meters
    ]  # fmt: skip
    parts.append(
        _METER.format(
            code="P1", kind="pH meter", tanks=_listed(here.tanks), how="buffer pH 7", item="ph",
            reference=7.0, within=0.1, more="", every=every,
        )
    )  # fmt: skip
    parts.append(by_chance(here.decimals["do"], here.decimals["flow"]))
    afternoon = ["temp", "do", *["ph"] * here.afternoon_ph, "flow", "level", "screen",
                 *["morts"] * here.afternoon_morts]  # fmt: skip
    parts.append(_LISTS.format(afternoon=_listed(afternoon)))
    target = f"target = {here.temp}"
    if here.ramp:
        begins, ends = (first + timedelta(days=day) for day in here.ramp_days)
        target = (
            f"ramp = [{{on = {begins}, target = {here.temp}}}, "
            f"{{on = {ends}, target = {round(here.temp + here.ramp, 1)}}}]"
        )
    parts.append(_BANDS.format(temp=target, flow=f"{here.flow:.1f}"))
    return "\n".join(parts)


def _listed(names: tuple[str, ...] | list[str]) -> str:
    return "[" + ", ".join(f'"{name}"' for name in names) + "]"


_SITE = """
[site]
name = "A hall by chance"
zone = "America/Chicago"
elevation = "260 m"
emergency = "LD, 555-0100"

[[person]]
initials = "LD"
duty = "lead"

[[lot]]
code = "LOT"
species = "{species}"
hatched = {hatched}
"""
_METER = """
[[instrument]]
code = "{code}"
kind = "{kind}"
tanks = {tanks}
check = "{how}"
checks = "{item}"
reference = {reference}
within = {within}
{more}check_every = {every}
"""
_LISTS = """
[[checklist]]
code = "am"
label = "Morning"
at = "07:00"
tank = ["temp", "do", "ph", "flow", "level", "screen", "morts"]

[[checklist]]
code = "pm"
label = "Afternoon"
at = "15:00"
tank = {afternoon}
"""
_BANDS = """
[[band]]
item = "temp"
{temp}
watch_within = 1.2
act_within = 2.2
watch_change = 1.4
source = "this hall"
[[band]]
item = "do"
watch_below = 7.0
act_below = 6.0
urgent_below = 5.0
watch_change = 1.2
act_change = 2.0
change_way = "fall"
source = "this hall"
[[band]]
item = "sat"
watch_below = 78
act_below = 65
watch_above = 107
source = "this hall"
[[band]]
item = "ph"
watch_below = 6.8
watch_above = 8.3
act_below = 6.5
act_above = 8.6
watch_change = 0.3
source = "this hall"
[[band]]
item = "flow"
target = {flow}
watch_within_percent = 15
act_within_percent = 30
source = "this hall"
[[band]]
item = "level"
target = 8.0
watch_within = 2.0
act_within = 4.0
source = "this hall"
"""
