"""The past of every tank for a wide board: of the item that matters most there, and its dead."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from tankwalk.clock import at, zone
from tankwalk.plan.bands import band_for
from tankwalk.plan.model import Band, Item, Level
from tankwalk.practice.board import Board
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meters.suspects import marks_by_meter
from tankwalk.practice.past.dead_days import DeadDay, dead_days
from tankwalk.practice.past.series import LookAt, looks
from tankwalk.practice.site import Site
from tankwalk.practice.stock.dead import MORTS
from tankwalk.practice.tiles import Tile
from tankwalk.rows import NamedTuple


class TilePlot(NamedTuple):
    """What is drawn of one tank: the looks at one item, oldest first, and the dead by day.

    `flag` is that of the item, `value` its newest reading in words; `dead` is () where the plan
    counts none.
    """

    item: Item
    band: Band | None
    flag: Flag
    value: str
    looks: tuple[LookAt, ...]
    dead: tuple[DeadDay, ...]


def with_plots(site: Site, found: Board, days: int) -> Board:
    """A board with the past of its tanks, so many days of it: a question for each item drawn."""
    with site.ledger.reading():
        return found._replace(plots=_plots(site, found, days))


def _plots(site: Site, found: Board, days: int) -> tuple[TilePlot, ...]:
    plan, now, gauge = site.plan, found.now, found.gauge
    if gauge is None:
        return ()
    since = at(now.day - timedelta(days=days - 1), 0, 0, zone(plan.zone)).utc
    items = [_item(found, tile, gauge.item) for tile in found.tiles]
    morts = plan.find_item(MORTS)
    reader = site.reader.readings
    wanted = {one.code: one for one in (*items, *((morts,) if morts else ()))}
    seen = {code: reader.since(code, one.unit, since) for code, one in wanted.items()}
    marks = marks_by_meter(site)
    of = {
        code: tuple(one for (_, about), here in marks.items() if about == code for one in here)
        for code in wanted
    }
    plots = []
    for tile, item in zip(found.tiles, items, strict=True):
        code = tile.tank.code
        here = seen[item.code].get(code, [])
        newest = next((one.value for one in reversed(here) if one.value is not None), None)
        counts = seen[MORTS].get(code, []) if morts else []
        plots.append(
            TilePlot(
                item,
                band_for(plan, item, tank=tile.tank, loop=None, on=now.day),
                _flag(found, tile, item),
                tile.value if item is gauge.item and newest is None
                else "" if newest is None else item.shown(newest, bare=True),
                looks(item, here, of[item.code]),
                dead_days(counts).days,
            )
        )  # fmt: skip
    return tuple(plots)


def _item(found: Board, tile: Tile, gauge: Item) -> Item:
    """What matters most at a tank: the worst number that is flagged there, else what all show.

    The dead have bars of their own.
    """
    for one in found.incidents:
        item = one.item
        drawn = item.level is Level.TANK and item.kind.by_band and not item.kind.of_animals
        if drawn and not item.derived and tile.tank.code in one.places:
            return item
    return gauge


def _flag(found: Board, tile: Tile, item: Item) -> Flag:
    here: Sequence[Flag] = [
        one.flag
        for one in found.incidents
        if one.item.code == item.code and tile.tank.code in one.places
    ]
    return max(here, default=Flag.OK)
