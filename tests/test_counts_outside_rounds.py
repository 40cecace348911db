"""Dead counted outside any round are held against the same half of the days before."""

from __future__ import annotations

from pathlib import Path

import pytest

from site_support import SMALL, moment, opened, seen_before
from tankwalk.ledger.entries import Entry, Movement
from tankwalk.practice.judging.dead.counts import gather
from tankwalk.practice.judging.dead.mortality import judge_count


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


def test_the_book_that_a_count_is_held_against_is_that_of_the_mornings_beginning(
    tmp_path: Path,
) -> None:
    with opened(tmp_path / "room", SMALL) as site:
        at = moment("2026-05-08T09:00")
        site.record(Entry("movement", "CD", at, at, "T01"), Movement("stocked", 1000))
        for fish, when in ((5.0, "09T15:00"), (7.0, "10T05:00"), (2.0, "10T06:00")):
            seen_before(site, "T01", "morts", fish, f"2026-05-{when}")
        known = gather(site, "T01", moment("2026-05-10T07:00"), None)
        assert known is not None
        assert known.best == 995
