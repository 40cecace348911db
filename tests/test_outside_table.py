"""The page of outside values says what the lists hold, and each value is counted once."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from outside_all import DIFFERS, SOURCES
from outside_table import NOBODY, PAGE, cell, counts, values
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
