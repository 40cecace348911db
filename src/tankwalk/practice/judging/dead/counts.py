"""What the record holds when the dead are counted: own days, sisters, fish, laid out by slot."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from itertools import pairwise
from math import prod

from tankwalk.clock import Instant
from tankwalk.ledger.stock import What
from tankwalk.plan.bands import band_at
from tankwalk.plan.loss_model import Losses, of_lot
from tankwalk.plan.model import Plan, Tank
from tankwalk.practice.judging.dead.model import Room
from tankwalk.practice.judging.dead.slots import Line, Look, Planned, Slots
from tankwalk.practice.site import Site
from tankwalk.practice.stock.dead import MORTS, one_a_round, unit_of_morts
from tankwalk.practice.stock.numbers import best
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import median

# Seeds, to be tuned by a site. Common practice, no source.

DAYS = 14
"""How far back counts are looked at."""
ALIKE_VOLUME = 0.25
"""Sisters are tanks whose volume differs by no more than this part."""
FIRST_FEEDING_AGES = (5, 14)
"""Where the plan has no stages of the species, in dph."""
FIRST_FEEDING = "first feeding"
"""What the profiles call the stage."""
DIE_OFF_AGES = (7, 12)
"""Larvae that never fed die at these ages, in dph: 8 to 12, from 7 on where it is warm.

A level that is not known yet may then be anything; what sister tanks had says all the same.
"""
SIPHONED = "siphoned"
"""Code of the item that asks whether the bottom was siphoned."""
LEAST_HOURS = 4.0
"""Slots closer than this are no less likely to find some."""
MOST_SLOTS = 6
"""A count after a longer gap is taken for so many slots: what lay there is gone."""
MOST_HOURS = 72.0
"""What lay longer on the floor is no longer all there to be counted."""


class Counted(NamedTuple):
    """One count of the dead, in one round; `part` says which part of the day."""

    at: Instant
    part: str
    fish: int
    who: str
    round: int | None = None


class Shift(NamedTuple):
    """Fish that came or went alive: from this UTC second on a tank has so many times as many."""

    utc: int
    times: float


class Tally(NamedTuple):
    """The counts of one tank, oldest first; `arm` is its treatment, "" for none."""

    code: str
    arm: str
    counts: tuple[Counted, ...]
    shifts: tuple[Shift, ...] = ()


class DeadKnown(NamedTuple):
    """What the record holds when a tank's dead are counted."""

    now: Instant
    part: str
    own: tuple[Counted, ...] = ()
    """The tank's counts of the last days in other rounds, oldest first."""
    arm: str = ""
    sisters: tuple[Tally, ...] = ()
    """The counts of sister tanks, this round's as far as it has got."""
    best: int | None = None
    """Fish by the best estimate as today began."""
    best_days: float = 0.0
    """Days since they were last counted."""
    age: int | None = None
    first_feeding: bool = False
    siphoned: bool | None = None
    """Whether it was siphoned today; None where nothing says so."""
    losses: Losses = Losses()
    """What the plan, or its species, expects of the lot."""
    shifts: tuple[Shift, ...] = ()
    """Fish that came into the tank or left it alive in these days."""
    shares: tuple[float | None, float | None] = (None, None)
    """Percent of the fish left, dead in a day, that the plan has watched and acted on."""


# ---- from the record


def gather(site: Site, place: str, now: Instant, round_number: int | None) -> DeadKnown | None:
    """What the record holds for a count at a tank; None for what is no tank of the plan."""
    plan = site.plan
    tank = plan.find_tank(place)
    if tank is None:
        return None
    checklist = "" if round_number is None else site.reader.rounds.checklist_of(round_number)
    alike = sisters_of(plan, tank, now.day)
    codes = [place, *(one.code for one in alike)]
    counts = counts_of(site, codes, now)
    shifts = shifts_of(site, counts, now)
    every = counts.get(place, ())
    own = tuple(one for one in every if round_number is None or one.round != round_number)
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
        part_of(checklist, now),
        own,
        tank.treatment or "",
        tuple(
            Tally(one.code, one.treatment or "", counts.get(one.code, ()), shifts.get(one.code, ()))
            for one in alike
        ),
        None if held is None else held.fish + taken,
        0.0 if held is None else max(0, now.utc - held.counted.utc) / 86400,
        age,
        _first_feeding(plan, tank, age),
        _siphoned(site, place, now),
        losses_of(plan, tank),
        shifts.get(place, ()),
        _shares(plan, place, now),
    )


def _shares(plan: Plan, place: str, now: Instant) -> tuple[float | None, float | None]:
    """What part of the fish left the plan has watched, and acted on, where they die in a day."""
    item = plan.find_item(MORTS)
    band = None if item is None else band_at(plan, item, place, now.day)
    if band is None:
        return None, None
    return band.limits.watch_share_percent, band.limits.act_share_percent


def part_of(checklist: str | None, at: Instant) -> str:
    """Which part of the day a count belongs to: its checklist, else its half of the day."""
    return checklist or ("before noon" if at.wall.hour < 12 else "after noon")


def counts_of(site: Site, places: Iterable[str], now: Instant) -> dict[str, tuple[Counted, ...]]:
    """The counts of tanks today and some days before, one a round, in order of time."""
    since = _since(now)
    asked = [(place, since) for place in places]
    found = {}
    for place, seen in site.reader.stock.counts(asked, MORTS, unit_of_morts(site.plan)).items():
        kept = one_a_round((one.round, one) for one in seen if one.at.utc <= now.utc)
        found[place] = tuple(
            Counted(one.at, part_of(one.checklist, one.at), one.fish, one.who, one.round)
            for one in sorted(kept, key=lambda one: one.at.utc)
        )
    return found


def _since(now: Instant) -> int:
    """The UTC second from which counts are looked at."""
    wall = now.wall
    return now.utc - 3600 * wall.hour - 60 * wall.minute - wall.second - DAYS * 86400


def shifts_of(
    site: Site, counts: Mapping[str, Sequence[Counted]], now: Instant
) -> dict[str, tuple[Shift, ...]]:
    """How fish that came or went alive changed what tanks hold since their first count, in order.

    By the best estimates of now, backward: the dead that were counted since are too few to matter
    beside their errors. `counts` are those of these days by tank.
    """
    since = {place: seen[0].at.utc for place, seen in counts.items() if seen}
    alive = {What.STOCKED: 1, What.MOVED_IN: 1}
    alive |= dict.fromkeys((What.MOVED_OUT, What.CULLED, What.CANNIBALS, What.SAMPLED), -1)
    moved = {
        place: [one for one in seen if one.what in alive and since[place] < one.at.utc <= now.utc]
        for place, seen in site.reader.stock.all_movements(since, _since(now)).items()
    }
    moved = {place: seen for place, seen in moved.items() if seen}
    held = best(site, moved) if moved else {}
    found = {}
    for place, seen in moved.items():
        after = held[place].fish if place in held else 0
        shifts: list[Shift] = []
        for one in reversed(seen):
            before = after - alive[What(one.what)] * one.fish
            if before <= 0 or after <= 0:
                break  # it was empty: no count of these fish is older
            shifts.append(Shift(one.at.utc, after / before))
            after = before
        found[place] = tuple(reversed(shifts))
    return found


def losses_of(plan: Plan, tank: Tank) -> Losses:
    """What is expected to die in a day of a tank's lot: by the plan, else by its species."""
    lot = plan.lot_of(tank)
    if lot is None:
        return Losses()
    seeds = [one for profile in plan.profiles for one in profile.losses]
    return of_lot((*plan.losses, *seeds), lot.code, lot.species)


def sisters_of(plan: Plan, tank: Tank, on: date) -> list[Tank]:
    """Tanks like one: fish of one species and age, in tanks of about one size."""
    return [one for one in plan.tanks if one.code != tank.code and _alike(plan, tank, one, on)]


def _alike(plan: Plan, tank: Tank, other: Tank, on: date) -> bool:
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


# ---- slots


class LaidOut(NamedTuple):
    """Tanks and their slots, fitted: the model, and when each slot began."""

    room: Room
    began: tuple[Instant, ...]


def laid_out(
    tallies: Sequence[Tally],
    now: Instant,
    part: str,
    age: int | None,
    clip: float,
    judged: int | None = None,
    held: tuple[Losses, int | None] = (Losses(), None),
) -> LaidOut:
    """The counts of tanks by slot, the newest slot that of `part` today; `age` is today's, dph.

    `held` is what the plan expects to die, and how many fish a tank has.

    A slot counts that most tanks had which were counted before: what one tank had beside it goes
    to its next slot, and what it left out is in its next count. `judged` is the tank that is
    entered now, whose count does not tell what the others have.
    """
    newest = now.day, part
    began: dict[tuple[date, str], Instant] = {newest: now}
    had: dict[tuple[date, str], int] = {}
    for tally in tallies:
        for key, at in {(one.at.day, one.part): one.at for one in reversed(tally.counts)}.items():
            began[key] = at if key not in began or at.utc < began[key].utc else began[key]
            had[key] = had.get(key, 0) + 1
    since = [tally.counts[0].at.utc for tally in tallies if tally.counts]
    order = sorted((key for key in began if key != newest), key=lambda key: began[key].utc)
    common = [
        key
        for key in order
        if 2 * had[key] >= sum(first <= began[key].utc + 43200 for first in since)
        and began[key].utc <= now.utc
    ]
    common.append(newest)
    index = {key: nth for nth, key in enumerate(common)}
    lines = [Line(one.code, one.arm, _looks(one, index)) for one in tallies]
    times = tuple(began[key] for key in common)
    ages = [None if age is None else age - (now.day - day).days for day, _ in common]
    hours = _hours(common, times)
    slots = Slots(
        tuple(part for _, part in common),
        hours,
        tuple(die_off(one) for one in ages),
        {
            arm: tuple(_planned(held, *one, arm) for one in zip(ages, hours, strict=True))
            for arm in {"", *(tally.arm for tally in tallies)}
        },
    )
    return LaidOut(Room(lines, slots, clip, judged), times)


def _planned(
    held: tuple[Losses, int | None], age: int | None, hours: float, arm: str
) -> Planned | None:
    """How many of a tank's fish the plan expects to die in a slot; None where it says nothing."""
    losses, fish = held
    said = losses.at(age, arm)
    if said is None or not fish:
        return None
    expected = fish * said.percent / 100 * min(hours, MOST_HOURS) / 24
    return Planned(expected, said.own, said.treatment is not None)


def _looks(tally: Tally, index: Mapping[tuple[date, str], int]) -> tuple[Look, ...]:
    found: list[Look] = []
    waiting = 0
    for one in tally.counts:
        waiting += one.fish
        slot = index.get((one.at.day, one.part))
        if slot is None:
            continue
        if found and slot <= found[-1].last:
            found[-1] = found[-1]._replace(fish=found[-1].fish + waiting)
        else:
            first = max(found[-1].last + 1, slot - MOST_SLOTS + 1) if found else slot
            times = prod(shift.times for shift in tally.shifts if shift.utc > one.at.utc)
            found.append(Look(first, slot, waiting, times))
        waiting = 0
    return tuple(found)


def _hours(keys: Sequence[tuple[date, str]], at: Sequence[Instant]) -> tuple[float, ...]:
    """Hours since the slot before; of the first those of the next of its part, else a day."""
    found = [0.0] + [max(LEAST_HOURS, after.hours_since(one)) for one, after in pairwise(at)]
    like = [
        hours for (_, part), hours in zip(keys[1:], found[1:], strict=True) if part == keys[0][1]
    ]
    found[0] = median(like) if like else 24.0
    return tuple(found)


def die_off(age: int | None) -> bool:
    """Whether fish of this age are dying off that never fed."""
    return age is not None and DIE_OFF_AGES[0] <= age <= DIE_OFF_AGES[1]
