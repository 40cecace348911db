"""What fish of a tank came to before, and what they grew since: by day, by mass, by warmth."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.errors import Refusal
from tankwalk.practice.samples.fish import SAMPLED_AS, Look
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science import growth, samples

if TYPE_CHECKING:
    from tankwalk.clock import Instant
    from tankwalk.ledger.feeding import SampleSeen
    from tankwalk.ledger.samples import FishSeen

BACK_DAYS = 60
"""So far back one looks for what fish were before."""

TEMPERATURE = "temp"
"""Code of the item that a tank's warmth is read by."""
MOST_READINGS = 600
DAYS_KNOWN = 0.5
"""Of the days between two samples so many need a temperature. Common practice, no source."""

A_DAY = {Look.LENGTH: 1.03, Look.MASS: 1.10}
"""What one expects of a day's growth where a number may be a slip. Common practice, no source."""
EXPECTED_DAYS = 30


class Before(NamedTuple):
    """What was found in a tank last, by look: the samples, and the fish where they were kept."""

    samples: dict[Look, SampleSeen]
    fish: tuple[FishSeen, ...] = ()
    at: Instant | None = None

    def mean(self, look: Look) -> float | None:
        """The mean of a measured look, in mm or mg."""
        one = self.samples.get(look)
        if one is None or not one.mean or not one.unit:
            return None
        return in_unit(one.mean, one.unit, look.unit)

    def expected(self, look: Look, now: Instant) -> float | None:
        """About what a fish should measure now."""
        mean = self.mean(look)
        if mean is None:
            return None
        days = max(0.0, now.hours_since(self.samples[look].at) / 24)
        return float(mean * A_DAY[look] ** min(days, EXPECTED_DAYS))


def in_unit(value: float, unit: str, wanted: str) -> float:
    """A value of the record in another unit of its kind."""
    if unit == wanted:
        return value
    from tankwalk.quantity import read

    return read(f"{value!r} {unit}", wanted).value


def before(site: Site, tank: str, until: Instant, entry: int | None = None) -> Before:
    """What was found in a tank before a moment; of `entry`, the sitting that goes on, nothing."""
    since = until.utc - BACK_DAYS * 86400
    found: dict[Look, SampleSeen] = {}
    for one in site.reader.feeding.samples(since):
        if one.place == tank and one.at.utc < until.utc:
            look = look_of(one.what)
            if look is not None:
                found[look] = one
    sat = [
        one
        for one in site.reader.samples.sittings(since)
        if one.place == tank and one.end is not None and one.n != entry and one.at.utc < until.utc
    ]
    if not sat:
        return Before(found)
    return Before(found, tuple(site.reader.samples.fish(sat[-1].n)), sat[-1].at)


def look_of(what: str) -> Look | None:
    """What a sample of the plan's word looks at, None where that is nothing of these."""
    return next((look for look, words in SAMPLED_AS.items() if what.lower() in words), None)


class Grown(NamedTuple):
    """What fish grew between two samples, each None where it cannot be told.

    `mm` and `mm_a_day` of the mean length; `sgr` (%/d) and `tgc` (times 1000, g^(1/3) per degC d)
    of the mean mass, over `warmth` in degC d.
    """

    since: Instant
    days: float
    mm: float | None = None
    mm_a_day: float | None = None
    sgr: float | None = None
    tgc: float | None = None
    warmth: float | None = None


def grown(
    site: Site,
    tank: str,
    earlier: tuple[Instant, float | None, float | None],
    later: tuple[Instant, float | None, float | None],
) -> Grown | None:
    """What fish grew from an earlier moment, mean length (mm) and mass (mg) to a later one."""
    (start, length, mass), (end, length_now, mass_now) = earlier, later
    days = end.hours_since(start) / 24
    if days < 0.5:
        return None
    found = Grown(start, days)
    if length and length_now:
        gain = samples.growth_a_day(length, length_now, days)
        found = found._replace(mm=length_now - length, mm_a_day=gain)
    if mass and mass_now:
        found = found._replace(sgr=growth.growth_rate(mass, mass_now, days))
        warm = warmth(site, tank, start, end)
        if warm is not None and warm > 0:
            tgc = growth.thermal_growth(mass / 1000, mass_now / 1000, warm)
            found = found._replace(warmth=warm, tgc=tgc)
    return found


def warmth(site: Site, tank: str, start: Instant, end: Instant) -> float | None:
    """Degree-days (base 0) of a tank between two moments, in degC d, from its readings.

    The mean of the daily means times the days; None where fewer than half of the days have one.
    """
    item = site.plan.find_item(TEMPERATURE)
    here = site.plan.find_tank(tank)
    if item is None:
        return None
    for place in (tank, None if here is None else here.loop):
        if place is None:
            continue
        seen = site.reader.readings.looks(place, item.code, item.unit, MOST_READINGS, until=end.utc)
        by_day: dict[int, list[float]] = {}
        for one in seen:
            if one.at >= start.utc:
                day = (one.at + 60 * end.offset) // 86400
                by_day.setdefault(day, []).append(in_unit(one.value, item.unit, "degC"))
        days = end.hours_since(start) / 24
        if by_day and len(by_day) >= DAYS_KNOWN * days:
            means = [sum(several) / len(several) for several in by_day.values()]
            try:
                return growth.degree_days(means, 0.0) / len(means) * days
            except Refusal:
                return None
    return None
