"""Exports for tests: of the demo's thirty days, and of a record that holds one of everything."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from demo_support import whole
from ledger_support import Line, full_content, record, write
from shared_support import once
from site_support import SMALL, moment
from tankwalk.cli import main
from tankwalk.exchange import package
from tankwalk.plan.load import read_plan

NOW = "2026-05-19T17:00"


def _demo(folder: Path) -> None:
    assert main(["export", str(folder / "out"), "--site", str(whole()), "--now", NOW]) == 0


def demo_package() -> Path:
    """The demo's thirty days, exported once a run; to be read only."""
    return once("exported demo", _demo) / "out"


def exported(
    folder: Path,
    lines: Sequence[Line] | None = None,
    choice: package.Choice = package.Choice(),  # noqa: B008
) -> Path:
    """A record of some lines, else of one of everything, exported into a folder."""
    with record(full_content() if lines is None else None) as path:
        write(path, lines or ())
        package.write(path, read_plan(SMALL), moment(NOW), folder, choice)
    return folder


def table(folder: Path, name: str) -> list[dict[str, str]]:
    """The rows of a table of a package, every cell as it is written."""
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return [*csv.DictReader(file)]


def described(folder: Path) -> dict[str, Any]:
    """What a package says of itself."""
    found: dict[str, Any] = json.loads((folder / "datapackage.json").read_text("utf-8"))
    return found
