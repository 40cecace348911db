"""Large records for the bench, chained and guarded as usual.

    python tests/bench/season.py DIR --years 5 [--tanks 12]
    python tests/bench/season.py DIR TANKS READINGS

The first makes years of one site with everything in them, to the evening before the demo's morning;
the second so many readings of so many tanks and little else.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from random import Random

from bulk import filling
from season_acts import acts
from season_days import days
from season_water import Water

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Entry, JudgedAs, Note, Reading, Round
from tankwalk.ledger.store import Station
from tankwalk.plan.load import read_plan
from tankwalk_demo.room import plan_bytes

STATION = Station("bench-0000", "bench")

ITEMS = (("temp", "degC"), ("do", "mg/L"), ("ph", ""), ("flow", "L/min"), ("level", "cm"),
         ("turbidity", "NTU"), ("morts", "count"), ("film", ""), ("light", "lux"), ("sat", "%"),
         ("salinity", "g/kg"), ("co2", "mg/L"), ("alk", "mg/L as CaCO3"), ("tan", "mg/L as N"),
         ("no2n", "mg/L as N"))  # fmt: skip
LAST = 1778349600
"""Saturday 9 May 2026, 13:00 local: the newest reading, before the demo's morning."""

FLAGGED = 0.002
"""Share of readings out of band: some five a day in sixty tanks."""

BANDS = tuple(
    f'{{"source":"bench","watch_above":{19 + i},"watch_below":{5 + i}}}' for i in range(40)
)

MORNING = 'tank = ["temp", "do", "ph", "flow"'
AFTERNOON = 'tank = ["temp", "do", "flow", "level", "screen", "morts"]'


def plan_of(tanks: int) -> str:
    """The demo's plan with this many tanks."""
    text = plan_bytes().decode("utf-8")
    more = "".join(
        f'\n[[tank]]\ncode = "T{n:02d}"\nloop = "L1"\nvolume = "220 L"\nlot = "CS3"\n'
        for n in range(13, tanks + 1)
    )
    lot = text.split("[[lot]]")[1].split('code = "')[1].split('"')[0]
    return text + more.replace('"CS3"', f'"{lot}"')


def plan_of_years(tanks: int) -> str:
    """The same, each tank with a treatment, and both rounds of a day with all that is measured."""
    text = plan_of(tanks)
    for n in range(13, tanks + 1):
        arm = ("E10", "M14", "L18")[n % 3]
        text = text.replace(f'code = "T{n:02d}"\n', f'code = "T{n:02d}"\ntreatment = "{arm}"\n')
    morning = next(line for line in text.splitlines() if line.startswith(MORNING))
    return text.replace(AFTERNOON, morning)


def make_years(folder: Path, years: float, tanks: int = 12) -> None:
    """Years of one site, with all that is entered there."""
    folder.mkdir(parents=True)
    text = plan_of_years(tanks)
    (folder / "plan.toml").write_text(text, "utf-8")
    plan = read_plan(text)
    water = Water(plan)
    with filling(folder, STATION) as bulk:
        for day in days(round(365.25 * years)):
            walked = list(water.acts(day))
            bulk.enter([*acts(plan, day, water.living), *walked])


def make(folder: Path, tanks: int, readings: int) -> None:
    """So many readings of so many tanks, in rounds of eight hours."""
    folder.mkdir(parents=True)
    (folder / "plan.toml").write_text(plan_of(tanks), "utf-8")
    first = LAST - (readings // (tanks * len(ITEMS)) + 1) * 28800
    now = Instant(first - 28800, -300)  # a board counts what was missed since a record's last entry
    luck = Random(1)
    with filling(folder, STATION) as bulk:
        bulk.put(Entry("round", "PB", now, now, "site", round=1), Round(1, "am", "open"))
        bulk.put(Entry("note", "JQ", now, now, "site"), Note("begun"))
        for n in range(1, tanks + 1):
            for i, (item, unit) in enumerate(ITEMS):
                entry = Entry("reading", "PB", now, now, f"T{n:02d}", item, unit, 1)
                bulk.put(entry, Reading(10.0, "10", instrument="A", band=BANDS[i]))
        for number, at, place, i in islice(_asked(first, tanks), readings):
            item, unit = ITEMS[i]
            value = round(luck.uniform(6, 20), 1)
            typed = f"{value:.10g}"
            flag = 2 * (luck.random() < FLAGGED)
            why = (JudgedAs("band", f"{item} {typed}"),) if flag else ()
            when = Instant(at, -300)
            bulk.put(
                Entry("reading", "PB", when, when, place, item, unit, number),
                Reading(value, typed, instrument="A", band=BANDS[i], flag=flag), *why,
            )  # fmt: skip


def _asked(first: int, tanks: int) -> Iterator[tuple[int, int, str, int]]:
    """Round, second, tank and number of the item, without end."""
    number = 1
    while True:
        number += 1
        for tank in range(1, tanks + 1):
            for i in range(len(ITEMS)):
                yield number, first + number * 28800 + tank * 60 + i * 4, f"T{tank:02d}", i


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path, metavar="DIR")
    parser.add_argument("counts", type=int, nargs="*", metavar="TANKS READINGS")
    parser.add_argument("--years", type=float, help="years with everything in them")
    parser.add_argument("--tanks", type=int, default=12)
    chosen = parser.parse_args()
    if chosen.years:
        make_years(chosen.folder, chosen.years, chosen.tanks)
    elif len(chosen.counts) == 2:
        make(chosen.folder, *chosen.counts)
    else:
        parser.error("say TANKS and READINGS, or --years")


if __name__ == "__main__":
    main()
