"""Cones and the cold store by number: set, checked, harvested, counted, chilled, thrown out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.clock import Instant, ago
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import BatchEvent, BatchSeen
from tankwalk.practice.dialog import Hand, Step, Talk, writer
from tankwalk.practice.livefeed import asking, cones
from tankwalk.practice.livefeed.asking import NOT_MEASURED, number, wanted
from tankwalk.practice.livefeed.batches import LiveBatch
from tankwalk.practice.livefeed.setting import water_advice
from tankwalk.practice.site import Site
from tankwalk.science.livefeed import hatch_yield

if TYPE_CHECKING:
    from tankwalk.ledger.entries import Batch, Counted

DENSEST_STORE = 8000.0
"""Nauplii per mL in the cold store, 8 million in a liter: Ghent University, course notes."""

MOST_L = 2000.0
FAR = 0.5
"""A hatch below this part of the usual is doubted, and one beyond it. Common practice."""

VOLUMES = 3.0
"""A harvest in more than so many times the water of its cone is asked about. Common practice."""

REST = 0.05
"""So small a part of a batch may stay out of the cold store unsaid: what stays in the jug."""

ALL_LEFT = "all that is left"
WHY_OUT = ("used up", "too old", "poor or dead", "spilled", "not needed")
AIR = ("rolling", "weak", "stopped")
INSTAR = ("instar I", "some instar II", "mostly instar II")


def check(site: Site, hand: Hand, one: LiveBatch) -> Talk:
    """Look after a cone: temperature, pH, air and light; out of band is told with what to do."""
    from tankwalk.ledger.entries import Batch

    who = yield from writer(site, hand, f"Who checks {one.name}?")
    while True:
        temperature = yield from number(f"{one.name} water", "degC", 0, 45, skip=NOT_MEASURED)
        ph = yield from number(f"{one.name} pH", "", 4, 11, skip=NOT_MEASURED)
        air = yield Step("Air in the cone:", AIR)
        light = yield Step("Light over it:", ("on", "off"))
        wrong = [f"air {air.words}"] if air.number > 1 else []
        wrong += ["light off"] if light.number == 2 else []
        advice = water_advice(temperature, ph)
        if air.number > 1:
            advice.append("Bring the air back now: without it they die in minutes.")
        if light.number == 2:
            advice.append("Put the light on: 2,000 lux for the first hours.")
        batch = Batch(
            one.name,
            BatchEvent.CHECK,
            temperature=temperature,
            ph=ph,
            text=", ".join(wrong) or None,
        )
        found = [f"{temperature:g} degC" if temperature is not None else ""]
        found += [f"pH {ph:g}" if ph is not None else "", *wrong]
        words = f"{one.name} checked: {', '.join(filter(None, found)) or 'air and light right'}"
        again = yield from asking.kept(site, who, words, (batch,), advice)
        if not again:
            return " ".join([f"Kept: {words}.", *advice])


def harvest(site: Site, hand: Hand, one: LiveBatch) -> Talk:
    """Harvest a cone: how much, how dense by count, how old; the hatch is worked out."""
    from tankwalk.ledger.entries import Batch

    who = yield from writer(site, hand, f"Who harvests {one.name}?")
    while True:
        litres = yield from wanted(number(f"{one.name} rinsed, in all", "L", 0.05, MOST_L))
        per_ml = yield from number(
            "Nauplii counted", "per mL", 0.1, 200_000, skip="count it in a moment"
        )
        instar = yield Step("How old are they?", INSTAR)
        hatch = hatch_of(site, one, litres, per_ml)
        aged = instar.words if instar.number > 1 else None
        batch = Batch(
            one.name,
            BatchEvent.HARVEST,
            litres=litres,
            per_ml=per_ml,
            hatch_percent=hatch,
            text=aged,
        )
        words = f"{one.name} harvested: {harvest_words(litres, per_ml, hatch)}"
        doubts = [*_early_doubts(site.now(), one), *_volume_doubts(one, litres),
                  *hatch_doubts(site, one, hatch)]  # fmt: skip
        again = yield from asking.kept(site, who, words, (batch,), doubts)
        if not again:
            return f"Kept: {words}." + ("" if per_ml else " Count it next.")


def _early_doubts(now: Instant, one: LiveBatch) -> list[str]:
    """A harvest long before its time: what is not hatched then is thrown away with the shells."""
    due = cones.due_at(list(one.events))
    if due is None or due - now.utc <= cones.HARVEST_LATE_HOURS * 3600:
        return []
    when = Instant(due, now.offset)
    return [
        f"{one.name} is due {when.told(now)}, in {ago(when.hours_since(now))}: it still hatches."
    ]


def _volume_doubts(one: LiveBatch, litres: float) -> list[str]:
    """A harvest in many times the water it was set in: a point that was left out, as a rule."""
    begun = one.begun
    if begun is None or not begun.litres or litres <= VOLUMES * begun.litres:
        return []
    return [f"{one.name} was set in {begun.litres:g} L."]


def harvest_words(litres: float, per_ml: float | None, hatch: float | None) -> str:
    """What a harvest came to."""
    if per_ml is None:
        return f"{litres:g} L, not counted yet"
    found = f"{litres:g} L at {per_ml:,.0f} per mL = {litres * per_ml:,.0f} thousand"
    return found if hatch is None else f"{found}, hatch {hatch:.0f} %"


def count(site: Site, hand: Hand, one: LiveBatch) -> Talk:
    """Count what was harvested or stands in the cold store, typed as per mL."""
    who = yield from writer(site, hand, f"Who counts {one.name}?")
    while True:
        per_ml = yield from wanted(number(f"{one.name} nauplii", "per mL", 0.1, 200_000))
        words, details, doubts = counted(site, one, per_ml)
        again = yield from asking.kept(site, who, words, details, doubts)
        if not again:
            return f"Kept: {words}."


def counted(
    site: Site, one: LiveBatch, per_ml: float, *counts: Counted
) -> tuple[str, tuple[Batch | Counted, ...], list[str]]:
    """A count of a batch: its words, its details and what speaks against it.

    The first count after a harvest says how many hatched.
    """
    from tankwalk.ledger.entries import Batch

    taken = one.last(BatchEvent.HARVEST)
    litres = None if taken is None else taken.litres
    first = taken is not None and taken.per_ml is None
    first = first and not any(e.per_ml for e in one.events)
    hatch = hatch_of(site, one, litres, per_ml) if first and litres else None
    batch = Batch(one.name, BatchEvent.COUNT, per_ml=per_ml, hatch_percent=hatch)
    words = f"{one.name} counted: {per_ml:,.0f} per mL"
    if hatch is not None:
        words += f", hatch {hatch:.0f} %"
    doubts = hatch_doubts(site, one, hatch)
    before = next((e.per_ml for e in reversed(one.events) if e.per_ml), None)
    if before and not FAR * before <= per_ml <= before / FAR:
        doubts.append(f"The last count was {before:,.0f} per mL.")
    return words, (batch, *counts), doubts


def chill(site: Site, hand: Hand, one: LiveBatch, needs: str = "") -> Talk:
    """Put nauplii into the cold store: how many mL, and how cold it is; the rest is out.

    `needs` says what the meals before the next cone need of them.
    """
    from tankwalk.ledger.entries import Batch

    who = yield from writer(site, hand, f"Who chills {one.name}?")
    have = one.left
    if have is None:
        raise Refusal(f"Nothing of {one.name} is left: nothing was kept.")
    while True:
        ml = yield from wanted(
            number(f"{one.name} kept in the cold store", "mL", 1, 1000 * MOST_L,
                   proposed=float(round(have.ml)), as_what="(all that is left)", told=needs)
        )  # fmt: skip
        cold = yield from number("Cold store", "degC", -2, 20, skip=NOT_MEASURED)
        doubts = []
        if ml > 1.1 * have.ml:
            doubts.append(f"Only {have.ml:,.0f} mL of it should be left.")
        if cold is not None and cold > 10:
            doubts.append(f"{cold:g} degC is warm: below 10 they keep a day.")
        if have.per_ml > DENSEST_STORE:
            doubts.append(f"{have.per_ml:,.0f} per mL is too dense: {DENSEST_STORE:,.0f} at most.")
        batch = Batch(one.name, BatchEvent.CHILL, litres=ml / 1000, temperature=cold)
        thousand = ml * have.per_ml / 1000
        out = have.ml - ml
        rest = f"the other {out:,.0f} mL go to no meal, " if out > REST * have.ml else ""
        words = (
            f"{one.name}: {ml:,.0f} mL in the cold store = {thousand:,.0f} thousand, {rest}"
            f"use by {have.warn_at.told(site.now())}"
        )
        again = yield from asking.kept(site, who, words, (batch,), doubts)
        if not again:
            return f"Kept: {words}."


def discard(site: Site, hand: Hand, one: LiveBatch) -> Talk:
    """Throw a batch out, all of it or a part, and why."""
    from tankwalk.ledger.entries import Batch

    who = yield from writer(site, hand, f"Who throws {one.name} out?")
    why = yield Step(f"{one.name}: thrown out, why?", WHY_OUT, "other words", writes=True)
    reason = text.clean(why.words, limit=60)
    ml: float | None = None
    if one.left is not None:
        ml = yield from number(
            f"How much of {one.left.ml:,.0f} mL", "mL", 1, 1000 * MOST_L, skip="all of it"
        )
    if ml is not None and one.left is not None and ml >= one.left.ml:
        ml = None
    batch = Batch(
        one.name, BatchEvent.DISCARD, litres=None if ml is None else ml / 1000, text=reason
    )
    much = "all of it" if ml is None else f"{ml:,.0f} mL"
    words = f"{one.name}: {much} thrown out, {reason}"
    again = yield from asking.kept(site, who, words, (batch,))
    return f"Kept: {words}." if not again else "Nothing was kept."


def enrich(site: Site, hand: Hand, one: LiveBatch) -> Talk:
    """Enrich nauplii: with what, how much in a liter, for how long; only what eats, instar II."""
    from tankwalk.ledger.entries import Batch

    who = yield from writer(site, hand, f"Who enriches {one.name}?")
    told = (
        "Instar I do not eat yet: enrich from instar II on, some 8 h after the hatch. "
        f"All of {one.name} goes in, and no meal gets any before it is ready."
    )
    answer = yield Step("Enriched with:", _products(one), "another product", True, told=told)
    product = text.clean(answer.words, limit=40)
    litres = yield from wanted(number("In how much water", "L", 0.1, MOST_L))
    dose = yield from wanted(number(f"{product} in a liter", "g", 0.01, 20))
    hours = yield from wanted(number("For how long", "h", 0.5, 48))
    due = Instant(site.now().utc + round(hours * 3600), site.now().offset)
    batch = Batch(
        one.name,
        BatchEvent.ENRICH,
        grams=dose * litres,
        litres=litres,
        due_at=due.utc,
        text=product,
    )
    per_ml = None if one.left is None else one.left.thousand / litres
    batch = batch._replace(per_ml=per_ml)
    words = (
        f"{one.name}: {dose * litres:g} g of {product} in {litres:g} L for {hours:g} h, "
        f"ready {due.told(site.now())}"
    )
    again = yield from asking.kept(site, who, words, (batch,))
    return f"Kept: {words}." if not again else "Nothing was kept."


def _products(one: LiveBatch) -> tuple[str, ...]:
    used = [e.text for e in one.events if e.event == BatchEvent.ENRICH and e.text]
    return tuple(dict.fromkeys(used))


# ---- what hatched


def grams_of(one: LiveBatch) -> tuple[float | None, str | None]:
    """The grams of cysts a cone was set with, and of which lot."""
    begun = one.begun
    return (None, None) if begun is None else (begun.grams, begun.lot)


def hatch_of(
    site: Site, one: LiveBatch, litres: float | None, per_ml: float | None
) -> float | None:
    """Percent of the cysts that hatched, by the lot's nauplii in a gram; None where not known."""
    grams, code = grams_of(one)
    lot = next((c for c in site.plan.cysts if c.code == code), None)
    if not grams or not litres or per_ml is None or lot is None or not lot.per_gram:
        return None
    return hatch_yield(1000 * per_ml * litres, grams, lot.per_gram)


def hatch_doubts(site: Site, one: LiveBatch, hatch: float | None) -> list[str]:
    """What speaks against a hatch: more than there were cysts, or far from the usual."""
    if hatch is None:
        return []
    if hatch > 100:
        return [f"Hatch {hatch:.0f} %: more nauplii than cysts. Count and volume again."]
    usual = _usual(site, one)
    if usual and not FAR * usual <= hatch <= usual / FAR:
        return [f"Hatch {hatch:.0f} %, usually {usual:.0f} %: count again before it is believed."]
    return []


def _usual(site: Site, one: LiveBatch) -> float | None:
    since = site.now().utc - cones.USUAL_DAYS * 86400
    seen = site.reader.feeding.batches(since)
    return cones.usual_hatch([e for e in cones.hatches(seen) if e.batch != one.name])


def take_back(site: Site, hand: Hand, name: str, seen: Sequence[BatchSeen]) -> Talk:
    """Take back one's own newest entry of a batch: both stay in the record."""
    from tankwalk.ledger.entries import Entry
    from tankwalk.practice.site import SITE

    who = yield from writer(site, hand, "Who takes something back?")
    mine = [one for one in seen if one.who == who]
    if not mine:
        raise Refusal(f"{who} entered nothing of {name} that could be taken back.")
    last = mine[-1]
    yield Step(f"{name} {last.event}, {last.at.told(site.now())} {who}:", ("take it back",))
    now = site.now()
    site.record(Entry("void", who, now, now, SITE, amends=last.n, reason="undone"))
    return f"Taken back: {name} {last.event}, {last.at.hm()}."
