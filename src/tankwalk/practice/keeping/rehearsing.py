"""The newest backup restored to a place of its own: does it open, is it sound, is it the same?"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from tankwalk import paths
from tankwalk.errors import Refusal
from tankwalk.practice.keeping import restoring, rule
from tankwalk.practice.keeping.packing import Backup
from tankwalk.practice.site import Site, open_site
from tankwalk.rows import NamedTuple


class Rehearsed(NamedTuple):
    """How a rehearsal of the newest backup went."""

    backup: Backup
    entries: int
    since: int
    """Entries of the record that came after the backup."""
    same: bool
    """Whether the record holds what the backup ends with, and so all before it."""
    lines: int
    """Lines of the page that was drawn from it."""


def _a_copy(_: Site) -> None:
    """What was restored aside is a backup itself: it is brought forward without another one."""


def rehearse(site: Site, drawn: Callable[[Site], str]) -> Rehearsed:
    """Restore the newest backup to a folder that goes afterwards; `drawn` draws a page from it.

    Refusal where there is none, or where it does not open or is not sound.
    """
    newest = rule.newest(rule.places(site))
    if newest is None:
        where = " or ".join(str(place) for place in rule.places(site))
        raise Refusal(f"There is no backup in {where}: make one with tankwalk backup.")
    with TemporaryDirectory() as folder:
        to = Path(folder) / "site"
        restoring.restore(newest.folder, to, site.now(), Path(folder) / "seals.txt")
        at = site.now().iso()
        there = open_site(to, site.ledger.station, at, older=_a_copy)
        try:
            page = drawn(there)
            seal = there.reader.spine.seal()
        finally:
            there.close()
        if not (to / paths.PLAN).exists() or not page.strip():
            raise Refusal(f"{newest.folder} opens and shows nothing: make another backup.")
    same = site.ledger.holds(seal)
    last = site.reader.spine.last_number()
    return Rehearsed(newest, seal.number, last - seal.number, same, len(page.splitlines()))
