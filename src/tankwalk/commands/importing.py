"""Files into the record: a dry run, kept, taken back, listed."""

from __future__ import annotations

import gc
import sys
from typing import TYPE_CHECKING

from tankwalk.commands.common import (
    lines_in,
    open_site_of,
    page,
    print_json,
    said,
    shares,
    station,
    terminal,
    width_of,
)
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator
    from pathlib import Path

    from tankwalk.clock import Instant
    from tankwalk.exchange.incoming.dry_run import Trial
    from tankwalk.exchange.incoming.understanding import Told
    from tankwalk.practice.site import Site


def bring_in(arguments: argparse.Namespace) -> int:
    """Show what a file would bring, keep it, take it back, list all; 1 where more is asked."""
    if arguments.undo is not None:
        return _undo(arguments)
    if arguments.file is None:
        if arguments.keep:
            raise Refusal(
                "--keep goes with a file: tankwalk import FILE --keep --who INITIALS. Nothing was "
                "imported."
            )
        return _listed(arguments)
    from pathlib import Path

    from tankwalk.exchange.incoming import package
    from tankwalk.exchange.incoming.dry_run import Trial

    gc.enable()
    if package.is_package(Path(arguments.file)):
        return _package(arguments, Path(arguments.file))
    if arguments.to is not None:
        raise Refusal("--to is where a whole data package is read back to: nothing was imported.")
    told = _told(arguments)
    width_of(arguments)
    site = open_site_of(arguments)
    try:
        if arguments.keep:
            _signs(site, arguments)
        trial = Trial(site, Path(arguments.file), told)
        asks = arguments.ask or terminal()
        answers = lines_in() if asks else iter(())
        if asks:
            trial = _answered(site, Path(arguments.file), told, trial, answers)
        try:
            trial.lay(shares("Reading the file"))
            if arguments.refused is not None:
                _refused(arguments.refused, trial)
            if arguments.keep:
                return _keep(site, arguments, trial)
            _show(arguments, trial)
            if asks and trial.laid and not arguments.json:
                return _offered(site, arguments, trial, answers)
            return 1 if trial.how.questions else 0
        finally:
            trial.close()
    finally:
        site.close()


def _answered(site: Site, path: Path, told: Told, trial: Trial, answers: Iterator[str]) -> Trial:
    """Ask what a file does not say, by number, until it is understood or nobody answers."""
    from tankwalk.exchange.incoming import asking
    from tankwalk.exchange.incoming.dry_run import Trial

    while trial.how.questions:
        question = trial.how.questions[0]
        offered = asking.choices(site.plan, trial.how, question)
        said(question.words)
        for nth, one in enumerate(offered, 1):
            said(f"  {nth:>2}  {one.words}")
        number = _number(answers, len(offered))
        if not number:
            return trial
        told = offered[number - 1].told.over(told)
        trial = Trial(site, path, told)
    return trial


def _number(answers: Iterator[str], most: int) -> int:
    """A number from 1 to `most` as it is typed; 0 where Enter alone is, or nothing more comes."""
    while True:
        said(f"1 to {most}, or Enter to leave:")
        words = next(answers, "").strip()
        if not words:
            return 0
        if words.isascii() and words.isdecimal() and 1 <= int(words) <= most:
            return int(words)
        said(f"{words[:20]!r} is not one of the numbers.")


def _offered(
    site: Site, arguments: argparse.Namespace, trial: Trial, answers: Iterator[str]
) -> int:
    """Keep what was shown, where somebody says so and who it is; Enter alone keeps nothing."""
    if trial.view().twice is not None or not any(one.values for one in trial.laid):
        return 0
    who = arguments.who
    if who is None:
        said("Keep it? Who keeps it?")
        people = [one.initials for one in site.plan.people]
        for nth, initials in enumerate(people, 1):
            said(f"  {nth:>2}  {initials}")
        number = _number(answers, len(people))
        who = people[number - 1] if number else None
    else:
        said("Keep it?")
        said("   1  keep it")
        who = who if _number(answers, 1) else None
    if who is None:
        said("Nothing was kept.")
        return 0
    arguments.who = who
    return _keep(site, arguments, trial)


def _package(arguments: argparse.Namespace, folder: Path) -> int:
    """Show what a data package holds; with --to and --keep, make a site of it."""
    from pathlib import Path

    from tankwalk.clock import SystemClock, parse_instant, zone
    from tankwalk.exchange.incoming import package, read_back

    if not (arguments.keep and arguments.to):
        found = package.about(folder)
        rows = ", ".join(f"{many:,} {name}" for name, many in found.rows.items() if many)
        print(f"{folder}: {found.site}, {found.entries:,} entries, seal {found.seal}.")
        print("Every file is as it was exported.")
        print(f"Rows: {rows}.")
        print("To make a site of it: --to DIR --keep --who INITIALS")
        return 0
    if arguments.who is None:
        raise Refusal("Say who does this: --who INITIALS. Nothing was made.")

    def now(name: str) -> Instant:
        tz = zone(name)
        return parse_instant(arguments.now, tz) if arguments.now else SystemClock(tz).now()

    target = Path(arguments.to)
    made = read_back.new_site(
        folder, target, station(), arguments.who, now, shares("Reading the package")
    )
    print(
        f"A site is in {target}: {made.entries:,} entries of {made.site}, as they were, with the "
        f"plan of then. Check it with: tankwalk check --site {target}"
    )
    return 0


def _told(arguments: argparse.Namespace) -> Told:
    """What the command says of the file."""
    from tankwalk.exchange.incoming.understanding import Told

    return Told(
        source=arguments.source or "",
        columns=_pairs(arguments.column, "--column"),
        places=_pairs(arguments.called, "--called"),
        place=arguments.place or "",
        item=arguments.item or "",
        dates=arguments.dates or "",
        zone=arguments.zone or "",
        hour=arguments.at or "",
        decimal=arguments.decimal or "",
        head=arguments.head or 0,
    )


def _pairs(said: list[str] | None, flag: str) -> dict[str, str]:
    """NAME=WHAT, as often as it was said; a name may hold a "=" itself."""
    found = {}
    for one in said or ():
        name, mark, what = one.rpartition("=")
        if not mark or not name.strip() or not what.strip():
            raise Refusal(f"{flag} {one!r} does not say NAME=WHAT: nothing was imported.")
        found[name.strip()] = what.strip()
    return found


def _signs(site: Site, arguments: argparse.Namespace) -> str:
    if arguments.who is None:
        raise Refusal("Say who does this: --who INITIALS. Nothing was changed.")
    from tankwalk.practice import clock_check

    clock_check.refuse(site)
    return site.signs(arguments.who)


def _show(arguments: argparse.Namespace, trial: Trial) -> None:
    from tankwalk.pages import imports
    from tankwalk.pages.glyphs import printable_lines

    view = trial.view()
    if arguments.json:
        print_json(view)
        return
    lines = imports.dry_run(view, arguments.width)
    print(printable_lines(lines, sys.stdout.encoding or "utf-8"))


def _refused(file: str, trial: Trial) -> None:
    from pathlib import Path

    from tankwalk.exchange.incoming.dry_run import refused_to

    many = refused_to(Path(file), trial)
    print(f"{many:,} cells that are not taken are in {file}.")


def _keep(site: Site, arguments: argparse.Namespace, trial: Trial) -> int:
    if trial.incoming is None:
        _show(arguments, trial)
        print("Nothing was kept.")
        return 1
    from tankwalk.practice.importing import keeping

    who, file = _signs(site, arguments), trial.file()
    n = keeping.keep(site, who, file, trial.incoming)
    print(
        f"Kept as import {n}: {file.kept:,} values of {file.source}, {file.refused:,} not taken. "
        f"To take all of it back: tankwalk import --undo {n} --who {who}"
    )
    return 0


def _undo(arguments: argparse.Namespace) -> int:
    from tankwalk.practice.importing import keeping

    site = open_site_of(arguments)
    try:
        found = keeping.undo(site, _signs(site, arguments), arguments.undo)
    finally:
        site.close()
    print(
        f"Import {found.n} of {found.file} is taken back: none of its {found.kept:,} values "
        "counts any more."
    )
    return 0


def _listed(arguments: argparse.Namespace) -> int:
    from tankwalk.pages import imports as drawn
    from tankwalk.practice.importing.view import imports

    return page(arguments, "IMPORTED", imports, drawn.listed)
