"""Samples of fish on the command line: a sitting walked or printed, and all tanks with growth."""

from __future__ import annotations

import gc
from typing import TYPE_CHECKING

from tankwalk.commands.common import lines_in, need_terminal, on_screen, open_site_of, page, said
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse

    from tankwalk.pages.lines import Line
    from tankwalk.practice.samples.sampling import SamplesView
    from tankwalk.practice.samples.sitting_view import SittingView
    from tankwalk.practice.site import Site


def sample(arguments: argparse.Namespace) -> int:
    """Look at the fish of a tank one by one, on the screen or line by line; or print them."""
    if arguments.list or arguments.json or arguments.html is not None:
        return page(
            arguments,
            f"SAMPLE {arguments.tank.upper()}",
            lambda site: _latest(site, arguments.tank),
            _printed,
        )
    from tankwalk.practice.samples.sitting_talk import tank_of

    if not arguments.plain:
        need_terminal(f"sample {arguments.tank}")
        from tankwalk.screens.beginnings import SampleAt

        site = open_site_of(arguments)
        tank = tank_of(site, arguments.tank).code
        who = "" if arguments.who is None else site.signs(arguments.who)
        return on_screen(site, SampleAt(tank, who))
    from tankwalk.plain_sample import PlainSample
    from tankwalk.practice import clock_check

    gc.enable()
    site = open_site_of(arguments)
    try:
        clock_check.refuse(site)
        tank = tank_of(site, arguments.tank).code
        return PlainSample(site, lines_in(), said, arguments.who).run(tank)
    finally:
        site.close()


def _latest(site: Site, code: str) -> SittingView:
    from tankwalk.practice.samples.sitting_talk import tank_of
    from tankwalk.practice.samples.sitting_view import latest

    tank = tank_of(site, code).code
    found = latest(site, tank)
    if found is None:
        raise Refusal(f"No fish of {tank} were looked at one by one in the last 60 days.")
    return found


def _printed(view: SittingView, width: int) -> list[Line]:
    from tankwalk.pages import sample as drawn

    return drawn.printed(view, width)


def samples(arguments: argparse.Namespace) -> int:
    """Print what each tank owes and what was found last, and what its fish grew."""
    return page(arguments, "SAMPLES", _all, _all_printed)


def _all(site: Site) -> SamplesView:
    from tankwalk.practice.samples import growth_table, sampling

    return sampling.view(site)._replace(growth=growth_table.growth_of_all(site))


def _all_printed(view: SamplesView, width: int) -> list[Line]:
    from tankwalk.pages import samples as drawn
    from tankwalk.pages.lines import blank

    first = drawn.draw(view, (-1, -1), width, None)
    return [*first, blank(width), *drawn.growth(view, width)]
