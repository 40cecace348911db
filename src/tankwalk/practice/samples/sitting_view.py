"""All that the page of a sitting shows, as one value."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.practice.samples import growth_table, since
from tankwalk.practice.samples.doubts import Doubt
from tankwalk.practice.samples.fish import Look, Worked
from tankwalk.practice.samples.growth_table import Point
from tankwalk.practice.samples.since import Before, Grown
from tankwalk.practice.samples.sitting import Asked, FishSitting, going_on
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.clock import Instant
    from tankwalk.ledger.samples import FishSeen


FEWEST_GROWN = 3
"""Growth is told from so many fish on: a mean of fewer is one fish's luck. Common practice."""


class SittingView(NamedTuple):
    """A sitting as its page shows it."""

    tank: str
    treatment: str
    age: int | None
    looks: tuple[Look, ...]
    planned: int
    who: str
    now: Instant
    fish: tuple[FishSeen, ...]
    asked: Asked
    doubt: Doubt | None
    worked: Worked
    before: Before
    grown: Grown | None
    points: tuple[Point, ...]
    blind: bool = False
    said: str = ""
    tone: str = "check"


def view(
    sitting: FishSitting, points: tuple[Point, ...] = (), at: Instant | None = None
) -> SittingView:
    """What the page of a sitting shows; `points` are the tank's days before, `at` its end."""
    site, seen = sitting.site, sitting.seen
    tank = site.plan.find_tank(seen.place)
    now, worked, taken = at or site.now(), sitting.worked, at or sitting.taken
    return SittingView(
        seen.place,
        "" if tank is None else tank.treatment or "",
        None if tank is None else site.plan.age(tank, taken.day),
        sitting.looks,
        seen.planned,
        sitting.who,
        now,
        tuple(sitting.fish),
        sitting.asked,
        sitting.doubt,
        worked,
        sitting.before,
        grown_since(sitting, worked, taken),
        points,
    )


def grown_since(sitting: FishSitting, worked: Worked, now: Instant) -> Grown | None:
    """What the fish grew since they were last looked at."""
    before = sitting.before
    lengths, masses = worked.lengths, worked.masses
    dated = [one.at for look, one in before.samples.items() if look.measured]
    if not dated:
        return None
    start = max(dated, key=lambda at: at.utc)
    # Both means are of one day, or the one of another day is left out.
    length, mass = (
        before.mean(look) if look in before.samples and _same_day(before, look, start) else None
        for look in (Look.LENGTH, Look.MASS)
    )
    long, heavy = (
        None if sizes is None or sizes.n < FEWEST_GROWN else sizes.mean
        for sizes in (lengths, masses)
    )
    return since.grown((start, length, mass), (now, long, heavy), sitting.warm(start, now))


def _same_day(before: Before, look: Look, at: Instant) -> bool:
    return before.samples[look].at.day == at.day


def latest(site: Site, tank: str) -> SittingView | None:
    """The sitting of a tank that goes on, else the last one that was ended; None without any."""
    start = site.now().utc - since.BACK_DAYS * 86400
    seen = [one for one in site.reader.samples.sittings(start) if one.place == tank]
    if not seen:
        return None
    open_ = [one for one in going_on(site) if one.place == tank]
    one = open_[0] if open_ else next((s for s in reversed(seen) if s.end is not None), seen[-1])
    sitting = FishSitting(site, one.who, one)
    points = growth_table.points(site, [tank]).get(tank, ())
    return view(sitting, points, one.ended)
