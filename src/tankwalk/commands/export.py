"""Export: the record as a data package in a new folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import open_site_of, shares
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable

    from tankwalk.clock import Instant
    from tankwalk.practice.site import Site


def export(arguments: argparse.Namespace) -> int:
    """Write the record, or the part that was asked for, into a new folder."""
    import gc
    from pathlib import Path

    from tankwalk.exchange import package
    from tankwalk.exchange.cells import Flavor

    gc.enable()
    flavor = Flavor(arguments.flavor)
    if arguments.parquet:
        if flavor is Flavor.SPREADSHEET:
            raise Refusal("--parquet goes with --flavor plain: nothing was written.")
        from tankwalk.exchange import parquet

        parquet.library()
    site = open_site_of(arguments)
    try:
        choice = package.Choice(
            _first(site, arguments.first),
            _last(site, arguments.last),
            _known(arguments.tank, _places(site), "place"),
            _known(arguments.item, _items(site), "item"),
            flavor,
            arguments.parquet,
        )
        if choice.since is not None and choice.until is not None:
            if choice.since.utc > choice.until.utc:
                raise Refusal("--from is later than --to: nothing was written.")
        target = Path(arguments.folder)
        show = shares("Writing the export", plain=True)
        made = package.write(site.ledger.path, site.plan, site.now(), target, choice, show)
    finally:
        site.close()
    rows = {one.name: one.rows for one in made.tables}
    full = sum(1 for one in made.tables if one.rows)
    print(
        f"The record up to entry {made.seal.partition('-')[0]} is in {target}: "
        f"{rows['readings']} readings, {rows['daily']} rows by tank and day, "
        f"{full} tables with rows, {made.files} files, {made.size / 1e6:.1f} MB."
    )
    print(f"Its README.md says what is what. Seal {made.seal}.")
    return 0


def _first(site: Site, words: str | None) -> Instant | None:
    return None if words is None else _moment(site, "--from", words)


def _moment(site: Site, option: str, words: str) -> Instant:
    from tankwalk.practice import times

    try:
        return times.since(site, words)
    except Refusal as refusal:
        raise Refusal(f"{option}: {refusal} Nothing was written.") from None


def _last(site: Site, words: str | None) -> Instant | None:
    """The last second of a day, or the moment that was typed."""
    if words is None:
        return None
    from datetime import timedelta

    from tankwalk.clock import Instant, at, zone

    found = _moment(site, "--to", words)
    if "T" in words or " " in words.strip():
        return found
    end = at(found.day + timedelta(days=1), 0, 0, zone(site.plan.zone))
    return Instant(end.utc - 1, end.offset)


def _places(site: Site) -> list[str]:
    plan = site.plan
    codes = [one.code for one in plan.tanks] + [one.code for one in plan.loops]
    return [*dict.fromkeys([*codes, *site.reader.spine.places()])]


def _items(site: Site) -> list[str]:
    return [*dict.fromkeys([*(one.code for one in site.plan.items), *site.reader.spine.items()])]


def _known(typed: Iterable[str] | None, codes: list[str], what: str) -> tuple[str, ...]:
    """Codes as they are written; Refusal for one that neither plan nor record has."""
    written = {code.casefold(): code for code in reversed(codes)}
    found: list[str] = []
    for one in typed or ():
        code = written.get(one.strip().casefold())
        if code is None:
            some = " ".join(codes[:12]) + (" .." if len(codes) > 12 else "")
            raise Refusal(f"{one[:20]!r} is no {what} here ({some}): nothing was written.")
        found.append(code)
    return tuple(dict.fromkeys(found))
