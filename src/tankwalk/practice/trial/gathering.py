"""All that is compared of a trial, read in one go: each measure with one value a tank."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import SampleSeen
from tankwalk.plan.model import Plan, Tank
from tankwalk.plan.trial import Trial
from tankwalk.practice.meters.suspects import marks_by_meter
from tankwalk.practice.samples.since import Grown, grown, samples_since, warmth
from tankwalk.practice.site import Site
from tankwalk.practice.trial.apart import NotAsPlanned, not_as_planned
from tankwalk.practice.trial.fates import (
    Census,
    Fate,
    Unfinished,
    censuses,
    fates,
    whole_first,
)
from tankwalk.practice.trial.fed import Fed, fed
from tankwalk.practice.trial.measures import Measure, Missing, TankValue, Topic, What
from tankwalk.practice.trial.water import Bands, Water, bands_of, water
from tankwalk.rows import NamedTuple
from tankwalk.science import growth

SAMPLE_DAYS = 1
"""Samples of a kind a day apart are of one sampling. Common practice, no source."""


class Gathered(NamedTuple):
    """A trial as the record has it up to a moment: its measures, and what stands behind them."""

    site: str
    trial: Trial
    now: Instant
    until: Instant
    first: date
    tanks: tuple[Tank, ...]
    treatments: tuple[str, ...]
    blocks: tuple[str, ...]
    measures: tuple[Measure, ...]
    fates: tuple[Fate, ...]
    census: Census | None
    waters: tuple[Water, ...]
    bands: tuple[Bands, ...]
    feeds: tuple[Fed, ...]
    samples: tuple[SampleSeen, ...]
    not_as_planned: NotAsPlanned
    last_entry: int
    last_digest: str | None
    unfinished: Unfinished | None = None
    """A newer census that is not compared first, for it is not whole."""

    def measure(self, code: str) -> Measure:
        """A measure by its code; Refusal naming those there are."""
        found = next((one for one in self.measures if one.code == code), None)
        if found is None:
            known = ", ".join(one.code for one in self.measures)
            raise Refusal(f"There is no measure {code[:40]!r} of this trial. There are: {known}.")
        return found


def trial_of(plan: Plan) -> Trial:
    """The trial of a plan, or what its treatments alone say; Refusal where there is none."""
    arms = {tank.treatment for tank in plan.tanks if tank.treatment is not None}
    if len(arms) < 2:
        raise Refusal(
            "The plan has no trial: give tanks a treatment, two treatments or more, and say "
            "[trial] with its code and its primary measure."
        )
    return plan.trial or Trial("")


def gather(site: Site, until: Instant | None = None) -> Gathered:
    """All measures of the site's trial up to a moment, now where none is given."""
    plan, now = site.plan, site.now()
    trial = trial_of(plan)
    end = now if until is None or until.utc > now.utc else until
    tanks = tuple(tank for tank in plan.tanks if tank.treatment is not None)
    with site.ledger.reading():
        first = trial.start or _first_day(site, tanks, end)
        if first > end.day:
            raise Refusal(f"The trial begins on {first}: nothing is there to compare yet.")
        since = at(first, 0, 0, zone(plan.zone))
        found = fates(site, tanks, end)
        samples = tuple(one for one in samples_since(site, since.utc) if one.at.utc <= end.utc)
        waters = water(site, tanks, first, end)
        feeds = fed(site, tanks, first, end)
        warm = _warmth(site, tanks, samples)
        suspect = {
            (one.tank.code, one.item.code, second) for one in waters for second in one.suspect
        }
        apart = not_as_planned(site, tanks, since, end, suspect)
        last = site.reader.spine.last_number()
        digest = site.reader.spine.last_digest()
    rounds, unfinished = whole_first(censuses(found), found, end)
    made = _Making(plan, tanks, first, end, found, rounds, samples, waters, feeds, warm)
    measures = made.all()
    lead = [one for one in measures if one.code == trial.primary]
    order = (*lead, *(one for one in measures if one.code != trial.primary))
    known = {tank.treatment for tank in tanks}
    return Gathered(
        plan.name,
        trial,
        now,
        end,
        first,
        tanks,
        tuple(one.code for one in plan.treatments if one.code in known),
        tuple(sorted({tank.block for tank in tanks if tank.block is not None})),
        tuple(order),
        found,
        rounds[0] if rounds else None,
        waters,
        tuple(bands_of(plan, one.item, one.tank, first, end.day) for one in waters if one.looks),
        feeds,
        samples,
        apart,
        last,
        digest,
        unfinished,
    )


def _first_day(site: Site, tanks: Sequence[Tank], end: Instant) -> date:
    """The first stocking since the hatch of the fish, where the plan names no start."""
    hatched = [lot.hatched for tank in tanks if (lot := site.plan.lot_of(tank)) and lot.hatched]
    begin = min(hatched, default=end.day)
    since = at(begin, 0, 0, zone(site.plan.zone)).utc
    moved = site.reader.stock.all_movements([tank.code for tank in tanks], since)
    return min((several[0].at.day for several in moved.values()), default=begin)


def _warmth(
    site: Site, tanks: Sequence[Tank], samples: Sequence[SampleSeen]
) -> dict[str, dict[date, float]]:
    """The water of each tank by day, in degC, from its first sample of mass to the newest."""
    marks = marks_by_meter(site)
    found = {}
    for tank in tanks:
        mine = [one.at for one in samples if one.place == tank.code and one.what == "mass"]
        if len(mine) > 1:
            found[tank.code] = warmth(site, tank.code, mine[0], mine[-1], marks)
    return found


class _Making:
    """Measures made one after the other, from what was read."""

    def __init__(
        self,
        plan: Plan,
        tanks: Sequence[Tank],
        first: date,
        end: Instant,
        found: Sequence[Fate],
        rounds: Sequence[Census],
        samples: Sequence[SampleSeen],
        waters: Sequence[Water],
        feeds: Sequence[Fed],
        warm: Mapping[str, dict[date, float]],
    ) -> None:
        self.plan, self.tanks, self.first, self.end = plan, tanks, first, end
        self.fates = {one.tank.code: one for one in found}
        self.rounds = rounds
        self.waters = waters
        self.warm = warm
        self.feeds = {one.tank.code: one for one in feeds}
        self.samples: dict[tuple[str, str], list[SampleSeen]] = {}
        for one in samples:
            self.samples.setdefault((one.place, one.what), []).append(one)

    def all(self) -> list[Measure]:
        return [
            *self._survival(),
            *self._growth(),
            *self._feed(),
            *self._water(),
            *self._start(),
        ]

    def _values(self, value: Callable[[Tank], float | Missing]) -> tuple[TankValue, ...]:
        found = []
        for tank in self.tanks:
            one = value(tank)
            found.append(
                TankValue(tank, None, one) if isinstance(one, Missing) else TankValue(tank, one)
            )
        return tuple(found)

    def _age(self, on: date) -> int | None:
        ages = {self.plan.age(tank, on) for tank in self.tanks}
        return ages.pop() if len(ages) == 1 else None

    # ---- survival

    def _survival(self) -> Iterable[Measure]:
        for nth, census in enumerate(self.rounds):
            yield self._counted(census, nth)
        if self.rounds:
            yield self._of_census(What.CENSUS_LESS, self.rounds[0], _less_sampled)
        yield Measure(
            What.SEEN, What.SEEN, Topic.SURVIVAL, "%", 1, self._values(self._seen),
            self.end.day, self._age(self.end.day),
        )  # fmt: skip
        if self.rounds:
            yield self._of_census(What.UNACCOUNTED, self.rounds[0], _unaccounted)

    def _counted(self, census: Census, nth: int) -> Measure:
        made = self._of_census(What.CENSUS, census, _of_stocked)
        if not nth:
            return made
        name = made.age if made.age is not None else census.last.isoformat()
        return made._replace(code=f"{What.CENSUS.value}-{name}")

    def _of_census(
        self, what: What, census: Census, value: Callable[[Fate, Census], float | Missing]
    ) -> Measure:
        def of(tank: Tank) -> float | Missing:
            fate = self.fates[tank.code]
            return Missing.NOT_STOCKED if not fate.stocked else value(fate, census)

        return Measure(
            what.value, what, Topic.SURVIVAL, "%", 1, self._values(of), census.last,
            self._age(census.last),
        )  # fmt: skip

    def _seen(self, tank: Tank) -> float | Missing:
        fate = self.fates[tank.code]
        if not fate.stocked:
            return Missing.NOT_STOCKED
        if fate.moved_in_later:
            return Missing.MOVED_IN
        return 100 * fate.curve[-1].part

    # ---- growth

    def _growth(self) -> Iterable[Measure]:
        for kind, what, unit, decimals in (
            ("length", What.LENGTH, "mm", 2),
            ("mass", What.MASS, "mg", 1),
        ):
            if self._sampled(kind):
                yield self._sample(what, unit, decimals, kind, lambda one: one.mean)
        if self._sampled("length") and self._sampled("mass"):
            yield self._both(What.CONDITION, "", 3, self._condition)
        for kind, what in (("length", What.CV_LENGTH), ("mass", What.CV_MASS)):
            if self._sampled(kind):
                yield self._sample(what, "%", 1, kind, _cv)
        if self._sampled("mass"):
            yield self._both(What.SGR, "%/d", 2, self._sgr)
            yield self._both(What.TGC, "", 3, self._tgc)
            yield self._both(What.GAIN, "g", 1, self._gain)
        shares = sorted({what for _, what in self.samples} - {"length", "mass"})
        for kind in shares:
            day = self._sampled(kind)
            if day and any(one.with_it is not None for one in self._of(kind)):
                made = self._sample(What.SHARE, "%", 0, kind, _share)
                yield made._replace(code=kind.replace(" ", "-"), sample=kind)

    def _of(self, kind: str) -> list[SampleSeen]:
        codes = {tank.code for tank in self.tanks}
        return [
            one for (place, what), several in self.samples.items()
            if what == kind and place in codes for one in several
        ]  # fmt: skip

    def _sampled(self, kind: str) -> date | None:
        """The newest day a kind was sampled."""
        return max((one.at.day for one in self._of(kind)), default=None)

    def _newest(self, tank: Tank, kind: str) -> SampleSeen | None:
        """A tank's sample of the newest sampling; None where it was left out of that."""
        several, day = self.samples.get((tank.code, kind), []), self._sampled(kind)
        if not several or day is None or (day - several[-1].at.day).days > SAMPLE_DAYS:
            return None
        return several[-1]

    def _sample(
        self,
        what: What,
        unit: str,
        decimals: int,
        kind: str,
        value: Callable[[SampleSeen], float | None],
    ) -> Measure:
        def of(tank: Tank) -> float | Missing:
            one = self._newest(tank, kind)
            got = None if one is None else value(one)
            return Missing.NOT_SAMPLED if got is None else got

        day = self._sampled(kind)
        age = None if day is None else self._age(day)
        return Measure(what.value, what, Topic.GROWTH, unit, decimals, self._values(of), day, age)

    def _both(
        self, what: What, unit: str, decimals: int, value: Callable[[Tank], float | Missing]
    ) -> Measure:
        day = self._sampled("mass")
        age = None if day is None else self._age(day)
        return Measure(
            what.value, what, Topic.GROWTH, unit, decimals, self._values(value), day, age
        )

    def _condition(self, tank: Tank) -> float | Missing:
        mass, length = self._newest(tank, "mass"), self._newest(tank, "length")
        if mass is None or length is None or not mass.mean or not length.mean:
            return Missing.NOT_SAMPLED
        return growth.condition(mass.mean / 1000, length.mean / 10)

    def _ends(self, tank: Tank) -> tuple[SampleSeen, SampleSeen] | Missing:
        """The first and the newest mass of a tank."""
        newest = self._newest(tank, "mass")
        if newest is None or not newest.mean:
            return Missing.NOT_SAMPLED
        first = self.samples[tank.code, "mass"][0]
        if first.n == newest.n or not first.mean or first.at.day == newest.at.day:
            return Missing.ONE_SAMPLE
        return first, newest

    def _grown(self, tank: Tank) -> Grown | Missing:
        """What its fish grew from the first mass to the newest, as the page of samples tells it."""
        ends = self._ends(tank)
        if isinstance(ends, Missing):
            return ends
        first, last = ends
        found = grown(
            (first.at, None, first.mean), (last.at, None, last.mean), self.warm.get(tank.code, {})
        )
        return Missing.ONE_SAMPLE if found is None else found

    def _sgr(self, tank: Tank) -> float | Missing:
        found = self._grown(tank)
        if isinstance(found, Missing):
            return found
        return Missing.ONE_SAMPLE if found.sgr is None else found.sgr

    def _tgc(self, tank: Tank) -> float | Missing:
        found = self._grown(tank)
        if isinstance(found, Missing):
            return found
        return Missing.NO_LOOKS if found.tgc is None else found.tgc

    def _gain(self, tank: Tank) -> float | Missing:
        ends = self._ends(tank)
        if isinstance(ends, Missing):
            return ends
        first, last = ends
        fate = self.fates[tank.code]
        best = fate.best(last.at.utc)
        if not fate.stocked:
            return Missing.NOT_STOCKED
        if best is None:
            return Missing.NO_CENSUS
        begun = fate.best(first.at.utc)
        start = fate.book_at(first.at.utc) if begun is None else begun
        return (best * (last.mean or 0.0) - start * (first.mean or 0.0)) / 1000

    # ---- feed and water

    def _feed(self) -> Iterable[Measure]:
        if not any(one.live or one.dry for one in self.feeds.values()):
            return

        def made(
            what: What, unit: str, decimals: int, value: Callable[[Fed], float | Missing]
        ) -> Measure:
            values = self._values(lambda tank: value(self.feeds[tank.code]))
            return Measure(what.value, what, Topic.FEED, unit, decimals, values, self.end.day)

        yield made(What.LIVE, "thousand/d", 1, lambda one: one.live / one.days)
        yield made(What.DRY, "g", 1, lambda one: one.dry)
        yield made(
            What.OF_PLAN, "%", 1,
            lambda one: Missing.NO_PLAN if one.of_plan is None else one.of_plan,
        )  # fmt: skip
        yield made(What.MISSED, "meals", 0, lambda one: float(len(one.missed)))
        yield made(What.FCR, "", 2, self._fcr)

    def _fcr(self, one: Fed) -> float | Missing:
        ends, gain = self._ends(one.tank), self._gain(one.tank)
        if isinstance(ends, Missing) or isinstance(gain, Missing):
            return Missing.LIVE_FEED if one.live else ends if isinstance(ends, Missing) else gain
        # What was eaten before the first sample or after the last did not make this gain.
        live, dry = one.between(ends[0].at, ends[1].at)
        if live:
            return Missing.LIVE_FEED
        return dry / gain if gain > 0 else Missing.NO_GAIN

    def _water(self) -> Iterable[Measure]:
        by_item: dict[str, dict[str, Water]] = {}
        for one in self.waters:
            by_item.setdefault(one.item.code, {})[one.tank.code] = one
        for here in by_item.values():
            if not any(one.looks for one in here.values()):
                continue
            item = next(iter(here.values())).item
            yield Measure(
                item.code, What.WATER, Topic.WATER, item.unit, item.decimals + 1,
                self._values(_of_water(here, _mean)), self.end.day, None, item,
            )  # fmt: skip
            if any(one.out_percent is not None for one in here.values()):
                yield Measure(
                    f"{item.code}-out", What.OUT, Topic.WATER, "%", 1,
                    self._values(_of_water(here, _out)), self.end.day, None, item,
                )  # fmt: skip

    def _start(self) -> Iterable[Measure]:
        def stocked(tank: Tank) -> float | Missing:
            return float(self.fates[tank.code].stocked) or Missing.NOT_STOCKED

        yield Measure(
            What.STOCKED.value, What.STOCKED, Topic.START, "fish", 0, self._values(stocked),
            self.first, self._age(self.first),
        )  # fmt: skip


def _of_stocked(fate: Fate, census: Census) -> float | Missing:
    one = census.by_tank.get(fate.tank.code)
    return Missing.NOT_COUNTED if one is None else _percent(one.fish, one.came)


def _less_sampled(fate: Fate, census: Census) -> float | Missing:
    """Of the fish that were not taken out alive before."""
    one = census.by_tank.get(fate.tank.code)
    if one is None:
        return Missing.NOT_COUNTED
    return _percent(one.fish, one.came - one.out)


def _unaccounted(fate: Fate, census: Census) -> float | Missing:
    one = census.by_tank.get(fate.tank.code)
    return Missing.NOT_COUNTED if one is None else _percent(one.book - one.fish, one.came)


def _percent(part: int, of: int) -> float | Missing:
    return 100 * part / of if of > 0 else Missing.NOT_STOCKED


def _cv(one: SampleSeen) -> float | None:
    return None if not one.mean or one.sd is None else 100 * one.sd / one.mean


def _share(one: SampleSeen) -> float | None:
    return None if one.with_it is None else 100 * one.with_it / one.looked_at


def _mean(one: Water) -> float | None:
    return one.mean


def _out(one: Water) -> float | None:
    return one.out_percent


def _of_water(
    here: Mapping[str, Water], value: Callable[[Water], float | None]
) -> Callable[[Tank], float | Missing]:
    def of(tank: Tank) -> float | Missing:
        got = value(here[tank.code]) if tank.code in here else None
        return Missing.NO_LOOKS if got is None else got

    return of
