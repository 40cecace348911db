"""A file that was imported, in one line: what it brought, and whether it was taken back."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.ledger.imports import ImportTold
from tankwalk.pages.when import at_words


def told(one: ImportTold, now: Instant) -> str:
    """The file, how many values it brought, from what, by whom and when, and what became of it."""
    values = "1 value" if one.kept == 1 else f"{one.kept:,} values"
    said = f"{one.file} imported {at_words(one.at, now)} by {one.who}: {values} of {one.source}"
    if one.refused:
        said += f", {one.refused:,} not taken"
    if one.undone is not None:
        at, who = one.undone
        said += f"; undone {at_words(at, now)} by {who}"
    return f"{said} (import {one.n})"
