"""Only the dead are held against the dead: other counts have their band and nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import NOW, clock_shows, go_to, opened, walking
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.rounds import sign
from tankwalk.practice.site import Site
from weighing_support import PLAN

COUNTED = PLAN.replace('tank = ["do"]', 'tank = ["morts", "jumpers"]') + "".join(
    f'\n[[item]]\ncode = "{code}"\nlabel = "{label}"\nkind = "count"\nplausible = [0, 9000]\n'
    for code, label in (("morts", "Morts"), ("jumpers", "On the floor"))
)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """A room where T01 had nine dead each morning of the last days, and nine on the floor."""
    with opened(tmp_path / "room", COUNTED, NOW) as room:
        for day in ("06", "07", "08", "09"):
            clock_shows(room, f"2026-05-{day}T07:00")
            walk = go_to(walking(room), "T01", "morts")
            walk.answer("9")
            go_to(walk, "T01", "jumpers").answer("9")
            sign(room, walk.round, "AB")
        clock_shows(room, NOW)
        yield room


def test_many_dead_stand_out_by_what_is_usual_in_the_tank(site: Site) -> None:
    reply = go_to(walking(site), "T01", "morts").answer("70")
    assert reply.flag is Flag.ACT


def test_many_of_something_else_are_no_signal_of_the_dead(site: Site) -> None:
    reply = go_to(walking(site), "T01", "jumpers").answer("70")
    assert reply.flag is Flag.OK
    assert "usual" not in reply.sentence
