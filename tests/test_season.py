"""The season: what went in and came out by lot and treatment, what went wrong, and its cost."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from demo_support import THE_END, until
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.exchange.plain_values import plain_value
from tankwalk.ledger.entries import Entry, Movement
from tankwalk.ledger.store import FILE, Station
from tankwalk.pages import season as page
from tankwalk.pages.lines import plain
from tankwalk.practice import times
from tankwalk.practice.season.view import Season, season
from tankwalk.practice.site import Site, open_site

LAST_DAY = "2026-05-19T17:00"


@pytest.fixture(scope="module")
def site() -> Iterator[Site]:
    """The demo on the last afternoon of its thirty days, read only."""
    one = open_site(until(THE_END), Station("reads", "reads"), LAST_DAY)
    yield one
    one.close()


@pytest.fixture(scope="module")
def whole(site: Site) -> Season:
    return season(site)


def asked(site: Site, sql: str) -> list[tuple[Any, ...]]:
    """Rows of the record by plain SQL, another way than the reader's."""
    with closing(sqlite3.connect(site.folder / FILE)) as db:
        return db.execute(sql).fetchall()


def test_what_went_in_and_out_is_what_the_record_holds_by_plain_sums(
    site: Site, whole: Season
) -> None:
    until_then = "observed_local <= '2026-05-19 17:00' GROUP BY place"
    given = "SELECT place, sum(amount) FROM meals WHERE feed = 'D1' AND event IS NULL AND "
    # A count that was read again in its round stands twice and is one count.
    counted = "SELECT place, sum(value) FROM readings WHERE item = 'morts' AND NOT recheck AND "
    fed = dict(asked(site, given + until_then))
    dead = dict(asked(site, counted + until_then))
    for group in whole.groups:
        dry = next(one for one in group.feeds if one.code == "D1")
        assert dry.amount == pytest.approx(sum(fed[tank] for tank in group.tanks))
        assert group.dead.fish == sum(dead[tank] for tank in group.tanks)
        assert len(group.tanks) == 4
    assert sum(one.stocked.fish for one in whole.groups) == 52_800


def test_means_are_over_tanks_and_say_how_many(site: Site, whole: Season) -> None:
    rows = asked(site, "SELECT e.place, s.mean FROM sample s JOIN entries e ON e.n = s.entry"
                       " WHERE s.what = 'mass' AND e.observed_local <= '2026-05-19 17:00'"
                       " ORDER BY e.n")  # fmt: skip
    newest = dict(rows)
    for group in whole.groups:
        means = [float(str(newest[tank])) for tank in group.tanks]
        assert group.mass is not None
        assert group.mass.tanks == len(group.tanks)
        assert group.mass.mean == pytest.approx(sum(means) / len(means))
        assert (group.mass.low, group.mass.high) == (min(means), max(means))


def test_dry_feed_for_each_gram_gained_is_marked_where_live_feed_was_eaten_too(
    whole: Season,
) -> None:
    said = plain(page.draw(whole, 80))
    for group in whole.groups:
        assert group.gain.live
        assert group.gain.ratio is not None
        assert group.gain.gain_g is not None
        assert group.gain.ratio == pytest.approx(group.gain.dry_g / group.gain.gain_g)
        assert f"{group.gain.ratio:.2f}*" in said
    assert "this is no feed conversion ratio" in " ".join(said.split())


def test_an_incident_has_hours_to_the_first_response_and_to_its_end_and_the_fish_it_cost(
    whole: Season,
) -> None:
    # Incident 5 of the demo's story: the dead of T07 jump on day 21 (64 in the morning), where nine
    # or ten a morning and one or two an afternoon were usual.
    dead = [one for one in whole.wrong.incidents if one.item == "morts" and "T07" in one.places]
    assert len(dead) == 1
    assert dead[0].lost is not None
    assert 50 <= dead[0].lost <= 64 + 14 + 3 - 2 * 10
    answered = [one for one in whole.wrong.incidents if one.response_h is not None]
    assert all(0 <= one.response_h for one in answered if one.response_h is not None)
    ended = [one for one in whole.wrong.incidents if one.end_h is not None]
    assert ended
    assert all(one.end_h > 0 for one in ended if one.end_h is not None)


def test_the_dead_of_a_tank_and_day_cost_once_however_many_flags_it_had(whole: Season) -> None:
    """Oxygen, saturation, screen and morts of T07 on its Sunday: one morning, one loss.

    Beside it two fish above the usual while NH3-N was high in all tanks.
    """
    lost = [one for one in whole.wrong.incidents if one.lost]
    on_sunday = [one.lost for one in lost if one.since.day == date(2026, 5, 10)]
    assert on_sunday == [59, 59, 59, 59]
    assert [(one.item, one.lost) for one in lost if one.lost not in on_sunday] == [("nh3n", 2)]
    assert whole.cost.lost == 59 + 2


def test_rounds_that_nobody_signed_are_counted_against_those_planned(
    site: Site, whole: Season
) -> None:
    assert whole.wrong.rounds_planned - whole.wrong.rounds_missed <= whole.work.rounds
    assert whole.work.rounds == len({one for (one,) in asked(
        site, "SELECT r.number FROM round r JOIN entries e ON e.n = r.entry WHERE r.event = 'sign'"
              " AND e.observed_local <= '2026-05-19 17:00'")})  # fmt: skip


def test_an_end_before_the_beginning_and_a_site_without_fish_are_refused_in_a_sentence(
    site: Site, tmp_path: Path
) -> None:
    with pytest.raises(Refusal, match="before it begins"):
        season(site, times.since(site, "2026-05-10"), times.since(site, "2026-05-01"))
    from site_support import opened

    with opened(tmp_path / "empty") as empty, pytest.raises(Refusal, match="no beginning"):
        season(empty)
    with opened(tmp_path / "empty") as empty:
        told = plain(page.draw(season(empty, times.since(empty, "10d")), 80))
    assert "No fish in this time." in told


def test_feed_of_fish_that_were_there_before_is_told_apart(site: Site) -> None:
    later = season(site, times.since(site, "2026-03-01"))
    assert later.earlier == ()
    assert [one.feeds for one in later.groups] == [one.feeds for one in season(site).groups]


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_the_page_keeps_its_width_and_cuts_no_number(whole: Season, width: int) -> None:
    drawn = page.draw(whole, width)
    assert {len(plain([row]).ljust(width)) for row in drawn} == {width}
    said = plain(drawn)
    for group in whole.groups:
        assert f"{group.best.fish:,}" in said
        assert f"{group.dead.fish:,}" in said
    if width >= 60:
        assert ".." not in "\n".join(said.splitlines()[1:])


def test_every_number_of_the_page_is_in_the_json(whole: Season) -> None:
    told = json.loads(json.dumps(plain_value(whole)))
    assert [one["stocked"]["fish"] for one in told["groups"]] == [17_600] * 3
    assert told["since"] == whole.since.iso()
    assert told["wrong"]["incidents"][0]["flag"] in ("watch", "act", "urgent")


def test_a_season_is_told_how_far_it_is(site: Site) -> None:
    shares: list[float] = []
    season(site, tell=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_a_page_without_a_census_says_that_best_is_the_book(site: Site) -> None:
    early = season(site, until=times.since(site, "2026-05-01"))
    said = " ".join(plain(page.draw(early, 80)).split())
    assert "Not counted: best is the book" in said
    assert isinstance(early.until, Instant)


def test_the_gain_is_of_the_fish_that_were_weighed_also_after_the_harvest(tmp_path: Path) -> None:
    def harvested(many: int) -> float | None:
        site = open_site(
            shutil.copytree(until(THE_END), tmp_path / str(many)), Station("x", "x"), LAST_DAY
        )
        for tank in site.plan.tanks if many else ():
            at = site.now()
            gone = Movement("moved out", many, 0.0, "to the raceways")
            site.record(Entry("movement", "TS", at, at, tank.code), gone, sure=True)
        gain = season(site).groups[0].gain.gain_g
        site.close()
        return gain

    before = harvested(0)
    assert before is not None
    assert before > 0
    assert harvested(1500) == pytest.approx(before)
