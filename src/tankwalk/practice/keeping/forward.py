"""What comes before a record of an older version is brought forward: a backup, as any other."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from tankwalk.errors import Refusal
from tankwalk.ledger import schema
from tankwalk.practice.keeping import packing, rule
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from pathlib import Path

    from tankwalk.practice.keeping.packing import Backup
    from tankwalk.practice.site import Site


class Before(NamedTuple):
    """What was kept of a record before it is brought forward."""

    version: int
    """That it has; `schema.VERSION` is what it becomes."""
    made: Backup | None
    """The checked backup; None of a record that is not sound, which is only copied as it is."""
    copy: Path | None = None
    why: str = ""
    """Of what is not sound: what the check says first."""


def back_up(site: Site, progress: Callable[[float], None] | None = None) -> Before:
    """Keep an older record as it is: a backup by the rule, beside it, with the plan.

    A record that SQLite can read and whose chain or shape does not hold is no backup; the room goes
    on with it all the same, as with one of this version, after a plain copy aside. Refusal, and
    nothing changed, where neither can be made.
    """
    version = site.ledger.version
    try:
        try:
            made = rule.keep_in(site, rule.beside(site), progress).made
        except packing.NotSound as found:
            copy = packing.aside(site.folder, site.ledger.path.name, site.now())
            site.ledger.back_up(copy)
            return Before(version, None, copy, found.first)
    except Refusal as refusal:
        raise Refusal(
            f"The record is of an older tankwalk (version {version}, now {schema.VERSION}). "
            f"A backup is made before it is brought forward, and none could be: {refusal}"
        ) from refusal
    return Before(version, made)
