"""Pages of feed printed: the list of a meal, tomorrow worked backwards, a week of a tank."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import page

if TYPE_CHECKING:
    import argparse

    from tankwalk.clock import Instant
    from tankwalk.pages.lines import Line
    from tankwalk.practice.feeding.week import Week
    from tankwalk.practice.meal.list_view import ListView
    from tankwalk.practice.site import Site


NO_MEAL = "No meal is planned for today: [[meal]] in the plan says when."


def listed(arguments: argparse.Namespace) -> int:
    """Print the dispensing list of the meal to give now, or of the one named by its time."""
    from tankwalk.commands.feed import meal_at
    from tankwalk.pages import feed as words_of
    from tankwalk.pages.lines import wrapped
    from tankwalk.practice.meal import list_view

    def read(site: Site) -> ListView | None:
        when: Instant | None = None if arguments.at is None else meal_at(site, arguments.at)
        return list_view.made(site, when)

    def lines(view: ListView | None, width: int) -> list[Line]:
        return (
            wrapped(width, NO_MEAL, "plain", 4, "")
            if view is None
            else (words_of.draw(view, width, None))
        )

    def as_json(view: ListView | None) -> dict[str, object] | None:
        if view is None:
            return None
        return {**view.list._asdict(), "together": view.list.together}

    return page(arguments, "FEED", read, lines, as_json=as_json)


def tomorrow(arguments: argparse.Namespace) -> int:
    """Print what tomorrow's meals need: cones to set, what is chilled and weighed, the balance."""
    from tankwalk.pages import tomorrow as words_of
    from tankwalk.practice.feeding.tomorrow import as_json
    from tankwalk.practice.feeding.tomorrow import tomorrow as worked_out

    return page(arguments, "TOMORROW", worked_out, words_of.draw, as_json=as_json)


def week(arguments: argparse.Namespace) -> int:
    """Print the feed of some days of a tank or treatment, planned beside given."""
    from tankwalk.pages import feed_week as words_of
    from tankwalk.pages import week_html
    from tankwalk.practice.feeding.week import as_json
    from tankwalk.practice.feeding.week import week as days_of

    def read(site: Site) -> Week:
        return days_of(site, arguments.week, arguments.days)

    return page(arguments, "FEED", read, words_of.draw, week_html.week, as_json)
