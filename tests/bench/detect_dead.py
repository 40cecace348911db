"""The dead in memory: what our rules tell of a count and of a whole round, beside the ideal.

    python tests/bench/detect_dead.py 1 60                                  # rooms, tuning seeds
    python tests/bench/detect_dead.py 1 60 --maker hall --tails 0.003,0.001

For each `tail` the false flags a day of twelve tanks on quiet seasons, then how often and how soon
a jump and a slow rise are found, and the ideal detector at as many false alarms of the dead alone.
"""

from __future__ import annotations

import argparse
from collections import Counter, defaultdict
from collections.abc import Sequence
from itertools import groupby
from typing import NamedTuple

import detect_ideal
import detecting
from detect_series import Series, series
from detecting import MAKERS, OF_THE_DEAD, can_be_told, threshold_of

from chance_faults import Dead, Fault
from chance_seasons import share, table
from tankwalk.clock import Instant
from tankwalk.plan.judging import JudgingLimits
from tankwalk.practice.judging.dead import mortality, whole
from tankwalk.practice.judging.dead.counts import Counted, DeadKnown, LaidOut, Tally, laid_out
from tankwalk.practice.judging.dead.mortality import Judging
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag
from tankwalk.science.signals import median

OFFSET = -300
"""Minutes from UTC: Chicago in May."""
DAYS = 14
"""As far back as the judgement looks."""


class Told(NamedTuple):
    """What was told of one tank, treatment or lot in a round, when and how seriously."""

    at: int
    code: str
    rule: Rule
    flag: Flag
    new: bool
    """It was not told of the round before, or less seriously."""


def told(season: Series, every: Sequence[JudgingLimits]) -> list[list[Told]]:
    """All that the rules of the dead say of a season at some limits, in the order of its walk."""
    counts: defaultdict[str, list[Counted]] = defaultdict(list)
    arms = {one.tank: one.treatment for one in season.dead}
    found: list[list[Told]] = [[] for _ in every]
    before: list[dict[str, Flag]] = [{} for _ in every]
    for number, group in groupby(season.dead, lambda one: one.round):
        here = list(group)
        said: list[list[tuple[int, str, Rule, Flag]]] = [[] for _ in every]
        for one in here:
            of = _fitted(one, counts, arms, every[0])
            counts[one.tank].append(_counted(one, number))
            for nth, limits in enumerate(every):
                signal = mortality.worst(_at(of, limits))
                if signal is not None:
                    said[nth].append((one.at, one.tank, signal.rule, signal.flag))
        laid, tallies = _laid(here, counts, arms, every[0])
        for nth, limits in enumerate(every):
            whole_round = _whole(here, laid, tallies, limits)
            said[nth] += [(here[-1].at, *one) for one in whole_round]
            now: dict[str, Flag] = {}
            for at, code, rule, flag in said[nth]:
                new = flag > max(before[nth].get(code, Flag.OK), now.get(code, Flag.OK))
                now[code] = max(flag, now.get(code, Flag.OK))
                found[nth].append(Told(at, code, rule, flag, new))
            before[nth] = {code: flag for code, flag in now.items() if flag >= Flag.WATCH}
    return found


def _counted(one: Dead, number: int) -> Counted:
    return Counted(Instant(one.at, OFFSET), one.part, one.fish, "AB", number)


def _newest(counts: Sequence[Counted], at: int) -> tuple[Counted, ...]:
    return tuple(one for one in counts if one.at.utc > at - DAYS * 86400)


def _fitted(
    one: Dead, counts: dict[str, list[Counted]], arms: dict[str, str], limits: JudgingLimits
) -> Judging:
    """A count beside those of before, as the walk has it."""
    own = _newest(counts[one.tank], one.at)
    sisters = tuple(
        Tally(code, arm, _newest(counts[code], one.at))
        for code, arm in arms.items()
        if code != one.tank
    )
    known = DeadKnown(Instant(one.at, OFFSET), one.part, own, one.treatment, sisters, age=one.age)
    return mortality.fitted(one.fish, known, limits)


def _at(of: Judging, limits: JudgingLimits) -> Judging:
    """The same count at other limits; what it was fitted to does not go by them."""
    windows = tuple(of.laid.room.windows(of.tank, limits.onset_looks, limits.tail))
    return of._replace(windows=windows, limits=limits)


def _laid(
    here: Sequence[Dead],
    counts: dict[str, list[Counted]],
    arms: dict[str, str],
    limits: JudgingLimits,
) -> tuple[LaidOut, list[Tally]]:
    now = Instant(here[-1].at, OFFSET)
    tallies = [Tally(code, arm, _newest(counts[code], now.utc)) for code, arm in arms.items()]
    return laid_out(tallies, now, here[-1].part, here[-1].age, limits.clip), tallies


def _whole(
    here: Sequence[Dead], laid: LaidOut, tallies: Sequence[Tally], limits: JudgingLimits
) -> list[tuple[str, Rule, Flag]]:
    """What is told when all are counted, as `dead/whole.py` does it."""
    lot = whole.of_lot("LOT", laid, limits)
    if lot is not None:
        return [("LOT", lot.rule, lot.flag)]
    found = [(one.key.code, one.rule, one.flag) for one in whole.of_treatments(laid, limits)]
    counted = {one.tank for one in here}
    now = Instant(here[-1].at, OFFSET)
    for nth, tally in enumerate(tallies):
        if tally.code not in counted:
            continue
        known = DeadKnown(now, here[-1].part, tally.counts[:-1], tally.arm, age=here[-1].age)
        of = _at(Judging(tally.counts[-1].fish, known, laid, nth, (), limits), limits)
        signals = [one for one in (mortality.jump(of), mortality.rise(of)) if one is not None]
        if signals:
            most = max(signals, key=lambda one: one.flag)
            found.append((tally.code, most.rule, most.flag))
    return found


# ---- held against what was planted


class Beside(NamedTuple):
    """A limit: false flags by rule, and hours until each planted thing was found."""

    limits: JudgingLimits
    days: float
    false: Counter[tuple[Rule, Flag]]
    hours: dict[Fault, list[float | None]]

    def a_day(self, flag: Flag) -> float:
        return 12 * sum(n for (_, f), n in self.false.items() if f == flag) / max(1.0, self.days)


def held(seasons: Sequence[Series], every: Sequence[JudgingLimits]) -> list[Beside]:
    """All seasons at some limits."""
    found = [Beside(one, 0.0, Counter(), {f: [] for f in OF_THE_DEAD}) for one in every]
    days = 0.0
    for season in seasons:
        bad, stops = season.planted, season.room.stops
        started = stops[-1].at.utc + 86400 if bad is None else bad.started
        days += len(season.room.tanks) * (min(started, stops[-1].at.utc) - stops[0].at.utc) / 86400
        for here, signals in zip(found, told(season, every), strict=True):
            here.false.update((s.rule, s.flag) for s in signals if s.new and s.at < started)
            if bad is None:
                continue
            ends = stops[bad.last].at.utc + detecting.AFTER
            hit = [
                s.at for s in signals
                if s.code in bad.tanks and s.flag >= Flag.WATCH and started <= s.at <= ends
            ]  # fmt: skip
            here.hours[bad.fault].append((min(hit) - started) / 3600 if hit else None)
    return [one._replace(days=days) for one in found]


def ideal(
    seasons: Sequence[Series], wanted: float
) -> tuple[float, dict[Fault, list[float | None]]]:
    """The ideal detector of the dead alone, at so many false alarms a day."""
    seen = [(one, [detect_ideal.counts(one.dead)]) for one in seasons]
    limit = threshold_of([one for one in seen if one[0].planted is None], wanted)
    found: dict[Fault, list[float | None]] = {fault: [] for fault in OF_THE_DEAD}
    for one, rounds in seen:
        if one.planted is not None and can_be_told(one):
            found[one.fault].append(detecting.outcome(one, rounds, limit).hours)
    return limit, found


def _row(name: str, hours: dict[Fault, list[float | None]]) -> list[str]:
    cells = [name]
    for fault in OF_THE_DEAD:
        here = [one for one in hours[fault] if one is not None]
        late = f"{median(here):.0f} h" if here else "-"
        cells += [share(len(here), len(hours[fault])), late]
    return cells


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("first", type=int)
    asked.add_argument("last", type=int)
    asked.add_argument("--maker", choices=MAKERS, default="room")
    asked.add_argument("--most", type=int, default=12, help="tanks of the largest room")
    asked.add_argument("--tails", default=str(JudgingLimits().tail), help="commas between them")
    given = asked.parse_args()
    seeds = [str(n) for n in range(given.first, given.last + 1)]
    make = MAKERS[given.maker]
    seasons = [
        series(seed, fault, given.most, make)
        for fault in (Fault.QUIET, *OF_THE_DEAD)
        for seed in seeds
    ]
    rows = []
    tails = [float(tail) for tail in given.tails.split(",")]
    for one in held(seasons, [JudgingLimits(tail=tail) for tail in tails]):
        tail = one.limits.tail
        watch, act, check = (one.a_day(flag) for flag in (Flag.WATCH, Flag.ACT, Flag.CHECK))
        print(f"tail {tail}: {one.days:.0f} tank-days; a day of 12 tanks WATCH {watch:.3f}, "
              f"ACT {act:.3f}, CHECK {check:.3f}")  # fmt: skip
        for (rule, flag), n in one.false.most_common():
            print(f"    {flag.word} {rule}: {12 * n / one.days:.3f}")
        rows.append(_row(f"ours, tail {tail}", one.hours))
        limit, best = ideal(seasons, watch + act)
        rows.append(_row(f"ideal, limit {limit:.2f}", best))
    head = ("", "jump (95 %)", "after", "slow rise (95 %)", "after")
    print(table(head, rows))


if __name__ == "__main__":
    main()
