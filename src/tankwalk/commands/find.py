"""Find on the command line: what of the record holds some words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import page, shares

if TYPE_CHECKING:
    import argparse

    from tankwalk.practice.finding.finding import Found
    from tankwalk.practice.site import Site


def find(arguments: argparse.Namespace) -> int:
    """Print what holds the words, the newest first; 1 where nothing does."""
    from tankwalk.pages import find as words

    many = 0

    def found(site: Site) -> Found:
        nonlocal many
        one = _find(site, " ".join(arguments.words), arguments.since)
        many = len(one.hits)
        return one

    page(arguments, "FIND", found, words.print_out)
    return 0 if many else 1


def _find(site: Site, typed: str, since: str | None) -> Found:
    """What was found, once the words of the record are taken in; long work shows how far it is."""
    from tankwalk import paths
    from tankwalk.errors import Refusal
    from tankwalk.practice import times
    from tankwalk.practice.finding.finding import Finder

    try:
        folder = paths.words(paths.environment())
    except Refusal:
        folder = None
    finder = Finder(site, folder)
    show = shares("Reading the words of the record")
    for share in finder.steps():
        if show is not None:
            show(share)
    try:
        return finder.find(typed, None if since is None else times.since(site, since))
    finally:
        finder.close()
