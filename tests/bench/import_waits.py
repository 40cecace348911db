"""How long others wait at the record while a long file is imported, and while it is undone.

    python tests/bench/import_waits.py [--values 500000] [--writers 4] [--pause 0.02]

A file of that many values is read, kept and undone by the same functions as `tankwalk import` on a
small site, while others append an entry each, again and again. What is told of each step: how long
it took, and the longest that one of the others waited for its entry in it.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

sys.path.append(str(Path(__file__).parent.parent))

from forked import forked
from site_support import opened
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.exchange.incoming.dry_run import Trial
from tankwalk.exchange.incoming.understanding import Told
from tankwalk.ledger import chain
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk.practice.importing import keeping
from tankwalk.practice.site import Site

NOW = "2026-06-30T12:00"
FIRST = 1_760_000_000
"""UTC second of the first value: half a million minutes later it is September of the next year."""


class Step(NamedTuple):
    """One step of the import: how long it took, and how others fared meanwhile."""

    name: str
    seconds: float
    entries: int
    longest: float
    refused: int
    """Times that one of them was told to enter it again, after 5 s."""


def _write(path: Path, out: Path, name: str, stop: Path, pause: float) -> None:
    waits, k = [], 0
    with Ledger.open(path, Station(f"key-{name}", name)) as ledger:
        while not stop.exists():
            when = Instant(FIRST + k, -300)
            entry = Entry("reading", name, when, when, "T01", "temp", "degC")
            began, refused = time.monotonic(), False
            try:
                ledger.append(entry, Reading(float(k), str(k)))
            except Refusal:
                refused = True
            waits.append((began, time.monotonic(), refused))
            k += 1
            time.sleep(pause)
    out.write_text(json.dumps(waits))


def file_of(path: Path, values: int) -> Path:
    """A logger's file of so many values, every 40 seconds."""
    with path.open("w", encoding="utf-8") as stream:
        stream.write("time,temp degC\n")
        for k in range(values):
            at = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(FIRST + 40 * k))
            stream.write(f"{at},{15 + k % 97 / 100:.2f}\n")
    return path


def _steps(site: Site, file: Path, step: Callable[[str], None]) -> None:
    """Each step of an import, told when it is done."""
    time.sleep(0.5)
    step("before")
    trial = Trial(site, file, Told(place="T01"))
    trial.lay()
    step("read and laid beside")
    assert trial.incoming is not None, trial.how.questions
    n = keeping.keep(site, "AB", trial.file(), trial.incoming)
    trial.close()
    step("kept")
    keeping.undo(site, "AB", n)
    step("undone")


def waited(folder: Path, values: int, writers: int, pause: float) -> list[Step]:
    """Import and undo such a file; what each step came to."""
    file = file_of(folder / "logger.csv", values)
    stop = folder / "stop"
    path = folder / "site" / FILE
    with opened(folder / "site", now=NOW):
        pass  # a record is made; none may be open where a process forks
    names = [f"W{k}" for k in range(writers)]
    pids = [forked(partial(_write, path, folder / f"{n}.json", n, stop, pause)) for n in names]
    marks: list[tuple[str, float]] = []
    try:
        with opened(folder / "site", now=NOW) as site:
            site.ledger.db.execute("PRAGMA synchronous = EXTRA")  # as outside of tests
            _steps(site, file, lambda name: marks.append((name, time.monotonic())))
    finally:
        stop.write_text("")
        ends = [os.waitpid(pid, 0)[1] for pid in pids]
    if any(ends):
        raise RuntimeError("one of the others ended with a fault")
    with opened(folder / "site", now=NOW) as site:
        damage = chain.verify(site.ledger.db)
    if damage is not None:
        raise RuntimeError(damage.sentence)
    waits = [wait for n in names for wait in json.loads((folder / f"{n}.json").read_text())]
    steps = []
    for (_, since), (name, until) in pairwise(marks):
        during = [one for one in waits if one[1] > since and one[0] < until]
        longest = max((end - began for began, end, _ in during), default=0.0)
        refused = sum(told for _, _, told in during)
        steps.append(Step(name, until - since, len(during), longest, refused))
    return steps


def main() -> None:
    """Run as a program."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--values", type=int, default=500_000)
    parser.add_argument("--writers", type=int, default=4)
    parser.add_argument("--pause", type=float, default=0.02)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        for one in waited(Path(folder), given.values, given.writers, given.pause):
            print(
                f"{one.name}: {one.seconds:.2f} s; {one.entries} entries of others meanwhile, "
                f"the longest wait {one.longest:.2f} s, {one.refused} refused"
            )


if __name__ == "__main__":
    main()
