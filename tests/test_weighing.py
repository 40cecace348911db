"""A bad tank, a bad meter and a bad loop are three things, and each is said once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from site_support import NOW, opened
from tankwalk.ledger import chain
from tankwalk.ledger.follow_up_kinds import MayClose
from tankwalk.practice.board import board
from tankwalk.practice.judging.model.looks import Part, Suspect
from tankwalk.practice.judging.seen_to import SeenTo
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.rounds import begin
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site
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

METER_B = 0.7
"""What meter B reads too high."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with room(tmp_path / "room") as quiet:
        yield quiet


# ---- one meter


def test_six_tanks_on_one_meter_that_reads_high_are_one_flag_that_names_the_meter(
    site: Site,
) -> None:
    said = walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    assert wrong(site) == [("meter B", Flag.WATCH)]
    [flag] = board(site).wrong
    assert flag.tanks == BY_B
    assert flag.sentence.startswith(
        "Oxygen up 0.7 in T04 T05 T06 T10 T11 T12, one meter, same direction: suspect oxygen meter "
        "B; last checked 3 d ago; 6 tanks by another meter did not move"
    )
    assert [said[tank].flag for tank in ("T01", "T04", "T05", "T10")] == [0, 2, 2, 0]
    assert "check meter B before it is used" in said["T05"].sentence


def test_a_named_meter_opens_one_action_that_somebody_else_has_to_close(site: Site) -> None:
    walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    later(site, 24)
    walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    [action] = site.reader.follow_ups.open()
    assert (action.rule, action.about, action.text) == (
        MayClose.METER, "B",
        "Check oxygen meter B before it is used again: its tanks moved, others did not",
    )  # fmt: skip


def test_a_named_meter_is_known_the_next_morning_at_its_first_tank(site: Site) -> None:
    walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    later(site, 24)
    said = walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    assert said["T04"].flag is Flag.CHECK
    assert "oxygen meter B is suspected since Sun 10 May 07:00" in said["T04"].sentence
    assert max(reply.flag for reply in said.values()) is Flag.CHECK
    assert wrong(site) == [("meter B", Flag.WATCH)]


def test_a_meter_that_reads_high_past_the_limit_is_still_one_flag(site: Site) -> None:
    walked(site, lambda tank: 8.6 + 1.6 * (tank in BY_B))
    assert wrong(site) == [("meter B", Flag.WATCH)]


def test_low_oxygen_is_never_put_down_to_a_meter_that_reads_high(site: Site) -> None:
    walked(site, lambda tank: 5.9 if tank == "T12" else 8.6 + METER_B * (tank in BY_B))
    assert wrong(site) == [("T12", Flag.ACT), ("meter B", Flag.WATCH)]


def test_a_passed_check_clears_the_meter(site: Site) -> None:
    walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    later(site, 1)
    checked(site, "B", hours_ago=-1)
    assert wrong(site) == []


def test_a_meter_that_passes_every_morning_after_it_was_named_is_still_held_to_what_it_read(
    site: Site,
) -> None:
    walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    for day in range(1, 9):
        later(site, 23)
        checked(site, "B", hours_ago=-(24 * day - 1))
        later(site, 1)
        walked(site, lambda tank: 8.6)
    later(site, 24)
    said = walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    assert wrong(site) == [("meter B", Flag.WATCH)]
    assert "suspect oxygen meter B, last checked 25 h ago" in said["T05"].sentence


def test_a_failed_check_puts_the_meter_out_of_use_and_is_said_once(site: Site) -> None:
    walked(site, lambda tank: 8.6 + 1.6 * (tank in BY_B))
    later(site, 1)
    checked(site, "B", hours_ago=-0.5, passed=False)
    seen = board(site)
    assert seen.wrong == ()
    assert [one for one in seen.meters if one.meter.code == "B"]


def test_a_meter_that_passed_its_check_this_morning_is_not_the_one_to_suspect(site: Site) -> None:
    checked(site, "B", hours_ago=1)
    walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    assert "meter B" not in [place for place, _ in wrong(site)]


def test_one_tank_a_side_is_enough_to_name_a_meter_beside_the_tank(site: Site) -> None:
    said = walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B), tanks=TANKS[:4])
    assert said["T04"].flag is Flag.WATCH
    assert "Measure T04 with meter A first: meter B read all that moved" in said["T04"].sentence
    assert wrong(site) == [("T04", Flag.WATCH)]


def test_two_tanks_of_a_meter_beside_three_of_another_name_the_meter(site: Site) -> None:
    walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B), tanks=TANKS[:5])
    assert ("meter B", Flag.WATCH) in wrong(site)


@pytest.mark.parametrize(("days", "counts"), [(29, True), (31, False)])
def test_looks_of_a_tank_that_was_seen_to_count_from_then_on_for_a_month(
    site: Site, days: float, counts: bool
) -> None:
    walked(site, lambda tank: 5.9 if tank == "T05" else 8.6)
    [one] = flags.standing(site)
    seen_to = site.now().utc
    flags.close(site, one, "MV", "the stone was out of the water")
    later(site, 24 * days)
    found = SeenTo(site).anew(site.now())
    assert found == ({Suspect(Part.TANK, "T05"): {"do": seen_to}} if counts else {})


def test_the_chain_holds_and_nothing_is_taken_from_the_record(site: Site) -> None:
    before = site.ledger.db.execute("SELECT count(*) FROM reading").fetchone()[0]
    walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    after = site.ledger.db.execute("SELECT count(*) FROM reading").fetchone()[0]
    assert after == before + len(TANKS) + 2  # and two second readings: its first tank, then it
    assert chain.verify(site.ledger.db) is None


def test_a_second_tank_of_the_same_cause_is_told_in_a_line_where_the_whole_was_said(
    site: Site,
) -> None:
    said = walked(site, lambda tank: 8.6 + METER_B * (tank in BY_B))
    assert said["T10"].sentence.startswith(
        "T10 Oxygen 9.3 mg/L kept. As at T05: oxygen meter B, Oxygen up 0.7."
    )
    assert "Measure" not in said["T10"].sentence
    kept = site.reader.readings.newest("T10", "do", "mg/L")
    assert kept is not None
    why = site.reader.flags.why(kept.n)
    assert why is not None
    assert "T04 T05 T06 T10, one meter, same direction" in why[1]  # the record has it whole


# ---- one loop


def test_the_line_of_a_loop_counts_every_tank_that_moved_with_it(site: Site) -> None:
    said = walked(site, lambda tank: 8.6 - 1.2 * (tank in ON_L2), signed=False)
    assert said["T09"].flag is Flag.WATCH
    assert "As at T09: loop L2, Oxygen down 1." in said["T12"].sentence
    [flag] = board(site).wrong
    assert flag.sentence.startswith("Oxygen down 1.2 in T07 T08 T09 T10 T11 T12 of L2")


def test_six_tanks_of_one_loop_that_fall_are_one_flag_that_names_the_loop(site: Site) -> None:
    said = walked(site, lambda tank: 8.6 - 1.2 * (tank in ON_L2))
    assert wrong(site) == [("L2", Flag.WATCH)]
    [flag] = board(site).wrong
    assert "of L2, moved together: look at loop L2" in flag.sentence
    assert "meter" not in said["T09"].sentence.split("look at")[1]
    assert flag.key.kind == "loop"


def test_a_loop_that_falls_below_its_limit_is_one_flag_as_serious_as_the_worst_tank(
    site: Site,
) -> None:
    walked(site, lambda tank: 5.8 if tank in ON_L2 else 8.6)
    assert wrong(site) == [("L2", Flag.ACT)]
    assert set(board(site).wrong[0].tanks) == set(ON_L2)


def test_where_all_tanks_were_read_with_one_meter_both_are_named(site: Site) -> None:
    only_a = [t for t in TANKS if t in ("T01", "T02", "T03")]
    said = walked(site, lambda _: 7.4, tanks=only_a)
    assert "look at loop L1, or check meter A that read them all" in said["T03"].sentence


def test_tanks_that_warm_by_the_plan_are_quiet(tmp_path: Path) -> None:
    ramp = "ramp = [{on = 2026-05-04, target = 14.5}, {on = 2026-05-10, target = 16.5}]"
    plan = PLAN.replace('item = "temp"\ntarget = 16.5', f'item = "temp"\n{ramp}')
    warm_up = {24 * day - late: 16.5 - day / 3 for day in range(1, 7) for late in (0, 8)}
    with opened(tmp_path / "ramp", plan, NOW) as site:
        for hours in sorted(warm_up, reverse=True):
            for tank in TANKS:
                remembered(site, tank, "temp", round(warm_up[hours], 1), hours)
        said = walked(site, lambda _: 16.5, code="warm")
        assert {reply.flag for reply in said.values()} == {Flag.OK}
        too_warm = walked(site, lambda _: 17.2, code="warm")
        assert "Temperature up 0.7 in T01 T02 T03 of L1, moved together" in too_warm["T03"].sentence


# ---- one tank


def test_one_tank_that_moves_while_its_sisters_stay_is_watched(site: Site) -> None:
    said = walked(site, lambda tank: 7.9 if tank == "T11" else 8.6, tanks=TANKS)
    assert said["T11"].flag is Flag.WATCH
    assert "Oxygen 7.9 mg/L down 0.7" in said["T11"].sentence
    assert "4 other tanks of its water stayed" in said["T11"].sentence
    assert wrong(site) == [("T11", Flag.WATCH)]


def test_a_tank_that_was_told_in_the_round_before_is_known_and_no_second_alarm(site: Site) -> None:
    """The first six alone: no whole round has told it beside the tank's own line."""
    flags = []
    for _ in range(2):
        later(site, 8)
        said = walked(site, lambda tank: 7.8 if tank == "T05" else 8.6, tanks=TANKS[:6])
        flags.append(said["T05"].flag)
    assert site.reader.flags.turns(0) == []
    assert flags == [Flag.WATCH, Flag.CHECK]


def test_the_first_tank_of_its_water_waits_for_its_sisters(site: Site) -> None:
    said = walked(site, lambda tank: 7.9 if tank == "T01" else 8.6)
    assert said["T01"].flag is Flag.OK
    [found] = board(site).wrong  # when the round was whole
    assert (found.place, found.flag) == ("T01", Flag.WATCH)
    assert found.sentence.startswith("Oxygen in T01 down 0.7")


def test_a_place_that_is_always_cooler_is_not_odd(tmp_path: Path) -> None:
    with room(tmp_path / "room", coolest="T12") as site:
        said = walked(site, lambda tank: 16.2 if tank == "T12" else 16.5, code="warm")
        assert said["T12"].flag is Flag.OK
        assert wrong(site) == []


def test_a_slope_that_reaches_the_action_limit_within_the_hour_is_watched(site: Site) -> None:
    remembered(site, "T01", "do", 8.4, 0.5)
    said = walked(site, lambda _: 7.3, tanks=["T01"])
    assert said["T01"].flag is Flag.WATCH
    assert "falls 2.2 an hour: 6.0 in about 35 min" in board(site).wrong[0].sentence


@pytest.mark.parametrize(("a_look", "flag"), [(0.1, Flag.WATCH), (0.0, Flag.OK)])
def test_a_tank_that_sinks_look_by_look_is_told_while_still_in_band(
    tmp_path: Path, a_look: float, flag: Flag
) -> None:
    with room(tmp_path / "room", days=8, sinking=("T02", a_look)) as site:
        walked(site, lambda tank: 8.6 - 7 * a_look * (tank == "T02"))
        assert dict(wrong(site)).get("T02", Flag.OK) is flag


def test_a_value_that_never_moves_on_a_meter_that_does_is_asked_about(site: Site) -> None:
    wiggles = (8.51, 8.62, 8.55, 8.58, 8.63, 8.52, 8.6, 8.54, 8.59, 8.56, 8.61, 8.53)
    for hours, value in zip(range(15, 0, -1), (*wiggles, 8.57, 8.57, 8.57), strict=True):
        remembered(site, "T03", "do", value, hours / 10)
    walk = Walk(site, begin(site, site.plan.checklist("am"), "AB"), "AB")
    walk.move("right")
    walk.move("right")
    reply = walk.answer("8.57")
    assert reply.flag is Flag.CHECK
    assert "the same to the last digit 4 times: is it really read?" in reply.sentence
    assert "?." not in reply.sentence


def test_level_up_and_a_screen_nobody_looked_at_are_said_together(site: Site) -> None:
    walk = Walk(site, begin(site, site.plan.checklist("warm"), "AB"), "AB")
    for typed in ("16.5", "5.2", "5.2", "/"):
        walk.answer(typed)
    reply = walk.answer("2")
    assert reply.flag is Flag.WATCH
    assert "Water below rim is out and Outlet screen was not looked at" in reply.sentence
    [flag] = board(site).wrong
    assert flag.sentence == "Water below rim 5.2 cm; Outlet screen not checked (07:00)"


# ---- whatever is typed


@settings(max_examples=25)
@given(st.lists(st.floats(0.0, 19.9).map(lambda v: round(v, 1)), min_size=12, max_size=12))
def test_whatever_a_round_reads_it_is_kept_as_typed_and_judged(
    tmp_path_factory: pytest.TempPathFactory, values: list[float]
) -> None:
    with room(tmp_path_factory.mktemp("any") / "room", days=2) as site:
        walked(site, lambda tank: values[TANKS.index(tank)])
        newest = site.reader.readings.newest_of_all()
        flags = {one.place for one in board(site).wrong}
        for tank, value in zip(TANKS, values, strict=True):
            seen = newest[tank, "do"]
            if value < 5.0 and seen.value == value:
                assert flags & {tank, "L1", "L2"}  # never lost in a meter's flag
