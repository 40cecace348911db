"""Counts of the dead for tests: a tank's mornings, the demo's season, seasons by chance.

Run as a program it prints the figures of docs/mortality.md: python tests/mortality_support.py 200
"""

from __future__ import annotations

import shutil
import sys
from collections import Counter
from collections.abc import Sequence
from datetime import timedelta
from math import exp
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from demo_support import STATION, cut, whole
from site_support import moment
from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger.chain import DETAIL_TABLES
from tankwalk.ledger.store import FILE, Ledger
from tankwalk.practice.judging.dead.counts import Counted, DeadKnown, Tally
from tankwalk.practice.judging.dead.mortality import Signal, judge, judge_count
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk_demo.days import FIRST
from tankwalk_demo.room import plan
from tankwalk_demo.stock import STOCKED, seen_rate

TODAY = "2026-05-10"
NOW = moment(f"{TODAY}T06:58")
AFTERNOON = moment(f"{TODAY}T15:20")


def days_before(now: Instant, days: int) -> Instant:
    """The same wall-clock time some days earlier; no clock change lies between."""
    return Instant(now.utc - days * 86400, now.offset)


def mornings(*counts: int) -> tuple[Counted, ...]:
    """Counts of the last mornings, the newest yesterday."""
    apart = range(len(counts), 0, -1)
    return tuple(
        Counted(days_before(NOW, days), "am", fish, "JQ")
        for days, fish in zip(apart, counts, strict=True)
    )


def known(*counts: int, sisters: Sequence[int] = (), **more: Any) -> DeadKnown:
    """A morning after mornings with these counts, where sisters had as many, and today these."""
    here = DeadKnown(NOW, "am", mornings(*counts), sisters=beside(sisters, *counts))
    return here._replace(**more)


def beside(today: Sequence[int], *before: int) -> tuple[Tally, ...]:
    """Sisters of one treatment with these counts this morning, and the same mornings before."""
    return tuple(
        Tally(f"S{nth}", "", (*mornings(*before), Counted(NOW, "am", fish, "JQ")))
        for nth, fish in enumerate(today)
    )


# ---- the demo's season


class Found(NamedTuple):
    """What was said of one count of the season when it was entered."""

    at: Instant
    place: str
    fish: int
    signal: Signal

    @property
    def day(self) -> int:
        """The season's numbered day."""
        return (self.at.day - FIRST).days + 1


def replay(folder: Path) -> list[Found]:
    """The demo's season kept anew: each count judged by the record as it stood at that moment.

    The entries are copied as they stand in the whole demo: nothing but the counts is judged.
    """
    record = folder / "site"
    cut(record, Instant(0, 0))
    found: list[Found] = []
    with Ledger.open(record / FILE, STATION) as ledger:
        site = Site(record, plan(), ledger, FixedClock(NOW))
        db = ledger.db
        # A copy: BEGIN IMMEDIATE locks what is attached, and others read the shared one meanwhile.
        db.execute("ATTACH ? AS whole", (str(shutil.copyfile(whole() / FILE, folder / "whole")),))
        tables = ["entry", *sorted({name for names in DETAIL_TABLES.values() for name in names})]
        for table in tables:
            db.execute(f"CREATE TEMP TABLE {table}_to_come AS SELECT * FROM whole.{table}")
            db.execute(f"CREATE INDEX temp.{table}_next ON {table}_to_come ({_key(table)})")
        done = 0
        with ledger.writing():
            for n, place, fish, utc, offset, number in db.execute(_COUNTS).fetchall():
                for table in tables:
                    between = f"{_key(table)} >= {done} AND {_key(table)} < {n}"
                    db.execute(f"INSERT INTO {table} SELECT * FROM {table}_to_come WHERE {between}")
                done, at = n, Instant(utc, offset)
                said = judge_count(site, place, fish, at, number)
                if said is not None:
                    found.append(Found(at, place, int(fish), said))
    return found


_COUNTS = """SELECT e.n, p.code, r.value, e.observed_at, e.utc_offset, e.round
FROM whole.entry e JOIN whole.reading r ON r.entry = e.n JOIN whole.place p ON p.id = e.place
JOIN whole.item i ON i.id = e.item WHERE i.code = 'morts' AND r.value IS NOT NULL ORDER BY e.n"""


def _key(table: str) -> str:
    """The column of a table that numbers entries."""
    return "n" if table == "entry" else "entry"


# ---- seasons by chance

TANKS, SEASON = 12, 30
PLANT_DAYS = (14, 26)


class Tallied(NamedTuple):
    """Many seasons by chance, counted."""

    days: int
    """Tank-days on which nothing was wrong, of which signals are false."""
    false: Counter[tuple[Rule, int]]
    onset: int
    """False signals on the two days on which the die-off sets in."""
    planted: int
    found: int
    """Planted trebled counts, and how many of them were flagged that morning."""
    risen: int
    caught: int
    """Planted doublings of five mornings, and how many were flagged on one of them."""

    @property
    def a_tank_day(self) -> float:
        return sum(self.false.values()) / self.days


def clumped(luck: Random, mean: float, dispersion: float) -> int:
    """A negative binomial count: variance `dispersion` times the mean, Poisson where that is 1."""
    if dispersion > 1:
        mean = luck.gammavariate(mean / (dispersion - 1), dispersion - 1)
    fish, left = 0, exp(-min(mean, 500.0)) if mean else 1.0
    product = luck.random()
    while product > left:
        fish += 1
        product *= luck.random()
    return fish


def chance_seasons(seeds: Sequence[int], dispersion: float) -> Tallied:
    """Seasons of twelve tanks counted every morning, in order, with a die-off at 7 to 12 dph.

    The dead are the demo's share of the living, tanks differ by 10 %. In each season one tank has
    one morning trebled, and another has five mornings doubled.
    """
    days = onset = planted = found = risen = caught = 0
    false: Counter[tuple[Rule, int]] = Counter()
    for seed in seeds:
        luck = Random(f"{seed}/{dispersion}")
        factor = [luck.lognormvariate(0, 0.1) for _ in range(TANKS)]
        living, seen = [float(STOCKED)] * TANKS, [0] * TANKS
        own: list[list[Counted]] = [[] for _ in range(TANKS)]
        jump, rise = luck.sample(range(TANKS), 2)
        jumps_on, rises_on = luck.randint(*PLANT_DAYS), luck.randint(*PLANT_DAYS)
        rise_found = False
        for day in range(1, SEASON + 1):
            now, age = _morning(day), day + 3
            for tank in range(TANKS):
                jumps = tank == jump and day == jumps_on
                rises = tank == rise and rises_on <= day < rises_on + 5
                mean = living[tank] * seen_rate(age) * factor[tank]
                fish = clumped(luck, mean * (3 if jumps else 2 if rises else 1), dispersion)
                here = DeadKnown(
                    now,
                    "am",
                    tuple(own[tank][-14:]),
                    "",
                    tuple(
                        Tally(f"T{other}", "", tuple(counts[-14:]))
                        for other, counts in enumerate(own)
                        if other != tank
                    ),
                    STOCKED - seen[tank],
                    float(day),
                    age,
                    5 <= age <= 14,
                )
                said = judge(fish, here)
                if jumps:
                    planted, found = planted + 1, found + (said is not None)
                elif rises:
                    rise_found = rise_found or said is not None
                elif not (tank == rise and day >= rises_on) and not (
                    tank == jump and day > jumps_on
                ):
                    days += 1
                    if said is not None:
                        false[said.rule, int(said.flag)] += 1
                        onset += age in (7, 8)
                own[tank].append(Counted(now, "am", fish, "JQ"))
                seen[tank] += fish
                living[tank] *= 1 - seen_rate(age) - 0.015
        risen, caught = risen + 1, caught + rise_found
    return Tallied(days, false, onset, planted, found, risen, caught)


def _morning(day: int) -> Instant:
    return moment(f"{FIRST + timedelta(days=day - 1)}T07:10")


def main(seeds: int) -> None:
    """Print what the rules say of seasons by chance."""
    for dispersion in (1.0, 2.0, 3.0, 5.0):
        tally = chance_seasons(range(seeds), dispersion)
        total = sum(tally.false.values())
        print(
            f"variance {dispersion:g} x mean: {tally.days} quiet tank-days, {total} false signals "
            f"({tally.onset} on the first two days of the die-off), {tally.a_tank_day:.4f} a "
            f"tank-day; trebled {tally.found / tally.planted:.0%}, "
            f"five doubled {tally.caught / tally.risen:.0%}"
        )
        for (rule, flag), count in sorted(tally.false.items()):
            print(f"    {rule} {Flag(flag).mark}: {count}")


if __name__ == "__main__":
    main(int(sys.argv[1]))
