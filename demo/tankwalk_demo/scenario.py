"""Makes the demo site: its plan and a record of the invented season, in a folder of its own."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterator
from itertools import groupby
from pathlib import Path

from tankwalk import clock, paths
from tankwalk.clock import FixedClock, Instant
from tankwalk.errors import Refusal
from tankwalk.ledger import queries
from tankwalk.ledger.entries import Detail, Entry, FollowUp, Handover
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk.practice import deriving, handover
from tankwalk.practice.site import Site
from tankwalk_demo.days import DAYS
from tankwalk_demo.recording import Recorded
from tankwalk_demo.room import SEED, plan, plan_bytes
from tankwalk_demo.story import events


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
) -> None:
    """Write plan.toml and ledger.sqlite into `folder`, with all that was entered before `until`.

    `until` is the plan's rehearsal instant where none is given. `progress` is called with the
    share done, 0 to 1. The folder appears whole or not at all. Raises Refusal where it holds
    something already or cannot be written.
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
            _write(part, station, end, seed, progress or _quiet)
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
    folder: Path, station: Station, end: Instant, seed: int, progress: Callable[[float], None]
) -> None:
    with Ledger.open(folder / FILE, station, create=True) as ledger:
        site = Site(folder, plan(), ledger, FixedClock(end))
        pages: dict[int, str] = {}
        numbers: dict[int, int] = {}
        kept = _before(events(seed), end)
        for number, (_, day) in enumerate(groupby(kept, key=lambda e: e[0].recorded.day), 1):
            with ledger.writing():
                for entry, details in day:
                    site.clock = FixedClock(entry.recorded)
                    moved = entry._replace(amends=_moved(numbers, entry.amends))
                    told = [_page(site, _moved_in(numbers, d), pages) for d in details]
                    n = ledger.append(moved, *told)
                    numbers[len(numbers) + 1] = n
                    for detail in told:
                        if isinstance(detail, Handover):
                            pages[n] = detail.text
                    _follow(site, moved, n)
            progress(min(1.0, number / len(DAYS)))
    progress(1.0)


def _before(recorded: Iterator[Recorded], end: Instant) -> Iterator[Recorded]:
    """What was entered before a moment; everything up to there, and nothing after."""
    for entry, details in recorded:
        if entry.recorded.utc >= end.utc:
            return
        yield entry, details


def _moved(numbers: dict[int, int], n: int | None) -> int | None:
    """The number in the record of the story's entry `n`: derived readings stand between them."""
    return None if n is None else numbers[n]


def _moved_in(numbers: dict[int, int], detail: Detail) -> Detail:
    """A detail with its reference to another entry as the record numbers it."""
    match detail:
        case FollowUp():
            return detail._replace(opened=_moved(numbers, detail.opened))
        case Handover():
            return detail._replace(given=_moved(numbers, detail.given))
    return detail


def _follow(site: Site, entry: Entry, n: int) -> None:
    """Keep what can be worked out from a reading, as the walk does."""
    if entry.kind == "reading":
        kept = queries.seen(site.ledger.db, n)
        if kept is not None:
            deriving.follow(site, kept, entry.who, entry.round)


def _page(site: Site, detail: Detail, pages: dict[int, str]) -> Detail:
    """A handover with its page: drafted from the record as it stands when the room is given."""
    if not isinstance(detail, Handover):
        return detail
    if detail.given is not None:
        return detail._replace(text=pages[detail.given])
    return detail._replace(text=handover.draft(site).text())
