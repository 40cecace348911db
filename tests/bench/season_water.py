"""The rounds of the bench's years: every reading the plan asks for, and what is worked out from it.

Values are drawn about the middle of their band; derived ones by rough sums, for their number and
size count here and not their truth.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from functools import cache
from math import exp

from bulk import Act
from season_days import Day

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Derived, Detail, Entry, FlagEvent, JudgedAs, Reading, Round
from tankwalk.plan.bands import band_for, describe
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import Band, Checklist, Item, Level, Plan, Tank
from tankwalk.practice.judging.verdict import band_text, level
from tankwalk.practice.round.rounds import SIGNING
from tankwalk.practice.site import SITE
from tankwalk_demo.stock import STOCKED
from tankwalk_demo.walks import causes

OUT = 0.004
"""Share of values that are out of band: about one a day in twelve tanks."""

NOT_TAKEN = 0.002
AGAIN_S = 9

STANDING = {("T03", "do"): 6.6, ("T07", "level"): 4.5, ("T10", "temp"): 17.2, ("T05", "flow"): 2.8}
"""What is out of band on the last afternoon, and stands on the demo's morning."""

SHELVED = ("T05", "flow")

ABOUT = {
    "do": (8.5, 0.15), "ph": (7.6, 0.03), "sump": (45, 1), "blower": (22, 0.3), "tan": (0.3, 0.03),
    "no2n": (0.08, 0.005), "alk": (100, 5), "light": (150, 5), "o2backup": (150, 15),
}  # fmt: skip
"""Middle and spread of what has no band on both sides."""

WORKED = {
    "do": ("sat",), "ph": ("nh3n", "co2"), "flow": ("exch",), "morts": ("density",),
}  # fmt: skip
"""What is worked out once this has been read."""


class Water:
    """The rounds of one site, day after day."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.rounds = 0
        self.living = {tank.code: STOCKED for tank in plan.tanks}
        self._band = cache(self._band_on)
        self._values: dict[tuple[str, str], float] = {}

    def acts(self, day: Day) -> Iterator[Act]:
        """The rounds of a day, as its weekday has them."""
        if day.nth == 1:
            self.living = {tank.code: STOCKED for tank in self.plan.tanks}
        for checklist in self.plan.checklists:
            if not checklist.weekdays or day.on.isoweekday() in checklist.weekdays:
                self.rounds += 1
                yield from self._round(day, checklist)

    def _round(self, day: Day, checklist: Checklist) -> Iterator[Act]:
        who = day.morning if checklist.code == "am" else day.afternoon
        start = checklist.at.strftime("%H:%M")
        number, code = self.rounds, checklist.code
        opened = day.at(start)
        yield Act(Entry("round", who, opened, opened, SITE, round=number),
                  (Round(number, code, "open"),))  # fmt: skip
        flagged: list[Entry] = []
        last = opened
        for place, item, at in self._asked(day, checklist, start):
            for act in self._reading(day, checklist, who, place, item, at):
                yield act
                last = max(last, act.entry.recorded, key=lambda at: at.utc)
                if any(isinstance(d, JudgedAs) for d in act.details):
                    flagged.append(act.entry)
        end = Instant(last.utc + 240, last.offset)
        if checklist.tank:
            yield from self._corrected(day, who, end)
        yield from _seen_to(day, flagged, Instant(end.utc + 20, end.offset))
        signed = Instant(end.utc + 60, end.offset)
        yield Act(Entry("round", who, signed, signed, SITE, round=number),
                  (Round(number, code, "sign", SIGNING),))  # fmt: skip

    def _asked(
        self, day: Day, checklist: Checklist, start: str
    ) -> Iterator[tuple[str, Item, Instant]]:
        """Glance lap, site, loops, then every item of every tank."""
        find, tanks = self.plan.item, self.plan.tanks
        if checklist.glance:
            for nth, tank in enumerate(tanks):
                yield tank.code, find(checklist.glance), day.at(start, 8 + 160 * nth / len(tanks))
        rest = [(SITE, code) for code in checklist.site]
        rest += [(loop.code, code) for loop in self.plan.loops for code in checklist.loop]
        for nth, (place, code) in enumerate(rest):
            item = find(code)
            if item.every_days is None or day.on.isoweekday() == 2:
                yield place, item, day.at(start, 170 + 30 * nth)
        asked = [find(code) for code in checklist.tank]
        asked = [item for item in asked if item.asked_at(day.dph)]
        apart = 3000 / len(tanks)
        for nth, tank in enumerate(tanks):
            for turn, item in enumerate(asked):
                later = 700 + apart * (nth + turn / len(asked))
                yield tank.code, item, day.at(start, later)

    def _reading(
        self, day: Day, checklist: Checklist, who: str, place: str, item: Item, at: Instant
    ) -> Iterator[Act]:
        """One reading, its second where it is out of band, and what follows from it."""
        luck = day.luck
        band = self._band(item.code, day.like)
        last = day.left == 0 and checklist.code == "pm"
        set_value = STANDING.get((place, item.code)) if last else None
        out = luck.random() < OUT
        value = self._value(day, item, band, out=out) if set_value is None else set_value
        entry = Entry("reading", who, at, at, place, item.code, item.unit, self.rounds)
        meter, limits = self._meter(item, place), band_text(band)
        if set_value is None and item.kind.read_twice and luck.random() < NOT_TAKEN:
            why = luck.choice(("not looked", "could not"))
            yield Act(entry, (Reading(None, "", None, why, None, limits),))
            return
        name = f"{place} {item.code}"
        first = self._judged(item, band, limits, value, meter)
        more: tuple[Detail, ...] = ()
        if item.code == "morts":
            self.living[place] = max(0, self.living[place] - int(value) - luck.randint(5, 35))
            more = causes(int(value), day.dph, luck)
        yield Act(entry, (*first, *more), name)
        if len(first) > 1 and item.kind.read_twice:
            later = Instant(at.utc + AGAIN_S, at.offset)
            if set_value is None and luck.random() < 0.5:
                value = self._value(day, item, band, out=False)
            second = self._judged(item, band, limits, value, meter, recheck=True)
            yield Act(entry._replace(observed=later, recorded=later), second, name)
        self._values[place, item.code] = value
        if self.plan.find_tank(place) is not None:
            yield from self._worked_out(who, place, item, at)

    def _judged(
        self, item: Item, band: Band | None, limits: str | None, value: float, meter: str | None,
        *, recheck: bool = False,
    ) -> tuple[Detail, ...]:  # fmt: skip
        """A reading, and why it is flagged where it is."""
        below = "<" if item.code == "chlorine" else None
        if item.kind.by_words:
            word = item.choices[int(value)]
            flag = 3 * (word in item.act_on) or 2 * (word in item.watch_on)
            reading = Reading(value, word, None, None, None, None, flag)
            return (reading, JudgedAs("setting", f"{item.label}: {word}")) if flag else (reading,)
        flag = 0 if band is None else int(level(value, band.limits))
        typed = f"{value:.10g}"
        reading = Reading(value, typed, None, below, meter, limits, flag, recheck)
        if not flag or band is None:
            return (reading,)
        words = f"{item.label} {typed} {item.unit}, band {describe(band, item)}"
        return reading, JudgedAs("band", words)

    def _value(self, day: Day, item: Item, band: Band | None, *, out: bool) -> float:
        luck = day.luck
        if item.kind.by_words:
            wrong = out and len(item.choices) > 1 and luck.random() < 0.1
            return float(luck.randrange(1, len(item.choices)) if wrong else 0)
        if item.code == "morts":
            return float(min(20, int(luck.expovariate(0.25))))
        if item.code == "chlorine":
            return 0.02
        low = high = None
        if band is not None:
            low, high = band.limits.watch_below, band.limits.watch_above
        if item.code in ABOUT:
            middle, spread = ABOUT[item.code]
        elif low is not None and high is not None:
            middle, spread = (low + high) / 2, (high - low) / 12
        else:
            middle, spread = 10.0, 0.5
        if out and low is not None:
            return round(low - spread * luck.uniform(0.5, 3), item.decimals)
        if out and high is not None:
            return round(high + spread * luck.uniform(0.5, 3), item.decimals)
        return round(middle + max(-2.0, min(2.0, luck.gauss(0, 1))) * spread, item.decimals)

    def _worked_out(
        self, who: str, place: str, item: Item, at: Instant, *, amends: bool = False
    ) -> Iterator[Act]:
        """Derived readings of a tank that follow from an item of it that was just read."""
        tank = self.plan.find_tank(place)
        for code in WORKED.get(item.code, ()):
            derivation, derived = BY_CODE[code], self.plan.find_item(code)
            if tank is None or derived is None:
                continue
            parts = [(key, self._where(tank, part)) for key, part in derivation.parts]
            if any(where not in self._values for _, where in parts):
                continue
            facts = self._facts(tank, derivation.facts)
            value = self._sum(code, tank)
            entry = Entry("derived", who, at, at, place, code, derived.unit, self.rounds)
            name = f"{place} {code}"
            if amends:
                entry = entry._replace(reason="a part of it was corrected")
            yield Act(
                entry,
                (Reading(value, f"{value:.10g}"),
                 Derived(derivation.calculator, f"{derivation.label}, roughly", facts)),
                name, amends=name if amends else "",
                parts=tuple((key, " ".join(where)) for key, where in parts),
            )  # fmt: skip

    def _where(self, tank: Tank, code: str) -> tuple[str, str]:
        return (tank.code if self.plan.item(code).level is Level.TANK else tank.loop), code

    def _facts(self, tank: Tank, wanted: tuple[str, ...]) -> str:
        known = {
            "elevation": f"{self.plan.elevation_m:g}",
            "volume": f"{tank.volume_l:g}",
            "number": str(self.living[tank.code]),
        }
        return json.dumps({key: known[key] for key in wanted}, sort_keys=True)

    def _sum(self, code: str, tank: Tank) -> float:
        here = {
            item: self._values.get((place, item), 0.0)
            for place, items in (
                (tank.code, ("temp", "do", "ph", "flow")),
                (tank.loop, ("tan", "alk")),
            )
            for item in items
        }
        warm = here["temp"]
        match code:
            case "sat":
                return 100 * here["do"] / (14.1 * exp(-0.0215 * warm))
            case "nh3n":
                return here["tan"] / (1 + 10 ** (9.9 - 0.031 * warm - here["ph"]))
            case "co2":
                return 0.88 * here["alk"] * 10 ** (6.4 - here["ph"])
            case "exch":
                return 60 * here["flow"] / tank.volume_l
        return self.living[tank.code] / tank.volume_l

    def _corrected(self, day: Day, who: str, at: Instant) -> Iterator[Act]:
        """A value mis-keyed and what was worked out from it; one taken back and read again."""
        tanks = day.luck.sample([tank.code for tank in self.plan.tanks], 2)
        flow, spray = self.plan.item("flow"), self.plan.item("spray")
        place, name = tanks[0], f"{tanks[0]} flow"
        if (place, "flow") in self._values and (day.left or (place, "flow") not in STANDING):
            band = self._band("flow", day.like)
            value = self._value(day, flow, band, out=False)
            self._values[place, "flow"] = value
            entry = Entry("reading", who, at, at, place, "flow", flow.unit, self.rounds,
                          reason="mis-keyed")  # fmt: skip
            details = self._judged(flow, band, band_text(band), value, None)
            yield Act(entry, details, name, amends=name)
            yield from self._worked_out(who, place, flow, at, amends=True)
        place, name = tanks[1], f"{tanks[1]} spray"
        if (place, "spray") in self._values:
            entry = Entry("void", who, at, at, place, "spray", spray.unit, self.rounds,
                          reason="taken back")  # fmt: skip
            yield Act(entry, amends=name)
            yield Act(Entry("reading", who, at, at, place, "spray", spray.unit, self.rounds),
                      self._judged(spray, None, None, 0.0, None), name)  # fmt: skip

    def _band_on(self, code: str, like: date) -> Band | None:
        item = self.plan.item(code)
        tank = self.plan.tanks[0] if item.level is Level.TANK else None
        loop = self.plan.loops[0].code if item.level is Level.LOOP else None
        return band_for(self.plan, item, tank=tank, loop=loop, on=like)

    def _meter(self, item: Item, place: str) -> str | None:
        for meter in self.plan.instruments:
            if meter.kind == item.instrument and (not meter.tanks or place in meter.tanks):
                return meter.code
        return None


def _seen_to(day: Day, flagged: list[Entry], at: Instant) -> Iterator[Act]:
    """Flags that a person closed, shelved, or took back from the shelf."""
    if day.left == 0:
        for one in flagged:
            if (one.place, one.item) == SHELVED:
                until = at.utc + 3 * 86400
                yield _flag(one, "MV", at, "shelve", "fitting weeps, throttled", until)
                return
    for one in flagged if day.left else ():
        chance = day.luck.random()
        if chance < 0.3:
            yield _flag(one, one.who, at, "close", "seen to, all is well now")
        elif chance < 0.5:
            yield _flag(one, one.who, at, "shelve", "known", at.utc + 6 * 3600)
        elif chance < 0.55:
            yield _flag(one, one.who, at, "return", "taken back")


def _flag(
    one: Entry, who: str, at: Instant, event: str, reason: str, until: int | None = None
) -> Act:
    entry = Entry("flag", who, at, at, one.place, one.item, one.unit, reason=reason)
    return Act(entry, (FlagEvent(event, None, until),))
