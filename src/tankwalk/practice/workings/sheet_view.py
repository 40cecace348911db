"""What the pages of the Workings show: the list as it stands, and one calculator at work."""

from __future__ import annotations

from typing import NamedTuple

from tankwalk.clock import Instant
from tankwalk.practice.workings.doses import Planned
from tankwalk.practice.workings.worksheet import Result, Worksheet
from tankwalk.science.calculators.declare import Calculator, Input


class FoundView(NamedTuple):
    """The list of calculators that the letters stand for, and where one stands in it."""

    now: Instant
    place: str
    sought: str
    listed: tuple[Calculator, ...]
    every: int
    """How many calculators there are."""
    at: int
    said: str
    good: bool


class FieldView(NamedTuple):
    """One field: what is typed in it, and where that was taken from."""

    input: Input
    typed: str
    source: str


class SheetView(NamedTuple):
    """One calculator at work: its fields, the answer, and the question that stands."""

    now: Instant
    place: str
    chosen: Calculator
    fields: tuple[FieldView, ...]
    field: int
    """The field being filled, from 0; at the answer it is past the last."""
    result: Result
    asks: str
    question: str
    options: tuple[tuple[str, str], ...]
    dose: Planned | None
    said: str
    good: bool


def found_view(sheet: Worksheet) -> FoundView:
    """The list as it stands."""
    return FoundView(
        sheet.site.now(),
        sheet.place,
        sheet.sought,
        tuple(sheet.listed),
        sheet.count,
        sheet.at,
        sheet.said,
        sheet.good,
    )


def sheet_view(sheet: Worksheet) -> SheetView:
    """The chosen calculator as it stands."""
    asked = sheet.chosen
    assert asked is not None
    return SheetView(
        sheet.site.now(),
        sheet.place,
        asked,
        tuple(
            FieldView(one, sheet.typed.get(one.key, ""), sheet.source_words(one.key))
            for one in asked.inputs
        ),
        sheet.field,
        sheet.result(),
        sheet.asks,
        sheet.question,
        tuple(sheet.options()),
        sheet.dose,
        sheet.said,
        sheet.good,
    )
