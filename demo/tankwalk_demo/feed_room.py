"""The feed room: cones set and harvested, tins and shelled cysts they come from, two cultures."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from math import ceil
from random import Random
from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Batch, BatchOf, Counted, Detail
from tankwalk.ledger.feeding import BatchEvent, BatchKind, CountOf
from tankwalk.plan.model import FeedKind, Plan
from tankwalk.practice.feeding import meals, rations
from tankwalk.practice.feeding.rations import Known
from tankwalk.science.livefeed import hatch_percent
from tankwalk_demo.acts import Act
from tankwalk_demo.days import DAYS, afternoon, chance, moment, morning, on, weekend

LOT = "AC-7"
POOR_HATCH_DAY = 15
SHORT = 0.58
"""Incident 4: 46 percent hatched for 80, so a meal is 58 percent of its plan."""

SHORT_MEALS = {15: range(1, 7), 16: range(1)}
"""Meals of the poor hatch, by day: from 10:00 on, until the next cone is out."""

RESERVE = {14: 2 * SHORT}
"""Before a Sunday somebody sets a little more: it carries 10:00 and 12:00 of incident 4."""

TIN_G = 454.0
SHELLED_ON = (1, 8, 15)
"""Mondays on which cysts are shelled, for the cones of the two days after."""


class Cone(NamedTuple):
    """A cone: set on `day`, out the day after; `kept_l` at `per_ml` are in the jug."""

    day: int
    name: str
    grams: float
    poor: bool
    drops: tuple[int, int, int]
    harvested: Instant
    kept_l: float

    @property
    def litres(self) -> float:
        return self.grams / 2

    @property
    def per_ml(self) -> float:
        """Nauplii per mL by the three drops of 0.1 mL."""
        return float(round(sum(self.drops) / 0.3))


@cache
def live(plan: Plan, day: int) -> dict[str, float]:
    """Thousand nauplii that each tank is to get at each meal of a day, by the program's ration."""
    found = {}
    for tank in plan.tanks:
        for feed in meals.owed(plan, tank, on(day)):
            if feed.kind is FeedKind.LIVE:
                need = rations.need(plan, tank, feed, on(day), Known())
                found[tank.code] = need.amount or 0.0
    return found


@cache
def cones(plan: Plan, seed: int) -> dict[int, Cone]:
    """The cone of each day, by the day of its harvest."""
    first = {out: sum(live(plan, out).values()) for out in range(1, len(DAYS) + 2)}
    found: dict[int, Cone] = {}
    for out in DAYS:
        many = rations.meals_of(plan, on(out)) - (2 if out == 1 else 1)
        need = first[out] * many + first[out + 1] * (1 + RESERVE.get(out, 0.0))
        if not need:
            break
        margin, label = 1 + plan.hatching.margin, plan.cysts[0]
        grams = float(ceil(need * 1000 * margin / label.hatch / label.per_gram))
        found[out] = _cone(plan, out, grams, first, seed)
    return found


def _cone(plan: Plan, out: int, grams: float, first: dict[int, float], seed: int) -> Cone:
    luck = chance(seed, "cone", out - 1)
    poor = out == POOR_HATCH_DAY
    hatch = 46.0 if poor else luck.uniform(78.5, 83.5)
    drops = _drops(round(0.3 * 2 * plan.cysts[0].per_gram / 1000 * hatch / 100), luck)
    late = luck.uniform(240, 480) if weekend(out) else luck.uniform(-300, 420)
    at = moment(out, "13:10") if poor else moment(out, "08:30", late)
    cone = Cone(out - 1, f"A{on(out - 1):%m%d}", grams, poor, drops, at, grams / 2)
    if not poor:
        return cone
    # The lower part is drained with shells and dead: what is kept is 58 % of the meals to come.
    meals_left = 4 * first[out] + first[out + 1]
    return cone._replace(kept_l=round(SHORT * meals_left / cone.per_ml, 2))


def _drops(total: int, luck: Random) -> tuple[int, int, int]:
    """Three drops that add up: spread as drops from a mixed cone are."""
    one = total // 3 + luck.randint(-4, 4)
    two = 2 * (total // 3) - one + luck.randint(-1, 2)
    return one, two, total - one - two


def _act(who: str, at: Instant, *details: Detail, late: int = 0) -> Act:
    return Act(kind="batch", who=who, at=at, detail=details[0], more=details[1:], late=late)


# ---- cones


def batches(plan: Plan, seed: int) -> Iterator[Act]:
    """Every cone from set to cold store, and what it was set of."""
    every = list(cones(plan, seed).values())
    source = {cone.day: f"S{on(m):%m%d}" for m in SHELLED_ON for cone in every
              if cone.day in (m + 1, m + 2)}  # fmt: skip
    of_tins = _tins(every, source, seed)
    yield from of_tins.acts
    for cone in every:
        yield from _of_cone(plan, cone, source.get(cone.day) or of_tins.tin_of[cone.day], seed)


def _of_cone(plan: Plan, cone: Cone, source: str, seed: int) -> Iterator[Act]:
    luck = chance(seed, "water of a cone", cone.day)
    warm, ph = (23.0, 7.6) if cone.poor else (round(luck.uniform(27.4, 28.2), 1), 8.2)
    due_at = moment(cone.day + 1, "08:30").utc
    begun = Batch(
        cone.name, BatchEvent.SET, LOT, cone.grams, cone.litres, warm, ph, 25.0, due_at=due_at
    )
    set_at = moment(cone.day, "09:30")
    # The first one is older than the record, and was entered as it began.
    late = moment(1, "06:45").utc - set_at.utc if cone.day == 0 else 0
    yield _act("MV" if cone.day == 0 else morning(cone.day), set_at, begun,
               BatchOf(BatchKind.CONE, source), late=late)  # fmt: skip
    if cone.day:
        said = "heater does not hold; told in the handover" if cone.poor else None
        wall, who = ("15:50", afternoon(cone.day)) if weekend(cone.day) else ("21:05", "RO")
        wall, who = ("21:00", "PB") if cone.poor else (wall, who)
        check = Batch(cone.name, BatchEvent.CHECK, temperature=warm, ph=ph, text=said)
        yield _act(who, moment(cone.day, wall), check)
    who = harvester(cone.day + 1)
    per_gram = plan.cysts[0].per_gram
    harvest = Batch(
        cone.name,
        BatchEvent.HARVEST,
        litres=cone.kept_l,
        per_ml=cone.per_ml,
        hatch_percent=round(100 * cone.litres * 1000 * cone.per_ml / (cone.grams * per_gram), 1),
        text="instar II, half of what was wanted" if cone.poor else None,
    )
    counts = " ".join(map(str, cone.drops))
    yield _act(who, cone.harvested, harvest, Counted(CountOf.NAUPLII, 0.1, 1.0, counts))
    cold = round(luck.uniform(4.4, 5.6), 1)
    chill = Batch(cone.name, BatchEvent.CHILL, litres=cone.kept_l, temperature=cold)
    yield _act(who, _later(cone.harvested, 1500), chill)


def harvester(day: int) -> str:
    """Who harvests and pours out what is too old."""
    return "PB" if weekend(day) else "TS"


def _later(at: Instant, seconds: float) -> Instant:
    return Instant(at.utc + int(seconds), at.offset)


# ---- tins, and cysts that are shelled


class _OfTins(NamedTuple):
    """What was done with tins, and which tin the cone of a day was set of."""

    acts: list[Act]
    tin_of: dict[int, str]


class _Tins:
    """Tins of cysts, used one after another; each is tested before it is relied on."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.acts: list[Act] = []
        self.number = 0
        self.left = 0.0

    @property
    def name(self) -> str:
        return f"{LOT}-{self.number}"

    def take(self, grams: float, at: Instant, who: str) -> str:
        """Take cysts from the tin that is open, or open the next where that holds too little."""
        if grams > self.left:
            left, old = self.left, self.name
            self._open(at)
            if old != f"{LOT}-0":
                gone = Batch(old, BatchEvent.EMPTY, LOT, text="used up")
                self.acts.append(_act(who, _later(at, -240), gone))
                # The rest of the old one goes into the same cone: the new one is weighed for it.
                self.left += left
                weighed = Batch(self.name, BatchEvent.WEIGHED, LOT, round(self.left, 1))
                self.acts.append(_act(who, _later(at, -120), weighed))
        self.left -= grams
        return self.name

    def _open(self, at: Instant) -> None:
        self.number += 1
        self.left = TIN_G
        luck = chance(self.seed, "tin", self.number)
        nauplii, umbrella = luck.randint(78, 84), luck.randint(4, 7)
        embryos = 100 - nauplii - umbrella
        counts = [
            Counted(what, 0.25, 1.0, str(many))
            for what, many in (
                (CountOf.NAUPLII, nauplii),
                (CountOf.UMBRELLA, umbrella),
                (CountOf.EMBRYOS, embryos),
            )
        ]
        percent = round(hatch_percent(nauplii, umbrella, embryos), 1)
        start = moment(1, "06:40")
        done: tuple[tuple[float, tuple[Detail, ...]], ...] = (
            (-41.0, (Batch(self.name, BatchEvent.OPENED, LOT),)),
            (-17.0, (Batch(self.name, BatchEvent.TEST_HATCH, LOT, hatch_percent=percent), *counts)),
        )
        for hours, details in done:
            then = _later(at, hours * 3600)
            late = max(0, start.utc - then.utc)
            who = "MV" if late else afternoon((then.day - on(1)).days + 1)
            self.acts.append(_act(who, then, *details, late=late))


RECEIVED = ((1, "06:38", 3), (12, "10:40", 1))
"""Tins that were there as the record began, and that came later: day, time, how many."""


def _tins(every: list[Cone], source: dict[int, str], seed: int) -> _OfTins:
    tins = _Tins(seed)
    tin_of: dict[int, str] = {}
    number = 0
    for day, wall, many in RECEIVED:
        for nth in range(many):
            number += 1
            came = Batch(f"{LOT}-{number}", BatchEvent.RECEIVED, LOT, TIN_G)
            at = moment(day, wall, 20 * nth) if day > 1 else moment(-5, "14:00", 60 * nth)
            late = max(0, moment(1, "06:36", 20 * nth).utc - at.utc)
            tins.acts.append(_act("MV", at, came, BatchOf(BatchKind.CYSTS, LOT), late=late))
    shelled = {m: [cone for cone in every if source.get(cone.day) == f"S{on(m):%m%d}"]
               for m in SHELLED_ON}  # fmt: skip
    for cone in every:
        if cone.day not in source:
            at = moment(cone.day, "09:30")
            tin_of[cone.day] = tins.take(cone.grams, at, morning(cone.day))
        if cone.day in shelled:
            _shelled(tins, cone.day, sum(one.grams for one in shelled[cone.day]) + 2)
        if cone.day and cone.day % 7 == 1:
            weighed = Batch(tins.name, BatchEvent.WEIGHED, LOT, round(tins.left, 1))
            tins.acts.append(_act("JQ", moment(cone.day, "15:20"), weighed))
    return _OfTins(tins.acts, tin_of)


def _shelled(tins: _Tins, day: int, grams: float) -> None:
    """Cysts are shelled in the afternoon and kept cold for a week; two grams are left of them."""
    name, at = f"S{on(day):%m%d}", moment(day, "14:35")
    use_by = moment(day + 7, "14:35").utc
    source = tins.take(grams, at, "TS")
    made = Batch(name, BatchEvent.SET, LOT, grams, temperature=4.0, due_at=use_by)
    tins.acts.append(_act("TS", at, made, BatchOf(BatchKind.SHELLED, source)))
    out = Batch(name, BatchEvent.DISCARD, grams=2.0, text="too old")
    tins.acts.append(_act("TS", moment(day + 4, "16:10"), out))


# ---- cultures

R1 = (251, 255, 248, 262, 257, 250, 259, 264, 255, 249, 258, 261, 252, 256, 262, 255, 258, 251,
      260, 258)  # fmt: skip
R2 = (246, 251, 243, 256, 249, 254, 247, 252, 258, 250, 245, 253, 248, 256, 251, 244, 249, 246,
      243, 240)  # fmt: skip
R1_EGGS = (0.60, 0.63, 0.58, 0.64, 0.61, 0.59, 0.62)
R2_EGGS = (0.58, 0.61, 0.55, 0.60, 0.57, 0.62, 0.59)
"""Eggs per female, week by week."""

R2_FALLS = {16: 0.50, 17: 0.42, 18: 0.33, 19: 0.26, 20: 0.19, 21: 0.18, 22: 0.24, 23: 0.33,
            24: 0.44}  # fmt: skip
"""It gets too little air from day 16 on; nothing is harvested while it falls."""

HELD = range(18, 24)
LITRES = 60.0
SPLIT_ON = (8, 15, 22, 29)


def cultures(seed: int) -> Iterator[Act]:
    """Rotifers for the next lot in two vessels, and the algae they get: begun, counted, fed."""
    for code, source in (("R1", "stock of the institute"), ("R2", "R1")):
        begun = Batch(code, BatchEvent.SET, litres=LITRES, salinity=10.0)
        yield _act("TS", moment(1, "09:05" if code == "R1" else "09:08"), begun,
                   BatchOf(BatchKind.ROTIFERS, source))  # fmt: skip
    for day in DAYS:
        who = harvester(day)
        for nth, (code, many, eggs) in enumerate((("R1", R1, R1_EGGS), ("R2", R2, R2_EGGS))):
            ratio = eggs[day % 7] if code == "R1" else R2_FALLS.get(day, eggs[day % 7])
            held = code == "R2" and day in HELD
            at = moment(day, "09:12", 420 * nth)
            yield from _rotifers(code, many[(day - 1) % len(many)], ratio, at, who, held, seed)
    yield from _algae(seed)


def _rotifers(
    code: str, per_ml: float, ratio: float, at: Instant, who: str, held: bool, seed: int
) -> Iterator[Act]:
    luck = chance(seed, "rotifers", code, at.utc)
    total = round(3 * per_ml / 5)
    females, eggs = (_drops(many, luck) for many in (total, round(total * ratio)))
    dense = float(round(5 * total / 3))
    yield _act(
        who, at, Batch(code, BatchEvent.COUNT, per_ml=dense),
        Counted(CountOf.ROTIFERS, 1.0, 5.0, " ".join(map(str, females))),
        Counted(CountOf.EGGS, 1.0, 5.0, " ".join(map(str, eggs))),
    )  # fmt: skip
    if not held:
        taken = Batch(code, BatchEvent.HARVEST, litres=LITRES / 4, text="filled up again")
        yield _act(who, _later(at, 120), taken)
    fed = Batch(code, BatchEvent.FEED, grams=round(dense * LITRES / 1000, 1), text="paste")
    yield _act(who, _later(at, 240), fed)


def _algae(seed: int) -> Iterator[Act]:
    """Green water: cells in four squares of a chamber, split every week."""
    begun = Batch("N1", BatchEvent.SET, litres=20.0)
    yield _act("TS", moment(1, "09:11"), begun, BatchOf(BatchKind.ALGAE, "stock of the institute"))
    splits = (1, *SPLIT_ON, len(DAYS) + 1)
    for start, end in pairwise(splits):
        for day in range(start, end):
            luck = chance(seed, "algae", day)
            squares = [round(130 * 1.09 ** (day - start) + luck.gauss(0, 6)) for _ in range(4)]
            dense = float(round(sum(squares) / 4 * 10_000))
            counted = Counted(CountOf.CELLS, 1e-4, 1.0, " ".join(map(str, squares)))
            at = moment(day, "09:26")
            yield _act(harvester(day), at, Batch("N1", BatchEvent.COUNT, per_ml=dense), counted)
            if day == end - 1 and end in SPLIT_ON:
                split = Batch(
                    "N1", BatchEvent.DILUTE, litres=13.0, text="split, the rest to the rotifers"
                )
                yield _act(harvester(end), moment(end, "09:20"), split)
