"""Judging on the command line: flags and what came of them, or one item with a limit tried."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import page
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse

    from tankwalk.pages.lines import Line
    from tankwalk.practice.learning.trying import Case, Tried
    from tankwalk.practice.learning.view import AtPlace
    from tankwalk.practice.site import Site


def judging(arguments: argparse.Namespace) -> int:
    """Print what judging did in the last days; with a place and an item their flags and looks.

    With other limits it prints what they would have done; nothing is written.
    """
    if arguments.place is None:
        from tankwalk.pages import judging as words
        from tankwalk.practice.learning.view import learned

        return page(arguments, "JUDGING", lambda site: learned(site, arguments.days), words.draw)
    if arguments.item is None:
        return page(arguments, "JUDGING", lambda site: _at_place(site, arguments), _of_place)
    return page(arguments, "JUDGING", lambda site: _case(site, arguments), _lines, as_json=_as_json)


def _at_place(site: Site, arguments: argparse.Namespace) -> AtPlace:
    from tankwalk.practice.learning.view import at_place

    return at_place(site, _place(site, arguments.place), arguments.days)


def _of_place(found: AtPlace, width: int) -> list[Line]:
    from tankwalk.pages import judging as words

    return words.draw_place(found, width)


def _place(site: Site, typed: str) -> str:
    """A place by its code, or its number alone. Refusal for one that the plan has not."""
    from tankwalk.practice.past.view import find_place

    place = find_place(site.plan, typed)
    if place is None:
        raise Refusal(f"{typed[:20]} is no tank and no loop here.")
    return place


def _case(site: Site, arguments: argparse.Namespace) -> tuple[Case, Tried | None]:
    from tankwalk.practice.learning.trying import case, tried
    from tankwalk.practice.past.window import window

    known = case(
        site,
        _place(site, arguments.place),
        arguments.item,
        window(site, site.now(), arguments.days),
    )
    limits = (arguments.low, arguments.high, arguments.within)
    return known, None if limits == (None, None, None) else tried(site, known, *limits)


def _lines(found: tuple[Case, Tried | None], width: int) -> list[Line]:
    from tankwalk.pages import judging as words

    return words.draw_case(*found, width)


def _as_json(found: tuple[Case, Tried | None]) -> object:
    """A case with its looks and flags; what was tried without the whole plan."""
    from tankwalk.practice.learning.talk import foretold

    known, tried = found
    said: dict[str, object] = known._asdict()
    if tried is not None:
        of = tried._asdict()
        said["tried"] = {
            key: of[key] for key in ("moved", "band", "flags", "act", "out", "told", "lost")
        }
        said["foretold"] = foretold(tried)
    return said
