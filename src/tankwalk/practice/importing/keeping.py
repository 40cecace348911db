"""An import kept, or taken back whole: one act each, whatever others write meanwhile."""

from __future__ import annotations

from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, ImportFile
from tankwalk.ledger.imports import ImportSeen
from tankwalk.ledger.incoming import Incoming
from tankwalk.practice.importing import against
from tankwalk.practice.site import SITE, Site


def keep(site: Site, who: str, file: ImportFile, incoming: Incoming) -> int:
    """Put a file that lies ready into the record; returns its entry.

    What a logger says that disagrees with the looks is said with it; see `against`.

    Raises:
        Refusal: the file is in the record already, or holds no value.
    """
    _refuse_twice(site, file)
    if not file.kept:
        raise Refusal("No value of this file is new: nothing was kept.")
    with incoming.put() as put, site.ledger.writing():
        _refuse_twice(site, file)  # another one may have been faster
        n = put.keep(site.record, entry(site, who), file)
        against.say(site, who, n)
    return n


def entry(site: Site, who: str) -> Entry:
    """The entry of an import that is kept now."""
    now = site.now()
    return Entry("import", who, now, now, SITE)


def _refuse_twice(site: Site, file: ImportFile) -> None:
    known = site.reader.imports.of_digest(file.digest)
    if known is not None:
        raise Refusal(
            f"This file was imported already: import {known.n}, {known.at.short()}, by "
            f"{known.who}. Nothing was kept."
        )


def undo(site: Site, who: str, n: int) -> ImportSeen:
    """Take an import back as one act: none of its values stands any more; the record keeps them.

    Raises:
        Refusal: there is no such import, or it was taken back.
    """
    found = site.reader.imports.by_number(n)
    if found is None:
        raise Refusal(f"There is no import {n} that stands: nothing was undone.")
    now = site.now()
    with site.ledger.writing():
        site.record(Entry("void", who, now, now, SITE, amends=n, reason="import undone"))
        against.say(site, who, n)
    return found
