"""Feed: a meal walked on the screen or line by line."""

from __future__ import annotations

import gc
import sys
from typing import TYPE_CHECKING

from tankwalk.commands.common import lines_in, need_terminal, on_screen, open_site_of, said
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse

    from tankwalk.clock import Instant
    from tankwalk.practice.site import Site


def feed(arguments: argparse.Namespace) -> int:
    """Give the meal that is due, or the one named: on the screen or line by line; or a page."""
    if arguments.week is not None:
        from tankwalk.commands import feed_pages

        return feed_pages.week(arguments)
    if not arguments.plain:
        need_terminal()
        return on_screen(open_site_of(arguments), "feed")
    if sys.stdin is None:
        raise Refusal(
            "Standard input is closed: a meal line by line takes its answers there. "
            "Nothing was begun."
        )
    if arguments.who is None:
        raise Refusal("Say who gives the meal: tankwalk feed --plain --who INITIALS.")
    from tankwalk import plain_feed
    from tankwalk.practice import clock_check

    gc.enable()
    site = open_site_of(arguments)
    try:
        clock_check.refuse(site)
        meal = None if arguments.at is None else _meal_at(site, arguments.at)
        given_at = None if arguments.given is None else _given(site, arguments.given)
        return plain_feed.feed(site, lines_in(), said, arguments.who, meal, given_at)
    finally:
        site.close()


def _meal_at(site: Site, words: str) -> Instant:
    """The planned meal of today at a time; Refusal where none is."""
    from tankwalk.practice.meal import which

    planned = [one.at for one in which.of_today(site, site.now())]
    digits = words.replace(":", "")
    found = next((at for at in planned if at.hm().replace(":", "") == digits), None)
    if found is None:
        known = ", ".join(at.hm() for at in planned) or "none"
        raise Refusal(f"No meal is planned at {words[:10]}; those of today: {known}.")
    return found


def _given(site: Site, words: str) -> Instant:
    from tankwalk.practice.meal import which

    return which.earlier(site, words)
