"""A round: what it asks, where, in which order; opening, resuming and signing it."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.plan.bands import band_for
from tankwalk.plan.model import Band, Checklist, Item, Plan, Tank
from tankwalk.practice.site import SITE, Site

SIGNING = "I took these readings, and they are what I saw"
"""What a signature under a round means."""

OPEN_HOURS = 18.0
"""A round left unsigned longer than this is not taken up again. Common practice, no source."""


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


def _loop_page(site: Site, checklist: Checklist, loop: str, day: date, before: int) -> list[Page]:
    plan = site.plan
    slots = tuple(
        Slot(loop, i, band_for(plan, i, tank=None, loop=loop, on=day), _meter(plan, i, None))
        for i in (plan.item(code) for code in checklist.loop)
        if _due(site, i, loop, day, before)
    )
    return [Page("loop", f"Loop {loop}", slots)] if slots else []


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


def due_checklist(site: Site, now: Instant) -> Checklist:
    """The round a person most likely wants now: the nearest in time that is not signed today."""
    if not site.plan.checklists:
        raise Refusal("The plan has no checklist: add a [[checklist]] to plan.toml.")
    minute = now.wall.hour * 60 + now.wall.minute

    def distance(checklist: Checklist) -> int:
        apart = abs(checklist.at.hour * 60 + checklist.at.minute - minute)
        return min(apart, 1440 - apart)

    done = signed_today(site, now)
    still = [c for c in site.plan.checklists if c.code not in done]
    return min(still or site.plan.checklists, key=distance)


def signed_today(site: Site, now: Instant) -> dict[str, RoundSeen]:
    """Rounds of this local day that are signed, by checklist."""
    found: dict[str, RoundSeen] = {}
    for seen in site.reader.rounds.newest():
        if seen.signed is not None and seen.opened.day == now.day:
            found.setdefault(seen.checklist, seen)
    return found


def named_checklist(site: Site, name: str | None) -> Checklist:
    """The round a person names by code or label; the one that is due when they name none."""
    if name is None:
        return due_checklist(site, site.now())
    for one in site.plan.checklists:
        if name.casefold() in (one.code.casefold(), one.label.casefold()):
            return one
    known = ", ".join(c.code for c in site.plan.checklists)
    raise Refusal(f"There is no round {text.clean(name)[:20]!r} in the plan ({known}).")


def unsigned(site: Site, checklist: Checklist, now: Instant) -> RoundSeen | None:
    """A round of this checklist that was begun and can still be taken up."""
    for found in site.reader.rounds.newest():
        fresh = now.hours_since(found.opened) <= OPEN_HOURS
        if found.checklist == checklist.code and found.signed is None and fresh:
            return found
    return None


def begin(site: Site, checklist: Checklist, who: str) -> RoundSeen:
    """Take up the unsigned round of this checklist, or open a new one."""
    now = site.now()
    who = site.signs(who)
    with site.ledger.writing() as ledger:
        found = unsigned(site, checklist, now)
        if found is not None:
            if found.who != who:
                _record(site, now, who, found.number, checklist.code, "resume")
            return found
        number = ledger.reader.rounds.next_number()
        n = _record(site, now, who, number, checklist.code, "open")
    return RoundSeen(number, n, checklist.code, who, now, None, None)


def sign(site: Site, found: RoundSeen, who: str) -> None:
    """Sign a round: what it says is `SIGNING`."""
    now = site.now()
    _record(site, now, who, found.number, found.checklist, "sign", SIGNING)


def _record(
    site: Site,
    now: Instant,
    who: str,
    number: int,
    checklist: str,
    event: str,
    meaning: str | None = None,
) -> int:
    """One event of a round; what only reads rounds (the board) need not load what writes them."""
    from tankwalk.ledger.entries import Entry, Round

    detail = Round(number, checklist, event, meaning)
    return site.record(Entry("round", who, now, now, SITE, round=number), detail)
