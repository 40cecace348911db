"""Dead counted outside any round are held against the same half of the days before."""

from __future__ import annotations

from pathlib import Path

import pytest

from site_support import SMALL, moment, opened, seen_before
from tankwalk.practice.judging.mortality import judge_count


@pytest.mark.parametrize(("now", "stands_out"), [
    ("06:30", True), ("11:59", True), ("12:00", False), ("17:00", False),
])  # fmt: skip
def test_a_count_before_noon_stands_against_counts_before_noon(
    tmp_path: Path, now: str, stands_out: bool
) -> None:
    with opened(tmp_path / "room", SMALL) as site:
        for day in ("06", "07", "08", "09"):
            seen_before(site, "T01", "morts", 9.0, f"2026-05-{day}T05:00")
        found = judge_count(site, "T01", 70.0, moment(f"2026-05-10T{now}"), None)
        assert (found is not None) == stands_out


def test_a_count_after_noon_stands_against_counts_after_noon(tmp_path: Path) -> None:
    with opened(tmp_path / "room", SMALL) as site:
        for day in ("06", "07", "08", "09"):
            seen_before(site, "T01", "morts", 9.0, f"2026-05-{day}T23:00")
        assert judge_count(site, "T01", 70.0, moment("2026-05-10T12:00"), None) is not None
        assert judge_count(site, "T01", 70.0, moment("2026-05-10T11:59"), None) is None
        assert judge_count(site, "T99", 70.0, moment("2026-05-10T12:00"), None) is None
