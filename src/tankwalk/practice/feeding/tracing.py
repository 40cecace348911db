"""From a batch of live feed to every tank and meal that got it, and from a tank to its batches.

Nothing here is judged: after a poor hatch, a bad tin or a sick tank it tells who had the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import zip_longest

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import BEGINS, BatchEvent, BatchKind, BatchSeen, PouredSeen
from tankwalk.plan.model import Plan
from tankwalk.practice.livefeed import cold_store
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

FARTHEST = 6
"""So many batches are followed back: cone, shelled cysts, tin, and a few that were typed wrong."""


class Origin(NamedTuple):
    """What a batch was made from; `kind` and `at` are None for a lot that is no batch here."""

    name: str
    kind: BatchKind | None = None
    at: Instant | None = None


class Portion(NamedTuple):
    """What a tank got of a batch at one feeding, and how many hours after its harvest."""

    n: int
    place: str
    batch: str
    feed: str
    ml: float
    thousand: float
    meal_at: Instant | None
    at: Instant
    who: str
    age_h: float | None


class Balance(NamedTuple):
    """Where the nauplii of a harvest went, in thousand.

    `unsaid` is the rest: what was drained without a word, or what two counts do not agree on.
    """

    harvested: float
    poured: float
    discarded: float
    left: float

    @property
    def unsaid(self) -> float:
        return self.harvested - self.poured - self.discarded - self.left


class BatchTrace(NamedTuple):
    """A batch with what it was made from, nearest first, and every portion of it, oldest first.

    `made` are the batches that were made from it; the portions of a tin or of shelled cysts are
    those of all of these.
    """

    batch: str
    kind: BatchKind
    begun: Instant
    harvested: Instant | None
    hatch_percent: float | None
    origins: tuple[Origin, ...]
    made: tuple[str, ...]
    portions: tuple[Portion, ...]
    balance: Balance | None = None

    @property
    def places(self) -> tuple[str, ...]:
        """The tanks that got some of it, in the order in which they first did."""
        return tuple(dict.fromkeys(one.place for one in self.portions))

    @property
    def meals(self) -> tuple[Instant, ...]:
        """The planned meals that it went into."""
        known = (one.meal_at for one in self.portions)
        return tuple(sorted({at for at in known if at is not None}))


class PlaceTrace(NamedTuple):
    """What some tanks got of live feed since a moment: portions, and the batches, oldest first."""

    places: tuple[str, ...]
    since: Instant
    portions: tuple[Portion, ...]
    batches: tuple[BatchTrace, ...]

    def thousand(self, batch: str) -> float:
        """Thousand nauplii that they got of a batch."""
        return sum(one.thousand for one in self.portions if one.batch == batch)


class _Life(NamedTuple):
    """One batch of a name that may have come several times: its events, and when the next began."""

    events: tuple[BatchSeen, ...]
    until: int | None

    def holds(self, utc: int) -> bool:
        """Whether something of a moment is of this batch and not of another one of its name."""
        return self.events[0].at.utc <= utc and (self.until is None or utc < self.until)


def of_batch(site: Site, name: str, now: Instant) -> BatchTrace | None:
    """The newest batch of a name, traced both ways; None where there is none.

    Of a tin or of shelled cysts also what was made from it, and where that went.
    """
    life = _life(site, name, now)
    if life is None:
        return None
    traced = _traced(site, life, now)
    made = _made_from(site, traced, now)
    portions = [*traced.portions, *(one for batch in made for one in batch.portions)]
    portions.sort(key=lambda one: (one.at.utc, one.n, one.batch))
    return traced._replace(made=tuple(batch.batch for batch in made), portions=tuple(portions))


def of_places(site: Site, places: Sequence[str], since: Instant, now: Instant) -> PlaceTrace:
    """What some tanks got of which batches from a moment on until now."""
    batches: dict[int, BatchTrace] = {}
    named: dict[str, list[_Life]] = {}
    portions = []
    for one in site.reader.feeding.poured(since.utc):
        if one.place not in places or one.at.utc > now.utc:
            continue
        if one.batch not in named:
            named[one.batch] = _lives(site, one.batch)
        life = _that_was(named[one.batch], one.at)
        if life is None:  # it is not said where this came from
            portions.append(_portion(one, None))
            continue
        first = life.events[0].n
        if first not in batches:
            batches[first] = _traced(site, life, now)
        portions.append(_portion(one, batches[first].harvested))
    found = sorted(batches.values(), key=lambda batch: (batch.begun.utc, batch.batch))
    return PlaceTrace(tuple(places), since, tuple(portions), tuple(found))


def of_treatment(site: Site, treatment: str, since: Instant, now: Instant) -> PlaceTrace:
    """What the tanks of a treatment got of which batches."""
    return of_places(site, tanks_of(site.plan, treatment), since, now)


def tanks_of(plan: Plan, treatment: str) -> tuple[str, ...]:
    """The tanks of a treatment, in the plan's order."""
    return tuple(tank.code for tank in plan.tanks if tank.treatment == treatment)


def _life(site: Site, name: str, at: Instant) -> _Life | None:
    """The batch that had a name at a moment, with all that happened to it; None where none had."""
    return _that_was(_lives(site, name), at)


def _lives(site: Site, name: str) -> list[_Life]:
    """Every batch that ever had a name, oldest first."""
    seen = site.reader.feeding.batch(name)
    starts = [k for k, one in enumerate(seen) if one.event in BEGINS]
    return [
        _Life(tuple(seen[here:after]), None if after is None else seen[after].at.utc)
        for here, after in zip_longest(starts, starts[1:])
    ]


def _that_was(lives: Sequence[_Life], at: Instant) -> _Life | None:
    return next((one for one in reversed(lives) if one.holds(at.utc)), None)


def _traced(site: Site, life: _Life, now: Instant) -> BatchTrace:
    """A batch as it was until now, without what was made from it."""
    first = life.events[0]
    seen = [one for one in life.events if one.at.utc <= now.utc]
    poured = [
        one
        for one in site.reader.feeding.poured_from(first.batch)
        if life.holds(one.at.utc) and one.at.utc <= now.utc
    ]
    harvest = next((one for one in seen if one.event == BatchEvent.HARVEST), None)
    kind = BatchKind(first.kind) if first.kind else BatchKind.CONE
    is_cone = kind is BatchKind.CONE and harvest is not None
    return BatchTrace(
        first.batch,
        kind,
        first.at,
        None if harvest is None else harvest.at,
        next((one.hatch_percent for one in reversed(seen) if one.hatch_percent is not None), None),
        _origins(site, first),
        (),
        tuple(_portion(one, None if harvest is None else harvest.at) for one in poured),
        _balance(seen, poured, now) if is_cone else None,
    )


def _portion(one: PouredSeen, harvested: Instant | None) -> Portion:
    meal_at = None if one.meal_at is None else Instant(one.meal_at, one.at.offset)
    age = None if harvested is None else one.at.hours_since(harvested)
    return Portion(
        one.n, one.place, one.batch, one.feed, one.ml, one.ml * one.per_ml / 1000, meal_at, one.at,
        one.who, age,
    )  # fmt: skip


def _origins(site: Site, first: BatchSeen) -> tuple[Origin, ...]:
    """What a batch was made from, and that in its turn, as far as the record knows."""
    found: list[Origin] = []
    here: BatchSeen | None = first
    while here is not None and len(found) < FARTHEST:
        names = [name for name in (here.source, here.lot) if name and name != here.batch]
        if not names or names[0] in (one.name for one in found):
            break
        life = _life(site, names[0], here.at)
        if life is None:  # a lot that is no batch here is where it ends
            found.append(Origin(names[0]))
            break
        begun = life.events[0]
        found.append(Origin(begun.batch, BatchKind(begun.kind) if begun.kind else None, begun.at))
        here = begun
    return tuple(found)


def _made_from(site: Site, one: BatchTrace, now: Instant) -> tuple[BatchTrace, ...]:
    """The batches that were set from a tin, a lot or shelled cysts since it began, oldest first.

    What was made from shelled cysts was made from the tin of these as well.
    """
    if one.kind not in (BatchKind.CYSTS, BatchKind.SHELLED):
        return ()
    known, found = {one.batch}, []
    for event in site.reader.feeding.batches(one.begun.utc):
        begins = event.event in BEGINS and event.at.utc <= now.utc
        if not begins or event.batch in known or not known & {event.source, event.lot}:
            continue
        life = _life(site, event.batch, event.at)
        if life is not None:
            known.add(event.batch)
            found.append(_traced(site, life, now))
    return tuple(found)


def _balance(
    seen: Sequence[BatchSeen], poured: Sequence[PouredSeen], now: Instant
) -> Balance | None:
    """Where a harvest went, by the density that held at the time."""
    per_ml = next((one.per_ml for one in seen if one.per_ml is not None), None)
    harvest = next((one for one in seen if one.event == BatchEvent.HARVEST), None)
    if per_ml is None or harvest is None or harvest.litres is None:
        return None
    out = 0.0
    for k, one in enumerate(seen):
        if one.event != BatchEvent.DISCARD:
            continue
        # What was there just before; and of what nobody measured, all of it went.
        there = _left(seen[:k], [p for p in poured if p.at.utc <= one.at.utc], one.at)
        whole = 0.0 if there is None else there.thousand
        if one.litres is None:
            out += whole
        elif there is not None:
            out += min(whole, one.litres * there.per_ml)
    left = _left(seen, poured, now)
    return Balance(
        harvest.litres * per_ml,
        sum(one.ml * one.per_ml / 1000 for one in poured),
        out,
        0.0 if left is None else left.thousand,
    )


def _left(
    seen: Iterable[BatchSeen], poured: Iterable[PouredSeen], now: Instant
) -> cold_store.Chilled | None:
    return next(iter(cold_store.left(seen, poured, now)), None)
