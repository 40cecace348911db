"""Where the parts of what is worked out are read, and where it follows from a reading."""

from __future__ import annotations

from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import Item, Level, Plan
from tankwalk.practice.site import SITE


def places_of(plan: Plan, item: Item, place: str) -> list[str]:
    """Places at which a derived item follows from a reading at `place`."""
    tank = plan.find_tank(place)
    if tank is not None:
        return [place] if item.level is Level.TANK else [tank.loop]
    if place == SITE:
        return []
    if item.level is Level.LOOP:
        return [place]
    return [t.code for t in plan.tanks if t.loop == place]


def where(plan: Plan, place: str, part: Item) -> str:
    """Where a part of a derived reading at `place` is read: there, in its loop, or on site."""
    if part.level is Level.SITE:
        return SITE
    tank = plan.find_tank(place)
    return tank.loop if part.level is Level.LOOP and tank is not None else place


def part_places(plan: Plan, item: Item, place: str) -> list[tuple[str, str]]:
    """Where each needed part of a derived item is read: (place, item code)."""
    found = []
    for _, code in BY_CODE[item.code].parts:
        part = plan.find_item(code)
        if part is not None:
            found.append((where(plan, place, part), code))
    return found
