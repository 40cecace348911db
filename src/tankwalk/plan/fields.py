"""One table of a plan being read: typed keys, and a fault with its line for each wrong one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date, datetime, time
from difflib import get_close_matches
from math import isfinite
from typing import TypeVar

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.plan.days import day_mend
from tankwalk.plan.faults import Fault
from tankwalk.plan.keys import KEYS, SEED_KEYS, example
from tankwalk.plan.lines import Table, where
from tankwalk.text import clean

T = TypeVar("T")

_CODE = re.compile(r"[A-Za-z0-9._-]{1,12}")
MOST_STEPS = 8
LONGEST_STEP = 160
HUGE = 1e9
"""No number of a hatchery plan is larger; beyond it floats and drawings go wrong."""


def nearest(word: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """The known word most like this one, None when nothing is near."""
    by_fold = {name.casefold(): name for name in known}
    found = get_close_matches(word.casefold()[:80], by_fold, n=1, cutoff=cutoff)
    return by_fold[found[0]] if found else None


def quoted(value: object) -> str:
    """A value as a fault shows it: short, on one line, texts in quotes."""
    shown = str(value)
    try:
        shown = clean(shown[:200])
    except Refusal:
        shown = "..."
    shown = shown if len(shown) <= 40 else shown[:37] + "..."
    return f'"{shown}"' if isinstance(value, str) else shown


def kind_of(value: object) -> str:
    """What a value is, in words."""
    match value:
        case bool():
            return "true or false"
        case int() | float():
            return "a number"
        case str():
            return "a text"
        case list():
            return "a list"
        case dict():
            return "a table"
        case datetime():
            return "a date and time"
        case date():
            return "a date"
        case time():
            return "a time of day"
    return "something else"


class Names:
    """The codes that one kind of thing goes by, so that a reference to one can be checked."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self.lines: dict[str, int] = {}
        self._folded: dict[str, str] = {}
        self.whole = True
        """False once a code could not be read: then an unknown reference may be that one."""

    def __contains__(self, name: object) -> bool:
        return name in self.lines

    def declare(self, row: PlanRow, key: str, name: str | None) -> None:
        """Keep the name of a thing; the same name twice is a fault of the second."""
        if name is None:
            self.whole = False
            return
        other = self._folded.setdefault(name.casefold(), name)
        if other in self.lines:
            what = f'{key} "{name}" is already the {self.kind} on line {self.lines[other]}'
            row.fault(key, what, f"give this {self.kind} a {key} of its own")
            return
        self.lines[name] = row.table.line_of(key)

    def check(self, row: PlanRow, key: str, name: str) -> bool:
        """Whether a name that is referred to exists; when not, that is a fault of the row."""
        if name in self.lines:
            return True
        if self.whole:
            near = nearest(name, self.lines)
            some = ", ".join(list(self.lines)[:6]) or f"none; add a {self.kind} first"
            mend = f'write "{near}"' if near else f"use one of: {some}"
            row.fault(key, f"{key} names {self.kind} {quoted(name)}, which the plan has not", mend)
        return False


class PlanRow:
    """A table of the plan being read. Every getter returns None after it noted a fault."""

    def __init__(self, table: Table, faults: list[Fault], kind: str) -> None:
        self.table = table
        self.kind = kind
        self._faults = faults
        self._faulty: set[str] = set()
        self._where = where(table)
        self._mend_unknown_keys()

    def call(self, name: str | None, nth: int) -> None:
        """Say which one of many this row is, for its faults."""
        self._where = f"{where(self.table)} {name or f'number {nth}'}"

    def _mend_unknown_keys(self) -> None:
        """Report keys the table has not; one that is nearly right is read as what it meant."""
        table, known = self.table, (KEYS | SEED_KEYS)[self.kind]
        for key in [*table.values, *table.broken]:
            if key in known:
                continue
            near = nearest(key, [k for k in known if k not in table.values])
            if key in table.values:
                line = table.line_of(key)
                mend = f"write {near}" if near else f"use one of: {', '.join(known)}"
                what = f"{quoted(key).strip(chr(34))} is not a key of {self._where}"
                self._faults.append(Fault(line, self._where, what, mend))
            value = table.values.pop(key, None)
            if near and value is not None:
                table.values[near], table.lines[near] = value, table.line_of(key)
            elif near:
                table.broken.add(near)

    def fault(self, key: str, what: str, mend: str = "") -> None:
        """Note that something about a key is wrong."""
        self._faulty.add(key)
        mend = mend or f"write {example(self.kind, key)}"
        self._faults.append(Fault(self.table.line_of(key), self._where, what, mend))

    def has(self, key: str) -> bool:
        """Whether the key is written, readable or not."""
        return key in self.table.values or key in self.table.broken

    def unsure(self, *keys: str) -> bool:
        """Whether one of the keys has a fault, so that what hangs on it cannot be checked."""
        return not self._faulty.isdisjoint(keys) or not self.table.broken.isdisjoint(keys)

    def take(self, key: str, *, need: bool = False) -> object | None:
        """The value as TOML gave it; None when missing, a fault when it is needed."""
        if need and not self.has(key):
            self.fault(key, f"{key} is missing")
        return self.table.values.get(key)

    def wrong(self, key: str, value: object, wanted: str) -> None:
        """Note a value of the wrong kind."""
        self.fault(key, f"{key} is {kind_of(value)} where {wanted} is wanted")

    def text(self, key: str, *, need: bool = False, limit: int = 120) -> str | None:
        """A text made safe to show; None when it is missing or empty."""
        value = self._quoted(key, need=need)
        return None if value is None else self.safe(key, value, need=need, limit=limit)

    def _quoted(self, key: str, *, need: bool) -> str | None:
        """What stands in quotes, as it stands; None when it is missing or something else."""
        value = self.take(key, need=need)
        if value is None or isinstance(value, str):
            return value
        self.wrong(key, value, "a text in quotes")
        return None

    def safe(self, key: str, value: str, *, need: bool = True, limit: int = 120) -> str | None:
        """A text from anywhere in the row, made safe to show."""
        try:
            kept = clean(value, limit=limit)
        except Refusal:
            self.fault(key, f"{key} is longer than {limit} characters", "shorten it")
            return None
        if not kept and need:
            self.fault(key, f"{key} is empty")
        return kept or None

    def code(self, key: str, *, need: bool = False) -> str | None:
        """A short code of letters, digits, "-", "_" and "."."""
        value = self.take(key, need=need)
        return None if value is None else self._as_code(key, value)

    def _as_code(self, key: str, value: object) -> str | None:
        if isinstance(value, str) and _CODE.fullmatch(value):
            return value
        if isinstance(value, str):
            what = f"{key} {quoted(value)} is not 1 to 12 letters, digits, - _ or ."
            self.fault(key, what)
        else:
            self.wrong(key, value, "a text in quotes")
        return None

    def reference(self, key: str, names: Names, *, need: bool = False) -> str | None:
        """The code of something else in the plan, which has to exist."""
        value = self._quoted(key, need=need)
        return value if value is not None and names.check(self, key, value) else None

    def references(self, key: str, names: Names) -> tuple[str, ...]:
        """Codes of other things in the plan, each of which has to exist, none twice."""
        return tuple(name for name in self.words(key) if names.check(self, key, name))

    def words(self, key: str, *, limit: int = 40, most: int = 60) -> tuple[str, ...]:
        """A list of texts, none empty and none twice; () when it is missing."""
        value = self.take(key)
        if value is None:
            return ()
        if not isinstance(value, list):
            self.wrong(key, value, "a list")
            return ()
        if not value or len(value) > most:
            how = "is an empty list" if not value else f"has more than {most} entries"
            leave = f"write {example(self.kind, key)} or leave the line out"
            self.fault(key, f"{key} {how}", leave if not value else "shorten the list")
        kept: list[str] = []
        for entry in value[:most]:
            if not isinstance(entry, str):
                self.wrong(key, entry, "a text in quotes")
                return tuple(kept)
            word = self.safe(key, entry, limit=limit)
            if word in kept:
                self.fault(key, f"{key} names {quoted(word)} twice", "leave one of them out")
            elif word:
                kept.append(word)
        return tuple(kept)

    def steps(self, key: str) -> tuple[str, ...]:
        """What is done first: one step as a text, or a list of short steps; () when missing."""
        value = self.take(key)
        return () if value is None else self.as_steps(key, value)

    def as_steps(self, key: str, value: object) -> tuple[str, ...]:
        """Steps from anywhere in the row, each without the period that ends a sentence."""
        given = value if isinstance(value, list) else [value]
        if not given or len(given) > MOST_STEPS:
            how = f"has {len(given)} steps" if given else "is an empty list"
            self.fault(key, f"{key} {how}, and one has 1 to {MOST_STEPS}")
        kept: list[str] = []
        for step in given[:MOST_STEPS]:
            if not isinstance(step, str):
                self.wrong(key, step, "a text in quotes")
                break
            said = self.safe(key, step, limit=LONGEST_STEP)
            if said:
                kept.append(said.rstrip(". "))
        return tuple(kept)

    def one_of(self, key: str, choices: Mapping[str, T], default: T, *, need: bool = False) -> T:
        """One of a few words."""
        value = self.take(key, need=need)
        if value is None:
            return default
        found = value.strip().casefold() if isinstance(value, str) else ""
        if found in choices:
            return choices[found]
        near = nearest(found, choices)
        mend = f'write {key} = "{near}"' if near else f"use one of: {', '.join(choices)}"
        self.fault(key, f"{key} {quoted(value)} is not one of {', '.join(choices)}", mend)
        return default

    def whole(self, key: str, default: int, low: int, high: int) -> int:
        """A whole number within a range."""
        value = self.take(key)
        if value is None:
            return default
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        what = f"{key} {quoted(value)} is not a whole number from {low} to {high}"
        self.fault(key, what, f"write {key} = {default}")
        return default

    def flag(self, key: str, default: bool = False) -> bool:
        """true or false, `default` when missing or neither."""
        value = self.take(key)
        if isinstance(value, bool):
            return value
        if value is not None:
            self.wrong(key, value, "true or false")
        return default

    def day(self, key: str) -> date | None:
        """A local date, bare or in quotes."""
        value = self.take(key)
        return None if value is None else self.as_day(key, value)

    def as_day(self, key: str, value: object) -> date | None:
        """A date from anywhere in the row."""
        if isinstance(value, date) and not isinstance(value, datetime):
            return value
        if isinstance(value, str):
            try:
                return date.fromisoformat(value.strip())
            except ValueError:
                pass
        written = example(self.kind, key) if key != "ramp" else "on = 2026-04-20"
        what = f"{key} {quoted(value)} is not a date as year-month-day"
        meant = day_mend("on" if key == "ramp" else key, value) if isinstance(value, str) else ""
        self.fault(key, what, meant or f"write {written}")
        return None

    def time_of_day(self, key: str, *, need: bool = False) -> time | None:
        """A wall-clock time such as "06:50"."""
        value = self.take(key, need=need)
        if value is None:
            return None
        if isinstance(value, time):
            return value.replace(second=0, microsecond=0)
        found = re.fullmatch(r"\s*(\d{1,2}):(\d{2})\s*", value) if isinstance(value, str) else None
        if found and int(found[1]) < 24 and int(found[2]) < 60:
            return time(int(found[1]), int(found[2]))
        self.fault(key, f"{key} {quoted(value)} is not a time of day from 00:00 to 23:59")
        return None

    def ages(self, key: str = "dph") -> tuple[int, int] | None:
        """A range of ages in dph, first and last day both in it."""
        value = self.take(key)
        if value is None:
            return None
        match value:
            case [int(first), int(last)] if 0 <= first <= last <= 999:
                return int(first), int(last)
            case [int(), int()]:
                what = f"{key} {quoted(value)} does not run from a first to a last age"
            case _:
                what = f"{key} {quoted(value)} is not a first and a last age in whole days"
        self.fault(key, what)
        return None

    def measure(
        self, key: str, unit: str, *, need: bool = False, difference: bool = False
    ) -> float | None:
        """A number in `unit`, bare or as a text with a unit of its own, which is converted.

        A `difference` is converted as one: 2 degF apart is 1.1 degC apart.
        """
        value = self.take(key, need=need)
        return None if value is None else self.as_measure(key, value, unit, difference=difference)

    def as_measure(
        self, key: str, value: object, unit: str, *, difference: bool = False
    ) -> float | None:
        """A number from anywhere in the row, in `unit`."""
        if isinstance(value, str):
            try:
                number = _converted(value, unit, difference=difference)
            except Refusal as refusal:
                what = str(refusal).rstrip(".")
                # Its own number with another unit would be another amount: an example says how.
                such = f"write it with such a unit, as in {example(self.kind, key)}"
                mend = such if "as a unit" in what else ""
                self.fault(key, f"{key} {quoted(value)}: {what}", mend)
                return None
        elif isinstance(value, int | float) and not isinstance(value, bool):
            # A whole number of a thousand digits is no float.
            number = float(value) if abs(value) <= HUGE else HUGE * 10
        else:
            self.wrong(key, value, "a number")
            return None
        if not isfinite(number) or abs(number) > HUGE:
            self.fault(key, f"{key} {quoted(value)} is not a number a plan can hold")
            return None
        return number


def _converted(text: str, unit: str, *, difference: bool) -> float:
    """The number a text gives in `unit`.

    A difference is taken between two readings, so that the two zeros of a pair of scales
    (32 degF is 0 degC) fall out.
    """
    read = quantity.read(text, unit)
    if not difference or read.typed_unit is None:
        return read.value
    return round(read.value - quantity.read(f"0 {read.typed_unit}", unit).value, 9)
