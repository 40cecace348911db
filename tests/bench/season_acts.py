"""What else is entered in the bench's years: plans, meters checked, doses, and all the rest."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import timedelta

from bulk import Act, act
from season_days import Day
from season_feed import cones, meals, scope, store
from season_stock import sittings, stock
from season_words import follow_ups, handovers, notes

from tankwalk.ledger.entries import (
    Calibration,
    Closing,
    Dose,
    Entry,
    FollowUp,
    PlanVersion,
    Suspect,
)
from tankwalk.plan.model import Plan
from tankwalk.practice.site import SITE


def acts(plan: Plan, day: Day, living: dict[str, int]) -> Iterator[Act]:
    """All of a day but its rounds; `living` are the fish of each tank."""
    yield from _plan_version(plan, day)
    yield from _checks(plan, day)
    yield from handovers(day)
    yield from follow_ups(plan, day)
    yield from notes(plan, day)
    yield from meals(plan, day, living)
    yield from cones(plan, day)
    yield from store(day)
    yield from scope(plan, day)
    yield from sittings(plan, day)
    yield from stock(plan, day, living)
    if day.number % 3 == 0:
        dose = Dose("sodium bicarbonate", 250.0, "g", 3600.0, 41.4, "mg/L as CaCO3")
        yield act("dose", "MV", day.at("10:20"), "L1", dose)


def _plan_version(plan: Plan, day: Day) -> Iterator[Act]:
    """A plan once a month, the last of them the one in force."""
    if day.on.day != 1 and day.number:
        return
    last = day.left < 9
    text = plan.text if last else f"{plan.text}\n# As of {day.on:%B %Y}.\n"
    digest = hashlib.sha256(text.encode("utf-8")).hexdigest()
    yield act("plan", "MV", day.at("06:30"), SITE, PlanVersion(digest, text))


METERS = (("A", "moist air", 100.0, 0.6, 1, "%"), ("B", "moist air", 100.0, 0.6, 1, "%"),
          ("P1", "buffer pH 7", 7.0, 0.02, 2, None),
          ("S1", "100 g weight", 100.0, 0.005, 2, "g"))  # fmt: skip


def _checks(plan: Plan, day: Day) -> Iterator[Act]:
    """Four meters each morning; now and then one fails, its readings are suspect, it is mended."""
    for nth, (meter, what, reference, size, decimals, unit) in enumerate(METERS):
        found = round(reference + day.luck.uniform(-size, size), decimals)
        check = Calibration(meter, what, reference, found, reference, unit, True)
        yield act("calibration", day.morning, day.at("06:40", 40 * nth), SITE, check)
    meter, nth = "AB"[day.number // 45 % 2], day.number % 45
    name = f"meter {day.on - timedelta(days=1)}"
    if nth == 20:
        at = day.at("16:00")
        failed = Calibration(meter, "moist air", 100.0, 108.0, None, "%", False)
        yield act("calibration", day.afternoon, at, SITE, failed)
        item = plan.item("do")
        entry = Entry("suspect", day.afternoon, at, at, SITE, "do", item.unit,
                      reason="moist air 108 % for 100")  # fmt: skip
        yield Act(entry, (Suspect(meter, day.at("06:40").utc, at.utc),))
        words = f"Meter {meter} failed its check (moist air 108 % for 100): mend it and check it"
        yield act("follow-up", day.afternoon, at, SITE, FollowUp("action", "open", words, "MV"),
                   Closing("meter", meter), name=f"meter {day.on}")  # fmt: skip
        mended = Calibration(meter, "moist air, new cap", 100.0, None, 100.0, "%", True)
        yield act("calibration", "MV", day.at("16:25"), SITE, mended)
    elif nth == 21:
        closed = FollowUp("action", "close", "New cap; its readings looked at.")
        yield act("follow-up", "MV", day.at("10:00"), SITE, closed, refers=name)
