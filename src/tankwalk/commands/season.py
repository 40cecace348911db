"""The season on the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import page, shares

if TYPE_CHECKING:
    import argparse

    from tankwalk.clock import Instant
    from tankwalk.practice.season.view import Season
    from tankwalk.practice.site import Site


def season(arguments: argparse.Namespace) -> int:
    """Print what a lead asks at the end: what went in, came out, went wrong, and what it cost."""
    from tankwalk.pages import season as words

    def found(site: Site) -> Season:
        from tankwalk.practice import times
        from tankwalk.practice.season.view import season as read

        def moment(typed: str | None) -> Instant | None:
            return None if typed is None else times.since(site, typed)

        show = shares("Reading the season")
        return read(site, moment(arguments.since), moment(arguments.until), show)

    return page(arguments, "SEASON", found, words.draw)
