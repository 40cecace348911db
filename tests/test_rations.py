"""What a tank is to get of a feed for a day and a meal: from plan, book and samples."""

from __future__ import annotations

import shutil
from datetime import date
from math import exp
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import demo_support
from demo_support import NOW, STATION
from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.entries import Entry, Sample
from tankwalk.plan.model import Feed, Plan, Ration, RationBy
from tankwalk.practice.feeding.in_water import Counted, Given, Left, LeftHow, left
from tankwalk.practice.feeding.rations import (
    Known,
    Missing,
    Weighed,
    What,
    known_now,
    measured,
    need,
)
from tankwalk.practice.site import open_site
from tankwalk_demo.room import plan as demo_plan

DAY = date(2026, 4, 27)  # a Monday, seven meals; the fish are 11 dph
PLAN: Plan = demo_plan()
ZONE = zone(PLAN.zone)
TANK = PLAN.tank("T02")


def by(feed: str, how: RationBy, amount: float, grows: float = 0, eats: float = 0) -> Plan:
    """The demo's plan with one ration alone, the same at every age."""
    ration = Ration(feed, None, how, ((4, amount), (60, amount)), grows, eats)
    return PLAN._replace(rations=(ration,))


def clock(hour: int, minute: int = 0, day: date = DAY) -> Instant:
    return at(day, hour, minute, ZONE)


def feed(code: str, tank: str = "T02") -> Feed:
    return next(f for f in PLAN.feeds_of(PLAN.tank(tank)) if f.code == code)


def test_a_ration_for_the_tank_is_shared_by_the_meals_of_that_day() -> None:
    found = need(PLAN, TANK, feed("Artemia"), DAY, Known())
    # 698 thousand at 11 dph, on a weekday of seven meals.
    assert found.day == pytest.approx(698)
    assert found.meals == 7
    assert found.meal == pytest.approx(698 / 7)
    assert found.amount == 100
    weekend = need(PLAN, TANK, feed("Artemia"), date(2026, 4, 26), Known())
    assert weekend.meals == 6
    assert weekend.meal == pytest.approx(690 / 6)


def test_a_ration_for_the_fish_goes_by_the_book_and_is_unknown_without_it() -> None:
    plan = by("Artemia", RationBy.FISH, 150)
    found = need(plan, TANK, feed("Artemia"), DAY, Known(fish=4000))
    assert found.day == pytest.approx(600)  # thousand
    none = need(plan, TANK, feed("Artemia"), DAY, Known())
    assert (none.day, none.meal, none.missing) == (None, None, Missing.FISH)
    dry = need(by("D1", RationBy.THOUSAND_FISH, 4), TANK, feed("D1"), DAY, Known(fish=3500))
    assert dry.day == pytest.approx(14)  # g


def test_a_ration_by_mass_goes_on_from_the_last_sample_at_the_plan_s_growth() -> None:
    plan = by("D1", RationBy.BIOMASS, 10, grows=0.14)
    sampled = Weighed(3.0, 30, clock(13, day=date(2026, 4, 24)))
    found = need(plan, TANK, feed("D1"), DAY, Known(fish=4000, weighed=sampled))
    # 3 mg grow to 3 x 1.14^3 in three days; 10 % of 4000 of them.
    assert found.day == pytest.approx(0.1 * 4000 * 3 * 1.14**3 / 1000)
    assert [fact.what for fact in found.facts] == [
        What.PLANNED, What.FISH, What.SAMPLED, What.DAYS, What.GROWS, What.MASS, What.ALL,
        What.DAY, What.MEALS, What.MEAL,
    ]  # fmt: skip
    assert need(plan, TANK, feed("D1"), DAY, Known(fish=4000)).missing is Missing.MASS
    # A sample of later that day is of that day, and nothing shrinks back.
    early = need(plan, TANK, feed("D1"), date(2026, 4, 20), Known(fish=4000, weighed=sampled))
    assert early.missing is None
    assert early.day == pytest.approx(0.1 * 4000 * 3 / 1000)


def test_a_density_fills_up_from_what_is_left() -> None:
    plan = by("Artemia", RationBy.DENSITY, 2)
    there = Left(0.5, LeftHow.COUNTED, clock(10), clock(9, 50))
    found = need(plan, TANK, feed("Artemia"), DAY, Known(flow=2.5), left=there)
    assert found.meal == pytest.approx(1.5 * 220)  # thousand in 220 L
    over = need(plan, TANK, feed("Artemia"), DAY, Known(), left=there._replace(per_ml=3))
    assert over.meal == 0


def test_a_day_at_a_density_gives_back_what_the_flow_took_between_its_own_meals() -> None:
    plan = by("Artemia", RationBy.DENSITY, 2)
    found = need(plan, TANK, feed("Artemia"), DAY, Known(flow=2.5))
    # C = C0 exp(-Q t / V): a stirred tank; the meals of a Monday, and the night before.
    hours = [11.5, 2, 2, 2, 1 + 43 / 60, 2 + 17 / 60, 2.5]
    wanted = [440 * (1 - exp(-60 * 2.5 / 220 * h)) for h in hours]
    assert found.each == pytest.approx(wanted)
    assert found.day == pytest.approx(sum(wanted))
    third = need(plan, TANK, feed("Artemia"), DAY, Known(flow=2.5), nth=4)
    assert third.meal == pytest.approx(wanted[4])
    # Fish that eat leave less, and a tank without a reading of its flow is taken to be empty.
    eats = by("Artemia", RationBy.DENSITY, 2, eats=10)
    grazed = need(eats, TANK, feed("Artemia"), DAY, Known(fish=4000, flow=2.5))
    assert (grazed.day or 0) > (found.day or 0)
    assert need(plan, TANK, feed("Artemia"), DAY, Known()).each == pytest.approx([440] * 7)


def test_a_feed_outside_its_ration_has_none() -> None:
    found = need(PLAN, TANK, feed("Artemia"), date(2026, 5, 10), Known())
    assert (found.missing, found.amount, found.day) == (Missing.RATION, None, None)


# ---- what is left in the water


def test_what_was_counted_after_the_last_meal_is_carried_on_and_not_what_was_given() -> None:
    meals = [Given(clock(8), 440.0)]
    found = left(220, clock(10), 2.2, 0, meals, Counted(clock(9), 1.0))
    assert found.how is LeftHow.COUNTED
    assert found.per_ml == pytest.approx(exp(-60 * 2.2 / 220))
    # One that is older than the meal only says where that meal began.
    before = left(220, clock(10), 2.2, 0, meals, Counted(clock(7), 1.0))
    assert before.how is LeftHow.WORKED_OUT
    assert before.per_ml == pytest.approx(2 * exp(-0.6 * 2) + exp(-0.6 * 3))


def test_without_a_count_it_is_worked_out_from_the_meals_and_without_a_flow_taken_as_none() -> None:
    meals = [Given(clock(8), 220.0), Given(clock(9), 220.0), Given(clock(9), 110.0)]
    found = left(220, clock(10), 2.2, 0, meals, None)
    assert (found.how, found.since) == (LeftHow.WORKED_OUT, clock(9))
    assert found.per_ml == pytest.approx(exp(-1.2) + 1.5 * exp(-0.6))
    assert found.start == pytest.approx(exp(-0.6) + 1.5)
    assert left(220, clock(10), None, 0, meals, None).how is LeftHow.NO_FLOW
    assert left(220, clock(10), 2.2, 0, [], None).how is LeftHow.NOTHING_GIVEN
    old = [Given(clock(8, day=date(2026, 4, 24)), 220.0)]
    assert left(220, clock(10), 2.2, 0, old, None).how is LeftHow.NOTHING_GIVEN
    assert left(220, clock(8), 2.2, 0, meals, None).per_ml == 0  # given later


@given(st.floats(0, 1e5))
def test_what_is_measured_out_is_near_what_is_needed(amount: float) -> None:
    assert measured(amount, "g") == pytest.approx(amount, abs=0.005001)
    assert measured(amount, "thousand") == pytest.approx(amount, rel=0.05, abs=0.005001)


# ---- what the record knows


def test_the_record_gives_the_book_the_newest_mass_and_the_flow(tmp_path: Path) -> None:
    now = clock(9, 40)
    site = open_site(shutil.copytree(demo_support.until(now), tmp_path / "site"), STATION, NOW)
    found = known_now(site, now)
    site.ledger.close()
    t02 = found["T02"]
    assert t02.fish is not None
    assert 3500 < t02.fish < 4400
    assert t02.weighed is not None
    assert (t02.weighed.at.day, t02.weighed.fish) == (date(2026, 4, 23), 30)
    assert t02.flow == pytest.approx(2.8, abs=0.5)


def test_a_sample_that_the_plan_calls_weight_is_a_mass(tmp_path: Path) -> None:
    now = clock(9, 40)
    site = open_site(shutil.copytree(demo_support.until(now), tmp_path / "site"), STATION, NOW)
    entry = Entry("sample", "TS", now, now, "T02")
    site.record(entry, Sample("Weight", 12, mean=0.05, sd=0.01, unit="g"), sure=True)
    weighed = known_now(site, now)["T02"].weighed
    site.ledger.close()
    assert weighed is not None
    assert (weighed.mg, weighed.fish) == (50.0, 12)
