"""What fills a field of a calculator: the newest readings of the place, and what the plan knows."""

from __future__ import annotations

from tankwalk.clock import Instant, ago, past
from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import Item, Product, Tank
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.stock.numbers import best
from tankwalk.quantity import sure_text
from tankwalk.rows import NamedTuple
from tankwalk.science.calculators.declare import Input

PLAN = ""
"""The place of what the plan knows wherever one stands: a product is the same at every tank."""


class Source(NamedTuple):
    """Where the value of a field was taken from; `at` is None for what the plan knows."""

    label: str
    place: str
    at: Instant | None = None


def from_record(site: Site, place: str, one: Input) -> tuple[str, Source] | None:
    """The newest reading of an item here, or in the water here; Refusal where it is no use."""
    item = site.plan.find_item(one.item)
    may_be_left = one.default is not None or not one.needed
    if item is None and may_be_left:
        return None
    if item is None:
        raise Refusal(f"The plan asks no {one.words}: type it.")
    now, oldest = site.now(), site.plan.parts_age_hours
    seen = [site.reader.readings.newest(at, item.code, item.unit) for at in _water(site, place)]
    there = [s for s in seen if s is not None]
    elsewhere = None if there else _newest_in_tanks(site, place, item)
    if elsewhere is not None:
        when = past(now.hours_since(elsewhere.at), "old")
        raise Refusal(
            f"{item.label} is read in the tanks, last {elsewhere.typed} in {elsewhere.place} "
            f"({when}): type it, or go there with /."
        )
    if not there and may_be_left:
        return None
    if not there:
        raise Refusal(f"No {item.label} is in the record here: type it.")
    fresh = [s for s in there if abs(now.hours_since(s.at)) <= oldest]
    best = fresh[0] if fresh else max(there, key=lambda s: s.at.utc)
    if not fresh:
        raise Refusal(stale(item.label, best.at, now))
    if best.qualifier == "<" or best.value is None:
        raise Refusal(f"{item.label} is below what the test can tell (<{best.typed}): type it.")
    value = sure_text(best.value, item.unit) + _unit_words(item, one)
    return value, Source(item.label, best.place, best.at)


def _newest_in_tanks(site: Site, place: str, item: Item) -> Seen | None:
    """The newest reading of an item in the tanks of a loop; None at a tank, or without one."""
    tanks = (t.code for t in site.plan.tanks if t.loop == place)
    seen = [site.reader.readings.newest(at, item.code, item.unit) for at in tanks]
    return max((s for s in seen if s is not None), key=lambda s: s.at.utc, default=None)


def _water(site: Site, place: str) -> list[str]:
    """Where to look for a reading: here, in the loop, at the site."""
    tank = site.plan.find_tank(place)
    return [place, *([tank.loop] if tank else []), *([SITE] if place != SITE else [])]


def from_plan(site: Site, place: str, one: Input) -> tuple[str, Source] | None:
    """What the plan knows of the place; None where it does not."""
    plan, tank = site.plan, site.plan.find_tank(place)
    lot = None if tank is None else plan.lot_of(tank)
    today = site.now().day
    if one.fact == "elevation":
        unit = "" if one.unit == "m" else " m"
        return f"{sure_text(plan.elevation_m, 'm')}{unit}", Source("elevation", SITE)
    if one.fact == "volume":
        loop = next((x for x in plan.loops if x.code == place), None)
        volume = tank.volume_l if tank else loop.volume_l if loop else None
        unit = "" if one.unit == "L" else " L"
        if volume is None:
            return None
        return f"{sure_text(volume, 'L')}{unit}", Source("volume", place)
    if one.fact in ("on", "today"):
        return today.isoformat(), Source("today", SITE)
    if one.fact == "number" and tank is not None:
        return _number_of_fish(site, tank)
    if lot is None or lot.hatched is None:
        return None
    if one.fact == "hatched":
        return lot.hatched.isoformat(), Source("day of hatch", lot.code)
    age = lot.dph(today)
    return (str(age), Source("age", lot.code)) if one.fact == "dph" and age else None


def from_product(product: Product, one: Input) -> tuple[str, Source] | None:
    """What the plan says of a product for a field; None where it says nothing."""
    value = {
        "strength": product.strength,
        "gravity": product.gravity,
        "label_doses": product.label_doses,
        "form": product.form,
    }[one.of_product]
    if not value:
        return None
    shown = value if isinstance(value, str) else sure_text(value, one.unit)
    return shown, Source(product.label, PLAN)


def _number_of_fish(site: Site, tank: Tank) -> tuple[str, Source] | None:
    """The fish of a tank by best estimate: its census, or the book, less what was seen to go."""
    held = best(site, [tank.code]).get(tank.code)
    return None if held is None else (str(held.fish), Source("best estimate", tank.code))


def stale(label: str, at: Instant, now: Instant) -> str:
    """Why a reading is no part of an answer any more."""
    hours = now.hours_since(at)
    if hours < 0:
        return f"{label} is dated {ago(-hours)} from now: look at the clock, or type it."
    return f"{label} is {ago(hours)} old: measure it, or type it."


def _unit_words(item: Item, one: Input) -> str:
    """The unit of a reading where it is not the one the field means anyway."""
    return "" if not item.unit or item.unit == one.unit else f" {item.unit}"
