"""The page of outside values says what the lists hold, and each value is counted once."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from outside import Kind, values
from outside_all import DIFFERS, SOURCES
from outside_table import NOBODY, PAGE, cell, counts
from tankwalk.science.calculators import ALL

pytestmark = pytest.mark.filterwarnings("ignore")  # other people's libraries may warn


def table(heading: str) -> list[list[str]]:
    """The rows of the table under a heading of the page, cell by cell."""
    part = PAGE.read_text("utf-8").split(f"\n## {heading}\n", 1)[1].split("\n## ", 1)[0]
    lines = [line for line in part.splitlines() if line.startswith("| ")][2:]
    return [[c.strip() for c in re.split(r"(?<!\\)\|", line)[1:-1]] for line in lines]


def said(words: str) -> str:
    """What a line of the totals says after its colon."""
    found = re.search(rf"^- {words}: (.+)$", PAGE.read_text("utf-8"), re.MULTILINE)
    assert found is not None
    return found.group(1)


def test_the_page_counts_what_the_lists_hold() -> None:
    written: Counter[tuple[str, str]] = Counter()
    for row in table("Agreements"):
        written[row[0], row[1]] += int(row[2])
    assert written == counts(), "renew it: python tests/outside_table.py"
    assert said("outside values") == str(sum(written.values()))
    covered = {s.calculator for s in SOURCES}
    assert said("calculators held to at least one") == f"{len(covered)} of {len(ALL)}"


def test_what_is_quoted_what_a_library_says_and_what_is_remembered_are_counted_apart() -> None:
    held: Counter[tuple[Kind, bool]] = Counter()
    for source in SOURCES:
        held[source.kind, source.again] += len(values(source))
    for kind in Kind:
        words = said(kind)
        assert words.startswith(str(held[kind, False]))
        assert (f"and {held[kind, True]} that" in words) == (held[kind, True] > 0)
    assert held.total() == sum(counts().values())


def test_a_table_whose_cells_are_read_both_ways_counts_once() -> None:
    """The calculators that turn the oxygen table round are held to the same nine cells."""
    cells = [s for s in SOURCES if s.reference.startswith("EN 25814")]
    assert [s.calculator for s in cells if not s.again] == ["oxygen-saturation"]
    assert sum(len(values(s)) for s in cells if not s.again) == 9


def test_a_tolerance_stood_before_only_where_the_digits_printed_or_rounding_give_it() -> None:
    rows = {(row[0], row[1]): (row[7], row[8]) for row in table("Agreements")}
    assert {when for _, when in rows.values()} == {"before", "after"}
    for why, when in rows.values():
        if "worst" in why or "and a" in why or "another fit" in why or "another set" in why:
            assert when == "after", why
        if why in ("half of the last digit", "the printed figures", "rounding only"):
            assert when == "before", why


def test_there_are_enough_of_them() -> None:
    assert sum(counts().values()) >= 250


def test_each_outside_value_is_counted_once() -> None:
    found = Counter(
        (s.calculator, tuple(sorted(v.typed.items())), v.key, s.reference)
        for s in SOURCES
        for v in values(s)
    )
    assert {what: times for what, times in found.items() if times > 1} == {}


def test_each_calculator_is_held_to_something_outside_or_says_why_not() -> None:
    covered = {s.calculator for s in SOURCES}
    assert covered <= set(ALL)
    assert set(NOBODY) == set(ALL) - covered
    assert all(NOBODY.values())


def test_the_page_shows_every_known_difference() -> None:
    shown = Counter((row[0], row[1]) for row in table("Known to differ"))
    assert shown == Counter((d.calculator, cell(d.statement)) for d in DIFFERS)
