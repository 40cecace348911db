"""What the pages of the Workings show: the list as it stands, and one calculator at work."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.practice.workings.dose_doubt import Review
from tankwalk.practice.workings.doses import Planned
from tankwalk.practice.workings.keep_talk import Asks
from tankwalk.practice.workings.worksheet import Result, Worksheet
from tankwalk.rows import NamedTuple
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
    hidden: bool
    """Whether the answer waits for its caution to be read."""
    asks: Asks | None
    question: str
    review: Review | None
    """What is said of a dose that is asked about: it has the page to itself."""
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
    asked, talk = sheet.chosen, sheet.talk
    assert asked is not None
    return SheetView(
        sheet.site.now(),
        sheet.place,
        asked,
        tuple(
            FieldView(one, sheet.typed.get(one.key, ""), sheet.source_words(one.key))
            for one in sheet.inputs
        ),
        sheet.field,
        sheet.result(),
        sheet.hidden,
        None if talk is None else talk.asks,
        "" if talk is None else talk.question,
        None if talk is None else talk.reviewed,
        () if talk is None else tuple(talk.options()),
        None if talk is None else talk.dose,
        sheet.said,
        sheet.good,
    )
