"""Files for the tests of importing: written as others write them, and tried on a small room."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from site_support import opened
from tankwalk.exchange.incoming.dry_run import Trial
from tankwalk.exchange.incoming.understanding import Told
from tankwalk.ledger.imports import ImportedValue
from tankwalk.practice.importing import keeping
from tankwalk.practice.importing.view import DryRun
from tankwalk.practice.site import Site

NOTHING = Told()

LATER = "2026-06-30T12:00"
"""After every moment in these files."""


def written(folder: Path, words: str, name: str = "logger.csv", encoding: str = "utf-8") -> Path:
    """A file of such words."""
    path = folder / name
    path.write_bytes(words.encode(encoding))
    return path


@contextmanager
def tried(folder: Path, path: Path, told: Told = NOTHING, now: str = LATER) -> Iterator[Trial]:
    """A file laid out beside the record of a small room."""
    with opened(folder / "site", now=now) as site:
        trial = Trial(site, path, told)
        try:
            trial.lay()
            yield trial
        finally:
            trial.close()


def understood(folder: Path, words: str, told: Told = NOTHING, **how: str) -> DryRun:
    """A file as it would be imported."""
    with tried(folder, written(folder, words, **how), told) as trial:
        return trial.view()


def said(view: DryRun) -> list[str]:
    """The first values, each in words."""
    return [f"{one.place} {one.item} {one.value} {one.at.iso()}" for one in view.values]


def keep(site: Site, path: Path, told: Told = NOTHING, who: str = "AB") -> int:
    """A file imported for good; the number of the import."""
    trial = Trial(site, path, told)
    try:
        trial.lay()
        assert trial.incoming is not None, trial.how.questions
        return keeping.keep(site, who, trial.file(), trial.incoming)
    finally:
        trial.close()


def values(site: Site, place: str = "T01", item: str = "temp") -> list[ImportedValue]:
    """What was imported of an item at a place and stands."""
    return site.reader.imports.values(place, item, site.plan.item(item).unit, 0)
