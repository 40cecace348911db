"""The Live feed page as one value: batches, what the meals need, the stock; and one batch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.figures import percent_of
from tankwalk.ledger.feeding import BatchKind
from tankwalk.practice.livefeed import batches, on_hand
from tankwalk.practice.livefeed.batches import LiveBatch, State
from tankwalk.practice.livefeed.choosing import Row
from tankwalk.practice.livefeed.on_hand import OnHand
from tankwalk.practice.livefeed.setting import PlannedCone, Proposed
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.practice.feeding.tomorrow import Tomorrow
    from tankwalk.practice.feeding.tracing import BatchTrace, PlaceTrace
    from tankwalk.practice.tasks import OutOfLimit


class Risk(NamedTuple):
    """The first meal that is short if the late cones give nothing, and by how much of its need.

    `out` is what of their water was not right at the last look.
    """

    batches: tuple[str, ...]
    first: Instant
    percent: int
    out: tuple[OutOfLimit, ...] = ()


class LiveFeedView(NamedTuple):
    """All that the page shows, read in one go."""

    room: str
    now: Instant
    batches: tuple[LiveBatch, ...]
    planned: tuple[PlannedCone, ...]
    stock: tuple[OnHand, ...]
    ahead: Tomorrow
    """What the meals to come need, and what runs short."""
    live_fed: tuple[str, ...]
    """The tanks that get nauplii today."""
    risk: Risk | None = None
    """What is short if the cones that are late give nothing."""

    @property
    def cones(self) -> tuple[LiveBatch, ...]:
        """Cones that hatch, or that were harvested and not counted yet."""
        return tuple(one for one in self.batches if one.state is State.HATCHING or uncounted(one))

    @property
    def store(self) -> tuple[LiveBatch, ...]:
        """What was harvested and is still here, and shelled cysts."""
        kept = (State.HARVESTED, State.ENRICHING, State.CHILLED, State.STORED)
        return tuple(one for one in self.batches if one.state in kept and not uncounted(one))

    @property
    def cultures(self) -> tuple[LiveBatch, ...]:
        """The vessels."""
        return tuple(
            one for one in self.batches if one.kind in (BatchKind.ROTIFERS, BatchKind.ALGAE)
        )

    @property
    def rows(self) -> tuple[Row, ...]:
        """What one can stand at, in the order of the page."""
        return (*self.cones, *self.planned, *self.store, *self.cultures, *self.stock)


class BatchView(NamedTuple):
    """One batch as its page shows it: how it stands, all that happened, and where it went."""

    name: str
    now: Instant
    batch: LiveBatch
    trace: BatchTrace | None


def batch_view(site: Site, name: str) -> BatchView | None:
    """The newest batch of a name; None where there is none."""
    from tankwalk.practice.feeding import tracing

    now = site.now()
    with site.ledger.reading():
        one = batches.one_batch(site, name, now)
        if one is None:
            return None
        return BatchView(name, now, one, tracing.of_batch(site, name, now) if one.events else None)


class FedView(NamedTuple):
    """From which batches a tank, or the tanks of a treatment, were fed lately."""

    name: str
    now: Instant
    trace: PlaceTrace


class FedFrom(NamedTuple):
    """What of one batch went in: at so many meals, in mL and in thousand."""

    batch: str
    meals: int
    ml: float
    thousand: float
    hatch_percent: float | None
    of: str
    """What it was hatched from, "" where that is not known."""


def by_batch(trace: PlaceTrace) -> tuple[FedFrom, ...]:
    """What tanks got of each batch, newest first."""
    found = []
    for one in reversed(trace.batches):
        some = [each for each in trace.portions if each.batch == one.batch]
        found.append(
            FedFrom(
                one.batch,
                len({(each.meal_at or each.at).utc for each in some}),
                sum(each.ml for each in some),
                sum(each.thousand for each in some),
                one.hatch_percent,
                one.origins[-1].name if one.origins else "",
            )
        )
    return tuple(found)


FED_DAYS = 7
"""So far back the batches of a tank are told."""


def fed_view(site: Site, name: str) -> FedView | None:
    """The batches of a tank or a treatment; None where the plan has neither of that name."""
    from tankwalk.practice.feeding import tracing

    plan, now = site.plan, site.now()
    tank = plan.find_tank(name)
    places = (tank.code,) if tank is not None else tracing.tanks_of(plan, name)
    if not places:
        return None
    since = Instant(now.utc - FED_DAYS * 86400, now.offset)
    with site.ledger.reading():
        return FedView(name, now, tracing.of_places(site, places, since, now))


def uncounted(one: LiveBatch) -> bool:
    """Whether a cone was harvested and nobody counted it yet."""
    return one.state is State.HARVESTED and one.left is None


def live_feed(site: Site) -> LiveFeedView:
    """The page as it stands now."""
    from tankwalk.practice.feeding.tomorrow import tomorrow

    now = site.now()
    with site.ledger.reading():
        ahead = tomorrow(site)
        return LiveFeedView(
            site.plan.name,
            now,
            batches.live_batches(site, now),
            _planned(site, ahead),
            on_hand.on_hand(site, now, ahead.use),
            ahead,
            _live_fed(site, now),
            risk_of(ahead),
        )


def risk_of(ahead: Tomorrow) -> Risk | None:
    """What is short if the cones that are late give nothing; None where none is, or none matters.

    Of the cold store what is not two days old by then is counted.
    """
    late = [one for one in ahead.standing if one.late]
    if not late:
        return None
    others = [one.ready.utc for one in ahead.standing if not one.late]
    used = 0.0
    for meal in (one for one in ahead.meals if one.need):
        if any(ready <= meal.meal.utc for ready in others):
            return None  # by then another one is in
        store = [one.thousand for one in ahead.store if one.feeds(meal.meal)]
        there = max(0.0, sum(store) - used)
        if there < meal.need:
            percent = 100 - percent_of(there / meal.need)
            out = tuple(dict.fromkeys(wrong for one in late for wrong in one.out))
            return Risk(tuple(one.batch for one in late), meal.meal, percent, out)
        used += meal.need
    return None


def _planned(site: Site, ahead: Tomorrow) -> tuple[PlannedCone, ...]:
    """The cones that should be set, each with the name it would have."""
    found: list[PlannedCone] = []
    for one in ahead.to_set:
        used = [cone.name for cone in found]
        name = batches.free_name(site, "A", one.set_by, used)
        source = one.shelled[0].batch if one.shelled else None
        proposed = Proposed(one.grams, one.litres, one.harvest, source, name)
        hatch = one.hatch
        found.append(
            PlannedCone(name, one.set_by, proposed, hatch.lot, hatch.percent, hatch.per_gram)
        )
    return tuple(found)


def _live_fed(site: Site, now: Instant) -> tuple[str, ...]:
    """The tanks that get nauplii today."""
    from tankwalk.practice.feeding import meals

    return tuple(
        tank.code
        for tank in site.plan.tanks
        if any(feed.hatched for feed in meals.owed(site.plan, tank, now.day))
    )
