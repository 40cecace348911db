"""What the meters and the eye find on an ordinary round."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from random import Random

from tankwalk.plan.model import Item, Plan, Tank
from tankwalk_demo.acts import Answer
from tankwalk_demo.days import DAYS, chance, on, weekend, wobble
from tankwalk_demo.stock import TankDay

OXYGEN = ((1, 9.2), (13, 9.2), (17, 8.5), (20, 8.35), (30, 8.2))
TAN = ((1, 0.10), (22, 0.55), (26, 0.55), (30, 0.60))
NITRITE = ((1, 0.02), (30, 0.12))
BEYOND_PLAN_G = 2500.0
DOSE_G = 250.0
LOOP_L = 3600.0
BICARBONATE_TO_CACO3 = 50.0435 / 84.007
"""Alkalinity as CaCO3 from sodium bicarbonate, by equivalents."""

OVERDOSE_DAY = 24
AFTER_OVERDOSE = {25: 262, 26: 178, 27: 138, 28: 118}
"""Alkalinity in the mornings after incident 6, as the water was exchanged."""


PH_AFTER_OVERDOSE = {25: 0.15, 26: 0.08, 27: 0.04}
"""How much higher the pH still is on those mornings."""


def along(points: Sequence[tuple[int, float]], day: int) -> float:
    """Straight lines between (day, value) points, flat outside them."""
    for (d0, v0), (d1, v1) in pairwise(points):
        if day <= d1:
            return v0 + (v1 - v0) * max(0, day - d0) / (d1 - d0)
    return points[-1][1]


def raised_by(grams: float) -> float:
    """Alkalinity in mg/L as CaCO3 that a dose of bicarbonate adds to the loop."""
    return grams * 1000 / LOOP_L * BICARBONATE_TO_CACO3


@cache
def alkalinity() -> dict[int, tuple[int, float]]:
    """Each morning's alkalinity and the bicarbonate given after it, in g.

    It falls 4 a day at first and faster as feed and nitrification grow, so that from the
    second week it takes a dose every two or three days. Doses are given on working days.
    """
    found: dict[int, tuple[int, float]] = {}
    now = 100.0
    for day in DAYS:
        now = AFTER_OVERDOSE.get(day, now)
        friday = on(day).isoweekday() == 5
        dose = 0.0
        if day == OVERDOSE_DAY:
            dose = BEYOND_PLAN_G
        elif not weekend(day) and day != OVERDOSE_DAY - 1 and now < (96 if friday else 80):
            dose = DOSE_G
        found[day] = round(now), dose
        now += (raised_by(dose) if dose <= DOSE_G else 0.0) - min(14.0, max(4.0, 1.6 * day - 6))
    return found


def tank_answer(
    plan: Plan, tank: Tank, item: Item, day: int, part: str, fate: TankDay, seed: int
) -> Answer:
    """What an ordinary round types for one item of one tank."""
    luck = chance(seed, "water", tank.code, item.code, day, part)
    if item.kind.by_words:
        return Answer(item.choices[0])
    if item.code == "morts":
        return Answer(str(fate.morning if part == "am" else fate.afternoon))
    value = _tank_value(plan, tank, item.code, day, part, luck)
    return Answer(f"{value:.{item.decimals}f}")


def _tank_value(plan: Plan, tank: Tank, code: str, day: int, part: str, luck: Random) -> float:
    later = part != "am"
    if code == "temp":
        # The end of the header pipe is 0.3 cooler: a stable offset that must not flag.
        offset = -0.3 if tank.block == "D" else 0.0
        return _target(plan, "temp", day) + offset + 0.05 * later + wobble(luck, 0.08, 0.2)
    if code == "do":
        return along(OXYGEN, day) - 0.1 * later + wobble(luck, 0.06, 0.12)
    if code == "ph":
        return 7.68 - 0.005 * day + PH_AFTER_OVERDOSE.get(day, 0.0) + wobble(luck, 0.02, 0.05)
    if code == "flow":
        return _target(plan, "flow", day) * (1 + wobble(luck, 0.02, 0.05))
    if code == "level":
        return 8.0 + luck.choice((-0.5, 0, 0, 0, 0.5))
    if code == "turbidity":
        return 40 + wobble(luck, 2, 5)
    raise KeyError(code)


def _target(plan: Plan, code: str, day: int) -> float:
    ramp = next(b.ramp for b in plan.bands if b.item == code and b.ramp is not None)
    return ramp.at(on(day))


def other_answer(item: Item, day: int, part: str, seed: int) -> Answer:
    """What an ordinary round types for one item of the site or the loop."""
    luck = chance(seed, "water", item.code, day, part)
    if item.kind.by_words:
        return Answer(item.choices[0])
    if item.code in ("chlorine", "makeup"):
        return Answer("0.02", below=True)
    value = {
        "o2backup": 178.0 - 4 * ((day - 1) % 16),
        "light": 150 + wobble(luck, 4, 8),
        "dark": 0.0,
        "tgp": 100.6 + wobble(luck, 0.2, 0.5),
        "chloride": 46 + luck.choice((-1, 0, 1)),
        "sump": 45 + luck.choice((-1, 0, 0, 1)),
        "blower": 22.0 + wobble(luck, 0.2, 0.5),
        "tan": along(TAN, day) + wobble(luck, 0.008, 0.015) * (day not in range(22, 27)),
        "no2n": along(NITRITE, day) + wobble(luck, 0.004, 0.008),
        "alk": float(alkalinity()[day][0]),
    }[item.code]
    return Answer(f"{value:.{item.decimals}f}")
