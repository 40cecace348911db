"""What each column of a file is: moment, place, item, unit or value; told, or asked."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from enum import StrEnum

from tankwalk import units
from tankwalk.errors import Refusal
from tankwalk.exchange.incoming import heads, moments
from tankwalk.exchange.incoming.heads import Head
from tankwalk.exchange.incoming.opened import Line
from tankwalk.plan.model import Item, Plan
from tankwalk.rows import NamedTuple


class Means(StrEnum):
    """What the cells of a column are."""

    TIME = "time"
    """A date with its time of day, a date alone, or seconds since 1970."""
    CLOCK = "clock"
    """The time of day, where it has a column of its own."""
    ZONE = "zone"
    PLACE = "place"
    ITEM = "item"
    UNIT = "unit"
    VALUE = "value"
    SKIP = "skip"


class Column(NamedTuple):
    """One column: its name, what it is, and for values their place, item and unit where it says so.

    `unit` is the one the cells are in, None where nothing says it.
    """

    name: str
    means: Means
    place: str | None = None
    item: str | None = None
    unit: str | None = None


class Question(NamedTuple):
    """What has to be told before a file can be read: in words, and how to say it.

    `about` is the column, or the setting of the command that answers it.
    """

    words: str
    flag: str
    about: str


WORDS: dict[str, tuple[str, ...]] = {
    "temp": ("temp", "temperature", "wtemp", "watertemp", "wtmp", "sst"),
    "do": ("do", "oxygen", "o2", "odo", "dissolvedoxygen"),
    "ph": ("ph",),
    "salinity": ("sal", "salinity"),
    "turbidity": ("turbidity", "turb"),
    "flow": ("flow", "discharge"),
    "light": ("light", "lux", "illuminance"),
    "tan": ("tan", "ammonia"),
    "no2n": ("nitrite", "no2", "no2n"),
    "no3n": ("nitrate", "no3", "no3n"),
    "alk": ("alkalinity", "alk"),
    "morts": ("morts", "mortality", "mortalities", "dead"),
}
"""Words of heads for items, by the item's code."""

NOT_OF_WATER = frozenset(
    "air room case set setpoint target battery min max sd std error qc flag code cd comment "
    "comments note notes remark remarks".split()
)
"""Words beside which a word of `WORDS` is of something else: asked, never taken."""

_TIME_WORDS = frozenset(("time", "date", "datetime", "timestamp", "when", "observed"))
_PLACE_WORDS = frozenset(("tank", "place", "location", "loop", "vessel"))
_ITEM_WORDS = frozenset(("item", "parameter", "variable", "analyte", "characteristic"))
_VALUE_WORDS = frozenset(("value", "reading", "result", "measure", "measurement"))


def tokens(words: str) -> list[str]:
    """The words of a name, small, without signs: "Water Temp (°C)" is water, temp."""
    apart = re.sub(r"(?<=[a-z])(?=[A-Z][a-z])", " ", heads.bare_name(words))
    return [w for w in re.split(r"[^a-z0-9]+", apart.casefold()) if w]


def place_named(plan: Plan, words: str) -> str | None:
    """The place of the plan that words name: "T1", "tank 1" and "T01" are T01; None for none."""
    plain = re.sub(r"[^a-z0-9]+", "", words.casefold())
    codes = [t.code for t in plan.tanks] + [loop.code for loop in plan.loops] + ["site"]
    for code in codes:
        if plain == re.sub(r"[^a-z0-9]+", "", code.casefold()):
            return code
    found = re.fullmatch(r"(?:tank|t|loop|l)?0*(\d+)", plain)
    if found is None:
        return None
    loop = plain.startswith("l")
    those = [one.code for one in plan.loops] if loop else [one.code for one in plan.tanks]
    alike = [code for code in those if (n := re.search(r"0*(\d+)$", code)) and n[1] == found[1]]
    return alike[0] if len(alike) == 1 else None


def item_named(plan: Plan, words: str, unit: str | None) -> Item | None:
    """The item that words name, in a unit that it can be in; None where none is sure."""
    plain = " ".join(tokens(words))
    known = [item for item in plan.items if not item.kind.by_words]
    for item in known:
        if plain and plain in (item.code.casefold(), " ".join(tokens(item.label))):
            return item if _fits(item, unit) else None
    said = set(tokens(words))
    joined = "".join(tokens(words))
    if said & NOT_OF_WATER:
        return None
    found = [
        item
        for item in known
        if (said & {item.code.casefold(), *WORDS.get(item.code, ())}
            or joined in WORDS.get(item.code, ())) and _fits(item, unit)
    ]  # fmt: skip
    return found[0] if len(found) == 1 else None


def _fits(item: Item, unit: str | None) -> bool:
    """Whether a value in a unit can be one of an item."""
    if unit is None or unit == item.unit:
        return True
    try:
        if " as " in item.unit and units.named(unit).measures == "concentration":
            return True  # meant in the basis that the item says
        return units.named(unit).shares_with(units.named(item.unit))
    except Refusal:
        return False


def told_column(plan: Plan, name: str, said: str, unit: str | None) -> Column:
    """A column as somebody said it: time, place, skip..., or "T01 temp degF" in part or whole.

    Raises:
        Refusal: a word is neither of these.
    """
    plain = said.strip()
    if plain in [one.value for one in Means]:
        return Column(name, Means(plain), unit=unit if plain == "value" else None)
    place: str | None = None
    item: Item | None = None
    words = plain.split()
    while words:
        code = words[0]
        if place is None and item is None and code in _codes(plan):
            place = code
        elif item is None and (found := _item(plan, code)) is not None:
            item = found
        else:
            break
        words.pop(0)
    if words:
        unit = heads.unit_of(" ".join(words))
        if unit is None:
            raise Refusal(
                f"{name!r} cannot be {said!r}: say time, clock, zone, place, item, unit, value or "
                'skip, or a place, an item and a unit, such as "T01 temp degF".'
            )
    if item is not None and not _fits(item, unit):
        raise Refusal(f"{name!r}: {item.label} is never in {unit}.")
    return Column(name, Means.VALUE, place, item.code if item else None, unit)


def _codes(plan: Plan) -> set[str]:
    return {t.code for t in plan.tanks} | {loop.code for loop in plan.loops} | {"site"}


def _item(plan: Plan, code: str) -> Item | None:
    return next((i for i in plan.items if i.code == code and not i.kind.by_words), None)


def columns_of(
    plan: Plan, head: Head, sample: Sequence[Line], told: Mapping[str, str], item: str | None
) -> tuple[Column, ...]:
    """What each column is; `told` says it of some, by name, `item` of all values without one."""
    cells = [row for line, row in sample if line >= head.first][:50]
    strange = [name for name in told if name not in head.names]
    if strange:
        raise Refusal(
            f"There is no column {strange[0]!r}: the columns are "
            f"{', '.join(repr(name) for name in head.names[:12])}."
        )
    made: list[Column] = []
    for k, name in enumerate(head.names):
        said = head.units[k] if k < len(head.units) else ""
        unit = heads.unit_of(said) or heads.unit_in(name)
        if name in told:
            made.append(told_column(plan, name, told[name], unit))
            continue
        kept = [row[k] for row in cells if k < len(row) and row[k]]
        made.append(_guess(plan, name, unit, kept, made, item))
    return tuple(made)


def _guess(
    plan: Plan,
    name: str,
    unit: str | None,
    cells: list[str],
    before: list[Column],
    item: str | None,
) -> Column:
    """What a column is by its name and its first cells; one that nothing says is skipped."""
    words = set(tokens(name))
    means = {one.means for one in before}
    if cells and _most(cells, moments.is_date) and Means.TIME not in means:
        return Column(name, Means.TIME)
    if cells and _most(cells, moments.is_clock) and Means.CLOCK not in means:
        return Column(name, Means.CLOCK)
    if (
        words & _TIME_WORDS
        and cells
        and _most(cells, moments.is_seconds)
        and (Means.TIME not in means)
    ):
        return Column(name, Means.TIME)
    zones = {moments.offset_of(cell) for cell in cells}
    if words & {"tz", "zone", "timezone"} and zones and None not in zones:
        return Column(name, Means.ZONE)
    if cells and _most(cells, lambda c: heads.is_number(c) or heads.is_missing(c)):
        return _value(plan, name, unit, item)
    for some, one in (
        (frozenset(("unit", "units")), Means.UNIT),
        (_PLACE_WORDS, Means.PLACE),
        (_ITEM_WORDS, Means.ITEM),
    ):
        if cells and words & some and one not in means:
            return Column(name, one)
    # A column that names what it is stays that, whatever is wrong with its cells.
    named = _value(plan, name, unit, item) if cells else Column(name, Means.SKIP)
    return named if named.item is not None else Column(name, Means.SKIP)


def _value(plan: Plan, name: str, unit: str | None, item: str | None) -> Column:
    """A column of numbers: a value where its name says of what, or a place by number."""
    words = set(tokens(name))
    if words & _PLACE_WORDS and len(words) == 1:
        return Column(name, Means.PLACE)
    if words and words <= _VALUE_WORDS:
        return Column(name, Means.VALUE, item=item, unit=unit)
    whole = place_named(plan, heads.bare_name(name))
    if whole is not None:
        return Column(name, Means.VALUE, whole, item, unit)
    found = item_named(plan, name, unit)
    place = next(
        (p for word in heads.bare_name(name).split() if len(word) > 1
         and (p := place_named(plan, word)) is not None and not word.isalpha()),
        None,
    )  # fmt: skip
    if found is not None:
        return Column(name, Means.VALUE, place, found.code, unit)
    if place is not None and item is not None:
        return Column(name, Means.VALUE, place, item, unit)
    return Column(name, Means.SKIP, unit=unit)


def _most(cells: list[str], what: object) -> bool:
    assert callable(what)
    return sum(1 for cell in cells if what(cell)) >= 0.8 * len(cells)
