"""A tank, a loop, a meter or a batch with its past: printed, as data, or for the printer."""

from __future__ import annotations

from functools import partial
from itertools import pairwise
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
    read, name = partial(_read, arguments=arguments), arguments.place.upper()
    return page(arguments, name, read, _lines, as_json=_as_json)


def _as_json(view: PlaceView | BatchView) -> object:
    """The page as data, with what its table works out: the book in %, what fish gained."""
    from tankwalk.practice.past.view import PlaceView

    if not isinstance(view, PlaceView):
        return view
    days = () if view.dead is None else view.dead.days
    percents = {one.day: view.dead.percent(one) for one in days} if view.dead is not None else {}
    gained = {
        one.item.code: [
            {"at": later.at, "gained": round(later.value - earlier.value, 6)}
            for earlier, later in pairwise(one.taken)
            if later.value is not None and earlier.value is not None
        ]
        for one in view.growth
    }
    return {**view._asdict(), "book_percent": percents, "gained": gained}


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
