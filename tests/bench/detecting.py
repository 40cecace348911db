"""What can be found at all, and how much of it is: an ideal detector and ours on the same series.

    python tests/bench/detecting.py 1 40               # rooms in memory, tuning seeds 1 to 40
    python tests/bench/detecting.py 1 40 --ours        # with the judgement's own model beside it
    python tests/bench/detecting.py 1 40 --ours --learner --maker hall  # the second maker, and
                                     # the ideal detector that has to learn its levels

Both are held to the same false alarms a day of twelve tanks, found on quiet seasons of the same
seeds; then every fault is planted in every seed. Seeds 1 to 200 are for tuning; what is published
is from `20260510/0` on (tests/chance_seasons.py), which nobody tunes on.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from math import sqrt
from typing import NamedTuple

import detect_ideal
from detect_ideal import TOLD_APART, AtRound, Scored
from detect_series import Series, series

import chance_hall_water
import chance_water
from chance_faults import Fault, Maker, Planted
from chance_seasons import share, table
from tankwalk.science.signals import median

MAKERS: dict[str, Maker] = {"room": chance_water.water, "hall": chance_hall_water.water}
METERS = (Fault.METER_DRIFT, Fault.METER_STEP)
LOOPS = (Fault.LOOP_OXYGEN, Fault.LOOP_TEMP, Fault.BICARBONATE)
TANKS = (Fault.TANK_OXYGEN, Fault.TANK_DRIFT, Fault.MORT_JUMP, Fault.MORT_RISE)
FAULTS = (*METERS, *LOOPS, *TANKS)
"""What shows over rounds; what goes wrong as it is typed is no matter of a detector."""

OF_THE_DEAD = (Fault.MORT_JUMP, Fault.MORT_RISE)

ZS = (2.8, 3.0, 3.2, 3.4, 3.6, 3.8, 4.0, 4.25, 4.5, 5.0)
"""Scores in standard deviations for which false alarms are told."""
FALSE_A_DAY = 0.2
"""False alarms a day of twelve tanks, of all items and the dead together."""
A_ROUND = 3600
"""Seconds within which a message and the end of a round are of the same round."""
AFTER = 3 * 3600
"""An alarm counts this long after the last round that shows what was planted."""

Detector = Callable[[Series], list[list[AtRound]]]
"""What a detector finds of a season: for each item, round by round, with its scores."""


class Alarm(NamedTuple):
    """One part that was told at the end of a round."""

    at: int
    round: int
    told: Scored
    names: tuple[tuple[str, str], ...]
    """Kind and code of what was told, and of what could not be told from it."""
    new: bool
    """It was not told of the round before."""


def ideal(season: Series) -> list[list[AtRound]]:
    """The detector that knows all but what went wrong."""
    found = [detect_ideal.readings(item, looks) for item, looks in season.looks.items()]
    return [*found, detect_ideal.counts(season.dead)]


def alarms(rounds: Sequence[AtRound], threshold: float) -> Iterator[Alarm]:
    """What is told of one item: in every round the strongest first, and none of its tanks twice."""
    before: set[tuple[str, str]] = set()
    for here in rounds:
        told: set[str] = set()
        now = set()
        for one in here.found:
            if one.score < threshold or one.tanks & told:
                continue
            told |= one.tanks
            rivals = [
                (other.kind, other.code) for other in here.found
                if other is not one and other.tanks & one.tanks
                and abs(one.score - other.score) < TOLD_APART
            ]  # fmt: skip
            mine = one.kind, one.code
            now.add(mine)
            names = (mine, *one.rivals, *rivals)
            yield Alarm(here.at, here.round, one, names, mine not in before)
        before = now


# ---- held against what was planted


def can_be_told(season: Series) -> bool:
    """Whether the cause can be told from another by what is read at all.

    Not where a meter reads whole loops and nobody else reads them, so that loop and meter are one.
    """
    bad = season.planted
    if bad is None or bad.fault not in (*METERS, *LOOPS):
        return True
    looks = [look for look in season.looks[bad.item] if look.round >= bad.first]
    if bad.fault in METERS:
        loops = {look.loop for look in looks if look.meter == bad.code}
        return any(look.meter != bad.code for look in looks if look.loop in loops)
    inside = [look.meter for look in looks if look.tank in bad.tanks]
    outside = {look.meter for look in looks if look.tank not in bad.tanks}
    return len(set(inside)) > 1 or bool(set(inside) & outside)


def told_apart_by(season: Series, found: Sequence[Sequence[AtRound]], at: int) -> bool:
    """Whether the ideal detector tells a meter from a loop in the round of such a moment.

    It has the whole round, whoever told something had a part of it. What it cannot tell apart with
    all it knows, nobody can: then both have to be named. True of what is one tank's.
    """
    bad = season.planted
    if bad is None or bad.fault not in (*METERS, *LOOPS):
        return True
    rounds = [here for of in found for here in of if any(s.item == bad.item for s in here.found)]
    here = min(rounds, key=lambda one: abs(one.at - at), default=None)
    if here is None or abs(here.at - at) > A_ROUND:
        return False
    shared = [one for one in here.found if one.item == bad.item and one.kind != "place"]
    mine = [one for one in shared if named(bad, one.kind, one.code, apart=True)]
    right = max(mine, key=lambda one: one.score, default=None)
    if right is None:
        return False
    others = [one.score for one in shared if one not in mine and one.tanks & right.tanks]
    return right.score - max(others, default=0.0) >= TOLD_APART


def named(bad: Planted, kind: str, code: str, *, apart: bool) -> bool:
    """Whether this is the part that was planted; loop or meter, where they are not told apart."""
    if bad.fault in TANKS:
        return (kind, code) == ("place", bad.tanks[0])
    if not apart:
        return kind != "place"
    if bad.fault in METERS:
        return (kind, code) == ("meter", bad.code)
    return kind == "loop" and bad.code in ("", code)


class Outcome(NamedTuple):
    """What became of one season: hours until it was told with its name; None for never."""

    fault: Fault
    hours: float | None
    wrong: str
    """What was told of its tanks before that name, or without it; "" for nothing."""
    false: int
    apart: bool
    """The cause can be told from others by what is read."""
    tank_days: float
    """Days of tanks in which nothing was wrong yet."""


def outcome(season: Series, found: Sequence[Sequence[AtRound]], threshold: float) -> Outcome:
    """What a detector told of a season, held against what was planted."""
    bad, stops = season.planted, season.room.stops
    every = sorted(
        (one for rounds in found for one in alarms(rounds, threshold)),
        key=lambda one: (one.at, -one.told.score),
    )
    if bad is None:
        return Outcome(
            season.fault, None, "", sum(one.new for one in every), True, season.tank_days
        )
    ends = stops[bad.last].at.utc + AFTER
    wrong, apart = "", can_be_told(season)
    false = sum(one.new for one in every if one.at < bad.started)
    before = (bad.started - stops[0].at.utc) / 86400 * len(season.room.tanks)
    for one in every:
        if not bad.started <= one.at <= ends or not one.told.tanks & set(bad.tanks):
            continue
        if one.told.item != bad.item:
            continue
        if any(named(bad, kind, code, apart=apart) for kind, code in one.names):
            hours = (one.at - bad.started) / 3600
            return Outcome(season.fault, hours, wrong, false, apart, before)
        wrong = wrong or f"{one.told.kind} {one.told.code}"
    return Outcome(season.fault, None, wrong, false, apart, before)


def threshold_of(
    quiet: Sequence[tuple[Series, Sequence[Sequence[AtRound]]]], wanted: float = FALSE_A_DAY
) -> float:
    """The score that quiet seasons pass so many times a day of twelve tanks."""
    low, high = 1.0, 40.0
    for _ in range(25):
        middle = (low + high) / 2
        if false_a_day(quiet, middle) > wanted:
            low = middle
        else:
            high = middle
    return high


def false_a_day(
    quiet: Sequence[tuple[Series, Sequence[Sequence[AtRound]]]], threshold: float
) -> float:
    """False alarms a day of twelve tanks at a threshold."""
    told = [outcome(season, found, threshold) for season, found in quiet]
    return 12 * sum(one.false for one in told) / max(1.0, sum(one.tank_days for one in told))


# ---- tables


class Run(NamedTuple):
    """One detector over all seasons asked for."""

    name: str
    threshold: float
    false: float
    told: dict[Fault, list[Outcome]]
    limits: list[tuple[float, float]]
    """Other thresholds, and the false alarms a day of each."""


def run(
    name: str,
    detector: Detector,
    seeds: Sequence[str],
    faults: Iterable[Fault],
    threshold: float | None = None,
    make: Maker = chance_water.water,
) -> Run:
    """A detector on quiet seasons, which give its threshold, then on every fault in every seed."""

    def drawn(fault: Fault) -> Iterator[tuple[Series, list[list[AtRound]]]]:
        for seed in seeds:
            season = series(seed, fault, make=make)
            yield season, detector(season)

    quiet = list(drawn(Fault.QUIET))
    limit = threshold_of(quiet) if threshold is None else threshold
    told = {fault: [outcome(*one, limit) for one in drawn(fault)] for fault in faults}
    others = [(z * z / 2, false_a_day(quiet, z * z / 2)) for z in ZS]
    return Run(name, limit, false_a_day(quiet, limit), told, others)


def beside(ours: Run, best: Run) -> str:
    """The table of the issue: each fault, found and how late, ours and the ideal."""
    rows = []
    for fault, mine in ours.told.items():
        theirs = best.told[fault]
        found, could = (sum(o.hours is not None for o in one) for one in (mine, theirs))
        both = [
            (a.hours, b.hours)
            for a, b in zip(mine, theirs, strict=True)
            if a.hours is not None and b.hours is not None
        ]
        late, soon = (median([pair[i] for pair in both]) if both else 0.0 for i in (0, 1))
        rows.append([
            fault.value, str(len(mine)), share(found, len(mine)), share(could, len(theirs)),
            f"{found / could:.2f}" if could else "-", f"{late:.0f}", f"{soon:.0f}",
            f"{late / soon:.2f}" if soon else "-",
            f"{sum(bool(o.wrong) for o in mine if o.apart)} of {sum(o.apart for o in mine)}",
        ])  # fmt: skip
    return table(
        ("planted", "n", f"{ours.name} (95 %)", f"{best.name} (95 %)", "ratio", f"{ours.name} h",
         f"{best.name} h", "ratio", "named wrong first, of those that can be told"),
        rows,
    )  # fmt: skip


def why(ours: Run, learns: Run, best: Run) -> str:
    """Each fault, found and how late, by ours, by one that must learn its levels, by the ideal."""
    rows = []
    for fault, mine in ours.told.items():
        three = (mine, learns.told[fault], best.told[fault])
        found = [[one.hours for one in here] for here in three]
        all_three = [hours for hours in zip(*found, strict=True) if None not in hours]
        late = [median([hours[n] or 0.0 for hours in all_three] or [0.0]) for n in range(3)]
        rows.append([
            fault.value, str(len(mine)),
            *(str(sum(hours is not None for hours in here)) for here in found),
            *(f"{hours:.0f}" for hours in late),
            f"{sum(bool(o.wrong) for o in mine if o.apart)} of {sum(o.apart for o in mine)}",
        ])  # fmt: skip
    return table(
        ("planted", "n", "ours", "learns", "ideal", "ours h", "learns h", "ideal h",
         "named wrong first, of those that can be told"),
        rows,
    )  # fmt: skip


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("first", type=int)
    asked.add_argument("last", type=int)
    asked.add_argument("--faults", default="", help="their names in Fault, with commas between")
    asked.add_argument("--ours", action="store_true", help="the judgement's own model beside it")
    asked.add_argument(
        "--learner", action="store_true", help="and the ideal one that must learn its levels"
    )
    asked.add_argument("--maker", choices=MAKERS, default="room")
    given = asked.parse_args()
    seeds = [str(n) for n in range(given.first, given.last + 1)]
    faults = [Fault[name] for name in given.faults.split(",")] if given.faults else FAULTS
    began = time.monotonic()
    best = run("ideal", ideal, seeds, faults, make=MAKERS[given.maker])
    print(f"ideal: threshold {best.threshold:.2f}, {best.false:.2f} false a day of 12 tanks")
    print(beside(best, best))
    if given.ours:
        from detect_ours import model

        readings = [fault for fault in faults if fault not in OF_THE_DEAD]
        ours = run("ours", model, seeds, readings, make=MAKERS[given.maker])
        print(f"ours: threshold {ours.threshold:.2f}, {ours.false:.2f} false a day of 12 tanks")
        print(beside(ours, best))
        for limit, often in ours.limits:
            print(f"    z {sqrt(2 * limit):.1f}: {often:.2f} false a day")
        if given.learner:
            from detect_learner import learner

            learns = run("learns", learner, seeds, readings, make=MAKERS[given.maker])
            print(why(ours, learns, best))
    print(f"({time.monotonic() - began:.0f} s)")


if __name__ == "__main__":
    main()
