"""What fish of a tank came to before, and what they grew since: by day, by mass, by warmth."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.practice.feeding.rations import in_unit
from tankwalk.practice.judging.standing.life import looks_of
from tankwalk.practice.meters.suspects import Marks, mark_of, marks_by_meter
from tankwalk.practice.samples.fish import SAMPLED_AS, Look
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science import growth, samples

if TYPE_CHECKING:
    from tankwalk.ledger.feeding import SampleSeen
    from tankwalk.ledger.samples import FishSeen

BACK_DAYS = 60
"""So far back one looks for what fish were before."""

TEMPERATURE = "temp"
"""Code of the item that a tank's warmth is read by."""
READINGS_A_DAY = 12
"""Readings of one item in one place that are read for a day, at the most."""

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
        return None if one is None else one.mean or None

    def expected(self, look: Look, now: Instant) -> float | None:
        """About what a fish should measure now."""
        mean = self.mean(look)
        if mean is None:
            return None
        days = max(0.0, now.hours_since(self.samples[look].at) / 24)
        return float(mean * A_DAY[look] ** min(days, EXPECTED_DAYS))


def before(site: Site, tank: str, until: Instant, entry: int | None = None) -> Before:
    """What was found in a tank before a moment; of `entry`, the sitting that goes on, nothing."""
    since = until.utc - BACK_DAYS * 86400
    found: dict[Look, SampleSeen] = {}
    for one in samples_since(site, since):
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


def samples_since(site: Site, since: int) -> list[SampleSeen]:
    """All samples since a UTC second, oldest first, in mm and mg, whatever unit the plan has.

    What was measured stands under the one word of its look; a mean that has no unit is no mean.
    """
    return [_in_its_unit(one) for one in site.reader.feeding.samples(since)]


def _in_its_unit(one: SampleSeen) -> SampleSeen:
    look = look_of(one.what)
    if look is None or not look.measured:
        return one
    if one.mean is None or not one.unit:
        return one._replace(what=look.word, mean=None, sd=None)
    return one._replace(
        what=look.word,
        mean=in_unit(one.mean, one.unit, look.unit),
        sd=None if one.sd is None else in_unit(one.sd, one.unit, look.unit),
        unit=look.unit,
    )


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


Seen = tuple[Instant, float | None, float | None]
"""When fish were looked at, with their mean length in mm and mean mass in mg."""


def grown(earlier: Seen, later: Seen, warm: dict[date, float]) -> Grown | None:
    """What fish grew from one day to a later one; `warm` is the daily mean of their water, degC."""
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
        sum_t = degree_days(warm, start, end)
        if sum_t is not None and sum_t > 0:
            tgc = growth.thermal_growth(mass / 1000, mass_now / 1000, sum_t)
            found = found._replace(warmth=sum_t, tgc=tgc)
    return found


def warmth(
    site: Site, tank: str, start: Instant, end: Instant, marks: Marks | None = None
) -> dict[date, float]:
    """The mean temperature of a tank's water on each day that has one, in degC.

    A tank that is not read itself goes by its loop. A second reading counts in place of the first;
    what a meter read that failed its check is left out.
    """
    item, here = site.plan.find_item(TEMPERATURE), site.plan.find_tank(tank)
    if item is None or here is None:
        return {}
    known = marks_by_meter(site) if marks is None else marks
    limit = READINGS_A_DAY * ((end.day - start.day).days + 1)
    for place in (tank, here.loop):
        seen = site.reader.readings.looks(place, item.code, item.unit, limit, until=end.utc)
        by_day: dict[date, list[float]] = {}
        for one, _ in looks_of(item, [each for each in seen if each.at >= start.utc]):
            against = known.get((one.instrument or "", item.code), ())
            if mark_of(against, one.instrument, item.code, one.at) is None:
                day = Instant(one.at, end.offset).day
                by_day.setdefault(day, []).append(in_unit(one.value, item.unit, "degC"))
        if by_day:
            return {day: sum(several) / len(several) for day, several in by_day.items()}
    return {}


def degree_days(warm: dict[date, float], start: Instant, end: Instant) -> float | None:
    """Degree-days (base 0) between two moments, in degC d: the mean of the days times the days.

    None where fewer than half of the days have a temperature.
    """
    means = [mean for day, mean in warm.items() if start.day <= day <= end.day]
    days = end.hours_since(start) / 24
    if not means or len(means) < DAYS_KNOWN * days:
        return None
    try:
        return growth.degree_days(means, 0.0) / len(means) * days
    except Refusal:
        return None
