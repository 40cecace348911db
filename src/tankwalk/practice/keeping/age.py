"""How old the newest backup is: told on the board only where it is old, or missing."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from tankwalk.practice.keeping import background, packing, rule
from tankwalk.practice.tasks import BackupDue, Due

if TYPE_CHECKING:
    from pathlib import Path

    from tankwalk.clock import Instant
    from tankwalk.practice.site import Site

OLD_DAYS = 2
"""A backup is made at each sign-off: one of two days ago says that something does not work.

Common practice, no source."""


def backups_due(site: Site, now: Instant) -> list[Due]:
    """What is old or missing: beside the record, and on the second disk that the plan names.

    A rehearsal is told nothing, nor a plan that names no second disk before there was any backup.
    """
    if site.plan.rehearsal is not None:
        return []
    beside, second = site.folder / packing.FOLDER, rule.second_place(site)
    expected = background.real(site) or second is not None or beside.exists()
    found = []
    if expected and (days := _days(site, beside, now)) is not None:
        found.append(_due(days, second=False, there=True))
    if second is not None:
        there = second.parent.is_dir()
        days = _days(site, second, now) if there else 0
        if days is not None:
            found.append(_due(days, second=True, there=there))
    return found


def _due(days: int, *, second: bool, there: bool) -> Due:
    return Due(24.0 * max(1, days), BackupDue(days, second, there))


def _days(site: Site, place: Path, now: Instant) -> int | None:
    """Days since the newest backup in a place; None where it is new enough, or holds all.

    Where there is none yet, days since the record began.
    """
    newest = rule.newest((place,))
    if newest is not None and newest.number >= site.reader.spine.last_number():
        return None
    since = newest.made.day if newest is not None else _began(site)
    days = 0 if since is None else (now.day - since).days
    return days if days >= OLD_DAYS else None


def _began(site: Site) -> date | None:
    first = site.reader.spine.first_moment()
    return None if first is None else first.day
