"""A page for the printer put in its file: whole or not at all, and over nobody else's file."""

from __future__ import annotations

from pathlib import Path

from tankwalk.errors import Refusal
from tankwalk.pages.paper import GENERATOR
from tankwalk.paths import put_whole


def write(file: Path, page: str) -> None:
    """Put a page in its file, whole or not at all; Refusal where it can't be."""
    try:
        if file.exists() and not _ours(file):
            raise Refusal(
                f"{file} is there already and was not made by tankwalk: nothing was written. "
                "Give another name."
            )
        put_whole(file, page.encode("utf-8"))
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
