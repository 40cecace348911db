"""Every fault of the table in docs/faults.md, done anew: it reads as it is written there."""

from __future__ import annotations

from pathlib import Path

import pytest

import record_faults

PAGE = (Path(__file__).parent.parent / "docs" / "faults.md").read_text("utf-8")


@pytest.mark.parametrize("fault", record_faults.FAULTS)
def test_a_fault_is_told_as_the_table_has_it_and_what_is_to_be_done_works(fault: str) -> None:
    row = record_faults.done(fault)
    assert f"| {fault} | {' | '.join(row)} |\n" in PAGE
    assert "sound, " in row.then
