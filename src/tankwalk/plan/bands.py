"""Which band holds for one place, item and day, as plain limits with their source."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from tankwalk.plan.model import Band, BandRule, Item, Limits, Plan, Tank

OPEN_SIDE = 4.0
"""A band with one limit is drawn so many times the way from that limit to its action limit long."""


def open_side(limit: float, act: float | None) -> float:
    """How far a band with one limit is drawn from it. Common practice, no source."""
    reach = 0.5 * abs(limit) if act is None else OPEN_SIDE * abs(limit - act)
    return reach or 1.0


def target_on(rule: BandRule, on: date) -> float | None:
    """The target of a rule on a local date; None for a rule of limits alone."""
    return rule.target if rule.ramp is None else rule.ramp.at(on)


def limits_at(rule: BandRule, target: float | None) -> Limits:
    """The limits of a rule as absolute values, around a target where it has one.

    A distance and an absolute limit of the same side do not meet in one rule: the plan's
    check refuses that.
    """
    if target is None:
        return rule.limits
    limits = rule.limits
    percents = (rule.watch_within_percent, rule.act_within_percent, None)
    withins = (rule.watch_within, rule.act_within, rule.urgent_within)
    for step, within, percent in zip(("watch", "act", "urgent"), withins, percents, strict=True):
        distance = within
        if distance is None and percent is not None:
            distance = abs(target) * percent / 100
        if distance is not None:
            # Nine decimals: 18.2 - 1.2 is to be 17.0, so that a reading of 17.0 is inside.
            edges: dict[str, Any] = {
                f"{step}_below": round(target - distance, 9),
                f"{step}_above": round(target + distance, 9),
            }
            limits = limits._replace(**edges)
    return limits


def resolve(rule: BandRule, on: date) -> Band:
    """A rule on a local date."""
    target = target_on(rule, on)
    return Band(limits_at(rule, target), target, rule.source, rule.owner)


def band_for(
    plan: Plan, item: Item, *, tank: Tank | None, loop: str | None, on: date
) -> Band | None:
    """The band in force for an item of a tank, or of a loop or the site when `tank` is None.

    The narrowest rule holds, as a whole: tank, treatment, loop, site, species profile; in
    the same scope a rule for one species, then a rule for an age, is the narrower. A loop
    or the site takes the species and age of its youngest fish, who bear least.
    """
    rule = rule_for(plan, item, tank=tank, loop=loop, on=on)
    return None if rule is None else resolve(rule, on)


def band_at(plan: Plan, item: Item, place: str, on: date) -> Band | None:
    """The band in force at a place by its code: a tank, a loop, or else the site."""
    rule = rule_at(plan, item, place, on)
    return None if rule is None else resolve(rule, on)


def rule_at(plan: Plan, item: Item, place: str, on: date) -> BandRule | None:
    """The rule in force at a place by its code: a tank, a loop, or else the site."""
    loop = place if any(one.code == place for one in plan.loops) else None
    return rule_for(plan, item, tank=plan.find_tank(place), loop=loop, on=on)


def rule_for(
    plan: Plan, item: Item, *, tank: Tank | None, loop: str | None, on: date
) -> BandRule | None:
    """The rule in force, with its scope and line, before it is turned into limits."""
    if tank is not None and loop is None:
        loop = tank.loop
    species, age = _fish(plan, tank, loop, on)

    def holds(rule: BandRule) -> bool:
        return (
            rule.item == item.code
            and (rule.tank is None or (tank is not None and rule.tank == tank.code))
            and (rule.treatment is None or (tank is not None and rule.treatment == tank.treatment))
            and (rule.loop is None or rule.loop == loop)
            and (rule.species is None or rule.species == species)
            and (rule.dph is None or (age is not None and rule.dph[0] <= age <= rule.dph[1]))
        )

    own = _narrowest(rule for rule in plan.bands if holds(rule))
    if own is not None:
        return own
    return _narrowest(rule for seeds in plan.profiles for rule in seeds.bands if holds(rule))


def _narrowest(rules: Iterable[BandRule]) -> BandRule | None:
    return max(rules, key=narrowness, default=None)


def narrowness(rule: BandRule) -> tuple[int, bool, bool]:
    """How narrow a rule is; of two that hold, the larger wins."""
    place = 3 if rule.tank else 2 if rule.treatment else 1 if rule.loop else 0
    return place, rule.species is not None, rule.dph is not None


def _fish(
    plan: Plan, tank: Tank | None, loop: str | None, on: date
) -> tuple[str | None, int | None]:
    """Species and age (dph) of a tank's fish, or of the youngest of a loop or the site."""
    if tank is not None:
        lot = plan.lot_of(tank)
        return (None, None) if lot is None else (lot.species, lot.dph(on))
    lots = [plan.lot_of(t) for t in plan.tanks if loop is None or t.loop == loop]
    fish = [(lot.dph(on), lot.species) for lot in lots if lot is not None]
    age, species = min(fish, key=_youth, default=(None, None))
    return species, age


def _youth(fish: tuple[int | None, str]) -> tuple[int, str]:
    # Eggs have no age yet and come first.
    age, species = fish
    return -1 if age is None else age, species


def describe(band: Band, item: Item) -> str:
    """The band as a line shows it: "15.5 - 17.5", ">= 7.0", "<= 0.5", "any" for no limit.

    Each side shows its first limit: watch, else act, else urgent.
    """
    low, high = edges(band.limits)
    if low is not None and high is not None:
        # A minus sign after a dash reads as two dashes.
        dash = " to " if low < 0 or high < 0 else " - "
        return f"{limit_words(low, item)}{dash}{limit_words(high, item)}"
    if low is not None:
        return f">= {limit_words(low, item)}"
    if high == 0.0 and band.limits.sees is not None:
        return f"< {limit_words(band.limits.sees, item)}"  # not detected by a kit that sees it
    return "any" if high is None else f"<= {limit_words(high, item)}"


def edges(limits: Limits) -> tuple[float | None, float | None]:
    """Both ends of a band, in the item's unit: each side's first limit, None where it is open."""
    return (
        _first(limits.watch_below, limits.act_below, limits.urgent_below),
        _first(limits.watch_above, limits.act_above, limits.urgent_above),
    )


def _first(*limits: float | None) -> float | None:
    return next((limit for limit in limits if limit is not None), None)


def limit_words(limit: float, item: Item) -> str:
    """A limit of the item with its decimals, and more where they would show another limit."""
    decimals = item.decimals
    while decimals < 4 and abs(round(limit, decimals) - limit) > 0.02 * abs(limit):
        decimals += 1
    return f"{limit:z.{decimals}f}"
