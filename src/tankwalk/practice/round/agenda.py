"""What a round asks, where, and in which order."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, time

from tankwalk.plan.bands import band_for
from tankwalk.plan.model import Band, Checklist, Item, Plan, Tank
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

LOOK = Checklist("look", "Look again", time(0))
"""What a look goes by; no plan has it."""


class Slot(NamedTuple):
    """One thing asked at one place, with the band in force that day."""

    place: str
    item: Item
    band: Band | None
    instrument: str | None


class Page(NamedTuple):
    """One stop of the walk: the glance lap, the site, a loop, or a tank."""

    kind: str
    title: str
    slots: tuple[Slot, ...]
    tank: Tank | None = None


class Agenda(NamedTuple):
    """A whole round as asked, in walking order."""

    checklist: Checklist
    day: date
    pages: tuple[Page, ...]

    @property
    def slots(self) -> int:
        return sum(len(p.slots) for p in self.pages)


def agenda(site: Site, checklist: Checklist, day: date, before: int) -> Agenda:
    """What the round asks on a local day; `before` is its opening entry (due items by the past)."""
    plan = site.plan
    order = walking_order(plan, day)
    pages: list[Page] = []
    if checklist.glance:
        slots = (_tank_slot(plan, t, plan.item(checklist.glance), day) for t in order)
        pages.append(Page("glance", "Glance lap", tuple(slots)))
    if checklist.site:
        asked = (plan.item(code) for code in checklist.site)
        slots_here = tuple(
            Slot(SITE, i, band_for(plan, i, tank=None, loop=None, on=day), _meter(plan, i, None))
            for i in asked
            if _due(site, i, SITE, day, before)
        )
        if slots_here:
            pages.append(Page("site", "Room and site", slots_here))
    seen_loops: set[tuple[str, bool]] = set()
    for tank in order:
        if checklist.loop and (tank.loop, tank.quarantine) not in seen_loops:
            seen_loops.add((tank.loop, tank.quarantine))
            if not any(p.kind == "loop" and p.slots[0].place == tank.loop for p in pages):
                pages += _loop_page(site, checklist, tank.loop, day, before)
        age = plan.age(tank, day)
        items = (plan.item(code) for code in checklist.tank)
        slots_here = tuple(
            _tank_slot(plan, tank, i, day)
            for i in items
            if i.asked_at(age) and _due(site, i, tank.code, day, before)
        )
        if slots_here:
            pages.append(Page("tank", tank.code, slots_here, tank))
    return Agenda(checklist, day, tuple(pages))


def look(plan: Plan, asked: Sequence[tuple[str, str]], day: date) -> Agenda:
    """A small round that asks a few items (by place and code) and nothing else."""
    pages = []
    for place in dict.fromkeys(place for place, _ in asked):
        items = [plan.item(code) for at, code in asked if at == place]
        tank = plan.find_tank(place)
        if tank is not None:
            slots = tuple(_tank_slot(plan, tank, item, day) for item in items)
            pages.append(Page("tank", place, slots, tank))
            continue
        loop = None if place == SITE else place
        slots = tuple(
            Slot(
                place,
                item,
                band_for(plan, item, tank=None, loop=loop, on=day),
                _meter(plan, item, None),
            )
            for item in items
        )
        kind, title = ("site", "Room and site") if loop is None else ("loop", f"Loop {loop}")
        pages.append(Page(kind, title, slots))
    return Agenda(LOOK, day, tuple(pages))


def _loop_page(site: Site, checklist: Checklist, loop: str, day: date, before: int) -> list[Page]:
    plan = site.plan
    slots = tuple(
        Slot(loop, i, band_for(plan, i, tank=None, loop=loop, on=day), _meter(plan, i, None))
        for i in (plan.item(code) for code in checklist.loop)
        if _due(site, i, loop, day, before)
    )
    return [Page("loop", f"Loop {loop}", slots)] if slots else []


def place_slot(plan: Plan, place: str, item: Item, day: date) -> Slot:
    """An item at a tank or loop, whether the round asks it there or not."""
    tank = plan.find_tank(place)
    if tank is not None:
        return _tank_slot(plan, tank, item, day)
    band = band_for(plan, item, tank=None, loop=place, on=day)
    return Slot(place, item, band, _meter(plan, item, None))


def _tank_slot(plan: Plan, tank: Tank, item: Item, day: date) -> Slot:
    band = band_for(plan, item, tank=tank, loop=tank.loop, on=day)
    return Slot(tank.code, item, band, _meter(plan, item, tank))


def _meter(plan: Plan, item: Item, tank: Tank | None) -> str | None:
    """The meter used by habit: the one that names this tank, else the first of its kind."""
    kind = [m for m in plan.instruments if m.kind == item.instrument]
    for meter in kind:
        if tank is not None and tank.code in meter.tanks:
            return meter.code
    return next((m.code for m in kind if not m.tanks), kind[0].code if kind else None)


def _due(site: Site, item: Item, place: str, day: date, before: int) -> bool:
    """Whether an item that is not asked every time is due at this place on this day."""
    if item.every_days is None:
        return True
    last = site.reader.readings.newest(place, item.code, item.unit, before)
    return last is None or (day - last.at.day).days >= item.every_days
