"""The short form of tests/kills.py: a few of its kills, and what it would find."""

from __future__ import annotations

from pathlib import Path

import pytest

import kills


@pytest.mark.parametrize("name", kills.NAMES)
def test_what_was_said_is_there_and_nothing_is_half_after_a_kill(name: str) -> None:
    found = kills.killed(name, 2, seed=1)
    assert (found.lost, found.half) == ((), ())
    assert found.kills == 2


def test_entries_that_do_not_come_together_are_found_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A writer that says an entry before it is kept is what the kills are there to find."""

    def says_first(path: Path) -> None:
        for n in range(1, 10_000_000):
            print(n, flush=True)

    monkeypatch.setattr(kills, "_append", says_first)
    assert kills.killed(kills.ENTRIES, 2, seed=1).lost
