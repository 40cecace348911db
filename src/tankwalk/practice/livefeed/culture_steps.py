"""Cultures by number: begun, counted with their eggs, harvested, fed, split, begun again."""

from __future__ import annotations

from collections.abc import Generator
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import BatchEvent, BatchKind, CountOf
from tankwalk.plan.vessels import Culture, CultureKind
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, writer
from tankwalk.practice.livefeed import asking
from tankwalk.practice.livefeed.asking import NOT_MEASURED, number, wanted, whole
from tankwalk.practice.livefeed.batches import LiveBatch
from tankwalk.practice.livefeed.cultures import EGGS_ACT, EGGS_WATCH, HALF
from tankwalk.practice.site import Site
from tankwalk.science import livefeed

if TYPE_CHECKING:
    from tankwalk.ledger.entries import Batch, Counted

MOST_L = 20_000.0
MOST_CELLS = 1e9
MOST_ROTIFERS = 20_000.0

BACKUP = 2
"""The number of a backup vessel among the places to which the rest of a split goes."""


def vessel_of(one: LiveBatch) -> Culture:
    """The culture of the plan that a batch is. Refusal where it is none."""
    if one.culture is None:
        raise Refusal(f"{one.name} is no [[culture]] of the plan: add it there first.")
    return one.culture


def count(site: Site, hand: Hand, one: LiveBatch) -> Talk:
    """Count a culture: rotifers with the eggs they carry, or cells of algae."""
    vessel = vessel_of(one)
    who = yield from writer(site, hand, f"Who counts {one.name}?")
    while True:
        if vessel.kind is CultureKind.ALGAE:
            per_ml = yield from wanted(number(f"{one.name} cells", "per mL", 0, MOST_CELLS))
            found: tuple[Counted, ...] = ()
        else:
            per_ml, found = yield from _rotifers(one)
        temperature = yield from number(f"{one.name} water", "degC", 0, 45, skip=NOT_MEASURED)
        words, details, doubts = counted(one, per_ml, found, temperature)
        again = yield from asking.kept(site, who, words, details, doubts)
        if not again:
            return f"Kept: {words}."


def _rotifers(
    one: LiveBatch,
) -> Generator[Step, Answer, tuple[float, tuple[Counted, ...]]]:
    from tankwalk.ledger.entries import Counted

    ml = yield from wanted(
        number(f"{one.name}: counted in all", "mL", 0.01, 100, proposed=1.0, as_what="as usual")
    )
    dilution = yield from wanted(
        number("Diluted how many times", "", 1, 1000, proposed=1.0, as_what="not diluted")
    )
    females = yield from whole("Rotifers in it", 100_000)
    eggs = yield from whole("Eggs they carry", 100_000)
    return females * dilution / ml, (
        Counted(CountOf.ROTIFERS, ml, dilution, str(females)),
        Counted(CountOf.EGGS, ml, dilution, str(eggs)),
    )


def counted(
    one: LiveBatch,
    per_ml: float,
    counts: tuple[Counted, ...] = (),
    temperature: float | None = None,
) -> tuple[str, tuple[Batch | Counted, ...], list[str]]:
    """A count of a culture: its words, its details, and what speaks against it."""
    from tankwalk.ledger.entries import Batch

    words = f"{one.name} counted: {per_ml:,.0f} per mL"
    by_what = {c.what: sum(map(int, c.counts.split())) * c.dilution / c.ml for c in counts}
    females, eggs = by_what.get(CountOf.ROTIFERS), by_what.get(CountOf.EGGS)
    doubts = []
    if females and eggs is not None:
        ratio = livefeed.egg_ratio(eggs, females)
        words += f", {ratio:.2f} eggs per female"
        if ratio < EGGS_ACT:
            doubts.append(
                f"Under {EGGS_ACT:g} eggs per female a culture goes down: begin it again."
            )
        elif ratio < EGGS_WATCH:
            doubts.append(f"Under {EGGS_WATCH:g} eggs per female: harvest nothing, count again.")
    before = one.counts[-1].per_ml if one.counts else None
    if before and not HALF * before <= per_ml <= before / HALF:
        doubts.append(f"The last count was {before:,.0f} per mL.")
    batch = Batch(one.name, BatchEvent.COUNT, temperature=temperature, per_ml=per_ml)
    return words, (batch, *counts), doubts


def harvest(site: Site, hand: Hand, one: LiveBatch) -> Talk:
    """Take a part of a culture and fill it up again."""
    from tankwalk.ledger.entries import Batch

    vessel = vessel_of(one)
    who = yield from writer(site, hand, f"Who harvests {one.name}?")
    full, part = volume(one), vessel.harvest
    proposed = round(full * part, 1) if full and part else None
    as_what = f"{100 * part:g} %" if part else ""
    litres = yield from wanted(
        number(f"{one.name} taken", "L", 0.01, MOST_L, proposed=proposed, as_what=f"({as_what})")
    )
    per_ml = one.counts[-1].per_ml if one.counts else None
    doubts = []
    if full and litres > 0.5 * full:
        doubts.append(f"That is {100 * litres / full:.0f} % of {full:g} L: over half sets it back.")
    words = f"{one.name}: {litres:g} L taken"
    if per_ml and full and litres <= full:
        taken = livefeed.culture_harvest(per_ml, full, litres / full)
        words += f" = {taken.number / 1e6:,.2f} million; {taken.density:,.0f} per mL when filled up"
    batch = Batch(one.name, BatchEvent.HARVEST, litres=litres, per_ml=None, text="filled up again")
    again = yield from asking.kept(site, who, words, (batch,), doubts)
    return f"Kept: {words}. Fill it up again, then feed it." if not again else _nothing()


def feed(site: Site, hand: Hand, one: LiveBatch) -> Talk:
    """Feed a culture by its number."""
    from tankwalk.ledger.entries import Batch

    vessel = vessel_of(one)
    who = yield from writer(site, hand, f"Who feeds {one.name}?")
    proposed = ration(one)
    what = vessel.food or "food"
    grams = yield from wanted(
        number(f"{one.name}, {what}", "g", 0.01, 10_000, proposed=proposed, as_what="by number")
    )
    doubts = []
    if proposed and not 0.5 * proposed <= grams <= 2 * proposed:
        doubts.append(f"By its number it gets {proposed:g} g.")
    batch = Batch(one.name, BatchEvent.FEED, grams=grams, text=what)
    words = f"{one.name} fed: {grams:g} g of {what}"
    again = yield from asking.kept(site, who, words, (batch,), doubts)
    return f"Kept: {words}." if not again else _nothing()


def split(site: Site, hand: Hand, one: LiveBatch) -> Talk:
    """Split algae: what stays in the vessel, the rest into a new one or to the rotifers."""
    from tankwalk.ledger.entries import Batch

    who = yield from writer(site, hand, f"Who splits {one.name}?")
    stays = yield from wanted(number(f"{one.name} that stays", "L", 0.01, MOST_L))
    answer = yield Step(
        "The rest goes to:", ("the rotifers", "a backup vessel", "the drain"), "elsewhere", True
    )
    where = text.clean(answer.words, limit=60)
    batch = Batch(one.name, BatchEvent.DILUTE, litres=stays, text=f"split, the rest to {where}")
    words = f"{one.name} split: {stays:g} L stay, the rest to {where}"
    full = volume(one)
    doubts = [f"It holds {full:g} L."] if full and stays > full else []
    again = yield from asking.kept(site, who, words, (batch,), doubts)
    if again:
        return _nothing()
    backup = f" It is no vessel of the plan: write the day and {one.name} on it."
    more = backup if answer.number == BACKUP else ""
    return f"Kept: {words}. Fill it up with fresh medium.{more}"


def begin(site: Site, hand: Hand, one: LiveBatch, backup: str | None = None) -> Talk:
    """Begin a culture, or begin it again from its backup."""
    from tankwalk.ledger.entries import Batch, BatchOf

    vessel = vessel_of(one)
    who = yield from writer(site, hand, f"Who begins {one.name}?")
    sisters = tuple(
        c.code for c in site.plan.cultures if c.kind is vessel.kind and c.code != one.name
    )
    if backup in sisters:
        sisters = (str(backup), *(code for code in sisters if code != backup))
    answer = yield Step(f"{one.name} from:", sisters, "another source", writes=True)
    source = text.clean(answer.words, limit=40)
    litres = yield from wanted(
        number(f"{one.name} filled to", "L", 0.01, MOST_L, proposed=vessel.litres, as_what="(full)")
    )
    most = MOST_CELLS if vessel.kind is CultureKind.ALGAE else MOST_ROTIFERS
    per_ml = yield from number(f"{one.name} begins at", "per mL", 0, most, skip="count it later")
    batch = Batch(one.name, BatchEvent.SET, litres=litres, per_ml=per_ml)
    words = f"{one.name} begun from {source} in {litres:g} L"
    details = (batch, BatchOf(BatchKind(vessel.kind.value), source))
    again = yield from asking.kept(site, who, words, details)
    return f"Kept: {words}." if not again else _nothing()


def _nothing() -> str:
    return "Nothing was kept: Enter begins again."


def volume(one: LiveBatch) -> float | None:
    """Liters a culture holds: by the plan, else as it was begun."""
    if one.culture is not None and one.culture.litres:
        return one.culture.litres
    begun = one.begun
    return None if begun is None else begun.litres


def ration(one: LiveBatch) -> float | None:
    """Grams of food a day for as many as were counted last; None where that is not known."""
    full = volume(one)
    vessel = one.culture
    if vessel is None or not vessel.food_per_million or not one.counts or not full:
        return None
    many = one.counts[-1].per_ml * 1000 * full * _stayed(one, full)
    return round(livefeed.rotifer_ration(many, vessel.food_per_million), 2)


def _stayed(one: LiveBatch, full: float) -> float:
    """The part of what was counted last that no harvest has taken since."""
    counted = one.counts[-1]
    part = 1.0
    for event in one.events:
        since = (event.at.utc, event.n) > (counted.at.utc, counted.n)
        if since and event.event == BatchEvent.HARVEST and event.litres:
            part *= max(0.0, 1 - event.litres / full)
    return part
