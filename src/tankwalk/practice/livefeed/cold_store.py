"""The cold store: nauplii that were harvested and not poured yet, and how long they are feed."""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import BEGINS, BatchEvent, BatchKind, BatchSeen, PouredSeen
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

WARN_HOURS = 24.0
"""Nauplii are feed for a day, below 10 degC and at 8 million in a liter at most.

Larviculture course notes of Ghent University.
"""

BLOCK_HOURS = 48.0
"""After two days they are no feed any more: over 90 % live so long at 2 to 4 degC, and no longer.

Artemia strain KKT1, Journal of Biological Research 5 (2005), abstract.
"""

KEPT_DAYS = 9
"""What was chilled and neither poured nor discarded is asked about for so long."""

NOTHING_ML = 0.5
"""Less than this is nothing: what stays in the jug. Common practice, no source."""

MEASURES = (BatchEvent.HARVEST, BatchEvent.CHILL, BatchEvent.ENRICH)
"""Events after which there is as much of a batch as was measured."""


class Chilled(NamedTuple):
    """What is left of one harvest: `ml` at `per_ml`, together `thousand` nauplii.

    From `warn_at` on they are worth less, from `block_at` on they are no feed. `chilled` tells
    whether somebody put them into the cold store; `ready_at` is when an enrichment is over.
    """

    batch: str
    per_ml: float
    ml: float
    thousand: float
    harvested: Instant
    warn_at: Instant
    block_at: Instant
    chilled: bool = False
    ready_at: Instant | None = None

    def warns(self, now: Instant) -> bool:
        """Whether they are older than a day."""
        return now.utc >= self.warn_at.utc

    def blocked(self, now: Instant) -> bool:
        """Whether they are older than two days, and are discarded."""
        return now.utc >= self.block_at.utc

    def enriching(self, now: Instant) -> bool:
        """Whether they are still in their enrichment, and not to be poured."""
        return self.ready_at is not None and now.utc < self.ready_at.utc

    def feeds(self, now: Instant) -> bool:
        """Whether they are feed at a moment: not too old, and out of their enrichment."""
        return not self.blocked(now) and not self.enriching(now)


def chilled(site: Site, now: Instant) -> tuple[Chilled, ...]:
    """What is left of every harvest, oldest first: harvested less poured less discarded."""
    return site.worked_at(now, "cold store", lambda: _chilled(site, now))


def _chilled(site: Site, now: Instant) -> tuple[Chilled, ...]:
    """As `left` has it, with what was poured added up by the record: it is a row a tank and meal.

    What counts of it is what was poured since the batch was measured last.
    """
    feeding = site.reader.feeding
    seen = feeding.batches(now.utc - KEPT_DAYS * 86400)
    measured: dict[str, tuple[int, int]] = {}
    for one in seen:
        if one.at.utc <= now.utc and one.event in MEASURES and one.litres is not None:
            measured[one.batch] = _in_order(one)
    unpoured = left(seen, (), now)
    asked = [(one.batch, *measured[one.batch]) for one in unpoured]
    poured = feeding.poured_after(asked, now.utc) if asked else {}
    found = (_with(one, one.ml - poured.get(one.batch, 0.0), one.per_ml) for one in unpoured)
    return tuple(one for one in found if one.ml >= NOTHING_ML)


def left(
    seen: Iterable[BatchSeen], poured: Iterable[PouredSeen], now: Instant
) -> tuple[Chilled, ...]:
    """What is left of every cone that was harvested, by all that happened to them until now.

    A harvest that nobody chilled feeds the fish of its day, and is gone after `WARN_HOURS`. What
    was not counted yet is no feed yet; what was set long ago is a culture and not a cone.
    """
    here: dict[str, Chilled] = {}
    cones: set[str] = set()
    acts: list[BatchSeen | PouredSeen] = [*seen, *poured]
    for one in sorted(acts, key=_in_order):
        if one.at.utc > now.utc:
            break
        if isinstance(one, BatchSeen) and one.event in BEGINS:
            (cones.add if one.kind == BatchKind.CONE else cones.discard)(one.batch)
        if one.batch not in cones:
            continue
        after = _after(here.pop(one.batch, None), one)
        if after is not None:
            here[one.batch] = after
    found = (one for one in here.values() if one.ml >= NOTHING_ML and one.per_ml > 0)
    kept = (one for one in found if one.chilled or not one.warns(now))
    return tuple(sorted(kept, key=lambda one: (one.harvested.utc, one.batch)))


def _in_order(act: BatchSeen | PouredSeen) -> tuple[int, int]:
    return act.at.utc, act.n


def _after(before: Chilled | None, act: BatchSeen | PouredSeen) -> Chilled | None:
    """What is left of a batch after something happened to it; None where nothing is known to be."""
    if isinstance(act, PouredSeen):
        return before and _with(before, before.ml - act.ml, before.per_ml)
    ml = None if act.litres is None else 1000 * act.litres
    if act.event == BatchEvent.HARVEST:
        return None if ml is None else _harvested(act, ml, act.per_ml or 0.0)
    if before is None or act.event in BEGINS:
        return None
    per_ml = before.per_ml if act.per_ml is None else act.per_ml
    match act.event:
        case BatchEvent.CHILL:
            return _with(before, before.ml if ml is None else ml, per_ml)._replace(chilled=True)
        case BatchEvent.DISCARD:
            return None if ml is None else _with(before, before.ml - ml, before.per_ml)
        case BatchEvent.ENRICH:
            ready = None if act.due_at is None else Instant(act.due_at, act.at.offset)
            return _with(before, before.ml if ml is None else ml, per_ml)._replace(ready_at=ready)
        case BatchEvent.COUNT:
            return _with(before, before.ml, per_ml)
    return before


def _harvested(act: BatchSeen, ml: float, per_ml: float) -> Chilled:
    warn, block = (
        Instant(act.at.utc + int(hours * 3600), act.at.offset)
        for hours in (WARN_HOURS, BLOCK_HOURS)
    )
    return _with(Chilled(act.batch, 0.0, 0.0, 0.0, act.at, warn, block), ml, per_ml)


def _with(one: Chilled, ml: float, per_ml: float) -> Chilled:
    return one._replace(ml=max(0.0, ml), per_ml=per_ml, thousand=max(0.0, ml) * per_ml / 1000)
