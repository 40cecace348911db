"""How long a flag stands, what keeps it on the shelf, and what is said beside it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import go_to, opened, walking
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.plan.model import Item, Limits
from tankwalk.practice.board import board
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.standing.life import well_inside
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from weighing_support import ON_L2, later, remembered, room, walked


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with room(tmp_path / "room") as quiet:
        yield quiet


def hence(site: Site, hours: float) -> Instant:
    now = site.now()
    return Instant(now.utc + int(3600 * hours), now.offset)


def one_flag(site: Site, oxygen: float) -> Standing:
    """The flag that low oxygen in T01 raises."""
    walked(site, lambda _: oxygen, tanks=["T01"])
    [one] = flags.standing(site)
    return one


# ---- it stands


def test_a_flag_stands_through_six_looks_that_are_only_just_in_band(site: Site) -> None:
    raised = one_flag(site, 6.5).raised
    for _ in range(6):
        later(site, 8)
        walked(site, lambda _: 7.2, tanks=["T01"])
        [one] = flags.standing(site)
        assert (one.place, one.flag, one.raised) == ("T01", Flag.WATCH, raised)


def test_a_flag_that_comes_and_goes_is_as_old_as_its_first_look(site: Site) -> None:
    raised = one_flag(site, 5.8).raised
    for oxygen in (8.6, 6.6, 8.6):
        later(site, 8)
        walked(site, lambda _, now=oxygen: now, tanks=["T01"])  # type: ignore[misc]
    [one] = flags.standing(site)
    assert (one.raised, one.flag, one.state) == (raised, Flag.WATCH, "in band once")


@pytest.mark.parametrize(("deadband", "clear"), [(None, 7.0), (0.3, 7.3)])
def test_with_a_limit_on_one_side_alone_a_value_clears_by_the_items_own_deadband(
    deadband: float | None, clear: float
) -> None:
    item = Item("do", "Oxygen", unit="mg/L", deadband=deadband)
    limits = Limits(watch_below=7.0)
    assert well_inside(item, clear, limits)
    assert not well_inside(item, clear - 0.1, limits)


def test_a_flag_of_the_loop_itself_is_not_one_that_its_tanks_share(tmp_path: Path) -> None:
    with opened(tmp_path / "small") as site:
        walk = go_to(walking(site), "L1", "tan")
        walk.answer("0.7")
        walk.answer("0.7")
        [one] = flags.standing(site)
        assert (one.place, one.flag, one.shared) == ("L1", Flag.WATCH, False)


def test_what_most_tanks_of_a_loop_were_out_in_is_shared_and_what_half_were_is_not(
    site: Site,
) -> None:
    walked(site, lambda _: 6.5, tanks=ON_L2[:3])
    assert {one.shared for one in flags.standing(site)} == {False}
    walked(site, lambda _: 6.5, tanks=ON_L2[3:4])
    assert {one.shared for one in flags.standing(site)} == {True}


def out(site: Site, tank: str, item: str, value: float, hours_ago: float = 0.0) -> None:
    """A reading that was watched when it was taken."""
    at, unit = hence(site, -hours_ago), site.plan.item(item).unit
    site.record(Entry("reading", "AB", at, at, tank, item, unit), Reading(value, "", flag=2))


@pytest.mark.parametrize(("place", "item", "unit", "stands"), [
    ("T01", "do", "mg/L", True),
    ("T99", "do", "mg/L", False),  # a tank that was taken away
    ("T01", "orp", "mV", False),  # nobody measures that any more
    ("T01", "do", "%", False),  # it has been read in another unit since
])  # fmt: skip
def test_a_flag_of_what_the_plan_no_longer_asks_stands_no_more(
    site: Site, place: str, item: str, unit: str, stands: bool
) -> None:
    at = hence(site, -1)
    site.record(Entry("reading", "AB", at, at, place, item, unit), Reading(4.0, "4", flag=3))
    if unit == "%":
        remembered(site, place, item, 8.6, 0.5)
    assert [one.place for one in flags.standing(site)] == [place] * stands


def test_a_tank_that_is_out_in_one_thing_shares_nothing_with_tanks_out_in_another(
    site: Site,
) -> None:
    for tank in ON_L2[:4]:
        out(site, tank, "level", 10.5)
    out(site, ON_L2[4], "do", 6.5)
    assert {one.place for one in flags.standing(site) if one.shared} == set(ON_L2[:4])


@pytest.mark.parametrize(("hours", "shared"), [(3.0, True), (3.1, False)])
def test_tanks_out_more_than_three_hours_apart_share_nothing(
    site: Site, hours: float, shared: bool
) -> None:
    for tank in ON_L2[:2]:
        out(site, tank, "do", 6.5, hours)
    for tank in ON_L2[2:4]:
        out(site, tank, "do", 6.5)
    assert [one.shared for one in flags.standing(site)] == [shared] * 4


def test_a_loop_is_wrong_since_its_first_tank_was_and_as_badly_as_its_worst(site: Site) -> None:
    for tank, value, hours in zip(ON_L2[:4], (6.5, 6.1, 6.4, 6.6), (3, 2, 1, 0), strict=True):
        out(site, tank, "do", value, hours)
    [loop] = board(site).wrong
    assert (loop.place, loop.raised, loop.at) == ("L2", hence(site, -3), site.now())
    assert loop.sentence == "Oxygen 6.1 to 6.6 mg/L, 4 of 6 tanks"
    assert loop.tanks == ON_L2[:4]


def test_a_loop_is_in_band_once_when_each_of_its_tanks_is(site: Site) -> None:
    for tank in ON_L2[:4]:
        out(site, tank, "do", 6.5, 3)
    remembered(site, ON_L2[0], "do", 8.6, 2)
    [loop] = board(site).wrong
    assert (loop.state, loop.sentence) == ("standing", "Oxygen 6.5 mg/L, 4 of 6 tanks")
    for tank in ON_L2[1:4]:
        remembered(site, tank, "do", 8.6, 2)
    [loop] = board(site).wrong
    assert (loop.state, loop.sentence) == (
        "in band once", "Oxygen in band once in 4 of 6 tanks, was 6.5 mg/L"
    )  # fmt: skip


# ---- on the shelf


@pytest.mark.parametrize(("oxygen", "flag"), [(6.5, Flag.WATCH), (5.5, Flag.ACT)])
def test_a_shelved_flag_stays_on_its_shelf_as_long_as_nothing_new_is_read(
    site: Site, oxygen: float, flag: Flag
) -> None:
    flags.shelve(site, one_flag(site, oxygen), "AB", hence(site, 4), "pump being mended")
    for _ in range(2):
        [one] = flags.standing(site)
        assert (one.flag, one.state) == (flag, "shelved")
        assert board(site).wrong == ()
        later(site, 1.9)


def test_a_shelved_watch_that_is_read_no_worse_stays_on_its_shelf(site: Site) -> None:
    flags.shelve(site, one_flag(site, 6.5), "AB", hence(site, 6), "pump being mended")
    later(site, 3)
    walked(site, lambda _: 6.4, tanks=["T01"])
    assert board(site).wrong == ()
    assert [one.state for one in flags.standing(site)] == ["shelved"]


def test_a_shelf_of_a_week_is_remembered_after_a_fortnight(site: Site) -> None:
    flags.shelve(site, one_flag(site, 6.5), "MV", hence(site, 24 * 7), "part is ordered")
    ends = hence(site, 24 * 7).short()
    later(site, 24 * 2)
    walked(site, lambda _: 6.4, tanks=["T01"])
    later(site, 24 * 13)
    [one] = board(site).wrong
    assert one.sentence.endswith(f"back from the shelf {ends}")


@pytest.mark.parametrize(("who", "hours", "most"), [
    ("AB", 8.1, "for 8 h, the lead for 7 days at most"),
    ("MV", 24 * 7 + 1, "for 7 days at most"),
])  # fmt: skip
def test_a_shelf_that_is_too_long_says_how_long_this_person_may(
    site: Site, who: str, hours: float, most: str
) -> None:
    with pytest.raises(Refusal, match=f"^A flag may be shelved {most}: nothing was kept.$"):
        flags.shelve(site, one_flag(site, 6.5), who, hence(site, hours), "later")


@pytest.mark.parametrize(("who", "hours"), [("AB", 8), ("MV", 24 * 7)])
def test_a_whole_shift_is_a_shelf_for_anybody_and_a_whole_week_for_the_lead(
    site: Site, who: str, hours: float
) -> None:
    flags.shelve(site, one_flag(site, 6.5), who, hence(site, hours), "part is ordered")
    assert [one.state for one in flags.standing(site)] == ["shelved"]
    later(site, hours)
    assert [one.state for one in flags.standing(site)] == ["standing"]


# ---- what was not looked at beside it


@pytest.mark.parametrize(("hours", "told"), [(0.4, True), (2.0, True), (3.0, True), (3.1, False)])
def test_a_screen_left_out_up_to_three_hours_before_is_told_beside_the_level(
    site: Site, hours: float, told: bool
) -> None:
    at = hence(site, -hours)
    entry = Entry("reading", "AB", at, at, "T01", "screen", "")
    site.record(entry, Reading(None, "", qualifier="not looked"))
    walk = go_to(walking(site, code="warm"), "T01", "level")
    walk.answer("5.2")
    walk.answer("5.2")
    [one] = board(site).wrong
    beside = f"; Outlet screen not checked ({at.hm()})" if told else ""
    assert one.sentence == f"Water below rim 5.2 cm{beside}"


def test_a_screen_that_was_looked_at_since_is_not_told_beside_the_level(site: Site) -> None:
    for hours, reading in ((2.0, Reading(None, "", qualifier="not looked")), (1.0, Reading(0, ""))):
        at = hence(site, -hours)
        site.record(Entry("reading", "AB", at, at, "T01", "screen", ""), reading)
    walk = go_to(walking(site, code="warm"), "T01", "level")
    walk.answer("5.2")
    walk.answer("5.2")
    assert [one.sentence for one in board(site).wrong] == ["Water below rim 5.2 cm"]
