"""A page for the printer put in its file: whole or not at all, and over nobody else's file."""

from __future__ import annotations

import os
from pathlib import Path

from tankwalk.errors import Refusal
from tankwalk.pages.paper import GENERATOR


def write(file: Path, page: str) -> None:
    """Put a page in its file, whole or not at all; Refusal where it can't be."""
    part = file.parent / f"{file.name}.partial"
    try:
        if file.exists() and not _ours(file):
            raise Refusal(
                f"{file} is there already and was not made by tankwalk: nothing was written. "
                "Give another name."
            )
        try:
            with part.open("w", encoding="utf-8", newline="\n") as handle:
                handle.write(page)
                handle.flush()
                os.fsync(handle.fileno())
            part.replace(file)
        except OSError:
            part.unlink(missing_ok=True)
            raise
    except OSError as fault:
        raise Refusal(
            f"{file} cannot be written ({fault.strerror}): no page was made. Give another name."
        ) from fault


def _ours(file: Path) -> bool:
    """Whether a file that is there is a page of this program."""
    if not file.is_file():
        return False
    with file.open("rb") as handle:
        return GENERATOR.encode() in handle.read(2000)
