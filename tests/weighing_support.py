"""A room of two loops and two oxygen meters with a quiet past, for tests of judging."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from random import Random

from plan_texts import LEVEL, OXYGEN, SCREEN, TEMPERATURE, head, tanks
from site_support import NOW, moment, opened
from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger.entries import Calibration, Entry, Reading
from tankwalk.practice.board import board
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.questions import Reply
from tankwalk.practice.round.rounds import begin, sign
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import SITE, Site

TANKS = tuple(f"T{n:02d}" for n in range(1, 13))
BY_A = ("T01", "T02", "T03", "T07", "T08", "T09")
BY_B = ("T04", "T05", "T06", "T10", "T11", "T12")
ON_L2 = TANKS[6:]
USUAL = {"temp": 16.5, "do": 8.6}

PLAN = (
    head("Two loops")
    + """
[[lot]]
code = "YOUNG"
species = "sauger"
hatched = 2026-04-16

[[loop]]
code = "L1"
[[loop]]
code = "L2"
"""
    + tanks(TANKS, "YOUNG", lambda tank: "L2" if tank in ON_L2 else "L1")
    + f"""
[[instrument]]
code = "A"
kind = "oxygen meter"
tanks = {list(BY_A)}
[[instrument]]
code = "B"
kind = "oxygen meter"
tanks = {list(BY_B)}
"""
    + TEMPERATURE
    + "deadband = 0.2\n"
    + OXYGEN
    + 'deadband = 0.3\nfirst_response = "Open the oxygen."\n'
    + LEVEL
    + 'first_response = "Brush the screen."\n'
    + SCREEN
    + """
[[checklist]]
code = "am"
label = "Morning round"
at = "07:00"
tank = ["do"]
[[checklist]]
code = "warm"
label = "Temperatures"
at = "09:00"
tank = ["temp", "level", "screen"]

[[band]]
item = "temp"
target = 16.5
watch_within = 1.0
act_within = 2.0
[[band]]
item = "do"
watch_below = 7.0
watch_above = 10.0
act_below = 6.0
urgent_below = 5.0
watch_change = 1.5
change_way = "fall"
[[band]]
item = "level"
target = 8.0
watch_within = 2.0
act_within = 4.0
"""
)


def meter_of(tank: str) -> str:
    """The oxygen meter a tank is read with."""
    return "A" if tank in BY_A else "B"


@contextmanager
def room(
    folder: Path, days: int = 6, *, coolest: str = "", sinking: tuple[str, float] = ("", 0.0)
) -> Iterator[Site]:
    """The room after some days of two rounds; both meters passed a check three days ago.

    `coolest` was always 0.3 degC cooler; `sinking` lost so much more oxygen at each of the last
    six looks.
    """
    with opened(folder, PLAN, NOW) as site:
        luck = Random(4)
        with site.ledger.writing():
            for day in range(days, 0, -1):
                if day == 3:
                    for meter in "AB":
                        checked(site, meter, hours_ago=24 * day + 2)
                for hours in (24 * day, 24 * day - 8):
                    for tank in TANKS:
                        for item, usual in USUAL.items():
                            value = usual + luck.gauss(0, 0.06)
                            if item == "temp":
                                value -= 0.3 * (tank == coolest)
                            elif tank == sinking[0]:
                                value -= sinking[1] * max(0.0, (84 - hours) / 12)
                            value = round(value, 1)
                            remembered(site, tank, item, value, hours)
        yield site


def remembered(site: Site, tank: str, item: str, value: float, hours_ago: float) -> int:
    """A reading of the past, taken with the tank's meter."""
    at = Instant(moment(NOW).utc - int(3600 * hours_ago), moment(NOW).offset)
    unit = site.plan.item(item).unit
    entry = Entry("reading", "AB", at, at, tank, item, unit)
    return site.record(entry, Reading(value, f"{value:g}", instrument=meter_of(tank)))


def checked(site: Site, meter: str, hours_ago: float = 0.0, *, passed: bool = True) -> None:
    """A check of a meter in moist air."""
    at = Instant(moment(NOW).utc - int(3600 * hours_ago), moment(NOW).offset)
    found = Calibration(meter, "moist air", 100.0, 100.0 if passed else 110.0, None, "%", passed)
    site.record(Entry("calibration", "AB", at, at, SITE), found)


def later(site: Site, hours: float) -> None:
    """Let time pass."""
    now = site.now()
    site.clock = FixedClock(Instant(now.utc + int(3600 * hours), now.offset))


def walked(
    site: Site,
    value: Callable[[str], float],
    tanks: Sequence[str] = TANKS,
    code: str = "am",
    *,
    signed: bool = True,
) -> dict[str, Reply]:
    """One item of a round typed tank by tank, and what was said and asked at each.

    A second reading reads the same again. Signed, the next round is a new one.
    """
    walk = Walk(site, begin(site, site.plan.checklist(code), "AB"), "AB")
    said = {}
    for tank in tanks:
        index = next(i for i, slot in enumerate(walk.slots) if slot.place == tank)
        walk.stand(index)
        typed = f"{value(tank):.1f}"
        reply = walk.answer(typed)
        if walk.pending(walk.slots[index]):
            asked = walk.question
            reply = reply._replace(sentence=f"{reply.sentence} {asked.words if asked else ''}")
            walk.answer(typed)
        said[tank] = reply
    if signed:
        sign(site, walk.round, "AB")
    return said


def wrong(site: Site) -> list[tuple[str, Flag]]:
    """What the board says is wrong."""
    return [(one.place, one.flag) for one in board(site).wrong]
