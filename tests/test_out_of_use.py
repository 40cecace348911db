"""A meter that failed its check: no number of it is kept in a round unless somebody says so."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import STATION, until
from site_support import clock_shows, go_to, walk_drawn, walking
from tankwalk.clock import parse_instant, zone
from tankwalk.pages.lines import plain
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meters.meter_checks import check
from tankwalk.practice.round.questions import AskAgain, AskMeter
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site, open_site
from tankwalk_demo.room import plan


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    """The demo's hatchery as meter B is found 10 % high, before the round of the next morning."""
    saturday = until(parse_instant("2026-05-02T16:00", zone(plan().zone)))
    site = open_site(
        Path(shutil.copytree(saturday, tmp_path / "site")), STATION, "2026-05-02T16:00"
    )
    check(site, "PB", "B", 110.0)
    clock_shows(site, "2026-05-03T06:50")
    yield site
    site.close()


def at_t08(site: Site) -> Walk:
    return go_to(walking(site, "PB"), "T08", "do")


def kept(site: Site) -> list[tuple[float, str]]:
    """Oxygen of T08 in this round: value and meter."""
    return site.ledger.db.execute(
        "SELECT value, instrument FROM readings WHERE place = 'T08' AND item = 'do'"
        " AND observed_local >= '2026-05-03' ORDER BY n"
    ).fetchall()


def test_a_number_of_a_meter_out_of_use_is_kept_only_once_its_meter_is_named(demo: Site) -> None:
    walk = at_t08(demo)
    walk.answer("9.1")
    assert isinstance(walk.question, AskMeter)
    for easy in ("", "+"):
        walk.answer(easy)
        assert isinstance(walk.question, AskMeter)
    assert kept(demo) == []
    for width in (60, 80, 120):
        shown = " ".join(plain(walk_drawn(walk, "", width, 24)).split())
        assert "Meter B failed its check Sat 2 May 16:00, it is out of use." in shown
        assert "1 meter A" in shown
    walk.answer("1")
    assert kept(demo) == [(9.1, "A")]
    go_to(walk, "T09", "do")
    walk.answer("9.2")
    assert not isinstance(walk.question, AskMeter), "A is in hand for all that follows"


def test_what_it_reads_all_the_same_is_kept_as_its_own_and_said_each_time(demo: Site) -> None:
    walk = at_t08(demo)
    walk.answer("9.1")
    assert "Read with meter B, which is out of use." in walk.answer("2").sentence
    go_to(walk, "T09", "do")
    reply = walk.answer("9.2")
    assert not isinstance(walk.question, AskMeter), "asked once in a round"
    assert "Read with meter B, which is out of use." in reply.sentence
    assert kept(demo) == [(9.1, "B")]


def test_what_it_reads_out_of_band_is_told_as_any_other(demo: Site) -> None:
    walk = at_t08(demo)
    walk.answer("4.1")
    walk.answer("2")
    assert isinstance(walk.question, AskAgain)
    walk.answer("4.2")
    assert kept(demo) == [(4.1, "B"), (4.2, "B")]
    assert max(seen.flag for _, seen in walk.flags()) >= Flag.ACT


def test_esc_and_not_taken_keep_no_number_of_it(demo: Site) -> None:
    walk = at_t08(demo)
    walk.answer("9.1")
    assert walk.back()
    assert walk.question is None
    walk.answer("9.1")
    walk.answer("/")
    walk.answer("3")
    assert [value for value, _ in kept(demo)] == [None]
