"""The Live feed page as one value: batches, what the meals need, the stock; and one batch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import BatchKind
from tankwalk.practice.livefeed import batches, on_hand
from tankwalk.practice.livefeed.batches import LiveBatch, State
from tankwalk.practice.livefeed.choosing import Row
from tankwalk.practice.livefeed.on_hand import OnHand
from tankwalk.practice.livefeed.steps import PlannedCone
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.practice.feeding.tracing import BatchTrace, PlaceTrace


class LiveFeedView(NamedTuple):
    """All that the page shows, read in one go."""

    room: str
    now: Instant
    batches: tuple[LiveBatch, ...]
    planned: tuple[PlannedCone, ...]
    stock: tuple[OnHand, ...]

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
    now = site.now()
    with site.ledger.reading():
        return LiveFeedView(
            site.plan.name,
            now,
            batches.live_batches(site, now),
            (),
            on_hand.on_hand(site, now, {}),
        )
