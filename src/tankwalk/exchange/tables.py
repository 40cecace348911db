"""Tables as CSV files: UTF-8, units in the heads, NA for what is missing, no cell a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from tankwalk.errors import Refusal
from tankwalk.pages.trial_tables import Table
from tankwalk.paths import make_folder, put_whole

NA = "NA"
README = "methods.txt"
MADE = "Made by tankwalk: "
"""How a folder of this program is known again; over nobody else's files is anything written."""

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def cell(value: str | float | None) -> str:
    """A cell: a number as it is, words that a spreadsheet would take for a formula quoted."""
    if value is None:
        return NA
    if isinstance(value, int | float):
        return f"{value:.10g}"
    return f"'{value}" if value.startswith(_FORMULA) else value


def as_csv(table: Table) -> str:
    """A table as the text of a file, lines ended as RFC 4180 has them."""
    made = io.StringIO(newline="")
    writer = csv.writer(made, lineterminator="\r\n")
    writer.writerow([cell(head) for head in table.heads])
    writer.writerows([cell(value) for value in row] for row in table.rows)
    return made.getvalue()


def write(folder: Path, what: str, tables: Sequence[Table], methods: Sequence[str]) -> list[str]:
    """Put tables and how they were made in a folder; the names of the files, Refusal if not."""
    said = f"{MADE}{what}\n\n" + "\n".join(methods) + "\n"
    files = {f"{table.name}.csv": as_csv(table) for table in tables} | {README: said}
    try:
        make_folder(folder)
        there = [name for name in files if (folder / name).exists()]
        readme = folder / README
        ours = readme.is_file() and readme.read_text("utf-8", "replace").startswith(MADE)
        if there and not ours:
            raise Refusal(
                f"{folder / there[0]} is there already and was not made by tankwalk: nothing was "
                "written. Name another folder."
            )
        for name, words in files.items():
            put_whole(folder / name, words.encode("utf-8"))
    except OSError as fault:
        raise Refusal(
            f"{folder} cannot be written ({fault.strerror}): name another folder."
        ) from fault
    return list(files)
