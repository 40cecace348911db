"""A tank, a loop, the site or a meter with its past: printed, as data, or for the printer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import on_paper, open_site_of, printed

if TYPE_CHECKING:
    import argparse

    from tankwalk.practice.past.view import PlaceView
    from tankwalk.practice.site import Site

PAPER_WIDTH = 100
"""Cells of a page for the printer."""


def tank(arguments: argparse.Namespace) -> int:
    """Print the page of a place: tables, story, plots; Refusal for no such place or item."""
    if arguments.json:
        import json

        from tankwalk.exchange.plain_values import plain_value

        site = open_site_of(arguments)
        print(json.dumps(plain_value(_read(site, arguments)), ensure_ascii=False, indent=2))
        site.close()
        return 0
    from tankwalk.pages import tank_table
    from tankwalk.pages.lines import plain

    def words(site: Site, width: int) -> str:
        return plain(tank_table.as_words(_read(site, arguments), width))

    if arguments.html is None:
        return printed(arguments, words)
    from tankwalk.pages import paper
    from tankwalk.practice.round.paper_round import last_entry

    def page(site: Site) -> str:
        said = words(site, PAPER_WIDTH)
        title = arguments.place.upper()
        return paper.as_printed(title, site.plan.name, site.now(), last_entry(site), said)

    return on_paper(arguments, page)


def _read(site: Site, arguments: argparse.Namespace) -> PlaceView:
    from tankwalk.practice.past.view import place_view

    return place_view(
        site, arguments.place, arguments.days, arguments.back, arguments.item, whole=True
    )
