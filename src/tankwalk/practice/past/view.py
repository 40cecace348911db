"""A place and its past as one value: plots, dead, flags by day, story, what was done last time."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from enum import Enum

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.stock import MovedFish
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import MASS_EVENT, Instrument, Item, Level, Lot, Plan, Tank
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.incidents import looking
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.past import dead as deaths
from tankwalk.practice.past.dead import Dead
from tankwalk.practice.past.dead_usual import usual_then
from tankwalk.practice.past.last_time import LastTime, last_time
from tankwalk.practice.past.logged import Logged, logged
from tankwalk.practice.past.meter_past import (
    ReadBeside,
    checks,
    drift,
    find_meter,
    meter_story,
    read_beside,
    suspect_days,
)
from tankwalk.practice.past.series import Series, grown, series
from tankwalk.practice.past.story import Raised, StoryLine, story
from tankwalk.practice.past.window import DAYS, Window, window
from tankwalk.practice.samples.since import samples_since
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.stock.dead import MORTS
from tankwalk.practice.stock.numbers import StockNumbers, numbers
from tankwalk.rows import NamedTuple

GAUGES = ("do", "temp", "ph", "flow")
"""What is drawn where nothing is out and nothing was chosen: the first two of these in the plan."""

IN_A_ROW_DAYS = 120
"""Of a longer window one row tells nothing."""

DRAWN = 2
"""So many items are drawn large."""

SAMPLED = (("length", "mm"), ("mass", "mg"))
"""Samples whose means are drawn as growth."""


class PlaceKind(Enum):
    """What a place is."""

    TANK = "tank"
    LOOP = "loop"
    SITE = "site"
    METER = "meter"


class Choice(NamedTuple):
    """Something that can be drawn here, by its code."""

    code: str
    label: str


GROWN = tuple(f"sample {what}" for what, _ in SAMPLED)
"""The codes by which growth is drawn."""

GROWN_CHOICES = tuple(
    Choice(code, f"{what.capitalize()}, samples")
    for code, (what, _) in zip(GROWN, SAMPLED, strict=True)
)


class DayMark(NamedTuple):
    """The worst that a day of the window had: a flag, CHECK for suspect readings alone."""

    day: date
    flag: Flag
    items: tuple[str, ...]


class PlaceView(NamedTuple):
    """All that the page shows, read in one go."""

    place: str
    kind: PlaceKind
    now: Instant
    window: Window
    tank: Tank | None
    meter: Instrument | None
    lot: Lot | None
    dph: int | None
    wrong: tuple[Standing, ...]
    """Flags that stand here, worst first."""
    look: Instant | None
    """When the worst of them is looked at again."""
    plots: tuple[Series, ...]
    """Drawn large, the first of them what matters most or was chosen."""
    level: Series | None
    """One more item that stands out, drawn in one row where there is room."""
    numbers: StockNumbers | None
    """Its fish as they stand now: book, census, best estimate."""
    dead: Dead | None
    """None for what is no tank."""
    marks: tuple[DayMark, ...]
    story: tuple[StoryLine, ...]
    last: LastTime | None
    """The last flag of the item of the worst flag, here or at a sister."""
    growth: tuple[Series, ...]
    choices: tuple[Choice, ...]
    beside: tuple[ReadBeside, ...]
    """What a meter read; empty for a place."""
    logged: tuple[Logged, ...]
    """What loggers and old sheets hold of the items that are drawn."""
    before: str
    after: str
    """The places before and after it, as they are walked."""


def places(plan: Plan, on: date) -> tuple[str, ...]:
    """Every place that has a page, as they are walked: tanks, then loops, then the site."""
    tanks = tuple(tank.code for tank in walking_order(plan, on))
    return (*tanks, *(loop.code for loop in plan.loops), SITE)


def find_place(plan: Plan, typed: str) -> str | None:
    """A place by its code, or by its number alone: "7" is T07; None where there is none."""
    wanted = typed.strip().upper()
    for tank in plan.tanks:
        if tank.code.upper() == wanted:
            return tank.code
    for loop in plan.loops:
        if loop.code.upper() == wanted:
            return loop.code
    if wanted == SITE.upper():
        return SITE
    if wanted.isdecimal():
        same = [tank.code for tank in plan.tanks if _number(tank.code) == int(wanted)]
        return same[0] if len(same) == 1 else None
    return None


def find_page(plan: Plan, typed: str) -> str | None:
    """A place or a meter by its code or number; None where there is none."""
    meter = find_meter(plan, typed)
    return find_place(plan, typed) or (None if meter is None else meter.code)


def _number(code: str) -> int | None:
    digits = "".join(c if c.isdecimal() else " " for c in code).split()
    return int(digits[-1]) if digits else None


def place_view(
    site: Site, place: str, days: int = DAYS, back: int = 0, item: str = "", *, whole: bool = False
) -> PlaceView:
    """A tank, a loop or the site with its past.

    `back` is how many days before today the window ends; `item` is drawn first. `whole` tells the
    meals and samples as well, which a page reads once its story is opened. Refusal for a place or
    an item that is not there.
    """
    plan, now = site.plan, site.now()
    found = find_place(plan, place)
    meter = find_meter(plan, place) if found is None else None
    if meter is not None:
        with site.ledger.reading():
            return _read_meter(site, meter, window(site, now, days, back), now)
    if found is None:
        raise Refusal(f"{place[:20]!r} is no tank, no loop and no meter of the plan.")
    with site.ledger.reading():
        return _read(site, found, window(site, now, days, back), item, now, whole=whole)


class _Standing(NamedTuple):
    """The newest readings, and the flags that stand, worst first."""

    newest: dict[tuple[str, str], Seen]
    wrong: tuple[Standing, ...]


def _standing(site: Site, now: Instant) -> _Standing:
    """What stands now, found once for all the tanks one goes through."""

    def found() -> _Standing:
        newest = site.reader.readings.newest_of_all()
        return _Standing(newest, wrong_now(site, newest, now).wrong)

    return site.worked("standing for a past", found)


def _read(
    site: Site, place: str, span: Window, chosen: str, now: Instant, *, whole: bool
) -> PlaceView:
    plan = site.plan
    tank = plan.find_tank(place)
    kind = PlaceKind.TANK if tank else PlaceKind.SITE if place == SITE else PlaceKind.LOOP
    newest, every_flag = _standing(site, now)
    wrong = tuple(one for one in every_flag if place in (one.place, *one.places))
    growth: tuple[Series, ...] = ()
    if tank is not None and (whole or chosen in GROWN):
        samples = samples_since(site, span.since)
        found = (grown(place, samples, what, unit, span) for what, unit in SAMPLED)
        growth = tuple(one for one in found if one is not None)
    here = _asked_here(plan, kind)
    drawn = _drawn(here, growth, wrong, chosen)
    plots = tuple(
        one if isinstance(one, Series) else series(site, place, one, span) for one in drawn
    )
    told = story(site, place, span, whole=whole)
    beside = _beside(plan, wrong, [one.item.code for one in plots], here)
    level = None
    if beside is not None and span.days <= IN_A_ROW_DAYS:
        level = series(site, place, beside, span)
    last = None
    if wrong:
        about = plan.find_item(wrong[0].key.item)
        last = None if about is None else last_time(site, place, about, wrong[0].raised)
    fish = None if tank is None else numbers(site, [place]).get(place)
    every = places(plan, now.day)
    at = every.index(place)
    return PlaceView(
        place,
        kind,
        now,
        span,
        tank,
        None,
        None if tank is None else plan.lot_of(tank),
        None if tank is None else plan.age(tank, now.day),
        wrong,
        looking.due(plan, wrong[0], newest, now) if wrong else None,
        plots,
        level,
        fish,
        None
        if tank is None
        else deaths.dead(fish, span, usual_then(site, place, Instant(span.until, now.offset))),
        _marks(told, (*plots, *((level,) if level else ())), span),
        told,
        last,
        growth,
        tuple(Choice(one.code, one.label) for one in here) + (GROWN_CHOICES if tank else ()),
        (),
        logged(site, place, [one.item for one in plots], span, now),
        every[at - 1],
        every[(at + 1) % len(every)],
    )


def _read_meter(site: Site, meter: Instrument, span: Window, now: Instant) -> PlaceView:
    """A meter: its checks, suspect spans, and what was read with it."""
    marks = [one for one in site.reader.meters.marks(span.since) if one.instrument == meter.code]
    seen = checks(site, meter, span)
    drawn = drift(meter, seen, span)
    wrong = tuple(
        one
        for one in _standing(site, now)[1]
        if one.key.kind == "meter" and one.key.code == meter.code
    )
    told = sorted(meter_story(site, meter, seen, marks), key=lambda one: (-one.at.utc, -one.n))
    every = [one.code for one in site.plan.instruments]
    at = every.index(meter.code)
    bad = {
        span.day(nth)
        for first, last in suspect_days(marks, now.offset)
        for nth in range(span.days)
        if first <= span.day(nth) <= last
    }
    failed = {one.at.day for one in seen if not one.passed}
    days = tuple(
        DayMark(day, Flag.ACT if day in failed else Flag.CHECK, (meter.check or "check",))
        for day in sorted(bad | failed)
    )
    return PlaceView(
        meter.code, PlaceKind.METER, now, span, None, meter, None, None, wrong, None, (drawn,),
        None, None, None, days, tuple(told), None, (), (), read_beside(site, meter, span, marks),
        (), every[at - 1], every[(at + 1) % len(every)],
    )  # fmt: skip


def _asked_here(plan: Plan, kind: PlaceKind) -> tuple[Item, ...]:
    """The items that are read or worked out at such a place, without the dead: they have bars."""
    level = Level(kind.value)
    return tuple(one for one in plan.items if one.level is level and one.code != MORTS)


def _drawn(
    here: Sequence[Item], growth: Sequence[Series], wrong: Sequence[Standing], chosen: str
) -> list[Item | Series]:
    """What is drawn: what was chosen, what is out, what kills first; Refusal for no such item."""
    items = {one.code: one for one in here}
    grew = {one.item.code: one for one in growth}
    found: list[Item | Series] = []
    if chosen:
        if chosen in grew:
            found.append(grew[chosen])
        elif chosen in items:
            found.append(items[chosen])
        elif chosen in GROWN:
            pass  # nothing was sampled in the window
        else:
            known = ", ".join((*items, *grew))
            raise Refusal(f"{chosen[:20]!r} is not drawn here. There are: {known}.")
    out = [code for one in wrong for code in _measured(one.key.item)]
    banded = {one.code for one in here if one.kind.by_band}
    wanted = [
        *(code for code in out if code in banded),
        *GAUGES,
        *(one.code for one in here if one.kind.by_band and not one.derived),
        *(one.code for one in here),
    ]
    for code in wanted:
        item = items.get(code)
        same = looking.measured_with(code) & {one.code for one in found if isinstance(one, Item)}
        if item is not None and not same and len(found) < DRAWN:
            found.append(item)  # of a value and what is worked out from it one is enough
    return found


def _measured(code: str) -> tuple[str, ...]:
    """What is drawn for an item: of one that is worked out, what it is worked out from as well."""
    if code not in BY_CODE:
        return (code,)
    return (code, *(part for _, part in BY_CODE[code].items))


def _beside(
    plan: Plan, wrong: Sequence[Standing], drawn: Sequence[str], here: Sequence[Item]
) -> Item | None:
    """One more item worth a row: the next that is out, else one that its flag is seen by."""
    codes = {one.code: one for one in here}
    for one in wrong:
        item = codes.get(one.key.item)
        if item is not None and item.kind.by_band and not item.derived and item.code not in drawn:
            return item
    for code in ("level", "flow"):
        if code in codes and code not in drawn:
            return codes[code]
    return None


def _marks(told: Sequence[StoryLine], drawn: Sequence[Series], span: Window) -> tuple[DayMark, ...]:
    """The worst of each day that had a flag or suspect readings, oldest first."""
    found: dict[date, tuple[Flag, dict[str, None]]] = {}

    def mark(day: date, flag: Flag, item: str) -> None:
        worst, items = found.setdefault(day, (flag, {}))
        items[item] = None
        found[day] = max(worst, flag), items

    for line in told:
        if isinstance(line.about, Raised) and not line.about.suspect:
            flag = Flag(line.about.seen.flag)
            mark(line.at.day, flag, line.item.label if line.item else line.about.seen.item)
        elif line.item is MASS_EVENT and isinstance(line.about, MovedFish):
            mark(line.at.day, Flag.URGENT, MASS_EVENT.label)
    for one in drawn:
        for look in one.looks:
            if look.suspect:
                mark(look.at.day, Flag.CHECK, one.item.label)
    return tuple(
        DayMark(day, flag, tuple(items))
        for day, (flag, items) in sorted(found.items())
        if span.first <= day <= span.last
    )


def first_place(site: Site) -> str:
    """The place of the worst flag that has a page; the first one walked where nothing is wrong."""
    with site.ledger.reading():
        now = site.now()
        wrong = _standing(site, now).wrong
    return worst_place(site.plan, wrong, now) or places(site.plan, now.day)[0]


def worst_place(plan: Plan, wrong: Sequence[Standing], now: Instant) -> str:
    """The tank or loop of the worst flag that has a page; "" where there is none."""
    known = set(places(plan, now.day))
    return next(
        (place for one in wrong for place in (one.place, *one.places) if place in known), ""
    )
