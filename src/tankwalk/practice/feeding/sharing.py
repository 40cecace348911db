"""Live feed measured out: what meals to come need, when there is more, and what of which batch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from math import floor

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.feeding import BatchSeen
from tankwalk.plan.model import Plan
from tankwalk.practice.feeding import meals, rations
from tankwalk.practice.feeding.rations import Known
from tankwalk.practice.livefeed import cones
from tankwalk.practice.livefeed.cold_store import Chilled
from tankwalk.rows import NamedTuple

COARSE_ML = 10.0
"""From here on a mL is the least that is measured out, below it a tenth. Common practice."""


class Pour(NamedTuple):
    """So many mL of a batch, and how many animals are in one of them."""

    batch: str
    ml: float
    per_ml: float

    @property
    def thousand(self) -> float:
        """Animals that it brings, in thousands."""
        return self.ml * self.per_ml / 1000


def next_ready(plan: Plan, batches: Iterable[BatchSeen], now: Instant) -> Instant:
    """When there is new live feed: the cone that stands and is due first, else the plan's hour.

    A harvest that is late is taken to be done now.
    """
    ready = int(60 * plan.hatching.ready_min)
    due = [
        found
        for events in cones.open_batches(batches).values()
        if (found := cones.due_at(events)) is not None
    ]
    if due:
        return Instant(max(min(due), now.utc) + ready, now.offset)
    for later in (0, 1):
        when = usual_harvest(plan, now.day + timedelta(days=later))
        if when is not None and when.utc > now.utc:
            return Instant(when.utc + ready, when.offset)
    return Instant(now.utc + 86400, now.offset)


def usual_harvest(plan: Plan, on: date) -> Instant | None:
    """When a cone is harvested on a local day: at the plan's hour, else so that the first meal is
    met; None where the plan has neither.
    """
    harvest = plan.hatching.harvest
    if harvest is not None:
        return at(on, harvest.hour, harvest.minute, zone(plan.zone))
    first = next(iter(meals.times(plan, on, on)), None)
    if first is None:
        return None
    return Instant(first.utc - int(60 * plan.hatching.ready_min), first.offset)


def of_feed(plan: Plan, code: str, when: Instant, known: Mapping[str, Known]) -> list[float]:
    """What each tank that gets a feed at a planned meal to come is to get of it."""
    planned = meals.times(plan, when.day, when.day)
    nth = next((k for k, one in enumerate(planned) if one.utc == when.utc), 0)
    found = []
    for tank in plan.tanks:
        for feed in meals.owed(plan, tank, when.day):
            if feed.code == code:
                need = rations.need(
                    plan, tank, feed, when.day, known.get(tank.code, Known()), nth=nth
                )
                found.append(need.amount or 0.0)
    return found


def poured(
    wanted: Mapping[str, float], store: Sequence[Chilled], *, short: bool
) -> dict[str, tuple[Pour, ...]]:
    """What each tank gets of which batch, for so many thousand each, the oldest batch first.

    Measured out to a mL, below 10 mL to a tenth: to the nearest, and down where it is short, and
    never more of a batch than there is.
    """
    still = {one.batch: one.ml for one in store}
    found: dict[str, tuple[Pour, ...]] = {}
    for tank, thousand in wanted.items():
        of: list[Pour] = []
        for one in store:
            asked = thousand * 1000 / one.per_ml
            there = still[one.batch]
            step = _step(asked)
            ml = step * (floor(asked / step + 1e-9) if short else round(asked / step))
            if ml > there:
                ml = step * floor(there / step + 1e-9)
            if ml <= 0:
                continue
            ml = round(ml, 1)
            still[one.batch] = there - ml
            of.append(Pour(one.batch, ml, one.per_ml))
            thousand -= ml * one.per_ml / 1000
            if thousand * 1000 / one.per_ml < step:
                break
        found[tank] = tuple(of)
    return found


def _step(ml: float) -> float:
    return 1.0 if ml >= COARSE_ML else 0.1


def down(thousand: float) -> float:
    """An amount that is short, as it is written: never more than was poured."""
    near = rations.measured(thousand, "thousand")
    return near if near <= thousand else floor(thousand * 10 + 1e-9) / 10


def together(pours: Iterable[Pour]) -> tuple[Pour, ...]:
    found: dict[tuple[str, float], float] = {}
    for one in pours:
        found[one.batch, one.per_ml] = found.get((one.batch, one.per_ml), 0.0) + one.ml
    return tuple(Pour(batch, round(ml, 1), per_ml) for (batch, per_ml), ml in found.items())
