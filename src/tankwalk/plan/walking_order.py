"""In which order the tanks of a plan are walked: clean to dirty."""

from __future__ import annotations

from datetime import date

from tankwalk.plan.model import Plan, Tank


def walking_order(plan: Plan, on: date) -> list[Tank]:
    """Tanks clean to dirty: eggs first, then youngest to oldest, quarantine last.

    Tanks of one loop stay together; loops go in the order of their youngest fish. Source: common
    practice, no source (eggs, larvae, juveniles, sick fish last).
    """

    ages: dict[str, int] = {}
    for tank in plan.tanks:
        found = plan.age(tank, on)
        empty = plan.lot_of(tank) is None
        ages[tank.code] = 100_000 if empty else -1 if found is None else found  # empty can wait
    at = {t.code: i for i, t in enumerate(plan.tanks)}
    youngest: dict[tuple[str, bool], int] = {}
    first: dict[tuple[str, bool], int] = {}
    for tank in plan.tanks:
        water = tank.loop, tank.quarantine
        youngest[water] = min(youngest.get(water, 100_000), ages[tank.code])
        first.setdefault(water, at[tank.code])

    def rank(tank: Tank) -> tuple[bool, int, int, int, int]:
        water = tank.loop, tank.quarantine
        return tank.quarantine, youngest[water], first[water], ages[tank.code], at[tank.code]

    return sorted(plan.tanks, key=rank)
