"""Setting a cone: what of, how much in how much water, and when it is harvested."""

from __future__ import annotations

from collections.abc import Generator

from tankwalk import text
from tankwalk.clock import Instant, ago, at, zone
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import BatchEvent, BatchKind
from tankwalk.plan.model import Plan
from tankwalk.practice import times
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, writer
from tankwalk.practice.livefeed import asking, batches, cones, on_hand
from tankwalk.practice.livefeed.asking import AGAIN, NOT_MEASURED, number, wanted
from tankwalk.practice.livefeed.batches import LiveBatch
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

MOST_G, MOST_L = 5000.0, 2000.0
SMALL_L = 20.0
DENSEST, DENSEST_SMALL = 2.0, 5.0
"""Grams of cysts in a liter, and in a cone of less than 20 L: FAO freshwater prawn manual."""

EARLIEST = 0.75
"""The usual harvest time is taken from this part of the hatching time on: 18 of 24 h."""

OTHER_NAME, OTHER_TIME = "another name", "another harvest time"


class Proposed(NamedTuple):
    """The cone that should be set next, as worked out from the meals to come.

    `source` is the shelled cysts to take, where there are any; `due` the time of its harvest;
    `name` what it is called where it is planned, also when it is set a day early.
    """

    grams: float
    litres: float | None = None
    due: Instant | None = None
    source: str | None = None
    name: str = ""


class PlannedCone(NamedTuple):
    """A cone that should be set: under which name, how much of what, and by when.

    `hatch` in percent and `per_gram` are what its grams were reckoned by.
    """

    name: str
    set_by: Instant
    proposed: Proposed
    lot: str | None = None
    hatch: float | None = None
    per_gram: float | None = None


def set_cone(site: Site, hand: Hand, proposed: Proposed | None = None) -> Talk:
    """Set a cone: what of, how much in how much, its water, and when it is due."""
    from tankwalk.ledger.entries import Batch, BatchOf

    plan, now = site.plan, site.now()
    who = yield from writer(site, hand, "Who sets the cone?")
    lot, source, left = yield from _what_of(site, now, proposed)
    planned = "" if proposed is None else proposed.name
    name, due = planned or batches.free_name(site, "A", now), _due(plan, now, proposed)
    while True:
        grams = yield from wanted(
            number(f"{name}, cysts", "g", 0.1, MOST_G, proposed=_grams(proposed))
        )
        litres = yield from wanted(
            number(f"{name}, water", "L", 0.1, MOST_L, proposed=_litres(plan, grams, proposed))
        )
        water = yield from _water(name, plan.hatching.salinity)
        while True:
            doubts = [*_set_doubts(grams, litres, left, water), *_time_doubts(site, now, due)]
            batch = Batch(name, BatchEvent.SET, lot, grams, litres, *water, due_at=due.utc)
            words = (
                f"{name}: {grams:g} g of {source or lot} in {litres:g} L, harvest {due.told(now)}"
            )
            chosen = yield from asking.kept(
                site, who, words, (batch, BatchOf(BatchKind.CONE, source)), doubts,
                (OTHER_NAME, OTHER_TIME),
            )  # fmt: skip
            if not chosen:
                return f"Kept: {words}. Label it {name}."
            if chosen == AGAIN:
                break
            if chosen == OTHER_NAME:
                name = yield from asking.name(site, name)
            else:
                due = yield from _another_time(site, due)


def _grams(proposed: Proposed | None) -> float | None:
    """What is proposed to be weighed, to a tenth of a gram."""
    return None if proposed is None or proposed.grams <= 0 else round(proposed.grams, 1)


def _another_time(site: Site, due: Instant) -> Generator[Step, Answer, Instant]:
    told = ""
    while True:
        answer = yield Step("Harvest at? A time of day, as 0830:", writes=True, told=told)
        try:
            when = times.typed(site, answer.words)
        except Refusal as refusal:
            told = str(refusal)
            continue
        # Cysts take most of a day: a time that is nearer is meant for the day after.
        return when if when.hours_since(site.now()) >= 12 else Instant(when.utc + 86400, due.offset)


def _what_of(
    site: Site, now: Instant, proposed: Proposed | None
) -> Generator[Step, Answer, tuple[str | None, str | None, float | None]]:
    """The lot of cysts, what the cone is set from where it is a batch of its own, and its grams."""
    shelled = [b for b in batches.live_batches(site, now) if b.kind is BatchKind.SHELLED]
    stock = [
        tin
        for one in on_hand.on_hand(site, now, {})
        if one.kind is BatchKind.CYSTS
        for tin in one.tins
        if tin.opened is not None
    ]
    found: list[tuple[str, str | None, str | None, float | None]] = [
        (f"{b.name}, shelled, {b.grams or 0:g} g", _lot_of(b), b.name, b.grams) for b in shelled
    ]
    found += [
        (f"{tin.name} of {tin.of}" if tin.name != tin.of else tin.name, tin.of, tin.name, tin.grams)
        for tin in stock
    ]
    known = {tin.of for tin in stock}
    found += [(one.code, one.code, None, None) for one in site.plan.cysts if one.code not in known]
    if proposed is not None and proposed.source:
        found.sort(key=lambda one: one[2] != proposed.source)
    if len(found) == 1:
        return found[0][1:]
    choices = tuple(words for words, *_ in found)
    answer = yield Step("Cysts of:", choices, "another lot", writes=True)
    if answer.number:
        return found[answer.number - 1][1:]
    return text.clean(answer.words, limit=20), None, None


def _lot_of(one: LiveBatch) -> str | None:
    begun = one.begun
    return None if begun is None else begun.lot or begun.source


def _due(plan: Plan, now: Instant, proposed: Proposed | None) -> Instant:
    """When a cone that is set now is harvested: as proposed, by habit, or after its hours."""
    if proposed is not None and proposed.due is not None:
        return proposed.due
    hatching = plan.hatching
    if hatching.harvest is not None:
        earliest = Instant(now.utc + round(EARLIEST * hatching.hours * 3600), now.offset)
        when = at(earliest.day, hatching.harvest.hour, hatching.harvest.minute, zone(plan.zone))
        return when if when.utc >= earliest.utc else Instant(when.utc + 86400, when.offset)
    return Instant(now.utc + round(hatching.hours * 3600), now.offset)


def _litres(plan: Plan, grams: float, proposed: Proposed | None) -> float:
    """The water for so many grams: as proposed for those, else by the plan's grams in a liter."""
    if proposed is not None and proposed.litres and grams == round(proposed.grams, 1):
        return proposed.litres
    return round(grams / plan.hatching.grams_per_l, 1) or 0.1


Water = tuple[float | None, float | None, float | None]
"""degC, pH and g/kg, None where it was not measured."""


def _water(name: str, salinity: float) -> Generator[Step, Answer, Water]:
    temperature = yield from number(f"{name}, water", "degC", 0, 45, skip=NOT_MEASURED)
    ph = yield from number(f"{name}, pH", "", 4, 11, skip=NOT_MEASURED)
    salt = yield from number(
        f"{name}, salt", "g/kg", 0, 120, proposed=salinity, as_what="by the plan", skip=NOT_MEASURED
    )
    return temperature, ph, salt


def _set_doubts(grams: float, litres: float, left: float | None, water: Water) -> list[str]:
    most = DENSEST_SMALL if litres < SMALL_L else DENSEST
    found = []
    if grams / litres > most + 1e-9:
        found.append(
            f"{grams / litres:.1f} g in a liter is more than the {most:g} that hatch well."
        )
    if left is not None and grams > left + 0.05:
        found.append(f"There should be {left:.1f} g of it left.")
    return [*found, *water_advice(*water[:2])]


def _time_doubts(site: Site, now: Instant, due: Instant) -> list[str]:
    """A cone that is set long before it need be: what hatches eats itself up until its harvest."""
    ready = Instant(now.utc + round(site.plan.hatching.hours * 3600), now.offset)
    early = due.hours_since(ready)
    if early <= cones.HARVEST_LATE_HOURS:
        return []
    return [
        f"Set now it is ready {ready.told(now)}, {ago(early)} before that harvest, "
        "and they starve until then: set it later, or harvest it earlier."
    ]


def water_advice(temperature: float | None, ph: float | None) -> list[str]:
    """What to do about hatching water that is out of band; nothing where it is right."""
    found = []
    if temperature is not None and temperature < cones.COLDEST:
        found.append(
            f"{temperature:g} degC is cold, 25 to 28 hatch: warm it now, or it is late and poor. "
            "Set another cone, or have the cold store full."
        )
    if temperature is not None and temperature > cones.HOTTEST:
        found.append(f"{temperature:g} degC: over 33 they stop for good. Cool it now.")
    if ph is not None and ph < cones.LOWEST_PH:
        found.append(f"pH {ph:g} is under 8: add sodium bicarbonate, up to 1 g in a liter.")
    return found
