"""Tanks that move together have one cause: the loop they share, or the meter that read them.

A meter is told from a loop by who did not move: other tanks of the same water, read with another
meter. Where nobody else was read, the loop is named and the meter with it.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant, past
from tankwalk.plan.model import Item, Limits
from tankwalk.practice.judging.baseline import FEWEST, SETTLED, Usual, resolution
from tankwalk.practice.judging.rules import FEWEST_TANKS, Shared, is_shared, most
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import median
from tankwalk.text import named

# Seeds, to be tuned by a site. Common practice, no source.

SPREADS = 3.0
"""How far, in spreads of a single look, and in finest steps of the meter."""
OF_THE_WAY = 1 / 3
"""A loop that stays in band is told when it went this part of the way to its limit."""
TRUSTED_HOURS = 12.0
"""A meter that passed its check this recently is not the one to suspect."""


class Shift(NamedTuple):
    """How far one tank's newest look stands from what is usual there."""

    place: str
    loop: str
    meter: str | None
    value: float
    usual: Usual

    def since(self, passed: int | None) -> float | None:
        """The shift against looks up to a UTC second; None given, against the older looks."""
        looks, levels = self.usual.looks, self.usual.levels
        if passed is None:
            settled = list(levels[:-FEWEST][-SETTLED:])
        else:
            settled = [
                level for look, level in zip(looks, levels, strict=True) if look.at <= passed
            ][-SETTLED:]
        return self.value - median(settled) if len(settled) >= FEWEST else None

    def lately(self) -> float | None:
        """The shift against the newest looks."""
        return None if self.usual.recent is None else self.value - self.usual.recent


class Cause(NamedTuple):
    """What moved together, which way, and the sentence that names it."""

    kind: Shared
    code: str
    tanks: tuple[str, ...]
    up: bool
    sentence: str


def find(
    item: Item,
    shifts: Sequence[Shift],
    here: Shift,
    limits: Limits | None,
    passes: dict[str, int],
    now: Instant,
) -> Cause | None:
    """The shared cause that the look `here` is part of, None where there is none.

    `shifts` are the other tanks' looks of this round, `passes` when each meter last passed its
    check (UTC second), `limits` the band of this tank.
    """
    every = [*shifts, here]
    meter = _by_meter(item, every, here, passes, now)
    loop = _by_loop(item, every, here, limits)
    if meter is not None and (loop is None or not _others_too(every, here, loop)):
        return meter
    return loop


def _size(item: Item, shifts: Sequence[Shift]) -> float:
    """What a single look has to move to be more than scatter."""
    scatter = median([s.usual.scatter for s in shifts])
    return SPREADS * max(scatter, resolution(item))


def _by_meter(
    item: Item, every: Sequence[Shift], here: Shift, passes: dict[str, int], now: Instant
) -> Cause | None:
    if here.meter is None:
        return None
    passed = passes.get(here.meter)
    if passed is not None and (now.utc - passed) / 3600 < TRUSTED_HOURS:
        return None
    loops = {s.loop for s in every if s.meter == here.meter}
    ours = _since([s for s in every if s.meter == here.meter], passed)
    theirs = _since([s for s in every if s.meter != here.meter and s.loop in loops], passed)
    if min(len(ours), len(theirs)) < FEWEST_TANKS or here.place not in ours:
        return None
    size = _size(item, every)
    level = median(list(theirs.values()))
    apart = median(list(ours.values())) - level
    if abs(apart) <= size or abs(median(list(ours.values()))) < abs(level):
        return None
    up = apart > 0
    moved = {p: d - level for p, d in ours.items() if abs(d - level) > size / 2}
    moved = {p: d for p, d in moved.items() if (d > 0) == up}
    if not most(len(moved), len(ours)) or here.place not in moved:
        return None
    checked = "" if passed is None else f", last checked {past((now.utc - passed) / 3600)}"
    words = (
        f"{len(moved)} tanks, one meter, same direction: suspect {item.instrument or 'meter'} "
        f"{here.meter}{checked}. {item.label} {_span(item, list(moved.values()))} in "
        f"{named(moved)}; {len(theirs)} tanks by another meter did not move"
    )
    return Cause(Shared.METER, here.meter, tuple(moved), up, words)


def _since(shifts: Sequence[Shift], passed: int | None) -> dict[str, float]:
    found = {s.place: s.since(passed) for s in shifts}
    return {place: d for place, d in found.items() if d is not None}


def _by_loop(
    item: Item, every: Sequence[Shift], here: Shift, limits: Limits | None
) -> Cause | None:
    mates = {s.place: d for s in every if s.loop == here.loop and (d := s.lately()) is not None}
    if len(mates) < FEWEST_TANKS or here.place not in mates:
        return None
    size = _size(item, every)
    middle = median(list(mates.values()))
    up = middle > 0
    moved = {p: d for p, d in mates.items() if abs(d) > size and (d > 0) == up}
    if not is_shared(len(moved), len(mates)) or here.place not in moved:
        return None
    if not _matters(here, median(list(moved.values())), limits):
        return None
    meters = sorted({s.meter for s in every if s.place in moved and s.meter is not None})
    by = f", by meters {' and '.join(meters)}" if len(meters) > 1 else ""
    one = len(meters) == 1 and not _elsewhere(every, here, size)
    where = f"look at loop {here.loop}"
    if one:
        where += f", or check meter {meters[0]} that read them all"
    words = (
        f"{len(moved)} of {len(mates)} tanks of {here.loop} moved together: {item.label} "
        f"{_span(item, list(moved.values()))} in {named(moved)}{by}: {where}"
    )
    return Cause(Shared.LOOP, here.loop, tuple(moved), up, words)


def _elsewhere(every: Sequence[Shift], here: Shift, size: float) -> bool:
    """Whether the same meter read tanks of other water that did not move."""
    still = [
        s
        for s in every
        if s.loop != here.loop and s.meter == here.meter and abs(s.lately() or 0.0) <= size
    ]
    return len(still) >= FEWEST_TANKS


def _others_too(every: Sequence[Shift], here: Shift, loop: Cause) -> bool:
    """Whether tanks read with other meters moved along: then it is the water."""
    others = [s.place for s in every if s.loop == here.loop and s.meter != here.meter]
    moved = [place for place in others if place in loop.tanks]
    return len(others) >= FEWEST_TANKS and most(len(moved), len(others))


def _matters(here: Shift, moved: float, limits: Limits | None) -> bool:
    """Whether a shared move went far enough to be told: see `OF_THE_WAY`."""
    if limits is None or here.usual.recent is None:
        return False
    sides = (limits.watch_below, limits.act_below, limits.urgent_below)
    if moved > 0:
        sides = (limits.watch_above, limits.act_above, limits.urgent_above)
    edge = next((limit for limit in sides if limit is not None), None)
    return edge is not None and abs(moved) >= OF_THE_WAY * abs(edge - here.usual.recent)


def _span(item: Item, moved: Sequence[float]) -> str:
    """How far, as people say it: "up 0.6 to 0.8"."""
    way = "up" if median(moved) > 0 else "down"
    sizes = sorted(abs(one) for one in moved)
    low, high = (f"{size:.{item.decimals}f}" for size in (sizes[0], sizes[-1]))
    return f"{way} {low}" if low == high else f"{way} {low} to {high}"
