"""The feed walks: what every tank got at every meal and from which batch, and how it was eaten.

What was planned is what the program's own list says: the plan's ration with the fish on the book
at that moment, poured from the cold store of that hour, the oldest first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import time
from functools import cache

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Batch, BatchOf, Detail, Meal, Poured, Served
from tankwalk.ledger.feeding import BatchEvent, BatchKind
from tankwalk.plan.model import Feed, FeedKind, MealTime, Plan, Tank
from tankwalk.practice.feeding import meals, rations, sharing
from tankwalk.practice.feeding.rations import Need
from tankwalk.practice.livefeed.cold_store import Chilled
from tankwalk_demo.acts import Act, Answer
from tankwalk_demo.booked import Books
from tankwalk_demo.days import DAYS, afternoon, age, chance, moment, morning, on, weekend
from tankwalk_demo.feed_room import SHORT, SHORT_MEALS, Cone, cones, harvester
from tankwalk_demo.stock import SAMPLE_DAYS

DRY = "D1"

WEEKDAY = (("08:00", "TS", 120), ("10:00", "JQ", 60), ("12:00", "TS", 60), ("14:00", "JQ", 60),
           ("15:43", "RO", 60), ("18:00", "RO", 60), ("20:30", "RO", 60))  # fmt: skip
WEEKEND = (("08:20", "am", 60), ("10:00", "am", 60), ("12:00", "am", 60), ("14:00", "am", 60),
           ("15:38", "pm", 60), ("15:52", "pm", 45))  # fmt: skip
"""Meals: the plan's time, by whom, and seconds from tank to tank."""

SWAP_DAY = 8
"""Incident 3: the cups of T04 and T05 are swapped at the first feed."""

FEED_OFF = (24, "10:00")
"""Incident 6: no feed from the overdose on, until the next morning."""

T07_OFF = (21, "07:10", "10:20")
"""Incident 5: T07 is not fed while its oxygen is low."""

BAG_G = 1000.0


def feeding(plan: Plan, seed: int, told: Iterable[Act], last: int = DAYS[-1]) -> Iterator[Act]:
    """Every meal of every tank, the planned pauses, and the bags of dry feed.

    `told` are acts that tell of the fish: counts of the dead, fish moved, samples.
    """
    yield from _Season(plan, seed, Books(told)).acts(last)
    for day in SAMPLE_DAYS:
        yield _off("TS", moment(day, "12:20"), "L1", "planned pause, 40 min before sampling")
    yield _off("MV", moment(24, "10:41"), "L1", "feed off until the morning, pH")
    day, start, end = T07_OFF
    yield _off("PB", moment(day, start), "T07", "feed off, oxygen 6.1")
    yield _off("PB", moment(day, end), "T07", meals.FEED_ON)


def _off(who: str, at: Instant, place: str, words: str) -> Act:
    return Act(
        kind="meal", who=who, at=at, place=place, detail=Meal("Artemia", 0.0, "g", event=words)
    )


class _Season:
    """The feed room from meal to meal: what is in the cold store, and in the bag."""

    def __init__(self, plan: Plan, seed: int, books: Books) -> None:
        self.plan, self.seed, self.books = plan, seed, books
        self.coming: list[Cone] = list(cones(plan, seed).values())
        self.store: list[Chilled] = []
        self.bags = _Bags()

    def acts(self, last: int) -> Iterator[Act]:
        """Day by day; a cone that is out is in the store, and what was older is poured away."""
        for day in DAYS[:last]:
            table = WEEKEND if weekend(day) else WEEKDAY
            for nth, (wall, who, apart) in enumerate(table):
                at = moment(day, wall)
                yield from self._harvests(at)
                if (day == 1 and nth < 2) or (day == FEED_OFF[0] and wall > FEED_OFF[1]):
                    continue  # the fish are still being stocked; the feed is off
                who = {"am": morning(day), "pm": afternoon(day)}.get(who, who)
                who = "PB" if (day, nth) == (SWAP_DAY, 0) else who
                yield from self._meal(day, nth, at, who, apart)
            yield from self.bags.weekly(day)
        yield from self._harvests(moment(last, "21:00"))

    def _harvests(self, at: Instant) -> Iterator[Act]:
        while self.coming and self.coming[0].harvested.utc < at.utc:
            cone = self.coming.pop(0)
            yield from self._pour_away(cone.harvested)
            ml = 1000 * cone.kept_l
            thousand = ml * cone.per_ml / 1000
            when = cone.harvested
            self.store = [Chilled(cone.name, cone.per_ml, ml, thousand, when, when, when)]
        if not self.coming and self.store and at.hours_since(self.store[0].harvested) > 24:
            yield from self._pour_away(at)

    def _pour_away(self, at: Instant) -> Iterator[Act]:
        """What is left of the harvest before, measured to a mL."""
        for one in self.store:
            litres = int(one.ml) / 1000
            words = "too old" if litres > 0 else "used up"
            out = Batch(one.batch, BatchEvent.DISCARD, litres=litres, text=words)
            day = _day_of(at)
            then = Instant(at.utc + 720, at.offset)
            yield Act(kind="batch", who=harvester(day), at=then, detail=out)
        self.store = []

    def _meal(self, day: int, nth: int, at: Instant, who: str, apart: int) -> Iterator[Act]:
        """One walk with the cups: seen before the feed, given, seen after it."""
        plan = self.plan
        self.books.until(at)
        owed = {tank.code: self._owed(tank, day, nth) for tank in plan.tanks}
        if day == T07_OFF[0] and at.utc < moment(day, T07_OFF[2]).utc:
            owed["T07"] = []
        if day == SWAP_DAY and nth < 2:
            missed, owed["T04"] = owed["T04"], []  # no tick at 08:00 and 10:00
        live = {
            tank: need.amount or 0.0
            for tank, needs in owed.items()
            for need in needs
            if need.feed.kind is FeedKind.LIVE
        }
        share = SHORT if nth in SHORT_MEALS.get(day, ()) else 1.0
        pours = sharing.poured(
            {tank: amount * share for tank, amount in live.items()}, self.store, short=share < 1
        )
        asked = _asked(plan, at)
        luck = chance(self.seed, "eaten", day, nth)
        for turn, tank in enumerate(plan.tanks, 1):
            then = Instant(at.utc + apart * turn, at.offset)
            needs = owed[tank.code]
            fair = luck.random() < (0.3 if (day, tank.code) == (T07_OFF[0], "T07") else 0.1)
            if needs:
                yield from self._seen(asked.before, tank, then, -12, who, day, fair)
            for need in needs:
                yield self._given(tank, need, pours.get(tank.code, ()), share, at, then, who)
            if (day, nth, tank.code) == (SWAP_DAY, 0, "T05"):
                # The cup of T04: dry feed three days early for M14.
                dry = next(need for need in missed if need.feed.code == DRY)
                wrong = Meal(DRY, dry.amount or 0.0, "g", 0.0)
                self.bags.take(wrong.amount, at)
                yield Act(
                    kind="meal", who=who, at=then, place=tank.code, detail=wrong,
                    more=(Served(at.utc),), name="T05 dry too early",
                )  # fmt: skip
            if needs:
                yield from self._seen(asked.after, tank, then, 22, who, day, fair)

    def _owed(self, tank: Tank, day: int, nth: int) -> list[Need]:
        return [
            rations.need(self.plan, tank, feed, on(day), self.books.known(tank.code), nth=nth)
            for feed in _feeds(self.plan, tank, day)
        ]

    def _given(
        self, tank: Tank, need: Need, pours: Sequence[sharing.Pour], share: float, meal: Instant,
        at: Instant, who: str,
    ) -> Act:  # fmt: skip
        full = need.amount or 0.0
        more: tuple[Detail, ...] = (Served(meal.utc),)
        amount = full
        if need.feed.kind is FeedKind.LIVE:
            there = sum(pour.thousand for pour in pours)
            amount = full if share == 1 else sharing.down(there)
            more += tuple(Poured(*pour) for pour in pours)
            self._poured(pours)
        else:
            self.bags.take(full, meal)
        given = Meal(need.feed.code, amount, need.feed.unit, full)
        return Act(kind="meal", who=who, at=at, place=tank.code, detail=given, more=more)

    def _poured(self, pours: Iterable[sharing.Pour]) -> None:
        gone = {pour.batch: pour.ml for pour in pours}
        self.store = [one._replace(ml=one.ml - gone.get(one.batch, 0.0)) for one in self.store]

    def _seen(
        self, codes: Sequence[str], tank: Tank, at: Instant, later: int, who: str, day: int,
        fair: bool,
    ) -> Iterator[Act]:  # fmt: skip
        """What the plan asks at a tank beside its meal: all right, or eaten a little slower."""
        for nth, code in enumerate(codes):
            item = self.plan.item(code)
            if not item.asked_at(age(day)):
                continue
            word = item.choices[1 if fair and code == "response" else 0]
            yield Act(
                kind="reading", who=who, at=Instant(at.utc + later + 3 * nth, at.offset),
                place=tank.code, item=code, detail=Answer(word).reading(item, None, again=False),
            )  # fmt: skip


@cache
def _feeds(plan: Plan, tank: Tank, day: int) -> tuple[Feed, ...]:
    return meals.owed(plan, tank, on(day))


def _asked(plan: Plan, at: Instant) -> MealTime:
    """The plan's line of a meal."""
    wall = time(at.wall.hour, at.wall.minute)
    return next(one for one in plan.meals if one.at == wall and one.is_on(at.day))


def _day_of(at: Instant) -> int:
    return (at.day - on(1)).days + 1


class _Bags:
    """Bags of dry feed, one after another, weighed on Mondays."""

    def __init__(self) -> None:
        self.number = 1
        self.left = BAG_G
        self.opened: list[Act] = []
        self.begun = False

    def take(self, grams: float, at: Instant) -> None:
        """Take feed out of the bag; where it holds too little, open the next one."""
        if not self.begun or grams > self.left:
            day = _day_of(at)
            then = Instant(at.utc - 720, at.offset)
            if self.begun:
                gone = Batch(self._name(), BatchEvent.EMPTY, DRY, text="used up")
                self.opened.append(Act(kind="batch", who=morning(day), at=then, detail=gone))
                self.number, self.left = self.number + 1, BAG_G
            self.begun = True
            opened = Batch(self._name(), BatchEvent.OPENED, DRY)
            then = Instant(then.utc + 30, then.offset)
            self.opened.append(Act(kind="batch", who=morning(day), at=then, detail=opened))
        self.left -= grams

    def _name(self) -> str:
        return f"{DRY}-{self.number}"

    def weekly(self, day: int) -> Iterator[Act]:
        """What came, what was opened, and on Mondays what is left by the scale."""
        for came, wall, many in ((1, "06:42", 1), (16, "10:35", 2)):
            for nth in range(many if came == day else 0):
                code = f"{DRY}-{nth + (1 if came == 1 else 2)}"
                bag = Batch(code, BatchEvent.RECEIVED, DRY, BAG_G)
                yield Act(
                    kind="batch", who="MV", at=moment(day, wall, 20 * nth), detail=bag,
                    more=(BatchOf(BatchKind.FEED, DRY),),
                )  # fmt: skip
        yield from self.opened
        self.opened = []
        if self.begun and day % 7 == 1:
            left = Batch(self._name(), BatchEvent.WEIGHED, DRY, float(round(self.left)))
            yield Act(kind="batch", who="RO", at=moment(day, "20:52"), detail=left)
