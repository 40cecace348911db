"""A number that stands on several pages is one number: growth, survival, the mass of a fish."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from demo_support import STATION, THE_END, until
from tankwalk.ledger.entries import Entry, Movement, Sample, Suspect
from tankwalk.practice.past.view import place_view
from tankwalk.practice.samples import since
from tankwalk.practice.samples.growth_table import points
from tankwalk.practice.season.view import season
from tankwalk.practice.site import Site, open_site
from tankwalk.practice.stock_view import view
from tankwalk.practice.trial.gathering import Gathered, gather
from tankwalk.practice.trial.measures import Measure

END = "2026-05-19T21:30"


@pytest.fixture(scope="module")
def site() -> Iterator[Site]:
    """The demo at the end of its thirty days."""
    one = open_site(until(THE_END), STATION, END)
    yield one
    one.close()


@pytest.fixture(scope="module")
def trial(site: Site) -> Gathered:
    return gather(site)


def by_tank(one: Measure) -> dict[str, float]:
    return {each.tank.code: each.value for each in one.values if each.value is not None}


def test_the_trial_grows_as_the_page_of_samples_does(site: Site, trial: Gathered) -> None:
    # Each step of that page times its days makes up the whole stretch that the trial tells.
    growth = points(site, [tank.code for tank in trial.tanks])
    compared = 0
    for tank, sgr in by_tank(trial.measure("sgr")).items():
        steps = [one.grown for one in growth[tank] if one.grown is not None]
        if len(steps) < 2 or any(one.mass is None for one in growth[tank]):
            continue
        compared += 1
        days = sum(one.days for one in steps)
        assert sgr == pytest.approx(sum((one.sgr or 0) * one.days for one in steps) / days)
        grew = sum((one.tgc or 0) * (one.warmth or 0) for one in steps)
        warmth = sum(one.warmth or 0 for one in steps)
        # The mean of each step's days is not quite that of all days.
        assert by_tank(trial.measure("tgc"))[tank] == pytest.approx(grew / warmth, rel=2e-3)
    assert compared > 3


def test_the_trial_tells_survival_as_the_page_of_stock_does(site: Site, trial: Gathered) -> None:
    seen, less = by_tank(trial.measure("seen")), by_tank(trial.measure("census-less"))
    unseen = by_tank(trial.measure("unaccounted"))
    told = {row.tank.code: row.survival for row in view(site).rows}
    assert len(seen) == len(less) == 12
    for tank, value in seen.items():
        its = told[tank]
        assert its is not None
        assert its.seen is not None
        assert its.census is not None
        assert its.unseen is not None
        assert value == pytest.approx(100 * its.seen, rel=1e-12)
        assert less[tank] == pytest.approx(100 * its.census, rel=1e-12)
        assert unseen[tank] == pytest.approx(100 * its.unseen, rel=1e-12)


def test_a_mass_kept_in_grams_is_the_same_mass_on_every_page(tmp_path: Path) -> None:
    shutil.copytree(until(THE_END), tmp_path / "site")
    with closing(open_site(tmp_path / "site", STATION, END)) as site:
        now = site.now()
        for tank in site.plan.tanks:
            entry = Entry("sample", "AB", now, now, tank.code)
            site.record(entry, Sample("mass", 30, mean=0.25, sd=0.025, unit="g"))
        assert set(by_tank(gather(site).measure("mass")).values()) == {250.0}
        assert {one.mass.mean for one in season(site).groups if one.mass is not None} == {250.0}
        weighed = {one.weighed.mg for one in view(site).rows if one.weighed is not None}
        assert weighed == {250.0}
        drawn = next(
            one for one in place_view(site, "T01", whole=True).growth if one.item.unit == "mg"
        )
        last = drawn.looks[-1]
        assert (last.least, last.value, last.most) == (225.0, 250.0, 275.0)


def test_fish_moved_in_after_a_census_do_not_change_what_it_found(tmp_path: Path) -> None:
    shutil.copytree(until(THE_END), tmp_path / "site")
    with closing(open_site(tmp_path / "site", STATION, END)) as site:
        before = gather(site)
        now = site.now()
        site.record(Entry("movement", "AB", now, now, "T01"), Movement("moved in", 500))
        after = gather(site)
    for code in ("census", "census-less", "unaccounted"):
        assert by_tank(after.measure(code)) == by_tank(before.measure(code))
    assert "T01" not in by_tank(after.measure("seen"))


def test_what_a_suspect_meter_read_warms_nothing(tmp_path: Path) -> None:
    shutil.copytree(until(THE_END), tmp_path / "site")
    with closing(open_site(tmp_path / "site", STATION, END)) as site:
        now = site.now()
        week_ago = now._replace(utc=now.utc - 7 * 86400)
        before = since.warmth(site, "T01", week_ago, now)
        meters = {
            one.instrument
            for one in site.reader.readings.looks("T01", "temp", "degC", 40, until=now.utc)
        }
        first = min(before)
        known = [meter for meter in meters if meter is not None]
        for meter in known:
            mark = Entry("suspect", "AB", now, now, "site", "temp", "degC")
            site.record(mark, Suspect(meter, week_ago.utc, week_ago.utc + 86_400))
        left = since.warmth(site, "T01", week_ago, now)
        assert known
        assert first not in left
        assert {day: mean for day, mean in before.items() if day != first} == left


def test_feed_counts_for_the_gain_it_was_given_in(site: Site, trial: Gathered) -> None:
    one = trial.feeds[0]
    masses = [each.at for each in trial.samples if each.what == "mass" and each.place == "T01"]
    live, dry = one.between(masses[0], masses[-1])
    meals = site.reader.feeding.meals(masses[0].utc)
    given = sum(
        each.amount
        for each in meals
        if each.place == "T01" and each.unit == "g" and each.event is None
        and each.at.utc <= masses[-1].utc
    )  # fmt: skip
    assert one.tank.code == "T01"
    assert dry == pytest.approx(given)
    assert 0 < dry < one.dry, "fed after the last sample too"
    assert 0 < live <= one.live
