"""Whether water that a band told of was really out of it, as only the maker of the water knows.

A flag of a band is no false alarm where the water without noise and without the meter's error is
out by as much: that is what the plan says. Where the water was inside, noise put it out.
"""

from __future__ import annotations

from enum import StrEnum

from chance_faults import Waters
from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.plan.bands import band_at
from tankwalk.plan.model import Item
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.verdict import Flag, level
from tankwalk.practice.site import Site
from tankwalk.practice.workings import derived


class Out(StrEnum):
    """What became of a flag that was held against what its maker knows: the water, the dying."""

    TRUTH = "out in truth"
    NOISE = "out by noise"
    OTHER = ""
    """No limit told it, nor a treatment or lot that dies."""


def out(site: Site, water: Waters, one: Standing) -> Out:
    """The same of a flag on the board; of a loop's by most of the tanks it names."""
    item = site.plan.find_item(one.key.item)
    shared = one.key.kind == "loop" and one.found is None
    if one.rule is Rule.SHARE:
        return Out.TRUTH  # so many died, and the limit is no chart's
    if item is None or not item.kind.by_band:
        return Out.OTHER
    if one.rule is not Rule.BAND and not (shared and not _told_together(one)):
        return Out.OTHER
    places = one.places if shared else (one.seen.place,)
    beyond = sum(_beyond(site, water, item, place, one) for place in places)
    return Out.TRUTH if 2 * beyond > len(places) else Out.NOISE


def _told_together(one: Standing) -> bool:
    """Whether the model named the loop, so that no band has told it."""
    return one.rule is not None and one.rule.shared is not None


def _beyond(site: Site, water: Waters, item: Item, place: str, one: Standing) -> bool:
    """Whether a place is out by as much as was told; a neighbor of the worst by WATCH at least."""
    seen = site.reader.readings.newest(place, item.code, item.unit)
    band = band_at(site.plan, item, place, one.at.day)
    value = None if seen is None else holds(site, water, item, seen)
    if band is None or value is None:
        return False
    needed = one.flag if place == one.seen.place else Flag.WATCH
    return level(value, band.limits) >= needed


def holds(site: Site, water: Waters, item: Item, seen: Seen) -> float | None:
    """What a place held when it was read, in the item's unit, without noise and meter.

    What is worked out is worked out of what its parts really were. A count is what it is.
    """
    if item.kind.of_animals:
        return seen.value
    if not item.derived:
        stops = water.room.stops
        index = max(n for n, stop in enumerate(stops) if stop.at.utc <= seen.at.utc)
        return water.holds(seen.place, item.code, index, seen.at.utc)
    true = {}
    for key, part in derived.gather(site, item, seen.place, seen.at, {}).parts.items():
        its = site.plan.find_item(part.item)
        true[key] = part if its is None else part._replace(value=holds(site, water, its, part))
    try:
        return derived.worked(site, item, seen.place, true)[0]
    except Refusal:
        return None
