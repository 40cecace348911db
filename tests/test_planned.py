"""What the plan moved is no news: a ramp, a stage, an edited target; a wider band moves nothing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import NOW, opened
from tankwalk.clock import Instant
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.plan.bands import band_at
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Limits
from tankwalk.practice.board import board
from tankwalk.practice.judging import planned
from tankwalk.practice.judging.planned import shift
from tankwalk.practice.judging.verdict import Flag, band_text
from tankwalk.practice.judging.whole import judge_whole
from tankwalk.practice.site import Site
from weighing_support import PLAN, later, room, walked

HOUR = 3600


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with room(tmp_path / "room") as opened_room:
        yield opened_room


def plan_with(temperature: str) -> str:
    """The room's plan with another band of the temperature."""
    old = "target = 16.5\nwatch_within = 1.0\nact_within = 2.0\n"
    assert old in PLAN
    return PLAN.replace(old, temperature)


def read(site: Site, item: str = "temp", place: str = "T01", value: float = 16.5) -> int:
    """A value judged by the band of its day; its UTC second."""
    now, it = site.now(), site.plan.item(item)
    text = band_text(band_at(site.plan, it, place, now.day))
    site.record(
        Entry("reading", "AB", now, now, place, item, it.unit),
        Reading(value, f"{value:g}", instrument="A", band=text),
    )
    return now.utc


def moved(site: Site, since: int, item: str = "temp") -> float:
    return round(planned.moved(site, site.plan.item(item), "T01", site.now())(since), 6)


def changed(site: Site, item: str = "temp") -> int | None:
    return planned.changed_by(planned.wanted(site, site.plan.item(item), "T01", site.now()))


def test_a_target_that_was_edited_moved_by_as_much(site: Site) -> None:
    before = read(site)
    later(site, 12)
    assert (moved(site, before), changed(site)) == (0.0, None)
    site.plan = read_plan(plan_with("target = 17.5\nwatch_within = 1.0\nact_within = 2.0\n"))
    assert (moved(site, before), changed(site)) == (1.0, before)
    later(site, 1)
    after = read(site, value=17.4)
    later(site, 12)
    assert (moved(site, before), moved(site, after), changed(site)) == (1.0, 0.0, before)


def test_what_the_plan_moved_forty_looks_ago_is_still_known(site: Site) -> None:
    before = read(site)
    site.plan = read_plan(plan_with("target = 17.5\nwatch_within = 1.0\nact_within = 2.0\n"))
    for _ in range(40):
        later(site, 12)
        read(site, value=17.5)
    assert (moved(site, before), changed(site)) == (1.0, before)


def test_a_band_that_was_moved_as_a_whole_did_too_and_a_wider_one_did_not(site: Site) -> None:
    site.plan = read_plan(plan_with("watch_below = 15.5\nwatch_above = 17.5\n"))
    before = read(site)
    later(site, 12)
    site.plan = read_plan(plan_with("watch_below = 15.0\nwatch_above = 18.0\n"))
    assert (moved(site, before), changed(site)) == (0.0, None)
    site.plan = read_plan(plan_with("watch_below = 15.5\nwatch_above = 18.0\n"))
    assert (moved(site, before), changed(site)) == (0.0, None)
    site.plan = read_plan(plan_with("watch_below = 16.5\nwatch_above = 18.5\n"))
    assert (moved(site, before), changed(site)) == (1.0, before)


def test_a_ramp_moves_it_day_by_day_and_is_no_change_at_one_stroke(site: Site) -> None:
    day = site.now().day
    last = day.replace(day=day.day + 4)
    points = f"ramp = [{{on = {day}, target = 16.5}}, {{on = {last}, target = 18.5}}]\n"
    site.plan = read_plan(plan_with(points + "watch_within = 1.0\nact_within = 2.0\n"))
    before = read(site)
    later(site, 48)
    assert (moved(site, before), changed(site)) == (1.0, None)
    # Also where the ramp has limits that do not move with it.
    site.plan = read_plan(plan_with(points + "act_below = 10.0\nact_above = 25.0\n"))
    before = read(site)
    later(site, 24)
    assert (moved(site, before), changed(site)) == (0.5, None)


def test_a_stage_that_wants_another_temperature_moved_it(site: Site) -> None:
    age = site.plan.age(site.plan.tank("T01"), site.now().day)
    assert age is not None
    stages = (
        f"dph = [0, {age}]\nwatch_below = 15.5\nwatch_above = 17.5\n"
        f'[[band]]\nitem = "temp"\ndph = [{age + 1}, 90]\nwatch_below = 17.5\nwatch_above = 19.5\n'
    )
    site.plan = read_plan(plan_with(stages))
    before = read(site)
    later(site, 24)
    assert (moved(site, before), changed(site)) == (2.0, before)


def test_one_end_alone_says_nothing_of_where_the_water_should_be() -> None:
    assert shift(Limits(watch_below=7.0), Limits(watch_below=7.5)) == 0.0
    assert shift(None, Limits(watch_below=7.0, watch_above=9.0)) == 0.0
    old, new = Limits(act_below=6.0, act_above=9.0), Limits(act_below=6.4, act_above=9.6)
    assert shift(old, new) == pytest.approx(0.5)
    assert shift(new, old) == pytest.approx(-0.5)


def test_what_was_judged_without_a_band_tells_nothing(site: Site) -> None:
    first = Instant(site.now().utc - 5 * 24 * HOUR, 0)
    assert moved(site, first.utc) == 0.0
    assert changed(site) is None


# ---- a new flow

FLOW = """
[[item]]
code = "flow"
label = "Flow"
unit = "L/min"
plausible = [0, 30]
first_response = "Open the valve."
[[checklist]]
code = "valves"
label = "Valves"
at = "10:00"
tank = ["flow"]
[[band]]
item = "flow"
"""
OLD = PLAN + FLOW + "target = 4.0\nwatch_within = 1.0\nact_within = 2.0\nwatch_change = 1.5\n"
NEW = PLAN + FLOW + "target = 6.0\nwatch_within = 1.0\nact_within = 2.0\nwatch_change = 1.5\n"
WIDE = PLAN + FLOW + "watch_below = 3.0\nwatch_above = 7.0\nact_above = 9.0\nwatch_change = 1.5\n"
THREE = ("T01", "T02", "T03")
LITTLE = (0.0, 0.1, -0.1, 0.1, 0.0, -0.1, 0.0, 0.1, 0.0, -0.1)


def read_flows(site: Site, middle: float, nth: int = 0) -> dict[str, Flag]:
    """A round of flows in three tanks, judged as a whole: how each was flagged."""
    later(site, 12)
    at = {tank: middle + LITTLE[(nth + 3 * n) % len(LITTLE)] for n, tank in enumerate(THREE)}
    said = walked(site, at.__getitem__, THREE, "valves")
    judge_whole(site, site.reader.rounds.since(0)[0].number, "AB")
    return {tank: reply.flag for tank, reply in said.items()}


def test_a_new_flow_in_the_plan_raises_nothing_in_three_of_three_tanks(tmp_path: Path) -> None:
    quiet = dict.fromkeys(THREE, Flag.OK)
    with opened(tmp_path / "room", OLD, NOW) as site:
        for nth in range(10):
            assert read_flows(site, 4.0, nth) == quiet
        site.plan = read_plan(NEW)
        for nth in range(4):  # set by hand, so not quite as wanted
            assert read_flows(site, 5.7, nth) == quiet
        assert board(site).wrong == ()


def test_the_same_flows_without_the_plan_are_told(tmp_path: Path) -> None:
    with opened(tmp_path / "room", OLD, NOW) as site:
        for nth in range(10):
            read_flows(site, 4.0, nth)
        site.plan = read_plan(WIDE)
        assert set(read_flows(site, 5.7).values()) == {Flag.WATCH}
        assert [one.key.item for one in board(site).wrong] == ["flow"]


def test_what_changes_after_a_new_flow_is_told_by_what_was_read_since(tmp_path: Path) -> None:
    with opened(tmp_path / "room", OLD, NOW) as site:
        for nth in range(4):
            read_flows(site, 4.0, nth)
        site.plan = read_plan(NEW)
        for nth in range(8):
            read_flows(site, 6.0, nth)
        later(site, 12)
        said = walked(site, lambda tank: 5.0 if tank == "T03" else 6.0, THREE, "valves")
        assert said["T03"].flag is Flag.WATCH
        assert "Flow 5.0 L/min down 1.0 from what it was" in said["T03"].sentence


ENDS = "watch_below = {}\nwatch_above = {}\nact_below = {}\nact_above = {}\n"
LOW, HIGH = (PLAN + FLOW + ENDS.format(*ends) for ends in ((3, 5, 2, 6), (4.2, 7.2, 3.2, 8.2)))


@pytest.mark.parametrize(("before", "flag"), [(LOW, Flag.OK), (HIGH, Flag.WATCH)])
def test_the_last_look_by_the_old_plan_tells_no_rate(
    tmp_path: Path, before: str, flag: Flag
) -> None:
    """2 L/min more than three hours ago: by a new plan as wanted, else on its way to the limit."""
    with opened(tmp_path / "room", before, NOW) as site:
        for _ in range(3):
            walked(site, lambda _tank: 4.5, ("T01",), "valves")
            later(site, 3)
        site.plan = read_plan(HIGH)
        assert walked(site, lambda _tank: 6.5, ("T01",), "valves")["T01"].flag is flag
