"""What the record holds when a tank's dead are counted: its own days, its sisters, its fish."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from tankwalk.clock import Instant
from tankwalk.plan.model import Plan, Tank
from tankwalk.practice.site import Site
from tankwalk.practice.stock.dead import MORTS, one_a_round, unit_of_morts
from tankwalk.practice.stock.numbers import best
from tankwalk.rows import NamedTuple
from tankwalk.science import signals

# Seeds, to be tuned by a site. Common practice, no source.

DAYS = 10
"""How far back own counts are looked at."""
ALIKE_VOLUME = 0.25
"""Sisters are tanks whose volume differs by no more than this part."""
FIRST_FEEDING_AGES = (5, 14)
"""Where the plan has no stages of the species, in dph."""
FIRST_FEEDING = "first feeding"
"""What the profiles call the stage."""
DIE_OFF_AGES = (7, 12)
"""Larvae that never fed die at these ages, in dph: 8 to 12, from 7 on where it is warm.

A jump or a rise stays quiet then, but only as far as sister tanks have it too.
"""
SIPHONED = "siphoned"
"""Code of the item that asks whether the bottom was siphoned."""


class Counted(NamedTuple):
    """One count of the dead, in one round; `part` says which part of the day."""

    at: Instant
    part: str
    fish: int
    who: str
    round: int | None = None


class DeadKnown(NamedTuple):
    """What the record holds when a tank's dead are counted."""

    now: Instant
    part: str
    own: tuple[Counted, ...] = ()
    """The tank's counts of the last ten days in other rounds, oldest first."""
    sisters: tuple[int, ...] = ()
    """What sister tanks of this age had in this round, as far as it has got."""
    sisters_before: tuple[int, ...] = ()
    """What they had in the same part of yesterday."""
    sister_days: tuple[tuple[date, float], ...] = ()
    """The middle of what they had in this part of earlier days."""
    best: int | None = None
    """Fish by the best estimate as today began."""
    best_days: float = 0.0
    """Days since they were last counted."""
    age: int | None = None
    first_feeding: bool = False
    siphoned: bool | None = None
    """Whether it was siphoned today; None where nothing says so."""


def gather(site: Site, place: str, now: Instant, round_number: int | None) -> DeadKnown | None:
    """What the record holds for a count at a tank; None for what is no tank of the plan."""
    plan = site.plan
    tank = plan.find_tank(place)
    if tank is None:
        return None
    checklist = "" if round_number is None else site.reader.rounds.checklist_of(round_number)
    part = _part(checklist, now)
    every = _counts(site, place, now, DAYS)
    own = tuple(one for one in every if round_number is None or one.round != round_number)
    sisters = _sisters(site, tank, own, part, now, round_number)
    held = best(site, [place]).get(place)
    # The estimate has the dead of today taken off already, this round's first count as well.
    taken = sum(
        one.fish
        for one in every
        if held is not None and one.at.day == now.day and one.at.utc >= held.counted.utc
    )
    age = plan.age(tank, now.day)
    return DeadKnown(
        now,
        part,
        own,
        sisters.here,
        sisters.before,
        sisters.days,
        None if held is None else held.fish + taken,
        0.0 if held is None else max(0, now.utc - held.counted.utc) / 86400,
        age,
        _first_feeding(plan, tank, age),
        _siphoned(site, place, now),
    )


def _part(checklist: str | None, at: Instant) -> str:
    """Which part of the day a count belongs to: its checklist, else its half of the day."""
    return checklist or ("before noon" if at.wall.hour < 12 else "after noon")


def _counts(site: Site, place: str, now: Instant, days: int) -> list[Counted]:
    """A tank's counts of today and some days before, one a round, in order of time."""
    wall = now.wall
    midnight = now.utc - 3600 * wall.hour - 60 * wall.minute - wall.second
    since = midnight - days * 86400
    every = site.reader.stock.counts(place, MORTS, unit_of_morts(site.plan), since)
    kept = one_a_round((seen.round, seen) for seen in every if seen.at.utc <= now.utc)
    found = sorted(kept, key=lambda one: one.at.utc)
    return [
        Counted(one.at, _part(one.checklist, one.at), one.fish, one.who, one.round) for one in found
    ]


class _Sisters(NamedTuple):
    """What tanks like one had: in this round, in the same part of yesterday, and day by day."""

    here: tuple[int, ...]
    before: tuple[int, ...]
    days: tuple[tuple[date, float], ...]


def _sisters(
    site: Site,
    tank: Tank,
    own: Sequence[Counted],
    part: str,
    now: Instant,
    round_number: int | None,
) -> _Sisters:
    counted = {one.part for one in own if one.at.day == now.day}
    here: list[int | None] = []
    before: dict[date, list[int]] = {}
    age = site.plan.age(tank, now.day)
    # Older days are held against the sisters' at the ages of the die-off alone.
    touched = age is not None and any(die_off(age - back) for back in range(DAYS + 1))
    reach = DAYS if touched else 1
    for sister in site.plan.tanks:
        if sister.code == tank.code or not _alike(site.plan, tank, sister, now.day):
            continue
        days = by_day(_counts(site, sister.code, now, reach))
        today = days.pop(now.day, [])
        if any(one.round == round_number and one.part == part for one in today):
            here.append(like_this(today, part, counted))
        for day, counts in days.items():
            fish = like_this(counts, part, counted)
            if fish is not None:
                before.setdefault(day, []).append(fish)
    middles = sorted(
        (day, signals.median(counts))
        for day, counts in before.items()
        if len(counts) >= signals.FEWEST_SISTERS
    )
    yesterday = before.get(now.day - timedelta(days=1), [])
    known = tuple(one for one in here if one is not None)
    return _Sisters(known, tuple(yesterday), tuple(middles))


def _alike(plan: Plan, tank: Tank, other: Tank, on: date) -> bool:
    """Whether two tanks are sisters: fish of one species and age, in tanks of about one size."""
    lot, its = plan.lot_of(tank), plan.lot_of(other)
    age = plan.age(tank, on)
    return (
        lot is not None
        and its is not None
        and lot.species == its.species
        and age is not None
        and age == plan.age(other, on)
        and tank.quarantine == other.quarantine
        and abs(other.volume_l - tank.volume_l) <= ALIKE_VOLUME * tank.volume_l
    )


def _first_feeding(plan: Plan, tank: Tank, age: int | None) -> bool:
    """Whether the fish are at first feeding, by the stages of their profile where it has them."""
    lot = plan.lot_of(tank)
    if lot is None or age is None:
        return False
    for profile in plan.profiles:
        named = [one for one in profile.stages if one.name == FIRST_FEEDING]
        if profile.species == lot.species and named:
            return any(one.dph[0] <= age <= one.dph[1] for one in named)
    return FIRST_FEEDING_AGES[0] <= age <= FIRST_FEEDING_AGES[1]


def _siphoned(site: Site, place: str, now: Instant) -> bool | None:
    """What was answered today to whether it was siphoned: the first choice is yes."""
    item = site.plan.find_item(SIPHONED)
    if item is None:
        return None
    seen = site.reader.readings.newest(place, item.code, item.unit)
    if seen is None or seen.value is None or seen.at.day != now.day:
        return None
    return seen.value == 0


# ---- days


def die_off(age: int | None) -> bool:
    """Whether fish of this age are dying off that never fed."""
    return age is not None and DIE_OFF_AGES[0] <= age <= DIE_OFF_AGES[1]


def days_like(known: DeadKnown) -> list[tuple[date, int]]:
    """What earlier days had that stands against this count, oldest first: see `like_this`."""
    days = by_day(known.own)
    counted = {one.part for one in days.pop(known.now.day, [])}
    found = ((day, like_this(here, known.part, counted)) for day, here in days.items())
    return [(day, fish) for day, fish in found if fish is not None]


def like_this(here: Sequence[Counted], part: str, counted_today: set[str]) -> int | None:
    """Of one day's counts, what stands against a part of today; None where it was not counted.

    With it go the earlier counts of that day whose part was left out today: where the morning was
    not siphoned, the afternoon finds the dead of both.
    """
    ends = max((one.at.utc for one in here if one.part == part), default=None)
    if ends is None:
        return None
    return sum(
        one.fish
        for one in here
        if one.part == part or (one.at.utc < ends and one.part not in counted_today)
    )


def by_day(counts: Sequence[Counted]) -> dict[date, list[Counted]]:
    """Counts by local day, oldest first."""
    found: dict[date, list[Counted]] = {}
    for one in counts:
        found.setdefault(one.at.day, []).append(one)
    return found
