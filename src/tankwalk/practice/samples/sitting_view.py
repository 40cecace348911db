"""All that the page of a sitting shows, as one value; and the sittings of a tank so far."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tankwalk.practice.samples import fish, since
from tankwalk.practice.samples.doubts import Doubt
from tankwalk.practice.samples.fish import Look, Worked
from tankwalk.practice.samples.since import Before, Grown
from tankwalk.practice.samples.sitting import Asked, FishSitting
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.clock import Instant
    from tankwalk.ledger.samples import FishSeen


class Point(NamedTuple):
    """What a tank's fish came to on one day: means in mm and mg, CV of length in %, mean K.

    `n` fish were measured for length (or else for mass); `grown` since the point before.
    """

    at: Instant
    n: int
    length: float | None
    cv: float | None
    mass: float | None
    k: float | None
    grown: Grown | None = None


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


def view(sitting: FishSitting, points: tuple[Point, ...] = ()) -> SittingView:
    """What the page of a sitting shows now; `points` are the tank's days before."""
    site, seen = sitting.site, sitting.seen
    tank = site.plan.find_tank(seen.place)
    now, worked = site.now(), sitting.worked
    return SittingView(
        seen.place,
        "" if tank is None else tank.treatment or "",
        None if tank is None else site.plan.age(tank, now.day),
        sitting.looks,
        seen.planned,
        sitting.who,
        now,
        tuple(sitting.fish),
        sitting.asked,
        sitting.doubt,
        worked,
        sitting.before,
        grown_since(sitting, worked, now),
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
    return since.grown(
        sitting.site,
        sitting.seen.place,
        (start, length, mass),
        (now, None if lengths is None else lengths.mean, None if masses is None else masses.mean),
    )


def _same_day(before: Before, look: Look, at: Instant) -> bool:
    return before.samples[look].at.day == at.day


def points(
    site: Site, tanks: Sequence[str], back_days: int = since.BACK_DAYS
) -> dict[str, tuple[Point, ...]]:
    """What each tank's fish came to on every day they were sampled, oldest first.

    K is of the fish where they were measured one by one, else of the two means.
    """
    now = site.now()
    start = now.utc - back_days * 86400
    found: dict[tuple[str, str], Point] = {}
    for one in site.reader.feeding.samples(start):
        look = since.look_of(one.what)
        if (
            one.place not in tanks
            or look is None
            or not look.measured
            or not one.mean
            or not one.unit
        ):
            continue
        key = (one.place, one.at.day.isoformat())
        here = found.get(key, Point(one.at, 0, None, None, None, None))
        mean = since.in_unit(one.mean, one.unit, look.unit)
        if look is Look.LENGTH:
            cv = None if one.sd is None else 100 * one.sd / one.mean
            here = here._replace(length=mean, cv=cv, n=one.looked_at)
        else:
            here = here._replace(mass=mean, n=here.n or one.looked_at)
        found[key] = here
    whole = {
        (one.place, one.at.day.isoformat()): one.n
        for one in site.reader.samples.sittings(start)
        if one.end is not None and one.place in tanks and {"length", "mass"} <= set(one.what)
    }
    by_tank: dict[str, list[Point]] = {}
    for key, point in found.items():
        k = None
        if key in whole:
            sizes = fish.work(site.reader.samples.fish(whole[key])).condition
            k = None if sizes is None else sizes.mean
        elif point.length and point.mass:
            k = fish.condition_of(point.length, point.mass)
        by_tank.setdefault(key[0], []).append(point._replace(k=k))
    return {tank: _grown(site, tank, several) for tank, several in by_tank.items()}


def _grown(site: Site, tank: str, several: list[Point]) -> tuple[Point, ...]:
    """Points of one tank in order, each with what the fish grew since the one before."""
    several.sort(key=lambda one: one.at.utc)
    made: list[Point] = []
    for one in several:
        if made:
            last = made[-1]
            grown = since.grown(
                site, tank, (last.at, last.length, last.mass), (one.at, one.length, one.mass)
            )
            one = one._replace(grown=grown)
        made.append(one)
    return tuple(made)
