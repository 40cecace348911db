"""Which meter is suspected, by what it read when, and which flags it explains."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import NOW, moment, opened
from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger.entries import Entry
from tankwalk.ledger.entries import Suspect as Marked
from tankwalk.plan.bands import band_at
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Limits
from tankwalk.practice.board import board
from tankwalk.practice.judging.model.looks import Change, Part, Suspect
from tankwalk.practice.judging.trends import Trends
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.rounds import begin, sign
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import SITE, Site
from tankwalk.science.changing import Shape
from weighing_support import (
    BY_B,
    ON_L2,
    PLAN,
    TANKS,
    checked,
    later,
    remembered,
    room,
    walked,
    wrong,
)

HIGH = 0.7
"""What meter B reads too high."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with room(tmp_path / "room") as quiet:
        yield quiet


def marked(site: Site, meter: str, since_hours: float, until_hours: float) -> None:
    """Oxygen read with a meter between two moments so many hours ago is not to be trusted."""
    now = site.now()
    since, until = (now.utc - int(3600 * hours) for hours in (since_hours, until_hours))
    entry = Entry("suspect", "AB", now, now, SITE, "do", "mg/L", reason="as found")
    site.record(entry, Marked(meter, since, until))


# ---- which of two meters


def test_the_meter_whose_tanks_stayed_as_usual_is_never_the_one_to_suspect(site: Site) -> None:
    said = walked(site, lambda tank: 8.6 + HIGH * (tank in BY_B))
    read_by_a_after_the_others_moved = ("T07", "T08", "T09")
    assert {said[tank].flag for tank in read_by_a_after_the_others_moved} == {Flag.OK}
    assert not any("suspect oxygen meter A" in reply.sentence for reply in said.values())


def test_what_is_out_low_by_a_meter_that_reads_low_is_counted_to_the_meter(site: Site) -> None:
    said = walked(site, lambda tank: 6.8 if tank in BY_B else 8.6)
    assert (said["T10"].flag, said["T11"].flag) == (Flag.CHECK, Flag.CHECK)
    assert "as at T05: oxygen meter B" in said["T10"].sentence


def test_what_can_kill_is_acted_on_in_its_tank_though_its_meter_reads_low(site: Site) -> None:
    said = walked(site, lambda tank: 5.8 if tank in BY_B else 8.6)
    assert {said[tank].flag for tank in BY_B} == {Flag.ACT}
    assert "suspect oxygen meter B" in said["T12"].sentence


def test_a_meter_explains_low_values_where_the_plan_has_no_limit_above(site: Site) -> None:
    site.plan = read_plan(PLAN.replace("watch_above = 10.0\n", ""))
    walked(site, lambda tank: 6.8 if tank in BY_B else 8.6)
    assert wrong(site) == [("meter B", Flag.WATCH)]


def test_a_loop_that_is_called_as_a_suspected_meter_is_not_that_meter(site: Site) -> None:
    site.plan = read_plan(PLAN.replace('"L2"', '"B"'))
    walked(site, lambda tank: 8.6 - HIGH * (tank in BY_B))
    later(site, 24)
    said = walked(site, lambda tank: 8.6 - 1.2 * (tank in ON_L2))
    assert "look at loop B" in said["T09"].sentence
    assert "suspected" not in said["T09"].sentence


def test_a_meter_suspected_of_reading_high_is_no_reason_for_a_low_value(site: Site) -> None:
    walked(site, lambda tank: 8.6 + HIGH * (tank in BY_B))
    later(site, 24)
    said = walked(site, lambda tank: 7.8 if tank == "T05" else 8.6, tanks=TANKS[:5])
    assert "suspected" not in said["T05"].sentence
    assert "Oxygen 7.8 mg/L down " in said["T05"].sentence


def test_a_meter_suspected_of_reading_low_is_no_reason_for_a_high_value(site: Site) -> None:
    walked(site, lambda tank: 8.6 - HIGH * (tank in BY_B))
    later(site, 24)
    said = walked(site, lambda tank: 9.4 if tank == "T05" else 8.6, tanks=TANKS[:5])
    assert "suspected" not in said["T05"].sentence
    later(site, 24)
    said = walked(site, lambda tank: 7.9 if tank in BY_B else 8.6, tanks=TANKS[:5])
    assert "oxygen meter B is suspected since Sun 10 May 07:00" in said["T04"].sentence
    assert "As at T04: oxygen meter B, Oxygen down 0." in said["T05"].sentence


@pytest.mark.parametrize(("hours", "named"), [(1, False), (1.9, False), (2.5, True), (11.5, True)])
def test_a_meter_that_passed_within_two_hours_is_trusted(
    site: Site, hours: float, named: bool
) -> None:
    """What fails after its check fails unseen: a pass of the morning says nothing of noon."""
    checked(site, "B", hours_ago=hours)
    walked(site, lambda tank: 8.6 + HIGH * (tank in BY_B))
    assert (("meter B", Flag.WATCH) in wrong(site)) == named


@pytest.mark.parametrize(("hours", "named"), [(4, False), (11.5, False), (12.5, True), (20, True)])
def test_a_meter_that_passed_since_what_it_read_moved_is_trusted_for_half_a_day(
    site: Site, hours: float, named: bool
) -> None:
    for tank in TANKS:
        remembered(site, tank, "do", 8.6 + HIGH * (tank in BY_B), 16)
    checked(site, "B", hours_ago=hours)
    walked(site, lambda tank: 8.6 + HIGH * (tank in BY_B))
    assert (("meter B", Flag.WATCH) in wrong(site)) == named


@pytest.mark.parametrize("size", [1.2, -1.2])
def test_water_is_told_on_the_side_it_has_no_limit_where_it_may_be_the_meter_that_reads_too_high(
    site: Site, size: float
) -> None:
    """More oxygen has no limit and is good; a meter that reads too high hides what is too low."""
    now, oxygen = site.now(), site.plan.item("do")
    band = band_at(site.plan, oxygen, "T07", now.day)
    assert band is not None
    band = band._replace(limits=Limits(watch_below=7.0))
    loop = Change(
        Part.LOOP, "L2", ("T07", "T08", "T09"), now.utc, 1, Shape.STEP, size, 0.0, 5.0, 0, ()
    )  # fmt: skip
    meter = loop._replace(rivals=(Suspect(Part.METER, "B"),))
    trends = Trends(site)
    told = [trends.matters(one, oxygen, 8.6 + size, band, now) for one in (loop, meter)]
    assert told == [size < 0, True]


@pytest.mark.parametrize(("value", "told"), [(7.5, True), (7.8, False)])
def test_water_that_creeps_is_told_three_days_before_it_is_out_as_fast_as_it_goes(
    site: Site, value: float, told: bool
) -> None:
    """0.8 in four days: 0.6 in three, and the band ends at 7.0."""
    now, oxygen = site.now(), site.plan.item("do")
    since = now.utc - 4 * 86400
    loop = Change(
        Part.LOOP, "L2", ("T07", "T08", "T09"), since, 9, Shape.RAMP, -0.8, -0.2, 5.0, 0, ()
    )  # fmt: skip
    band = band_at(site.plan, oxygen, "T07", now.day)
    assert Trends(site).matters(loop, oxygen, value, band, now) is told


def test_a_meter_that_crept_since_its_last_pass_is_held_against_what_it_read_before(
    tmp_path: Path,
) -> None:
    with opened(tmp_path / "creeping", PLAN, NOW) as site:
        for hours in (188, 184, 172, 164, 148, 140):
            for tank in TANKS:
                remembered(site, tank, "do", 8.6, hours)
        for meter in "AB":
            checked(site, meter, hours_ago=125)
        for nth, hours in enumerate((120, 112, 96, 88, 72, 64, 48, 40, 24, 16), 1):
            for tank in TANKS:
                crept = 0.07 * nth if tank in BY_B else 0.0
                remembered(site, tank, "do", round(8.6 + crept, 1), hours)
        said = walked(site, lambda tank: 8.6 + HIGH * (tank in BY_B))
        assert wrong(site) == [("meter B", Flag.WATCH)]
        assert "suspect oxygen meter B; last checked 5 d ago" in board(site).wrong[0].sentence
        assert "As at T04: oxygen meter B, Oxygen up 0." in said["T06"].sentence


# ---- what it explains, and what its marks leave out

BOTH = PLAN.replace('tank = ["do"]', 'tank = ["temp", "do"]') + (
    '\n[[band]]\nitem = "sat"\nwatch_below = 80\nact_below = 60\n'
)
"""A morning round from which saturation is worked out, with a band of its own."""


def test_saturation_worked_out_from_a_suspect_meter_is_no_flag_of_its_own(tmp_path: Path) -> None:
    with opened(tmp_path / "both", BOTH, NOW) as site:
        for hours in (72, 64, 48, 40, 24, 16):
            for tank in TANKS:
                remembered(site, tank, "temp", 16.5, hours)
                remembered(site, tank, "do", 8.6, hours)
        walk = Walk(site, begin(site, site.plan.checklist("am"), "AB"), "AB")
        while not walk.at_end:
            low = walk.slot.place in BY_B
            oxygen = "7.4" if low else "8.6"
            walk.answer("16.5" if walk.slot.item.code == "temp" else oxygen)
        sign(site, walk.round, "AB")
        flagged = site.ledger.db.execute(
            "SELECT DISTINCT place FROM readings WHERE item = 'sat' AND flag = 'watch' ORDER BY 1"
        ).fetchall()
        assert [place for (place,) in flagged] == list(BY_B)
        assert wrong(site) == [("meter B", Flag.WATCH)]


def test_what_saturation_is_not_worked_out_from_is_told_beside_it(tmp_path: Path) -> None:
    with opened(tmp_path / "both", BOTH, NOW) as site:
        remembered(site, "T01", "level", 12.0, 24)
        walk = Walk(site, begin(site, site.plan.checklist("warm"), "AB"), "AB")
        for typed in ("16.5", "11", "11", "clean"):
            walk.answer(typed)
        sign(site, walk.round, "AB")
        walk = Walk(site, begin(site, site.plan.checklist("am"), "AB"), "AB")
        for typed in ("16.5", "5.0", "5.0"):
            walk.answer(typed)
        assert [(one.place, one.key.item) for one in board(site).wrong] == [
            ("T01", "do"),
            ("T01", "level"),
        ]


def test_a_change_is_not_judged_against_what_a_suspect_meter_read(site: Site) -> None:
    remembered(site, "T01", "do", 8.6, 6)
    remembered(site, "T01", "do", 9.8, 3)
    marked(site, "A", 4, 2)
    said = walked(site, lambda _: 8.1, tanks=["T01"])
    assert said["T01"].flag is Flag.OK  # 1.7 below what the meter showed, 0.5 below the tank
    assert "fell" not in said["T01"].sentence


def test_a_fall_hidden_by_a_suspect_value_is_told_from_the_look_before(site: Site) -> None:
    remembered(site, "T01", "do", 9.3, 6)
    remembered(site, "T01", "do", 7.5, 3)
    marked(site, "A", 4, 2)
    said = walked(site, lambda _: 7.6, tanks=["T01"])
    assert said["T01"].flag is Flag.WATCH
    assert "fell 1.7 since last (6 h, 0.28/h)" in said["T01"].sentence


@pytest.mark.parametrize(("since", "until", "trusted"), [
    (3, 2, False), (4, 3, False), (2.9, 2, True), (4, 3.1, True),
])  # fmt: skip
def test_a_mark_reaches_from_its_first_second_to_its_last(
    site: Site, since: float, until: float, trusted: bool
) -> None:
    remembered(site, "T01", "do", 8.6, 6)
    remembered(site, "T01", "do", 9.8, 3)
    marked(site, "A", since, until)
    said = walked(site, lambda _: 8.1, tanks=["T01"])
    assert (said["T01"].flag is Flag.WATCH) == trusted


def test_a_mark_of_another_meter_or_of_another_item_takes_no_value_away(site: Site) -> None:
    remembered(site, "T01", "do", 9.8, 3)
    marked(site, "B", 4, 2)
    now = moment(NOW)
    span = Marked("A", now.utc - 4 * 3600, now.utc - 2 * 3600)
    site.record(Entry("suspect", "AB", now, now, SITE, "temp", "degC", reason="ice"), span)
    said = walked(site, lambda _: 8.1, tanks=["T01"])
    assert said["T01"].flag is Flag.WATCH
    assert "fell 1.7 since last" in said["T01"].sentence


def test_a_meter_is_suspected_for_a_fortnight_at_most(site: Site) -> None:
    walked(site, lambda tank: 8.6 + HIGH * (tank in BY_B))
    began = site.now()
    for days, suspected in ((13.9, True), (14.1, False)):
        site.clock = FixedClock(Instant(began.utc + int(86400 * days), began.offset))
        said = walked(site, lambda _: 8.6 + HIGH, tanks=["T04"], signed=False)
        assert ("is suspected since" in said["T04"].sentence) == suspected
