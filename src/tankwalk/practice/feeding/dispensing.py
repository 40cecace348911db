"""The dispensing list of a meal: what each tank gets, in walking order, and what is made up first.

Where there is too little live feed every tank gets the same share of its own ration, at this
meal and at every one until the next cone is ready.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta

from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.figures import percent_of
from tankwalk.ledger.feeding import BatchEvent, BatchSeen, MealSeen
from tankwalk.ledger.incidents import DoneSeen
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan.model import Feed, Item, Plan, RationBy, Tank
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.feeding import in_water, meals, rations
from tankwalk.practice.feeding.feed_off import FeedOff, done_lately, off
from tankwalk.practice.feeding.in_water import Counted, Given, Left
from tankwalk.practice.feeding.rations import Known, Missing, Need
from tankwalk.practice.feeding.sharing import Pour, down, next_ready, of_feed, poured, together
from tankwalk.practice.livefeed import cold_store
from tankwalk.practice.livefeed.cold_store import Chilled
from tankwalk.practice.livefeed.on_hand import on_hand
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

LAST_HOURS = 30.0
"""What was seen of a tank at a meal longer ago is not shown beside the next. Common practice."""

ROUNDED = 0.01
"""A portion so much under its ration, as a part of it, is rounding to a mL and not short."""

LAST_MEALS = 7
"""So many of the last looks of a tank are read."""

LAST_DAYS = 8
"""Looks longer ago are no past of a meal: on a quiet site seven of them reach back far."""


class Portion(NamedTuple):
    """What a tank gets of a feed at this meal, in the unit of the feed.

    `full` is its whole ration and `listed` what is measured out, less where there is too little;
    both None where the plan does not say. `pours` is what of which batch that is.
    """

    feed: Feed
    need: Need
    full: float | None
    listed: float | None
    pours: tuple[Pour, ...] = ()
    served: bool = False
    """Whether it went in already at this meal."""

    @property
    def ml(self) -> float | None:
        """What is measured out in mL; None for what is weighed, or where no batch is known."""
        return sum(one.ml for one in self.pours) if self.pours else None


class Looked(NamedTuple):
    """What was seen of a tank at its last meals, oldest first: one item asked there.

    `fresh` tells whether the newest of them may stand beside the next meal.
    """

    item: Item
    seen: tuple[ValueSeen, ...]
    fresh: bool = True

    @property
    def running(self) -> int:
        """How many of the last looks were not as they should be, without a break."""
        count = 0
        for one in reversed(self.seen):
            if one.flag <= 0:
                break
            count += 1
        return count


class Row(NamedTuple):
    """A tank of the list; `off` where it is not fed at this meal."""

    tank: Tank
    age: int | None
    portions: tuple[Portion, ...]
    off: FeedOff | None = None
    last: tuple[Looked, ...] = ()


class Total(NamedTuple):
    """A feed of the meal over all tanks that are still to get it, in the unit of the feed.

    `make_up` is what they are to get together, `full` what their whole rations are; None where a
    ration is not known. `have` is what there is to pour at this meal, None where the record does
    not keep it. `share` is the part of every ration that there is until `until`, when the next
    cone is ready; it stands for `shared_by` meals. `untold` are tanks whose amount is typed.
    """

    feed: Feed
    full: float
    make_up: float
    pours: tuple[Pour, ...] = ()
    have: float | None = None
    share: float = 1.0
    until: Instant | None = None
    shared_by: int = 1
    untold: tuple[str, ...] = ()
    why: Missing | None = None
    """Why their amount is not known."""

    @property
    def short(self) -> bool:
        """Whether there is less than the rations."""
        return self.share < 1

    @property
    def percent(self) -> int:
        """The share in percent, never rounded up to what there is not."""
        return percent_of(self.share)

    @property
    def ml(self) -> float | None:
        """What is made up in mL."""
        return sum(one.ml for one in self.pours) if self.pours else None


class FeedChange(NamedTuple):
    """A feed that starts or ends for the fish of some tanks on the day of the meal."""

    feed: Feed
    starts: bool
    whom: str
    tanks: tuple[str, ...]


class OfDay(NamedTuple):
    """A planned meal of the day: of each feed, by its code, what was given, else what is needed.

    `given` are the tanks that got something, None where it is still to come or nobody was fed.
    """

    meal: Instant
    amounts: Mapping[str, float]
    given: int | None = None


class MealList(NamedTuple):
    """The dispensing list of one planned meal, as of `now`."""

    now: Instant
    meal: Instant
    rows: tuple[Row, ...]
    totals: tuple[Total, ...]
    store: tuple[Chilled, ...]
    """What there is of nauplii, oldest first; what is over two days old stands here too."""
    changes: tuple[FeedChange, ...] = ()
    day: tuple[OfDay, ...] = ()
    """The meals of its day."""

    @property
    def together(self) -> dict[str, float]:
        """What the meals of the day come to, by the code of each feed, in its unit."""
        found: dict[str, float] = {}
        for one in self.day:
            for code, amount in one.amounts.items():
                found[code] = found.get(code, 0.0) + amount
        return found

    @property
    def to_feed(self) -> int:
        """Tanks that are to be fed at this meal, or were."""
        return sum(1 for row in self.rows if row.portions and row.off is None)

    @property
    def still(self) -> int:
        """Tanks that still wait for something."""
        return sum(1 for row in self.rows if waits(row))

    def row(self, tank: str) -> Row | None:
        """The row of a tank."""
        return next((row for row in self.rows if row.tank.code == tank), None)


def waits(row: Row) -> bool:
    """Whether a tank still waits for a feed of this meal."""
    return row.off is None and any(not one.served for one in row.portions)


class _Seen(NamedTuple):
    """What was read of the record, all in one go."""

    now: Instant
    meals: Mapping[str, Sequence[MealSeen]]
    done: Sequence[DoneSeen]
    known: Mapping[str, Known]
    batches: Sequence[BatchSeen]
    store: tuple[Chilled, ...]
    counts: Mapping[str, Counted]
    looked: Mapping[str, tuple[Looked, ...]]
    grams: Mapping[str, float | None]
    """What is in stock of each feed that is not hatched here, where the record knows it."""


def meal_list(site: Site, at: Instant | None = None) -> MealList:
    """The list of a planned meal; without `at` the one whose time is nearest and not all fed.

    Refusal where nobody is to be fed today or tomorrow, or no meal is planned at that moment.
    """
    now = site.now()
    with site.ledger.reading():
        seen = _read(site, now)
    when = at or nearest(site.plan, seen.meals, now)
    if when is None:
        raise Refusal("No meal is planned for today or tomorrow: [[meal]] in the plan says when.")
    planned = meals.times(site.plan, when.day, when.day)
    if all(one.utc != when.utc for one in planned):
        known = ", ".join(one.hm() for one in planned) or "none"
        raise Refusal(f"No meal is planned at {when.hm()}; those of that day: {known}.")
    return _listed(site.plan, when, planned, seen)


def at_time(plan: Plan, now: Instant, hour: int, minute: int) -> Instant:
    """The planned meal at a time of today, or of tomorrow where today has none; Refusal if none."""
    tz = zone(plan.zone)
    days = (now.day, now.day + timedelta(days=1))
    wanted = [at(day, hour, minute, tz) for day in days]
    planned = {one.utc for day in days for one in meals.times(plan, day, day)}
    found = next((one for one in wanted if one.utc in planned), None)
    if found is None:
        known = ", ".join(one.hm() for one in meals.times(plan, now.day, now.day)) or "none"
        raise Refusal(f"No meal is planned at {hour:02}:{minute:02}; today's are {known}.")
    return found


def nearest(plan: Plan, seen: Mapping[str, Sequence[MealSeen]], now: Instant) -> Instant | None:
    """The planned meal a person means: of the last one that some tank waits for and the next one,
    the one whose time is nearer.
    """
    coming = meals.next_meal(plan, now)
    today = meals.times(plan, now.day, now.day)
    past = [one for one in today if one.utc <= now.utc]
    fed = [tank for tank in plan.tanks if meals.is_fed(plan, tank, now.day)]
    open_ = (
        {when.utc for tank in fed for when in meals.not_served(plan, tank, past, seen)}
        if past
        else set()
    )
    last = next((one for one in reversed(past) if one.utc in open_), None)
    if last is None or coming is None:
        return coming or last
    return last if now.utc - last.utc <= coming.utc - now.utc else coming


def _read(site: Site, now: Instant) -> _Seen:
    plan, reader = site.plan, site.reader
    before = at(now.day - timedelta(days=2), 0, 0, zone(plan.zone)).utc
    since = now.utc - cold_store.KEPT_DAYS * 86400
    batches = reader.feeding.batches(since)
    poured = reader.feeding.poured(since)
    asked = dict.fromkeys(code for meal in plan.meals for code in (*meal.before, *meal.after))
    looked: dict[str, tuple[Looked, ...]] = {}
    for item in (one for code in asked if (one := plan.find_item(code))):
        oldest, fresh = now.utc - LAST_DAYS * 86400, now.utc - LAST_HOURS * 3600
        for place, values in reader.readings.lately(item.code, item.unit, LAST_MEALS).items():
            some = tuple(one for one in values if one.at >= oldest)[-LAST_MEALS:]
            if some:
                these = Looked(item, some, some[-1].at >= fresh)
                looked[place] = (*looked.get(place, ()), these)
    counts: dict[str, Counted] = {}
    for item in in_water.counting_items(plan):
        for place, values in reader.readings.lately(item.code, item.unit, 1).items():
            newest = Counted(Instant(values[-1].at, now.offset), values[-1].value)
            if place not in counts or counts[place].at.utc < newest.at.utc:
                counts[place] = newest
    return _Seen(
        now,
        meals.read(site, before),
        done_lately(site, now),
        rations.known_now(site, now),
        batches,
        cold_store.left(batches, poured, now),
        counts,
        looked,
        {one.code: one.grams for one in on_hand(site, now, {})},
    )


def _listed(plan: Plan, when: Instant, planned: Sequence[Instant], seen: _Seen) -> MealList:
    rows = tuple(_row(plan, tank, when, planned, seen) for tank in walking_order(plan, when.day))
    totals: list[Total] = []
    codes = dict.fromkeys(one.feed.code for row in rows for one in row.portions)
    for code in codes:
        rows, total = _made_up(plan, code, rows, when, seen)
        totals.append(total)
    kept = seen.store if any(one.feed.hatched for one in totals) else ()
    day = tuple(_of_day(one, nth, rows, seen) for nth, one in enumerate(planned))
    return MealList(seen.now, when, rows, tuple(totals), kept, changes(plan, when), day)


def _of_day(meal: Instant, nth: int, rows: Sequence[Row], seen: _Seen) -> OfDay:
    """A meal of the day over all tanks: as it was given, else by their rations."""
    gave: dict[str, float] = {}
    tanks = set()
    for place, entered in seen.meals.items():
        for one in entered:
            if one.meal_at == meal.utc and one.event is None and one.amount > 0:
                gave[one.feed] = gave.get(one.feed, 0.0) + one.amount
                tanks.add(place)
    if gave:
        return OfDay(meal, gave, len(tanks))
    need: dict[str, float] = {}
    for row in rows:
        for portion in row.portions if row.off is None else ():
            each = portion.need.each
            if nth < len(each):
                amount = rations.measured(each[nth], portion.feed.unit)
                need[portion.feed.code] = need.get(portion.feed.code, 0.0) + amount
    return OfDay(meal, need)


def _row(plan: Plan, tank: Tank, when: Instant, planned: Sequence[Instant], seen: _Seen) -> Row:
    stopped = off(plan, tank, when, seen.meals, seen.done)
    nth = next(k for k, one in enumerate(planned) if one.utc == when.utc)
    portions = []
    for feed in meals.owed(plan, tank, when.day):
        known = seen.known.get(tank.code, Known())
        left = _left(plan, tank, feed, when, known, seen)
        found = rations.need(plan, tank, feed, when.day, known, nth=nth, left=left)
        full = found.amount
        served = _served(plan, tank, feed, when, planned, seen)
        listed = 0.0 if stopped is not None and full is not None else full
        portions.append(Portion(feed, found, full, listed, served=served))
    last = seen.looked.get(tank.code, ())
    return Row(tank, plan.age(tank, when.day), tuple(portions), stopped, last)


def _served(
    plan: Plan,
    tank: Tank,
    feed: Feed,
    when: Instant,
    planned: Sequence[Instant],
    seen: _Seen,
) -> bool:
    """Whether a feed went in at this meal already, or it was said why it did not."""
    mine = [one for one in seen.meals.get(tank.code, ()) if one.feed == feed.code]
    given = [one for one in mine if one.event is None]
    said = [one for one in mine if one.meal_at == when.utc]
    open_ = meals.not_served(plan, tank, planned, {tank.code: given})
    return bool(said) or when.utc not in {one.utc for one in open_}


def _left(
    plan: Plan, tank: Tank, feed: Feed, when: Instant, known: Known, seen: _Seen
) -> Left | None:
    """What is left of a feed that is reckoned by density; None for all others."""
    age = plan.age(tank, when.day)
    ration = None if age is None else plan.ration_of(tank, feed.code, age)
    if ration is None or ration.by is not RationBy.DENSITY:
        return None
    moment = max(when, seen.now)
    given = [
        Given(one.at, one.amount)
        for one in seen.meals.get(tank.code, ())
        if one.feed == feed.code and one.event is None and one.at.utc <= moment.utc
    ]
    eaten = rations.grazing(ration, known)
    counted = seen.counts.get(tank.code)
    return in_water.left(tank.volume_l, moment, known.flow, eaten, given, counted)


# ---- what is made up, and shared where there is too little


def _made_up(
    plan: Plan, code: str, rows: tuple[Row, ...], when: Instant, seen: _Seen
) -> tuple[tuple[Row, ...], Total]:
    """The rows with what each tank gets of one feed, and the total of it."""
    open_ = [
        (row.tank, one)
        for row in rows
        for one in row.portions
        if one.feed.code == code and not one.served and row.off is None
    ]
    feed = next(one.feed for row in rows for one in row.portions if one.feed.code == code)
    untold = tuple(tank.code for tank, one in open_ if one.full is None)
    full = sum(one.full or 0.0 for _, one in open_)
    why = next((one.need.missing for _, one in open_ if one.full is None), None)
    total = Total(feed, full, full, untold=untold, why=why)
    if not feed.hatched:
        return rows, total._replace(have=seen.grams.get(code))
    if not _kept(seen):
        return rows, total
    fresh = [one for one in seen.store if one.feeds(max(when, seen.now))]
    until = next_ready(plan, seen.batches, seen.now)
    share, many = _share(plan, code, full, when, until, seen)
    wanted = {tank.code: (one.full or 0.0) * share for tank, one in open_}
    pours = poured(wanted, fresh, short=share < 1)
    amounts: dict[str, float | None] = {}
    for tank, one in open_:
        there = sum(pour.thousand for pour in pours[tank.code])
        enough = one.full is not None and share == 1 and there >= one.full * (1 - ROUNDED)
        amounts[tank.code] = one.full if one.full is None or enough else down(there)
    with_pours = tuple(
        row._replace(
            portions=tuple(
                one._replace(listed=amounts[row.tank.code], pours=pours[row.tank.code])
                if one.feed.code == code and row.tank.code in amounts
                else one
                for one in row.portions
            )
        )
        for row in rows
    )
    return with_pours, total._replace(
        make_up=sum(amount or 0.0 for amount in amounts.values()),
        pours=together(pour for of in pours.values() for pour in of),
        have=sum(one.thousand for one in fresh),
        share=share,
        until=until,
        shared_by=many,
    )


def _kept(seen: _Seen) -> bool:
    """Whether the record keeps what there is of live feed at all."""
    return any(one.event == BatchEvent.HARVEST for one in seen.batches)


def _share(
    plan: Plan, code: str, full: float, when: Instant, until: Instant, seen: _Seen
) -> tuple[float, int]:
    """The part of every ration that there is until there is new feed, and for how many meals.

    At each meal only what is not over two days old then counts.
    """
    wants = [(max(when, seen.now), full)]
    for later in meals.times(plan, when.day, until.day):
        if when.utc < later.utc < until.utc:
            wants.append((later, sum(of_feed(plan, code, later, seen.known))))
    share = 1.0
    for k, (moment, _) in enumerate(wants):
        there = sum(one.thousand for one in seen.store if one.feeds(moment))
        asked = sum(amount for _, amount in wants[k:])
        if asked > 0:
            share = min(share, there / asked)
    return share, len(wants)


# ---- what is new today


def changes(plan: Plan, when: Instant) -> tuple[FeedChange, ...]:
    """Feeds that start, or that ended with yesterday, for the fish of some tanks."""
    found: dict[tuple[str, bool, str], tuple[Feed, list[str]]] = {}
    for tank in plan.tanks:
        age = plan.age(tank, when.day)
        if age is None:
            continue
        for feed, starts in meals.starts_and_ends(plan, tank, age):
            key = feed.code, starts, tank.treatment or tank.lot or tank.code
            found.setdefault(key, (feed, []))[1].append(tank.code)
    return tuple(
        FeedChange(feed, starts, whom, tuple(codes))
        for (_, starts, whom), (feed, codes) in found.items()
    )
