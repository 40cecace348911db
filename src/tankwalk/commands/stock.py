"""Stock printed: all tanks, one tank, or the animal-use ledger; as text, JSON or on paper."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from tankwalk.commands.common import page
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse

    from tankwalk.pages.lines import Line
    from tankwalk.practice.site import Site
    from tankwalk.practice.stock_view import StockView


def stock(arguments: argparse.Namespace) -> int:
    """Print the stock; 0 always, a Refusal for a tank the plan does not have."""
    from tankwalk.pages import stock as words_of
    from tankwalk.pages import stock_tank

    def read(site: Site) -> tuple[StockView, str | None, str]:
        from tankwalk.practice import stock_view

        tank = _tank(site, arguments.tank) if arguments.tank else None
        return stock_view.view(site), tank, site.plan.name

    def as_json(found: tuple[StockView, str | None, str]) -> object:
        view, tank, _ = found
        share = view.use.share
        use = {**view.use._asdict(), "approved_share": share}
        if arguments.ledger:
            return {"use": use}
        if tank is not None:
            row = view.row(tank)
            if row is None:
                return None
            causes: Counter[str] = Counter()
            for day in row.days:
                causes.update(dict(day.causes))
            return {**row._asdict(), "volume_l": row.tank.volume_l, "causes": causes}
        fish = sum(row.numbers.best.fish for row in view.rows if row.numbers is not None)
        return {**view._asdict(), "use": use, "best_fish": fish}

    def lines(found: tuple[StockView, str | None, str], width: int) -> list[Line]:
        view, tank, name = found
        if arguments.ledger:
            return words_of.ledger(view.use, name, view.now, width)
        if tank is not None:
            return stock_tank.draw(view, tank, width)
        return words_of.draw(view, width, None)

    return page(arguments, "STOCK", read, lines, as_json=as_json)


def _tank(site: Site, code: str) -> str:
    """A tank of the plan by its code, in any case."""
    found = next((t.code for t in site.plan.tanks if t.code.upper() == code.strip().upper()), None)
    if found is None:
        known = ", ".join(tank.code for tank in site.plan.tanks)
        raise Refusal(f"{code[:12]!r} is no tank of the plan ({known}).")
    return found
