"""How a measure came about by day, tank by tank: survival curves, water by day, samples."""

from __future__ import annotations

from datetime import date, timedelta
from math import fsum

from tankwalk.practice.trial.gathering import Gathered
from tankwalk.practice.trial.measures import Measure, Topic, What
from tankwalk.rows import NamedTuple

KINDS = {
    What.LENGTH: "length",
    What.CV_LENGTH: "length",
    What.MASS: "mass",
    What.CV_MASS: "mass",
    What.SGR: "mass",
    What.TGC: "mass",
    What.GAIN: "mass",
    What.CONDITION: "mass",
}
"""Of which samples a measure of growth is shown by day."""


class Course(NamedTuple):
    """One tank day by day; `what` says what of, where it is not the measure itself."""

    tank: str
    treatment: str
    block: str | None
    points: tuple[tuple[date, float], ...]


class Courses(NamedTuple):
    """All tanks of a trial day by day; `of` is "seen", "length", "mass", or an item's code."""

    of: str
    unit: str
    decimals: int
    tanks: tuple[Course, ...]

    @property
    def ends(self) -> tuple[float, float] | None:
        """The least and the largest of all points."""
        values = [value for one in self.tanks for _, value in one.points]
        return (min(values), max(values)) if values else None


def courses(page: Gathered, measure: Measure) -> Courses | None:
    """The days behind a measure; None where none are kept, as of feed and of the start."""
    if measure.topic is Topic.SURVIVAL:
        return Courses("seen", "%", 1, tuple(_alive(page, n) for n in range(len(page.tanks))))
    if measure.topic is Topic.WATER and measure.item is not None:
        item = measure.item
        found = tuple(_water(page, n, item.code) for n in range(len(page.tanks)))
        return Courses(item.code, item.unit, item.decimals, found)
    kind = KINDS.get(measure.what)
    if kind is None:
        return None
    unit, decimals = ("mm", 1) if kind == "length" else ("mg", 1)
    return Courses(
        kind, unit, decimals, tuple(_grown(page, n, kind) for n in range(len(page.tanks)))
    )


def _course(page: Gathered, nth: int, points: tuple[tuple[date, float], ...]) -> Course:
    tank = page.tanks[nth]
    return Course(tank.code, tank.treatment or "", tank.block, points)


def _alive(page: Gathered, nth: int) -> Course:
    """Percent alive by the dead that were seen, at the end of each day."""
    fate = page.fates[nth]
    begun = page.until.day - timedelta(days=len(fate.curve) - 1)
    points = tuple((begun + timedelta(days=n), 100 * one.part) for n, one in enumerate(fate.curve))
    return _course(page, nth, points)


def _water(page: Gathered, nth: int, item: str) -> Course:
    """The mean of each day's looks."""
    code = page.tanks[nth].code
    by_day: dict[date, list[float]] = {}
    for one in page.waters:
        if one.tank.code == code and one.item.code == item:
            for look in one.looks:
                by_day.setdefault(look.at.day, []).append(look.value)
    points = tuple((day, fsum(of) / len(of)) for day, of in sorted(by_day.items()))
    return _course(page, nth, points)


def _grown(page: Gathered, nth: int, kind: str) -> Course:
    code = page.tanks[nth].code
    points = tuple(
        (one.at.day, one.mean)
        for one in page.samples
        if one.place == code and one.what == kind and one.mean is not None
    )
    return _course(page, nth, points)
