"""The bench: ratios of the program to its floors, in one run.

    python tests/bench/bench.py [--one DIR] [--five DIR] [--big DIR] [--only 13,14] [--rounds N]
    python tests/bench/bench.py --oneshots PYTHON

Prints a table: what, ours, floor, ratio, the most it should be, and whether it holds. Ours and the
floor are measured in turn, so that a busy machine bears on both; a figure is the median. The sites
are made by season.py (`--years 1`, `--years 5`, 60 tanks of 6.6 million readings) and are copied
before they are written to; without one its rows are left out. `--only` takes numbers of ratios
(17: those of a meal).
`--oneshots` measures what is printed alone, of the program that is installed beside another Python:
the libraries of the tests are loaded by others where they are there, so that a start without them
is another start. Quote the ratios, never the milliseconds.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

import exports
import judged
import keys
import meals
import pages
import record
import starts
from driving import Sites, ours
from rows import Row, show
from season import make

from tankwalk.ledger.store import Station
from tankwalk_demo.scenario import make as make_demo

Part = tuple[tuple[int, ...], Callable[[], list[Row]]]


def parts(sites: Sites, chosen: argparse.Namespace) -> tuple[Part, ...]:
    """What is measured, by the numbers of the ratios."""
    rounds, presses, times = chosen.rounds, chosen.keys, max(4, chosen.keys // 6)
    return (
        ((1,), lambda: starts.to_the_walk(sites, rounds)),
        ((13,), lambda: starts.to_the_board(sites, rounds)),
        ((2,), lambda: starts.oneshots(sites, rounds)),
        ((2, 14), lambda: starts.printed_pages(sites, rounds)),
        ((3,), lambda: keys.digits(sites, presses)),
        ((4,), lambda: keys.enters(sites, presses // 3)),
        ((4,), lambda: judged.firsts(sites, max(5, chosen.keys // 12))),
        ((4,), lambda: judged.lasts(sites, max(5, chosen.keys // 12))),
        ((5,), lambda: keys.bursts(sites, 5)),
        ((6,), lambda: pages.next_tank(sites, presses // 3)),
        ((17,), lambda: meals.meals(sites, presses)),
        ((6, 14), lambda: pages.to_pages(sites, times)),
        ((6,), lambda: pages.to_a_tank(sites, times)),
        ((15,), lambda: keys.first_keys(sites, rounds)),
        ((7,), lambda: record.questions(sites)),
        ((8,), lambda: record.storage(sites)),
        ((9,), lambda: exports.exports(sites, chosen.checks)),
        ((10,), lambda: record.checks(sites, chosen.checks)),
        ((11,), lambda: keys.idle(sites, chosen.idle)),
        ((16,), lambda: starts.demo_made(sites, chosen.checks)),
    )


def gather(folder: Path, chosen: argparse.Namespace) -> Sites:
    """The sites, each in a copy of its own, opened once so that none has to be brought forward."""
    env = {"TANKWALK_HOME": str(folder)}
    make(folder / "empty", 12, 0)
    make(folder / "100 tanks", 100, 0)
    make_demo(folder / "demo", Station("bench", "bench"))
    names = {"empty", "demo", "100 tanks"}
    for name, given in (("1 year", chosen.one), ("5 years", chosen.five), ("6.6 M", chosen.big)):
        if given is not None:
            shutil.copytree(given, folder / name)
            names.add(name)
    order = ("empty", "demo", "1 year", "5 years", "6.6 M", "100 tanks")
    by_name = {name: folder / name for name in order if name in names}
    for site in by_name.values():
        subprocess.run(ours(site, "board"), stdout=subprocess.DEVNULL,
                       env={**os.environ, **env}, check=True)  # fmt: skip
    return Sites(folder, env, by_name)


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--one", type=Path, metavar="DIR", help="a site of one year")
    parser.add_argument("--five", type=Path, metavar="DIR", help="a site of five years")
    parser.add_argument("--big", type=Path, metavar="DIR", help="a site of 6.6 million readings")
    parser.add_argument("--only", metavar="NUMBERS", help="these ratios alone, such as 13,14")
    parser.add_argument("--oneshots", metavar="PYTHON", help="measure what is printed alone")
    parser.add_argument("--rounds", type=int, default=11, help="starts of each kind (11)")
    parser.add_argument("--keys", type=int, default=120, help="presses of a key (120)")
    parser.add_argument("--idle", type=float, default=60.0, help="seconds of doing nothing (60)")
    parser.add_argument("--checks", type=int, default=3, help="checks of each record (3)")
    chosen = parser.parse_args()
    wanted = {int(number) for number in chosen.only.split(",")} if chosen.only else set()
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # without byte code a start is 4x slower
    with tempfile.TemporaryDirectory() as made:
        sites = gather(Path(made), chosen)
        if chosen.oneshots:
            show([*starts.oneshots(sites, chosen.rounds, chosen.oneshots),
                  *starts.printed_pages(sites, chosen.rounds, chosen.oneshots)])  # fmt: skip
            return
        rows: list[Row] = []
        try:
            for numbers, measured in parts(sites, chosen):
                if not wanted or wanted & set(numbers):
                    rows += measured()
                    print(f"measured: {', '.join(map(str, numbers))}", file=sys.stderr, flush=True)
        finally:  # what was measured before a site failed, or somebody stopped it
            show(rows)


if __name__ == "__main__":
    main()
