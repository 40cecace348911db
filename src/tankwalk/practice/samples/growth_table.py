"""What the fish of each tank came to on every day they were sampled, and what they grew between."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tankwalk.practice.meters.suspects import Marks, marks_by_meter
from tankwalk.practice.samples import fish, since
from tankwalk.practice.samples.fish import Look
from tankwalk.practice.samples.since import Grown
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.clock import Instant


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


class TankGrowth(NamedTuple):
    """A tank with its points, oldest first."""

    tank: str
    treatment: str
    points: tuple[Point, ...]


def growth_of_all(site: Site) -> tuple[TankGrowth, ...]:
    """Every tank that was sampled, in the order of the plan."""

    def made() -> tuple[TankGrowth, ...]:
        found = points(site, [tank.code for tank in site.plan.tanks])
        return tuple(
            TankGrowth(tank.code, tank.treatment or "", found[tank.code])
            for tank in site.plan.tanks
            if tank.code in found
        )

    return site.worked("growth", made)


def points(
    site: Site, tanks: Sequence[str], back_days: int = since.BACK_DAYS
) -> dict[str, tuple[Point, ...]]:
    """What each tank's fish came to on every day they were sampled, oldest first.

    K is of the fish where they were measured one by one, else of the two means.
    """
    now = site.now()
    start = now.utc - back_days * 86400
    found: dict[tuple[str, str], Point] = {}
    for one in since.samples_since(site, start):
        look = since.look_of(one.what)
        if one.place not in tanks or look is None or not look.measured or not one.mean:
            continue
        key = (one.place, one.at.day.isoformat())
        here = found.get(key, Point(one.at, 0, None, None, None, None))
        if look is Look.LENGTH:
            cv = None if one.sd is None else 100 * one.sd / one.mean
            here = here._replace(length=one.mean, cv=cv, n=one.looked_at)
        else:
            here = here._replace(mass=one.mean, n=here.n or one.looked_at)
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
    marks = marks_by_meter(site)
    return {tank: _grown(site, tank, several, marks) for tank, several in by_tank.items()}


def _grown(site: Site, tank: str, several: list[Point], marks: Marks) -> tuple[Point, ...]:
    """Points of one tank in order, each with what the fish grew since the one before."""
    several.sort(key=lambda one: one.at.utc)
    first, last = several[0].at, several[-1].at
    warm = {} if len(several) < 2 else since.warmth(site, tank, first, last, marks)
    made: list[Point] = []
    for one in several:
        if made:
            before = made[-1]
            grown = since.grown(
                (before.at, before.length, before.mass), (one.at, one.length, one.mass), warm
            )
            one = one._replace(grown=grown)
        made.append(one)
    return tuple(made)
