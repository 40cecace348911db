"""What a tank is to get of a feed, for a day and for a meal, with its arithmetic kept as data.

`need` works from facts alone, so that a meal of the past is worked out as one of today is.
"""

from __future__ import annotations

from datetime import date
from enum import Enum
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.plan.feed_model import MASS_WORDS
from tankwalk.plan.model import Feed, Plan, Ration, RationBy, Tank
from tankwalk.practice.feeding import meals
from tankwalk.practice.site import Site
from tankwalk.practice.stock.numbers import best
from tankwalk.rows import NamedTuple
from tankwalk.science.limits import answer

if TYPE_CHECKING:
    from tankwalk.practice.feeding.in_water import Left

SAMPLE_DAYS = 60
"""A mass that was sampled longer ago says nothing of the fish of today. Common practice."""

MASS = MASS_WORDS[0]
"""The word that samples of mass are kept under."""

FLOW, FLOW_UNIT = "flow", "L/min"


class What(Enum):
    """A number of a working."""

    PLANNED = "what the plan gives at this age"
    FISH = "fish by best estimate"
    SAMPLED = "mass of a fish when last sampled"
    DAYS = "days since"
    GROWS = "growth a day"
    MASS = "mass of a fish today"
    ALL = "mass of all fish"
    VOLUME = "water in the tank"
    LEFT = "left in the water"
    MEALS = "meals of the day"
    DAY = "for the day"
    MEAL = "for this meal"


class Fact(NamedTuple):
    """One number of a working with its unit; `at` is when it was read, counted or sampled."""

    what: What
    value: float
    unit: str
    at: Instant | None = None


class Missing(Enum):
    """Why it is not known what a tank is to get."""

    RATION = "no ration in the plan"
    FISH = "no fish entered"
    MASS = "no mass sample"


class Weighed(NamedTuple):
    """Mean mass of a fish in mg, of how many, and when they were sampled."""

    mg: float
    fish: int
    at: Instant


class Known(NamedTuple):
    """What is known of a tank: fish by best estimate, last mass sample, newest flow in L/min."""

    fish: int | None = None
    counted: Instant | None = None
    weighed: Weighed | None = None
    flow: float | None = None


class Need(NamedTuple):
    """What a tank is to get of a feed; amounts in the unit of the feed, before any rounding.

    `each` is for every meal of the day and `meal` for one of them; () and None, and `missing`,
    where that is not known. `facts` are the numbers of the working in the order they are used.
    """

    tank: str
    feed: Feed
    age: int
    meals: int
    ration: Ration | None = None
    each: tuple[float, ...] = ()
    meal: float | None = None
    facts: tuple[Fact, ...] = ()
    left: Left | None = None
    missing: Missing | None = None

    @property
    def day(self) -> float | None:
        """For the whole day."""
        return None if self.meal is None else sum(self.each)

    @property
    def amount(self) -> float | None:
        """What is measured out for the meal."""
        return None if self.meal is None else measured(self.meal, self.feed.unit)


def measured(amount: float, unit: str) -> float:
    """An amount as it can be measured out: 0.01 g; thousand nauplii whole from ten on."""
    if unit == "g":
        return round(amount, 2)
    return float(round(amount)) if amount >= 10 else round(amount, 1 if amount >= 1 else 2)


def meals_of(plan: Plan, on: date) -> int:
    """How many meals a local day has."""
    return sum(meal.is_on(on) for meal in plan.meals)


def need(
    plan: Plan,
    tank: Tank,
    feed: Feed,
    on: date,
    known: Known,
    *,
    nth: int = 0,
    left: Left | None = None,
) -> Need:
    """What a tank needs of a feed on a local day, and for the `nth` of its meals, from 0.

    By density a meal fills up from what is `left` in the water at it, where that is known, else
    from what a day of such meals leaves.
    """
    age = plan.age(tank, on)
    found = Need(tank.code, feed, age or 0, meals_of(plan, on))
    ration = None if age is None else plan.ration_of(tank, feed.code, age)
    rate = None if ration is None or age is None else ration.at(age)
    if ration is None or rate is None:
        return found._replace(missing=Missing.RATION)
    facts = [Fact(What.PLANNED, rate, RATE_UNITS[ration.by, feed.unit])]
    found = found._replace(ration=ration, facts=tuple(facts))
    if ration.by is RationBy.DENSITY:
        return _by_density(plan, tank, found, on, known, nth, left)
    day = rate
    if ration.by is not RationBy.TANK:
        if known.fish is None:
            return found._replace(missing=Missing.FISH)
        facts.append(Fact(What.FISH, known.fish, "fish", known.counted))
        day = rate * known.fish / 1000
    if ration.by is RationBy.BIOMASS and known.fish is not None:
        weight = known.weighed
        if weight is None:
            return found._replace(facts=tuple(facts), missing=Missing.MASS)
        facts += _mass_today(weight, ration.grows, on)
        mass = facts[-1].value
        facts.append(Fact(What.ALL, known.fish * mass / 1000, "g"))
        from tankwalk.science import growth

        day = growth.ration(known.fish, mass, rate)
    many = max(1, found.meals)
    facts += [
        Fact(What.DAY, day, feed.unit),
        Fact(What.MEALS, many, ""),
        Fact(What.MEAL, day / many, feed.unit),
    ]
    return found._replace(each=(day / many,) * many, meal=day / many, facts=tuple(facts))


def _by_density(
    plan: Plan, tank: Tank, found: Need, on: date, known: Known, nth: int, left: Left | None
) -> Need:
    """What lifts the water from what is left to the target, at this meal and over the day."""
    # A board works rations out, and few are by density.
    from tankwalk.practice.feeding.in_water import PER_ML, of_a_day
    from tankwalk.science.prey import prey_needed

    target, ration = found.facts[0].value, found.ration
    eaten = 0.0 if ration is None else grazing(ration, known)
    each = of_a_day(plan, tank, on, target, known.flow, eaten)
    usual = each[nth] if nth < len(each) else target * tank.volume_l
    # Per mL times L is thousand.
    still = target - usual / tank.volume_l if left is None else left.per_ml
    meal = prey_needed(tank.volume_l, target, max(0.0, still)) / 1000
    facts = (
        *found.facts,
        Fact(What.LEFT, still, PER_ML, None if left is None else left.since),
        Fact(What.VOLUME, tank.volume_l, "L"),
        Fact(What.MEAL, meal, found.feed.unit),
    )
    return found._replace(each=each or (meal,), meal=meal, facts=facts, left=left)


def calculator(need: Need, per_ml: float | None) -> tuple[str, dict[str, str]] | None:
    """The calculator that a ration is worked by, and what stands in its fields; None without one.

    `per_ml` is the density of the batch that is poured.
    """
    known = {fact.what: f"{fact.value:.6g}" for fact in need.facts}
    match None if need.ration is None or need.missing is not None else need.ration.by:
        case RationBy.BIOMASS:
            return "ration", {
                "number": known[What.FISH],
                "weight": known[What.MASS],
                "percent": known[What.PLANNED],
            }
        case RationBy.DENSITY:
            concentrate = {} if per_ml is None else {"concentrate": f"{per_ml:.10g}"}
            return "prey-dose", concentrate | {
                "volume": known[What.VOLUME],
                "target": known[What.PLANNED],
                "residual": known[What.LEFT],
            }
    return None


def grazing(ration: Ration, known: Known) -> float:
    """Prey that all the fish of a tank eat in an hour; without a census that is an upper guess."""
    return ration.eats * (known.fish or 0)


RATE_UNITS = {
    (RationBy.TANK, "thousand"): "thousand a day",
    (RationBy.TANK, "g"): "g a day",
    (RationBy.FISH, "thousand"): "nauplii a fish and day",
    (RationBy.THOUSAND_FISH, "g"): "g per 1000 fish and day",
    (RationBy.BIOMASS, "g"): "% of their mass a day",
    (RationBy.DENSITY, "thousand"): "per mL",
}
"""What a ration is given in, by how it is reckoned and the unit of the feed."""


def _mass_today(weight: Weighed, grows: float, on: date) -> list[Fact]:
    """The mass of a fish carried on from its sample at the plan's growth; days before it are 0."""
    days = max(0, (on - weight.at.day).days)
    today = answer(weight.mg * (1 + grows) ** days, "mass", "growth")
    return [
        Fact(What.SAMPLED, weight.mg, "mg", weight.at),
        Fact(What.DAYS, days, "d"),
        Fact(What.GROWS, 100 * grows, "%"),
        Fact(What.MASS, today, "mg"),
    ]


def in_unit(value: float, unit: str, wanted: str) -> float:
    """A value of the record in another unit of its kind."""
    if unit == wanted:
        return value
    # The board works out tomorrow, and loads neither this nor the units where nothing is turned.
    from tankwalk.quantity import read

    return read(f"{value!r} {unit}", wanted).value


def known_now(site: Site, now: Instant) -> dict[str, Known]:
    """What the record knows of every tank of the plan, as of now."""
    plan = site.plan
    samples = {
        one.place: one
        for one in site.reader.feeding.samples(now.utc - SAMPLE_DAYS * 86400)
        if one.what.lower() in MASS_WORDS
    }
    flow = plan.find_item(FLOW)
    flows = {}
    if flow is not None and flow.unit:
        flows = site.reader.readings.lately(flow.code, flow.unit, 1)
    held = best(site, [tank.code for tank in plan.tanks])
    found = {}
    for tank in plan.tanks:
        fish = held.get(tank.code)
        sample = samples.get(tank.code)
        weighed = None
        if sample is not None and sample.mean and sample.unit:
            weighed = Weighed(in_unit(sample.mean, sample.unit, "mg"), sample.looked_at, sample.at)
        one = Known(weighed=weighed)
        if fish is not None:
            one = one._replace(fish=fish.fish, counted=fish.counted)
        if (seen := flows.get(tank.code)) and flow is not None:
            litres = in_unit(seen[-1].value, flow.unit, FLOW_UNIT)
            one = one._replace(flow=litres)
        found[tank.code] = one
    return found


def owed(plan: Plan, tank: Tank, on: date, known: Known) -> tuple[Need, ...]:
    """What a tank needs of each feed that it is to get on a local day."""
    return tuple(need(plan, tank, feed, on, known) for feed in meals.owed(plan, tank, on))
