"""Fish of the bench's years: stocked, sampled fish by fish, moved, culled, counted, and out."""

from __future__ import annotations

from collections.abc import Iterator

from bulk import Act, act
from season_days import SEASON, Day
from season_feed import TREATMENT

from tankwalk.ledger.entries import Counted, Fish, Movement, Sitting
from tankwalk.plan.model import Plan
from tankwalk.science.livefeed import aliquots
from tankwalk_demo.stock import STOCKED, length_mm, mass_mg

SITTING_FISH = 8
"""Fish of each tank that are looked at one by one, once a week."""

CENSUS_DAYS = (15, 36)
"""Days of a season on which each tank has a census by volume samples."""

SAMPLE_L = 10


def stock(plan: Plan, day: Day, living: dict[str, int]) -> Iterator[Act]:
    """All that changes the fish of the tanks in a day, or counts them."""
    for nth, tank in enumerate(plan.tanks):
        code, here = tank.code, living[tank.code]

        def put(
            wall: str, moved: Movement, *more: Counted, code: str = code, nth: int = nth
        ) -> Act:
            return act("movement", "TS", day.at(wall, 30 * nth), code, moved, *more)

        if day.nth == 1:
            yield put("06:31", Movement("stocked", STOCKED, 176.0, "20/L, 5 sub-samples, CV 6 %"))
        elif day.nth == SEASON:
            yield put("17:00", Movement("census", here, 10.0, "counted by hand, all fish"))
            yield put("17:20", Movement("moved out", here, None, "to the raceways"))
        elif day.nth in CENSUS_DAYS:
            mean = here * SAMPLE_L / tank.volume_l
            counts = [max(0, round(day.luck.gauss(mean, mean**0.5))) for _ in range(6)]
            found = aliquots(counts, 1000 * SAMPLE_L, tank.volume_l)
            half = round((found.high - found.low) / 2)
            told = Counted("fish", 1000.0 * SAMPLE_L, 1.0, " ".join(map(str, counts)))
            yield put("13:30", Movement("census", round(found.total), half, "6 volume samples"),
                      told)  # fmt: skip
        elif day.nth % 7 == 4:
            yield put("13:20", Movement("sampled", SITTING_FISH, 0.0, "counted"))
        elif day.nth % 7 == 5:
            yield put("14:00", Movement("culled", day.luck.randint(1, 9), 0.0, "counted"))
            yield put("14:10", Movement("cannibals", day.luck.randint(1, 4), 0.0, "counted"))
        elif day.nth == 30:
            yield put("15:00", Movement("returned", 30, 0.0, "counted"))
    if day.nth == 20:
        yield from _now_and_then(plan, day)


def _now_and_then(plan: Plan, day: Day) -> Iterator[Act]:
    """Once a season: fish moved to the next tank, some escaped, many dead at once in one."""
    first, other, third = (tank.code for tank in plan.tanks[:3])
    at = day.at("11:00")
    out = Movement("moved out", 40, 0.0, "counted", other)
    yield act("movement", "TS", at, first, out)
    yield act("movement", "TS", at, other, Movement("moved in", 40, 0.0, "counted", first))
    yield act("movement", "TS", day.at("11:20"), third, Movement("escaped", 6, 0.0, "counted"),
              reason="screen")  # fmt: skip
    lost = Movement("dead", 150, 30.0, "3 sub-samples by volume")
    told = Counted("fish", 50.0, 1.0, "31 28 33")
    yield act("movement", "TS", day.at("11:40"), third, lost, told)


def sittings(plan: Plan, day: Day) -> Iterator[Act]:
    """Some fish of each tank looked at one by one, once a week."""
    if day.nth % 7 != 4:
        return
    what = "length mass bladder gut deformed"
    for nth, tank in enumerate(plan.tanks):
        code, arm = tank.code, tank.treatment or TREATMENT
        name = f"sitting {code} {day.on}"
        began = 300 * nth
        opened = Sitting("open", what, SITTING_FISH)
        yield act("sampling", "TS", day.at("15:00", began), code, opened, name=name)
        for k in range(1, SITTING_FISH + 1):
            longer = day.luck.gauss(1, 0.1)
            length = round(length_mm(arm, day.dph) * longer, 1)
            mass = round(mass_mg(arm, day.dph) * longer**3, 1)
            one = Fish(0, k, max(0.1, length), max(0.1, mass), int(day.luck.random() < 0.94),
                       int(day.luck.random() < 0.9), int(day.luck.random() < 0.02))  # fmt: skip
            yield act("fish", "TS", day.at("15:00", began + 25 * k), code, one, refers=name)
        done = Sitting("end", what, SITTING_FISH, None, "kept")
        yield act("sampling", "TS", day.at("15:00", began + 280), code, done, refers=name)
