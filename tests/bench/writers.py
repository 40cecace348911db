"""Four laptops' programs writing into one record at once, with a reader and a backup beside them.

    python tests/bench/writers.py [--seconds 300] [--writers 4] [--pause 0.0] [--seed 1]

Each writer appends as fast as the disk lets it (`--pause` gives it a person's time between two
Enters) and writes down every entry that it was told is kept, and how long each took. A reader reads
a whole board's worth in one picture over and over, and a backup is made again and again. At the end
the record is held against what each writer was told: nothing lost, nothing twice.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
import tempfile
import time
from collections import Counter
from functools import partial
from pathlib import Path
from typing import NamedTuple

sys.path.append(str(Path(__file__).parent.parent))

from forked import forked
from ledger_support import START, empty
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger import chain
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.ledger.store import FILE, Ledger, Station


class Held(NamedTuple):
    """What came of it."""

    seconds: float
    told: int
    """Entries that a writer was told are kept."""
    lost: int
    doubled: int
    not_told: int
    """In the record, and no writer was told of it."""
    refused: int
    """Times that a writer was told to enter it again, after 5 s of waiting."""
    waits: tuple[float, ...]
    """Seconds that each entry took, all writers together, in order of length."""
    reads: int
    longest_read: float
    backups: int
    sound: bool

    def said(self) -> str:
        """In lines."""
        n = len(self.waits)
        parts = [f"{share:g} %: {self.waits[min(n - 1, int(n * share / 100))] * 1000:.1f} ms"
                 for share in (50, 95, 99, 99.9)] if n else []  # fmt: skip
        return "\n".join([
            f"{self.told} entries in {self.seconds:.0f} s ({self.told / self.seconds:.0f} a s): "
            f"lost {self.lost}, doubled {self.doubled}, not told {self.not_told}, "
            f"refused {self.refused}; every digest holds: {'yes' if self.sound else 'NO'}",
            f"an entry took {', '.join(parts)}, longest {max(self.waits, default=0):.3f} s",
            f"{self.reads} reads in one picture, longest {self.longest_read:.3f} s; "
            f"{self.backups} checked copies",
        ])  # fmt: skip


def _write(path: Path, out: Path, name: str, until: float, pause: float, seed: int) -> None:
    draw, told, waits, refused, k = random.Random(seed), list[tuple[int, int]](), [], 0, 0
    with Ledger.open(path, Station(f"key-{name}", name)) as ledger:
        while time.monotonic() < until:
            when = Instant(START + k, -300)
            entry = Entry("reading", name, when, when, f"T{k % 12:02d}", "temp", "degC")
            began = time.monotonic()
            try:
                n = ledger.append(entry, Reading(float(k), str(k)))
            except Refusal:
                refused += 1
                continue
            finally:
                waits.append(time.monotonic() - began)
            told.append((n, k))
            k += 1
            if pause:
                time.sleep(draw.uniform(0, 2 * pause))
    out.write_text(json.dumps({"told": told, "waits": waits, "refused": refused}))


def _read(path: Path, out: Path, until: float) -> None:
    waits, refused = [], 0
    with Ledger.open(path, Station("key-reader", "reader")) as ledger:
        while time.monotonic() < until:
            began = time.monotonic()
            try:
                with ledger.reading() as reader:
                    seen = len(reader.readings.newest_of_all())
                    again = reader.spine.last_moment()
                    assert seen <= 12
                    assert again is None or again.utc >= START
            except Refusal:
                refused += 1
            waits.append(time.monotonic() - began)
            time.sleep(0.05)
    out.write_text(json.dumps({"waits": waits, "refused": refused}))


def _copy(path: Path, out: Path, until: float, every: float) -> None:
    made, refused = 0, 0
    with Ledger.open(path, Station("key-copier", "copier")) as ledger:
        while time.monotonic() < until:
            target = path.with_name("copy.sqlite")
            target.unlink(missing_ok=True)
            try:
                ledger.back_up(target)
            except Refusal:
                refused += 1
            made += 1
            time.sleep(max(0.0, min(every, until - time.monotonic())))
    out.write_text(json.dumps({"made": made, "refused": refused}))


def held(
    folder: Path, seconds: float, writers: int, pause: float, seed: int, every: float = 5.0
) -> Held:
    """Let them write for some seconds; what came of it."""
    path = folder / FILE
    path.write_bytes(empty())
    names = [f"W{k}" for k in range(writers)]
    began = time.monotonic()
    until = began + seconds
    pids = [
        forked(partial(_write, path, folder / f"{name}.json", name, until, pause, seed + k))
        for k, name in enumerate(names)
    ]
    pids.append(forked(partial(_read, path, folder / "reader.json", until)))
    pids.append(forked(partial(_copy, path, folder / "copier.json", until, every)))
    for pid in pids:
        if os.waitpid(pid, 0)[1]:
            raise RuntimeError("one of them ended with a fault")
    took = time.monotonic() - began
    said = [json.loads((folder / f"{name}.json").read_text()) for name in names]
    reader = json.loads((folder / "reader.json").read_text())
    copier = json.loads((folder / "copier.json").read_text())
    with Ledger.open(path, Station("key-judge", "judge")) as ledger:
        rows = ledger.db.execute(
            "SELECT p.initials, r.value, e.n FROM entry e JOIN person p ON p.id = e.who "
            "JOIN reading r ON r.entry = e.n"
        ).fetchall()
        sound = chain.verify(ledger.db) is None
    kept = {n: (who, value) for who, value, n in rows}
    times = Counter((who, value) for who, value, _ in rows)
    told = {n: (name, float(k)) for name, one in zip(names, said, strict=True)
            for n, k in one["told"]}  # fmt: skip
    return Held(
        took,
        sum(len(one["told"]) for one in said),
        sum(kept.get(n) != what for n, what in told.items()),
        sum(count - 1 for count in times.values()),
        len(kept.keys() - told.keys()),
        sum(one["refused"] for one in said) + reader["refused"] + copier["refused"],
        tuple(sorted(wait for one in said for wait in one["waits"])),
        len(reader["waits"]),
        max(reader["waits"], default=0.0),
        copier["made"],
        sound,
    )


def main() -> None:
    """Run as a program."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=300)
    parser.add_argument("--writers", type=int, default=4)
    parser.add_argument("--pause", type=float, default=0.0)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        print(held(Path(folder), given.seconds, given.writers, given.pause, given.seed).said())


if __name__ == "__main__":
    main()
