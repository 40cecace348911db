"""A meter and its past: its checks in their limits, suspect spans, and what was read with it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from tankwalk.clock import Instant
from tankwalk.ledger.meters import CheckSeen, MarkSeen
from tankwalk.plan import kinds
from tankwalk.plan.model import Instrument, Item, Limits, Plan
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meters import suspects, tolerance
from tankwalk.practice.past.series import BandDay, LookAt, Series
from tankwalk.practice.past.story import MeterFailed, StoryLine
from tankwalk.practice.past.window import Window
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

CHECKS_A_DAY = 3
"""So many checks of a meter are read for each day of a window."""


class ReadBeside(NamedTuple):
    """What a meter read of an item at a place in a window: how often, how much of it is suspect."""

    place: str
    item: Item
    looks: int
    suspect: int
    newest: float
    at: Instant


def find_meter(plan: Plan, typed: str) -> Instrument | None:
    """A meter by its code; None where there is none."""
    wanted = typed.strip().upper()
    return next((one for one in plan.instruments if one.code.upper() == wanted), None)


def checks(site: Site, meter: Instrument, window: Window) -> tuple[CheckSeen, ...]:
    """The checks of a meter in a window, oldest first."""
    days = max(1, (site.now().day - window.first).days + 1)
    seen = site.reader.meters.checks(meter.code, CHECKS_A_DAY * days)
    return tuple(one for one in reversed(seen) if window.since <= one.at.utc <= window.until)


def drift(meter: Instrument, seen: Sequence[CheckSeen], window: Window) -> Series:
    """What a meter was found to read, within the limits of its check."""
    reference = meter.reference
    places = tolerance.decimals(meter) if meter.within is not None else 1
    label = f"Check, {meter.check}" if meter.check else "Check"
    item = Item("check", label, kinds.NUMBER, unit=meter.check_unit, decimals=places)
    looks = tuple(
        LookAt(
            one.n, one.at, one.as_found, "", below=False,
            flag=Flag.OK if one.passed else Flag.ACT,
            first=None, suspect=False, late_s=0, instrument=meter.code, who=one.who,
        )
        for one in seen
        if one.as_found is not None
    )  # fmt: skip
    bands: tuple[BandDay, ...] = ()
    if meter.within is not None and reference is not None:
        low, high = tolerance.limits(meter, reference)
        bands = (BandDay(window.first, Limits(watch_below=low, watch_above=high)),)
    return Series(meter.code, item, window, looks, bands, planned=False)


def read_beside(
    site: Site, meter: Instrument, window: Window, marks: Sequence[MarkSeen]
) -> tuple[ReadBeside, ...]:
    """What a meter read, by place and item, in the order of the plan."""
    plan = site.plan
    items = [one for one in plan.items if one.instrument == meter.kind and not one.derived]
    places = [*(one.code for one in plan.tanks), *(one.code for one in plan.loops)]
    found = []
    for item in items:
        by: dict[str, list[tuple[float, Instant]]] = {}
        for one in site.reader.meters.readings_with(
            meter.code, item.code, item.unit, places, window.since, window.until
        ):
            if not one.recheck:
                by.setdefault(one.place, []).append((one.value, one.at))
        for place, read in by.items():
            bad = [
                at
                for _, at in read
                if suspects.mark_of(marks, meter.code, item.code, at.utc) is not None
            ]
            value, at = read[-1]
            found.append(ReadBeside(place, item, len(read), len(bad), value, at))
    order = {place: nth for nth, place in enumerate(places)}
    codes = {item.code: nth for nth, item in enumerate(items)}
    return tuple(sorted(found, key=lambda one: (codes[one.item.code], order[one.place])))


def meter_story(
    site: Site, meter: Instrument, seen: Sequence[CheckSeen], marks: Sequence[MarkSeen]
) -> Iterable[StoryLine]:
    """Its checks, and the marks of those it failed."""
    for one in seen:
        yield StoryLine(one.at, one.n, one.who, meter.code, None, one)
    for mark in marks:
        looks = [one for one in suspects.covered(site, mark) if not one.recheck]
        first, last = (looks[0].at, looks[-1].at) if looks else (None, None)
        about = MeterFailed(mark, len(looks), first, last)
        yield StoryLine(
            mark.at, mark.n, mark.who, meter.code, site.plan.find_item(mark.item), about
        )


def suspect_days(marks: Sequence[MarkSeen], offset: int) -> tuple[tuple[date, date], ...]:
    """From which day to which the readings of a meter are suspect, by its marks."""
    return tuple(
        (Instant(mark.since, offset).day, Instant(mark.until, offset).day) for mark in marks
    )
