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
    if arguments.list or arguments.tomorrow:
        from tankwalk.commands import feed_pages

        return feed_pages.listed(arguments) if arguments.list else feed_pages.tomorrow(arguments)
    if not arguments.plain:
        need_terminal("feed")
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
        meal = None if arguments.at is None else meal_at(site, arguments.at)
        given_at = None if arguments.given is None else _given(site, arguments.given)
        return plain_feed.feed(site, lines_in(), said, arguments.who, meal, given_at)
    finally:
        site.close()


def meal_at(site: Site, words: str) -> Instant:
    """The planned meal of a time as typed, "10:00" or "1000"; Refusal where there is none."""
    from tankwalk.practice.feeding.dispensing import at_time

    digits = words.replace(":", "")
    clock = digits.isascii() and digits.isdecimal() and 3 <= len(digits) <= 4
    if not clock or int(digits[:-2]) > 23 or int(digits[-2:]) > 59:
        raise Refusal(f"{words[:10]!r} is no time of day: write it as 10:00.")
    return at_time(site.plan, site.now(), int(digits[:-2]), int(digits[-2:]))


def _given(site: Site, words: str) -> Instant:
    from tankwalk.practice.meal import which

    return which.earlier(site, words)
