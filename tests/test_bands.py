"""Which band holds: the narrowest, at this age, on this day, with its source."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankwalk.plan.bands import band_for, describe, limits_at, resolve
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Band, BandRule, Item, Level, Limits, Plan, Ramp
from tankwalk.plan.seeds import UNITS, in_unit, profiles
from tankwalk.plan.start import start_text

HATCH = date(2026, 4, 16)
DO = Item("do", "Oxygen", unit="mg/L", decimals=1)


@pytest.fixture(scope="module")
def plan() -> Plan:
    """The starter plan: sauger hatched on 16 April, tanks T01 to T04 on loop L1."""
    return read_plan(start_text(HATCH, "America/Chicago"))


def below(limit: float, **scope: object) -> BandRule:
    """A rule for oxygen that only says where the watch begins."""
    return BandRule("do", Limits(watch_below=limit), **scope)  # type: ignore[arg-type]


def oxygen(plan: Plan, *rules: BandRule, tank: str = "T01", on: date = HATCH) -> Band | None:
    changed = plan._replace(bands=rules)
    return band_for(changed, DO, tank=plan.tank(tank), loop="L1", on=on)


def limit(band: Band | None) -> float | None:
    return None if band is None else band.limits.watch_below


def test_the_narrowest_rule_wins(plan: Plan) -> None:
    rules = [
        below(1.0),
        below(2.0, loop="L1"),
        below(3.0, treatment="E10"),
        below(4.0, tank="T01"),
    ]
    for count in range(1, len(rules) + 1):
        for order in (rules[:count], rules[:count][::-1]):
            assert limit(oxygen(plan, *order)) == count


def test_a_rule_for_another_tank_treatment_or_loop_does_not_hold(plan: Plan) -> None:
    seeds = limit(oxygen(plan))
    others = [below(9.0, tank="T02"), below(9.0, treatment="L18"), below(9.0, loop="L2")]
    assert limit(oxygen(plan, *others)) == seeds == 7.0


def test_the_species_seeds_hold_where_the_plan_says_nothing(plan: Plan) -> None:
    band = oxygen(plan)
    assert band is not None
    assert band.limits == Limits(7.0, None, 6.0, None, 5.0, None, 1.0, 2.0, "fall")
    assert "Piper et al." in band.source


def test_a_rule_replaces_the_wider_one_whole(plan: Plan) -> None:
    band = oxygen(plan, below(6.5, tank="T01", source="our trial", owner="TS"))
    assert band == Band(Limits(watch_below=6.5), None, "our trial", "TS")


def test_a_rule_for_an_age_holds_at_that_age_alone(plan: Plan) -> None:
    rules = (below(7.5), below(8.0, dph=(5, 14)))
    by_age = {age: limit(oxygen(plan, *rules, on=HATCH + timedelta(age))) for age in range(20)}
    assert [age for age, found in by_age.items() if found == 8.0] == list(range(5, 15))
    assert {by_age[4], by_age[15]} == {7.5}


def test_a_place_is_narrower_than_an_age(plan: Plan) -> None:
    rules = (below(8.0, dph=(0, 90)), below(7.5, tank="T01"))
    assert limit(oxygen(plan, *rules)) == 7.5


def test_a_rule_for_a_species_is_narrower_than_one_for_all(plan: Plan) -> None:
    rules = (below(8.0, dph=(0, 90)), below(7.5, species="sauger"), below(9.9, species="walleye"))
    assert limit(oxygen(plan, *rules)) == 7.5


def test_eggs_and_an_empty_tank_have_no_age(plan: Plan) -> None:
    rules = (below(8.0, dph=(0, 90)),)
    eggs = plan._replace(lots=tuple(lot._replace(hatched=None) for lot in plan.lots))
    assert limit(oxygen(eggs, *rules)) == 7.0  # seeds that name no stage still hold
    empty = plan._replace(tanks=tuple(t._replace(lot=None) for t in plan.tanks))
    assert oxygen(empty, *rules) is None


def test_a_loop_is_judged_for_its_youngest_fish(plan: Plan) -> None:
    old = plan.lots[0]._replace(code="OLD", hatched=HATCH - timedelta(40))
    tanks = (plan.tanks[0]._replace(lot="OLD"), *plan.tanks[1:])
    mixed = plan._replace(lots=(*plan.lots, old), tanks=tanks, bands=())
    gas = Item("tgp", "Total gas", level=Level.LOOP, decimals=0)
    band = band_for(mixed, gas, tank=None, loop="L1", on=HATCH + timedelta(6))
    assert band is not None
    assert band.limits == Limits(None, 102, None, 103, None, 105)  # of larvae, not of juveniles
    assert band_for(mixed, gas, tank=None, loop="L9", on=HATCH) is None
    assert band_for(mixed, gas, tank=None, loop=None, on=HATCH + timedelta(6)) == band


def test_a_ramp_moves_the_limits_day_by_day(plan: Plan) -> None:
    item = plan.item("temp")
    seen = {}
    for day in (-3, 0, 10, 20, 40):
        on = HATCH + timedelta(day)
        band = band_for(plan, item, tank=plan.tank("T02"), loop="L1", on=on)
        assert band is not None
        assert band.target is not None
        seen[day] = (round(band.target, 6), describe(band, item))
    assert seen == {
        -3: (16.0, "15.0 - 17.0"),
        0: (16.0, "15.0 - 17.0"),
        10: (17.25, "16.2 - 18.2"),
        20: (18.5, "17.5 - 19.5"),
        40: (18.5, "17.5 - 19.5"),
    }


def test_limits_beside_a_ramp_stay_where_they_are() -> None:
    rule = BandRule(
        "temp",
        Limits(urgent_above=26.0),
        ramp=Ramp(((date(2026, 4, 20), 16.0), (date(2026, 4, 30), 18.0))),
        watch_within=1.0,
    )
    band = resolve(rule, date(2026, 4, 25))
    assert band.limits == Limits(watch_below=16.0, watch_above=18.0, urgent_above=26.0)


def test_percent_is_of_the_target() -> None:
    rule = BandRule("flow", target=2.5, watch_within_percent=15, act_within_percent=30)
    limits = limits_at(rule, 2.5)
    assert (limits.watch_below, limits.watch_above) == (2.125, 2.875)
    assert (limits.act_below, limits.act_above) == (1.75, 3.25)


def test_a_value_on_the_limit_is_inside_it() -> None:
    """18.2 - 1.2 is 16.999999999999996 in floats; the limit is 17.0."""
    assert limits_at(BandRule("temp", target=18.2, watch_within=1.2), 18.2).watch_below == 17.0


@given(
    st.floats(0, 30),
    st.floats(-5, 5),
    st.integers(1, 60),
    st.integers(-10, 70),
)
def test_a_ramp_never_leaves_its_ends(start: float, rise: float, days: int, on: int) -> None:
    ramp = Ramp(((HATCH, start), (HATCH + timedelta(days), start + rise)))
    target = ramp.at(HATCH + timedelta(on))
    low, high = sorted((start, start + rise))
    assert low - 1e-9 <= target <= high + 1e-9


@pytest.mark.parametrize(
    ("limits", "decimals", "shown"),
    [
        (Limits(watch_below=15.5, watch_above=17.5), 1, "15.5 - 17.5"),
        (Limits(watch_below=7), 1, ">= 7.0"),
        (Limits(watch_above=0.5), 1, "<= 0.5"),
        (Limits(), 1, "any"),
        (Limits(watch_change=1.0), 1, "any"),
        (Limits(act_above=0.0), 2, "<= 0.00"),
        (Limits(watch_below=7, act_above=12), 0, "7 - 12"),
        (Limits(watch_above=0.0125), 2, "<= 0.0125"),
        (Limits(watch_below=-2, watch_above=2), 0, "-2 to 2"),
        (Limits(watch_below=16.7333, watch_above=18.7333), 1, "16.7 - 18.7"),
    ],
)
def test_a_band_is_shown_short(limits: Limits, decimals: int, shown: str) -> None:
    band = Band(limits, None, "common practice")
    assert describe(band, DO._replace(decimals=decimals)) == shown


def test_four_species_are_shipped_and_every_band_says_where_it_is_from() -> None:
    shipped = {profile.species: profile for profile in profiles()}
    assert set(shipped) == {"yellow perch", "walleye", "sauger", "pikeperch"}
    for profile in shipped.values():
        assert {rule.item for rule in profile.bands} <= set(UNITS)
        for rule in profile.bands:
            assert rule.source
            assert rule.source != "common practice", "say that there is no source"
            assert rule.species == profile.species
        first, *rest = profile.stages
        ages = [first.dph, *(stage.dph for stage in rest)]
        assert all(a[1] + 1 == b[0] for a, b in pairwise(ages))
        assert profile.stage(7) == "first feeding"


def test_no_two_seeds_of_a_species_hold_at_once() -> None:
    for profile in profiles():
        for item in UNITS:
            for age in range(120):
                at_age = [
                    rule
                    for rule in profile.bands
                    if rule.item == item and rule.dph and rule.dph[0] <= age <= rule.dph[1]
                ]
                assert len(at_age) <= 1


def test_seeds_follow_the_unit_the_site_keeps_an_item_in() -> None:
    sauger = next(p for p in profiles() if p.species == "sauger")
    rule = next(r for r in sauger.bands if r.item == "temp")
    limits = in_unit(rule, "degF").limits
    assert limits.watch_below == pytest.approx(53.6)
    assert limits.watch_above == pytest.approx(64.4)
    assert limits.watch_change == pytest.approx(1.8)  # a difference, so without the 32
