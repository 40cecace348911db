"""How small a change would be seen here, and how soon: from the noise of this site's own looks.

The model of judging scores a change in standard deviations (`science/changing.py`); a score grows
with the size of the change, so that the smallest one is the score that is asked for over that of a
change of one unit. The page says so of one tank that is held against its sisters.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from tankwalk.clock import Instant
from tankwalk.ledger.meters import MarkSeen
from tankwalk.plan.model import Item, Plan
from tankwalk.practice.judging import planned
from tankwalk.practice.judging.baseline import deadband, resolution
from tankwalk.practice.judging.given import APART_S, judged_here, part_of
from tankwalk.practice.judging.model.levels import GOES_ON, Noise, levels
from tankwalk.practice.judging.model.looks import Look, Settings, step_of
from tankwalk.practice.judging.model.thresholds import settings_for
from tankwalk.practice.past.series import looks as looks_of
from tankwalk.practice.past.window import Window
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science.changing import FEWEST_OF_RAMP, Shape, best_onset
from tankwalk.science.middle import median

FEWEST = 12
"""Looks at a tank, in the days that are learned from, before anything is said of an item."""
OFTEN = 0.84
"""Standard deviations above the score that is asked for, so that it is reached 8 times in 10."""
STEP_HOURS, DRIFT_HOURS = 24.0, 120.0
"""How soon a step is told of here, and a drift. Common practice, no source."""


class Sees(NamedTuple):
    """What would be seen of one item at one tank, 8 times in 10, in the item's unit.

    `look` is the standard deviation of one look, `loop` of what a loop's water does from round to
    round; `beside` how many other tanks of the loop are read in a round, as a rule. `step` would
    be seen within `step_hours`, `drift` (a day) within `drift_hours`.
    """

    item: Item
    looks: int
    look: float
    loop: float
    beside: int
    step: float
    step_hours: float
    drift: float
    drift_hours: float


def sees(
    site: Site, window: Window, now: Instant, items: Sequence[Item] | None = None
) -> tuple[Sees, ...]:
    """Every item that the model judges and that was looked at often enough, in the plan's order.

    Of `items` alone, where they are given.
    """
    marks = site.reader.meters.marks(window.since)
    found = []
    for item in site.plan.items if items is None else items:
        if not judged_here(item):
            continue
        given = _given(site, item, window, now, marks)
        one = _sees(site.plan, item, given, window)
        if one is not None:
            found.append(one)
    return tuple(found)


def _given(
    site: Site, item: Item, window: Window, now: Instant, marks: Sequence[MarkSeen]
) -> list[Look]:
    """The looks of rounds that stand and are not suspect, without what the plan moved."""
    rows = site.reader.readings.since(item.code, item.unit, window.since)
    mine = [mark for mark in marks if mark.item == item.code]
    found = []
    for tank in site.plan.tanks:
        seen = rows.get(tank.code, [])
        if not seen:
            continue
        rounds = {one.n: one.round for one in seen}
        moved = planned.moved(site, item, tank.code, now)
        for look in looks_of(item, seen, mine):
            number = rounds[look.n]
            if look.value is None or look.suspect or look.at.utc > now.utc:
                continue
            found.append(
                Look(
                    tank.code,
                    tank.loop,
                    look.instrument,
                    number if number is not None else -(look.at.utc // APART_S),
                    part_of(look.at),
                    look.at.utc,
                    look.value + moved(look.at.utc),
                )
            )
    return _in_time(found)


def _in_time(looks: Sequence[Look]) -> list[Look]:
    """Rounds numbered by their place in time."""
    begun: dict[int, int] = {}
    for look in looks:
        begun[look.round] = min(look.at, begun.get(look.round, look.at))
    order = {number: nth for nth, number in enumerate(sorted(begun, key=lambda one: begun[one]))}
    return [look._replace(round=order[look.round]) for look in looks]


def _sees(plan: Plan, item: Item, looks: Sequence[Look], window: Window) -> Sees | None:
    tanks = {look.tank for look in looks}
    rounds = {look.round for look in looks}
    if not tanks or len(looks) / len(tanks) < FEWEST:
        return None
    step = step_of([k.value for k in looks], resolution(item))
    settings = settings_for(plan.judging, step, deadband(item))
    known = levels(looks, settings)
    beside = round(median([float(len(block.reads)) for block in known.blocks])) - 1
    days = max(1.0, (max(k.at for k in looks) - min(k.at for k in looks)) / 86400)
    a_day = len(rounds) / min(days, float(window.days))
    step, step_hours = smallest(known.noise, settings, beside, a_day, Shape.STEP, STEP_HOURS)
    drift, drift_hours = smallest(known.noise, settings, beside, a_day, Shape.RAMP, DRIFT_HOURS)
    return Sees(
        item,
        len(looks),
        sqrt(known.noise.look),
        sqrt(known.noise.loop),
        beside,
        step,
        step_hours,
        drift,
        drift_hours,
    )


def smallest(
    noise: Noise, settings: Settings, beside: int, a_day: float, shape: Shape, hours: float
) -> tuple[float, float]:
    """The smallest step, or drift a day, of one tank that is seen within some hours, 8 times in 10.

    `noise` are variances, `beside` the other tanks of its loop in a round, `a_day` rounds. Gives it
    with the hours of the looks that it takes: one look at least, and no more than onsets are sought
    over.
    """
    looks = max(1, min(settings.newest, round(hours / 24 * a_day)))
    if shape is Shape.RAMP:
        looks = max(FEWEST_OF_RAMP, looks)
    before = max(settings.reference, settings.reach - looks)
    unknown = lasting = noise.loop
    if beside > 0 and noise.days > 0:
        of_others = noise.look / beside
        share = noise.days / (noise.days + of_others)
        unknown, lasting = share * of_others, (1 - share) ** 2 * noise.days
    variance = noise.look + unknown
    days = [nth / a_day for nth in range(before + looks)]
    since = days[before - 1]
    unit = [
        0.0 if nth < before else 1.0 if shape is Shape.STEP else day - since
        for nth, day in enumerate(days)
    ]
    found = best_onset(
        days,
        unit,
        [variance] * len(days),
        reference=settings.reference,
        newest=settings.newest,
        lasting=lasting / variance,
        correlation=GOES_ON,
    )
    score = 0.0 if found is None else found.score
    size = (settings.score + OFTEN) / score if score > 0 else float("inf")
    return size, looks / a_day * 24
