"""The rounds of the season: opened, walked in the program's own order, and signed."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Detail, Mort, Round
from tankwalk.plan.model import Checklist, Item, Plan, Tank
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.round.rounds import SIGNING
from tankwalk.practice.site import SITE
from tankwalk_demo import incidents, water
from tankwalk_demo.acts import Act, Answer
from tankwalk_demo.days import DAYS, afternoon, age, chance, moment, morning, on
from tankwalk_demo.stock import TankDay, fates

WEDNESDAYS = tuple(day for day in DAYS if on(day).isoweekday() == 3)
WEEKLY = ("callout", "o2load", "standby", "eyewash", "makeup", "tgp", "chloride")
DONE = {
    "generator": (5, 22, 29),
    "light": (2, 9, 16, 23, 30),
    "chlorine": (2, 9, 16, 23, 30),
    "gfci": WEDNESDAYS[:1],
    **dict.fromkeys(WEEKLY, WEDNESDAYS),
}
"""Days on which what is done every so many days was done."""

STARTS = {"am": ("07:09", 330, 33.0), "pm": ("15:03", 150, 25.0)}
"""First tank page, seconds from tank to tank, and from item to item."""

LATER_START = {(20, "pm"): ("15:06", 150, 25.0)}
"""The Saturday of incident 5: RO begins with T07, then goes round the others."""

OWN_START = {
    (20, "pm", "T07"): ("15:04", 0, 20.0),
    (21, "am", "T07"): ("06:54", 37, 23.0),
    (21, "pm", "T07"): ("15:17", 55, 25.0),
}
"""Pages walked out of turn: PB goes to T07 first, straight from the glance lap."""

EVENING = "21:00"


def rounds(plan: Plan, seed: int, last: int = DAYS[-1]) -> Iterator[Act]:
    """All acts of all rounds. Day 1 begins with the afternoon: the fish come that morning."""
    number = 0
    for day in DAYS[:last]:
        parts = [("am", morning(day)), ("wk", morning(day)), ("pm", afternoon(day)), ("ev", "RO")]
        for part, who in parts:
            if (day == 1 and part == "am") or not plan.checklist(part).is_on(on(day)):
                continue
            number += 1
            yield from _Walked(plan, seed, day, plan.checklist(part), who, number).acts()


class _Walked:
    """One round on one day."""

    def __init__(
        self, plan: Plan, seed: int, day: int, checklist: Checklist, who: str, number: int
    ) -> None:
        self.plan, self.seed, self.day, self.who = plan, seed, day, who
        self.checklist, self.part, self.number = checklist, checklist.code, number
        self.told = incidents.told()
        self.tanks = walking_order(plan, on(day))
        self.start = checklist.at.strftime("%H:%M")

    def acts(self) -> Iterator[Act]:
        """Opened, glance lap, site, loop, tanks, signed."""
        yield self._round("open", moment(self.day, self.start))
        walked = [*self._glance(), *self._rest(), *self._pages()]
        yield from walked
        last = max(act.at.utc for act in walked)
        yield self._round("sign", Instant(last + 60, walked[0].at.offset))

    def _round(self, event: str, at: Instant) -> Act:
        meaning = SIGNING if event == "sign" else None
        detail = Round(self.number, self.part, event, meaning)
        return Act(kind="round", who=self.who, at=at, detail=detail, round=self.number)

    def _glance(self) -> Iterator[Act]:
        item = self.plan.item(self.checklist.glance or "glance")
        for nth, tank in enumerate(self.tanks):
            ordinary = Answer(item.choices[0])
            at = moment(self.day, self.start, 8 + 12 * nth)
            yield self._act(tank.code, item, ordinary, at)

    def _rest(self) -> Iterator[Act]:
        """Site and loop. On the Sunday of incident 5 they wait until T07 is seen to."""
        begun = 520 if (self.day, self.part) == (21, "am") else 160
        asked = [(SITE, c) for c in self.checklist.site]
        asked += [("L1", c) for c in self.checklist.loop]
        for place, code in asked:
            item = self.plan.item(code)
            if not self._due(item):
                continue
            ordinary = water.other_answer(item, self.day, self.part, self.seed)
            begun += 15 if place == SITE else 45
            yield self._act(place, item, ordinary, moment(self.day, self.start, begun))

    def _due(self, item: Item) -> bool:
        """Whether an item of every so many days is asked: never done yet, or that long ago."""
        if item.every_days is None:
            return True
        before = [d for d in DONE[item.code] if d < self.day]
        return not before or self.day - before[-1] >= item.every_days

    def _pages(self) -> Iterator[Act]:
        if not self.checklist.tank:
            return
        wall, apart, step = LATER_START.get((self.day, self.part)) or STARTS[self.part]
        for nth, tank in enumerate(self.tanks):
            own = OWN_START.get((self.day, self.part, tank.code))
            start, offset, pace = own or (wall, apart * nth, step)
            asked = [self.plan.item(c) for c in self.checklist.tank]
            asked = [item for item in asked if item.asked_at(age(self.day))]
            pace = pace if own else min(pace, apart / len(asked))
            for turn, item in enumerate(asked):
                at = moment(self.day, start, offset + pace * turn)
                yield self._tank_act(tank, item, at)

    def _tank_act(self, tank: Tank, item: Item, at: Instant) -> Act:
        fate: TankDay = fates(self.seed)[tank.code][self.day]
        answer = water.tank_answer(self.plan, tank, item, self.day, self.part, fate, self.seed)
        answer = incidents.bent(answer, self.day, tank.code, item.code, self.part, self.seed)
        return self._act(tank.code, item, answer, at, tank)

    def _act(
        self, place: str, item: Item, ordinary: Answer, at: Instant, tank: Tank | None = None
    ) -> Act:
        answer = self.told.get((self.day, self.part, place, item.code), ordinary)
        meter = _meter(self.plan, item, tank)
        if item.instrument == "oxygen meter":
            meter = incidents.meter_for(self.day, place, meter)
        second = answer.second
        first = answer.reading(item, meter, again=False)
        more: tuple[Detail, ...] = ()
        if item.code == "morts" and self.part == "am" and first.value:
            luck = chance(self.seed, "causes", place, self.day)
            more = causes(int(first.value), age(self.day), luck)
        return Act(
            kind="reading",
            who=self.who,
            at=at,
            detail=first,
            place=place,
            item=item.code,
            round=self.number,
            name=answer.name,
            second=None if second is None else second.reading(item, meter, again=True),
            more=more,
        )


def causes(count: int, dph: int, luck: Random) -> tuple[Mort, ...]:
    """A count of the dead by cause: bitten ones come with the teeth, about 12 dph."""
    bitten = sum(luck.random() < 0.14 for _ in range(count)) if dph >= 12 else 0
    deformed = sum(luck.random() < 0.02 for _ in range(count - bitten))
    split = {"bitten": bitten, "deformed": deformed, "whole": count - bitten - deformed}
    return tuple(Mort(cause, many) for cause, many in split.items() if many)


def _meter(plan: Plan, item: Item, tank: Tank | None) -> str | None:
    """The meter used by habit."""
    for meter in plan.instruments:
        if meter.kind == item.instrument and (
            not meter.tanks or (tank is not None and tank.code in meter.tanks)
        ):
            return meter.code
    return None
