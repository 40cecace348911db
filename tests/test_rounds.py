"""A round: in which order one walks, what is asked of whom today, and who may take it up."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from site_support import (
    NOW,
    ROOM,
    SMALL,
    again,
    clock_shows,
    entries,
    finish,
    go_to,
    newest_round,
    opened,
    seen_before,
    sign,
    walking,
    write_plan,
)
from tankwalk.errors import Refusal
from tankwalk.ledger.questions import NO_LIMIT
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Lot, Plan, Tank
from tankwalk.plan.walking_order import walking_order
from tankwalk.practice.round import rounds
from tankwalk.practice.round.agenda import Agenda, Page, agenda
from tankwalk.practice.round.questions import AskSign
from tankwalk.practice.round.rounds import begin, due_checklist
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site, open_site

TODAY = date(2026, 5, 10)


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Site]:
    """The whole room: eggs, young, old, empty and quarantine tanks on three loops."""
    with opened(tmp_path, ROOM) as site:
        yield site


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, SMALL) as site:
        yield site


def asked_today(site: Site, code: str = "am", day: date = TODAY) -> Agenda:
    return agenda(site, site.plan.checklist(code), day, NO_LIMIT)


def stop(found: Agenda, title: str) -> Page:
    return next(p for p in found.pages if p.title == title)


def items(page: Page) -> list[str]:
    return [s.item.code for s in page.slots]


# ---- the order


def test_tanks_go_from_clean_to_dirty_whatever_the_plans_order(room: Site) -> None:
    assert [t.code for t in room.plan.tanks] == ["T05", "T03", "T06", "T02", "T01", "T04"]
    assert [t.code for t in walking_order(room.plan, TODAY)] == [
        "T01",  # eggs
        "T02",  # on the loop of the eggs
        "T04",  # 9 dph
        "T03",  # 30 dph
        "T06",  # empty
        "T05",  # quarantine, though its fish are young
    ]


def test_a_round_is_a_glance_lap_then_the_site_then_each_loop_before_its_tanks(
    room: Site,
) -> None:
    assert [(p.kind, p.title) for p in asked_today(room).pages] == [
        ("glance", "Glance lap"),
        ("site", "Room and site"),
        ("loop", "Loop L2"),
        ("tank", "T01"),
        ("tank", "T02"),
        ("loop", "Loop L1"),
        ("tank", "T04"),
        ("tank", "T03"),
        ("tank", "T06"),
        ("loop", "Loop Q"),
        ("tank", "T05"),
    ]


def test_the_glance_lap_takes_every_tank_in_walking_order(room: Site) -> None:
    glance = asked_today(room).pages[0]
    assert [s.place for s in glance.slots] == ["T01", "T02", "T04", "T03", "T06", "T05"]
    assert set(items(glance)) == {"glance"}


def test_a_round_without_a_glance_a_site_or_a_loop_has_tanks_alone(room: Site) -> None:
    assert {p.kind for p in asked_today(room, "pm").pages} == {"tank"}
    assert [p.kind for p in asked_today(room, "deep").pages] == ["site"]


def test_a_loop_that_serves_quarantine_too_is_checked_once_before_its_first_tank(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, ROOM.replace('loop = "Q"', 'loop = "L1"')) as site:
        titles = [p.title for p in asked_today(site).pages]
    assert titles.count("Loop L1") == 1
    assert titles.index("Loop L1") < titles.index("T04")
    assert titles[-1] == "T05"


ages = st.none() | st.integers(0, 60)


@given(
    st.lists(
        st.tuples(ages, st.sampled_from(["L1", "L2", "L3"]), st.booleans()),
        min_size=1,
        max_size=12,
    )
)
def test_in_any_room_quarantine_comes_last_and_no_loop_is_visited_twice(
    tanks: list[tuple[int | None, str, bool]],
) -> None:
    plan: Plan = read_plan(ROOM)
    lots = tuple(
        Lot(f"lot{i}", "sauger", None if age is None else date.fromordinal(TODAY.toordinal() - age))
        for i, (age, _, _) in enumerate(tanks)
    )
    made = tuple(
        Tank(f"T{i}", loop, 100.0, f"lot{i}", quarantine=sick)
        for i, (_, loop, sick) in enumerate(tanks)
    )
    plan = plan._replace(lots=lots, tanks=made)
    order = walking_order(plan, TODAY)
    assert sorted(t.code for t in order) == sorted(t.code for t in made)
    assert [t.quarantine for t in order] == sorted(t.quarantine for t in order)
    visits = [(t.quarantine, t.loop) for t in order]
    changes = [v for i, v in enumerate(visits) if i == 0 or visits[i - 1] != v]
    assert len(changes) == len(set(changes))
    for here, after in pairwise(order):
        if (here.quarantine, here.loop) == (after.quarantine, after.loop):
            young, old = plan.age(here, TODAY), plan.age(after, TODAY)
            assert (-1 if young is None else young) <= (-1 if old is None else old)


# ---- what is asked today


def test_an_item_for_an_age_is_asked_of_fish_of_that_age_alone(room: Site) -> None:
    found = asked_today(room)
    assert "turbidity" in items(stop(found, "T04"))  # 9 dph
    assert "turbidity" not in items(stop(found, "T03"))  # 30 dph
    assert "turbidity" not in items(stop(found, "T01"))  # eggs
    assert "turbidity" not in items(stop(found, "T06"))  # no fish
    later = asked_today(room, day=date(2026, 5, 25))
    assert "turbidity" in items(stop(later, "T04"))  # 24 dph, the last day
    assert "turbidity" not in items(stop(asked_today(room, day=date(2026, 5, 26)), "T04"))


def test_an_item_of_every_few_days_is_asked_when_it_is_due_again(room: Site) -> None:
    site_page = stop(asked_today(room), "Room and site")
    assert items(site_page) == ["alarm", "generator"]  # never done yet
    seen_before(room, "site", "generator", 0, "2026-05-10T17:00")
    for day, due in ((10, False), (16, False), (17, True), (30, True)):
        found = stop(asked_today(room, day=date(2026, 5, day)), "Room and site")
        assert ("generator" in items(found)) is due


def test_a_loop_is_passed_by_on_days_when_none_of_its_items_is_due(tmp_path: Path) -> None:
    plan = ROOM.replace('code = "sump"', 'code = "sump"\nevery = "2 d"')
    with opened(tmp_path, plan) as site:
        seen_before(site, "L1", "sump", 45, "2026-05-09T07:00")
        titles = [p.title for p in asked_today(site).pages if p.kind == "loop"]
        assert titles == ["Loop L2", "Loop Q"]


def test_an_item_that_was_put_off_with_a_reason_is_asked_again_next_time(room: Site) -> None:
    walk = go_to(walking(room), "site", "generator")
    walk.answer("/")
    walk.answer("3")
    assert "generator" in items(stop(asked_today(room), "Room and site"))


def test_a_stop_with_nothing_due_is_left_out(tmp_path: Path) -> None:
    plan = ROOM.replace('site = ["alarm", "generator"]', 'site = ["generator"]')
    with opened(tmp_path, plan) as site:
        seen_before(site, "site", "generator", 0, "2026-05-09T17:00")
        assert "site" not in {p.kind for p in asked_today(site).pages}


def test_a_round_in_which_nothing_is_due_is_signed_at_once(tmp_path: Path) -> None:
    plan = ROOM.replace('site = ["alarm"]\nweekdays', 'site = ["generator"]\nweekdays')
    with opened(tmp_path, plan) as site:
        seen_before(site, "site", "generator", 0, "2026-05-09T17:00")
        walk = walking(site, code="deep")
        assert walk.slots == ()
        assert isinstance(walk.question, AskSign)
        for way in ("up", "down", "left", "right"):
            walk.move(way)
        assert walk.note().sentence == "This round takes no more notes."
        assert walk.next_meter().sentence == "There is no other meter for this."
        assert not walk.undo().sentence.startswith("Undone")
        assert not walk.back()
        assert walk.answer("+").sentence == "Signed by AB at 07:00."


def test_what_was_done_in_this_round_is_still_asked_when_it_is_taken_up_again(
    room: Site,
) -> None:
    walk = go_to(walking(room), "site", "generator")
    walk.answer("+")
    fresh = again(walk)
    assert [(s.place, s.item.code) for s in fresh.slots] == [
        (s.place, s.item.code) for s in walk.slots
    ]


def test_each_slot_has_the_band_of_its_day(tmp_path: Path) -> None:
    ramp = "ramp = [{on = 2026-05-10, target = 16.0}, {on = 2026-05-20, target = 18.0}]"
    with opened(tmp_path, ROOM.replace("target = 16.5", ramp)) as site:
        for day, target in ((date(2026, 5, 10), 16.0), (date(2026, 5, 15), 17.0)):
            slot = stop(asked_today(site, day=day), "T04").slots[0]
            assert slot.band is not None
            assert slot.band.target == target
            assert slot.band.limits.watch_above == target + 1.0


def test_each_tank_has_the_meter_used_on_it_by_habit(room: Site) -> None:
    found = asked_today(room)
    assert [stop(found, t).slots[0].instrument for t in ("T01", "T02", "T03")] == ["A", "B", "A"]
    assert stop(found, "Loop L1").slots[0].instrument is None


# ---- which round


@pytest.mark.parametrize(
    ("time", "code"),
    [("06:10", "am"), ("08:29", "am"), ("09:00", "deep"), ("13:00", "pm"), ("22:00", "pm"),
     ("23:30", "am")],
)  # fmt: skip
def test_the_round_wanted_now_is_the_one_whose_time_is_nearest(
    room: Site, time: str, code: str
) -> None:
    clock_shows(room, f"2026-05-11T{time}")
    assert due_checklist(room, room.now()).code == code


def test_a_plan_without_a_checklist_says_what_to_add(room: Site) -> None:
    room.plan = room.plan._replace(checklists=())
    with pytest.raises(Refusal, match=r"The plan has no checklist: add a \[\[checklist\]\]"):
        due_checklist(room, room.now())


# ---- beginning and taking up


def test_a_new_round_is_opened_by_its_first_walker(small: Site) -> None:
    found = begin(small, small.plan.checklist("am"), "ab")
    assert (found.number, found.who, found.checklist, found.signed) == (1, "AB", "am", None)
    assert entries(small, "kind, who") == [("plan", "AB"), ("round", "AB")]


def test_somebody_the_plan_does_not_name_cannot_walk(small: Site) -> None:
    with pytest.raises(Refusal, match=r"'ZZ' is not among the people of the plan \(AB, CD, EF\)"):
        begin(small, small.plan.checklist("am"), "ZZ")
    assert entries(small) == []


def test_an_unsigned_round_is_taken_up_and_who_took_it_up_is_kept(small: Site) -> None:
    first = begin(small, small.plan.checklist("am"), "AB")
    clock_shows(small, "2026-05-10T08:00")
    same = begin(small, small.plan.checklist("am"), "AB")
    other = begin(small, small.plan.checklist("am"), "CD")
    assert (first.number, same.number, other.number) == (1, 1, 1)
    events = small.ledger.db.execute("SELECT event FROM round ORDER BY entry").fetchall()
    assert events == [("open",), ("resume",)]
    assert entries(small, "who")[-1] == ("CD",)


def test_another_checklist_is_another_round(small: Site) -> None:
    assert begin(small, small.plan.checklist("am"), "AB").number == 1
    assert begin(small, small.plan.checklist("pm"), "AB").number == 2


@pytest.mark.parametrize(("later", "number"), [("2026-05-11T01:00", 1), ("2026-05-11T01:01", 2)])
def test_a_round_left_unsigned_for_more_than_18_hours_is_not_taken_up(
    small: Site, later: str, number: int
) -> None:
    begin(small, small.plan.checklist("am"), "AB")
    clock_shows(small, later)
    assert begin(small, small.plan.checklist("am"), "AB").number == number


def test_after_the_signature_a_new_round_begins(small: Site) -> None:
    walk = sign(walking(small))
    assert newest_round(small, 1).signed_by == "AB"
    assert begin(small, small.plan.checklist("am"), "CD").number == 2
    assert walk.round.number == 1


def test_a_signature_says_what_it_means_and_when(small: Site) -> None:
    walk = finish(walking(small))
    clock_shows(small, "2026-05-10T07:40")
    walk.answer("+")
    found = newest_round(small, 1)
    assert found.signed is not None
    assert (found.signed.hm(), found.signed_by) == ("07:40", "AB")
    row = small.ledger.db.execute("SELECT meaning FROM round WHERE event = 'sign'").fetchone()
    assert row == ("I took these readings, and they are what I saw",)
    assert rounds.SIGNING == row[0]


def test_a_round_that_goes_past_midnight_keeps_its_day_and_bands(tmp_path: Path) -> None:
    ramp = "ramp = [{on = 2026-05-10, target = 16.0}, {on = 2026-05-20, target = 18.0}]"
    with opened(tmp_path, SMALL.replace("target = 16.5", ramp), "2026-05-10T23:50") as site:
        walk = walking(site)
        clock_shows(site, "2026-05-11T00:10")
        fresh = again(walk)
        assert fresh.agenda.day == TODAY
        band = go_to(fresh, "T01", "temp").slot.band
        assert band is not None
        assert band.target == 16.0


def test_two_terminals_that_begin_at_the_same_moment_share_one_round(tmp_path: Path) -> None:
    with opened(write_plan(tmp_path, SMALL)) as first:
        station = first.ledger.station
        start = threading.Barrier(4)
        numbers: list[int] = []

        def arrive() -> None:
            site = open_site(tmp_path, station, NOW)
            try:
                start.wait()
                numbers.append(begin(site, site.plan.checklist("am"), "AB").number)
            finally:
                site.close()

        people = [threading.Thread(target=arrive) for _ in range(4)]
        for one in people:
            one.start()
        for one in people:
            one.join()
        assert numbers == [1, 1, 1, 1]
        assert [r.number for r in first.ledger.reader.rounds.newest()] == [1]


def test_every_slot_asked_is_a_place_and_item_of_its_own(room: Site) -> None:
    for checklist in room.plan.checklists:
        walk = Walk(room, begin(room, checklist, "AB"), "AB")
        places = [(s.place, s.item.code) for s in walk.slots]
        assert len(places) == len(set(places)) == walk.agenda.slots
