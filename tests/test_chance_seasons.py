"""Rooms the judgement was not tuned to: what is planted there is told, and quiet stays quiet.

A handful of seeds; `python tests/chance_seasons.py 200` prints what 200 seasons say.
"""

from __future__ import annotations

from pathlib import Path

from chance_walk import SAME_DEAD
from site_support import SMALL, clock_shows, go_to, opened, walking
from tankwalk.practice.judging import Flag
from tankwalk.practice.questions import AskSlip

COUNTS_TWICE_A_DAY = SMALL.replace('tank = ["temp", "do"]', 'tank = ["temp", "do", "morts"]')


def test_a_count_that_is_the_same_by_chance_can_be_kept(tmp_path: Path) -> None:
    with opened(tmp_path / "room", COUNTS_TWICE_A_DAY, "2026-05-10T07:00") as site:
        walk = go_to(walking(site), "T01", "morts")
        walk.answer("10")
        clock_shows(site, "2026-05-10T15:00")
        walk = go_to(walking(site, "CD", "pm"), "T01", "morts")
        walk.answer("10")
        asked = walk.question
        assert isinstance(asked, AskSlip)
        assert asked.slip is not None
        assert asked.slip.name == SAME_DEAD
        reply = walk.answer("*")
        assert (reply.flag, walk.question) == (Flag.CHECK, None)
        assert [seen.value for seen in walk.kept["T01", "morts"]] == [10.0]
