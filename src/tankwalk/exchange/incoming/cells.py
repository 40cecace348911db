"""The lines of a file read: each value with its place, item and moment, or why it is not taken."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from tankwalk import quantity, units
from tankwalk.clock import BACK_MINUTES
from tankwalk.errors import Refusal
from tankwalk.exchange.incoming import columns, heads
from tankwalk.exchange.incoming.columns import Column, Means
from tankwalk.exchange.incoming.moments import Moments
from tankwalk.exchange.incoming.opened import lines
from tankwalk.exchange.incoming.understanding import Understood
from tankwalk.figures import number_text
from tankwalk.ledger.incoming import Channel, Incoming, Row, TurnedDown
from tankwalk.plan.kinds import SUBSTANCES
from tankwalk.plan.model import Item, Plan
from tankwalk.rows import NamedTuple

TOGETHER = 5000
"""Values that are laid out together."""

_REMEMBERED = 20_000
"""Cells whose value is remembered: a logger writes the same few hundred again and again."""

_LONGEST = 200
"""Characters of a cell that are kept of one that is not taken."""

_WITHOUT_UNIT = ("standard units", "std units", "ph units", "ph", "none", "unitless", "-", "1")
"""What a column of units says of a value that has none, such as pH."""

Read = tuple[float, int, str | None]
"""A cell as a value: in the item's unit, whether below (0 or 1), the cell where it says more."""


class Tally(NamedTuple):
    """What was gone through: lines, and cells without a value by what they say."""

    lines: int
    without: Counter[str]
    twice: int


class Cells:
    """Reads the cells of one file."""

    def __init__(self, plan: Plan, how: Understood, now: int) -> None:
        """`now` is the UTC second after which nothing can have been written yet."""
        self._latest = now + 60 * BACK_MINUTES
        self._plan = plan
        self._how = how
        self._values = how.values  # asked for each line, so worked out once
        self._at = {means: how.at(means) for means in Means}
        self._items = {item.code: item for item in plan.items}
        self._moments = Moments(how.when)
        self._read: dict[tuple[str, str, str | None], Read | str] = {}
        self._places: dict[str, str | None] = {}
        self._found: dict[tuple[str, str | None], Item | None] = {}
        self._units: dict[str, str | None] = {}
        self.without: Counter[str] = Counter()
        self.lines = 0

    def lay(self, into: Incoming, progress: Callable[[float], None] | None = None) -> Tally:
        """Lay all values of the file out, and what is not taken."""
        rows: list[Row] = []
        refused: list[TurnedDown] = []
        for line, cells in lines(self._how.sheet):
            if line < self._how.head.first:
                continue
            self.lines += 1
            self._line(line, cells, into, rows, refused)
            if len(rows) + len(refused) >= TOGETHER:
                into.lay(rows)
                into.turn_down(refused)
                if progress:
                    progress(min(0.99, line / self._how.sheet.lines))
                rows, refused = [], []
        into.lay(rows)
        into.turn_down(refused)
        return Tally(self.lines, self.without, self._moments.twice)

    def _line(
        self, line: int, cells: list[str], into: Incoming, rows: list[Row], no: list[TurnedDown]
    ) -> None:
        when = self._cell(cells, Means.TIME)
        try:
            hour, its_zone = self._cell(cells, Means.CLOCK), self._cell(cells, Means.ZONE)
            at = self._moments.read(when, hour, its_zone)
            if at > self._latest:
                raise Refusal("This is later than now.")
        except Refusal as refusal:
            name = self._how.columns[self._at[Means.TIME] or 0].name
            no.append(TurnedDown(line, name, when[:_LONGEST], str(refusal)))
            return
        for k, column in self._values:
            cell = cells[k] if k < len(cells) else ""
            if not cell or heads.is_missing(cell):
                self.without[cell[:_LONGEST] if len(self.without) < 100 else "other"] += 1
                continue
            try:
                channel = self._channel(column, cells)
                item = self._items[channel.item]
                value, below, typed = self._value(cell, item, self._unit(column, cells))
            except Refusal as refusal:
                no.append(TurnedDown(line, column.name, cell[:_LONGEST], str(refusal)))
                continue
            rows.append((into.number(channel), at, line, value, below, typed))

    def _cell(self, cells: list[str], means: Means) -> str:
        """The cell of the column that has a meaning, "" where none has."""
        k = self._at[means]
        return cells[k] if k is not None and k < len(cells) else ""

    def _channel(self, column: Column, cells: list[str]) -> Channel:
        """Whose value a cell is."""
        place = column.place
        if place is None:
            said = self._cell(cells, Means.PLACE)
            place = self._place(said) if said else self._how.told.place or None
            if place is None:
                raise Refusal(
                    f"The plan has no place {units.echo(said)!r}." if said else "No place is named."
                )
        code = column.item
        if code is None:
            said = self._cell(cells, Means.ITEM)
            item = self._item(said, self._unit(column, cells)) if said else None
            code = item.code if item else None if said else self._how.told.item or None
            if code is None:
                unit = self._unit(column, cells)
                in_unit = f" in {unit}" if unit else ""
                raise Refusal(
                    f"The plan has no item {units.echo(said)!r}{in_unit}."
                    if said else "No item is named."
                )  # fmt: skip
        return Channel(place, code, self._items[code].unit)

    def _place(self, said: str) -> str | None:
        if said not in self._places:
            known = self._how.told.places.get(said)
            self._places[said] = known or columns.place_named(self._plan, said)
        return self._places[said]

    def _item(self, said: str, unit: str | None) -> Item | None:
        key = said, unit
        if key not in self._found:
            self._found[key] = columns.item_named(self._plan, said, unit)
        return self._found[key]

    def _unit(self, column: Column, cells: list[str]) -> str | None:
        """The unit a cell is in, None where nothing says it; Refusal for one that is none."""
        said = self._cell(cells, Means.UNIT)
        if not said:
            return column.unit
        if said not in self._units:
            none = said.casefold() in _WITHOUT_UNIT
            self._units[said] = "" if none else heads.unit_of(said)
        if self._units[said] is None:
            raise Refusal(f"The unit {units.echo(said)!r} is not known.")
        return self._units[said]

    def _value(self, cell: str, item: Item, unit: str | None) -> Read:
        """A cell as a value of an item, remembered; Refusal with why it is none."""
        key = cell, item.code, unit
        known = self._read.get(key)
        if known is None:
            try:
                known = value_of(cell, item, unit, comma=self._how.comma)
            except Refusal as refusal:
                known = str(refusal).replace(f"'{units.echo(cell)}'", "This", 1)
            if len(self._read) >= _REMEMBERED:
                self._read.clear()
            self._read[key] = known
        if isinstance(known, str):
            raise Refusal(known)
        return known


def value_of(cell: str, item: Item, unit: str | None, *, comma: bool) -> Read:
    """A cell as a value in the unit of an item, where it is in `unit` unless it says its own.

    `comma` says that the file writes its decimals after a comma.

    Raises:
        Refusal: it is not wholly understood, or cannot be in nature.
    """
    words = cell
    if comma:
        if "." in cell and "," in cell:
            raise Refusal(f"'{units.echo(cell)}' has a point and a comma.")
        words = cell.replace(",", ".", 1)
    given_in = item.unit if unit is None else unit
    kind, of = item.kind, SUBSTANCES.get(item.code, "")
    most = None if item.plausible is None else item.plausible[1]
    found = quantity.read(words, given_in, allow_below=kind.below, of=of, in_list=True)
    value = found.value
    if given_in != item.unit:
        value = _turned(value, given_in, item.unit)
    if kind.whole and not value.is_integer():
        raise Refusal(f"{item.label} is counted in whole numbers.")
    if value < 0 and not kind.negative:
        raise Refusal(f"{item.label} cannot be less than 0.")
    low = None if item.plausible is None else item.plausible[0]
    if (most is not None and value > most) or (low is not None and value < low):
        raise Refusal(
            f"{item.label} is never outside {low:g} to {most:g} {item.unit}".rstrip() + "."
        )
    plain = cell == number_text(value) and float(cell) == value
    return value, int(found.below), None if plain else cell


def _turned(value: float, given: str, wanted: str) -> float:
    """A value in another unit; a plain concentration is meant in the basis that a field says."""
    amount, basis, _ = wanted.partition(" as ")
    if basis and units.named(given).measures == "concentration":
        return units.convert(value, given, amount)
    return units.convert(value, given, wanted)
