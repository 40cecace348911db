"""Fish counted in, looked at under the scope, counted in between, and counted out."""

from __future__ import annotations

from collections.abc import Iterator

from tankwalk.ledger.entries import Counted, Movement, Sample
from tankwalk.plan.model import Plan, Tank
from tankwalk.science.livefeed import aliquots
from tankwalk_demo.acts import Act
from tankwalk_demo.days import age, chance, moment, wobble
from tankwalk_demo.stock import (
    CENSUS_DAY,
    SAMPLE_DAYS,
    SAMPLED,
    STOCKED,
    at_census,
    fates,
    length_mm,
    mass_mg,
)

CENSUS_SAMPLES, CENSUS_L = 6, 10
"""Volume samples of a tank at its census, and liters of each: some 120 fish, put back."""

LOOKED_AT = 20
WEIGHED = 30


def movements(plan: Plan, seed: int) -> Iterator[Act]:
    """Stocked on day 1, a few kept at each sampling, a census on day 15, all counted on day 30."""
    for nth, tank in enumerate(plan.tanks):
        stocked = Movement("stocked", STOCKED, 176.0, "20/L, 5 sub-samples, CV 6 %")
        yield Act(
            kind="movement", who="TS", at=moment(1, "08:30", 360 * nth), place=tank.code,
            detail=stocked,
        )  # fmt: skip
        for day in SAMPLE_DAYS:
            kept = Movement("sampled", SAMPLED, 0.0, "counted")
            yield Act(
                kind="movement", who="TS", at=moment(day, "13:02", 300 * nth), place=tank.code,
                detail=kept,
            )  # fmt: skip
        yield _census(tank, nth, seed)
        last = fates(seed)[tank.code][30].living
        counted = last + round(wobble(chance(seed, "census", tank.code), 4, 10))
        yield Act(
            kind="movement", who="TS", at=moment(30, "15:55", 600 * nth), place=tank.code,
            detail=Movement("census", counted, 10.0, "counted by hand, all fish"),
        )  # fmt: skip


def _census(tank: Tank, nth: int, seed: int) -> Act:
    """The fish of a tank by volume samples, each with the scatter of a well-mixed tank."""
    luck = chance(seed, "volume samples", tank.code)
    mean = at_census(fates(seed)[tank.code]) * CENSUS_L / tank.volume_l
    counts = [round(mean + wobble(luck, mean**0.5, 2.5 * mean**0.5)) for _ in range(CENSUS_SAMPLES)]
    found = aliquots(counts, 1000 * CENSUS_L, tank.volume_l)
    method = f"{CENSUS_SAMPLES} volume samples, CV {found.cv or 0:.0f} %"
    return Act(
        kind="movement", who="TS", at=moment(CENSUS_DAY, "13:30", 300 * nth), place=tank.code,
        detail=Movement("census", round(found.total), round((found.high - found.low) / 2), method),
        more=(Counted("fish", 1000.0 * CENSUS_L, 1.0, " ".join(map(str, counts))),),
    )  # fmt: skip


def samples(plan: Plan, seed: int) -> Iterator[Act]:
    """Length, mass, gut fill and, while it matters, swim bladder."""
    for day in SAMPLE_DAYS:
        for nth, tank in enumerate(plan.tanks):
            for turn, sample in enumerate(_looks(tank, day, seed)):
                at = moment(day, "13:00", 300 * nth + 40 * turn)
                yield Act(kind="sample", who="TS", at=at, place=tank.code, detail=sample)


def _looks(tank: Tank, day: int, seed: int) -> Iterator[Sample]:
    luck = chance(seed, "sample", tank.code, day)
    code, dph = tank.treatment or "", age(day)
    longer = 1 + wobble(luck, 0.015, 0.03)
    length = length_mm(code, dph) * longer
    mass = mass_mg(code, dph) * longer**3
    spread = 0.06 + 0.0025 * dph
    yield Sample(
        "length", LOOKED_AT, mean=round(length, 2), sd=round(length * spread, 2), unit="mm"
    )
    yield Sample("mass", WEIGHED, mean=round(mass, 1), sd=round(mass * spread * 2.8, 1), unit="mg")
    full = 0.80 if dph < 10 else 0.93
    fed = sum(luck.random() < full for _ in range(LOOKED_AT))
    yield Sample("gut fill", LOOKED_AT, with_it=max(17 if dph >= 10 else 14, fed))
    if dph <= 22:
        inflated = sum(luck.random() < 0.94 for _ in range(LOOKED_AT))
        yield Sample("swim bladder", LOOKED_AT, with_it=max(17, inflated))
