"""The dead of a whole round: every tank beside all others, each treatment, and the whole lot.

At a tank only those are known that were counted before it. When all are counted the order of the
walk decides nothing, and what most tanks of a treatment or of a lot share is one flag.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import sqrt

from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.plan.judging import JudgingLimits
from tankwalk.plan.model import Tank
from tankwalk.practice.judging.dead import mortality
from tankwalk.practice.judging.dead.counts import (
    DeadKnown,
    LaidOut,
    Tally,
    counts_of,
    laid_out,
    losses_of,
    part_of,
    shifts_of,
    sisters_of,
)
from tankwalk.practice.judging.dead.model import Room
from tankwalk.practice.judging.dead.mortality import Judging, Signal
from tankwalk.practice.judging.dead.slots import Line, Window
from tankwalk.practice.judging.rules import Rule, is_shared, most
from tankwalk.practice.judging.standing.found import Found, Key
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.practice.stock.dead import MORTS
from tankwalk.practice.stock.numbers import best

FEWEST_OF_ARM = 2
"""Fewer tanks are no treatment that dies faster. Common practice, no source."""

UNCLIPPED = 1000.0
"""Of all tanks together no slot is one wild look."""

DO_TREATMENT = (
    "Look at what these tanks have alone: feed, batch, light, doses. Keep some of the dead and "
    "tell the lead."
)
DO_LOT = (
    "Look at what all tanks share: water, feed, batch, handling. Keep some of the dead and tell "
    "the lead; the lead or the veterinarian decides what is done."
)


def whole_round(site: Site, number: int) -> tuple[Found, ...]:
    """What the counts of a whole round show that no count said when it was entered."""
    opened = site.reader.rounds.opened_by(number)
    if opened is None:
        return ()
    newest = {
        one.place: one
        for one in site.reader.readings.of_round(number, opened)
        if one.item == MORTS and one.value is not None
    }
    if not newest:
        return ()
    now = max((one.at for one in newest.values()), key=lambda at: at.utc)
    part = part_of(site.reader.rounds.checklist_of(number), now)
    found: list[Found] = []
    left = [tank for tank in site.plan.tanks if tank.code in newest]
    while left:
        first = left[0]
        group = [first, *(one for one in sisters_of(site.plan, first, now.day) if one in left)]
        left = [tank for tank in left if tank not in group]
        found += _of_group(site, group, newest, now, part)
    return tuple(found)


def _of_group(
    site: Site, tanks: Sequence[Tank], newest: dict[str, Seen], now: Instant, part: str
) -> Iterator[Found]:
    """What tanks of one age show: the lot, else treatments, else tanks by themselves."""
    limits, age = site.plan.judging, site.plan.age(tanks[0], now.day)
    codes = [tank.code for tank in tanks]
    counts = counts_of(site, codes, now)
    shifts = shifts_of(site, counts, now)
    tallies = [
        Tally(one.code, one.treatment or "", counts.get(one.code, ()), shifts.get(one.code, ()))
        for one in tanks
    ]
    losses = losses_of(site.plan, tanks[0])
    held = losses, _fish_of_one(site, codes) if losses.lines else None
    laid = laid_out(tallies, now, part, age, limits.clip, held=held)
    lot = site.plan.lot_of(tanks[0])
    whole = of_lot("" if lot is None else lot.code, laid, limits)
    if whole is not None:
        yield whole
        return
    told: set[str] = set()
    for treatment in of_treatments(laid, limits):
        told.update(treatment.places)
        yield treatment
    for nth, tank in enumerate(tanks):
        signal = _of_tank(nth, tallies[nth], laid, now, part, age, limits)
        if signal is None or tank.code in told or signal.flag <= newest[tank.code].flag:
            continue  # at the tank it said as much
        key = Key("place", tank.code, MORTS)
        words = f"{signal.sentence[:-1]}, with the whole round counted."
        yield Found(key, signal.rule, signal.flag, words, signal.do, (tank.code,), MORTS)


def _fish_of_one(site: Site, codes: Sequence[str]) -> int | None:
    """How many fish a tank of a group has in the middle; None where none were entered."""
    held = [one.fish for one in best(site, codes).values()]
    return round(sum(held) / len(held)) if held else None


def _of_tank(
    nth: int,
    tally: Tally,
    laid: LaidOut,
    now: Instant,
    part: str,
    age: int | None,
    limits: JudgingLimits,
) -> Signal | None:
    """The worse of a jump and a rise of one tank beside all others."""
    windows = tuple(laid.room.windows(nth, limits.onset_looks, limits.tail))
    known = DeadKnown(now, part, tally.counts[:-1], tally.arm, age=age)
    value = tally.counts[-1].fish if tally.counts else 0
    of = Judging(value, known, laid, nth, windows, limits)
    found = [one for one in (mortality.jump(of), mortality.rise(of)) if one is not None]
    return max(found, key=lambda one: one.flag, default=None)


# ---- what tanks share


def of_treatments(laid: LaidOut, limits: JudgingLimits) -> Iterator[Found]:
    """Treatments that die faster than the plan expects, or beside the others than they did before:
    most of their tanks."""
    room = laid.room
    if len(room.arms) < 2:
        return
    for arm, name in enumerate(room.arms):
        tanks = room.tanks_of(arm)
        if not name or len(tanks) < FEWEST_OF_ARM:
            continue
        planned = room.beside_plan(tanks, limits.onset_looks)
        since = _likeliest(planned, limits)
        raised = [] if since is None else _beyond_plan(room, tanks, since, limits)
        told = "than the plan expects"
        if not _of_arm(raised, tanks):
            since = _likeliest(room.of_arm(arm, limits.onset_looks), limits)
            if since is None or _foretold(room, name, planned, since, limits):
                continue
            raised = [tank for tank in tanks if _raised(room, tank, since, limits)]
            told = "than they should beside the other treatments"
        if since is None or not _of_arm(raised, tanks):
            continue
        words = (
            f"{name}: {len(raised)} of {len(tanks)} tanks lose more {told} "
            f"{_told(laid, since, plan=told.endswith('expects'))}."
        )
        codes = tuple(room.lines[tank].code for tank in raised)
        yield Found(
            Key("treatment", name, MORTS), Rule.TREATMENT, Flag.WATCH, words, DO_TREATMENT, codes,
            MORTS,
        )  # fmt: skip


def _foretold(
    room: Room, name: str, planned: Sequence[Window], since: Window, limits: JudgingLimits
) -> bool:
    """Whether the plan says of this very treatment that so many die: then it is no news."""
    said = room.slots.plan(since.first, name)
    if said is None or not said.of_arm:
        return False
    window = next((one for one in planned if one.first == since.first), None)
    return window is not None and window.fish < sqrt(limits.ratio) * window.expected.mean


def of_lot(code: str, laid: LaidOut, limits: JudgingLimits) -> Found | None:
    """A lot of which most tanks die faster than the plan expects, or than its own days before and
    its age explain. What the plan expects by itself is no news."""
    room = laid.room
    tanks = range(len(room.lines))
    planned = room.beside_plan(tanks, limits.onset_looks)
    over = _likeliest(planned, limits)
    if over is not None:
        above = _beyond_plan(room, tanks, over, limits)
        if is_shared(len(above), len(tanks)):
            codes = [room.lines[tank].code for tank in above]
            return _lot(code, laid, over, codes, "than the plan expects", plan=True)
    together = Room([Line(code, "", laid.room.by_slot())], laid.room.slots, UNCLIPPED)
    since = _likeliest(together.windows(0, limits.onset_looks, 0.0), limits)
    if since is None or since.fish < limits.ratio * since.expected.mean:
        return None
    expected = next((one.expected.mean for one in planned if one.first == since.first), None)
    if expected is not None and since.fish < sqrt(limits.ratio) * expected:
        return None
    lines, least = laid.room.lines, sqrt(limits.ratio)
    raised = []
    for line in lines:
        alone = Room([line], laid.room.slots, UNCLIPPED).windows(0, limits.onset_looks, 0.0)
        near = [one for one in alone if one.first >= since.first]
        if near and near[-1].fish >= least * near[-1].expected.mean:
            raised.append(line.code)
    if not is_shared(len(raised), len(lines)):
        return None
    return _lot(code, laid, since, raised, "than their age explains", plan=False)


def _lot(
    code: str, laid: LaidOut, since: Window, raised: Sequence[str], told: str, *, plan: bool
) -> Found:
    words = (
        f"Lot {code}: {len(raised)} of {len(laid.room.lines)} tanks lose more {told} "
        f"{_told(laid, since, plan=plan)}."
    )
    return Found(Key("lot", code, MORTS), Rule.LOT, Flag.WATCH, words, DO_LOT, tuple(raised), MORTS)


def _beyond_plan(
    room: Room, tanks: Sequence[int], since: Window, limits: JudgingLimits
) -> list[int]:
    """Which tanks have more than the plan expects of them since then, by themselves."""
    found = []
    for tank in tanks:
        alone = room.beside_plan([tank], since.looks)
        near = [one for one in alone if one.first >= since.first]
        if near and near[-1].fish >= sqrt(limits.ratio) * near[-1].expected.mean:
            found.append(tank)
    return found


def _of_arm(raised: Sequence[int], tanks: Sequence[int]) -> bool:
    """Whether so many tanks are a treatment's."""
    return len(raised) >= FEWEST_OF_ARM and most(len(raised), len(tanks))


def _likeliest(windows: Sequence[Window], limits: JudgingLimits) -> Window | None:
    """The onset that chance explains least; None where it may explain that as well."""
    since = min(windows, key=lambda one: one.chance, default=None)
    if since is None or since.chance >= limits.tail:
        return None
    return since if since.fish >= sqrt(limits.ratio) * since.expected.mean else None


def _raised(room: Room, tank: int, since: Window, limits: JudgingLimits) -> bool:
    """Whether a tank of a treatment has more than its part since then."""
    looks = [look for look in room.lines[tank].looks if look.last >= since.first]
    return room.times_of_others(tank, looks) >= sqrt(limits.ratio)


def _told(laid: LaidOut, since: Window, *, plan: bool) -> str:
    """Since when, how many in how many counts, and how many times their usual or the plan's."""
    times = since.fish / since.expected.mean
    rounds = f"{since.looks} rounds" if since.looks > 1 else "1 round"
    whose = "plan's" if plan else "usual"
    return (
        f"since {laid.began[since.first].short()}: {since.fish:.0f} dead in {rounds}, "
        f"{times:.1f} times the {whose} {since.expected.mean:.0f}"
    )
