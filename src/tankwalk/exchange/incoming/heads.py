"""Where the table of a file begins: title lines, the head, a line of units, and the values."""

from __future__ import annotations

import re
from collections.abc import Sequence
from hashlib import sha256

from tankwalk import units
from tankwalk.errors import Refusal
from tankwalk.exchange.incoming.moments import is_clock, is_date, is_seconds
from tankwalk.exchange.incoming.opened import Line
from tankwalk.rows import NamedTuple

_NUMBER = re.compile(r"[<>~]?\s*[-+\u2212]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][-+]?\d+)?\s*\S{0,8}")
_MISSING = re.compile(
    r"(?:|-+|\u2013|\u2014|\.|\*+|n/?a|#n/?a!?|nan|null|none|nil|missing|no data|nd|err(?:or)?"
    r"|#div/0!|#value!|#ref!)(?:\s*[(\[].*[)\]])?",
    re.IGNORECASE,
)
_NO_UNIT = re.compile(r"(?:utc|gmt|-|\d+[sdn]|[dmyhs:/\-\s]{4,}|)", re.IGNORECASE)


_TYPE = re.compile(r"\d+[sdn]")
"""How some tables say under each name how wide a column is and whether it is text or a number."""


class Head(NamedTuple):
    """The names of columns, their units where a line of its own says them, and where values begin.

    `line` is that of the names, 0 where the file has none; `first` that of the first values.
    """

    line: int
    names: tuple[str, ...]
    units: tuple[str, ...]
    first: int

    @property
    def fingerprint(self) -> str:
        """What tells files of one kind apart from others: the words of the head."""
        words = "\x1f".join((*self.names, *self.units)).casefold()
        return sha256(words.encode("utf-8", "surrogatepass")).hexdigest()[:24]


def is_missing(cell: str) -> bool:
    """Whether a cell says that there is no value: empty, "---", "NA", "n/a (broken)"."""
    return _MISSING.fullmatch(cell) is not None


def is_number(cell: str) -> bool:
    """Whether a cell looks like a value, perhaps with a unit or "<"."""
    return _NUMBER.fullmatch(cell) is not None


def is_moment(cell: str) -> bool:
    """Whether a cell looks like a date, a time of day or seconds since 1970."""
    return is_date(cell) or is_clock(cell) or is_seconds(cell)


def head_of(sample: Sequence[Line], told: int = 0) -> Head:
    """The head of a table, by its first lines; `told` is the line of the names, where one said it.

    Raises:
        Refusal: no line of values was found.
    """
    many = [cells for _, cells in sample if len(cells) > 1]
    if told:
        begin = next((k for k, (line, _) in enumerate(sample) if line == told), None)
        if begin is None:
            raise Refusal(f"There is no line {told} near the top with cells: nothing was imported.")
    else:
        begin = _before_values(sample)
    first = begin + 1
    names = sample[begin][1] if begin >= 0 else []
    said: list[str] = []
    if first < len(sample) and _units(sample[first][1]):
        said = sample[first][1]
        first += 1
    elif begin > 0 and len(sample[begin - 1][1]) > 1 and not told:
        if _units(names) or all(_TYPE.fullmatch(name) for name in names):
            said, names = names, sample[begin - 1][1]
            begin -= 1
    if first >= len(sample):
        raise Refusal("No line of values was found: nothing was imported.")
    width = max(len(cells) for cells in many) if many else 0
    if begin < 0:
        return Head(0, tuple(f"column {k}" for k in range(1, width + 1)), (), sample[0][0])
    named = [_bare(name) or f"column {k}" for k, name in enumerate(names, 1)]
    named += [f"column {k}" for k in range(len(named) + 1, width + 1)]
    return Head(sample[begin][0], _apart(named), tuple(said), sample[first][0])


def _bare(name: str) -> str:
    return " ".join(name.lstrip("#").split())


def _apart(names: list[str]) -> tuple[str, ...]:
    """Names of which no two are the same: the second "Temp" is "Temp 2"."""
    made: list[str] = []
    for name in names:
        nth, one = 1, name
        while one in made:
            nth += 1
            one = f"{name} {nth}"
        made.append(one)
    return tuple(made)


def _before_values(sample: Sequence[Line]) -> int:
    """The line before the first that holds a moment and what may be values; -1 where that is the
    first."""
    for k, (_, cells) in enumerate(sample):
        if not _values(cells):
            continue
        later = sample[k + 1 : k + 3]
        if later and not any(_values(cells) for _, cells in later):
            continue
        back = k - 1
        # Lines with a date and nothing that can be read belong to the values too.
        while back >= 0 and any(is_date(cell) for cell in sample[back][1]):
            back -= 1
        while back >= 0 and len([c for c in sample[back][1] if c]) < 2:
            back -= 1
        return back
    raise Refusal(
        "No line with a date and a value was found: nothing was imported. If the head is there, "
        "say its line with: --head N"
    )


def _values(cells: list[str]) -> bool:
    """Whether a line holds a moment, and beside it numbers or what says that there is none."""
    moments = [cell for cell in cells if is_date(cell) or is_seconds(cell)]
    if not moments:
        return False
    return any(c and not is_moment(c) and (is_number(c) or is_missing(c)) for c in cells)


def _units(cells: list[str]) -> bool:
    """Whether a line says units: at least one, and nothing else but what says none."""
    known = [c for c in cells if c and unit_of(c)]
    return bool(known) and all(
        unit_of(c) or _NO_UNIT.fullmatch(c) or len(c) <= 2 for c in cells if c
    )


_IN_HEAD = re.compile(r"[(\[]\s*([^)\]]+?)\s*[)\]]|,\s*([^,()]+?)\s*(?:\(|$)")


def unit_of(words: str) -> str | None:
    """The unit that words are, in any spelling: "degrees_C" too; None where they are none."""
    plain = words.strip().replace("_", " ").strip("()[] ")
    if not plain or len(plain) > 24:
        return None
    plain = re.sub(r"^degrees? ", "deg ", plain, flags=re.IGNORECASE)
    found = units.canonical(plain)
    if found is None and plain.lower().startswith("deg. "):
        found = units.canonical("deg " + plain[5:])
    return found or None


def unit_in(name: str) -> str | None:
    """The unit in a column's name: "Temp (°F)", "Temp, °C (LGR 12)", "temp_degC"; None without."""
    for found in _IN_HEAD.finditer(name):
        unit = unit_of(found[1] or found[2] or "")
        if unit:
            return unit
    for mark in ("_", " "):
        *before, last = name.rsplit(mark, 1)
        # One letter alone ("Station C") may be anything.
        if before and len(last) > 1 and (unit := unit_of(last)):
            return unit
    return None


def bare_name(name: str) -> str:
    """A column's name without its unit and what else stands in brackets."""
    plain = re.sub(r"[(\[].*?[)\]]", " ", name)
    return " ".join(re.split(r"[\s_,:;/]+", plain)).strip()
