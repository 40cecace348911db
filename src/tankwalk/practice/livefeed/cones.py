"""Live-feed cones: harvests due and late, cones out of band, and a hatch that fell short."""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import BatchSeen
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import (
    ConeOut,
    ConeWater,
    Due,
    DueState,
    HarvestDue,
    OutOfLimit,
    PoorHatch,
)
from tankwalk.science.middle import median

COLDEST, HOTTEST, LOWEST_PH = 25.0, 33.0, 8.0
"""Hatching water in degC, slow below and stopped above, and its pH.

FAO freshwater prawn manual, annex 4."""

HARVEST_LATE_HOURS = 2.0
"""A harvest so long over its time finds instar II. Common practice, no source."""

USUAL_DAYS, USUAL_FEWEST, USUAL_MOST = 30, 3, 10
"""The usual hatch is the median of the last harvests: of so many days, fewest and most."""

DISCARD_HOURS = 24.0
"""Nauplii left so long past their harvest are no feed any more. Common practice, no source."""

SHORT_SHARE = 0.15
"""A hatch that is short of the usual by this share is told. Common practice, no source."""

SHORT_HOURS = 24.0
"""For so long after its harvest, or until the next one: a cone feeds the fish for a day."""

ENDS = ("harvest", "discard")
"""Events after which nothing of a batch is due any more."""


def cones_due(site: Site, now: Instant) -> list[Due]:
    """Harvests due or late, cones out of band at their check, and the newest hatch if poor."""
    seen = site.reader.feeding.batches(now.utc - USUAL_DAYS * 86400)
    found = []
    for batch, events in open_batches(seen).items():
        found += _harvest(batch, events, now)
        found += _out_of_band(batch, events, now)
    return [*found, *_fell_short(seen, now)]


def open_batches(seen: Iterable[BatchSeen]) -> dict[str, list[BatchSeen]]:
    """Batches that were set and not ended since, each with its events; `seen` oldest first."""
    found: dict[str, list[BatchSeen]] = {}
    for one in seen:
        if one.event == "set":  # a name may come again
            found[one.batch] = [one]
        elif one.event in ENDS:
            found.pop(one.batch, None)
        elif one.batch in found:
            found[one.batch].append(one)
    return found


def harvests(site: Site, now: Instant) -> list[tuple[str, Instant]]:
    """Batches whose harvest is still to come, and when."""
    seen = site.reader.feeding.batches(now.utc - USUAL_DAYS * 86400)
    due = ((batch, due_at(events)) for batch, events in open_batches(seen).items())
    return [(b, Instant(at, now.offset)) for b, at in due if at is not None and at > now.utc]


def due_at(events: list[BatchSeen]) -> int | None:
    """The UTC second at which a batch is to be harvested, as it was said last."""
    return next((one.due_at for one in reversed(events) if one.due_at is not None), None)


def _harvest(batch: str, events: list[BatchSeen], now: Instant) -> list[Due]:
    due = due_at(events)
    if due is None:
        return []
    when = Instant(due, now.offset)
    late, state = harvest_state(when, now)
    over = late - HARVEST_LATE_HOURS
    # Two hours to the minute are overdue.
    late_hours = over if over < 0 else over + 0.01
    return [Due(late_hours, HarvestDue(batch, when, state, late))]


def harvest_state(when: Instant, now: Instant) -> tuple[float, DueState]:
    """Hours since a harvest was due (negative: to come), and how it stands."""
    late = now.hours_since(when)
    if late > DISCARD_HOURS:
        return late, DueState.USELESS
    if late >= HARVEST_LATE_HOURS:
        return late, DueState.OVERDUE
    return late, DueState.NOW if late >= 0 else DueState.TO_COME


def _out_of_band(batch: str, events: list[BatchSeen], now: Instant) -> list[Due]:
    """The last checks of a cone that found it out of band, back to the first of them."""
    run: list[BatchSeen] = []
    for one in reversed([one for one in events if one.event == "check"]):
        if not out_of_limits(one):
            break
        run.insert(0, one)
    if not run:
        return []
    facts = ConeOut(batch, out_of_limits(run[-1]), run[0].at)
    return [Due(now.hours_since(run[0].at), facts)]


def out_of_limits(one: BatchSeen) -> tuple[OutOfLimit, ...]:
    """What of the hatching water is not as it has to be, as it was set or checked."""
    found = []
    if one.temperature is not None and one.temperature < COLDEST:
        found.append(OutOfLimit(ConeWater.TEMPERATURE, one.temperature, COLDEST))
    elif one.temperature is not None and one.temperature > HOTTEST:
        found.append(OutOfLimit(ConeWater.TEMPERATURE, one.temperature, HOTTEST))
    if one.ph is not None and one.ph < LOWEST_PH:
        found.append(OutOfLimit(ConeWater.PH, one.ph, LOWEST_PH))
    return tuple(found)


def _fell_short(seen: list[BatchSeen], now: Instant) -> list[Due]:
    """The newest harvest where much less hatched than usual."""
    harvests = hatches(one for one in seen if one.at.utc <= now.utc)
    if not harvests:
        return []
    last = harvests[-1]
    usual = usual_hatch(harvests[:-1])
    since = now.hours_since(last.at)
    if usual is None or last.hatch_percent is None or since > SHORT_HOURS:
        return []
    short = 100 - round(100 * last.hatch_percent / usual)
    if short < 100 * SHORT_SHARE:
        return []
    facts = PoorHatch(last.batch, last.hatch_percent, usual, short)
    return [Due(max(since, 0.01), facts)]


def hatches(seen: Iterable[BatchSeen]) -> list[BatchSeen]:
    """Of every cone the event that says how many hatched: its harvest, or the first count after it.

    What is counted again later is what is left of a harvest, and says nothing of the hatch.
    """
    found: list[BatchSeen] = []
    open_ones: set[str] = set()
    for one in seen:
        if one.event == "set":
            open_ones.add(one.batch)
        elif one.event in ("harvest", "count") and one.hatch_percent is not None:
            if one.batch in open_ones or one.event == "harvest":
                found.append(one)
            open_ones.discard(one.batch)
    return found


def usual_hatch(harvests: list[BatchSeen]) -> float | None:
    """The hatch of the last harvests in percent, oldest first; None where they are too few."""
    known = [one.hatch_percent for one in harvests if one.hatch_percent]
    return median(known[-USUAL_MOST:]) if len(known) >= USUAL_FEWEST else None
