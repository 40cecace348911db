"""What commands share: the site they open, its screen, a page printed or on paper."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, TypeVar

from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from tankwalk.ledger.store import Station
    from tankwalk.pages.lines import Line
    from tankwalk.practice.site import Site
    from tankwalk.screens.beginnings import Start

PRINT_WIDTH = 80
"""Cells of a printed page."""


def station() -> Station:
    """This laptop as the record names it."""
    from tankwalk import paths
    from tankwalk.ledger.store import Station

    def new_key() -> str:
        from uuid import uuid4

        return str(uuid4())

    return Station(*paths.station(paths.environment(), new_key))


def open_site_of(arguments: argparse.Namespace, folder: Path | None = None) -> Site:
    """The site the arguments name, else the last one used; open, and remembered."""
    from tankwalk import paths
    from tankwalk.practice.site import open_site

    environ = paths.environment()
    chosen = folder or paths.choose_site(arguments.site, environ)
    plans = paths.home(environ) / "plans"
    seals = paths.seals(environ, chosen)
    site = open_site(
        chosen, station(), arguments.now, plans=plans, seals=seals, older=_back_up_older
    )
    site.signed = _back_up
    paths.remember_site(chosen, environ)
    warning = paths.shared_folder(chosen)
    if warning:
        print(warning, file=sys.stderr)
    return site


def _back_up(site: Site) -> None:
    """After a sign-off: a backup beside the program, where it is work and no rehearsal."""
    from tankwalk.practice.keeping import background

    background.begin(site)


def _back_up_older(site: Site) -> None:
    """A backup of a record of an older version, which is brought forward next; said on stderr."""
    import gc

    from tankwalk.pages import keeping_words
    from tankwalk.practice.keeping import forward

    gc.enable()
    shown = shares("The record is of an older tankwalk: checking a backup of it first")
    print(keeping_words.before(forward.back_up(site, shown)), file=sys.stderr)


def begun_anew(folder: Path) -> None:
    """A record was begun in a folder: what this laptop knew of one before there is forgotten."""
    from tankwalk import paths
    from tankwalk.ledger import proof

    proof.forget(paths.seals(paths.environment(), folder))
    paths.remember_site(folder, paths.environment())


def on_screen(site: Site, first: Start = "board") -> int:
    """Show a site on the screen until it is left; 1 where it ended with a fault."""
    from tankwalk.screens.app import run

    try:
        words = run(site, first)
    finally:
        site.close()
    if words:
        print(words, file=sys.stderr)
        return 1
    return 0


def terminal() -> bool:
    """Whether there is a terminal to draw on and to type at."""
    return all(s is not None and s.isatty() for s in (sys.stdin, sys.stdout))


def shares(words: str, *, plain: bool = False) -> Callable[[float], None] | None:
    """What shows how far a long job is, 0 to 1, on one line that is wiped at the end.

    Where standard error is no terminal, nothing is shown; with `plain` a line every few seconds.
    """
    seen = sys.stderr
    if seen is None or seen.closed:
        return None
    if not seen.isatty():
        return _now_and_then(words) if plain else None

    def show(share: float) -> None:
        line = f"{words}: {share:4.0%}"
        end = "\r" + " " * len(line) + "\r" if share >= 1 else ""
        print(f"\r{line}", end=end, file=seen, flush=True)

    return show


FIRST_AFTER, THEN_EVERY = 1.0, 10.0
"""Seconds after which a long job says how far it is in lines, and between two of them."""


def _now_and_then(words: str) -> Callable[[float], None]:
    """What says in plain lines how far a long job is."""
    from tankwalk.clock import running

    due = running() + FIRST_AFTER

    def show(share: float) -> None:
        nonlocal due
        if share < 1 and running() >= due:
            due = running() + THEN_EVERY
            print(f"{words}: {share:.0%}", file=sys.stderr, flush=True)

    return show


def lines_in() -> Iterator[str]:
    """Lines of standard input; a byte that is not UTF-8 becomes a mark, never an end."""
    for raw in sys.stdin.buffer:
        yield raw.decode("utf-8", "replace").rstrip("\r\n")


def said(words: str) -> None:
    """Say a line, at once."""
    print(words, flush=True)


def need_terminal(command: str = "") -> None:
    """Refuse before anything is opened: there is nothing to draw on.

    With the words of a command that goes line by line too.
    """
    if command and not terminal():
        raise Refusal(
            "There is no terminal here: nothing was done. It goes line by line with: "
            f"tankwalk {command} --plain"
        )
    if not terminal():
        raise Refusal(
            "There is no terminal here. Print a page with: tankwalk board; or walk line by line "
            "with: tankwalk walk --plain"
        )


def open_screen(arguments: argparse.Namespace) -> int:
    """Open the site on the board."""
    need_terminal()
    return on_screen(open_site_of(arguments))


def width_of(arguments: argparse.Namespace) -> int:
    """The width a page is printed at; Refusal outside 40 to 400 cells."""
    if not 40 <= arguments.width <= 400:
        raise Refusal(f"A page is 40 to 400 cells wide, not {arguments.width}.")
    return int(arguments.width)


V = TypeVar("V")

PAPER_WIDTH = 100
"""Cells of a page for the printer that is set as it is printed."""


def page(
    arguments: argparse.Namespace,
    title: str,
    value: Callable[[Site], V],
    lines: Callable[[V, int], list[Line]],
    paper: Callable[[V, str], str] | None = None,
    as_json: Callable[[V], object] | None = None,
) -> int:
    """Print a page of the site as text, as one JSON object, or in a file for the printer.

    `value` is all that the page shows, read once. What it is as JSON is worked out from it by
    `as_json`, else its fields under their names. `paper` is its own page for the printer, given
    also the seal of the record; else it is the text in a frame with `title`.
    """
    width = width_of(arguments)
    site = open_site_of(arguments)
    try:
        seal = site.reader.spine.seal().words  # what is read after it holds all up to it
        found = value(site)
        if arguments.json:
            print_json(found if as_json is None else as_json(found))
        elif getattr(arguments, "html", None) is None:
            from tankwalk.pages.glyphs import printable_lines

            print(printable_lines(lines(found, width), sys.stdout.encoding or "utf-8"))
            print(_sealed(seal))
        else:
            from tankwalk.pages import paper as set_as
            from tankwalk.pages.lines import plain

            if paper is not None:
                _put_on_paper(arguments, paper(found, seal))
            else:
                said = plain(lines(found, PAPER_WIDTH))
                name, now = site.plan.name, site.now()
                _put_on_paper(arguments, set_as.as_printed(title, name, now, seal, said))
    finally:
        site.close()
    return 0


def _sealed(seal: str) -> str:
    """The last line of a printed page: `tankwalk check --seal` holds it against the record."""
    return f" Seal {seal}"


def print_json(value: object) -> None:
    """Print a value as one JSON object: moments in ISO 8601, names as they stand."""
    import json

    from tankwalk.exchange.plain_values import plain_value

    print(json.dumps(plain_value(value), indent=2, ensure_ascii=False, allow_nan=False))


def _put_on_paper(arguments: argparse.Namespace, words: str) -> None:
    """Write a page as a file that a browser prints."""
    from pathlib import Path

    from tankwalk.exchange import printed

    printed.write(Path(arguments.html), words)
    print(f"The page is in {arguments.html}: open it in a browser and print it.")


def printed(arguments: argparse.Namespace, page: Callable[[Site, int], str]) -> int:
    """Print a page of the site that no value of it alone makes."""
    width = width_of(arguments)
    site = open_site_of(arguments)
    from tankwalk.pages.glyphs import printable

    seal = site.reader.spine.seal().words
    print(printable(page(site, width), sys.stdout.encoding or "utf-8"))
    print(_sealed(seal))
    site.close()
    return 0


def on_paper(arguments: argparse.Namespace, page: Callable[[Site, str], str]) -> int:
    """Write a page that no value of it alone makes, with its seal, as a browser prints it."""
    site = open_site_of(arguments)
    seal = site.reader.spine.seal().words
    _put_on_paper(arguments, page(site, seal))
    site.close()
    return 0
