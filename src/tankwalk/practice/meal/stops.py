"""A meal as it is walked: the tanks in order, and at each what is asked, fed, and asked after."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.plan.feed_model import Feed, FeedKind
from tankwalk.plan.model import Plan, Tank
from tankwalk.practice.feeding import meals
from tankwalk.practice.feeding.feed_off import FeedOff
from tankwalk.practice.feeding.rations import Need
from tankwalk.practice.feeding.sharing import Pour
from tankwalk.practice.round.agenda import Slot, place_slot
from tankwalk.rows import NamedTuple


class Portion(NamedTuple):
    """A feed at a tank: what it is to get of it at this meal, in the unit it is kept in.

    `listed` is what is measured out, less than the `full` ration where there is too little; None
    where the plan has no ration. `pours` is what of which batch that is, of live feed.
    """

    feed: str
    label: str
    unit: str
    live: bool
    listed: float | None = None
    full: float | None = None
    pours: tuple[Pour, ...] = ()
    need: Need | None = None
    """How the ration was worked out; None for what is not on the list."""
    served: bool = False
    """Whether it went in already as the list was made: `listed` is its full ration then."""
    extra: bool = False
    """Whether a person chose it, and the list does not have it."""

    @property
    def ml(self) -> float | None:
        """What is measured out in mL; None for what is weighed, or where no batch is known."""
        return sum(one.ml for one in self.pours) if self.pours else None

    @property
    def density(self) -> float | None:
        """Thousand animals in a mL of what is poured; None where no batch is known."""
        if not self.pours:
            return None
        ml = sum(one.ml for one in self.pours)
        if not ml:
            return self.pours[0].per_ml / 1000
        return sum(one.thousand for one in self.pours) / ml

    @property
    def short(self) -> bool:
        """Whether there is less than the full ration."""
        return self.listed is not None and self.full is not None and self.listed < self.full


class Asked(NamedTuple):
    """An item that is asked at a tank: before it is fed, or after."""

    slot: Slot
    after: bool


Line = Asked | Portion
"""One line of a stop."""


class Stop(NamedTuple):
    """One tank of the meal: its lines in the order one comes to them."""

    tank: Tank
    age: int | None
    lines: tuple[Line, ...]
    off: FeedOff | None = None

    @property
    def portions(self) -> tuple[Portion, ...]:
        """The feeds alone."""
        return tuple(one for one in self.lines if isinstance(one, Portion))

    @property
    def fed(self) -> bool:
        """Whether the tank is to be fed at this meal."""
        return self.off is None and bool(self.portions)


def stop(
    plan: Plan,
    tank: Tank,
    meal: Instant,
    portions: Sequence[Portion],
    off: FeedOff | None,
    asked: tuple[Sequence[str], Sequence[str]],
) -> Stop:
    """A tank of a meal; `asked` are the codes of items before the feed and after it.

    Items that do not belong to fish of this age are left out, and all where nothing is fed.
    """
    day = meal.day
    age = plan.age(tank, day)
    before, after = (
        tuple(
            Asked(place_slot(plan, tank.code, item, day), late)
            for item in map(plan.item, codes)
            if portions and off is None and item.asked_at(age)
        )
        for codes, late in zip(asked, (False, True), strict=True)
    )
    return Stop(tank, age, (*before, *portions, *after), off)


def another(stop: Stop, portion: Portion) -> Stop:
    """The stop with one more feed that a person says went in: after those that are listed."""
    if any(one.feed == portion.feed for one in stop.portions):
        return stop
    at = sum(1 for one in stop.lines if not (isinstance(one, Asked) and one.after))
    return stop._replace(lines=(*stop.lines[:at], portion, *stop.lines[at:]))


def unlisted(feed: Feed, pours: Sequence[Pour]) -> Portion:
    """A feed of the plan that the list does not give a tank; `pours` says how dense it is."""
    none = tuple(one._replace(ml=0.0) for one in pours[:1])
    live = feed.kind is FeedKind.LIVE
    return Portion(feed.code, meals.feed_words(feed), feed.unit, live, pours=none, extra=True)
