"""A room where T05's pH is flagged too often: thirty days, and what people did about it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random

from plan_texts import head, tanks
from site_support import opened
from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger.entries import Entry, FlagEvent, JudgedAs, Reading
from tankwalk.plan.bands import band_at
from tankwalk.practice.incidents.acting import did
from tankwalk.practice.incidents.incident import incident
from tankwalk.practice.judging.slips import Around
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.verdict import Flag, judge
from tankwalk.practice.site import Site

NOW = "2026-05-10T16:00"
TANKS = tuple(f"T{n:02d}" for n in range(1, 7))
HIGH_DAYS = (3, 5, 8, 11, 14, 17, 20, 24)
"""Days on which T05's pH stood a little above its band at one look."""
FALL_DAY = 27
"""The day on which it fell, and somebody did something about it."""

PLAN = (
    "# The room of the learning tests. This comment stays.\n"
    + head("Room of six", "260 m")
    + """
[[lot]]
code = "S26"
species = "sauger"
hatched = 2026-03-20

[[loop]]
code = "L1"
"""
    + tanks(TANKS, "S26")
    + """
[[item]]
code = "ph"
label = "pH"
decimals = 2
plausible = [4, 10]
when_low = ["Look at the bicarbonate pump"]
when_high = ["Look at the bicarbonate pump"]

[[item]]
code = "temp"
label = "Temperature"
unit = "degC"
plausible = [-1, 35]

[[checklist]]
code = "am"
label = "Morning round"
at = "07:00"
tank = ["temp", "ph"]

# The band of pH for all tanks.
[[band]]
item = "ph"
watch_below = 7.0
watch_above = 7.6   # as of old
act_below = 6.5
act_above = 8.2
urgent_below = 6.0
owner = "MV"
source = "our plan"
dated = 2026-03-01

[[band]]
item = "temp"
target = 18.0
watch_within = 1.0
act_within = 2.0
source = "our plan"
"""
)


@contextmanager
def ph_room(folder: Path, plan: str = PLAN) -> Iterator[Site]:
    """The room with its thirty days, open on Sunday afternoon, the last of them."""
    with opened(folder, plan, NOW) as site:
        now = site.now()
        chance = Random(20260510)
        with site.ledger.writing():
            for day in range(1, 31):
                for hour in (7, 15):
                    for nth, tank in enumerate(TANKS):
                        at = Instant(
                            now.utc - (30 - day) * 86400 - (16 - hour) * 3600 + nth * 120,
                            now.offset,
                        )
                        look(site, tank, "ph", round(_ph(tank, day, hour, chance), 2), at)
                _dealt_with(site, day, at)
        site.clock = FixedClock(now)
        yield site


def _ph(tank: str, day: int, hour: int, chance: Random) -> float:
    if tank != "T05":
        return 7.3 + chance.uniform(-0.1, 0.1)
    if day == FALL_DAY and hour == 15:
        return 6.62
    if day in HIGH_DAYS and hour == 15:
        return 7.96 if day == HIGH_DAYS[4] else 7.7 + chance.uniform(-0.06, 0.15)
    return 7.48 + chance.uniform(-0.08, 0.1)


def look(site: Site, tank: str, item: str, value: float, at: Instant) -> int:
    """A look as the walk keeps it: judged by the band of its day."""
    site.clock = FixedClock(at)
    of = site.plan.item(item)
    judged = judge(
        of, value, f"{value:g}", band_at(site.plan, of, tank, at.day), None, at,
        Around(None, None, 0.0), sure=True,
    )  # fmt: skip
    why = [] if judged.rule is None else [JudgedAs(judged.rule.value, judged.sentence)]
    entry = Entry("reading", "AB", at, at, tank, item, of.unit)
    return site.record(entry, Reading(value, f"{value:g}", flag=judged.flag), *why)


def _dealt_with(site: Site, day: int, at: Instant) -> None:
    """What people did: five closed as nothing, three went by, the fall was seen to."""
    if day in HIGH_DAYS[:5]:
        site.clock = FixedClock(Instant(at.utc + 1800, at.offset))
        now = site.now()
        entry = Entry("flag", "AB", now, now, "T05", "ph", "", reason="looked: all is well")
        site.record(entry, FlagEvent("close"))
    elif day == FALL_DAY:
        site.clock = FixedClock(Instant(at.utc + 600, at.offset))
        found = incident(site, Key("place", "T05", "ph"))
        assert found is not None
        assert found.flag is Flag.WATCH
        did(site, "AB", found, found.steps[0].words, 1)
