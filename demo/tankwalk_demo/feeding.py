"""Feed: what every tank got at every meal, and the Artemia cone it came from."""

from __future__ import annotations

from collections.abc import Iterator

from tankwalk.ledger.entries import Batch, Meal
from tankwalk.plan.model import Plan, Tank
from tankwalk_demo.acts import Act
from tankwalk_demo.days import DAYS, afternoon, age, chance, moment, morning, on, weekend
from tankwalk_demo.stock import SAMPLE_DAYS, fates, mass_mg

ARTEMIA = "Artemia"
DRY = "D1"
DRY_FROM = {"E10": 10, "M14": 14, "L18": 18}
LIVE_UNTIL = {"E10": 18, "M14": 22, "L18": 26}
"""Age in dph at which dry feed starts, and at which no live feed is given any more."""

WEEKDAY = (("08:00", "TS", 120), ("10:00", "JQ", 60), ("12:00", "TS", 60), ("14:00", "JQ", 60),
           ("15:43", "RO", 60), ("18:00", "RO", 60), ("20:30", "RO", 60))  # fmt: skip
WEEKEND = (("08:20", "am", 60), ("10:00", "am", 60), ("12:00", "am", 60), ("14:00", "am", 60),
           ("15:38", "pm", 60), ("15:52", "pm", 45))  # fmt: skip
"""Meals: when the first tank is fed, by whom, and seconds from tank to tank."""

NAUPLII_PER_G = 210_000
POOR_HATCH_DAY = 15
SHORT = 0.58
"""Incident 4: 46 percent hatched for 80, so a meal is 58 percent of its plan."""

SWAP_DAY = 8
"""Incident 3: the cups of T04 and T05 are swapped at the first feed."""

FEED_OFF = (24, "10:00")
"""Incident 6: no feed from the overdose on, until the next morning."""


def live_thousands(treatment: str, dph: int) -> float:
    """Nauplii a tank is to get in a day, in thousands."""
    if dph >= LIVE_UNTIL[treatment]:
        return 0.0
    wanted = min(1080.0, 300 + 65.0 * (dph - 4))
    started = DRY_FROM[treatment]
    if dph < started:
        return wanted
    left = (LIVE_UNTIL[treatment] - dph) / (LIVE_UNTIL[treatment] - started)
    return wanted * (0.4 + 0.6 * left)


def dry_grams(treatment: str, dph: int, living: int) -> float:
    """Dry feed a tank is to get in a day, in g: 12 percent of its fish, less beside live feed."""
    if dph < DRY_FROM[treatment]:
        return 0.0
    share = 1.0
    if dph < LIVE_UNTIL[treatment]:
        share = 0.3 + 0.7 * (dph - DRY_FROM[treatment]) / 8
    return living * mass_mg(treatment, dph) / 1000 * 0.12 * share


def meals(plan: Plan, seed: int) -> Iterator[Act]:
    """Every meal of every tank, and the planned pauses."""
    for day in DAYS:
        table = WEEKEND if weekend(day) else WEEKDAY
        for nth, (wall, who, apart) in enumerate(table):
            if day == 1 and nth < 2:
                continue  # the fish are still being stocked
            if day == FEED_OFF[0] and wall > FEED_OFF[1]:
                continue
            who = {"am": morning(day), "pm": afternoon(day)}.get(who, who)
            if (day, nth) == (SWAP_DAY, 0):
                who = "PB"
            for turn, tank in enumerate(plan.tanks, 1):
                yield from _meal(plan, tank, day, nth, len(table), wall, apart * turn, who, seed)
    for day in SAMPLE_DAYS:
        pause = Meal(ARTEMIA, 0.0, "thousand", event="planned pause, 40 min before sampling")
        yield Act(kind="meal", who="TS", at=moment(day, "12:20"), place="L1", detail=pause)
    off = Meal(DRY, 0.0, "g", event="feed off until the morning, pH")
    yield Act(kind="meal", who="MV", at=moment(24, "10:41"), place="L1", detail=off)


def _meal(
    plan: Plan, tank: Tank, day: int, nth: int, many: int, wall: str, later: int, who: str,
    seed: int,
) -> Iterator[Act]:  # fmt: skip
    at = moment(day, wall, later)
    code = tank.treatment or ""
    fate = fates(seed)[tank.code]
    luck = chance(seed, "meal", tank.code, day, nth)
    live = float(round(live_thousands(code, age(day)) / many))
    dry = round(dry_grams(code, age(day), fate[day].living) / many, 2)
    if day == SWAP_DAY and nth < 2 and tank.code == "T04":
        return  # no tick at 08:00 and 10:00
    if live:
        given = round(live * SHORT) if day == POOR_HATCH_DAY else live
        left = int(luck.random() < 0.08)
        yield Act(
            kind="meal", who=who, at=at, place=tank.code,
            detail=Meal(ARTEMIA, float(given), "thousand", live, left),
        )  # fmt: skip
    if (day, nth, tank.code) == (SWAP_DAY, 0, "T05"):
        # The cup of T04: dry feed three days early for M14.
        wrong = round(dry_grams("E10", age(day), fate[day].living) / many, 2)
        yield Act(
            kind="meal", who=who, at=at, place=tank.code,
            detail=Meal(DRY, wrong, "g", 0.0, 1), name="T05 dry too early",
        )  # fmt: skip
    if dry:
        left = int(luck.random() < 0.15)
        yield Act(
            kind="meal", who=who, at=at, place=tank.code,
            detail=Meal(DRY, dry, "g", dry, left),
        )  # fmt: skip


def batches(plan: Plan, seed: int) -> Iterator[Act]:
    """One cone a day: set, looked at in the evening, harvested the next morning."""
    for day in DAYS:
        need = sum(live_thousands(t.treatment or "", age(day + 1)) for t in plan.tanks)
        if not need:
            return
        grams = float(round(need * 1000 * 1.05 / 0.8 / NAUPLII_PER_G))
        yield from _cone(day, grams, seed)


def _cone(day: int, grams: float, seed: int) -> Iterator[Act]:
    luck = chance(seed, "cone", day)
    name = f"A{on(day):%m%d}"
    litres = grams / 2
    poor = day == POOR_HATCH_DAY - 1
    hatch = 46.0 if poor else round(luck.uniform(78.5, 83.5), 1)
    warm, ph = (23.0, 7.6) if poor else (round(luck.uniform(27.4, 28.2), 1), 8.2)
    due_at = moment(day + 1, "08:30").utc
    density = round(grams * NAUPLII_PER_G * hatch / 100 / (litres * 1000))
    setter = morning(day)
    yield Act(
        kind="batch", who=setter, at=moment(day, "09:30"),
        detail=Batch(name, "set", "AC-7", grams, litres, warm, ph, 25.0, due_at=due_at),
    )  # fmt: skip
    if poor or not weekend(day):
        said = "heater does not hold; told in the handover" if poor else None
        yield Act(
            kind="batch", who="PB" if poor else "RO", at=moment(day, "21:00", 0 if poor else 300),
            detail=Batch(name, "check", temperature=warm, ph=ph, text=said),
        )  # fmt: skip
    seconds = 0 if poor else int(luck.uniform(-300, 420))
    yield Act(
        kind="batch",
        who="TS" if not weekend(day + 1) else "PB",
        at=moment(day + 1, "13:10" if poor else "08:30", seconds),
        detail=Batch(
            name, "harvest", litres=litres, per_ml=float(density), hatch_percent=hatch,
            text="instar II, half of what was wanted" if poor else None,
        ),
    )  # fmt: skip
