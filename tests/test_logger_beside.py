"""Loggers beside the looks: on the page of a tank, and said once where they disagree."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from import_support import keep, written
from site_support import SMALL, opened, seen_before
from tankwalk.exchange.incoming.understanding import Told
from tankwalk.pages import plot, tank, tank_table
from tankwalk.pages.lines import plain
from tankwalk.practice.importing import against, keeping
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.past.view import place_view
from tankwalk.practice.site import Site

NOW = "2026-05-10T12:00"

LOOKS = {"2026-05-08T07:00": 16.4, "2026-05-08T15:00": 16.6, "2026-05-09T07:00": 16.5,
         "2026-05-09T15:00": 16.8}  # fmt: skip
"""What a person read at T01."""


def logged(folder: Path, off: float, name: str) -> Path:
    """A logger beside these looks, each five minutes before one, off by so much."""
    before = {"T07:00": " 06:55", "T15:00": " 14:55"}
    lines = [f"{when[:10]}{before[when[10:]]},{value + off:.2f}" for when, value in LOOKS.items()]
    return written(folder, "time,T01 temp (degC)\n" + "\n".join(lines) + "\n", f"{name}.csv")


@contextmanager
def looked_at(folder: Path, plan: str = SMALL) -> Iterator[Site]:
    """A room in which T01 was looked at four times."""
    with opened(folder / "site", plan, now=NOW) as site:
        for when, value in LOOKS.items():
            seen_before(site, "T01", "temp", value, when)
        yield site


def of_loggers(site: Site) -> list[tuple[str, Flag, str]]:
    """The flags that name a logger."""
    return [
        (one.place, one.flag, one.sentence)
        for one in flags.standing(site)
        if one.key.kind == "logger"
    ]


def test_a_logger_that_disagrees_by_more_than_both_allow_is_said_once(tmp_path: Path) -> None:
    with looked_at(tmp_path) as site:
        keep(site, logged(tmp_path, 1.2, "high"), Told(source="TL1"))
        words = "Temperature by TL1 1.2 degC above the last 4 looks at T01, 0.6 allowed"
        assert of_loggers(site) == [("logger TL1", Flag.CHECK, words)]
        entries = site.reader.spine.last_number()
        # More of it, as far off, is not said again.
        path = written(tmp_path, "time,T01 temp (degC)\n2026-05-09 15:05,18.0\n", "more of it.csv")
        keep(site, path, Told(source="TL1"))
        assert site.reader.spine.last_number() == entries + 1
        assert len(of_loggers(site)) == 1


@pytest.mark.parametrize("off", [0.0, 0.55, -0.55])
def test_a_logger_within_what_both_allow_is_not_spoken_of(tmp_path: Path, off: float) -> None:
    with looked_at(tmp_path) as site:
        keep(site, logged(tmp_path, off, "near"), Told(source="TL1"))
        assert of_loggers(site) == []


def test_it_is_over_when_the_import_is_taken_back_or_a_better_one_comes(tmp_path: Path) -> None:
    with looked_at(tmp_path) as site:
        n = keep(site, logged(tmp_path, -1.2, "low"), Told(source="TL1"))
        assert "1.2 degC below" in of_loggers(site)[0][2]
        keeping.undo(site, "AB", n)
        assert of_loggers(site) == []
        keep(site, logged(tmp_path, 0.1, "mended"), Told(source="TL1"))
        assert of_loggers(site) == []


def test_the_plan_says_what_a_logger_may_be_off_and_where_it_hangs(tmp_path: Path) -> None:
    plan = (
        SMALL
        + """
[[logger]]
code = "TL1"
place = "T01"
item = "temp"
within = "3 degF"
zone = "-05:00"
"""
    )
    with looked_at(tmp_path, plan) as site:
        words = logged(tmp_path, 1.2, "high").read_text("utf-8")
        path = written(tmp_path, words.replace("T01 temp (degC)", "probe"), "plain.csv")
        keep(site, path, Told(source="TL1", columns={"probe": "value"}))
        assert site.reader.imports.newest(1)[0].kept == 4
        assert of_loggers(site) == []  # 3 degF apart are 1.7 degC
        assert against.allowance(site.plan, "TL1", site.plan.item("temp")) == pytest.approx(5 / 3)


def test_a_logger_stands_beside_the_looks_on_the_page_of_its_tank(tmp_path: Path) -> None:
    with looked_at(tmp_path) as site:
        keep(site, logged(tmp_path, 0.2, "near"), Told(source="TL1"))
        view = place_view(site, "T01")
        words = "TL1, Temperature 16.6 - 17.0, last 17.0, Sat 9 May 14:55; 4 values"
        page = plain(tank.draw(view, 80, 23))
        assert f" : imported  {words}" in page
        drawn = plot.plot(view.plots[1], plot.axis(view.window, 56), 5, view.logged)
        assert plot.LOGGED in drawn.signs
        tones = {one.tone for row in drawn.rows for one in row if plot.LOGGED in one.text}
        assert tones <= {"inside", "plain"}  # no dimmer than the dots of the band beside it
        assert plot.LOGGED not in plot.plot(view.plots[1], plot.axis(view.window, 56), 5).signs
        said = plain(tank_table.draw(view, 80))
        assert f" imported  {words}" in said
        assert ": imported" not in said  # no plot stands there
        assert "Temperature by TL1" in said
        assert place_view(site, "T02").logged == ()
