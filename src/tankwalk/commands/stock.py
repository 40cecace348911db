"""Stock printed: all tanks, one tank, or the animal-use ledger; as text, JSON or on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.feed_pages import as_asked
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse

    from tankwalk.practice.site import Site


def stock(arguments: argparse.Namespace) -> int:
    """Print the stock; 0 always, a Refusal for a tank the plan does not have."""
    from tankwalk.pages import stock as page
    from tankwalk.pages import stock_tank
    from tankwalk.pages.lines import plain
    from tankwalk.practice import stock_view

    def value(site: Site) -> object:
        view = stock_view.view(site)
        if arguments.ledger:
            return view.use
        return view.row(_tank(site, arguments.tank)) if arguments.tank else view

    def words(site: Site, width: int) -> str:
        view = stock_view.view(site)
        if arguments.ledger:
            return plain(page.ledger(view.use, site.plan.name, view.now, width))
        if arguments.tank:
            return plain(stock_tank.draw(view, _tank(site, arguments.tank), width))
        return plain(page.draw(view, width, None))

    return as_asked(arguments, "STOCK", value, words)


def _tank(site: Site, code: str) -> str:
    """A tank of the plan by its code, in any case."""
    found = next((t.code for t in site.plan.tanks if t.code.upper() == code.strip().upper()), None)
    if found is None:
        known = ", ".join(tank.code for tank in site.plan.tanks)
        raise Refusal(f"{code[:12]!r} is no tank of the plan ({known}).")
    return found
