"""Bands at their edges: eggs among fish, targets below zero, distances in percent."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tankwalk.plan.bands import band_for, describe, limits_at
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Band, BandRule, Item, Limits, Plan
from tankwalk.plan.start import start_text

HATCH = date(2026, 4, 16)
DO = Item("do", "Oxygen", unit="mg/L", decimals=1)


@pytest.fixture(scope="module")
def plan() -> Plan:
    """The starter plan: sauger hatched on 16 April, tanks T01 to T04 on loop L1."""
    return read_plan(start_text(HATCH, "America/Chicago"))


def with_lots(plan: Plan, *hatched: date | None) -> Plan:
    """Each tank with a lot of its own, hatched then; None is eggs."""
    lots = tuple(
        plan.lots[0]._replace(code=f"LOT{nth}", hatched=day) for nth, day in enumerate(hatched)
    )
    tanks = tuple(tank._replace(lot=lot.code) for tank, lot in zip(plan.tanks, lots, strict=True))
    return plan._replace(lots=lots, tanks=tanks)


def watched(plan: Plan, *rules: BandRule, on: date) -> float | None:
    """Where the watch begins for a check of loop L1."""
    band = band_for(plan._replace(bands=rules), DO, tank=None, loop="L1", on=on)
    return None if band is None else band.limits.watch_below


def test_a_loop_with_eggs_is_judged_for_the_eggs_and_not_for_the_oldest(plan: Plan) -> None:
    old = BandRule("do", Limits(watch_below=8.0), dph=(0, 90))
    every = BandRule("do", Limits(watch_below=7.5))
    on = HATCH + timedelta(20)
    assert watched(with_lots(plan, HATCH, HATCH, HATCH, HATCH), old, every, on=on) == 8.0
    assert watched(with_lots(plan, HATCH, HATCH, None, HATCH), old, every, on=on) == 7.5


def test_eggs_are_younger_than_larvae_that_hatched_today(plan: Plan) -> None:
    hatched = BandRule("do", Limits(watch_below=8.0), dph=(0, 90))
    every = BandRule("do", Limits(watch_below=7.5))
    assert watched(with_lots(plan, HATCH, HATCH, HATCH, HATCH), hatched, every, on=HATCH) == 8.0
    assert watched(with_lots(plan, HATCH, None, HATCH, HATCH), hatched, every, on=HATCH) == 7.5


def test_a_loop_of_larvae_and_juveniles_is_judged_for_the_larvae(plan: Plan) -> None:
    young = BandRule("do", Limits(watch_below=8.0), dph=(0, 9))
    old = BandRule("do", Limits(watch_below=6.5), dph=(10, 90))
    later = HATCH + timedelta(15)
    here = with_lots(plan, HATCH, later, HATCH, HATCH)
    assert watched(here, young, old, on=HATCH + timedelta(20)) == 8.0


def test_an_empty_tank_of_a_loop_has_no_say(plan: Plan) -> None:
    old = BandRule("do", Limits(watch_below=8.0), dph=(0, 90))
    tanks = (plan.tanks[0]._replace(lot=None), *plan.tanks[1:])
    assert watched(plan._replace(tanks=tanks), old, on=HATCH + timedelta(20)) == 8.0


def test_percent_of_a_target_below_zero_is_a_distance_to_both_sides() -> None:
    rule = BandRule("redox", target=-200.0, watch_within_percent=10, act_within_percent=25)
    limits = limits_at(rule, -200.0)
    assert (limits.watch_below, limits.watch_above) == (-220.0, -180.0)
    assert (limits.act_below, limits.act_above) == (-250.0, -150.0)
    redox = Item("redox", "Redox", unit="mV", decimals=0)
    assert describe(Band(limits, -200.0, "", ""), redox) == "-220 to -180"


def test_a_distance_goes_before_a_percentage_and_holds_for_its_own_step() -> None:
    rule = BandRule("flow", target=2.5, watch_within=0.2, act_within_percent=20, urgent_within=1.0)
    assert limits_at(rule, 2.5) == Limits(
        watch_below=2.3, watch_above=2.7, act_below=2.0, act_above=3.0,
        urgent_below=1.5, urgent_above=3.5,
    )  # fmt: skip


@pytest.mark.parametrize(("low", "high", "words"), [
    (0.0, 0.4, "0 - 0.4"), (0.0, 5.0, "0 - 5"), (1.0, 5.0, "1 - 5"),
    (-1.0, 5.0, "-1 to 5"), (-5.0, 0.0, "-5 to 0"),
    (None, 5.0, "<= 5"), (0.0, None, ">= 0"), (None, None, "any"),
])  # fmt: skip
def test_a_band_is_said_with_a_dash_unless_a_limit_is_below_zero(
    low: float | None, high: float | None, words: str
) -> None:
    whole = Item("orp", "Redox", unit="mV", decimals=0)
    band = Band(Limits(watch_below=low, watch_above=high), None, "", "")
    assert describe(band, whole) == words


def test_a_side_without_a_watch_limit_shows_the_next_one_that_it_has() -> None:
    whole = Item("orp", "Redox", unit="mV", decimals=0)
    assert describe(Band(Limits(act_below=2, urgent_below=1), None, "", ""), whole) == ">= 2"
    assert describe(Band(Limits(urgent_below=1, urgent_above=9), None, "", ""), whole) == "1 - 9"


@pytest.mark.parametrize(("limit", "decimals", "words"), [
    (0.02, 1, "<= 0.02"), (0.0625, 1, "<= 0.062"), (7.0, 1, "<= 7.0"), (7.05, 1, "<= 7.0"),
    (0.00002, 1, "<= 0.0000"),
])  # fmt: skip
def test_a_limit_is_shown_with_more_decimals_where_the_items_own_would_show_another(
    limit: float, decimals: int, words: str
) -> None:
    item = Item("x", "X", unit="mg/L", decimals=decimals)
    assert describe(Band(Limits(watch_above=limit), None, "", ""), item) == words
