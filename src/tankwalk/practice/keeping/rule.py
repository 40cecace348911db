"""Which backups are kept: all of the last days, one a day, one a month; never the last one dropped.

Backups are made at each sign-off; without a rule they would fill the disk.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from tankwalk import paths
from tankwalk.errors import Refusal
from tankwalk.ledger.store import FILE
from tankwalk.practice.keeping import packing
from tankwalk.practice.keeping.packing import Backup
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.clock import Instant
    from tankwalk.plan.backups import Backups
    from tankwalk.practice.site import Site

ROOM_FOR = 3
"""A backup by the rule is made where so many of the record would still fit. No source."""


def to_drop(kept: Sequence[Backup], rule: Backups, now: Backup) -> list[Backup]:
    """Those of `kept` that the rule no longer wants; `now` is the newest, which always stays.

    Of each day and of each month the last one stays, which holds all that the others held.
    """
    days: dict[str, Backup] = {}
    months: dict[str, Backup] = {}
    for one in (*kept, now):
        days[f"{one.made.wall:%Y-%m-%d}"] = one
        months[f"{one.made.wall:%Y-%m}"] = one
    last_of = {*days.values()}
    last_of_month = {*months.values()}
    found = []
    for one in kept:
        age = (now.made.day - one.made.day).days
        month = 12 * (now.made.wall.year - one.made.wall.year)
        month += now.made.wall.month - one.made.wall.month
        stays = (
            one == now
            or age < 0  # of a clock that was ahead: nobody knows how old it is
            or age < rule.keep_all
            or (age < rule.keep_days and one in last_of)
            or (month <= rule.keep_months and one in last_of_month)
        )
        if not stays:
            found.append(one)
    return found


class Kept(NamedTuple):
    """What was made by the rule in one place, or why not; and how many older ones were dropped."""

    place: Path
    made: Backup | None
    dropped: int = 0
    why: str = ""


def places(site: Site) -> tuple[Path, ...]:
    """Where backups of a site are kept by the rule: beside the record, and on the second disk."""
    second = second_place(site)
    return (beside(site),) if second is None else (beside(site), second)


def beside(site: Site) -> Path:
    """Where backups are kept beside the record."""
    return site.folder / packing.FOLDER


def second_place(site: Site) -> Path | None:
    """The site's own folder on the second disk or stick that the plan names, if it names one."""
    second = site.plan.backups.second
    return None if not second else Path(second).expanduser() / _slug(site)


def _slug(site: Site) -> str:
    """A folder's name for the site: several sites may share one stick."""
    words = "".join(c if c.isascii() and c.isalnum() else "-" for c in site.plan.name.lower())
    return "-".join(part for part in words.split("-") if part)[:40] or "site"


def keep(site: Site, progress: Callable[[float], None] | None = None) -> tuple[Kept, ...]:
    """Make a backup in each place, then drop what the rule no longer wants there.

    A second place whose disk is not there now is told and left: the stick comes back later.
    `progress` is told the share of each that was checked.
    """

    def kept(place: Path) -> Kept:
        try:
            return keep_in(site, place, progress)
        except Refusal as refusal:
            return Kept(place, None, why=str(refusal))

    return tuple(kept(place) for place in places(site))


def keep_in(site: Site, place: Path, progress: Callable[[float], None] | None = None) -> Kept:
    """Make a backup in one place, then drop what the rule no longer wants there.

    Refusal, and nothing dropped, where none could be made.
    """
    if place != beside(site) and not place.parent.is_dir():
        raise Refusal(f"{place.parent} is not there: put the disk or stick in.")
    size = site.ledger.path.stat().st_size
    if not _room(place, ROOM_FOR * size):
        raise Refusal(f"{place} has too little room left for one more: make room there.")
    now = site.now()
    number = site.reader.spine.last_number()
    made = packing.make(site, _free_name(place / packing.name_of(now, number)), progress)
    dropped = 0
    named = next((one for one in packing.listed(place) if one.folder == made.folder), made)
    before = [one for one in packing.listed(place) if one.folder != made.folder]
    for old in to_drop(before, site.plan.backups, named):
        shutil.rmtree(old.folder, ignore_errors=True)
        dropped += not old.folder.exists()
    _sweep(place, now)
    paths.sync_folder(place)
    return Kept(place, made, dropped)


def make_at(site: Site, folder: Path, progress: Callable[[float], None] | None = None) -> Backup:
    """A backup where a person names it: as that folder, or in it where it is there already.

    A folder that is a backup itself stays what it is: Refusal.
    """
    if folder.is_dir() and not (folder / FILE).exists():
        name = packing.name_of(site.now(), site.reader.spine.last_number())
        folder = _free_name(folder / name)
    return packing.make(site, folder, progress)


def _sweep(place: Path, now: Instant) -> None:
    """Remove what a plug that was pulled left of backups, a day later: nobody is at it any more."""
    for part in place.glob("*-entry-*.partial"):
        with suppress(OSError):
            if now.utc - part.stat().st_mtime > 86_400:
                shutil.rmtree(part, ignore_errors=True)


def _room(place: Path, size: int) -> bool:
    """Whether a disk has room for so many bytes; where it does not tell, it is tried."""
    there = next((one for one in (place, *place.parents) if one.exists()), None)
    try:
        return there is None or shutil.disk_usage(there).free > size
    except OSError:
        return True


def _free_name(folder: Path) -> Path:
    tries, found = 1, folder
    while found.exists():
        tries += 1
        found = folder.with_name(f"{folder.name}-{tries}")
    return found


def newest(places: Iterable[Path]) -> Backup | None:
    """The newest backup of some places, that of most entries where several are of one minute."""
    every = [one for place in places for one in packing.listed(place)]
    return max(every, key=lambda one: (one.number, one.made.utc), default=None)
