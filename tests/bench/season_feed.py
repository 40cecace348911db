"""Fish and their feed in the bench's years: meals, cones, samples."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from bulk import Act, act
from season_days import Day

from tankwalk.ledger.entries import (
    Batch,
    BatchOf,
    Counted,
    Meal,
    Poured,
    Sample,
    Served,
)
from tankwalk.plan.model import Feed, Plan
from tankwalk.practice.site import SITE
from tankwalk_demo.feeding import WEEKDAY, WEEKEND
from tankwalk_demo.stock import length_mm, mass_mg

TREATMENT = "M14"
"""What a tank is fed by that has no treatment."""

LIVE, DRY = "Artemia", "D1"
NAUPLII_PER_G, HATCH = 210_000, 0.8
PER_ML = 336.0
"""2 g of cysts in a liter, 80 percent hatched."""

DRY_SHARE = 0.08
"""Dry feed a day as a part of what the fish weigh."""


# ---- feed


def meals(plan: Plan, day: Day, living: dict[str, int]) -> Iterator[Act]:
    """Every meal of every tank at the plan's times, nauplii from the cone of the hour."""
    table = WEEKEND if day.weekend else WEEKDAY
    for nth, (wall, who, apart) in enumerate(table):
        who = {"am": day.morning, "pm": day.afternoon}.get(who, who)
        meal = Served(day.at(wall).utc)
        cone = _cone_of(day, 1 if nth else 2)
        for turn, tank in enumerate(plan.tanks, 1):
            code = tank.treatment or TREATMENT
            at = day.at(wall, 12 * apart * turn / len(plan.tanks))
            live = float(round(_live(plan, code, day.dph) / len(table)))
            mass = living[tank.code] * mass_mg(code, day.dph) / 1000
            dry = round(mass * DRY_SHARE / len(table), 2)
            if live:
                poured = Poured(cone, float(round(live * 1000 / PER_ML)), PER_ML)
                given = Meal(LIVE, live, "thousand", live)
                yield act("meal", who, at, tank.code, given, meal, poured)
            if dry and any(f.code == DRY for f in _owed(plan, code, day.dph)):
                yield act("meal", who, at, tank.code, Meal(DRY, dry, "g", dry), meal)


def _owed(plan: Plan, treatment: str, dph: int) -> list[Feed]:
    return [f for f in plan.feeds if f.treatment == treatment and f.dph[0] <= dph <= f.dph[1]]


def _live(plan: Plan, treatment: str | None, dph: int) -> float:
    """Thousand nauplii a tank is to get in a day."""
    mine = (r for r in plan.rations if r.feed == LIVE and r.treatment == (treatment or TREATMENT))
    return sum(ration.at(dph) or 0.0 for ration in mine)


def _cone_of(day: Day, before: int) -> str:
    return f"A{day.on - timedelta(days=before):%m%d}"


def cones(plan: Plan, day: Day) -> Iterator[Act]:
    """One cone a day: set, looked at in the evening, harvested, counted and chilled the next day.

    What is left of the one before is poured away.
    """
    need = sum(_live(plan, t.treatment, day.dph + 1) for t in plan.tanks)
    grams = float(max(4, round(need * 1000 * 1.05 / HATCH / NAUPLII_PER_G)))
    name, before, old = f"A{day.on:%m%d}", _cone_of(day, 1), _cone_of(day, 2)
    due = day.at("08:30").utc + 86400
    if day.number:
        hatch = round(day.luck.uniform(77, 84), 1)
        harvest = Batch(before, "harvest", litres=grams / 2, per_ml=PER_ML, hatch_percent=hatch)
        drops = Counted("nauplii", 0.1, 1.0, "31 36 34")
        at = day.luck.randint(0, 400)
        yield act("batch", "TS", day.at("08:30", at), SITE, harvest, drops)
        chilled = Batch(before, "chill", litres=grams / 2, temperature=5.0)
        yield act("batch", "TS", day.at("08:55", at), SITE, chilled)
        yield act("batch", "TS", day.at("08:42", at), SITE, Batch(old, "discard", text="too old"))
    warm = round(day.luck.uniform(27.4, 28.2), 1)
    begun = Batch(name, "set", "AC-7", grams, grams / 2, warm, 8.2, 25.0, due_at=due)
    yield act("batch", day.morning, day.at("09:30"), SITE, begun, BatchOf("cone", _tin(day)))
    checked = Batch(name, "check", temperature=warm, ph=8.2)
    yield act("batch", day.afternoon, day.at("21:05"), SITE, checked)


TIN_DAYS = 10
"""A tin of cysts and a bag of dry feed last so long."""


def _tin(day: Day) -> str:
    return f"AC-{day.number // TIN_DAYS}"


def store(day: Day) -> Iterator[Act]:
    """Tins and bags one after another, and a culture of rotifers that is counted and fed."""
    who, nth = day.morning, day.number // TIN_DAYS
    for of, kind in (("AC", "cysts"), (DRY, "feed")) if day.number % TIN_DAYS == 0 else ():
        name = f"{of}-{nth}"
        came = Batch(name, "received", of, 454.0)
        yield act("batch", "MV", day.at("07:40"), SITE, came, BatchOf(kind, of))
        yield act("batch", "MV", day.at("07:41"), SITE, Batch(name, "opened", of))
        if nth:
            yield act("batch", "MV", day.at("07:44"), SITE, Batch(f"{of}-{nth - 1}", "empty", of))
    if day.nth == 1:
        begun = Batch("R1", "set", litres=60.0)
        yield act("batch", who, day.at("09:00"), SITE, begun, BatchOf("rotifers", "stock"))
    many = Batch("R1", "count", per_ml=257.0)
    females, eggs = (Counted(what, 1.0, 5.0, said) for what, said in
                     (("rotifers", "52 50 52"), ("eggs", "31 33 30")))  # fmt: skip
    yield act("batch", who, day.at("09:12"), SITE, many, females, eggs)
    yield act("batch", who, day.at("09:16"), SITE, Batch("R1", "feed", grams=15.4, text="paste"))


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
