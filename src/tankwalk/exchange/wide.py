"""The wide table of an export: a row a tank (loop, site) and local day, a column an item.

A tank is one unit: nothing is averaged across tanks. What is suspect is left out, and a second
reading counts in place of the first, as on every page.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from datetime import UTC, date, datetime

from tankwalk.clock import instant, zone
from tankwalk.exchange.cells import Cells, number_text
from tankwalk.exchange.package_lists import Cell
from tankwalk.exchange.wide_feed import WideFeed
from tankwalk.ledger import export
from tankwalk.ledger.export_columns import As, Column
from tankwalk.ledger.stock import What
from tankwalk.plan.model import Item, Plan
from tankwalk.practice.judging.standing.life import looks_of
from tankwalk.practice.site import SITE
from tankwalk.practice.stock.dead import one_a_round
from tankwalk.practice.trial.water import mean

BUCKET_S = 900
"""Wall clocks are whole quarters of an hour from UTC: within one the day is the same."""

_FISH = {
    What.STOCKED: "stocked", What.MOVED_IN: "moved in", What.MOVED_OUT: "moved out",
    What.CULLED: "culled", What.CANNIBALS: "cannibals taken out alive",
    What.SAMPLED: "sampled and kept", What.ESCAPED: "escaped",
    What.DEAD: "dead of mass events, estimated", What.CENSUS: "counted, the last count of the day",
}  # fmt: skip

_FIRST = (
    Column("site", "", As.WORDS, "name of the site in its plan"),
    Column("place", "", As.WORDS, "tank, loop or site", refers="places.place", needed=True),
    Column("level", "", As.WORDS, "what it is", one_of=("tank", "loop", "site", "other"),
           needed=True),
    Column("day", "", As.DAY, "local day", needed=True),
    Column("lot", "", As.WORDS, "the lot in the tank, by the plan in force", refers="lots.lot"),
    Column("treatment", "", As.WORDS, "its treatment", refers="treatments.treatment"),
    Column("block", "", As.WORDS, "its block"),
    Column("dph", "", As.WHOLE, "days post hatch of the lot", "d"),
)  # fmt: skip


class Wide:
    """The wide table of a record, or of a part of it."""

    def __init__(
        self,
        kept: export.Export,
        plan: Plan,
        scope: export.Scope,
        cells: Cells,
        names: export.Names,
        suspect: Collection[int],
    ) -> None:
        self._kept, self._plan, self._scope, self._cells = kept, plan, scope, cells
        self._names, self._suspect = names, suspect
        self._zone = zone(plan.zone)
        self._days: dict[int, date] = {}
        known = {(one.code, one.unit): one for one in plan.items}
        order = {key: nth for nth, key in enumerate(known)}
        self._items = [
            (n, code, unit, known.get((code, unit)))
            for n, (code, unit) in names.items.items()
            if not scope.items or code in scope.items
        ]
        self._items.sort(key=lambda one: order.get((one[1], one[2]), len(order)))
        self._fish = () if scope.items else tuple(_FISH)
        self._first: dict[int, int] = {}
        """For each item by its number the first of its columns."""
        columns = [*_FIRST]
        taken = {column.name for column in columns}
        for n, code, unit, item in self._items:
            self._first[n] = len(columns)
            columns += [
                one._replace(name=_free(one.name, taken)) for one in _of_item(code, unit, item)
            ]
        self._fish_from = len(columns)
        columns += [
            Column(f"fish_{_plain(what)}", "", As.WHOLE, f"fish {_FISH[what]}", "fish")
            for what in self._fish
        ]
        self._feed_from = len(columns)
        self._feed: WideFeed | None = None
        if not scope.items:
            self._feed = WideFeed(kept, plan, scope, names.places, self._day)
            columns += [one._replace(name=_free(one.name, taken)) for one in self._feed.columns]
        self.columns: tuple[Column, ...] = tuple(columns)

    def lines(self) -> Iterator[str]:
        """The rows as lines of the file, by place in the record's order, then by day."""
        for n, place in self._names.places.items():
            if self._scope.places and place not in self._scope.places:
                continue
            days: dict[date, list[str]] = {}
            for key, code, _, item in self._items:
                self._fill(days, n, key, code, item)
            if self._fish:
                self._fill_fish(days, n)
            if self._feed is not None:
                for day, cells in self._feed.days(place).items():
                    self._row(days, day)[self._feed_from :] = cells
            for day in sorted(days):
                yield self._cells.line([*self._begun(place, day), *days[day][len(_FIRST) :]])

    def _begun(self, place: str, day: date) -> list[str]:
        return [*map(self._cells.cell, self._of_place(place, day))]

    def _of_place(self, place: str, day: date) -> list[Cell]:
        name = self._plan.name
        tank = next((one for one in self._plan.tanks if one.code == place), None)
        if tank is None:
            loops = {one.code for one in self._plan.loops}
            level = "site" if place == SITE else "loop" if place in loops else "other"
            return [name, place, level, day, None, None, None, None]
        lot = next((one for one in self._plan.lots if one.code == tank.lot), None)
        age = None if lot is None else lot.dph(day)
        return [name, place, "tank", day, tank.lot, tank.treatment, tank.block, age]

    def _row(self, days: dict[date, list[str]], day: date) -> list[str]:
        if day not in days:
            days[day] = [""] * len(self.columns)
        return days[day]

    def _fill(
        self, days: dict[date, list[str]], place: int, key: int, code: str, item: Item | None
    ) -> None:
        """One item of one place, day by day."""
        read = self._kept.values(place, key, self._scope)
        if not read:
            return
        at, words = self._first[key], self._cells.words
        for day, here in self._by_day(self._counted(item, read)).items():
            row = self._row(days, day)
            if item is not None and item.kind.by_words:
                row[at] = words(here[-1].text or item.shown(here[-1].value))
                continue
            numbers = [one.value for one in here]
            if item is not None and item.kind.of_animals:
                rounds = self._kept.rounds([one.n for one in here])
                row[at] = str(round(sum(one_a_round(zip(rounds, numbers, strict=True)))))
                continue
            # Twelve digits: what a mean has beyond them is its rounding, and differs by machine.
            middle = float(f"{mean(code, numbers):.12g}")
            row[at : at + 3] = map(number_text, (middle, min(numbers), max(numbers)))
            row[at + 3] = str(len(numbers))

    def _by_day(self, read: Sequence[export.Value]) -> dict[date, list[export.Value]]:
        """What is not suspect, by local day."""
        found: dict[date, list[export.Value]] = {}
        for one in read:
            if one.n not in self._suspect:
                found.setdefault(self._day(one.at), []).append(one)
        return found

    def _fill_fish(self, days: dict[date, list[str]], place: int) -> None:
        for one in self._kept.moved(place, self._scope):
            what = What(one.what)
            if what not in self._fish:
                continue
            row = self._row(days, self._day(one.at))
            at = self._fish_from + self._fish.index(what)
            before = 0 if what is What.CENSUS else int(row[at] or 0)
            row[at] = str(before + one.fish)

    def _counted(self, item: Item | None, read: Sequence[export.Value]) -> Sequence[export.Value]:
        """Values as looks: a second reading in place of the first (`life.looks_of`)."""
        if item is None or not any(one.recheck for one in read):
            return read
        found: list[export.Value] = []
        stretch: list[export.Value] = []
        # Only a reading and the second ones right after it bear on one another.
        for one in read:
            if one.recheck:
                stretch.append(one)
                continue
            found += self._looks(item, stretch)
            stretch = [one]
        return found + self._looks(item, stretch)

    def _looks(self, item: Item, stretch: list[export.Value]) -> list[export.Value]:
        if len(stretch) < 2:
            return stretch

        def together(one: export.Value, other: export.Value) -> bool:
            first, second = self._kept.rounds([one.n, other.n])
            return first == second

        return [look.reading for look in looks_of(item, stretch, together)]

    def _day(self, second: int) -> date:
        bucket = second // BUCKET_S
        day = self._days.get(bucket)
        if day is None:
            if len(self._days) > 100_000:
                self._days.clear()
            moment = datetime.fromtimestamp(bucket * BUCKET_S, UTC)
            day = self._days[bucket] = instant(moment, self._zone).day
        return day


def _of_item(code: str, unit: str, item: Item | None) -> list[Column]:
    label = code if item is None else f"{item.label} ({code})"
    if item is not None and item.kind.by_words:
        return [Column(_plain(code), "", As.WORDS, f"{label}: the last word of the day")]
    whole = _plain(f"{code} {unit}")
    if item is not None and item.kind.of_animals:
        return [Column(whole, "", As.WHOLE, f"{label}: all of the day, one count a round", unit)]
    return [
        Column(whole, "", As.NUMBER, f"{label}: mean of the looks", unit),
        Column(_plain(f"{code} lowest {unit}"), "", As.NUMBER, f"{label}: lowest", unit),
        Column(_plain(f"{code} highest {unit}"), "", As.NUMBER, f"{label}: highest", unit),
        Column(_plain(f"{code} looks"), "", As.WHOLE, f"{label}: how many looks"),
    ]


def _plain(words: str) -> str:
    """Words as a part of a column's name: letters, digits and low lines."""
    return re.sub(r"\W+", "_", words.replace("%", "percent")).strip("_")


def _free(name: str, taken: set[str]) -> str:
    """A name that no other column has."""
    free, nth = name, 2
    while free in taken:
        free, nth = f"{name}_{nth}", nth + 1
    taken.add(free)
    return free
