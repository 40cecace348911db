"""What an import is, as values for a page: before it is kept, and all that were kept."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.imports import ImportSeen, SeriesSeen
from tankwalk.ledger.incoming import Laid, TurnedDown
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple


class FirstValue(NamedTuple):
    """One of the first values, as it was understood: the line and cell, and what it became."""

    line: int
    cell: str
    place: str
    item: str
    at: Instant
    value: str


class Ask(NamedTuple):
    """What has to be told before anything can be kept, and how the command takes it."""

    words: str
    flag: str


class DryRun(NamedTuple):
    """A file as it would be imported; nothing of it is kept.

    `again` is the import it was read like, where one with such a head stands; `twice` the import
    that holds this very file. `without` are cells that say that there is no value, by what they
    say; `reasons` why others are not taken, each with how many; `refused` the first of those.
    """

    file: str
    source: str
    encoding: str
    separator: str
    head: int
    first: int
    lines: int
    columns: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    asks: tuple[Ask, ...]
    again: ImportSeen | None
    twice: ImportSeen | None
    laid: tuple[Laid, ...]
    values: tuple[FirstValue, ...]
    without: tuple[tuple[str, int], ...]
    reasons: tuple[tuple[str, int], ...]
    refused: tuple[TurnedDown, ...]
    changed_clock: int
    zone: str

    @property
    def taken(self) -> int:
        """Values that would be kept."""
        return sum(one.values for one in self.laid)

    @property
    def turned_down(self) -> int:
        """Cells that are not taken."""
        return sum(many for _, many in self.reasons)


class Kept(NamedTuple):
    """An import that stands, with its series."""

    file: ImportSeen
    series: tuple[SeriesSeen, ...]


class ImportsView(NamedTuple):
    """The newest imports that stand, newest first; `more` where there are others."""

    kept: tuple[Kept, ...]
    more: bool
    now: Instant


MOST = 30
"""Imports that a page lists."""


def imports(site: Site) -> ImportsView:
    """The imports of the record, as one value."""
    with site.ledger.reading() as reader:
        found = reader.imports.newest(MOST + 1)
        kept = tuple(Kept(one, tuple(reader.imports.series(one.n))) for one in found[:MOST])
    return ImportsView(kept, len(found) > MOST, site.now())
