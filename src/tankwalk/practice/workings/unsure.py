"""How far what is worked out may be off, by what its parts shake from look to look."""

from __future__ import annotations

from math import sqrt

from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import Item, Limits
from tankwalk.practice.judging.baseline import deadband
from tankwalk.practice.judging.verdict import Flag, level
from tankwalk.practice.site import Site
from tankwalk.practice.workings.derived import worked

OF_DEADBAND = 0.5
"""A look shakes by this part of what the plan takes for no change. Common practice, no source."""


def flag_of(
    site: Site, item: Item, place: str, parts: dict[str, Seen], value: float, limits: Limits
) -> Flag:
    """Where what is worked out stands against its limits, in the item's unit.

    It is watched once it lies beyond its limit by more than its parts shake; what is to be acted
    on is so at once. The parts have bands of their own, which say at once what they say.
    """
    flag = level(value, limits)
    if flag != Flag.WATCH:
        return flag
    off = unsure(site, item, place, parts, value)
    if level(value + off, limits) and level(value - off, limits):
        return flag
    return Flag.OK


def unsure(site: Site, item: Item, place: str, parts: dict[str, Seen], value: float) -> float:
    """How far a sum moves where each part is off by half its deadband, in the item's unit.

    Parts shake by themselves, so that their squares add. A count is what it is.
    """
    squares = 0.0
    for key, seen in parts.items():
        part = site.plan.find_item(seen.item)
        if part is None or part.kind.of_animals or seen.value is None:
            continue
        moved = seen._replace(value=seen.value + OF_DEADBAND * deadband(part))
        try:
            there, _, _ = worked(site, item, place, {**parts, key: moved})
        except Refusal:
            continue  # beyond what the sum is good for: the value as read stands
        squares += (there - value) ** 2
    return sqrt(squares)
