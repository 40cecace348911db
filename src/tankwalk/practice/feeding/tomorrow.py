"""Tomorrow worked backwards: what the meals need, what there will be, and what is set tonight."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from enum import Enum
from math import inf

from tankwalk.clock import Instant, at, zone
from tankwalk.figures import percent_of
from tankwalk.ledger.feeding import BatchEvent, MealSeen, SampleSeen
from tankwalk.plan.model import Feed, FeedKind, Hatching, Plan
from tankwalk.practice.feeding import forecast, meals, rations, setting, sharing
from tankwalk.practice.feeding.feed_off import off
from tankwalk.practice.feeding.forecast import Standing, ToSet, later
from tankwalk.practice.feeding.rations import Missing
from tankwalk.practice.feeding.setting import Days, Setting
from tankwalk.practice.livefeed import cold_store
from tankwalk.practice.livefeed.cold_store import Chilled
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science.prey import Fitted, fitted

LENGTH = "length"
"""The word that samples of length are kept under."""

LENGTH_DAYS = 14
"""A length sampled longer ago says nothing of the mouths of today. Common practice, no source."""

OPEN_HOURS = 1.0
"""A meal that was not given is still to come for so long after its time. Common practice."""

NOTHING = 0.5
"""Less than so many thousand is nothing: what rounding leaves."""


class MealNeed(NamedTuple):
    """A meal to come: what the tanks need of nauplii, in thousand, and what is left after it.

    `after` is below 0 where the meal and those before it need more than there is. `ready` are the
    cones that came in since the meal before, `old` what went out meanwhile because it was too old.
    """

    meal: Instant
    need: float
    after: float
    ready: tuple[str, ...] = ()
    old: float = 0.0


class Chill(NamedTuple):
    """What is kept cold overnight, in thousand: for the meals before the next cone is ready.

    `there` is what there will be to chill; `ml` and `batch` say it as measured out, where the
    batch is counted already. `share` is the part of the rations that it is, where there is too
    little for whole ones.
    """

    thousand: float
    there: float
    meals: tuple[Instant, ...]
    batch: str | None = None
    ml: float | None = None
    share: float = 1.0
    cold: bool = False
    """Whether the batch stands in the cold store already: then so much of it is left there."""

    @property
    def enough(self) -> bool:
        """Whether there will be as much."""
        return self.there >= self.thousand - NOTHING


class Short(NamedTuple):
    """Meals for which there is too little, from one to the last before the next cone is ready.

    `percent` of what they need together is not there; every tank would get the rest as its share.
    """

    first: Instant
    last: Instant
    need: float
    there: float

    @property
    def percent(self) -> int:
        """What is missing, in percent of the need."""
        return 100 - percent_of(self.share)

    @property
    def share(self) -> float:
        """The part of every ration that there is."""
        return max(0.0, self.there) / self.need if self.need else 1.0


class Way(Enum):
    """What can be done about a shortage."""

    HARVEST = "harvest the cone that is late"
    EXTRA_CONE = "set an extra cone now"
    SHARE = "give every tank the same share"


class Remedy(NamedTuple):
    """One thing that can be done: with which batch or grams in litres, and from when it helps."""

    way: Way
    batch: str | None = None
    grams: float | None = None
    litres: float | None = None
    from_: Instant | None = None
    share: float | None = None


class DryNeed(NamedTuple):
    """Dry feed or paste of a day, in g, for so many tanks; for those `untold` it is not known."""

    feed: Feed
    grams: float
    tanks: int
    untold: tuple[str, ...] = ()
    why: Missing | None = None


class PreyFit(NamedTuple):
    """A feed held against the mouths of a lot: its shortest sampled fish, in mm, and the fit."""

    feed: Feed
    lot: str
    species: str
    tank: str
    length: float
    sampled: Instant
    fit: Fitted


class Tomorrow(NamedTuple):
    """The meals to come and all that has to be ready for them, as of `now`.

    `day` is tomorrow; `meals` run from the next one until the last that a cone to set is for.
    """

    now: Instant
    day: date
    meals: tuple[MealNeed, ...]
    store: tuple[Chilled, ...]
    standing: tuple[Standing, ...]
    to_set: tuple[ToSet, ...]
    chill: Chill | None
    short: tuple[Short, ...]
    remedies: tuple[Remedy, ...]
    dry: tuple[DryNeed, ...]
    prey: tuple[PreyFit, ...]
    untold: tuple[str, ...] = ()
    """Tanks whose nauplii cannot be worked out: no ration, or no fish entered."""
    hatching: Hatching = Hatching()
    planned: bool = True
    """Whether the plan says what cysts give; without it no cone can be worked out."""
    kept: bool = True
    """Whether the record keeps cones at all; without it nobody knows what there will be."""

    def need(self, on: date) -> float:
        """What the meals of a day that are still to come need, in thousand."""
        return sum(one.need for one in self.meals if one.meal.day == on)

    @property
    def together(self) -> dict[str, float]:
        """What the meals of each day need that are still to come, in thousand."""
        days = dict.fromkeys(one.meal.day for one in self.meals if one.need)
        return {day.isoformat(): self.need(day) for day in days}

    def meals_of(self, cone: ToSet) -> tuple[Instant, ...]:
        """The meals that a cone to set is for."""
        start, end = cone.ready.utc, cone.until.utc
        return tuple(one.meal for one in self.meals if start <= one.meal.utc < end and one.need)

    @property
    def use(self) -> dict[str, float]:
        """Grams of a day by lot of cysts and by feed, for how long a stock lasts."""
        found = {one.feed.code: one.grams for one in self.dry}
        for one in self.to_set[:1]:
            found[one.hatch.lot] = one.grams
        return found


def tomorrow(site: Site) -> Tomorrow:
    """The meals to come and what is set, chilled and weighed for them."""
    return site.worked("tomorrow", lambda: _worked_back(site))


def _worked_back(site: Site) -> Tomorrow:
    plan, now = site.plan, site.now()
    with site.ledger.reading():
        begun = setting.worked_back(site)
        seen = _read(site, now)
    days, stand, to_set = begun.days, begun.standing, begun.to_set
    first_days = meals.times(plan, now.day, now.day + timedelta(days=3))
    day = now.day + timedelta(days=1)
    end = max(
        (one.until.utc for one in to_set),
        default=at(day + timedelta(days=1), 0, 0, zone(plan.zone)).utc,
    )
    to_come = _to_come(plan, days, first_days, end, seen)
    rows, short = _balance(to_come, seen.store, stand, to_set)
    kept = bool(stand) or any(one.event == BatchEvent.HARVEST for one in begun.seen)
    if not kept:
        short = ()
    return Tomorrow(
        now,
        day,
        rows,
        seen.store,
        stand,
        to_set,
        _chill(rows, seen.store, stand, short, now, days) if kept else None,
        short,
        _remedies(plan, now, rows, short, begun),
        _dry(days, day),
        _prey(plan, seen, day),
        tuple(
            dict.fromkeys(
                tank.code
                for tank, need in days.needs(day)
                if need.feed.hatched and need.missing is not None
            )
        ),
        plan.hatching,
        bool(plan.cysts),
        kept,
    )


def as_json(view: Tomorrow) -> dict[str, object]:
    """The page as the command line prints it with --json."""
    cones = [{**one._asdict(), "meals": len(view.meals_of(one))} for one in view.to_set]
    return {**view._asdict(), "to_set": cones, "together": view.together}


class _Read(NamedTuple):
    now: Instant
    meals: Mapping[str, Sequence[MealSeen]]
    store: tuple[Chilled, ...]
    lengths: Mapping[str, SampleSeen]


def _read(site: Site, now: Instant) -> _Read:
    before = at(now.day - timedelta(days=1), 0, 0, zone(site.plan.zone)).utc
    lengths: dict[str, SampleSeen] = {}
    for one in site.reader.feeding.samples(now.utc - LENGTH_DAYS * 86400):
        if one.what == LENGTH and one.mean and one.unit:
            lengths[one.place] = one
    return _Read(now, meals.read(site, before), cold_store.chilled(site, now), lengths)


def _to_come(
    plan: Plan, days: Days, planned: Sequence[Instant], end: int, seen: _Read
) -> list[tuple[Instant, float]]:
    """The meals to come with what they need; one that is late is still to come for an hour."""
    found = []
    oldest = seen.now.utc - OPEN_HOURS * 3600
    for when in planned:
        if not oldest <= when.utc < end:
            continue
        without = [
            tank.code
            for tank in plan.tanks
            # A tank that is off today may be on tomorrow: its food is hatched all the same.
            if (when.day == seen.now.day and off(plan, tank, when, seen.meals, ()) is not None)
            or (when.utc <= seen.now.utc + meals.EARLY_HOURS * 3600
                and not meals.not_served(plan, tank, [when], seen.meals))
        ]  # fmt: skip
        need = days.nauplii(when, without)
        if need or when.utc > seen.now.utc:
            found.append((when, need))
    return found


class _Lot(NamedTuple):
    """Nauplii that are there from a moment until they are too old; UTC seconds."""

    batch: str
    ready: int
    until: int
    thousand: float


def _lots(
    store: Iterable[Chilled], stand: Iterable[Standing], cones_to_set: Iterable[ToSet]
) -> list[_Lot]:
    """All that there is and will be, in the order it comes in.

    What is chilled is feed for two days, and what is not for one.
    """
    day = int(cold_store.WARN_HOURS * 3600)
    found = [
        _Lot(
            one.batch,
            0 if one.ready_at is None else one.ready_at.utc,
            (one.block_at if one.chilled else one.warn_at).utc,
            one.thousand,
        )
        for one in store
    ]
    found += [
        _Lot(one.batch, one.ready.utc, max(one.due.utc, one.ready.utc) + day, one.thousand)
        for one in stand
        if one.thousand is not None
    ]
    found += [
        _Lot("", one.ready.utc, one.harvest.utc + day + 3600, one.gives) for one in cones_to_set
    ]
    return sorted(found, key=lambda one: one.ready)


def _balance(
    to_come: Sequence[tuple[Instant, float]],
    store: Iterable[Chilled],
    stand: Iterable[Standing],
    cones_to_set: Iterable[ToSet],
) -> tuple[tuple[MealNeed, ...], tuple[Short, ...]]:
    """The meals one after the other, the oldest nauplii first; and where they do not last."""
    coming = _lots(store, stand, cones_to_set)
    here: list[_Lot] = []
    debt = 0.0
    rows: list[MealNeed] = []
    spell: list[tuple[Instant, float, float]] = []
    short: list[Short] = []
    for when, need in to_come:
        came = [one for one in coming if one.ready <= when.utc]
        coming = coming[len(came) :]
        fresh = [one for one in came if one.ready > 0]
        if fresh:
            short += _short(spell)
            spell, debt = [], 0.0
        here += came
        old = sum(one.thousand for one in here if one.until <= when.utc)
        here = [one for one in here if one.until > when.utc]
        there = sum(one.thousand for one in here)
        taken = min(need, there)
        here = _less(here, taken)
        debt += need - taken
        spell.append((when, need, taken))
        names = tuple(one.batch for one in fresh)
        rows.append(MealNeed(when, need, there - taken - debt, names, old))
    return tuple(rows), (*short, *_short(spell))


def _less(lots: Sequence[_Lot], thousand: float) -> list[_Lot]:
    """What is left when so much is taken, the first to go too old first."""
    found = []
    for one in sorted(lots, key=lambda lot: lot.until):
        part = min(one.thousand, thousand)
        thousand -= part
        if one.thousand - part > 1e-9:
            found.append(one._replace(thousand=one.thousand - part))
    return found


def _short(spell: Sequence[tuple[Instant, float, float]]) -> list[Short]:
    """The meals of one supply, where they need more than it gives."""
    needing = [one for one in spell if one[1] > 0]
    need, taken = sum(one[1] for one in needing), sum(one[2] for one in needing)
    if need - taken <= max(NOTHING, 0.005 * need):
        return []
    return [Short(needing[0][0], needing[-1][0], need, taken)]


def _chill(
    rows: Sequence[MealNeed],
    store: Sequence[Chilled],
    stand: Sequence[Standing],
    short: Sequence[Short],
    now: Instant,
    days: Days,
) -> Chill | None:
    """What the first meals of tomorrow need before a cone is ready; None where they need none.

    It is measured out as the sum of their cups, so that the list of the meal says the same.
    Where there is too little until then it is their share: every meal before them leaves it.
    """
    day = now.day + timedelta(days=1)
    first = min((one.ready.utc for one in stand if one.ready.day == day), default=None)
    if first is None:
        first = next((one.meal.utc for one in rows if one.meal.day == day and one.ready), None)
    early = [
        one
        for one in rows
        if one.meal.day == day and one.need > 0 and (first is None or one.meal.utc < first)
    ]
    need = sum(one.need for one in early)
    if not early:
        return None
    before = [one for one in rows if one.meal.utc < early[0].meal.utc]
    there = before[-1].after if before else sum(one.thousand for one in store)
    there = max(0.0, there - early[0].old)
    spell = next((s for s in short if s.first.utc <= early[0].meal.utc <= s.last.utc), None)
    share = 1.0 if spell is None else spell.share
    if spell is not None:
        need = there = need * share
    if need < NOTHING:
        return None
    last = before[-1].meal if before else now
    comes = any(now.utc < one.ready.utc <= last.utc for one in stand)
    newest = store[-1] if store and not comes else None
    found = Chill(need, there, tuple(one.meal for one in early), share=share)
    if newest is None or newest.warn_at.utc <= early[-1].meal.utc:
        return found
    ml = sum(_cups(days.each(one.meal), newest, share) for one in early)
    return found._replace(batch=newest.batch, ml=round(ml, 1), cold=newest.chilled)


def _cups(each: Iterable[tuple[str, float]], batch: Chilled, share: float) -> float:
    """The mL of a meal out of one batch, cup by cup as the list measures them out."""
    wanted = {tank: thousand * share for tank, thousand in each}
    enough = batch._replace(ml=inf)
    cups = sharing.poured(wanted, [enough], short=share < 1)
    return sum(pour.ml for cup in cups.values() for pour in cup)


def _remedies(
    plan: Plan,
    now: Instant,
    rows: Sequence[MealNeed],
    short: Sequence[Short],
    begun: Setting,
) -> tuple[Remedy, ...]:
    """What can be done about the first shortage."""
    if not short:
        return ()
    one = short[0]
    found = [Remedy(Way.HARVEST, batch=cone.batch, from_=cone.ready)
             for cone in begun.standing if cone.late]  # fmt: skip
    hatch = forecast.hatch_of(plan, None, begun.seen)
    extra = later(now, plan.hatching.hours + plan.hatching.ready_min / 60)
    met = sum(row.need for row in rows if extra.utc <= row.meal.utc <= one.last.utc)
    if hatch is not None and met > NOTHING:
        grams = forecast.grams_for(plan.hatching, hatch, min(met, one.need - one.there))
        litres = round(grams / plan.hatching.grams_per_l, 1)
        found.append(Remedy(Way.EXTRA_CONE, None, grams, litres, extra))
    if one.there > NOTHING:
        found.append(Remedy(Way.SHARE, from_=one.first, share=percent_of(one.share) / 100))
    return tuple(found)


def _dry(days: Days, on: date) -> tuple[DryNeed, ...]:
    found: dict[str, DryNeed] = {}
    for tank, need in days.needs(on):
        if need.feed.kind is FeedKind.LIVE:
            continue
        one = found.setdefault(need.feed.code, DryNeed(need.feed, 0.0, 0))
        if need.missing is not None:
            untold = (*one.untold, tank.code)
            found[need.feed.code] = one._replace(untold=untold, why=one.why or need.missing)
        else:
            grams = sum(rations.measured(each, "g") for each in need.each)
            found[need.feed.code] = one._replace(grams=one.grams + grams, tanks=one.tanks + 1)
    return tuple(one._replace(grams=round(one.grams, 2)) for one in found.values())


def _prey(plan: Plan, seen: _Read, on: date) -> tuple[PreyFit, ...]:
    """Every feed of the day with a width, against the shortest fish of each lot that gets it."""
    found: dict[tuple[str, str], PreyFit] = {}
    for tank in plan.tanks:
        lot, sample = plan.lot_of(tank), seen.lengths.get(tank.code)
        if lot is None or sample is None or sample.mean is None:
            continue
        mm = rations.in_unit(sample.mean, sample.unit or "mm", "mm")
        for feed in meals.owed(plan, tank, on):
            if feed.width_um is None:
                continue
            known = found.get((feed.code, lot.code))
            if known is None or mm < known.length:
                fit = fitted(feed.width_um, mm, lot.species)
                found[feed.code, lot.code] = PreyFit(
                    feed, lot.code, lot.species, tank.code, mm, sample.at, fit
                )
    return tuple(found.values())
