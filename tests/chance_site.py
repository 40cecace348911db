"""A hatchery room drawn by chance: its plan as text, its water and its habits; not the demo's.

Every range below is common practice without a source, chosen before any season was judged, so that
the judgement is held against rooms it was not tuned to.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from itertools import pairwise
from random import Random
from typing import NamedTuple

from plan_texts import ALKALINITY, TAN, by_chance
from tankwalk.clock import Instant, instant, zone
from tankwalk.science.oxygen import saturation

ZONE = "America/Chicago"
SPECIES = ("sauger", "walleye", "yellow perch", "pikeperch")
ELEVATION_M, PRESSURE_MMHG = 260, 736.0


class Habits(NamedTuple):
    """What this site does and how it writes."""

    afternoon_ph: bool
    afternoon_morts: bool
    chemistry: bool
    """TAN and alkalinity each morning, so that NH3-N and CO2 are worked out."""
    weekend_afternoons: bool
    check_days: int
    """A meter is checked every so many days."""
    oxygen_decimals: int
    flow_decimals: int


class Noise(NamedTuple):
    """Spreads: of one look, and of what the whole loop shares from round to round."""

    temp: float
    do: float
    ph: float
    flow: float
    loop_temp: float
    loop_do: float
    loop_ph: float
    swing: float
    """How much lower oxygen is in the afternoon (mg/L), the same in all tanks of a loop."""
    clumps: float
    """Variance over mean of a count of the dead."""


class Usual(NamedTuple):
    """Where the water stands when nothing is wrong."""

    temp: float
    ramp: float
    """How far the plan lets the temperature rise, over `ramp_days`."""
    ramp_days: tuple[int, int]
    sat: float
    sat_fall: float
    """Part of saturation that is lost a day as the fish grow."""
    ph: float
    ph_fall: float
    flow: float
    tan: float
    stocked: int


class Stop(NamedTuple):
    """One round of the season: its numbered day, which checklist, and when it begins."""

    day: int
    part: str
    at: Instant


class Room(NamedTuple):
    """A site by chance."""

    tanks: tuple[str, ...]
    loop_of: dict[str, str]
    meter_of: dict[str, str]
    """The oxygen meter a tank is read with by habit."""
    layout: str
    ph_meters: tuple[str, ...]
    ph_meter_of: dict[str, str]
    offset: dict[tuple[str, str], float]
    """What a tank is always above or below its sisters, by tank and item."""
    bias: dict[tuple[str, str], float]
    """What a meter always adds, by meter and item; it passes its check with it."""
    age: int
    """dph on the first day."""
    habits: Habits
    noise: Noise
    usual: Usual
    stops: tuple[Stop, ...]
    bands: str
    species: str

    @property
    def loops(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self.loop_of.values()))

    @property
    def meters(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self.meter_of.values()))

    @property
    def check_days(self) -> int:
        return self.habits.check_days

    @property
    def afternoon_ph(self) -> bool:
        return self.habits.afternoon_ph

    @property
    def afternoon_morts(self) -> bool:
        return self.habits.afternoon_morts

    @property
    def stocked(self) -> int:
        return self.usual.stocked

    def read_with(self, meter: str, first: int) -> tuple[str, ...]:
        """The tanks that an oxygen meter reads from a round on: those it reads by habit."""
        return self.of_meter(meter)

    def plan(self) -> str:
        return plan_text(self)

    def of_loop(self, loop: str) -> tuple[str, ...]:
        return tuple(t for t in self.tanks if self.loop_of[t] == loop)

    def of_meter(self, meter: str) -> tuple[str, ...]:
        return tuple(t for t in self.tanks if self.meter_of[t] == meter)

    def target(self, day: int) -> float:
        """The planned temperature of a numbered day."""
        first, last = self.usual.ramp_days
        along = 0.0 if self.usual.ramp == 0 else (day - first) / (last - first)
        return self.usual.temp + self.usual.ramp * min(1.0, max(0.0, along))


def room(luck: Random, most: int = 24, *, afternoon_morts: bool | None = None) -> Room:
    """Draw a room of 8 to `most` tanks. `afternoon_morts` is set where an incident needs it."""
    tanks = tuple(f"T{n:02d}" for n in range(1, luck.randint(8, most) + 1))
    loop_of = _loops(luck, tanks)
    layout, meter_of = _meters(luck, tanks, loop_of)
    ph_meters = ("P1", "P2") if luck.random() < 0.25 else ("P1",)
    ph_meter_of = {t: ph_meters[i * len(ph_meters) // len(tanks)] for i, t in enumerate(tanks)}
    days = luck.randint(9, 14)
    habits = Habits(
        afternoon_ph=luck.random() < 0.4,
        afternoon_morts=luck.random() < 0.6 if afternoon_morts is None else afternoon_morts,
        chemistry=luck.random() < 0.6,
        weekend_afternoons=luck.random() < 0.7,
        check_days=luck.choice((1, 1, 3)),
        oxygen_decimals=luck.choice((1, 1, 1, 2)),
        flow_decimals=luck.choice((1, 2)),
    )
    noise = Noise(
        temp=luck.uniform(0.05, 0.25),
        do=luck.uniform(0.04, 0.15),
        ph=luck.uniform(0.01, 0.04),
        flow=luck.uniform(0.01, 0.04),
        loop_temp=luck.uniform(0.05, 0.15),
        loop_do=luck.uniform(0.03, 0.10),
        loop_ph=luck.uniform(0.005, 0.02),
        swing=luck.uniform(0.05, 0.3),
        clumps=luck.uniform(1.5, 3.5),
    )
    ramps = luck.random() < 0.5
    begins = luck.randint(1, 4)
    usual = Usual(
        temp=round(luck.uniform(15.0, 19.0), 1),
        ramp=round(luck.uniform(1.0, 2.5), 1) if ramps else 0.0,
        ramp_days=(begins, begins + luck.randint(5, 8)),
        sat=luck.uniform(0.91, 0.97),
        sat_fall=luck.uniform(0.0, 0.003),
        ph=luck.uniform(7.35, 7.75),
        ph_fall=luck.uniform(0.0, 0.008),
        flow=luck.uniform(2.0, 8.0),
        tan=luck.uniform(0.1, 0.4),
        stocked=luck.randint(15, 50) * 100,
    )
    offset = {}
    for tank in tanks:
        offset[tank, "temp"] = luck.gauss(0, 0.12)
        offset[tank, "do"] = luck.gauss(0, 0.12)
        offset[tank, "ph"] = luck.gauss(0, 0.02)
        offset[tank, "flow"] = luck.gauss(0, 0.015)
        offset[tank, "morts"] = luck.lognormvariate(0, 0.12)
    bias = {(m, "do"): luck.gauss(0, 0.05) for m in dict.fromkeys(meter_of.values())}
    bias |= {(m, "temp"): luck.gauss(0, 0.06) for m in dict.fromkeys(meter_of.values())}
    bias |= {(m, "ph"): luck.gauss(0, 0.02) for m in ph_meters}
    found = Room(
        tanks, loop_of, meter_of, layout, ph_meters, ph_meter_of, offset, bias,
        luck.randint(3, 25), habits, noise, usual, _stops(luck, days, habits), "",
        luck.choice(SPECIES),
    )  # fmt: skip
    return found._replace(bands=_bands(luck, found))


def _loops(luck: Random, tanks: Sequence[str]) -> dict[str, str]:
    """One to three loops of neighbors, of three tanks at least."""
    count = luck.randint(1, min(3, len(tanks) // 3))
    while True:
        cuts = sorted(luck.sample(range(1, len(tanks)), count - 1))
        edges = [0, *cuts, len(tanks)]
        if all(b - a >= 3 for a, b in pairwise(edges)):
            break
    return {t: f"L{1 + sum(i >= cut for cut in cuts)}" for i, t in enumerate(tanks)}


def _meters(
    luck: Random, tanks: Sequence[str], loop_of: dict[str, str]
) -> tuple[str, dict[str, str]]:
    """Which oxygen meter reads which tanks: by stretches, in turn, or one a loop."""
    loops = list(dict.fromkeys(loop_of.values()))
    codes = "ABC"[: luck.randint(2, 3)]
    layout = luck.choice(("stretches", "in turn", "by loop"))
    if layout == "by loop" and len(loops) == len(codes):
        return layout, {t: codes[loops.index(loop_of[t])] for t in tanks}
    if layout == "in turn":
        return layout, {t: codes[i % len(codes)] for i, t in enumerate(tanks)}
    return "stretches", {t: codes[i * len(codes) // len(tanks)] for i, t in enumerate(tanks)}


def _stops(luck: Random, days: int, habits: Habits) -> tuple[Stop, ...]:
    first = date(2026, 5, 4) + timedelta(days=luck.randrange(7))
    morning, afternoon = luck.randint(390, 500), luck.randint(870, 1010)
    found = []
    for day in range(days):
        on = first + timedelta(days=day)
        found.append(Stop(day, "am", moment(on, morning + luck.randint(-10, 25))))
        if habits.weekend_afternoons or on.isoweekday() < 6:
            found.append(Stop(day, "pm", moment(on, afternoon + luck.randint(-15, 30))))
    return tuple(found)


def moment(on: date, minute: int) -> Instant:
    tz = zone(ZONE)
    return instant(datetime(on.year, on.month, on.day, minute // 60, minute % 60, tzinfo=tz), tz)


# ---- the plan


def _bands(luck: Random, room: Room) -> str:
    """Bands of the site's own: drawn without a look at its noise, as a first plan is written."""
    usual, first = room.usual, room.stops[0].at.day
    within = round(luck.uniform(0.8, 1.5), 1)
    if usual.ramp:
        begins, ends = (first + timedelta(days=day) for day in usual.ramp_days)
        target = (
            f"ramp = [{{on = {begins}, target = {usual.temp}}}, "
            f"{{on = {ends}, target = {round(usual.temp + usual.ramp, 1)}}}]"
        )
    else:
        target = f"target = {usual.temp}"
    found = _band(
        "temp", target, f"watch_within = {within}", f"act_within = {2 * within:.1f}",
        f"watch_change = {luck.uniform(1.0, 1.5):.1f}",
    )  # fmt: skip
    oxygen = usual.sat * saturation(usual.temp, 0.0, PRESSURE_MMHG)
    low = round(oxygen - luck.uniform(1.0, 2.0), 1)
    step = luck.uniform(0.7, 1.2)
    above = (f"watch_above = {oxygen + 1.2:.1f}",) if luck.random() < 0.5 else ()
    found += _band(
        "do", f"watch_below = {low}", f"act_below = {low - step:.1f}",
        f"urgent_below = {low - 2 * step:.1f}", *above,
        f"watch_change = {luck.uniform(1.0, 1.5):.1f}", "act_change = 2.0", 'change_way = "fall"',
    )  # fmt: skip
    if luck.random() < 0.5:
        found += _band("sat", "watch_below = 78", "act_below = 65", "watch_above = 107")
    if luck.random() < 0.5:
        found += _band(
            "ph", f"target = {usual.ph:.1f}", "watch_within = 0.5", "act_within = 0.8",
            f"watch_change = {luck.uniform(0.25, 0.4):.2f}",
        )  # fmt: skip
    percent = luck.choice((10, 15, 20))
    found += _band(
        "flow", f"target = {usual.flow:.1f}", f"watch_within_percent = {percent}",
        f"act_within_percent = {2 * percent}",
    )  # fmt: skip
    found += _band("level", "target = 8.0", "watch_within = 2.0", "act_within = 4.0")
    if luck.random() < 0.5:
        most = round(usual.stocked * 0.02)
        found += _band("morts", f"watch_above = {most}", f"act_above = {2 * most}")
    return found


def _band(item: str, *lines: str) -> str:
    return "\n".join((f'\n[[band]]\nitem = "{item}"', *lines, 'source = "this site"\n'))


def plan_text(room: Room) -> str:
    """The room's plan.toml."""
    hatched = room.stops[0].at.day - timedelta(days=room.age)
    habits = room.habits
    parts = [
        f'[site]\nname = "A room by chance"\nzone = "{ZONE}"\nelevation = "{ELEVATION_M} m"\n'
        'emergency = "MV, 555-0100"\n\n[[person]]\ninitials = "AB"\n'
        '[[person]]\ninitials = "MV"\nduty = "lead"\n'
        f'\n[[lot]]\ncode = "LOT"\nspecies = "{room.species}"\nhatched = {hatched}\n'
    ]
    parts += [f'\n[[loop]]\ncode = "{loop}"\n' for loop in room.loops]
    parts += [
        f'\n[[tank]]\ncode = "{t}"\nloop = "{room.loop_of[t]}"\nvolume = "220 L"\nlot = "LOT"\n'
        for t in room.tanks
    ]
    every = f"{habits.check_days} d"
    parts += [
        f'\n[[instrument]]\ncode = "{m}"\nkind = "oxygen meter"\n'
        f"tanks = {list(room.of_meter(m))}\n"
        'check = "moist air"\nchecks = "do"\nreference = 100\nwithin = 2\ncheck_unit = "%"\n'
        f'check_every = "{every}"\n'
        for m in room.meters
    ]
    parts += [
        f'\n[[instrument]]\ncode = "{m}"\nkind = "pH meter"\n'
        f"tanks = {[t for t in room.tanks if room.ph_meter_of[t] == m]}\n"
        'check = "buffer pH 7"\nchecks = "ph"\nreference = 7.0\nwithin = 0.1\n'
        f'check_every = "{every}"\n'
        for m in room.ph_meters
    ]
    parts.append(by_chance(habits.oxygen_decimals, habits.flow_decimals))
    parts.append(TAN + ALKALINITY if habits.chemistry else "")
    loop = 'loop = ["tan", "alk"]\n' if habits.chemistry else ""
    afternoon = ["temp", "do", *["ph"] * habits.afternoon_ph, "flow", "level", "screen"]
    afternoon += ["morts"] * habits.afternoon_morts
    parts.append(
        f'\n[[checklist]]\ncode = "am"\nlabel = "Morning"\nat = "07:00"\n{loop}'
        'tank = ["temp", "do", "ph", "flow", "level", "screen", "morts"]\n'
        f'\n[[checklist]]\ncode = "pm"\nlabel = "Afternoon"\nat = "15:00"\ntank = {afternoon}\n'
    )
    return "".join(parts).replace("'", '"') + room.bands
