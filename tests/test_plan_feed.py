"""What a plan says of rations, of what is asked at a meal, and of how live feed is hatched."""

from __future__ import annotations

from datetime import date, time

import pytest

from tankwalk.plan.advice import advice
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Cysts, FeedKind, Hatching, Ration, RationBy
from tankwalk.plan.start import start_text
from test_plan import SMALL, faults_of, line_of, swap

ARMS = '\n[[treatment]]\ncode = "E10"\n\n[[treatment]]\ncode = "M14"\n'
LIVE = '[[feed]]\ncode = "Art"\nkind = "live"\nwidth = "0.18 mm"\ndph = [4, 17]'
DRY = '[[feed]]\ncode = "D1"\ndph = [10, 60]'


def fed(*tables: str, text: str = SMALL + ARMS) -> str:
    return text + "".join(f"\n{table}\n" for table in (LIVE, DRY, *tables))


def ration(feed: str, by: str, points: str = "{dph = 4, amount = 30}", more: str = "") -> str:
    return f'[[ration]]\nfeed = "{feed}"\nby = "{by}"\npoints = [{points}]\n{more}'


def test_what_a_feed_is_holds_for_all_its_lines_and_says_its_unit() -> None:
    again = '[[feed]]\ncode = "Art"\ntreatment = "E10"\ndph = [4, 21]'
    plan = read_plan(fed(again))
    lines = [feed for feed in plan.feeds if feed.code == "Art"]
    assert [(f.kind, f.unit, f.width_um) for f in lines] == [(FeedKind.LIVE, "thousand", 180)] * 2
    dry = plan.find_feed("D1")
    assert dry is not None
    assert (dry.kind, dry.unit, dry.width_um) == (FeedKind.DRY, "g", None)
    assert plan.find_feed("D2") is None


def test_a_ration_lies_on_straight_lines_between_its_ages_and_is_none_outside() -> None:
    plan = read_plan(
        fed(ration("Art", "tank", "{dph = 4, amount = 300}, {dph = 10, amount = 690}"))
    )
    tank = plan.tanks[0]
    found = plan.ration_of(tank, "Art", 4)
    assert found is not None
    assert [found.at(age) for age in (3, 4, 5, 10, 11)] == [None, 300, 365, 690, None]
    assert plan.ration_of(tank, "Art", 11) is None
    assert plan.ration_of(tank, "D1", 10) is None


def test_a_ration_of_one_age_holds_on_that_day_alone() -> None:
    one = Ration("Art", None, RationBy.TANK, ((7, 12.0),))
    assert [one.at(age) for age in (6, 7, 8)] == [None, 12.0, None]


def test_a_treatment_s_own_ration_stands_before_everybody_s() -> None:
    text = swap('lot = "S26"', 'lot = "S26"\ntreatment = "{}"') + ARMS
    both = (
        ration("Art", "tank", "{dph = 4, amount = 1}, {dph = 20, amount = 1}"),
        ration("Art", "fish", "{dph = 4, amount = 2}, {dph = 9, amount = 2}", 'treatment = "E10"'),
    )
    found = {}
    for arm in ("E10", "M14"):
        plan = read_plan(fed(*both, text=text.replace("{}", arm)))
        mine = plan.ration_of(plan.tanks[0], "Art", 5)
        found[arm] = None if mine is None else mine.by
        # Whoever has a line of their own has no more after its last age.
        assert (plan.ration_of(plan.tanks[0], "Art", 12) is None) is (arm == "E10")
    assert found == {"E10": RationBy.FISH, "M14": RationBy.TANK}


def test_percents_and_units_are_read_as_what_they_mean() -> None:
    plan = read_plan(
        fed(
            ration("D1", "biomass", "{dph = 10, amount = 4}", 'grows = "14 %"\nsource = "ours"'),
            '[hatching]\nhours = "1 d"\nmargin = "5 %"\nready = "1.5 h"\nharvest = "08:30"\n'
            'cones = ["20 L", 10]',
            '[[cysts]]\ncode = "C-1"\nper_gram = 210000\nhatch = "80 %"\norder_at = "0.1 kg"',
        )
    )
    assert plan.rations == (Ration("D1", None, RationBy.BIOMASS, ((10, 4.0),), 0.14, 0, "ours"),)
    assert plan.hatching == Hatching(
        hours=24, margin=0.05, ready_min=90, harvest=time(8, 30), cones_l=(10, 20)
    )
    assert plan.cysts == (Cysts("C-1", "", 210000, 0.8, 100),)


@pytest.mark.parametrize(
    ("table", "says"),
    [
        (ration("D2", "tank"), "which the plan has not"),
        (ration("Art", "tank", more='treatment = "X"'), "which the plan has not"),
        ('[[ration]]\nfeed = "Art"\npoints = [{dph = 1, amount = 1}]', "by is missing"),
        (ration("Art", "tanks"), "is not one of tank, fish"),
        (ration("Art", "biomass"), 'Art is live feed, which is not reckoned by "biomass"'),
        (ration("D1", "density"), 'D1 is dry feed, which is not reckoned by "density"'),
        ('[[ration]]\nfeed = "Art"\nby = "tank"', "points is missing"),
        (ration("Art", "tank", ""), "points is an empty list"),
        (ration("Art", "tank", "7"), "not an age and an amount"),
        (ration("Art", "tank", "{dph = 4.5, amount = 1}"), "not an age in whole days"),
        (ration("Art", "tank", "{dph = 4, amount = -1}"), "is below 0"),
        (ration("Art", "tank", "{dph = 9, amount = 1}, {dph = 4, amount = 1}"), "from 9 to 4 dph"),
        (ration("D1", "biomass", "{dph = 9, amount = 300}"), "of the fish's own weight"),
        (ration("Art", "tank", more='grows = "9 %"'), "grows means nothing"),
        (ration("Art", "tank", more="eats = 9"), "eats means nothing"),
        (ration("Art", "density", more="eats = -9"), "eats -9 is below 0"),
        (LIVE.replace("live", "dry"), "Art is live on line"),
        (LIVE.replace("0.18", "0.2").replace("[4, 17]", "[18, 20]"), "Art is 180 um wide on line"),
        ('[[meal]]\nat = "08:00"\nbefore = ["prey"]', "which the plan has not"),
        ('[[meal]]\nat = "08:00"\nafter = ["temp"]\nbefore = ["temp"]', "before the feed"),
        ('[hatching]\nhours = "100 h"', "is not from 6 to 72"),
        ('[hatching]\ncones = ["10 g"]', "cones"),
        ('[hatching]\ncones = [0]', "a cone of 0 L"),
        ('[[cysts]]\ncode = "C"\nper_gram = 250', "per_gram 250 is not from"),
        ('[[cysts]]\ncode = "C"\nper_gram = 250000\nhatch = 0', "nothing would hatch"),
        ('[[cysts]]\ncode = "C"\nper_gram = 250000\nhatch = "120 %"', "is not from 0 to 1"),
    ],
)  # fmt: skip
def test_what_makes_no_sense_of_feed_is_named_with_its_line_and_a_mend(
    table: str, says: str
) -> None:
    text = fed(table)
    found = [fault for fault in faults_of(text) if says in fault.what]
    assert found, faults_of(text)
    assert found[0].mend
    assert found[0].line >= line_of(text, table.split("\n")[0])


def test_two_rations_of_one_feed_at_one_age_name_the_line_of_the_first() -> None:
    first = ration("Art", "tank", "{dph = 4, amount = 1}, {dph = 9, amount = 1}")
    again = ration("Art", "fish", "{dph = 9, amount = 1}, {dph = 12, amount = 1}")
    text = fed(first, again)
    [fault] = faults_of(text)
    assert f"line {line_of(text, '[[ration]]')}" in fault.what
    assert read_plan(fed(first, again.replace("dph = 9", "dph = 10"))).rations[1].points[0][0] == 10


def test_what_is_asked_of_a_loop_cannot_be_asked_at_each_tank_of_a_meal() -> None:
    loop = '[[item]]\ncode = "sump"\nlabel = "Sump"\nlevel = "loop"\n'
    text = fed(loop, '[[meal]]\nat = "08:00"\nafter = ["sump"]')
    assert [f.what for f in faults_of(text)] == ["after names sump, which is asked of each loop"]


def test_a_feed_without_a_ration_is_advised_of_and_so_is_live_feed_without_cysts() -> None:
    def said(*tables: str) -> list[str]:
        return [str(one) for one in advice(read_plan(fed(*tables))) if one.table == "feed"]

    assert said(ration("Art", "tank")) == [
        "[[feed]] D1: no ration says how much is given at 10-60 dph, so it is typed. "
        "Better: add a [[ration]] for it.",
        "[[feed]] Art: no cysts are in the plan, so tomorrow's cones cannot be worked out. "
        "Better: add a [[cysts]] table.",
    ]
    cysts = '[[cysts]]\ncode = "C-1"\nper_gram = 210000\nhatch = 0.8'
    dry = ration("D1", "tank", "{dph = 60, amount = 9}")
    assert said(ration("Art", "tank"), dry, cysts) == []
    # One that ends before the feed begins is none.
    assert len(said(ration("Art", "tank"), dry.replace("60", "9"), cysts)) == 1


def test_a_new_site_begins_with_feeds_rations_and_meals_that_hold() -> None:
    plan = read_plan(start_text(date(2026, 4, 16), "America/Chicago"))
    assert {feed.code for feed in plan.feeds} == {"Artemia", "D1"}
    assert all(meal.after == ("response",) for meal in plan.meals)
    for tank in plan.tanks:
        for feed in plan.feeds_of(tank):
            for age in range(feed.dph[0], feed.dph[1] + 1):
                assert plan.ration_of(tank, feed.code, age) is not None, (tank.code, feed, age)
