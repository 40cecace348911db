"""Pages of feed printed: the list of a meal, tomorrow worked backwards, a week of a tank."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from tankwalk.commands.common import on_paper, open_site_of, printed

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from tankwalk.clock import Instant
    from tankwalk.practice.site import Site

PAPER_WIDTH = 100
"""Cells of a page for the printer."""


def listed(arguments: argparse.Namespace) -> int:
    """Print the dispensing list of the meal to give now, or of the one named by its time."""
    from tankwalk.commands.feed import meal_at
    from tankwalk.pages import feed as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice.feeding.dispensing import meal_list
    from tankwalk.practice.meal import list_view

    def when(site: Site) -> Instant | None:
        return None if arguments.at is None else meal_at(site, arguments.at)

    def words(site: Site, width: int) -> str:
        view = list_view.made(site, when(site))
        return NO_MEAL if view is None else plain(page.draw(view, width, None))

    return as_asked(arguments, "FEED", lambda site: meal_list(site, when(site)), words)


NO_MEAL = "No meal is planned for today: [[meal]] in the plan says when."


def tomorrow(arguments: argparse.Namespace) -> int:
    """Print what tomorrow's meals need: cones to set, what is chilled and weighed, the balance."""
    from tankwalk.pages import tomorrow as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice.feeding.tomorrow import tomorrow as worked_out

    def words(site: Site, width: int) -> str:
        return plain(page.draw(worked_out(site), width))

    return as_asked(arguments, "TOMORROW", worked_out, words)


def as_asked(
    arguments: argparse.Namespace,
    title: str,
    value: Callable[[Site], object],
    words: Callable[[Site, int], str],
) -> int:
    """A page printed, as one JSON object, or in a file for the printer."""
    if arguments.json:
        from tankwalk.exchange.plain_values import plain_value

        site = open_site_of(arguments)
        print(json.dumps(plain_value(value(site)), indent=2, ensure_ascii=False))
        site.close()
        return 0
    if arguments.html is None:
        return printed(arguments, words)
    from tankwalk.pages import paper
    from tankwalk.practice.round.paper_round import last_entry

    def page(site: Site) -> str:
        said = words(site, PAPER_WIDTH)
        return paper.as_printed(title, site.plan.name, site.now(), last_entry(site), said)

    return on_paper(arguments, page)


def week(arguments: argparse.Namespace) -> int:
    """Print the feed of some days of a tank or treatment, planned beside given."""
    from tankwalk.pages import feed_week as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice.feeding.week import Week, as_json
    from tankwalk.practice.feeding.week import week as days_of

    def read(site: Site) -> Week:
        return days_of(site, arguments.week, arguments.days)

    if arguments.json:
        site = open_site_of(arguments)
        print(json.dumps(as_json(read(site)), indent=2, ensure_ascii=False))
        site.close()
        return 0
    if arguments.html is None:
        return printed(arguments, lambda site, width: plain(page.draw(read(site), width)))
    from tankwalk.pages import week_html
    from tankwalk.practice.round.paper_round import last_entry

    return on_paper(arguments, lambda site: week_html.week(read(site), last_entry(site)))
