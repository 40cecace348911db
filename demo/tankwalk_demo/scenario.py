"""Makes the demo site: its plan and a record of the invented season, in a folder of its own."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from datetime import date
from itertools import groupby, takewhile
from pathlib import Path

from tankwalk import clock, paths
from tankwalk.clock import FixedClock, Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk.practice.site import Site
from tankwalk_demo.acts import Act
from tankwalk_demo.days import DAYS, FIRST
from tankwalk_demo.recording import Recorder, Told
from tankwalk_demo.room import SEED, plan, plan_bytes
from tankwalk_demo.story import in_order


def rehearsal() -> Instant:
    """The moment the demo starts at: Sunday 10 May 2026, 06:50."""
    here = plan()
    return clock.parse_instant(here.rehearsal or "", clock.zone(here.zone))


def make(
    folder: Path,
    station: Station,
    *,
    until: Instant | None = None,
    seed: int = SEED,
    progress: Callable[[float], None] | None = None,
    told: Told | None = None,
) -> None:
    """Write plan.toml and ledger.sqlite into `folder`, with all that was entered before `until`.

    `until` is the plan's rehearsal instant where none is given. `progress` is called with the
    share done, 0 to 1; `told` hears of each entry before it is kept. The folder appears whole or
    not at all. Raises Refusal where it holds something already or cannot be written.
    """
    folder = folder.resolve()
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise Refusal(f"{folder} is not empty: nothing was written. Choose a new folder.")
        folder.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
        try:
            part = beside / "site"
            part.mkdir()
            (part / paths.PLAN).write_bytes(plan_bytes())
            end = rehearsal() if until is None else until
            _write(part, station, end, seed, progress or _quiet, told)
            _put(part, folder)
        finally:
            shutil.rmtree(beside, ignore_errors=True)
    except OSError as fault:
        raise Refusal(f"{folder} cannot be made ({fault.strerror}): nothing was written.") from None


def _put(part: Path, folder: Path) -> None:
    """The finished site into its place; plan.toml comes last, for it makes a folder a site."""
    if not folder.exists():
        part.rename(folder)
        return
    for name in (FILE, paths.PLAN):
        (part / name).rename(folder / name)


def _quiet(_: float) -> None:
    """Nobody asks how far it is."""


def _write(
    folder: Path,
    station: Station,
    end: Instant,
    seed: int,
    progress: Callable[[float], None],
    told: Told | None,
) -> None:
    with Ledger.open(folder / FILE, station, create=True) as ledger:
        recorder = Recorder(Site(folder, plan(), ledger, FixedClock(end)), end, told)
        last = max(1, min(DAYS[-1], (end.day - FIRST).days + 1))
        kept = takewhile(lambda act: act.entered < end.utc, in_order(seed, last))
        with ledger.writing():  # the folder appears whole or not at all: so may its record
            for number, (_, day) in enumerate(groupby(kept, key=_day), 1):
                for act in day:
                    recorder.put(act)
                progress(min(1.0, number / len(DAYS)))
    progress(1.0)


def _day(act: Act) -> date:
    return Instant(act.entered, act.at.offset).day
