"""A package read back into a new site: its newest plan, and every entry in its order."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tankwalk import paths
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.exchange.incoming.package import About, Whole, about, entries
from tankwalk.ledger.entries import Entry, ImportFile, Note
from tankwalk.ledger.incoming import laid_out
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk.plan.file import load

TOGETHER = 20_000
"""Entries after which how far it is is said."""


def new_site(
    folder: Path,
    target: Path,
    station: Station,
    who: str,
    now: Callable[[str], Instant],
    progress: Callable[[float], None] | None = None,
) -> About:
    """Make a new site in `target` that holds all that a package holds, or nothing.

    A last entry says which record it was read back from, and by whom. `now` gives the moment in
    a time zone.

    Raises:
        Refusal: the package is not whole, or something lies in `target`.
    """
    found = about(folder)
    if not found.plan:
        raise Refusal("The package holds no plan: nothing was made.")
    if target.exists() and any(target.iterdir()):
        raise Refusal(f"{target} is there already and not empty: nothing was made.")
    target.mkdir(parents=True, exist_ok=True)
    plan, record = target / paths.PLAN, target / FILE
    part = plan.with_suffix(".read")
    words_of_plan = found.plan.encode("utf-8", "surrogatepass")
    try:
        part.write_bytes(words_of_plan)
        plan_read = load(part)
        known = {person.initials.upper(): person.initials for person in plan_read.people}
        if who.upper() not in known:
            raise Refusal(f"{who[:12]!r} is not among the people of the plan: nothing was made.")
        with Ledger.open(record, station, create=True) as ledger:
            with ledger.writing():
                fill(ledger, folder, found.entries, progress)
                words = f"Read back from an export of {found.site}, seal {found.seal}."
                moment = now(plan_read.zone)
                ledger.append(
                    Entry("note", known[who.upper()], moment, moment, "site"), Note(words)
                )
        part.unlink()
        paths.put_whole(plan, words_of_plan)
    except BaseException:
        for one_file in (part, record):
            one_file.unlink(missing_ok=True)
        raise
    if progress is not None:
        progress(1.0)
    return found


def fill(
    ledger: Ledger,
    folder: Path,
    last: int,
    progress: Callable[[float], None] | None = None,
) -> None:
    """Put every entry of a package, 1 to `last`, into an empty record."""
    for one in entries(folder, last):
        _put(ledger, one)
        if progress is not None and one.n % TOGETHER == 0:
            progress(one.n / last)


def _put(ledger: Ledger, one: Whole) -> None:
    """An entry as it was; its number has to be the same."""
    if one.entry.kind == "import":
        (file,) = one.details
        assert isinstance(file, ImportFile)
        incoming = laid_out(ledger, one.channels, one.values)
        with incoming.put() as put:
            n = put.keep(ledger.append, one.entry, file)
        incoming.close()
    else:
        n = ledger.append(one.entry, *one.details)
    if n != one.n:
        raise Refusal(f"Entry {one.n} of the package came to be {n}: nothing was made.")
