"""The newest backup restored to a place of its own: does it open, is it sound, is it the same?"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from tankwalk import paths
from tankwalk.errors import Refusal
from tankwalk.practice.keeping import restoring, rule
from tankwalk.practice.site import Site, open_site
from tankwalk.rows import NamedTuple


class Rehearsed(NamedTuple):
    """How a rehearsal of the newest backup went."""

    folder: Path
    entries: int
    since: int
    """Entries of the record that came after the backup."""
    same: bool
    """Whether the record holds what the backup ends with, and so all before it."""
    lines: int
    """Lines of the page that was drawn from it."""


def _a_copy(_: Site) -> None:
    """What was restored aside is a backup itself: it is brought forward without another one."""


def rehearse(site: Site, drawn: Callable[[Site], str], where: Path | None = None) -> Rehearsed:
    """Restore the newest backup to a folder that goes afterwards; `drawn` draws a page from it.

    It is the newest of those kept by the rule, or on the disk or in the folder `where`. Refusal
    where there is none, or where it does not open or is not sound.
    """
    backup = _newest(site) if where is None else restoring.find(where).record.parent
    with TemporaryDirectory() as folder:
        to = Path(folder) / "site"
        restoring.restore(backup, to, site.now(), Path(folder) / "seals.txt")
        at = site.now().iso()
        there = open_site(to, site.ledger.station, at, older=_a_copy)
        try:
            page = drawn(there)
            seal = there.reader.spine.seal()
        finally:
            there.close()
        if not (to / paths.PLAN).exists() or not page.strip():
            raise Refusal(f"{backup} opens and shows nothing: make another backup.")
    same = site.ledger.holds(seal)
    last = site.reader.spine.last_number()
    return Rehearsed(backup, seal.number, last - seal.number, same, len(page.splitlines()))


def _newest(site: Site) -> Path:
    """The newest backup that was made by the rule."""
    newest = rule.newest(rule.places(site))
    if newest is None:
        where = " or ".join(str(place) for place in rule.places(site))
        raise Refusal(
            f"There is no backup in {where}: make one with tankwalk backup. One elsewhere is "
            "rehearsed by its folder or disk: tankwalk backup FOLDER --rehearse"
        )
    return newest.folder
