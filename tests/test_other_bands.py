"""Bands that are no edge: doubled in some hours, less by a part, too little beside it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from site_support import NOW, opened
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.plan.advice import limited
from tankwalk.plan.bands import band_at
from tankwalk.plan.edit import Because, with_band
from tankwalk.plan.faults import PlanFaults
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Side
from tankwalk.practice.board import board
from tankwalk.practice.judging.other_bands import beyond
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from weighing_support import PLAN, later, remembered, walked

NITRITE = """
[[item]]
code = "no2n"
label = "Nitrite-N"
unit = "mg/L as N"
decimals = 2
when_high = ["Exchange water."]
when_low = ["Look at the kit."]
[[item]]
code = "chloride"
label = "Chloride"
unit = "mg/L"
level = "loop"
decimals = 0
[[checklist]]
code = "week"
label = "Weekly tests"
at = "12:00"
loop = ["chloride"]
tank = ["no2n"]
[[band]]
item = "no2n"
"""


def plan_with(limits: str) -> str:
    return PLAN + NITRITE + limits


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path / "room", plan_with("watch_above = 5\n"), NOW) as one:
        yield one


def reads(site: Site, value: float, hours: float = 8) -> tuple[Flag, str]:
    """The next weekly round's nitrite of T01: how it is flagged, and what is said."""
    later(site, hours)
    said = walked(site, lambda _: value, tanks=["T01"], code="week")["T01"]
    return said.flag, said.sentence


def band(site: Site, limits: str) -> None:
    site.plan = read_plan(plan_with(limits))


# ---- as it is read


def test_a_value_that_doubled_within_the_hours_of_its_band_is_watched(site: Site) -> None:
    band(site, 'doubled_within = "24 h"\n')
    remembered(site, "T01", "no2n", 0.2, 10)
    assert reads(site, 0.3, 0)[0] is Flag.OK
    flag, said = reads(site, 0.4, 8)
    assert flag is Flag.WATCH
    assert "Nitrite-N 0.40 mg/L as N, doubled: 0.20 18 h ago" in said
    assert board(site).wrong[0].rule is Rule.DOUBLED
    assert [step.words for step in board(site).incidents[0].steps] == ["Exchange water"]


def test_a_doubling_over_more_hours_than_that_is_none(site: Site) -> None:
    band(site, 'doubled_within = "12 h"\n')
    remembered(site, "T01", "no2n", 0.2, 10)
    assert reads(site, 0.4, 8)[0] is Flag.OK


def test_a_fall_by_a_part_is_told_over_one_round_and_over_two(site: Site) -> None:
    band(site, "watch_fall_percent = 20\nact_fall_percent = 40\n")
    remembered(site, "T01", "no2n", 1.0, 8)
    assert reads(site, 0.8, 0)[0] is Flag.OK  # 20 % is not more than 20
    flag, said = reads(site, 0.7, 8)
    assert flag is Flag.WATCH  # 12 % since the last look, 30 % since the one before
    assert "30 % less than 1.00 16 h ago" in said
    assert board(site).wrong[0].rule is Rule.FELL_BY
    assert [step.words for step in board(site).incidents[0].steps] == ["Look at the kit"]
    assert reads(site, 0.35, 8)[0] is Flag.ACT


@pytest.mark.parametrize(("hours", "flag"), [(30, Flag.WATCH), (37, Flag.OK)])
def test_a_fall_since_the_day_before_is_told_and_over_more_hours_than_that_it_is_none(
    site: Site, hours: float, flag: Flag
) -> None:
    band(site, "watch_fall_percent = 20\n")
    remembered(site, "T01", "no2n", 1.0, hours)
    assert reads(site, 0.7, 0)[0] is flag


def test_the_last_look_by_the_old_plan_tells_no_fall(site: Site) -> None:
    band(site, "watch_fall_percent = 20\n")
    n = remembered(site, "T01", "no2n", 1.0, 8)
    item, now = site.plan.item("no2n"), site.now()
    limits, moved = band_at(site.plan, item, "T01", now.day), now.utc - 8 * 3600
    of_it = beyond(site, item, 0.7, "T01", limits, now, n + 1, moved - 1)
    assert of_it is not None
    assert of_it.rule is Rule.FELL_BY
    assert beyond(site, item, 0.7, "T01", limits, now, n + 1, moved) is None


def test_too_little_chloride_beside_nitrite_is_told_by_what_the_loop_was_read_last(
    site: Site,
) -> None:
    band(site, 'ratio_of = "chloride"\nwatch_ratio_below = 100\nact_ratio_below = 50\n')
    assert reads(site, 0.4, 0)[0] is Flag.OK  # nobody knows the chloride
    chloride(site, 30.0)
    flag, said = reads(site, 0.4, 1)
    assert flag is Flag.WATCH
    assert "Chloride 30 mg/L (07:00) is 75 times it, under 100" in said
    assert board(site).wrong[0].rule is Rule.RATIO
    assert reads(site, 0.7, 8)[0] is Flag.ACT
    assert reads(site, 0.3, 8)[0] is Flag.OK
    assert reads(site, 0.7, 9 * 24)[0] is Flag.OK  # the chloride of last week tells no more


def chloride(site: Site, value: float) -> None:
    now = site.now()
    site.record(Entry("reading", "AB", now, now, "L1", "chloride", "mg/L"), Reading(value, "30"))


def test_the_edge_and_what_is_no_edge_are_told_together_and_the_worse_one_counts(
    site: Site,
) -> None:
    band(site, 'watch_above = 0.3\nratio_of = "chloride"\nact_ratio_below = 100\n')
    chloride(site, 30.0)
    flag, said = reads(site, 0.4, 1)
    assert flag is Flag.ACT
    assert "Nitrite-N 0.40 mg/L, band <= 0.30, Chloride 30 mg/L" in said or "band <= 0.3" in said


# ---- in the plan


@pytest.mark.parametrize(("limits", "says"), [
    ("doubled_within = 0.5\n", "0.5 h is not 1 hour to 31 days"),
    ("watch_fall_percent = 120\n", "is not below 100"),
    ("watch_fall_percent = 30\nact_fall_percent = 20\n", "act_fall_percent 20 is less than"),
    ("watch_ratio_below = 100\n", "a ratio is given without ratio_of"),
    ('ratio_of = "chloride"\nwatch_above = 1\n', "ratio_of is given without a limit"),
    ("watch_share_percent = 1\n", 'and "no2n" is none. Mend: leave it out'),
    ('ratio_of = "no2n"\nwatch_ratio_below = 9\n', "is always 1"),
    ('ratio_of = "salt"\nwatch_ratio_below = 9\n', "salt"),
    ('ratio_of = "chloride"\nwatch_ratio_below = 0\n', "is not above 0"),
    (
        'ratio_of = "chloride"\nwatch_ratio_below = 50\nact_ratio_below = 100\n',
        "act_ratio_below 100 is more than watch_ratio_below 50",
    ),
])  # fmt: skip
def test_such_a_limit_that_makes_no_sense_is_one_fault_on_its_line(limits: str, says: str) -> None:
    with pytest.raises(PlanFaults, match="1 fault") as caught:
        read_plan(plan_with(limits))
    assert says in str(caught.value)


def test_each_says_on_which_side_a_first_response_is_needed() -> None:
    for limits, side in (
        ('doubled_within = "1 d"\n', Side.HIGH),
        ("act_fall_percent = 30\n", Side.LOW),
        ('ratio_of = "chloride"\nact_ratio_below = 30\n', Side.HIGH),
    ):
        assert limited(read_plan(plan_with(limits)).bands[-1]) == {side}


def test_a_band_that_is_moved_for_one_tank_keeps_them() -> None:
    given = (
        'watch_above = 1\ndoubled_within = "1 d"\nact_fall_percent = 30\nratio_of = "chloride"\n'
        "act_ratio_below = 30\n"
    )
    plan = read_plan(plan_with(given))
    rule, item = plan.bands[-1], plan.item("no2n")
    why = Because("MV", "our own", date(2026, 5, 10), "tried")
    new = with_band(plan, rule, item, "T01", {"watch_above": 2.0}, why).bands[-1]
    assert new.limits == rule.limits._replace(watch_above=2.0)
