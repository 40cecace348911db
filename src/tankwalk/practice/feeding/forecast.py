"""What cones give: those that stand, and the ones that have to be set, worked back from meals."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import timedelta
from itertools import pairwise
from math import ceil

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.feeding import BatchSeen
from tankwalk.plan.model import Cysts, Hatching, Plan
from tankwalk.practice.feeding.sharing import usual_harvest
from tankwalk.practice.livefeed import cones
from tankwalk.practice.tasks import OutOfLimit
from tankwalk.rows import NamedTuple
from tankwalk.science.livefeed import cysts_needed, hatching_water
from tankwalk.science.middle import median

OWN_HATCHES, OWN_FEWEST = 5, 3
"""A lot is reckoned by the median of its last hatches, so many and no fewer. Common practice."""

SAME_HARVEST_HOURS = 8.0
"""A cone that is due so near the usual hour is the cone of that hour. Common practice."""


class Hatch(NamedTuple):
    """What a lot is reckoned to hatch, in percent: the median of `own` hatches, 0 for the plan's.

    `per_gram` is the nauplii of a gram if all of it hatched.
    """

    lot: str
    per_gram: float
    percent: float
    own: int = 0

    def thousand(self, grams: float) -> float:
        """What so many grams give."""
        return grams * self.per_gram * self.percent / 100 / 1000


class Standing(NamedTuple):
    """A cone that stands: when it is due and ready, and what it should give, in thousand.

    `late` tells that its harvest is past due; `out` what of its water was not right at the last
    look, so that less may come. `thousand` is None where its grams or its lot are not known.
    """

    batch: str
    due: Instant
    ready: Instant
    grams: float | None
    hatch: Hatch | None
    thousand: float | None
    late: bool
    out: tuple[OutOfLimit, ...] = ()


class Shelled(NamedTuple):
    """Shelled cysts in the cold store: so many g."""

    batch: str
    grams: float


class ToSet(NamedTuple):
    """A cone to set: by when, of what, and which meals it is for.

    It is harvested at `harvest` and `ready` for the meals until `until`, which need `thousand`.
    `grams` of cysts (margin included) go into `litres`, in these `cones`; of the grams `shelled`
    are taken first. `late` tells that it should stand by now: then it is set at once.
    """

    set_by: Instant
    harvest: Instant
    ready: Instant
    until: Instant
    thousand: float
    grams: float
    litres: float
    cones: tuple[float, ...]
    hatch: Hatch
    shelled: tuple[Shelled, ...] = ()
    late: bool = False

    @property
    def gives(self) -> float:
        """What is expected of it, in thousand."""
        return self.hatch.thousand(self.grams)


def hatch_of(plan: Plan, lot: str | None, seen: Iterable[BatchSeen]) -> Hatch | None:
    """What a lot should hatch: by its own last hatches, else by the plan; None if it has neither.

    `seen` oldest first. Without a lot it is the plan's first.
    """
    known = _lot(plan, lot)
    if known is None:
        return None
    of: dict[str, str | None] = {}
    own: list[float] = []
    events = list(seen)
    telling = {one.n for one in cones.hatches(events)}
    for one in events:
        if one.event == "set":
            of[one.batch] = one.lot
        elif one.n in telling and of.get(one.batch) == known.code:
            own.append(one.hatch_percent or 0.0)
    own = [percent for percent in own if percent > 0][-OWN_HATCHES:]
    if len(own) < OWN_FEWEST:
        return Hatch(known.code, known.per_gram, 100 * known.hatch)
    return Hatch(known.code, known.per_gram, median(own), len(own))


def _lot(plan: Plan, lot: str | None) -> Cysts | None:
    if lot is None:
        return plan.cysts[0] if plan.cysts else None
    return next((one for one in plan.cysts if one.code == lot), None)


def standing(plan: Plan, seen: Sequence[BatchSeen], now: Instant) -> tuple[Standing, ...]:
    """Cones that stand, by when they are due; one that is late is taken to be harvested now."""
    found = []
    for batch, events in cones.open_batches(seen).items():
        due = cones.due_at(events)
        if due is None or now.utc - due > cones.DISCARD_HOURS * 3600:
            continue
        first = events[0]
        hatch = hatch_of(plan, first.lot, seen)
        known = hatch is not None and first.grams is not None
        looked = next((one for one in reversed(events) if one.temperature or one.ph), first)
        found.append(
            Standing(
                batch,
                Instant(due, now.offset),
                later(Instant(max(due, now.utc), now.offset), plan.hatching.ready_min / 60),
                first.grams,
                hatch,
                hatch.thousand(first.grams or 0.0) if known and hatch is not None else None,
                due < now.utc,
                cones.out_of_limits(looked),
            )
        )
    return tuple(sorted(found, key=lambda one: (one.due.utc, one.batch)))


def to_set(
    plan: Plan,
    now: Instant,
    stand: Sequence[Standing],
    seen: Sequence[BatchSeen],
    shelled: Sequence[Shelled],
    needed: Callable[[Instant, Instant], float],
) -> tuple[ToSet, ...]:
    """Cones to set until the end of tomorrow; `needed` says what meals between two moments need.

    A cone is set its hours before the usual harvest. One that is past that is set now, unless the
    next one is ready as soon.
    """
    hours, ready = plan.hatching.hours, plan.hatching.ready_min / 60
    end = at(now.day + timedelta(days=2), 0, 0, zone(plan.zone))
    harvests = [
        when
        for days in range(4)
        if (when := usual_harvest(plan, now.day + timedelta(days=days))) is not None
        and when.utc > now.utc
    ]
    hatch = hatch_of(plan, None, seen)
    left = list(shelled)
    found = []
    for when, following in pairwise(harvests):
        if hatch is None or any(_same(one, when) for one in stand):
            continue
        set_by = later(when, -hours)
        late = set_by.utc < now.utc
        harvest = later(now, hours) if late else when
        if set_by.utc >= end.utc or harvest.hours_since(when) >= SAME_HARVEST_HOURS:
            continue
        start, until = later(harvest, ready), later(following, ready)
        thousand = needed(start, until)
        if thousand <= 0:
            continue
        grams = grams_for(plan.hatching, hatch, thousand)
        litres = round(hatching_water(grams, plan.hatching.grams_per_l), 1)
        found.append(
            ToSet(
                now if late else set_by,
                harvest,
                start,
                until,
                thousand,
                grams,
                litres,
                cones_for(plan.hatching.cones_l, litres),
                hatch,
                _taken(left, grams),
                late,
            )
        )
    return tuple(found)


def _same(one: Standing, harvest: Instant) -> bool:
    return abs(harvest.hours_since(one.due)) < SAME_HARVEST_HOURS


def grams_for(hatching: Hatching, hatch: Hatch, thousand: float) -> float:
    """Cysts for so many thousand nauplii and the plan's margin, in g, up to the next 0.1 g."""
    whole = cysts_needed(
        1000 * thousand * (1 + hatching.margin), hatch.per_gram, hatch.percent / 100
    )
    return ceil(10 * whole - 1e-9) / 10


def cones_for(volumes: Sequence[float], litres: float) -> tuple[float, ...]:
    """Which cones hold so much water, in L: the smallest that does, else the largest first."""
    found: list[float] = []
    free = sorted(volumes)
    while free and (rest := litres - sum(found)) > 0:
        # The last one may be a smaller one, where that is enough.
        nth = next((k for k, volume in enumerate(free) if volume >= rest), len(free) - 1)
        found.append(free.pop(nth))
    return tuple(found)


def _taken(left: list[Shelled], grams: float) -> tuple[Shelled, ...]:
    """What of the shelled cysts goes into a cone, oldest first; it is taken off what is left."""
    found: list[Shelled] = []
    for nth, one in enumerate(left):
        part = min(one.grams, grams - sum(each.grams for each in found))
        if part >= 0.05:
            found.append(one._replace(grams=round(part, 1)))
            left[nth] = one._replace(grams=one.grams - part)
    return tuple(found)


def later(start: Instant, hours: float) -> Instant:
    """So many hours after a moment."""
    return Instant(start.utc + round(3600 * hours), start.offset)
