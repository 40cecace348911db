"""Several programs at one record: each gets its turn, whoever else writes without a pause."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest
import writers

from ledger_support import OFFICE, TROLLEY, ended, hear, opened, program, record, tell, temp
from tankwalk.ledger import turns
from tankwalk.ledger.store import Ledger


def test_writers_a_reader_and_a_copier_at_once_lose_nothing_and_none_is_turned_away(
    tmp_path: Path,
) -> None:
    """The short form of tests/bench/writers.py."""
    found = writers.held(tmp_path, seconds=4, writers=3, pause=0.0, seed=1, every=1.0)
    assert (found.lost, found.doubled, found.not_told, found.refused) == (0, 0, 0, 0)
    assert found.sound
    assert found.told > 20
    assert found.backups > 0
    assert not turns.wanted(tmp_path / "ledger.sqlite"), "nobody waits any more"


def test_who_writes_alone_leaves_no_queue(tmp_path: Path) -> None:
    with Ledger.open(tmp_path / "ledger.sqlite", TROLLEY, create=True) as ledger:
        ledger.append(*temp(0, 17.4))
        assert [one.name for one in tmp_path.iterdir()] == ["ledger.sqlite"]


def test_who_waits_goes_before_who_wrote_last() -> None:
    with record() as path, opened(path) as ledger:
        with turns.turn(path):
            other = program("write", str(path), "CD", "3", "office")
            assert hear(other) == "ready"
            tell(other, "go")
            # It sees that somebody has the turn, and queues behind.
            assert ledger.append(*temp(0, 17.4)) == 1
        out, words = ended(other)
        assert words == ""
        assert [line.split()[0] for line in out.splitlines()] == ["2", "3", "4"]
        assert not turns.wanted(path)


def test_a_queue_that_a_killed_program_left_holds_nobody_up() -> None:
    with record() as path, opened(path) as ledger:
        Path(f"{path}{turns.SUFFIX}").touch()
        assert ledger.append(*temp(0, 17.4)) == 1
        assert not turns.wanted(path)


def test_where_no_queue_can_be_made_one_writes_without(monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.open

    def refused(file: Any, *more: Any, **named: Any) -> int:
        if str(file).endswith(turns.SUFFIX):
            raise PermissionError(file)
        return real(file, *more, **named)

    with record() as path, opened(path) as ledger:
        monkeypatch.setattr(os, "open", refused)
        with turns.turn(path):
            assert not turns.wanted(path)
            assert ledger.append(*temp(0, 17.4)) == 1


def test_a_queue_that_does_not_move_is_left_after_a_while(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(turns, "MOST", 60)
    with record() as path:
        other = program("queue", str(path))
        assert hear(other) == "first"
        with opened(path, OFFICE) as ledger:
            assert turns.wanted(path)
            assert ledger.append(*temp(0, 17.4)) == 1
        tell(other, "done")
        assert ended(other) == ("", "")
        assert not turns.wanted(path)
