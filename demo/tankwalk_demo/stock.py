"""How the fish fare: living, seen dead and lost unseen, tank by tank and day by day."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from random import Random

from tankwalk_demo.days import DAYS, age, chance, wobble
from tankwalk_demo.room import plan

STOCKED = 4400
SAMPLE_DAYS = (4, 11, 18, 25, 30)
SAMPLED = 8
"""Fish kept of each tank on a sampling day."""

FACTOR = {"E10": 1.15, "M14": 1.00, "L18": 0.90}
"""How much larger or smaller the losses of a treatment are."""

NOISE = (-0.09, -0.03, 0.03, 0.09)
"""Spread of the four tanks of a treatment; which tank gets which is drawn."""

CENSUS_DAY = 15
"""Mon 4 May, 18 dph: a census by volume samples."""

CENSUS_SHARE = 14 / 24
"""So much of that day is over at the census, and with it of what is lost unseen."""

MORNING_SHARE = 0.87
"""Of a day's dead, those that the morning siphon finds."""

SET_COUNTS = {
    ("T07", 17): (9, 1),
    ("T07", 18): (9, 2),
    ("T07", 19): (10, 1),
    ("T07", 20): (9, 1),
    ("T07", 21): (64, 2),
    ("T07", 22): (14, 1),
    ("T07", 23): (11, 1),
}
"""Counts, morning and afternoon, that the story of tank T07 needs: incident 5."""


@dataclass(frozen=True, slots=True)
class TankDay:
    """One tank on one day; `living` is what is left at its end."""

    morning: int
    afternoon: int
    unseen: int
    sampled: int
    living: int

    @property
    def seen(self) -> int:
        return self.morning + self.afternoon


def seen_rate(dph: int) -> float:
    """Share of the living that is found dead on a day of this age."""
    if dph < 7:
        return 0.006
    if dph <= 12:
        return 0.016
    if dph <= 16:
        return 0.009
    return 0.006 if dph <= 22 else 0.004


def unseen_rate(dph: int) -> float:
    """Share of the living that is lost on a day of this age and never found."""
    if dph <= 12:
        return 0.030
    if dph <= 18:
        return 0.012
    return 0.010 if dph <= 26 else 0.006


@cache
def fates(seed: int) -> dict[str, dict[int, TankDay]]:
    """Every tank's thirty days, by tank and numbered day."""
    noise: dict[str, float] = {}
    for treatment in FACTOR:
        tanks = [t.code for t in plan().tanks if t.treatment == treatment]
        drawn = chance(seed, "tank noise", treatment).sample(NOISE, len(NOISE))
        noise.update(zip(tanks, drawn, strict=True))
    return {
        t.code: _fate(t.code, FACTOR[t.treatment or ""] * (1 + noise[t.code]), seed)
        for t in plan().tanks
    }


def _fate(tank: str, factor: float, seed: int) -> dict[int, TankDay]:
    living = STOCKED
    days: dict[int, TankDay] = {}
    for day in DAYS:
        luck = chance(seed, "fate", tank, day)
        expected = living * seen_rate(age(day)) * factor
        seen = max(0, round(expected + wobble(luck, 0.6 * expected**0.5, 0.35 * expected)))
        morning, afternoon = SET_COUNTS.get((tank, day)) or _parted(seen, day, luck)
        unseen = round(living * unseen_rate(age(day)) * factor)
        sampled = SAMPLED if day in SAMPLE_DAYS else 0
        living -= morning + afternoon + unseen + sampled
        days[day] = TankDay(morning, afternoon, unseen, sampled, living)
    return days


def _parted(seen: int, day: int, luck: Random) -> tuple[int, int]:
    """A day's dead by round; day 1 has no morning round."""
    if day == 1:
        return 0, seen
    morning = min(seen, round(seen * (MORNING_SHARE + wobble(luck, 0.04, 0.08))))
    return morning, seen - morning


def at_census(days: dict[int, TankDay]) -> int:
    """Fish alive at the census: the morning's dead are counted, the afternoon's not yet."""
    before, day = days[CENSUS_DAY - 1].living, days[CENSUS_DAY]
    return before - day.morning - round(day.unseen * CENSUS_SHARE)


def book(days: dict[int, TankDay], day: int) -> int:
    """Fish on the book at the end of a day: stocked, less what was seen to go."""
    return STOCKED - sum(days[d].seen + days[d].sampled for d in DAYS if d <= day)


def mass_mg(treatment: str, dph: float) -> float:
    """Mean wet mass at an age; 2 mg at 4 dph, 95 to 115 mg at 33 dph."""
    last = {"E10": 95.0, "M14": 105.0, "L18": 115.0}[treatment]
    return float(2.0 * (last / 2.0) ** ((dph - 4) / 29))


def length_mm(treatment: str, dph: float) -> float:
    """Mean total length at an age; 6.5 mm at 4 dph, 24 to 26 mm at 33 dph."""
    return float(6.5 * (mass_mg(treatment, dph) / 2.0) ** 0.34)
