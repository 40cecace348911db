"""Seasons walked answer by answer, and what could have been found in the very same readings.

    python tests/bench/detect_walked.py 400 --most 12                # rooms
    python tests/bench/detect_walked.py 400 --most 12 --maker hall   # the second maker
    python tests/bench/detect_walked.py 400 --most 12 --keep rooms.kept --minutes 30
    python tests/bench/detect_walked.py 400 --most 12 --pool rooms.kept halls.kept   # both makers

Prints the tables of docs/judging.md, and puts them there with `--write docs/judging.md`. The ideal
detector is given what the walk kept; its limit is set on the quiet seasons among them, so that it
cries as often as ours may. With `--keep FILE` each season is written to a file as it is done, and a
run that was stopped takes up where it was; the tables are those of the seasons that are done, which
are always the first of their seeds.
"""

from __future__ import annotations

import argparse
import gc
import hashlib
import pickle
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from math import inf
from pathlib import Path
from random import Random
from typing import NamedTuple

import detecting
from detect_ideal import AtRound
from detect_series import Series, of_walk
from detecting import FAULTS, MAKERS, can_be_told, ideal, threshold_of, told_apart_by

from chance_faults import Fault
from chance_seasons import SEED, TABLES, Cry, Outcome, outcome_of, schedule, share, table
from chance_truth import Out
from chance_walk import season
from tankwalk.science.distributions import poisson_limits
from tankwalk.science.signals import median

LEAST = 3.0
"""Log likelihood ratios below this are let go: no limit is that low."""
HOUSE = Path(__file__).parents[2]


class Walked(NamedTuple):
    """One season: what was told, what was kept, and what the ideal detector made of it."""

    told: Outcome
    kept: Series
    could: list[list[AtRound]]
    apart: bool


def walked(seed: str, fault: Fault, most: int, maker: str) -> Walked:
    """Walk one season and give its readings to the ideal detector."""
    told = season(seed, fault, most, MAKERS[maker])
    kept = of_walk(seed, fault, told)
    could = [
        [one._replace(found=tuple(s for s in one.found if s.score >= LEAST)) for one in rounds]
        for rounds in ideal(kept)
    ]
    gc.collect()
    return Walked(outcome_of(seed, fault, told), kept, could, can_be_told(kept))


def many(wanted: Sequence[tuple[str, Fault]], most: int, maker: str, jobs: int) -> Iterator[Walked]:
    """Seasons in their order, each as soon as it and those before it are walked."""
    if jobs == 1:
        yield from (walked(*one, most, maker) for one in wanted)
        return
    pool = ProcessPoolExecutor(jobs)
    try:
        yield from pool.map(partial(walked, most=most, maker=maker), *zip(*wanted, strict=True))
    finally:
        pool.shutdown(cancel_futures=True)


# ---- a run that is stopped and taken up again


def _code() -> str:
    """What judges and what makes the seasons, as one digest: outcomes of other code are others."""
    parts = [*HOUSE.glob("src/**/*.py"), *HOUSE.glob("tests/chance_*.py")]
    parts += [*HOUSE.glob("src/**/*.toml"), *HOUSE.glob("tests/bench/detect_*.py")]
    digest = hashlib.sha256()
    for one in sorted(parts):
        digest.update(one.read_bytes())
    return digest.hexdigest()


def kept(file: Path, head: tuple[str, ...]) -> list[Walked]:
    """The seasons a file holds; none where it is not there. A season cut short is none."""
    if not file.exists():
        return []
    found: list[Walked] = []
    whole = 0
    with file.open("r+b") as stream:
        try:
            if pickle.load(stream) != head:
                raise SystemExit(f"{file} holds seasons of another run or of other code.")
            while True:
                whole = stream.tell()
                found.append(pickle.load(stream))
        except (EOFError, pickle.UnpicklingError):
            stream.truncate(whole)
    return found


def taken_up(
    file: Path | None,
    head: tuple[str, ...],
    wanted: Sequence[tuple[str, Fault]],
    walk: Callable[[Sequence[tuple[str, Fault]]], Iterator[Walked]],
    until: float,
) -> list[Walked]:
    """The first of the seasons wanted: those a file holds, and those walked until a time."""
    done = [] if file is None else kept(file, head)
    left = wanted[len(done) :]
    if not left or time.monotonic() >= until:
        return done[: len(wanted)]
    if file is not None and not file.exists():
        file.write_bytes(pickle.dumps(head))
    walking = walk(left)
    try:
        for one in walking:
            done.append(one)
            if file is not None:
                with file.open("ab") as stream:
                    stream.write(pickle.dumps(one))
            if time.monotonic() >= until:
                break
    except KeyboardInterrupt:
        pass
    finally:
        walking.close()  # type: ignore[attr-defined]
    return done


# ---- tables


def beside(seasons: Sequence[Walked]) -> str:
    """Each fault that shows over rounds: what was named, and what could have been."""
    quiet = [one for one in seasons if one.told.fault is Fault.QUIET]
    limit = threshold_of([(one.kept, one.could) for one in quiet])
    rows = []
    of_all: Counter[str] = Counter()
    for fault in FAULTS:
        here = [one for one in seasons if one.told.fault is fault]
        best = [detecting.outcome(one.kept, one.could, limit).hours for one in here]
        ours = [one.told.found for one in here]
        found, could = (sum(hours is not None for hours in every) for every in (ours, best))
        both = [(a, b) for a, b in zip(ours, best, strict=True) if a is not None and b is not None]
        late, soon = (median([pair[n] for pair in both]) if both else 0.0 for n in (0, 1))
        delay = _of_medians(both, Random(fault.name))
        each = median([a / b for a, b in both]) if both else 0.0
        spoken = [one for one in here if one.apart and one.told.first is not None]
        apart = [one for one in spoken if _by_then(one)]
        right = sum(not one.told.wrong_first and not one.told.both for one in apart)
        of_all = Counter(named=right, apart=len(apart)) + of_all
        rows.append([
            fault.value, str(len(here)), share(found, len(here)), share(could, len(here)),
            f"{found / could:.2f}" if could else "-", share(len(both), could), f"{late:.0f}",
            f"{soon:.0f}", delay, f"{each:.2f}" if both else "-",
            share(right, len(apart)),
            str(len(spoken) - len(apart)), str(sum(not one.apart for one in here)),
        ])  # fmt: skip
    head = (
        "planted", "n", "ours (95 %)", "ideal (95 %)", "ratio", "of the ideal's, ours too (95 %)",
        "ours h", "ideal h", "ratio (95 %)", "ratio season by season", "named right at once",
        "not told apart by then", "cannot be told apart",
    )  # fmt: skip
    right_at_once = f"named right at once: {share(of_all['named'], of_all['apart'])} of all"
    return f"ideal: limit {limit:.2f}; {right_at_once}\n\n{table(head, rows)}"


DRAWS = 2000


def _of_medians(both: Sequence[tuple[float, float]], luck: Random) -> str:
    """The ratio of two medians of the same seasons, with its interval: seasons drawn again from
    those there are (percentiles of the bootstrap: Efron 1979, Ann. Stat. 7:1)."""

    def ratio(seasons: Sequence[tuple[float, float]]) -> float:
        ours, ideal = (median([one[n] for one in seasons]) for n in (0, 1))
        return ours / ideal if ideal else inf

    if not both:
        return "-"
    drawn = sorted(ratio(luck.choices(both, k=len(both))) for _ in range(DRAWS))
    low, high = drawn[round(0.025 * DRAWS)], drawn[round(0.975 * DRAWS) - 1]
    return f"{ratio(both):.2f} ({low:.2f} to {high:.2f})"


def pooled(makers: Sequence[Sequence[Walked]]) -> str:
    """Each fault over the seasons of all makers; the ideal detector's limit is each maker's own."""
    told: dict[Fault, list[tuple[float | None, float | None]]] = {fault: [] for fault in FAULTS}
    for seasons in makers:
        quiet = [one for one in seasons if one.told.fault is Fault.QUIET]
        limit = threshold_of([(one.kept, one.could) for one in quiet])
        for one in seasons:
            if one.told.fault in told:
                best = detecting.outcome(one.kept, one.could, limit).hours
                told[one.told.fault].append((one.told.found, best))
    rows = []
    for fault, pairs in told.items():
        found, could = (sum(pair[n] is not None for pair in pairs) for n in (0, 1))
        both = [(a, b) for a, b in pairs if a is not None and b is not None]
        rows.append([
            fault.value, str(len(pairs)), share(found, len(pairs)), share(could, len(pairs)),
            f"{found / could:.2f}" if could else "-", _of_medians(both, Random(fault.name)),
        ])  # fmt: skip
    head = ("planted", "n", "ours (95 %)", "ideal (95 %)", "ratio", "ratio of hours (95 %)")
    return table(head, rows)


def _by_then(one: Walked) -> bool:
    """Whether what was said first could be told from other causes in that round."""
    bad, first = one.kept.planted, one.told.first
    if bad is None or first is None:
        return True
    return told_apart_by(one.kept, one.could, bad.started + round(3600 * first))


def levels(seasons: Sequence[Walked]) -> str:
    """False WATCH, ACT and CHECK a day of twelve tanks, before and without anything wrong, by rule.

    What a band told of water that was out of it in truth, as its maker knows, is no false alarm
    and stands by itself.
    """
    days = sum(
        count for one in seasons for when, count in one.told.tank_days.items() if when != "during"
    )
    rows = []
    for name, flags in (("WATCH", (2,)), ("ACT", (3, 4)), ("CHECK", (1,))):
        false, true = (
            [cry for one in seasons for cry in cries(one.told)
             if cry.when != "during" and cry.flag in flags]
            for cries in (_false, _true)
        )  # fmt: skip
        rows.append([f"**{name}**", "all that are false", *_often(len(false), days)])
        by_rule = Counter(f"{cry.rule}, {cry.out}" if cry.out else cry.rule for cry in false)
        rows += [[name, rule, *_often(n, days)] for rule, n in by_rule.most_common()]
        told = Counter(cry.rule for cry in true)
        rows += [
            [name, f"{rule}, {Out.TRUTH}: not false", *_often(n, days)]
            for rule, n in told.most_common()
        ]
    head = ("level", "rule", f"in {days:.0f} tank-days", "a day of 12 tanks (95 %)")
    return table(head, rows)


def _false(told: Outcome) -> tuple[Cry, ...]:
    return told.false


def _true(told: Outcome) -> tuple[Cry, ...]:
    return told.true


def _often(count: int, days: float) -> tuple[str, str]:
    """How many, and how many that is a day of twelve tanks with the interval of a Poisson count."""
    limits = poisson_limits(count, 0.95)
    a_day = [12 * n / max(1.0, days) for n in (count, limits.low, limits.high)]
    return str(count), f"{a_day[0]:.3f} ({a_day[1]:.3f} to {a_day[2]:.3f})"


def put(page: Path, maker: str, shown: str) -> None:
    """Replace what stands between the marks of a maker in a page."""
    begins, ends = f"<!-- {maker} -->\n", f"<!-- /{maker} -->"
    text = page.read_text("utf-8")
    before, _, rest = text.partition(begins)
    _, mark, after = rest.partition(ends)
    if not mark:
        raise SystemExit(f"{page} has no marks {begins.strip()} and {ends}.")
    page.write_text(f"{before}{begins}\n{shown}\n\n{ends}{after}", "utf-8")


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("runs", type=int)
    asked.add_argument("--seed", type=int, default=SEED)
    asked.add_argument("--most", type=int, default=24, help="tanks of the largest room")
    asked.add_argument("--maker", choices=MAKERS, default="room")
    asked.add_argument("--jobs", type=int, default=2)
    asked.add_argument("--keep", metavar="FILE", type=Path, help="seasons done, to take up again")
    asked.add_argument("--minutes", type=float, default=1e6, help="stop after so many")
    asked.add_argument("--pool", metavar="FILE", type=Path, nargs="+", help="seasons kept of each")
    asked.add_argument("--write", metavar="FILE", help="put them between its marks as well")
    given = asked.parse_args()
    began = time.monotonic()
    if given.pool:
        heads = [(str(given.seed), str(given.most), maker, _code()) for maker in MAKERS]
        shown = pooled([kept(*one) for one in zip(given.pool, heads, strict=True)])
        print(shown)
        if given.write:
            put(Path(given.write), "both", shown)
        return
    head = (str(given.seed), str(given.most), given.maker, _code())
    seasons = taken_up(
        given.keep, head, schedule(given.runs, given.seed),
        partial(many, most=given.most, maker=given.maker, jobs=given.jobs),
        began + 60 * given.minutes,
    )  # fmt: skip
    readings = sum(one.told.readings for one in seasons)
    told = [one.told for one in seasons]
    intro = (
        f"`python tests/bench/detect_walked.py {given.runs} --most {given.most} --maker "
        f"{given.maker}`: the first {len(seasons)} seasons of seed {given.seed}, "
        f"{readings:,} readings."
    )
    shown = "\n\n".join((intro, beside(seasons), levels(seasons), *(made(told) for made in TABLES)))
    print(shown)
    print(f"({time.monotonic() - began:.0f} s on {given.jobs} processes)")
    if given.write:
        put(Path(given.write), given.maker, shown)


if __name__ == "__main__":
    main()
