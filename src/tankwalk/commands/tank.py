"""A tank, a loop, a meter or a batch with its past: printed, as data, or for the printer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import page
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse

    from tankwalk.pages.lines import Line
    from tankwalk.practice.live_feed import BatchView
    from tankwalk.practice.past.view import PlaceView
    from tankwalk.practice.site import Site


def tank(arguments: argparse.Namespace) -> int:
    """Print the page of a place: tables, story, plots; Refusal for no such place or item."""
    return page(arguments, arguments.place.upper(), lambda site: _read(site, arguments), _lines)


def _read(site: Site, arguments: argparse.Namespace) -> PlaceView | BatchView:
    """A place or a meter, else a batch of that name; Refusal where nothing has it."""
    from tankwalk.practice.past.view import find_page, place_view

    place: str = arguments.place
    if find_page(site.plan, place) is None:
        from tankwalk.practice.live_feed import batch_view

        batch = batch_view(site, place)
        if batch is None:
            raise Refusal(f"{place[:20]!r} is no tank, no loop, no meter and no batch here.")
        return batch
    return place_view(site, place, arguments.days, arguments.back, arguments.item, whole=True)


def _lines(view: PlaceView | BatchView, width: int) -> list[Line]:
    from tankwalk.practice.past.view import PlaceView

    if isinstance(view, PlaceView):
        from tankwalk.pages import tank_table

        return tank_table.as_words(view, width)
    from tankwalk.pages import batch

    return batch.draw(view, width)
