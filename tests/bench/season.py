"""A large record for the bench: years of readings of many tanks, chained and guarded as usual.

python tests/bench/season.py DIR TANKS READINGS
"""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from random import Random

from tankwalk.clock import Instant
from tankwalk.ledger import chain
from tankwalk.ledger.entries import Entry, JudgedAs, Note, Reading, Round
from tankwalk.ledger.migrations import set_guards
from tankwalk.ledger.schema import KINDS, guard_names
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk_demo.room import plan_bytes

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


def plan_of(tanks: int) -> str:
    """The demo's plan with this many tanks."""
    text = plan_bytes().decode("utf-8")
    more = "".join(
        f'\n[[tank]]\ncode = "T{n:02d}"\nloop = "L1"\nvolume = "220 L"\nlot = "CS3"\n'
        for n in range(13, tanks + 1)
    )
    lot = text.split("[[lot]]")[1].split('code = "')[1].split('"')[0]
    return text + more.replace('"CS3"', f'"{lot}"')


def make(folder: Path, tanks: int, readings: int) -> None:
    """Write plan and record; the record's dictionaries are made by its own append path."""
    folder.mkdir(parents=True)
    (folder / "plan.toml").write_text(plan_of(tanks), "utf-8")
    station = Station("bench-0000", "bench")
    now = Instant(LAST - 40 * 86400 * 400, -300)
    with Ledger.open(folder / FILE, station, create=True) as ledger:
        with ledger.writing():
            opened = Entry("round", "PB", now, now, "site", round=1)
            ledger.append(opened, Round(1, "am", "open"))
            ledger.append(Entry("note", "JQ", now, now, "site"), Note("begun"))
            for n in range(1, tanks + 1):
                for i, (item, unit) in enumerate(ITEMS):
                    ledger.append(
                        Entry("reading", "PB", now, now, f"T{n:02d}", item, unit, 1),
                        Reading(10.0, "10", instrument="A", band=BANDS[i]),
                    )
        if readings:
            _bulk(ledger.db, station, tanks, readings)


def _bulk(db: sqlite3.Connection, station: Station, tanks: int, readings: int) -> None:
    """The rest by executemany, with guards down while it loads and set again after."""
    for name in guard_names():
        db.execute(f"DROP TRIGGER {name}")
    db.execute("PRAGMA synchronous = OFF")
    db.execute("PRAGMA journal_mode = OFF")
    db.execute("BEGIN")
    places = dict(db.execute("SELECT code, id FROM place"))
    items = {code: (number, unit) for code, number, unit in
             db.execute("SELECT code, id, unit FROM item")}  # fmt: skip
    bands = dict(db.execute("SELECT limits, id FROM band"))
    n, before = db.execute("SELECT n, digest FROM entry ORDER BY n DESC LIMIT 1").fetchone()
    per_round = tanks * len(ITEMS)
    first = LAST - (readings // per_round + 1) * 28800
    luck = Random(1)
    entries: list[tuple[object, ...]] = []
    rows: list[tuple[object, ...]] = []
    judged: list[tuple[object, ...]] = []

    def made() -> Iterator[tuple[int, int, str, str, int]]:
        number = 1
        while True:
            number += 1
            for tank in range(1, tanks + 1):
                for i, (item, _) in enumerate(ITEMS):
                    at = first + number * 28800 + tank * 60 + i * 4
                    yield number, at, f"T{tank:02d}", item, i

    for number, at, place, item, i in islice(made(), readings):
        n += 1
        item_id, unit = items[item]
        value = round(luck.uniform(6, 20), 1)
        typed, band = f"{value:.10g}", BANDS[i]
        link = chain.Link(station.key, n, at, 0, -300, "PB", "reading", number, place, item, unit,
                          None, None)  # fmt: skip
        flag = 2 * (luck.random() < FLAGGED)
        details = [chain.said(Reading(value, typed, instrument="A", band=band, flag=flag), str)]
        if flag:
            why = JudgedAs("band", f"{item} {typed}")
            details.append(chain.said(why, str))
            judged.append((n, *why))
        before = chain.digest(before, link, details)
        entries.append((n, 1, n, at, 0, -300, 1, KINDS["reading"], number, places[place], item_id,
                        None, None, before))  # fmt: skip
        rows.append((places[place], item_id, at, n, value, None, None, None, 1, bands[band],
                     flag, 0))  # fmt: skip
        if len(entries) >= 200_000:
            _write(db, entries, rows, judged)
    _write(db, entries, rows, judged)
    db.execute("COMMIT")
    db.execute("PRAGMA journal_mode = DELETE")
    set_guards(db)


def _write(
    db: sqlite3.Connection,
    entries: list[tuple[object, ...]],
    rows: list[tuple[object, ...]],
    judged: list[tuple[object, ...]],
) -> None:
    db.executemany(f"INSERT INTO entry VALUES ({', '.join('?' * 14)})", entries)
    db.executemany(f"INSERT INTO reading VALUES ({', '.join('?' * 12)})", rows)
    db.executemany("INSERT INTO judged VALUES (?, ?, ?)", judged)
    entries.clear()
    rows.clear()
    judged.clear()


if __name__ == "__main__":
    make(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
