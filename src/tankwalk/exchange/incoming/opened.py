"""A file of values opened: how its bytes are text, what stands between its cells, its lines."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple

SEPARATORS = ("\t", ";", "|", ",")
"""What may stand between cells. The comma comes last: it may also be a decimal comma."""

NEARLY = 0.9
"""A separator that makes so large a part as many even lines as the best one is taken before it."""

_SAMPLE = 200
"""Lines that are looked at to find the separator and the head."""

_CHUNK = 1 << 18


class Sheet(NamedTuple):
    """A file as it is read: how its bytes are text, its separator, its SHA-256, its lines."""

    path: Path
    encoding: str
    separator: str
    digest: str
    lines: int


Line = tuple[int, list[str]]
"""The number of a line, counted from 1, and its cells without blanks around them."""


def opened(path: Path) -> Sheet:
    """A file looked at once: Refusal where it cannot be read, or holds no table."""
    try:
        encoding, digest, many = _bytes(path)
    except IsADirectoryError:
        raise Refusal(f"{path} is a folder: nothing was imported. Name a file.") from None
    except OSError as fault:
        raise Refusal(f"{path} cannot be read ({fault.strerror}): nothing was imported.") from fault
    if not many:
        raise Refusal(f"{path} is empty: nothing was imported.")
    return Sheet(path, encoding, _separator(path, encoding), digest, many)


_CELL = 1 << 17
"""Characters of a cell at most: more is a quote that was not closed."""


def lines(sheet: Sheet) -> Iterator[Line]:
    """Every line that is not blank, with its number; one that a quoted cell breaks is one line."""
    with sheet.path.open(encoding=sheet.encoding, errors="replace", newline="") as stream:
        reader = csv.reader(stream, delimiter=sheet.separator)
        first = 1
        csv.field_size_limit(_CELL)  # the limit is one for all readers of a program
        try:
            for row in reader:
                cells = [cell.strip() for cell in row]
                if any(cells):
                    yield first, cells
                first = reader.line_num + 1
        except csv.Error as fault:
            raise Refusal(
                f"Line {first} of {sheet.path.name} is no line of a table ({fault}): nothing was "
                "imported. A quote there may not be closed."
            ) from fault


def sample(sheet: Sheet, many: int = _SAMPLE) -> list[Line]:
    """The first lines that are not blank."""
    return [line for line, _ in zip(lines(sheet), range(many), strict=False)]


def _bytes(path: Path) -> tuple[str, str, int]:
    """Encoding and SHA-256 of a file, read once, and about how many lines it has: 0 is empty."""
    from codecs import getincrementaldecoder
    from hashlib import sha256

    whole, many, start = sha256(), 0, b""
    utf8 = getincrementaldecoder("utf-8")("strict")
    plain = True
    with path.open("rb") as stream:
        while chunk := stream.read(_CHUNK):
            start = start or chunk[:4096]
            whole.update(chunk)
            many += chunk.count(b"\n")
            if plain:
                try:
                    utf8.decode(chunk)
                except UnicodeDecodeError:
                    plain = False
    try:
        utf8.decode(b"", final=True)
    except UnicodeDecodeError:
        plain = False
    return _encoding(start, plain), whole.hexdigest(), max(many, 1) if start else 0


def _encoding(start: bytes, plain: bool) -> str:
    """How bytes are text, by how they begin; `plain` where all of them are UTF-8.

    What is no UTF-8 is taken as the Windows code page of western Europe and America.
    """
    if start.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if start.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig"
    half = len(start) // 2
    if half and start[1::2].count(0) > half // 2:
        return "utf-16-le"
    if half and start[::2].count(0) > half // 2:
        return "utf-16-be"
    return "utf-8" if plain else "cp1252"


def _separator(path: Path, encoding: str) -> str:
    """What stands between the cells: it makes the most lines equally wide."""
    with path.open(encoding=encoding, errors="replace", newline="") as stream:
        text = [line for line, _ in zip(stream, range(_SAMPLE), strict=False) if line.strip()]
    if text and (told := text[0].strip().lower()).startswith("sep=") and len(told) == 5:
        return told[4]
    even: dict[str, int] = {}
    for mark in SEPARATORS:
        try:
            widths = Counter(len(row) for row in csv.reader(text, delimiter=mark) if row)
        except csv.Error:
            continue
        even[mark] = max((many for width, many in widths.items() if width > 1), default=0)
    best = max(even.values(), default=0)
    if not best:
        raise Refusal(
            f"{path.name} holds no table: its lines have no cells with a comma, semicolon, tab or "
            "bar between them. Nothing was imported."
        )
    return next(mark for mark in SEPARATORS if even.get(mark, 0) >= NEARLY * best)
