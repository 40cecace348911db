"""The chain's check against as many chained SHA-256, in processor time of one process.

python tests/bench/verify.py DIR [TIMES]

DIR is a site made by season.py. Every few thousand entries the check stands still while as many
digests of 200 bytes are chained in plain Python, so that a busy machine bears on both alike.
"""

from __future__ import annotations

import resource
import sqlite3
import sys
import time
from contextlib import closing
from hashlib import sha256
from pathlib import Path

from tankwalk.ledger import chain
from tankwalk.ledger.store import FILE

BODY = b"x" * 200
"""About what one reading says."""


def chained(count: int) -> float:
    """Seconds of processor time that so many chained digests take."""
    digest = bytes(32)
    began = time.process_time()
    for _ in range(count):
        digest = sha256(digest + BODY).digest()
    return time.process_time() - began


def checked(file: Path) -> tuple[int, float, float]:
    """Entries told of, and seconds of processor time: the check alone, as many digests alone."""
    floor = 0.0
    seen = 0

    def progress(told: int) -> None:
        nonlocal floor, seen
        floor += chained(told - seen)
        seen = told

    with closing(sqlite3.connect(file, isolation_level=None)) as db:
        began = time.process_time()
        damage = chain.verify(db, progress)
        took = time.process_time() - began - floor
    if damage is not None:
        raise SystemExit(damage.sentence)
    return seen, took, floor


def main(folder: str, times: str = "1") -> None:
    for _ in range(int(times)):
        seen, took, floor = checked(Path(folder) / FILE)
        print(f"{seen} entries: check {took:.1f} s, as many digests {floor:.1f} s, "
              f"ratio {took / floor:.1f}")  # fmt: skip
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"peak memory {peak} MiB")


if __name__ == "__main__":
    main(*sys.argv[1:])
