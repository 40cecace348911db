"""Ratios 7, 8 and 10: questions to the record, its size, and the check of its chain."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import subprocess
import time
from pathlib import Path

from driving import Sites, ours
from questions import compared
from rows import Row, against, at_most, median

ENTRY = b"x" * 250
"""As long as what an entry says."""


def questions(sites: Sites) -> list[Row]:
    """Ratio 7: each question of a screen on an old record against a younger one."""
    named, found = sites.by_name, []
    small, big = "1 year", "5 years"
    if small not in named or big not in named:
        return []
    for name, one, a, b in compared(named[small], named[big]):
        row = against(f"7 {name}, {big} against {small}", b / 1000, a / 1000, 1.3)
        if one and b > 10.0:
            row = row._replace(most="10 ms", holds="NO")
        # Tenths of a millisecond are within what runs differ by.
        found.append(row._replace(holds="yes") if b < 0.2 else row)
    return found


def storage(sites: Sites) -> list[Row]:
    """Ratio 8: bytes a reading on a record of little else; bytes an entry on the others."""
    found = []
    for name, site in sites.by_name.items():
        file = site / "ledger.sqlite"
        db = sqlite3.connect(file)
        readings = db.execute("SELECT count(*) FROM reading").fetchone()[0]
        entries = db.execute("SELECT count(*) FROM entry").fetchone()[0]
        db.close()
        size = file.stat().st_size
        if name == "6.6 M":
            row = at_most("8 bytes a reading, 6.6 M", size / readings, 110, lambda b: f"{b:.1f}")
            found.append(row._replace(floor=f"{readings} readings"))
        elif name in sites.full:
            found.append(Row(f"8 bytes an entry, {name}", f"{size / entries:.1f}",
                             f"{entries} entries"))  # fmt: skip
    return found


def checks(sites: Sites, times: int) -> list[Row]:
    """Ratio 10: `tankwalk check` against as many SHA-256 chained in Python."""
    found = []
    for name, site in (sites.full | sites.some("6.6 M")).items():
        count = _entries(site)
        mine, floor = [], []
        for _ in range(times if count < 2_000_000 else 1):
            floor.append(_chained(count))
            began = time.perf_counter()
            subprocess.run(ours(site, "check"), stdout=subprocess.DEVNULL,
                           env={**os.environ, **sites.env}, check=True)  # fmt: skip
            mine.append(time.perf_counter() - began)
        row = against(f"10 check, {name}: {count} entries", median(mine), median(floor), 10.0)
        # A start alone is more than ten thousand hashes.
        found.append(row._replace(most="", holds="") if count < 100_000 else row)
    return found


def _entries(site: Path) -> int:
    db = sqlite3.connect(site / "ledger.sqlite")
    count = int(db.execute("SELECT max(n) FROM entry").fetchone()[0])
    db.close()
    return count


def _chained(count: int) -> float:
    began = time.perf_counter()
    before = b""
    for _ in range(count):
        before = hashlib.sha256(before + ENTRY).digest()
    return time.perf_counter() - began
