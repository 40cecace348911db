"""The page about doses says what the program says, and leaves no dose out."""

from __future__ import annotations

from pathlib import Path

import pytest

from doses_table import CASES, PAGE, page
from tankwalk.science.calculators import ALL


def test_every_sum_that_can_be_kept_as_a_dose_has_its_case() -> None:
    assert {case.name for case in CASES} == {c.name for c in ALL.values() if c.dose is not None}


@pytest.mark.long
def test_the_written_page_is_what_is_said_today(tmp_path: Path) -> None:
    said = page(tmp_path)
    assert PAGE.read_text("utf-8") == said, "renew it: python tests/doses_table.py"
    for case in CASES:
        part = said.partition(f"## {case.name}:")[2].partition("\n## ")[0]
        first, tenfold, ceiling, withdrawn = part.splitlines()[4:8]
        assert "First " in first
        assert "times as much" in tenfold
        assert "Who decided that it may go in all the same?" in ceiling
        assert "above" in ceiling.split("|")[4], "calc warns at the same ceiling"
        assert "Taken back" in withdrawn
        assert "First " in withdrawn
