"""Readings that are worked out: their parts, the sum, what stands now, and the words for it.

Parts must be fresh: a number made from stale parts is refused in words. `deriving` keeps them.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence

from tankwalk import quantity
from tankwalk.clock import Instant, ago
from tankwalk.errors import Refusal
from tankwalk.ledger.readings import Seen
from tankwalk.plan.bands import band_at, describe
from tankwalk.plan.derived import BY_CODE, Derivation
from tankwalk.plan.model import Band, Item, Level, Plan
from tankwalk.plan.responses import response
from tankwalk.practice.judging.verdict import Flag, first_steps, spread_words, value_words
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.workings.parts import where
from tankwalk.rows import NamedTuple


class Gathered(NamedTuple):
    """The parts of one derived reading at one place, or the reason there are none to use."""

    parts: dict[str, Seen]
    why: str = ""


class State(NamedTuple):
    """A derived item at a place now: its reading, or why it cannot be worked out."""

    item: Item
    band: Band | None
    seen: Seen | None
    why: str = ""


Read = dict[tuple[str, str], Seen | None]
"""The newest readings by place and item, as far as they were asked: parts are shared."""


def gather(site: Site, item: Item, place: str, now: Instant, read: Read) -> Gathered:
    """The newest parts of a derived item at a place, or why they cannot be used, in words.

    `read` holds what was read of the record at this moment, and takes in what is read here.
    """
    derivation = BY_CODE[item.code]
    found: dict[str, Seen] = {}
    for key, code in derivation.items:
        needed = (key, code) in derivation.parts
        part = site.plan.find_item(code)
        if part is None:
            continue
        at = where(site.plan, place, part)
        if (at, code) not in read:
            read[at, code] = site.reader.readings.newest(at, code, part.unit)
        seen = read[at, code]
        if seen is None:
            if needed:
                return Gathered({}, f"{part.label} is not read")
            continue
        hours = now.hours_since(seen.at)
        # A clock that was set back leaves readings of a time to come; they are as far away.
        if abs(hours) > site.plan.parts_age_hours:
            if needed:
                return Gathered({}, f"{part.label} is {_away(hours)}")
            continue
        found[key] = seen
    return Gathered(found)


def _away(hours: float) -> str:
    """How far a reading is from now in the figures one would say; below 0 it is still to come."""
    apart = abs(hours)
    shown = ago(apart) if apart < 1 else f"{apart:.0f} h" if apart < 48 else f"{apart / 24:.0f} d"
    return f"{shown} old" if hours >= 0 else f"dated {shown} from now: look at the clock"


# ---- the sum


def _facts(
    site: Site, derivation: Derivation, place: str, parts: dict[str, Seen]
) -> dict[str, str]:
    """Inputs that the plan and the stock give, as typed; Refusal says which is not known."""
    facts: dict[str, str] = {}
    tank = site.plan.find_tank(place)
    if "elevation" in derivation.facts and "pressure" not in parts:
        facts["elevation"] = quantity.sure_text(site.plan.elevation_m, "m")
    if "volume" in derivation.facts:
        if tank is None:
            raise Refusal("the volume is not in the plan")
        facts["volume"] = quantity.sure_text(tank.volume_l, "L")
    if "number" in derivation.facts:
        from tankwalk.practice.stock.numbers import best

        kept = best(site, [place]).get(place)
        if kept is None:
            raise Refusal("no fish were entered for it")
        facts["number"] = str(kept.fish)
    return facts


def _typed(derivation: Derivation, parts: dict[str, Seen]) -> dict[str, str]:
    """Parts as typed into the calculator, each with its own unit."""
    return {
        key: f"{quantity.sure_text(seen.value or 0.0, seen.unit)} {seen.unit}".strip()
        for key, _ in derivation.items
        if (seen := parts.get(key)) is not None
    }


def worked(
    site: Site, item: Item, place: str, parts: dict[str, Seen]
) -> tuple[float, str, dict[str, str]]:
    """Value in the item's unit, equation, and facts; Refusal says why there is none."""
    # Late: the first sum of a run loads the calculators, and a start has none to do.
    from tankwalk.practice.workings import working_out

    derivation = BY_CODE[item.code]
    facts = _facts(site, derivation, place, parts)
    keys = {i.key for i in working_out.calculator(derivation.calculator).inputs}
    typed = {k: v for k, v in _typed(derivation, parts).items() if k in keys}
    done = working_out.work(derivation.calculator, {**typed, **facts})
    if done.warnings:
        raise Refusal(done.warnings[0].removesuffix(", the range of the equation."))
    if done.value is None:
        raise Refusal("it has no value")
    value = quantity.convert(done.value, done.unit, item.unit)
    return value, done.calculator.equation, facts


def band_of(site: Site, item: Item, place: str, now: Instant) -> Band | None:
    return band_at(site.plan, item, place, now.day)


# ---- what stands now


def states(
    site: Site, place: str, now: Instant, concerns: Callable[[Item], bool] = lambda _: True
) -> list[State]:
    """Every derived item of a place: its newest reading, or why it cannot be worked out now.

    Only items that are of concern are looked up.
    """
    tank = site.plan.find_tank(place)
    wanted = Level.TANK if tank is not None else Level.LOOP
    if place == SITE:
        return []
    found = []
    read: Read = {}
    for item in site.plan.items:
        if not item.derived or item.level is not wanted or not concerns(item):
            continue
        seen = site.reader.readings.newest(place, item.code, item.unit)
        gathered = gather(site, item, place, now, read)
        why = gathered.why
        if not why and (seen is None or now.hours_since(seen.at) > site.plan.parts_age_hours):
            why = _refused(site, item, place, gathered.parts)
        found.append(State(item, band_of(site, item, place, now), seen, why))
    return found


def _refused(site: Site, item: Item, place: str, parts: dict[str, Seen]) -> str:
    """Why the sum itself has no answer though its parts are fresh."""
    try:
        worked(site, item, place, parts)
    except Refusal as refusal:
        return str(refusal).rstrip(".")
    return "its parts were read apart"


def inputs_of(site: Site, seen: Seen) -> tuple[str, dict[str, str]] | None:
    """Calculator and inputs, as typed, that a derived reading was worked out from."""
    working = site.reader.readings.working(seen.n)
    if working is None:
        return None
    facts = json.loads(working.facts)
    parts = {}
    for key, n in working.parts.items():
        part = site.reader.readings.seen(n)
        if part is not None:
            parts[key] = part
    derivation = BY_CODE.get(seen.item)
    if derivation is None:
        return working.calculator, {str(k): str(v) for k, v in facts.items()}
    return working.calculator, {**_typed(derivation, parts), **facts}


# ---- in words


class Alarm(NamedTuple):
    """The worst of what was just worked out: how serious, what it is, what is done first."""

    flag: Flag = Flag.OK
    headline: str = ""
    first: str = ""
    seen: Seen | None = None
    """The reading that says so, the worst of them."""

    @property
    def words(self) -> str:
        """All of it as one line; "" when all is in band."""
        if not self.flag:
            return ""
        first = f" First: {self.first}" if self.first else ""
        return f"{self.flag.mark} {self.headline}.{first}"


def alarm(site: Site, kept: list[Seen]) -> Alarm:
    """The worst of what was just worked out, or that all is in band.

    Readings of several tanks that share the part that came in are one message for the loop.
    """
    flagged = [s for s in kept if s.flag >= Flag.WATCH]
    if not flagged:
        return Alarm()
    worst = max(flagged, key=lambda s: s.flag)
    same = [s for s in flagged if s.item == worst.item]
    item = site.plan.find_item(worst.item)
    if item is None:
        return Alarm()
    tank = site.plan.find_tank(worst.place)
    band = band_of(site, item, worst.place, worst.at)
    place, words = worst.place, value_words(item, worst)
    if len(same) > 1 and tank is not None:
        place, words = tank.loop, f"{spread_words(item, same)} in {len(same)} tanks"
    limits = "" if band is None else f", band {describe(band, item)}"
    steps = first_steps(item, worst.value or 0.0, band)
    headline = f"{place} {item.label} {words}{limits}"
    return Alarm(Flag(worst.flag), headline, response(steps), worst)


def codes(plan: Plan) -> set[str]:
    """Codes of the items a plan has worked out."""
    return {i.code for i in plan.items if i.derived}


def closest(found: Sequence[State], code: str) -> Seen | None:
    """Of what is worked out at a place, what a person who stands at an item means.

    The worst that is out of band; else what the item is a part of; None where there is neither.
    """
    now = [(s.item, s.seen) for s in found if s.seen is not None and not s.why]
    flagged = [seen for _, seen in now if seen.flag >= Flag.WATCH]
    if flagged:
        return max(flagged, key=lambda seen: seen.flag)
    return next(
        (seen for item, seen in now if code in {c for _, c in BY_CODE[item.code].items}), None
    )
