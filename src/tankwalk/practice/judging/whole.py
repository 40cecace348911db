"""A round judged as a whole, once its last item is in and again when it is signed.

At a tank only those are known that were read before it: the order of the walk decides what can be
seen. When the round is whole it does not.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import TYPE_CHECKING

from tankwalk.practice.judging.standing.found import Found, keep_found, miss
from tankwalk.practice.site import Site

if TYPE_CHECKING:
    from tankwalk.practice.judging.given import Gathered

Finder = Callable[[Site, int], tuple[Found, ...]]
"""What looks at a round by its number and says what only the whole of it shows."""


def finders(walked: Mapping[str, Gathered] | None = None) -> tuple[Finder, ...]:
    """All that look at a whole round; loaded when a round is whole, not before."""
    from tankwalk.practice.judging import trends
    from tankwalk.practice.judging.dead import whole as dead_whole

    return (partial(trends.whole_round, walked=walked), dead_whole.whole_round)


def judge_whole(
    site: Site, number: int, who: str, walked: Mapping[str, Gathered] | None = None
) -> tuple[Found, ...]:
    """Look at a whole round, keep what it shows, and give what was not standing before.

    What earlier rounds found and this one no longer does is missed once. `walked` is what the walk
    gathered of the record by the way.
    """
    opened = site.reader.rounds.opened_by(number)
    if opened is None:
        return ()  # a look at one place is no round
    found = [one for find in finders(walked) for one in find(site, number)]
    seen = site.reader.readings.of_round(number, opened)
    read = {f"{one.place} {one.item}" for one in seen if one.value is not None}
    with site.ledger.writing():
        new = tuple(one for one in found if keep_found(site, who, one, number))
        miss(site, who, number, found, read)
    return new
