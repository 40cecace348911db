"""The plan's text taken apart: each statement with its line, so a fault can name it.

A TOML reader stops at the first slip and forgets lines. Here the text is first cut into
statements (a header, or a key with its value, over as many lines as it takes), and each is
given to `tomllib` alone. So one broken statement costs only itself, and every value knows
where it was written.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from tankwalk.plan.days import day_mend

_TOKEN = re.compile(r'"""|\'\'\'|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|#[^\n]*|[\[\]{}\n]')
_ASSIGNS = re.compile(r"\s*[\w\"'.-]+\s*=")
_FIRST_KEYS = ("code", "initials", "item")
"""Each table of a list begins with one of these: a second one tells of a missing header."""
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
_HEADER = re.compile(r"[ \t]*\[\[?[ \t]*([A-Za-z_]+)[ \t]*\]")
_BARE_KEY = re.compile(r"\s*\"?([A-Za-z0-9_-]+)\"?")
# What can only begin a new statement: no value inside a list looks like these.
_NEXT = re.compile(
    r"[ \t]*(?:\[\[?[ \t]*(?!true\b|false\b|inf\b|nan\b)[A-Za-z_][\w.-]*[ \t]*\]\]?[ \t]*(?:#|\r?$)"
    r"|[A-Za-z_][\w-]*[ \t]*=)",
    re.MULTILINE,
)


@dataclass(slots=True)
class Table:
    """One table of the plan as written: its values, and the line of each."""

    name: str
    line: int
    listed: bool
    """Whether it is one of many, written with [[two brackets]]."""
    values: dict[str, object] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    broken: set[str] = field(default_factory=set)
    """Keys that are there but could not be read; already reported, so never "missing"."""
    misread: bool = False
    """Whether the header itself could not be read; already reported."""

    def line_of(self, key: str) -> int:
        """Line of a key, or of the table's header where the key is missing."""
        return self.lines.get(key, self.line)


@dataclass(frozen=True, slots=True)
class PlanSlip:
    """A statement that is not TOML: its line, the table it is in, what is wrong, the mend."""

    line: int
    where: str
    what: str
    mend: str


@dataclass(frozen=True, slots=True)
class _Statement:
    line: int
    text: str
    closed: bool

    @property
    def is_comment(self) -> bool:
        return self.text.lstrip(" \t").startswith("#")

    @property
    def is_header(self) -> bool:
        return self.text.lstrip().startswith("[")


_DEEP = re.compile(r"^[ \t]*(?:\[\[?[ \t]*)?(?:[\w\"'-]+[ \t]*\.[ \t]*){5}", re.MULTILINE)


def too_deep(text: str) -> int | None:
    """The first line whose key or header has more than five parts, None where there is none.

    No table of a plan is deeper than two. A reader of TOML takes a time that grows with the square
    of the parts, so such a line is looked for before it is read.
    """
    found = _DEEP.search(text)
    return None if found is None else text.count("\n", 0, found.start()) + 1


def read_tables(text: str) -> tuple[list[Table], list[PlanSlip]]:
    """All tables of a plan, in order, and every statement that could not be read."""
    reader = _Reader()
    for statement in _statements(text.replace("\r\n", "\n")):
        if statement.is_comment:
            reader.slip(statement.line, "this line holds a control character", "write it again")
        elif statement.is_header:
            reader.header(statement)
        else:
            reader.assignment(statement)
    return reader.tables, reader.slips


def tables_of_whole(text: str) -> list[Table] | None:
    """All tables of a plan that is sound TOML, with the lines of headers but not of keys.

    None where it is not TOML, or is written in a way that hides which header is which.
    """
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return None
    headers: dict[str, list[int]] = {}
    for number, written in enumerate(text.split("\n"), 1):
        found = _HEADER.match(written)
        if found:
            headers.setdefault(found[1], []).append(number)
    tables = []
    for name, value in data.items():
        entries = value if isinstance(value, list) else [value]
        at = headers.get(name, [])
        if len(at) != len(entries) or not all(isinstance(entry, dict) for entry in entries):
            return None
        for line, entry in zip(at, entries, strict=True):
            tables.append(Table(name, line, isinstance(value, list), values=entry))
    return tables


class _Reader:
    """Puts statements into tables by the rules of TOML, noting slips as it goes."""

    def __init__(self) -> None:
        self.top = Table("", 0, listed=False)
        self.tables: list[Table] = []
        self.slips: list[PlanSlip] = []
        self.now = self.top
        self._unread_to = 0

    def slip(self, line: int, what: str, mend: str) -> None:
        self.slips.append(PlanSlip(line, where(self.now), what, mend))

    def header(self, statement: _Statement) -> None:
        line, written = statement.line, statement.text.strip()
        data, problem = _parse(written)
        if data is None:
            # The words between the brackets still say which table the keys below belong to.
            found = re.search(r"[A-Za-z0-9_-]+", written)
            name = found[0] if found else "?"
            listed = written.startswith("[[")
            self.now = Table(name, line, listed, misread=True)
            self.tables.append(self.now)
            mend = f"write [[{name}]] or [{name}], alone on its line"
            self.slip(line, f"the header {_short(written)} cannot be read ({problem})", mend)
            return
        path: list[str] = []
        inner: Any = data
        while isinstance(inner, dict) and inner:
            name = next(iter(inner))
            inner = inner[name]
            path.append(name)
            inner = inner[0] if isinstance(inner, list) and inner else inner
        listed = written.startswith("[[")
        if len(path) == 2 and listed and self._is_inside(path[0]):
            self._sublist(path[1], line)
            return
        self.now = Table(".".join(path), line, listed)
        self.tables.append(self.now)

    def _is_inside(self, parent: str) -> bool:
        return bool(self.tables) and self.tables[-1].name == parent

    def _sublist(self, key: str, line: int) -> None:
        """[[band.ramp]]: one more entry of a list of tables inside the table above."""
        parent = self.tables[-1]
        entry = Table(f"{parent.name}.{key}", line, listed=True)
        entries = parent.values.setdefault(key, [])
        parent.lines.setdefault(key, line)
        if isinstance(entries, list):
            entries.append(entry.values)
        self.now = entry

    def assignment(self, statement: _Statement) -> None:
        line, written = statement.line, statement.text.strip("\n")
        found = _BARE_KEY.match(written)
        name = found[1] if found else "?"
        if not statement.closed:
            self.now.broken.add(name)
            self.slip(line, f"{name} has a list or a text that is not closed", _closing(written))
            return
        data, problem = _parse(written)
        if data is None:
            # The rest of a value whose first line was broken is no mistake of its own.
            rest = line == self._unread_to + 1 and not _ASSIGNS.match(written)
            self._unread_to = line + written.count("\n")
            if rest:
                return
            self.now.broken.add(name)
            self.slip(line, f"{_short(written)} cannot be read ({problem})", _quoting(written))
            return
        for key, value in data.items():
            if self.now is self.top:
                self._top_level(key, value, line)
            else:
                self._begin_anew(key, line)
                self._put(self.now, key, value, line)

    def _top_level(self, key: str, value: object, line: int) -> None:
        """A key above all headers: `site = {...}`, `tank = [{...}, {...}]` or `site.name = ...`."""
        entries: list[Any] = value if isinstance(value, list) else [value]
        if not entries or not all(isinstance(entry, dict) for entry in entries):
            self.slip(line, f"{key} stands above all headers", "put it below the [site] header")
            return
        same = [t for t in self.tables if t.name == key and not t.listed]
        for entry in entries:
            if isinstance(value, dict) and same:
                table = same[0]
            else:
                table = Table(key, line, listed=isinstance(value, list))
                self.tables.append(table)
            for name, inner in entry.items():
                self._put(table, name, inner, line)

    def _begin_anew(self, key: str, line: int) -> None:
        """Begin another table where a second first key tells of a missing header."""
        table = self.now
        if table.listed and key in _FIRST_KEYS and key in table.values and len(table.values) > 1:
            what = f"{key} is given twice, first on line {table.line_of(key)}"
            self.slip(line, what, f"write {where(table)} above it, or leave one of them out")
            self.now = Table(table.name, line, listed=True)
            self.tables.append(self.now)

    def _put(self, table: Table, key: str, value: object, line: int) -> None:
        before = table.values.get(key)
        if isinstance(before, dict) and isinstance(value, dict) and before.keys().isdisjoint(value):
            before.update(value)  # when.odd = ... and when.bad = ... are one table
            return
        if key in table.values:
            first = table.line_of(key)
            again = f"{key} is given twice, first on line {first}"
            self.slip(line, again, f"keep one of the two lines, {first} or {line}")
            return
        table.values[key] = value
        table.lines[key] = line


def slip_of_whole(text: str) -> PlanSlip | None:
    """What only the whole text shows, such as a control character in a comment."""
    try:
        tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        found = re.search(r"at line (\d+)", str(error))
        line = int(found[1]) if found else text.count("\n") + 1
        return PlanSlip(line, "", f"this line cannot be read ({_plain(error)})", "write it again")
    return None


def where(table: Table) -> str:
    """A table's header as the plan shows it."""
    if not table.name:
        return "top of the plan"
    return f"[[{table.name}]]" if table.listed else f"[{table.name}]"


def _statements(text: str) -> Iterator[_Statement]:
    """Cut a plan into headers and assignments.

    Comments and empty lines fall away, but for those TOML does not allow.
    """
    at, line = 0, 1
    size = len(text)
    while at < size:
        end = text.find("\n", at)
        end = size if end < 0 else end
        first = text[at:end].strip()
        if not first or first.startswith("#"):
            if _CONTROL.search(text, at, end):
                yield _Statement(line, f"# {first}", closed=True)
            at, line = end + 1, line + 1
            continue
        closed = True
        if not first.startswith("["):
            end, closed = _value_end(text, at)
        piece = text[at:end]
        yield _Statement(line, piece, closed)
        line += piece.count("\n") + 1
        at = end + 1


def _value_end(text: str, at: int) -> tuple[int, bool]:
    """Where the assignment that begins at `at` ends, and whether all it opened was closed."""
    depth = 0
    while token := _TOKEN.search(text, at):
        mark = token[0]
        at = token.end()
        if mark in ('"""', "'''"):
            close = _long_text_end(text, at, mark)
            if close < 0:
                return _line_end(text, token.start()), False
            at = close
        elif mark in "[{":
            depth += 1
        elif mark in "]}":
            depth -= 1
        elif mark == "\n" and (depth <= 0 or _NEXT.match(text, at)):
            return token.start(), depth <= 0
    return len(text), depth <= 0


def _long_text_end(text: str, at: int, mark: str) -> int:
    """Just past the closing mark of a text over several lines; -1 when there is none."""
    while (close := text.find(mark, at)) >= 0:
        slashes = 0
        while mark == '"""' and text[close - 1 - slashes] == "\\":
            slashes += 1
        if slashes % 2 == 0:
            # Up to two quotes may stand directly before the closing three.
            extra = re.compile(f"{mark[0]}{{0,2}}").match(text, close + 3)
            return extra.end() if extra else close + 3
        at = close + 1
    return -1


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    return len(text) if end < 0 else end


def _parse(statement: str) -> tuple[dict[str, object] | None, str]:
    try:
        return tomllib.loads(statement), ""
    except (ValueError, RecursionError) as error:
        return None, _plain(error)


def _plain(error: Exception) -> str:
    """tomllib's reason without its place, which would be the place in a fragment."""
    if isinstance(error, RecursionError):
        return "too many brackets inside each other"
    reason = re.sub(r"\s*\(at .*\)$", "", str(error)).strip()
    return (reason[:1].lower() + reason[1:60]) or "not TOML"


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= 44 else line[:41] + "..."


def _closing(written: str) -> str:
    if '"""' in written or "'''" in written:
        return "end the text with the three quotes it began with"
    return "end the list with ]" if "[" in written else "end it with }"


def _quoting(written: str) -> str:
    """What would most likely mend an assignment that is not TOML."""
    found = re.match(r"\s*([A-Za-z0-9_-]+)\s*=?\s*(.*?)\s*(?:#.*)?$", written, re.DOTALL)
    if not found:
        return 'write it as key = "text" or key = number'
    key, value = found[1], found[2].strip()
    if comma := re.fullmatch(r"(-?\d+),(\d+)", value):
        return f"write {key} = {comma[1]}.{comma[2]}"
    if mend := day_mend(key, value):
        return mend
    plain = re.sub(r"[\"'\\]", "", " ".join(value.split()))
    if plain and not re.search(r"[\[\]{}=]", plain) and len(plain) <= 40:
        return f'write {key} = "{plain}"'
    return f'write {key} = "text", {key} = number, or {key} = ["one", "two"]'
