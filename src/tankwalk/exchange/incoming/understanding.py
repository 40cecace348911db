"""How a file is read, decided whole before its first value: by what is told, and what it shows."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

from tankwalk.clock import Zone, zone
from tankwalk.errors import Refusal
from tankwalk.exchange.incoming import columns as cols
from tankwalk.exchange.incoming import heads, moments
from tankwalk.exchange.incoming.columns import Column, Means, Question
from tankwalk.exchange.incoming.heads import Head
from tankwalk.exchange.incoming.moments import Order, When
from tankwalk.exchange.incoming.opened import Sheet, lines, sample
from tankwalk.plan.model import Plan
from tankwalk.rows import NamedTuple

NOON = "12:00"

_NAMED = 6
"""Columns that are not read are named up to so many."""


class Told(NamedTuple):
    """What somebody said of a file, now or when one like it was imported; "" where nothing."""

    source: str = ""
    columns: Mapping[str, str] = {}
    """What columns are, by their name; see `columns.told_column`."""
    places: Mapping[str, str] = {}
    """Places of the plan, by what the file calls them."""
    place: str = ""
    item: str = ""
    dates: str = ""
    """A word of `Order`."""
    zone: str = ""
    """A zone such as America/Chicago, or an offset such as -05:00."""
    hour: str = ""
    """The time of day of dates that have none."""
    decimal: str = ""
    """ "comma" or "point"."""
    head: int = 0
    """The line of the names of columns."""

    def over(self, before: Told) -> Told:
        """This, and what was told before where this says nothing."""
        return Told._make(
            {**old, **new} if isinstance(old, dict) and isinstance(new, dict) else new or old
            for new, old in zip(self, before, strict=True)
        )

    def words(self) -> str:
        """As the record keeps it."""
        said = {name: one for name, one in self._asdict().items() if one}
        return json.dumps(said, ensure_ascii=False, sort_keys=True)


def told_from(words: str) -> Told:
    """What the record kept; nothing of it where it is not understood."""
    try:
        said = json.loads(words)
        known = {name: one for name, one in said.items() if name in Told._fields}
        return Told()._replace(**known)
    except (ValueError, AttributeError):
        return Told()


class Understood(NamedTuple):
    """How a file is read: complete where `questions` is empty.

    `notes` are what was decided without being told, to be shown; `told` is all of it as the next
    file with such a head will be read.
    """

    sheet: Sheet
    head: Head
    columns: tuple[Column, ...]
    when: When
    comma: bool
    told: Told
    notes: tuple[str, ...]
    questions: tuple[Question, ...]

    @property
    def values(self) -> list[tuple[int, Column]]:
        """The columns that hold values, each with where it stands."""
        return [(k, one) for k, one in enumerate(self.columns) if one.means is Means.VALUE]

    def at(self, means: Means) -> int | None:
        """Where the column stands that has a meaning; None where none has."""
        return next((k for k, one in enumerate(self.columns) if one.means is means), None)


def head_in(sheet: Sheet, told: Told) -> Head:
    """The head of a file, by which another of its kind is known again."""
    return heads.head_of(sample(sheet), told.head)


def understood(plan: Plan, sheet: Sheet, told: Told) -> Understood:
    """How a file is read, with what is still to be told.

    Raises:
        Refusal: what was told does not go with the file or the plan.
    """
    first = sample(sheet)
    head = heads.head_of(first, told.head)
    _check(plan, told)
    found = cols.columns_of(plan, head, first, told.columns, told.item or None)
    notes: list[str] = []
    asked: list[Question] = []
    cells = [row for line, row in first if line >= head.first]
    comma = _comma(sheet, found, cells, told)
    when = _when(plan, sheet, head, found, cells, told, notes, asked)
    values = [one for one in found if one.means is Means.VALUE]
    means = {one.means for one in found}
    if not values:
        numbers = _numbers(found, cells)
        asked.append(
            Question(
                "Which column holds values, and of what? Not understood: "
                + (", ".join(repr(name) for name in numbers[:8]) or "any of them") + ".",
                f'--column "{numbers[0] if numbers else "NAME"}=temp degC"', "column",
            )
        )  # fmt: skip
    for one in values:
        if one.item is None and Means.ITEM not in means and not told.item:
            asked.append(
                Question(
                    f"What does column {one.name!r} hold?", f'--column "{one.name}=temp"', one.name
                )
            )
    if any(one.place is None for one in values) and Means.PLACE not in means and not told.place:
        named = _places(plan, found, cells)
        asked.append(
            Question("Where was it? The file names no place.", "--place T01", "place")
            if named is None
            else Question(
                f"Where was it? {named!r} holds places of the plan.",
                f'--column "{named}=place"', "place",
            )
        )  # fmt: skip
    by_code = {item.code: item for item in plan.items}
    for one in values:
        item = by_code.get(one.item or told.item)
        if item and item.unit and one.unit is None and Means.UNIT not in means:
            notes.append(f"{one.name!r} says no unit: taken in {item.unit}, as the plan has it.")
    skipped = [repr(one.name) for one in found if one.means is Means.SKIP]
    if skipped:
        many = "" if len(skipped) <= _NAMED else f" and {len(skipped) - _NAMED} more columns"
        notes.append(f"Not read: {', '.join(skipped[:_NAMED])}{many}.")
    resolved = told._replace(
        columns={one.name: _said(one) for one in found},
        dates=when.order or "",
        zone=told.zone,
        decimal="comma" if comma else "point",
    )
    return Understood(sheet, head, found, when, comma, resolved, tuple(notes), tuple(asked))


def _places(plan: Plan, found: tuple[Column, ...], cells: list[list[str]]) -> str | None:
    """The name of a column not understood that names places of the plan in most of its cells."""
    codes = {t.code.casefold() for t in plan.tanks} | {one.code.casefold() for one in plan.loops}
    for k, one in enumerate(found):
        said = [row[k].strip().casefold() for row in cells if k < len(row) and row[k].strip()]
        if one.means is Means.SKIP and said and sum(c in codes for c in said) * 2 > len(said):
            return one.name
    return None


def _numbers(found: tuple[Column, ...], cells: list[list[str]]) -> list[str]:
    """Names of columns that are not understood and hold numbers."""
    names = []
    for k, one in enumerate(found):
        said = [row[k] for row in cells if k < len(row) and row[k]]
        if one.means is Means.SKIP and any(map(heads.is_number, said)):
            names.append(one.name)
    return names


def _said(one: Column) -> str:
    """A column as `columns.told_column` takes it."""
    if one.means is not Means.VALUE:
        return one.means
    words = " ".join(word for word in (one.place, one.item, one.unit) if word)
    return words if one.item or one.place else one.means


def _check(plan: Plan, told: Told) -> None:
    codes = {t.code for t in plan.tanks} | {loop.code for loop in plan.loops} | {"site"}
    for place in (told.place, *told.places.values()):
        if place and place not in codes:
            raise Refusal(f"There is no place {place!r} in the plan: nothing was imported.")
    known = [item.code for item in plan.items if not item.kind.by_words]
    if told.item and told.item not in known:
        raise Refusal(f"{told.item!r} is not an item with numbers: {', '.join(known)}.")
    if told.hour and not moments.is_clock(told.hour):
        raise Refusal(f"{told.hour!r} is no time of day: write one such as 07:30.")


def _comma(sheet: Sheet, found: tuple[Column, ...], cells: list[list[str]], told: Told) -> bool:
    """Whether a comma is the decimal mark: told, or shown by the cells themselves."""
    if told.decimal:
        return told.decimal == "comma"
    if sheet.separator == ",":
        return False
    at = [k for k, one in enumerate(found) if one.means in (Means.VALUE, Means.SKIP)]
    said = [row[k] for row in cells for k in at if k < len(row)]
    commas = sum(1 for cell in said if re.fullmatch(r"[<\s]*[-+]?\d*,\d+\D*", cell))
    points = sum(1 for cell in said if re.fullmatch(r"[<\s]*[-+]?\d*\.\d+\D*", cell))
    return commas > points


def _when(
    plan: Plan,
    sheet: Sheet,
    head: Head,
    found: tuple[Column, ...],
    cells: list[list[str]],
    told: Told,
    notes: list[str],
    asked: list[Question],
) -> When:
    """How moments are read: the order of dates, the zone, the time of day where there is none."""
    at = next((k for k, one in enumerate(found) if one.means is Means.TIME), None)
    tz = zone(plan.zone)
    if at is None:
        asked.append(Question("Which column holds the time?", '--column "NAME=time"', "time"))
        return When(None, tz)
    clocks = next((k for k, one in enumerate(found) if one.means is Means.CLOCK), None)
    said = [row[at] for row in cells if at < len(row) and row[at]]
    order = _order(sheet, head, at, told, notes, asked)
    hour = told.hour
    dates = [cell for cell in said if moments.is_date(cell)]
    if dates and clocks is None and not any(map(moments.has_clock, dates)) and not hour:
        hour = NOON
        notes.append("There is no time of day: taken as 12:00; say another with --at 07:30.")
    names = [head.names[at], *([head.units[at]] if at < len(head.units) else [])]
    if clocks is not None:
        names.append(head.names[clocks])
    tz, offset = _zone(tz, names, told, notes, plain=not _said_in_cells(said, found))
    return When(order, tz, offset, hour)


def _said_in_cells(cells: list[str], found: tuple[Column, ...]) -> bool:
    """Whether each moment says its own zone."""
    if any(one.means is Means.ZONE for one in found) or all(map(moments.is_seconds, cells)):
        return True
    return bool(cells) and all(re.search(r"(?:Z|[-+]\d\d:?\d\d)$", c) for c in cells)


def _zone(
    tz: Zone, names: list[str], told: Told, notes: list[str], *, plain: bool
) -> tuple[Zone, int | None]:
    if told.zone:
        named, offset = moments.zone_named(told.zone)
        return named or tz, offset
    for name in names:
        for word in (name, *re.split(r"[,/()\[\]]", name), *name.split()):
            offset = moments.offset_of(word)
            if offset is not None and word.strip():
                notes.append(f"Times are {word.strip()}, as the head says.")
                return tz, offset
    if plain:
        notes.append(f"Times say no zone: taken as the clock in {tz.key}; else say --zone UTC.")
    return tz, None


def _order(
    sheet: Sheet, head: Head, at: int, told: Told, notes: list[str], asked: list[Question]
) -> Order | None:
    """The order of dates, by the first that shows it; asked where none does."""
    known: Order | None = None
    if told.dates:
        try:
            known = Order(told.dates)
        except ValueError:
            raise Refusal(
                f"{told.dates!r} is no order of dates: say --dates day-first or month-first."
            ) from None
    both = ""
    for line, row in lines(sheet):
        if line < head.first or at >= len(row):
            continue
        shown = moments.order_of(row[at])
        if isinstance(shown, Order):
            if known is not None and shown is not known:
                notes.append(f"Line {line} shows dates {shown}, and they were told as {known}.")
                return known
            if known is None:
                notes.append(f"Dates are {shown}: line {line} says {row[at]!r}.")
            return shown
        if shown is True:
            both = both or row[at]
            if known is not None:
                return known
        elif not both:
            return known
    if known is None and both:
        asked.append(
            Question(
                f"Is {both!r} day first or month first? Every date of the file can be both.",
                "--dates day-first", "dates",
            )
        )  # fmt: skip
    return known
