"""How fish went for their feed: what fell in one tank, and what is poor in most tanks of a batch.

Responses are words from best to worst (`RESPONSE` of the plan), kept as their place in that list.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import PouredSeen
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan.model import Item, Plan
from tankwalk.practice.judging.rules import FEWEST_TANKS, Rule, is_shared
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import median

FELL_STEPS = 2.0
"""A response so many words below its usual has fallen. Common practice, no source."""

USUAL_MEALS, FEWEST_MEALS = 5, 3
"""Usual is the middle of so many responses that raised no flag. Common practice, no source."""

REACH = 40
"""So many responses back, flagged or not, usual is sought."""

FED_HOURS = 2.0
"""A response is to what was poured so long before it at most. Common practice, no source."""

MEAL_SECONDS = 5400
"""Responses of tanks of one meal are no further apart. Common practice, no source."""

PAUSE_SECONDS = 1800
"""A batch that was not poured for so long is poured for another meal. Common practice."""


class Fed(NamedTuple):
    """One meal out of a batch: `nth` of those that were looked at, the oldest 0."""

    batch: str
    nth: int


class Meal(NamedTuple):
    """A meal out of a batch, how it was eaten by tank, and the tanks that ate it poorly."""

    fed: Fed
    by_tank: dict[str, ValueSeen]
    poor: tuple[str, ...]


class Stands(NamedTuple):
    """What a response that is poor stands out by; `tanks` are those that share it."""

    rule: Rule
    code: str
    """The batch or loop, or the tank's own code."""
    usual: float | None
    tanks: tuple[str, ...]
    of: int
    """How many tanks were looked at."""


def poor_from(item: Item) -> int:
    """The place in its list from which a response is poor: the first word the plan flags, else
    the lower half of the list."""
    flagged = [item.choices.index(word) for word in (*item.watch_on, *item.act_on)]
    return min(flagged, default=(len(item.choices) + 1) // 2)


def poor_words(item: Item) -> str:
    """The words that are poor, as "poor or none"."""
    return " or ".join(item.choices[poor_from(item) :])


class Pourings:
    """Which meal out of which batch fed a tank, from what was poured, oldest first."""

    def __init__(self, poured: Iterable[PouredSeen]) -> None:
        self._of: dict[str, list[tuple[int, Fed]]] = {}
        self.fed: dict[Fed, dict[str, int]] = {}
        """When (UTC second) each meal out of a batch went into each tank."""
        last: dict[str, tuple[int, int | None, Fed]] = {}
        for one in poured:
            at = one.at.utc
            before = last.get(one.batch)
            if before is None:
                meal = Fed(one.batch, 0)
            elif at - before[0] > PAUSE_SECONDS or one.meal_at != before[1]:
                meal = Fed(one.batch, before[2].nth + 1)
            else:
                meal = before[2]
            last[one.batch] = at, one.meal_at, meal
            self._of.setdefault(one.place, []).append((at, meal))
            self.fed.setdefault(meal, {})[one.place] = at

    def before(self, place: str, at: int) -> frozenset[Fed]:
        """What a tank was fed last before a UTC second; nothing where that is too long ago."""
        given = [(then, meal) for then, meal in self._of.get(place, ()) if then <= at]
        if not given or at - given[-1][0] > FED_HOURS * 3600:
            return frozenset()
        newest = given[-1][0]
        return frozenset(meal for then, meal in given if newest - then < PAUSE_SECONDS)


Responses = Mapping[str, Sequence[ValueSeen]]
"""The newest responses by tank, oldest first."""


def eaten(looks: Responses, pourings: Pourings) -> dict[Fed, dict[str, ValueSeen]]:
    """How each meal out of a batch was eaten: the newest response to it by tank."""
    found: dict[Fed, dict[str, ValueSeen]] = {}
    for place, these in looks.items():
        for look in these:
            for meal in pourings.before(place, look.at):
                found.setdefault(meal, {})[place] = look
    return found


def poor_batches(item: Item, looks: Responses, pourings: Pourings) -> list[Meal]:
    """Meals out of a batch that most of their tanks ate poorly, in the order they were poured.

    Not where tanks of the same time that were fed without it ate as poorly: it is the water then.
    """
    found = []
    for meal, by_tank in sorted(eaten(looks, pourings).items()):
        poor = _poor(item, by_tank)
        if not is_shared(len(poor), len(by_tank)):
            continue
        last = max(look.at for look in by_tank.values())
        others = {p: v for p, v in _meal(looks, last).items() if p not in by_tank}
        if len(others) >= FEWEST_TANKS and is_shared(len(_poor(item, others)), len(others)):
            continue
        found.append(Meal(meal, by_tank, poor))
    return found


def batch_words(item: Item, meal: Meal, still: int) -> str:
    """What is said of a batch that most of its tanks ate poorly, where so many still do."""
    words = f"{item.label} {poor_words(item)}, {len(meal.poor)} of {len(meal.by_tank)} tanks"
    return words if still >= len(meal.poor) else f"{words}, not right yet in {still}"


def _poor(item: Item, by_tank: Mapping[str, ValueSeen]) -> tuple[str, ...]:
    return tuple(p for p, look in by_tank.items() if look.value >= poor_from(item))


def _meal(looks: Responses, at: int) -> dict[str, ValueSeen]:
    """The newest response of each tank in the meal that goes on at a UTC second."""
    found = {}
    for place, these in looks.items():
        here = [one for one in these if 0 <= at - one.at <= MEAL_SECONDS]
        if here:
            found[place] = here[-1]
    return found


def usual(looks: Sequence[ValueSeen]) -> float | None:
    """The usual response of a tank from its looks, oldest first; None where too few are known."""
    quiet = [look.value for look in looks if look.flag < 2][-USUAL_MEALS:]
    return median(quiet) if len(quiet) >= FEWEST_MEALS else None


def stands_out(site: Site, place: str, item: Item, value: float, now: Instant) -> Stands | None:
    """What a response just given stands out by; None where it is as usual, or as its word says.

    Asks the record only where it can be poor: two words below the best, or poor by the plan.
    """
    bar = poor_from(item)
    tank = site.plan.find_tank(place)
    if tank is None or value < min(bar, FELL_STEPS):
        return None
    every = site.reader.readings.lately(item.code, item.unit, REACH)
    looks: dict[str, Sequence[ValueSeen]] = {
        p: [one for one in these if one.at <= now.utc] for p, these in every.items()
    }
    own = looks.get(place, ())
    here = ValueSeen(0, value, now.utc, 0, False, None, None)
    looks[place] = [*own, here]
    pourings = Pourings(
        one
        for one in site.reader.feeding.poured(now.utc - int(2 * FED_HOURS * 3600))
        if one.at.utc <= now.utc
    )
    if value >= bar:
        for meal in poor_batches(item, looks, pourings):
            if meal.by_tank.get(place) == here:
                return Stands(Rule.BATCH, meal.fed.batch, None, meal.poor, len(meal.by_tank))
    return _alone(site.plan, tank.code, item, value, looks, own)


def _alone(
    plan: Plan, place: str, item: Item, value: float, looks: Responses, own: Sequence[ValueSeen]
) -> Stands | None:
    """A response that most tanks of the loop share, or that fell in this tank alone."""
    loop = next(t.loop for t in plan.tanks if t.code == place)
    mates = {t.code for t in plan.tanks if t.loop == loop}
    now = looks[place][-1].at
    meal = {p: look for p, look in _meal(looks, now).items() if p in mates}
    poor = _poor(item, meal)
    if value >= poor_from(item) and is_shared(len(poor), len(meal)):
        return Stands(Rule.LOOP_DOWN, loop, None, poor, len(meal))
    level = usual(own)
    if level is None or value - level < FELL_STEPS:
        return None
    fell = [p for p in meal if p == place or _fell(looks[p], meal[p])]
    if is_shared(len(fell), len(meal)):
        return Stands(Rule.LOOP_DOWN, loop, level, tuple(fell), len(meal))
    return Stands(Rule.RESPONSE, place, level, tuple(fell), len(meal))


def _fell(looks: Sequence[ValueSeen], look: ValueSeen) -> bool:
    before = usual([one for one in looks if (one.at, one.n) < (look.at, look.n)])
    return before is not None and look.value - before >= FELL_STEPS


def sentence(item: Item, word: str, found: Stands) -> tuple[str, str]:
    """What is said of a response that stands out: headline and reason."""
    here = f"{item.label} {word}"
    so_far = f"{len(found.tanks)} of {found.of} tanks"
    match found.rule:
        case Rule.BATCH:
            return here, f"{so_far} fed from {found.code} are {poor_words(item)}"
        case Rule.LOOP_DOWN if found.usual is None:
            return here, f"{so_far} of {found.code} are {poor_words(item)}"
        case Rule.LOOP_DOWN:
            return here, f"it fell in {so_far} of {found.code}"
        case _:
            level = item.choices[min(int(found.usual or 0.0), len(item.choices) - 1)]
            others = found.of - len(found.tanks)
            beside = f"; {others} other tanks did not fall" if others else ""
            return here, f"usual here is {level}{beside}"
