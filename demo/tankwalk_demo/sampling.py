"""Fish counted in, looked at under the scope, counted in between, and counted out."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from statistics import fmean, stdev

from tankwalk.ledger.entries import Counted, Fish, Movement, Sample, Sitting
from tankwalk.plan.model import Plan, Tank
from tankwalk.science.livefeed import aliquots
from tankwalk.science.samples import safe_limits
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

BY_ONE_DAYS = (18, 25)
"""On these the fish of a sample were entered one by one; before, mean and SD were from paper."""
BY_ONE_SECONDS = 9
"""A fish takes so long; they are done before the rows of their samples."""
ALIKE = 0.95
"""How closely mass goes with length in a tank."""


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
    found, limits = aliquots(counts, 1000 * CENSUS_L, tank.volume_l), safe_limits(counts)
    how = "spread" if limits.by_spread else "chance"
    method = f"{CENSUS_SAMPLES} samples, CV {found.cv or 0:.0f} %, {how}"
    half = round(limits.half * tank.volume_l / CENSUS_L)
    return Act(
        kind="movement", who="TS", at=moment(CENSUS_DAY, "13:30", 300 * nth), place=tank.code,
        detail=Movement("census", round(found.total), half, method),
        more=(Counted("fish", 1000.0 * CENSUS_L, 1.0, " ".join(map(str, counts))),),
    )  # fmt: skip


def samples(plan: Plan, seed: int) -> Iterator[Act]:
    """Length, mass, gut fill and, while it matters, swim bladder."""
    for day in SAMPLE_DAYS:
        for nth, tank in enumerate(plan.tanks):
            found = list(_looks(tank, day, seed))
            if day in BY_ONE_DAYS:
                fish = _tray(found, chance(seed, "fish by fish", tank.code, day))
                found[:2] = _rows(fish)
                yield from _by_one(tank, day, nth, fish, found)
            for turn, sample in enumerate(found):
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


# ---- fish by fish


def _tray(rows: list[Sample], luck: Random) -> list[Fish]:
    """Fish that come to the samples of a tank: their means, about their SD, and how many had it."""
    length, mass, *looked = rows
    z = _standard([luck.gauss(0, 1) for _ in range(length.looked_at)])
    more = mass.looked_at - len(z)
    side = (1 - ALIKE**2) ** 0.5
    heavy = [ALIKE * one + luck.gauss(0, side) for one in z]
    heavy += [luck.gauss(0, 1) for _ in range(more)]
    mm = _measured(length, z)
    mg = _measured(mass, _standard(heavy))
    had = {one.what: _shuffled(one, luck) for one in looked}
    blank: list[None] = [None] * mass.looked_at
    gut = [*had.get("gut fill", ()), *blank]
    bladder = [*had.get("swim bladder", ()), *blank]
    lengths = [*mm, *blank]
    return [
        Fish(0, nth + 1, lengths[nth], mg[nth], bladder[nth], gut[nth])
        for nth in range(mass.looked_at)
    ]


def _standard(values: list[float]) -> list[float]:
    """The same shape with mean 0 and SD 1."""
    mean, sd = fmean(values), stdev(values)
    return [(one - mean) / sd for one in values]


def _measured(sample: Sample, z: list[float]) -> list[float]:
    """Sizes read to a tenth whose mean is the sample's."""
    mean, sd = sample.mean or 0.0, sample.sd or 0.0
    tenths = [max(1, round(10 * (mean + sd * one))) for one in z]
    middle = min(range(len(z)), key=lambda nth: abs(z[nth]))
    tenths[middle] += round(10 * mean * len(z)) - sum(tenths)
    return [one / 10 for one in tenths]


def _shuffled(sample: Sample, luck: Random) -> list[int]:
    """Which of the fish had it."""
    had = sample.with_it or 0
    found = [1] * had + [0] * (sample.looked_at - had)
    luck.shuffle(found)
    return found


def _rows(fish: list[Fish]) -> list[Sample]:
    """Length and mass as the fish come to."""
    mm = [one.length for one in fish if one.length is not None]
    mg = [one.mass for one in fish if one.mass is not None]
    return [
        Sample("length", len(mm), mean=round(fmean(mm), 2), sd=round(stdev(mm), 2), unit="mm"),
        Sample("mass", len(mg), mean=round(fmean(mg), 1), sd=round(stdev(mg), 1), unit="mg"),
    ]


def _by_one(tank: Tank, day: int, nth: int, fish: list[Fish], rows: list[Sample]) -> Iterator[Act]:
    """A sitting: opened, every fish, and ended when its samples are in."""
    name = f"sitting {tank.code} {day}"
    what = " ".join(["length", "mass", *(["bladder"] if len(rows) > 3 else []), "gut"])
    begun = 300 * nth - BY_ONE_SECONDS * len(fish) - 30

    def act(seconds: int, kind: str, detail: Sitting | Fish, name: str = "", of: str = "") -> Act:
        at = moment(day, "13:00", seconds)
        return Act(
            kind=kind, who="TS", at=at, place=tank.code, detail=detail, name=name, refers=of
        )  # fmt: skip

    yield act(begun, "sampling", Sitting("open", what, len(fish)), name)
    for one in fish:
        yield act(begun + BY_ONE_SECONDS * one.nth, "fish", one, of=name)
    end = Sitting("end", what, len(fish), fate="returned")
    yield act(300 * nth + 40 * len(rows), "sampling", end, of=name)
