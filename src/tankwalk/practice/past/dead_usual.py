"""How many dead are usual at a tank today: what a count is judged against, as a range in fish."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.practice.judging.dead.counts import (
    Counted,
    Tally,
    counts_of,
    laid_out,
    part_of,
    sisters_of,
)
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science import negative_binomial as nb

INSIDE = 0.8
"""So many of the days on which nothing is wrong are in the range. Common practice, no source."""


class DeadUsual(NamedTuple):
    """Fish dead on a day on which nothing is wrong: the fewest and the most of eight such days in
    ten, and `mean`, what the judge of counts (`judging/dead/mortality.py`) holds one against."""

    low: int
    high: int
    mean: float


def usual_now(site: Site, place: str, now: Instant, round_number: int) -> DeadUsual | None:
    """What a tank should have had today, this round's count included: by its own days, its share
    and its sisters, as far as they are counted. None where too little is known."""
    part = part_of(site.reader.rounds.checklist_of(round_number), now)
    counts = _counts(site, place, now)
    own = tuple(one for one in counts.get(place, ()) if one.round != round_number)
    # Its newest count has no say in what it is held against, so any number may stand for it.
    return _usual(site, place, (*own, Counted(now, part, 0, "")), counts, now)


def usual_then(site: Site, place: str, until: Instant) -> DeadUsual | None:
    """The same at the newest count that a tank has by then, that whole round known."""
    counts = _counts(site, place, until)
    own = counts.get(place, ())
    if not own:
        return None
    last = own[-1]
    of_slot = [
        one.at
        for every in counts.values()
        for one in every
        if (one.at.day, one.part) == (last.at.day, last.part)
    ]
    return _usual(site, place, own, counts, max(of_slot, key=lambda at: at.utc))


def _counts(site: Site, place: str, now: Instant) -> dict[str, tuple[Counted, ...]]:
    """The counts of a tank and its sisters, read once for all of them that one goes through."""
    tank = site.plan.find_tank(place)
    if tank is None:
        return {}
    codes = sorted({place, *(one.code for one in sisters_of(site.plan, tank, now.day))})
    today = site.now()
    if not 0 <= today.utc - now.utc < 60:
        return counts_of(site, codes, now)
    what = f"counts of the dead in {' '.join(codes)}"
    return site.worked(what, lambda: counts_of(site, codes, today))


def _usual(
    site: Site,
    place: str,
    own: tuple[Counted, ...],
    counts: dict[str, tuple[Counted, ...]],
    now: Instant,
) -> DeadUsual | None:
    plan, limits = site.plan, site.plan.judging
    tank = plan.find_tank(place)
    if tank is None:
        return None
    tallies = [Tally(place, tank.treatment or "", own)]
    for code, every in counts.items():
        if code != place:
            known = tuple(one for one in every if one.at.utc <= now.utc)
            tallies.append(Tally(code, plan.tank(code).treatment or "", known))
    laid = laid_out(tallies, now, own[-1].part, plan.age(tank, now.day), limits.clip, 0)
    today = sum(laid.began[look.last].day == now.day for look in laid.room.lines[0].looks)
    # No tail: what was told as a jump is no less a part of today.
    windows = laid.room.windows(0, today, 0.0)
    if len(windows) < today:
        return None
    mean, variance = windows[-1].expected
    low, high = (nb.quantile(p, mean, variance) for p in ((1 - INSIDE) / 2, (1 + INSIDE) / 2))
    return DeadUsual(low, high, mean)
