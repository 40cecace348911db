"""Meals by chance: how often a response that falls, and a batch that is poor, is told, and in vain.

Run as a program it prints its table: python tests/chance_meals.py 40
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from random import Random
from typing import NamedTuple

from eating_support import TWELVE, fed, later, responds, room, standing
from site_support import moment, opened
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Judged
from tankwalk.practice.site import Site

SEED = 20260510
DAYS, HOURS = 4, (8, 10, 12, 14, 16, 18)
QUIET = {"eager": 0.72, "fair": 0.255, "poor": 0.02, "none": 0.005}
"""How a healthy tank goes for it. From memory, no source: a few meals in a hundred go badly."""
DULL = 0.05
"""In so many meals every tank goes one word less eagerly: the light, somebody at the tanks."""
BAD = {"eager": 0.03, "fair": 0.12, "poor": 0.60, "none": 0.25}
"""How a tank goes for a bad batch, and how a sick tank eats."""


class Season(NamedTuple):
    """What was told in one season of meals: by rule in quiet meals, and of what was planted."""

    meals: int
    alone: int
    """Tanks told by themselves while nothing was wrong with them."""
    batches: int
    """Batches named while nothing was wrong with them."""
    loops: int
    sick_found: bool
    """The sick tank was told within three meals."""
    bad_found: bool
    """The bad batch was named on the board at the end of its meal, in one flag."""
    bad_lines: int
    """How many lines stood on the board then for tanks of that batch."""


def season(number: int, folder: Path) -> Season:
    """Some days of six meals in twelve tanks: one tank falls sick, one batch is bad for a meal."""
    luck = Random(f"{SEED} {number}")
    told: Counter[Rule | None] = Counter()
    sick, sick_from = luck.choice(TWELVE), luck.randrange(10, 14)
    bad = luck.randrange(16, 22)
    sick_found = bad_found = False
    bad_lines = 0
    with opened(folder, room()) as site:
        for nth in range(DAYS * len(HOURS)):
            day, hour = divmod(nth, len(HOURS))
            when = f"2026-05-{10 + day:02d}T{HOURS[hour]:02d}:00"
            batch = f"A05{10 + day:02d}" if nth != bad else "BAD"
            fell = {sick} if sick_from <= nth < sick_from + 3 else set()
            words = _words(luck, fell, bad=nth == bad)
            found = _meal(site, when, words, batch)
            for place, one in found.items():
                if one.flag and place not in fell and nth != bad:
                    told[one.rule] += 1
            sick_found = sick_found or any(found[place].flag for place in fell)
            if nth == bad:
                lines = standing(site)
                bad_found = any(one.place == "BAD" for one in lines)
                bad_lines = len(lines)
    return Season(
        DAYS * len(HOURS),
        told[Rule.RESPONSE],
        told[Rule.BATCH],
        told[Rule.LOOP_DOWN],
        sick_found,
        bad_found,
        bad_lines,
    )


def _words(luck: Random, fell: set[str], *, bad: bool) -> list[str]:
    dull = luck.random() < DULL
    found = []
    for place in TWELVE:
        odds = BAD if bad or place in fell else QUIET
        word = luck.choices(list(odds), list(odds.values()))[0]
        if dull and odds is QUIET:
            word = {"eager": "fair", "fair": "poor"}.get(word, word)
        found.append(word)
    return found


def _meal(site: Site, when: str, words: Sequence[str], batch: str) -> dict[str, Judged]:
    planned = moment(when)
    found = {}
    for nth, (place, word) in enumerate(zip(TWELVE, words, strict=True)):
        fed(site, later(planned, 60 * nth), place, batch, planned.utc)
        found[place] = responds(site, later(planned, 60 * nth + 40), place, word)
    return found


def seasons(many: int) -> list[Season]:
    """Consecutive seasons from the first."""
    found = []
    for number in range(many):
        with tempfile.TemporaryDirectory() as folder:
            found.append(season(number, Path(folder)))
    return found


def main() -> None:
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    found = seasons(many)
    meals = sum(one.meals for one in found)
    days = many * DAYS
    print(f"{many} seasons, seed {SEED}, {meals} meals of twelve tanks, {days} days")
    print(f"a tank told alone, nothing wrong: {sum(one.alone for one in found) / days:.2f} a day")
    print(f"told of a batch that was good: {sum(one.batches for one in found)} times")
    print(f"told of the loop: {sum(one.loops for one in found)} times")
    print(f"sick tank told within three meals: {sum(one.sick_found for one in found)} of {many}")
    print(f"bad batch named: {sum(one.bad_found for one in found)} of {many}")
    print(f"lines of the board for it: {Counter(one.bad_lines for one in found)}")


if __name__ == "__main__":
    main()
