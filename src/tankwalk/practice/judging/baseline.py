"""What a tank usually reads: valid looks, the plan's own movement taken out, and their scatter."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan.model import Item
from tankwalk.practice.meters.suspects import mark_of
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import MAD_TO_SD, median

# Seeds, to be tuned by a site. Common practice, no source.

LOOKS = 16
"""How many looks back a judgement reaches."""
RECENT = 4
"""Usual is the middle of this many looks: two days of two rounds."""
SETTLED = 8
"""Scatter is told from this many."""
FEWEST = 3
"""Fewer looks have no middle to hold a value against."""


class Usual(NamedTuple):
    """What one item usually reads at one place, in the item's unit.

    `recent` is a level as it would be today (a planned ramp is taken out), None where too few
    looks are known; `scatter` is a standard deviation that one wild look does not move, never
    finer than the meter shows.
    """

    looks: tuple[ValueSeen, ...] = ()
    levels: tuple[float, ...] = ()
    recent: float | None = None
    scatter: float = 0.0


def resolution(item: Item) -> float:
    """The smallest step an item is written in."""
    return float(10.0**-item.decimals)


def deadband(item: Item) -> float:
    """How far inside a flag clears, and what change is no more than noise.

    The plan's own, else three of the smallest steps (common practice, no source).
    """
    return 3 * resolution(item) if item.deadband is None else item.deadband


def valid(looks: Sequence[ValueSeen], item: str, marks: Sequence[MarkSeen]) -> list[ValueSeen]:
    """Looks, oldest first, that count: no first value a second did not confirm, none suspect."""
    # Marks grow with the record, looks do not: only those that reach to these looks are asked.
    begun = looks[0].at if looks else 0
    reach = [mark for mark in marks if mark.until >= begun and mark.item == item]
    kept = []
    for nth, look in enumerate(looks):
        after = looks[nth + 1] if nth + 1 < len(looks) else None
        superseded = after is not None and after.recheck and after.round == look.round
        if not superseded and mark_of(reach, look.instrument, item, look.at) is None:
            kept.append(look)
    return kept


def usual(item: Item, looks: Sequence[ValueSeen], moved: Callable[[int], float]) -> Usual:
    """What looks, oldest first, say of what is usual.

    `moved` gives how far the plan's target has moved from a UTC second until now.
    """
    levels = tuple(look.value + moved(look.at) for look in looks)
    if len(levels) < FEWEST:
        return Usual(tuple(looks), levels)
    middle = median(levels[-SETTLED:])
    scatter = MAD_TO_SD * median([abs(level - middle) for level in levels[-SETTLED:]])
    return Usual(
        tuple(looks),
        levels,
        median(levels[-RECENT:]),
        max(scatter, resolution(item)),
    )
