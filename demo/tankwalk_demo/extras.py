"""Readings outside the rounds: corrections, a late entry, and what the incidents made people do."""

from __future__ import annotations

from collections.abc import Iterator

from tankwalk.ledger.entries import Detail, Reading
from tankwalk.plan.model import Plan
from tankwalk_demo.acts import Act
from tankwalk_demo.days import age, chance, moment
from tankwalk_demo.incidents import WITH_A
from tankwalk_demo.stock import fates
from tankwalk_demo.walks import causes

PH_AFTER = {"10:30": 8.30, "14:00": 8.12, "20:00": 7.90}
"""Incident 6: the pH of the tanks after the overdose, as the water was exchanged."""


def extras(plan: Plan, seed: int) -> Iterator[Act]:
    """All of them."""
    yield from _corrections(seed)
    yield _measured(9, "10:15", "TS", "T09", "turbidity", "39", late=3 * 3600 + 25 * 60,
                    reason="late entry: was on the door sheet")  # fmt: skip
    yield from _meter_b()
    yield from _screen()
    yield from _overdose(plan, seed)


def _corrections(seed: int) -> Iterator[Act]:
    """Two struck values of ordinary days, and the copied 64 of incident 5.

    A correction is observed when the struck value was: the recorder finds that by its name.
    """
    count = fates(seed)["T08"][9].morning
    yield _corrected("T08 mis-keyed", 9, "07:55", "JQ", "T08", "morts", str(count), "mis-keyed",
                     seed)  # fmt: skip
    yield _corrected("T06 wrong tank", 16, "07:44", "JQ", "T06", "flow", "3.3", "wrong tank",
                     seed)  # fmt: skip
    left = fates(seed)["T07"][21].afternoon
    yield _corrected("T07 64 again", 21, "15:41", "RO", "T07", "morts", str(left),
                     "already counted 06:58 by PB", seed)  # fmt: skip


def _corrected(
    name: str, day: int, wall: str, who: str, place: str, item: str, typed: str, reason: str,
    seed: int,
) -> Act:  # fmt: skip
    more: tuple[Detail, ...] = ()
    if item == "morts" and wall < "12:00":
        more = causes(int(typed), age(day), chance(seed, "causes corrected", place, day))
    return Act(
        kind="reading", who=who, at=moment(day, wall), place=place, item=item,
        detail=Reading(float(typed), typed), amends=name, reason=reason, more=more,
    )  # fmt: skip


def _measured(
    day: int, wall: str, who: str, place: str, item: str, typed: str, *, meter: str | None = None,
    late: int = 0, seconds: int = 0, reason: str | None = None,
) -> Act:  # fmt: skip
    return Act(
        kind="reading", who=who, at=moment(day, wall, seconds), place=place, item=item,
        detail=Reading(float(typed), typed, instrument=meter), late=late, reason=reason,
    )  # fmt: skip


def _meter_b() -> Iterator[Act]:
    """Incident 2: after the failed check the six tanks are measured again with meter A."""
    for nth, (tank, typed) in enumerate(WITH_A.items()):
        yield _measured(13, "16:15", "PB", tank, "do", typed, meter="A", seconds=50 * nth)


def _screen() -> Iterator[Act]:
    """Incident 5: T07 comes back once its screen is brushed."""
    for wall, typed in (("07:20", "7.2"), ("08:00", "8.0"), ("10:00", "8.2")):
        yield _measured(21, wall, "PB", "T07", "do", typed, meter="B")
    yield _measured(21, "07:21", "PB", "T07", "level", "8.0")


def _overdose(plan: Plan, seed: int) -> Iterator[Act]:
    """Incident 6: every tank's pH, and the loop, after 2,500 g went in for 250."""
    for wall, ph in PH_AFTER.items():
        for nth, tank in enumerate(plan.tanks):
            luck = chance(seed, "overdose", wall, tank.code)
            typed = f"{ph + luck.choice((-0.02, -0.01, 0, 0.01, 0.02)):.2f}"
            yield _measured(24, wall, "JQ" if wall < "16:00" else "RO", tank.code, "ph", typed,
                            meter="P1", seconds=35 * nth)  # fmt: skip
            warm = f"{18.7 - 0.3 * (tank.block == 'D') + luck.choice((-0.1, 0, 0.1)):.1f}"
            yield _measured(24, wall, "JQ" if wall < "16:00" else "RO", tank.code, "temp", warm,
                            meter="P1", seconds=35 * nth + 5)  # fmt: skip
    yield _measured(24, "10:40", "MV", "L1", "alk", "486")
    yield _measured(24, "10:52", "MV", "L1", "tan", "0.55")
    yield _measured(24, "14:20", "MV", "L1", "tan", "0.53")
    yield _measured(24, "20:15", "RO", "L1", "tan", "0.50")
