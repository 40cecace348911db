"""Every live batch: what it is, how it stands, what is wrong with it, and its one next step."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import timedelta
from enum import Enum

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.feeding import BEGINS, BatchEvent, BatchKind, BatchSeen
from tankwalk.plan.model import Plan
from tankwalk.plan.vessels import Culture, CultureKind
from tankwalk.practice.livefeed import cold_store
from tankwalk.practice.livefeed.cold_store import Chilled
from tankwalk.practice.livefeed.cones import due_at, harvest_state
from tankwalk.practice.livefeed.cultures import (
    LATELY,
    CultureCount,
    CultureFault,
    culture_count,
    faults_of,
)
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import DueState, NextStep
from tankwalk.rows import NamedTuple

BACK_DAYS = 45
"""So far back one looks for batches: shelled cysts in brine keep a month."""

CHECK_HOURS = 8.0
"""Where no meal is planned a cone is checked so long after it was set. Common practice."""

NEAR_HOURS = 2.0
"""So long before its harvest a cone is no more checked for its water. Common practice."""

CHILL_HOURS = 1.0
"""What the first meal leaves is chilled so long after the harvest. Common practice, no source."""

SHELLED_DAYS, BRINE_DAYS = 7.0, 30.0
"""Shelled cysts keep so long at 0 to 4 degC, and in saturated brine.

FAO Fisheries Technical Paper 361, from memory.
"""

BRINE_G_KG = 200.0
"""From here on water is brine: saturated at some 260 to 300. Common practice, no source."""

LOOK_AGAIN_HOURS = 3.0
"""A culture that is flagged is counted again so long after. Common practice, no source."""


class State(Enum):
    """How a batch stands."""

    HATCHING = "hatching"
    HARVESTED = "harvested"
    CHILLED = "in the cold store"
    ENRICHING = "enriching"
    STORED = "stored"
    GROWING = "growing"
    NOT_BEGUN = "not begun"
    SHELLING = "shells coming off"
    GONE = "gone"


NOT_LISTED = (State.GONE, State.SHELLING)
"""Batches that are over, and those that a guided procedure has in hand, with its own page."""


class Next(NamedTuple):
    """A next step and when it is due; `from_` is what a culture is restarted from."""

    step: NextStep
    at: Instant
    from_: str | None = None

    def hours(self, now: Instant) -> float:
        """Hours until it is due; negative where that is past."""
        return self.at.hours_since(now)


class LiveBatch(NamedTuple):
    """One batch: `name` as on its label, what happened to it (oldest first), what is next.

    `left` is what of a harvest is still here; `grams` what is left of shelled cysts; `counts` are
    those of a culture, oldest first.
    """

    name: str
    kind: BatchKind
    state: State
    events: tuple[BatchSeen, ...]
    next: Next | None
    left: Chilled | None = None
    grams: float | None = None
    culture: Culture | None = None
    counts: tuple[CultureCount, ...] = ()
    faults: tuple[CultureFault, ...] = ()

    @property
    def begun(self) -> BatchSeen | None:
        """The event that began it."""
        return self.events[0] if self.events else None

    def last(self, *events: BatchEvent) -> BatchSeen | None:
        """The newest of some events."""
        return next((one for one in reversed(self.events) if one.event in events), None)


def live_batches(site: Site, now: Instant) -> tuple[LiveBatch, ...]:
    """Every batch that is not gone, cones first by when they are due, then cold store, cultures."""
    return site.worked_at(now, "live batches", lambda: _live_batches(site, now))


def _live_batches(site: Site, now: Instant) -> tuple[LiveBatch, ...]:
    since = now.utc - BACK_DAYS * 86400
    seen = [one for one in site.reader.feeding.batches(since) if one.at.utc <= now.utc]
    stored = {one.batch: one for one in cold_store.chilled(site, now)}
    vessels = {c.code for c in site.plan.cultures}
    lately = by_name(seen)
    found = [
        _batch(site.plan, events, seen, stored, now)
        for name, events in lately.items()
        if name not in vessels
    ]
    vessel_batches = _cultures(site, lately, now)
    return (*sorted((b for b in found if b.state not in NOT_LISTED), key=_order), *vessel_batches)


def one_batch(site: Site, name: str, now: Instant) -> LiveBatch | None:
    """A batch by its name, gone or not; the newest of that name. None where there is none."""
    found = next((one for one in live_batches(site, now) if one.name == name), None)
    if found is not None:
        return found
    events = _newest_of_name(
        [one for one in site.reader.feeding.batch(name) if one.at.utc <= now.utc]
    )
    if not events:
        return None
    stored = {one.batch: one for one in cold_store.chilled(site, now)}
    return _batch(site.plan, events, events, stored, now)


def by_name(seen: Iterable[BatchSeen]) -> dict[str, list[BatchSeen]]:
    """Events by batch, each from its beginning on; a name that comes again is a new batch."""
    found: dict[str, list[BatchSeen]] = {}
    for one in seen:
        if one.event in BEGINS:
            found.pop(one.batch, None)
            found[one.batch] = [one]
        elif one.batch in found:
            found[one.batch].append(one)
    return found


def _newest_of_name(seen: Sequence[BatchSeen]) -> list[BatchSeen]:
    """The events of the newest batch of a name; all where its beginning is not known."""
    start = max((k for k, one in enumerate(seen) if one.event in BEGINS), default=0)
    return list(seen[start:])


def kind_of(events: Sequence[BatchSeen]) -> BatchKind:
    """What a batch is, as said when it began; what was set without a word is a cone.

    Cysts whose shells come off just now have nothing but the steps of that.
    """
    said = next((one.kind for one in events if one.kind), None)
    if said is None and all(one.event == BatchEvent.STEP for one in events):
        return BatchKind.SHELLED
    return BatchKind(said) if said else BatchKind.CONE


_ORDER = {State.HATCHING: 0, State.HARVESTED: 1, State.ENRICHING: 2, State.CHILLED: 3}


def _order(one: LiveBatch) -> tuple[int, int, str]:
    return (
        _ORDER.get(one.state, 4),
        0 if one.next is None else one.next.at.utc,
        one.name,
    )


def _batch(
    plan: Plan,
    events: Sequence[BatchSeen],
    seen: Sequence[BatchSeen],
    stored: Mapping[str, Chilled],
    now: Instant,
) -> LiveBatch:
    kind = kind_of(events)
    name, kept = events[0].batch, tuple(events)
    found = LiveBatch(name, kind, State.GONE, kept, None)
    match kind:
        case BatchKind.CONE:
            return _cone(plan, found, stored.get(name), now)
        case BatchKind.SHELLED:
            return _shelled(found, seen, now)
        case BatchKind.ROTIFERS | BatchKind.ALGAE:  # a vessel that is not in the plan
            return found._replace(state=State.GROWING)
    return found


# ---- cones


def _cone(plan: Plan, one: LiveBatch, left: Chilled | None, now: Instant) -> LiveBatch:
    """A cone, from set to what is left of it in the cold store."""
    if one.last(BatchEvent.HARVEST) is None:
        if one.last(BatchEvent.DISCARD) is not None:
            return one
        return one._replace(state=State.HATCHING, next=_before_harvest(plan, one, now))
    harvest = one.last(BatchEvent.HARVEST)
    uncounted = not any(event.per_ml for event in one.events)
    if harvest is not None and uncounted and one.last(BatchEvent.DISCARD) is None:
        step = Next(NextStep.COUNT, harvest.at)
        return one._replace(state=State.HARVESTED, next=step)
    if left is None:
        return one
    if left.ready_at is not None and left.ready_at.utc > now.utc:
        step = Next(NextStep.POUR, left.ready_at)
        return one._replace(state=State.ENRICHING, next=step, left=left)
    if not left.chilled:
        step = Next(NextStep.CHILL, _later(left.harvested, CHILL_HOURS))
        return one._replace(state=State.HARVESTED, next=step, left=left)
    step = Next(NextStep.DISCARD, left.warn_at)
    return one._replace(state=State.CHILLED, next=step, left=left)


def _before_harvest(plan: Plan, one: LiveBatch, now: Instant) -> Next | None:
    """A cone that hatches: its check in the evening, then its harvest; too late, it is thrown."""
    due = due_at(list(one.events))
    begun = one.begun
    if begun is None:
        return None
    if one.last(BatchEvent.CHECK) is None:
        check = evening(plan, begun.at)
        near = None if due is None else due - round(NEAR_HOURS * 3600)
        if due is None or near is None or (check.utc < due and now.utc < near):
            return Next(NextStep.CHECK, check)
    if due is None:
        return None
    when = Instant(due, begun.at.offset)
    _, state = harvest_state(when, now)
    step = NextStep.DISCARD if state is DueState.USELESS else NextStep.HARVEST
    return Next(step, when)


def evening(plan: Plan, begun: Instant) -> Instant:
    """When a cone that was set then is checked: with the last meal of that day, if it is later."""
    last = max((meal.at for meal in plan.meals if meal.is_on(begun.day)), default=None)
    if last is not None:
        when = at(begun.day, last.hour, last.minute, zone(plan.zone))
        if when.hours_since(begun) >= 1:
            return when
    return _later(begun, CHECK_HOURS)


# ---- shelled cysts


def _shelled(one: LiveBatch, seen: Sequence[BatchSeen], now: Instant) -> LiveBatch:
    """Shelled cysts in the cold store: what is left of them, and until when they are good."""
    begun = one.begun
    if begun is None or begun.event == BatchEvent.STEP:
        return one._replace(state=State.SHELLING)
    made = sum(e.grams or 0.0 for e in one.events if e.event in BEGINS)
    gone = sum(e.grams or 0.0 for e in one.events if e.event == BatchEvent.DISCARD)
    whole = any(e.event == BatchEvent.DISCARD and e.grams is None for e in one.events)
    used = sum(
        e.grams or 0.0
        for e in seen
        if e.event == BatchEvent.SET and e.source == one.name and e.at.utc >= begun.at.utc
    )
    left = 0.0 if whole else max(0.0, made - gone - used)
    if left < 0.05:
        return one._replace(grams=0.0)
    use_by = use_by_of(begun)
    step = NextStep.DISCARD if now.utc >= use_by.utc else NextStep.POUR
    return one._replace(state=State.STORED, next=Next(step, use_by), grams=left)


def use_by_of(begun: BatchSeen) -> Instant:
    """Until when shelled cysts are good: as was said, else a week, or a month in brine."""
    if begun.due_at is not None:
        return Instant(begun.due_at, begun.at.offset)
    brine = begun.salinity is not None and begun.salinity >= BRINE_G_KG
    return _later(begun.at, 24 * (BRINE_DAYS if brine else SHELLED_DAYS))


# ---- cultures


def _cultures(
    site: Site, lately: Mapping[str, list[BatchSeen]], now: Instant
) -> tuple[LiveBatch, ...]:
    """Every vessel of the plan, in its order; what was not begun `lately` is looked up by name."""
    plan = site.plan
    read = {
        vessel.code: lately.get(vessel.code) or _newest(site, vessel.code, now)
        for vessel in plan.cultures
    }
    alive = {code: events for code, events in read.items() if _alive(events)}
    counted = {
        code: [one for one in events if one.per_ml is not None][-LATELY:]
        for code, events in alive.items()
    }
    said = site.reader.feeding.counts([one.n for seen in counted.values() for one in seen])
    found = []
    for vessel in plan.cultures:
        kind = BatchKind(vessel.kind.value)
        events = alive.get(vessel.code, [])
        sisters = [c.code for c in plan.cultures if c.kind is vessel.kind and c.code in alive]
        backup = next((code for code in sisters if code != vessel.code), None)
        if not events:
            step = Next(NextStep.SET, now, backup)
            found.append(LiveBatch(vessel.code, kind, State.NOT_BEGUN, (), step, culture=vessel))
            continue
        counts = tuple(culture_count(o, said.get(o.n, ())) for o in counted[vessel.code])
        faults = faults_of(vessel, counts, alone=backup is None)
        one = LiveBatch(
            vessel.code, kind, State.GROWING, tuple(events), None,
            culture=vessel, counts=counts, faults=faults,
        )  # fmt: skip
        found.append(one._replace(next=_culture_next(plan, one, vessel, backup, now)))
    return tuple(found)


def _newest(site: Site, vessel: str, now: Instant) -> list[BatchSeen]:
    seen = site.reader.feeding.newest_batch(vessel)
    return _newest_of_name([one for one in seen if one.at.utc <= now.utc])


def _alive(events: Sequence[BatchSeen]) -> bool:
    return bool(events) and not any(
        one.event in (BatchEvent.DISCARD, BatchEvent.EMPTY) for one in events
    )


def _culture_next(
    plan: Plan, one: LiveBatch, vessel: Culture, backup: str | None, now: Instant
) -> Next:
    """The daily turn of a culture: counted, harvested unless it is flagged, fed, counted again."""
    tz = zone(plan.zone)
    today = at(now.day, vessel.count_at.hour, vessel.count_at.minute, tz)
    last = one.counts[-1] if one.counts else None
    if last is None or last.at.day < now.day:
        return Next(NextStep.COUNT, today)
    if vessel.kind is CultureKind.ALGAE:
        return _algae_next(plan, one, vessel, last, now)
    if any(fault.restart for fault in one.faults):
        return Next(NextStep.RESTART, last.at, backup)
    if any(fault.hold for fault in one.faults):
        return Next(NextStep.COUNT, _later(last.at, LOOK_AGAIN_HOURS))
    done = {e.event for e in one.events if e.at.day == now.day and e.at.utc >= last.at.utc}
    if vessel.harvest and not done & {BatchEvent.HARVEST, BatchEvent.DILUTE}:
        return Next(NextStep.HARVEST, last.at)
    if (vessel.food or vessel.food_per_million) and BatchEvent.FEED not in done:
        return Next(NextStep.FEED, last.at)
    return Next(NextStep.COUNT, _tomorrow(plan, vessel, now))


def _algae_next(
    plan: Plan, one: LiveBatch, vessel: Culture, last: CultureCount, now: Instant
) -> Next:
    """Algae are split by the calendar; between, they are looked at day by day."""
    split = one.last(BatchEvent.DILUTE, BatchEvent.SET)
    if split is not None and vessel.split_days:
        when = _later(split.at, 24 * vessel.split_days)
        if when.utc <= now.utc or when.day == now.day:
            return Next(NextStep.SPLIT, when)
    return Next(NextStep.COUNT, _tomorrow(plan, vessel, now))


def _tomorrow(plan: Plan, vessel: Culture, now: Instant) -> Instant:
    day = now.day + timedelta(days=1)
    return at(day, vessel.count_at.hour, vessel.count_at.minute, zone(plan.zone))


def _later(start: Instant, hours: float) -> Instant:
    return Instant(start.utc + round(hours * 3600), start.offset)


# ---- names


def free_name(site: Site, letter: str, on: Instant, used: Iterable[str] = ()) -> str:
    """A name for a tape label by the date: A0510, and A0510b for a second of that day.

    Neither that of a batch in the record nor one of those that are `used` for others.
    """
    stem = f"{letter}{on.wall:%m%d}"
    since = on.utc - BACK_DAYS * 86400
    now = site.now().utc
    seen = site.reader.feeding.batches(since)
    taken = {one.batch.casefold() for one in seen if one.at.utc <= now}
    taken |= {name.casefold() for name in used}
    names = [stem, *(f"{stem}{more}" for more in "bcdefghijklmnopqrstuvwxyz")]
    return next((name for name in names if name.casefold() not in taken), stem)
