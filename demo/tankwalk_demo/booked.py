"""What the record knows of the fish at any moment of the season, read from the acts themselves.

The rations of a meal go by it; asking the record anew at each of some two hundred meals takes
longer than all the rest.
"""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Movement, Reading, Sample
from tankwalk.ledger.stock import COMES_IN, GOES_OUT
from tankwalk.practice.feeding.rations import MASS, Known, Weighed
from tankwalk.practice.stock.dead import MORTS
from tankwalk_demo.acts import Act


class Books:
    """Fish on the book and their last mass sample, as acts have been entered until a moment."""

    def __init__(self, acts: Iterable[Act]) -> None:
        told = [act for act in acts if _tells(act)]
        self._coming = sorted(told, key=lambda act: act.entered, reverse=True)
        self._moved: dict[str, int] = {}
        self._counted: dict[str, Instant] = {}
        self._dead: dict[str, dict[object, int]] = {}
        self._weighed: dict[str, Weighed] = {}
        self._named: dict[str, object] = {}

    def until(self, at: Instant) -> None:
        """Read on: what was entered before a moment is on the book."""
        while self._coming and self._coming[-1].entered < at.utc:
            self._read(self._coming.pop())

    def known(self, tank: str) -> Known:
        """What a ration goes by."""
        if tank not in self._moved:
            return Known()
        fish = self._moved[tank] - sum(self._dead.get(tank, {}).values())
        return Known(max(0, fish), self._counted.get(tank), self._weighed.get(tank))

    def _read(self, act: Act) -> None:
        tank, detail = act.place, act.detail
        match detail:
            case Movement("census", fish):
                self._moved[tank], self._dead[tank] = fish, {}
            case Movement(what, fish):
                sign = (what in COMES_IN) - (what in GOES_OUT)
                self._moved[tank] = self._moved.get(tank, 0) + sign * fish
            case Sample(what, looked_at) if what == MASS and detail.mean is not None:
                self._weighed[tank] = Weighed(detail.mean, looked_at, act.at)
            case Reading(value) if value is not None:
                # A count of the dead that is made again in its round replaces the first, and so
                # does a correction.
                apart = act.round if act.round is not None else object()
                key = self._named.get(act.amends, apart)
                if act.name:
                    self._named[act.name] = key
                self._dead.setdefault(tank, {})[key] = int(value)
        if isinstance(detail, Movement) and detail.what in ("census", *COMES_IN):
            self._counted[tank] = act.at


def _tells(act: Act) -> bool:
    return isinstance(act.detail, Movement | Sample) or act.item == MORTS
