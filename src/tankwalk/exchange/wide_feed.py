"""Feed in the wide table of an export: what went into a tank on a local day, and its meals."""

from __future__ import annotations

import re
from array import array
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from math import fsum

from tankwalk.exchange.cells import number_text
from tankwalk.ledger import export
from tankwalk.ledger.export_columns import As, Column
from tankwalk.plan.feed_model import FeedKind
from tankwalk.plan.model import Plan
from tankwalk.practice.feeding.meals import APART_SECONDS, MISSED
from tankwalk.practice.site import SITE
from tankwalk.rows import NamedTuple

DRY_UNIT, LIVE_UNIT = "g", "thousand"
"""Units of what was given in all, by kind: as the plan's feeds have them."""


class Day(NamedTuple):
    """What the record says of one place and day."""

    given: dict[tuple[str, str], list[float]]
    """Amounts by feed and unit."""
    meals: set[int]
    """UTC seconds of planned meals that were given."""
    other: list[int]
    """UTC seconds at which feed went in that belongs to no planned meal."""
    missed: set[int]
    """UTC seconds of planned meals that somebody said were missed."""


_MEAL, _OTHER, _MISSED = 0, 1, 2
"""What a row is of: a planned meal, feed that belongs to none, a planned meal that was missed."""


class _Rows:
    """The feed of one place, in as little room as numbers take: years of it are held at once."""

    def __init__(self) -> None:
        self._how, self._at = array("b"), array("q")
        self._feed, self._amount = array("h"), array("d")

    def add(self, how: int, at: int, feed: int, amount: float) -> None:
        self._how.append(how)
        self._at.append(at)
        self._feed.append(feed)
        self._amount.append(amount)

    def each(self) -> Iterator[tuple[int, int, int, float]]:
        return zip(self._how, self._at, self._feed, self._amount, strict=True)


class WideFeed:
    """The columns of feed, and what they hold of a place and day."""

    def __init__(
        self,
        kept: export.Export,
        plan: Plan,
        scope: export.Scope,
        places: Mapping[int, str],
        day: Callable[[int], date],
    ) -> None:
        self._feeds = kept.feeds(scope)
        kinds = {one.code: one.kind for one in plan.feeds}
        self._kinds = [_kind(kinds.get(feed), unit) for feed, unit in self._feeds]
        labels = {one.code: one.label for one in plan.feeds}
        self.columns = (
            Column("feed_dry_g", "", As.NUMBER, "dry feed given, all together", DRY_UNIT),
            Column("feed_live_thousand", "", As.NUMBER, "live feed given, all together",
                   LIVE_UNIT),
            *(
                Column(re.sub(r"\W+", "_", f"feed_{feed}_{unit}").strip("_"), "", As.NUMBER,
                       f"{labels.get(feed, feed)} ({feed}) given", unit)
                for feed, unit in self._feeds
            ),
            Column("meals_given", "", As.WHOLE, "meals at which it was fed", "meals"),
            Column("meals_missed", "", As.WHOLE,
                   "planned meals of which somebody said why they were missed", "meals"),
        )  # fmt: skip
        self._of: dict[str, _Rows] = {}
        nth = {feed: k for k, feed in enumerate(self._feeds)}
        within = {one.code: (one.code, one.loop, SITE) for one in plan.tanks}
        known = {*scope.places} or {*places.values()}
        for one in kept.fed(scope):
            place = SITE if one.place is None else places[one.place]
            if one.event is None:
                if one.amount > 0 and place in known:
                    how = _OTHER if one.meal_at is None else _MEAL
                    at = one.at if one.meal_at is None else one.meal_at
                    self._rows(place).add(how, at, nth[one.feed, one.unit], one.amount)
            elif one.event.startswith(MISSED) and one.meal_at is not None:
                for tank, around in within.items():
                    if place in around and tank in known:
                        self._rows(tank).add(_MISSED, one.meal_at, 0, 0.0)
        self._day = day

    def _rows(self, place: str) -> _Rows:
        return self._of.setdefault(place, _Rows())

    def days(self, place: str) -> dict[date, list[str]]:
        """The cells of a place by day: empty where nothing was given, or nothing was said."""
        found: dict[date, Day] = {}
        for how, at, feed, amount in self._rows(place).each():
            there = found.setdefault(self._day(at), Day({}, set(), [], set()))
            if how == _MISSED:
                there.missed.add(at)
                continue
            there.given.setdefault(self._feeds[feed], []).append(amount)
            if how == _MEAL:
                there.meals.add(at)
            else:
                there.other.append(at)
        return {here: self._cells(one) for here, one in found.items()}

    def _cells(self, there: Day) -> list[str]:
        amounts = [there.given.get(feed, []) for feed in self._feeds]
        of_kind = [
            [
                x
                for kind, one in zip(self._kinds, amounts, strict=True)
                if kind is wanted
                for x in one
            ]
            for wanted in (FeedKind.DRY, FeedKind.LIVE)
        ]
        times = sorted(there.other)
        apart = sum(n == 0 or at - times[n - 1] > APART_SECONDS for n, at in enumerate(times))
        given = len(there.meals) + apart
        return [
            *map(_sum, [*of_kind, *amounts]),
            str(given),
            str(len(there.missed - there.meals)),
        ]


def _kind(kind: FeedKind | None, unit: str) -> FeedKind | None:
    """What a feed counts as in the sums; None where the plan has it not, or in another unit."""
    known = {FeedKind.DRY: DRY_UNIT, FeedKind.LIVE: LIVE_UNIT}
    return kind if kind is not None and known.get(kind) == unit else None


def _sum(amounts: list[float]) -> str:
    return number_text(float(f"{fsum(amounts):.12g}")) if amounts else ""
