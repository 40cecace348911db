"""Seasons by chance, walked answer by answer: what the judgement finds, names wrongly, and cries.

Run as a program it prints the tables of docs/judging.md: python tests/chance_seasons.py 200
"""

from __future__ import annotations

import argparse
import re
import time
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from random import Random
from typing import NamedTuple

from chance_faults import SIZES, Dead, Fault, Maker, Planted
from chance_truth import Out
from chance_walk import SAME_DEAD, SLIPS, Said, Season, Stood, season
from chance_water import water
from tankwalk.clock import Instant
from tankwalk.practice.judging.verdict import Flag
from tankwalk.science.signals import median
from tankwalk.science.survival import wilson_limits

FAULTS = tuple(fault for fault in Fault if fault is not Fault.QUIET)
SEED = 20260510
BUDGET = {"WATCH": 3, "ACT": 0}
"""Flags an ordinary day of twelve tanks may raise: common practice, no source."""
AT_ENTRY = (Fault.SLIP, Fault.TWICE, Fault.NOT_SIPHONED)
"""What goes wrong as it is typed, and is told then or never."""


# ---- what became of it


class Cry(NamedTuple):
    """A flag or a question that had nothing to do with what was planted."""

    when: str
    day: int
    rule: str
    item: str
    flag: int
    out: Out = Out.OTHER
    """What the maker of the water says of a band's flag."""


class Outcome(NamedTuple):
    """One season held against what was planted. Hours count from when it went wrong."""

    seed: str
    fault: Fault
    size: str
    where: str
    words: str
    found: float | None
    """Until it was told with its right name, at the tank or on the board."""
    board: float | None
    """Until it stood on the board (WATCH or worse) with its right name."""
    both: bool
    """It was never told without naming another cause beside it."""
    wrong: str
    """What the first message that named another cause said; "" for none."""
    wrong_first: bool
    """It came before the right one, or there was none."""
    first: float | None
    """Until a message first named a cause, right or wrong."""
    otherwise: bool
    """Not named, but flags of its tanks stood."""
    messages: int
    """Flags on the board that it raised."""
    false: tuple[Cry, ...]
    true: tuple[Cry, ...]
    """What a band told of water that was really out of it: nothing of it was planted."""
    tanks: int
    days: tuple[str, ...]
    """Which stretch each day belongs to."""
    tank_days: dict[str, float]
    """Tank-days of each stretch: "quiet", "before", "during"."""
    decoys: tuple[tuple[str, bool, bool], ...]
    """Name, whether it came on the board, whether something was said at the tank."""
    readings: int


def outcome(seed: str, fault: Fault, most: int = 24, make: Maker = water) -> Outcome:
    """Walk a season and hold what was told against what was planted."""
    return outcome_of(seed, fault, season(seed, fault, most, make))


def outcome_of(seed: str, fault: Fault, told: Season) -> Outcome:
    """What was told of a season, held against what was planted."""
    bad = told.planted
    names = list(_names(told))
    right = [at for at, name, _ in names if name in ("right", "both")]
    board = [s.at for s in told.stood if judged_name(bad, s) in ("right", "both")]
    others = [(at, words) for at, name, words in names if name == "wrong"]
    related = [s for s in told.stood if s.new and _related(bad, s)]
    cries = list(_cries(told))
    start = 0 if bad is None else bad.started
    hours = 0.0 if fault in AT_ENTRY else 1 / 3600
    return Outcome(
        seed,
        fault,
        "" if bad is None else bad.size,
        "" if bad is None else bad.where,
        "" if bad is None else bad.words,
        (min(right) - start) * hours if right else None,
        (min(board) - start) * hours if board else None,
        bool(right) and all(name != "right" for _, name, _ in names),
        others[0][1] if others else "",
        bool(others) and (not right or others[0][0] < min(right)),
        (names[0][0] - start) * hours if names else None,
        not right and any(_related(bad, s) for s in told.stood),
        len(related),
        tuple(cry for cry in cries if cry.out is not Out.TRUTH),
        tuple(cry for cry in cries if cry.out is Out.TRUTH),
        len(told.room.tanks),
        tuple(_stretches(told)),
        _tank_days(told),
        tuple(_of_decoys(told)),
        told.readings,
    )


def _names(told: Season) -> Iterator[tuple[int, str, str]]:
    """Every message about what was planted, in order of time: when, right or wrong, its words."""
    bad = told.planted
    found = [(s.at, judged_name(bad, s), s.sentence) for s in told.stood]
    found += [(s.at, _of_said(bad, s), s.sentence) for s in told.said]
    ends = 0 if bad is None else told.room.stops[bad.last].at.utc + 3 * 3600
    yield from sorted(one for one in found if one[1] and one[0] <= ends)


CAUSES = (
    Fault.METER_DRIFT, Fault.METER_STEP, Fault.LOOP_OXYGEN, Fault.LOOP_TEMP, Fault.BICARBONATE,
)  # fmt: skip
OF_ONE_TANK = (Fault.TANK_OXYGEN, Fault.TANK_DRIFT, Fault.MORT_JUMP, Fault.MORT_RISE)


def _related(bad: Planted | None, stood: Stood) -> bool:
    """Whether a flag on the board is about what was planted, rightly named or not."""
    if bad is None or stood.at < bad.started:
        return False
    return any((tank, stood.key.item) in bad.affected for tank in stood.tanks)


def parts_named(sentence: str, kind: str) -> set[str]:
    """The codes of the meters or loops that a message names: "check meter A or B that read ..."."""
    found = re.findall(rf"\b{kind}s? ([A-Z]+\d*\b(?:(?: or | and )[A-Z]+\d*\b)*)", sentence)
    return {code for codes in found for code in re.split(" or | and ", codes)}


def judged_name(bad: Planted | None, stood: Stood) -> str:
    """ "right", "both" where another cause is named as well, "wrong"; "" where it names none."""
    if bad is None or not _related(bad, stood):
        return ""
    kind, code = stood.key.kind, stood.key.code
    meters, loops = parts_named(stood.sentence, "meter"), parts_named(stood.sentence, "loop")
    if bad.fault in (Fault.METER_DRIFT, Fault.METER_STEP):
        if kind == "meter":
            alone = not loops and not meters - {bad.code}
            return (
                "right" if code == bad.code and alone else "both" if bad.code in meters else "wrong"
            )
        if kind == "loop":
            return "both" if bad.code in meters else "wrong"
        return ""
    if bad.fault in CAUSES:
        if kind == "loop" and bad.code in ("", code):
            return "both" if meters else "right"
        if kind == "meter" and loops and bad.code in ("", *loops):
            return "both"
        return "" if kind == "place" else "wrong"
    if bad.fault in OF_ONE_TANK:
        if stood.rule == "morts: counted twice":
            return "wrong"
        if kind == "place":
            return "right"
        # What most tanks share of another item, such as how many fish are in a liter, is no cause.
        return "wrong" if stood.key.item == bad.item else ""
    return ""


SHARED = ("meter", "loop")
"""Rules of what tanks share begin with these words."""


def _of_said(bad: Planted | None, said: Said) -> str:
    """The same of a word at the tank; of what tanks share, the board speaks."""
    if bad is None or said.at < bad.started or (said.place, said.item) not in bad.affected:
        return ""
    here = bad.first <= said.stop <= bad.last
    match bad.fault:
        case Fault.COPIED:
            return "right" if here and said.rule == "unchanged" else ""
        case Fault.SLIP | Fault.TWICE:
            if said.stop != bad.first or said.item != bad.item:
                return ""
            name = SAME_DEAD if bad.fault is Fault.TWICE else SLIPS[bad.code]
            return "right" if said.slip == name else "wrong" if said.slip else ""
        case Fault.NOT_SIPHONED:
            return "right" if here and said.rule == "morts: too few" else ""
    if bad.fault not in OF_ONE_TANK or not here:
        return ""
    if said.rule in ("unchanged", "morts: too few"):  # by chance: it says nothing of this
        return ""
    shared = said.rule.startswith(SHARED) or said.rule == "morts: counted twice"
    return "wrong" if shared or said.slip else "right"


DIE_TOGETHER = ("treatment", "lot")
FASTER = 1.25
"""Tanks of which the maker lets so many times as many die as before really die faster."""


def died_faster(dead: Sequence[Dead], stood: Stood) -> Out:
    """Whether a treatment or a lot dies faster in truth than it did, by what its maker knows.

    A treatment is held against the others of the same rounds, a lot against its days before: the
    rounds of the last three days against those before them.
    """
    known = [one for one in dead if one.at <= stood.at]
    times = []
    for new in (True, False):
        here = [one for one in known if (stood.at - one.at < 3 * 86400) == new]
        mine = [one.mean for one in here if one.tank in stood.tanks]
        others = [one.mean for one in here if one.tank not in stood.tanks]
        days = {one.day for one in here}
        if not mine or not days or (stood.rule == "treatment" and not others):
            return Out.NOISE
        beside = sum(others) if stood.rule == "treatment" else len(days)
        times.append(sum(mine) / beside)
    return Out.TRUTH if times[0] >= FASTER * times[1] else Out.NOISE


def _cries(told: Season) -> Iterator[Cry]:
    """What was told that had nothing to do with what was planted."""
    bad = told.planted

    def when(at: int) -> str:
        return "quiet" if bad is None else "before" if at < bad.started else "during"

    def day(at: int) -> int:
        return (Instant(at, begins.offset).day - begins.day).days

    begins = told.room.stops[0].at
    for stood in told.stood:
        if stood.new and not _related(bad, stood):
            out = died_faster(told.dead, stood) if stood.rule in DIE_TOGETHER else stood.out
            yield Cry(when(stood.at), day(stood.at), stood.rule, stood.key.item, stood.flag, out)
    for said in told.said:
        about = (
            bad is not None and said.at >= bad.started and ((said.place, said.item) in bad.affected)
        )
        answered = said.rule == "morts: counted twice"  # its question is counted already
        if said.flag == Flag.CHECK and said.asked and not about and not answered:
            rule = said.rule.split(" ")[0] if said.rule.startswith(SHARED) else said.rule
            rule = said.slip or rule
            yield Cry(when(said.at), day(said.at), rule, said.item, int(said.flag))


def _tank_days(told: Season) -> dict[str, float]:
    stops, tanks = told.room.stops, len(told.room.tanks)
    days = stops[-1].day + 1
    if told.planted is None:
        return {"quiet": float(tanks * days)}
    before = (told.planted.started - stops[0].at.utc) / 86400
    return {"before": tanks * before, "during": tanks * (days - before)}


def _stretches(told: Season) -> Iterator[str]:
    """Each day's stretch; that on which it goes wrong is none of them."""
    stops, bad = told.room.stops, told.planted
    fault_day = None if bad is None else stops[bad.first].day
    for day in range(stops[-1].day + 1):
        if fault_day is None:
            yield "quiet"
        else:
            yield "before" if day < fault_day else "" if day == fault_day else "during"


def _of_decoys(told: Season) -> Iterator[tuple[str, bool, bool]]:
    for decoy in told.quiet:
        since = told.room.stops[decoy.first].at.utc
        until = told.room.stops[decoy.last].at.utc + 3 * 3600
        shown = any(
            s.new and since <= s.at <= until
            and any((tank, s.key.item) in decoy.pairs for tank in s.tanks)
            for s in told.stood
        )  # fmt: skip
        said = any(
            decoy.first <= s.stop <= decoy.last and (s.place, s.item) in decoy.pairs
            for s in told.said
        )
        name = "a meter swapped for a day" if decoy.name.startswith("meter") else decoy.name
        yield name, shown, said


# ---- many of them


def schedule(runs: int, seed: int = SEED) -> list[tuple[str, Fault]]:
    """Seeds and what is planted: every third season is quiet, the others take the faults in turn.

    Which fault comes in which turn is by chance, each as often as the others.
    """
    luck = Random(seed)
    turn: list[Fault] = []
    found = []
    for number in range(runs):
        if number % 3 == 2:
            found.append((f"{seed}/{number}", Fault.QUIET))
            continue
        turn = turn or luck.sample(FAULTS, len(FAULTS))
        found.append((f"{seed}/{number}", turn.pop()))
    return found


def many(runs: int, seed: int = SEED, jobs: int = 2) -> list[Outcome]:
    """Outcomes of many seasons, in their order."""
    wanted = schedule(runs, seed)
    if jobs == 1:
        return [outcome(*one) for one in wanted]
    with ProcessPoolExecutor(jobs) as pool:
        return list(pool.map(outcome, *zip(*wanted, strict=True), chunksize=2))


# ---- tables


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def share(count: int, of: int) -> str:
    """A fraction with its 95 % interval by Wilson."""
    if not of:
        return "-"
    low, high = wilson_limits(count, of, 0.95)
    return f"{count / of:.0%} ({low:.0%} to {high:.0%})"


def _hours(values: Sequence[float]) -> str:
    return f"{median(values):.0f}" if values else "-"


def found_table(outcomes: Sequence[Outcome]) -> str:
    """Each kind: how often it was named, how late, how often something else was named."""
    rows = []
    for fault in FAULTS:
        here = [o for o in outcomes if o.fault is fault]
        found = [o.found for o in here if o.found is not None]
        board = [o for o in here if o.board is not None]
        rows.append([
            fault.value, str(len(here)), str(len(found)), share(len(found), len(here)),
            str(len(board)), _hours(found), str(sum(o.both for o in here)),
            f"{sum(bool(o.wrong) for o in here)} ({sum(o.wrong_first for o in here)})",
            str(sum(o.otherwise for o in here)),
            f"{sum(o.messages for o in here) / max(1, len(here)):.1f}",
        ])  # fmt: skip
    return table(
        ("planted", "runs", "named", "sensitivity (95 %)", "on the board", "median h", "named both",
         "named wrong (first)", "tanks only", "flags a run"),
        rows,
    )  # fmt: skip


def wrong_table(outcomes: Sequence[Outcome]) -> str:
    """Each season in which something else was named, and what was said first."""
    rows = [
        [o.fault.value, o.words, "yes" if o.wrong_first else "no", _cut(o.wrong)]
        for o in outcomes
        if o.wrong
    ]
    return table(("planted", "what", "before its right name", "what was said"), rows)


def _cut(sentence: str, most: int = 110) -> str:
    return sentence if len(sentence) <= most else f"{sentence[:most].rsplit(' ', 1)[0]} ..."


def size_table(outcomes: Sequence[Outcome]) -> str:
    """How many were named, by size."""
    rows = []
    for fault in FAULTS:
        cells = []
        for size in SIZES:
            here = [o for o in outcomes if o.fault is fault and o.size == size]
            found = [o.found for o in here if o.found is not None]
            late = f", {median(found):.0f} h" if found else ""
            cells.append(f"{len(found)} of {len(here)}{late}" if here else "-")
        if any(cell != "-" for cell in cells):
            rows.append([fault.value, *cells])
    return table(("planted", *SIZES), rows)


def false_table(outcomes: Sequence[Outcome]) -> str:
    """False flags by rule, for each stretch, a day of twelve tanks."""
    days: Counter[str] = Counter()
    cries: defaultdict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for one in outcomes:
        for when, count in one.tank_days.items():
            days[when] += round(count)
        for cry in one.false:
            level = ("", "CHECK", "WATCH", "ACT", "ACT")[cry.flag]
            rule = f"{cry.rule}, {cry.out}" if cry.out else cry.rule
            cries[level, rule][cry.when] += 1
            cries[level, "all"][cry.when] += 1
    stretches = ("quiet", "before", "during")
    order = {"WATCH": 0, "ACT": 1, "CHECK": 2}
    rows = []
    for (level, rule), counts in sorted(
        cries.items(), key=lambda one: (order[one[0][0]], one[0][1] != "all", -one[1].total())
    ):
        cells = [f"{12 * counts[s] / days[s]:.2f}" if days[s] else "-" for s in stretches]
        rows.append([level, rule, str(counts.total()), *cells])
    head = ("level", "rule", "false", *(f"{s} ({days[s]} tank-days)" for s in stretches))
    return table(head, rows)


def budget_table(outcomes: Sequence[Outcome]) -> str:
    """Ordinary days held against the budget, which goes by the number of tanks."""
    rows = []
    for stretch in ("quiet", "before", "during"):
        days = within = acted = most = 0
        for one in outcomes:
            watched = Counter(c.day for c in one.false if c.flag == Flag.WATCH)
            acts = Counter(c.day for c in one.false if c.flag >= Flag.ACT)
            for day, name in enumerate(one.days):
                if name != stretch:
                    continue
                days += 1
                acted += acts[day] > BUDGET["ACT"]
                fits = watched[day] <= BUDGET["WATCH"] * one.tanks / 12
                within += fits and acts[day] <= BUDGET["ACT"]
                most = max(most, watched[day] + acts[day])
        rows.append([stretch, str(days), share(within, days), share(acted, days), str(most)])
    head = ("days", "counted", "within 3 WATCH, 0 ACT (95 %)", "with an ACT", "most on one day")
    return table(head, rows)


def where_table(outcomes: Sequence[Outcome]) -> str:
    """What else decides: the item, who was read before, which meters there are."""
    rows = []
    for fault in FAULTS:
        for where in sorted({o.where for o in outcomes if o.fault is fault and o.where}):
            here = [o for o in outcomes if o.fault is fault and o.where == where]
            found = [o.found for o in here if o.found is not None]
            alone = sum(not o.both for o in here if o.found is not None)
            rows.append([
                fault.value, where, f"{len(found)} of {len(here)}", str(alone), _hours(found),
            ])  # fmt: skip
    return table(("planted", "where", "named", "of them alone", "median h"), rows)


def item_table(outcomes: Sequence[Outcome], most: int = 6) -> str:
    """Where the false flags on the board come from."""
    counts = Counter((c.rule, c.item) for o in outcomes for c in o.false if c.flag >= Flag.WATCH)
    rows = [[rule, item, str(n)] for (rule, item), n in counts.most_common(most)]
    return table(("rule", "item", "false flags"), rows)


def decoy_table(outcomes: Sequence[Outcome]) -> str:
    counts: defaultdict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for one in outcomes:
        for name, shown, said in one.decoys:
            for place, value in enumerate((1, shown, said)):
                counts[name][place] += value
    rows = [[name, *map(str, three)] for name, three in sorted(counts.items())]
    return table(("decoy", "runs", "flag on the board", "said at the tank"), rows)


TABLES = (
    found_table, wrong_table, size_table, where_table, false_table, budget_table, item_table,
    decoy_table,
)  # fmt: skip


def main() -> None:
    """Walk seasons and print what became of them."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("runs", type=int)
    asked.add_argument("--seed", type=int, default=SEED)
    asked.add_argument("--jobs", type=int, default=2)
    asked.add_argument("--each", action="store_true", help="a line for each season as well")
    given = asked.parse_args()
    began = time.monotonic()
    outcomes = many(given.runs, given.seed, given.jobs)
    if given.each:
        for one in outcomes:
            at = "never" if one.found is None else f"{one.found:.1f} h"
            print(f"{one.seed} {one.fault}: {one.words} {one.size}: {at}; {one.wrong[:200]}")
        print()
    readings = sum(one.readings for one in outcomes)
    print(f"{len(outcomes)} seasons, seed {given.seed}, {readings:,} readings\n")
    for made in TABLES:
        print(made(outcomes), end="\n\n")
    print(f"({time.monotonic() - began:.0f} s)")


if __name__ == "__main__":
    main()
