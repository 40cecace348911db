"""Fish and their feed in the bench's years: meals, cones, samples, stockings."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from bulk import Act, act
from season_days import Day

from tankwalk.ledger.entries import Batch, Meal, Movement, Sample
from tankwalk.plan.model import Plan
from tankwalk.practice.site import SITE
from tankwalk_demo.feeding import (
    ARTEMIA,
    DRY,
    NAUPLII_PER_G,
    WEEKDAY,
    WEEKEND,
    dry_grams,
    live_thousands,
)
from tankwalk_demo.stock import STOCKED, length_mm, mass_mg

TREATMENT = "M14"
"""What a tank is fed by that has no treatment."""


# ---- feed


def meals(plan: Plan, day: Day, living: dict[str, int]) -> Iterator[Act]:
    """Every meal of every tank at the plan's times."""
    table = WEEKEND if day.weekend else WEEKDAY
    for wall, who, apart in table:
        who = {"am": day.morning, "pm": day.afternoon}.get(who, who)
        for turn, tank in enumerate(plan.tanks, 1):
            code = tank.treatment or TREATMENT
            at = day.at(wall, 12 * apart * turn / len(plan.tanks))
            live = float(round(live_thousands(code, day.dph) / len(table)))
            dry = round(dry_grams(code, day.dph, living[tank.code]) / len(table), 2)
            left = int(day.luck.random() < 0.1)
            if live:
                yield act("meal", who, at, tank.code, Meal(ARTEMIA, live, "thousand", live, left))
            if dry:
                yield act("meal", who, at, tank.code, Meal(DRY, dry, "g", dry, left))


def cones(plan: Plan, day: Day) -> Iterator[Act]:
    """One cone a day: set, looked at in the evening, harvested the next morning."""
    need = sum(live_thousands(t.treatment or TREATMENT, day.dph + 1) for t in plan.tanks)
    grams = float(max(4, round(need * 1000 * 1.05 / 0.8 / NAUPLII_PER_G)))
    name, before = f"A{day.on:%m%d}", f"A{day.on - timedelta(days=1):%m%d}"
    due = day.at("08:30").utc + 86400
    if day.number:
        hatch = round(day.luck.uniform(77, 84), 1)
        harvest = Batch(before, "harvest", litres=grams / 2, per_ml=round(4.2 * hatch),
                        hatch_percent=hatch)  # fmt: skip
        yield act("batch", "TS", day.at("08:30", day.luck.randint(0, 400)), SITE, harvest)
    warm = round(day.luck.uniform(27.4, 28.2), 1)
    begun = Batch(name, "set", "AC-7", grams, grams / 2, warm, 8.2, 25.0, due_at=due)
    yield act("batch", day.morning, day.at("09:30"), SITE, begun)
    checked = Batch(name, "check", temperature=warm, ph=8.2)
    yield act("batch", day.afternoon, day.at("21:05"), SITE, checked)


# ---- fish


def scope(plan: Plan, day: Day) -> Iterator[Act]:
    """Four looks at the fish of each tank, once a week."""
    if day.nth % 7 != 4:
        return
    for nth, tank in enumerate(plan.tanks):
        code, dph, longer = tank.treatment or TREATMENT, day.dph, day.luck.uniform(0.97, 1.03)
        length, mass = length_mm(code, dph) * longer, mass_mg(code, dph) * longer**3
        looks = (
            Sample("length", 20, mean=round(length, 2), sd=round(length * 0.1, 2), unit="mm"),
            Sample("mass", 30, mean=round(mass, 1), sd=round(mass * 0.3, 1), unit="mg"),
            Sample("gut fill", 20, with_it=day.luck.randint(15, 20)),
            Sample("swim bladder", 20, with_it=day.luck.randint(17, 20)),
        )
        for turn, look in enumerate(looks):
            yield act("sample", "TS", day.at("13:00", 300 * nth + 40 * turn), tank.code, look)


def stock(plan: Plan, day: Day, living: dict[str, int]) -> Iterator[Act]:
    """Stocked on a season's first day, a few kept each week, all counted and out on its last."""
    for nth, tank in enumerate(plan.tanks):
        code = tank.code
        if day.nth == 1:
            came = Movement("stocked", STOCKED, 176.0, "20/L, 5 sub-samples, CV 6 %")
            yield act("movement", "TS", day.at("06:31", 8 * nth), code, came)
        elif day.nth == 56:
            counted = Movement("census", living[code], 10.0, "counted by hand, all fish")
            yield act("movement", "TS", day.at("17:00", 30 * nth), code, counted)
            out = Movement("moved out", living[code], None, "to the raceways")
            yield act("movement", "TS", day.at("17:00", 30 * nth + 9), code, out)
        elif day.nth % 7 == 4:
            kept = Movement("sampled", 8, 0.0, "counted")
            yield act("movement", "TS", day.at("13:02", 300 * nth), code, kept)
