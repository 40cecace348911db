"""Seasons walked answer by answer, and what could have been found in the very same readings.

    python tests/bench/detect_walked.py 400 --most 12                # rooms
    python tests/bench/detect_walked.py 400 --most 12 --maker hall   # the second maker

Prints the tables of docs/judging.md, and puts them there with `--write docs/judging.md`. The ideal
detector is given what the walk kept; its limit is set on the quiet seasons among them, so that it
cries as often as ours may.
"""

from __future__ import annotations

import argparse
import gc
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from itertools import repeat
from pathlib import Path
from typing import NamedTuple

import detecting
from detect_ideal import AtRound
from detect_series import Series, of_walk
from detecting import FAULTS, MAKERS, can_be_told, ideal, threshold_of

from chance_faults import Fault
from chance_seasons import SEED, TABLES, Outcome, outcome_of, schedule, share, table
from chance_walk import season
from tankwalk.science.signals import median

LEAST = 3.0
"""Log likelihood ratios below this are let go: no limit is that low."""


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


def many(runs: int, seed: int, most: int, maker: str, jobs: int) -> list[Walked]:
    """Consecutive seasons, in their order."""
    wanted = schedule(runs, seed)
    if jobs == 1:
        return [walked(*one, most, maker) for one in wanted]
    with ProcessPoolExecutor(jobs) as pool:
        return list(
            pool.map(walked, *zip(*wanted, strict=True), repeat(most), repeat(maker), chunksize=2)
        )


def beside(seasons: Sequence[Walked]) -> str:
    """Each fault that shows over rounds: what was named, and what could have been."""
    quiet = [one for one in seasons if one.told.fault is Fault.QUIET]
    limit = threshold_of([(one.kept, one.could) for one in quiet])
    rows = []
    for fault in FAULTS:
        here = [one for one in seasons if one.told.fault is fault]
        best = [detecting.outcome(one.kept, one.could, limit).hours for one in here]
        ours = [one.told.found for one in here]
        found, could = (sum(hours is not None for hours in every) for every in (ours, best))
        both = [(a, b) for a, b in zip(ours, best, strict=True) if a is not None and b is not None]
        late, soon = (median([pair[n] for pair in both]) if both else 0.0 for n in (0, 1))
        apart = [one for one in here if one.apart and one.told.found is not None]
        right = sum(not one.told.wrong_first and not one.told.both for one in apart)
        rows.append([
            fault.value, str(len(here)), share(found, len(here)), share(could, len(here)),
            f"{found / could:.2f}" if could else "-", f"{late:.0f}", f"{soon:.0f}",
            f"{late / soon:.2f}" if soon else "-", share(right, len(apart)),
            str(sum(not one.apart for one in here)),
        ])  # fmt: skip
    head = (
        "planted", "n", "ours (95 %)", "ideal (95 %)", "ratio", "ours h", "ideal h", "ratio",
        "named right at once", "cannot be told apart",
    )  # fmt: skip
    return f"ideal: limit {limit:.2f}\n\n{table(head, rows)}"


def levels(seasons: Sequence[Walked]) -> str:
    """False WATCH, ACT and CHECK a day of twelve tanks, before and without anything wrong.

    A value that stands out of the plan's band is told for that, whatever chance has to do with it:
    what the bands tell is counted apart.
    """
    days = sum(
        count for one in seasons for when, count in one.told.tank_days.items() if when != "during"
    )
    cries = [cry for one in seasons for cry in one.told.false if cry.when != "during"]
    rows = []
    for name, flags in (("WATCH", (2,)), ("ACT", (3, 4)), ("CHECK", (1,))):
        here = [cry for cry in cries if cry.flag in flags]
        band = sum(cry.rule == "band" for cry in here)
        dead = sum(cry.item == "morts" for cry in here)
        rows.append([
            name, str(len(here)),
            *(f"{12 * n / max(1.0, days):.3f}" for n in (len(here), band, dead,
                                                         len(here) - band - dead)),
        ])  # fmt: skip
    head = ("level", f"false in {days:.0f} tank-days", "a day of 12 tanks", "by a band",
            "of the dead", "the others")  # fmt: skip
    return table(head, rows)


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
    asked.add_argument("--write", metavar="FILE", help="put them between its marks as well")
    given = asked.parse_args()
    began = time.monotonic()
    seasons = many(given.runs, given.seed, given.most, given.maker, given.jobs)
    readings = sum(one.told.readings for one in seasons)
    told = [one.told for one in seasons]
    took = time.monotonic() - began
    head = (
        f"`python tests/bench/detect_walked.py {given.runs} --most {given.most} --maker "
        f"{given.maker}`: {len(seasons)} seasons, seed {given.seed}, {readings:,} readings, "
        f"{took:.0f} s on {given.jobs} processes."
    )
    shown = "\n\n".join((head, beside(seasons), levels(seasons), *(made(told) for made in TABLES)))
    print(shown)
    if given.write:
        put(Path(given.write), given.maker, shown)


if __name__ == "__main__":
    main()
