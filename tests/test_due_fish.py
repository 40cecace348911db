"""What is due for the fish: meals, harvests, meters, samples, what their age brings; and nobody."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest

from fed_support import FED, all_fed, checked, cone, fed, no_feed, sampled, tanks
from page_support import Said, due_said, give, section
from site_support import SMALL, clock_shows, moment, opened, seen_before, sign, walking
from tankwalk.ledger.entries import Entry, Handover
from tankwalk.pages import due_words
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Plan
from tankwalk.practice import tasks
from tankwalk.practice.board import board
from tankwalk.practice.doing.follow_ups import open_altered
from tankwalk.practice.due import all_due, attendance, owed
from tankwalk.practice.livefeed import cones
from tankwalk.practice.meal import which
from tankwalk.practice.meal.which import MealStands
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import (
    CheckDue,
    Due,
    DueKind,
    DueState,
    GapAhead,
    HarvestDue,
    MealsOwed,
    NobodyThere,
    RoundDue,
)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, FED) as found:
        yield found


def at(site: Site, when: str) -> Site:
    clock_shows(site, when)
    return site


def meals_at(site: Site, when: str) -> Said:
    clock_shows(site, when)
    return due_said(owed.meals_due(site, site.now()), site.now())


# ---- meals


def test_a_meal_is_told_two_hours_before_then_due_then_overdue(site: Site) -> None:
    assert meals_at(site, "2026-05-10T05:59") == []
    assert meals_at(site, "2026-05-10T07:19") == [
        ("Feed 08:00", "4 tanks; weigh from 07:30, in 41 min")
    ]
    assert meals_at(site, "2026-05-10T07:30") == [("Feed 08:00", "4 tanks; weigh now, in 30 min")]
    assert meals_at(site, "2026-05-10T08:00") == [("Feed 08:00", "4 tanks, due now")]
    assert meals_at(site, "2026-05-10T08:31") == [("Feed 08:00", "4 tanks, overdue 31 min")]
    overdue = owed.meals_due(at(site, "2026-05-10T08:31"), site.now())
    assert [(one.overdue, one.kind) for one in overdue] == [(True, DueKind.MEAL)]


def test_the_one_tank_that_was_forgotten_is_named_with_the_meals_it_missed(site: Site) -> None:
    all_fed(site, "2026-05-10T08:05", but="T03")
    assert meals_at(site, "2026-05-10T09:59") == [("T03 feed", "overdue 1 h 59 min (08:00)")]
    all_fed(site, "2026-05-10T12:05", but="T03")
    assert meals_at(site, "2026-05-10T12:15") == [("T03 feed", "overdue 4 h 15 min (08:00, 12:00)")]
    fed(site, "T03", "2026-05-10T12:16")
    assert meals_at(site, "2026-05-10T12:20") == []


def test_what_was_missed_before_the_last_meal_is_no_more_to_be_given(site: Site) -> None:
    all_fed(site, "2026-05-10T12:05")
    assert meals_at(site, "2026-05-10T13:00") == []


def test_many_tanks_that_wait_for_the_same_meals_are_one_line(tmp_path: Path) -> None:
    with opened(tmp_path, tanks(FED, "T05", "T06", "T07")) as site:
        fed(site, "T01", "2026-05-10T08:01")
        fed(site, "T02", "2026-05-10T08:02")
        fed(site, "T02", "2026-05-10T12:02")
        assert meals_at(site, "2026-05-10T13:00") == [
            ("T01 feed", "overdue 1 h (12:00)"),
            ("Feed 08:00, 12:00", "5 tanks, overdue 5 h"),
        ]
        assert meals_at(site, "2026-05-10T17:00")[-1] == (
            "Feed 08:00 to 16:14, 4 meals",
            "5 tanks, overdue 9 h",
        )


def test_a_pause_covers_the_meal_and_the_next_meal_comes_after_it(site: Site) -> None:
    no_feed(site, "L1", "2026-05-10T07:30", "no feed until 13:00, sampling")
    assert meals_at(site, "2026-05-10T12:45") == []
    assert meals_at(site, "2026-05-10T15:10") == [
        ("Feed 16:00", "4 tanks; weigh from 15:30, in 50 min")
    ]


def test_the_meal_to_give_is_the_one_its_line_names_though_another_follows_at_once(
    site: Site,
) -> None:
    """Two meals of a weekend afternoon, 16:00 and 16:14: each is given from between them on."""
    for clock, meal in (("15:29", "16:00"), ("15:58", "16:00"), ("16:06", "16:00"),
                        ("16:07", "16:14"), ("16:20", "16:14")):  # fmt: skip
        clock_shows(site, f"2026-05-10T{clock}")
        waits = [MealStands(moment(f"2026-05-10T{hm}"), ("T01",)) for hm in ("16:00", "16:14")]
        given = which.to_give(tuple(waits), site.now())
        assert given is not None
        assert given.hm() == meal, clock


def test_yesterday_s_meals_are_nothing_to_give_today(site: Site) -> None:
    all_fed(site, "2026-05-10T08:05")
    assert meals_at(site, "2026-05-11T00:30") == []
    assert meals_at(site, "2026-05-11T07:30") == [("Feed 08:00", "4 tanks; weigh now, in 30 min")]


def test_eggs_and_a_room_without_meal_times_are_not_fed(tmp_path: Path) -> None:
    eggs = FED.replace('lot = "YOUNG"\ntreatment = "E8"', 'lot = "EGGS"\ntreatment = "E8"')
    with opened(tmp_path / "eggs", eggs) as site:
        assert meals_at(site, "2026-05-10T08:10") == [("T02 T04 feed", "due now (08:00)")]
    with opened(tmp_path / "small", SMALL) as site:
        assert meals_at(site, "2026-05-10T08:10") == []


# ---- cones


def cones_at(site: Site, when: str) -> Said:
    clock_shows(site, when)
    return due_said(cones.cones_due(site, site.now()), site.now())


def test_a_cone_counts_down_to_its_harvest_and_is_late_from_two_hours_on(site: Site) -> None:
    cone(site, "2026-05-09T09:30", "C1", "set", "2026-05-10T08:30")
    for when, words in (
        ("2026-05-09T16:00", "Sun 08:30, in 16 h 30 min"),
        ("2026-05-10T07:00", "08:30, in 1 h 30 min"),
        ("2026-05-10T08:30", "due now"),
        ("2026-05-10T10:29", "due 1 h 59 min ago"),
        ("2026-05-10T10:30", "overdue 2 h: expect instar II"),
        ("2026-05-11T08:31", "overdue 24 h: discard, start a new one"),
    ):
        assert cones_at(site, when) == [("Cone C1 harvest", words)], when
    assert cones.cones_due(at(site, "2026-05-10T10:29"), site.now())[0].overdue is False
    assert cones.cones_due(at(site, "2026-05-10T10:30"), site.now())[0].overdue is True


def test_a_harvested_or_discarded_cone_is_due_no_more_and_its_name_may_come_again(
    site: Site,
) -> None:
    for n, ends in enumerate(("harvest", "discard")):
        cone(site, f"2026-05-0{7 + n}T09:30", "C1", "set", f"2026-05-0{8 + n}T08:30")
        cone(site, f"2026-05-0{8 + n}T08:40", "C1", ends)
    assert cones_at(site, "2026-05-10T12:00") == []
    cone(site, "2026-05-09T09:30", "C1", "set", "2026-05-10T08:30")
    assert [what for what, _ in cones_at(site, "2026-05-10T12:00")] == ["Cone C1 harvest"]


def test_a_cone_out_of_band_at_its_check_is_told_since_the_first_bad_check(site: Site) -> None:
    cone(site, "2026-05-09T09:30", "C1", "set", "2026-05-10T08:30", temperature=23.0, ph=7.6)
    assert len(cones_at(site, "2026-05-09T21:30")) == 1, "at first it has to warm up"
    cone(site, "2026-05-09T18:00", "C1", "check", temperature=26.0, ph=8.1)
    cone(site, "2026-05-09T21:00", "C1", "check", temperature=23.0, ph=7.6)
    cone(site, "2026-05-09T23:00", "C1", "check", temperature=24.9)
    assert cones_at(site, "2026-05-10T07:00")[1] == (
        "Cone C1 out of band", "24.9 degC under 25, since Sat 21:00",
    )  # fmt: skip
    cone(site, "2026-05-10T07:10", "C1", "check", temperature=25.0, ph=8.0)
    assert len(cones_at(site, "2026-05-10T07:20")) == 1


@pytest.mark.parametrize(
    ("water", "words"),
    [
        ({"temperature": 33.1}, "33.1 degC over 33, since 06:00"),
        ({"ph": 7.9}, "pH 7.9 under 8, since 06:00"),
        (
            {"temperature": 23.0, "ph": 7.6},
            "23.0 degC under 25, pH 7.6 under 8, since 06:00",
        ),
        ({"temperature": 33.0, "ph": 8.0}, None),
        ({}, None),
    ],
)
def test_hatching_water_is_held_to_the_manual_s_limits(
    site: Site, water: dict[str, float], words: str | None
) -> None:
    cone(site, "2026-05-09T09:30", "C1", "set", "2026-05-10T08:30")
    cone(site, "2026-05-10T06:00", "C1", "check", None, **water)
    found = cones_at(site, "2026-05-10T07:00")[1:]
    assert found == ([("Cone C1 out of band", words)] if words else [])


def harvests(site: Site, *hatched: float) -> None:
    for n, percent in enumerate(hatched):
        cone(site, f"2026-05-{5 + n:02d}T08:40", f"C{n}", "harvest", hatch_percent=percent)


def test_a_poor_hatch_says_by_how_much_every_live_fed_tank_is_short(site: Site) -> None:
    harvests(site, 79, 80, 81, 80, 46)
    assert cones_at(site, "2026-05-09T09:00") == [
        (
            "Cone C4",
            "46 % hatched, usual 80: about 42 % short for every live-fed tank; "
            "chilled reserve, extra cone",
        )
    ]
    assert cones_at(site, "2026-05-10T08:39") != []
    assert cones_at(site, "2026-05-10T08:41") == [], "by then the next cone feeds the fish"


def test_a_poor_hatch_is_told_from_the_minute_it_was_harvested(site: Site) -> None:
    harvests(site, 80.0, 80.0, 80.0, 46.0)
    [one] = cones.cones_due(site, moment("2026-05-08T08:40"))
    assert (one.kind, one.overdue, one.late_hours) == (DueKind.HATCH, True, 0.01)


def test_the_usual_hatch_is_the_middle_of_the_last_ten_harvests_and_of_three_at_least(
    site: Site,
) -> None:
    def usual() -> float | None:
        return cones.usual_hatch(site.reader.feeding.batches(0))

    harvests(site, 40.0, 40.0)
    assert usual() is None
    harvests(site, *[40.0] * 8, *[80.0] * 6, *[90.0] * 4)
    assert usual() == 80.0


def test_the_harvests_to_come_are_of_cones_that_have_a_time_and_are_not_harvested(
    site: Site,
) -> None:
    cone(site, "2026-05-09T08:00", "past", "set", "2026-05-10T08:00")
    cone(site, "2026-05-09T08:10", "timeless", "set")
    cone(site, "2026-05-09T08:20", "done", "set", "2026-05-10T10:00")
    cone(site, "2026-05-09T08:30", "next", "set", "2026-05-10T08:01")
    cone(site, "2026-05-10T07:50", "done", "harvest", hatch_percent=80.0)
    coming = moment("2026-05-10T08:01")
    assert cones.harvests(site, moment("2026-05-10T08:00")) == [("next", coming)]


def test_a_hatch_is_measured_by_the_ones_before_it_and_small_differences_are_none(
    site: Site,
) -> None:
    harvests(site, 80, 46)
    assert cones_at(site, "2026-05-06T09:00") == [], "one harvest is no usual one"
    harvests(site, 80, 80, 80, 80, 69)
    assert cones_at(site, "2026-05-09T09:00") == []
    cone(site, "2026-05-09T10:00", "late", "harvest", hatch_percent=67.0)
    assert [what for what, _ in cones_at(site, "2026-05-09T11:00")] == ["Cone late"]


# ---- meters

DAILY = 'check = "moist air"\ncheck_every = "1 d"\n'
METERED = FED.replace('code = "A"\n', f'code = "A"\n{DAILY}').replace(
    'tanks = ["T02"]', f'tanks = ["T02"]\n{DAILY}'
)


def meters_at(site: Site, when: str) -> Said:
    clock_shows(site, when)
    return due_said(all_due.due_meters(site, site.now()), site.now())


def test_a_meter_s_check_is_due_each_day_and_overdue_the_next(tmp_path: Path) -> None:
    with opened(tmp_path, METERED) as site:
        assert meters_at(site, "2026-05-10T07:00") == [("Meter checks A, B", "not done yet")]
        checked(site, "A", "2026-05-08T06:40")
        checked(site, "B", "2026-05-08T06:41")
        assert meters_at(site, "2026-05-08T23:00") == []
        assert meters_at(site, "2026-05-09T06:00") == [
            ("Meter checks A, B", "due today, last Fri 8 May 06:41")
        ]
        checked(site, "A", "2026-05-10T06:40")
        assert meters_at(site, "2026-05-10T07:00") == [
            ("oxygen meter B moist air check", "overdue 1 d, last Fri 8 May 06:41")
        ]


def test_nothing_is_due_of_a_meter_that_failed_until_it_passes(tmp_path: Path) -> None:
    with opened(tmp_path, METERED) as site:
        checked(site, "A", "2026-05-10T06:40")
        checked(site, "B", "2026-05-05T06:41", passed=False)
        assert meters_at(site, "2026-05-10T07:00") == []
        assert [(one.meter.code, one.off) for one in board(site).meters] == [("B", True)]
        checked(site, "B", "2026-05-06T06:41")
        assert len(meters_at(site, "2026-05-10T07:00")) == 1
        assert board(site).meters == (), "what is due is told once"


def test_a_check_of_every_few_hours_is_counted_in_hours(tmp_path: Path) -> None:
    with opened(tmp_path, METERED.replace('check_every = "1 d"', 'check_every = "6 h"')) as site:
        for meter in "AB":
            checked(site, meter, "2026-05-10T06:00")
        assert meters_at(site, "2026-05-10T11:59") == []
        assert meters_at(site, "2026-05-10T12:00")[0][1] == "due today, last Sun 10 May 06:00"


# ---- samples

SAMPLING = FED + (
    '\n[[sampling]]\nwhat = "length"\nlabel = "Length"\nevery = "7 d"\ndph = [5, 60]\n'
    '\n[[sampling]]\nwhat = "mass"\nlabel = "Mass"\nevery = "7 d"\ndph = [5, 60]\n'
    '\n[[sampling]]\nwhat = "gut fill"\nlabel = "Gut fill"\nevery = "1 d"\ndph = [20, 60]\n'
)


def samples_at(site: Site, when: str) -> Said:
    clock_shows(site, when)
    return due_said(owed.samples_due(site, site.now()), site.now())


def test_a_sample_taken_seldom_is_remembered_beside_one_taken_daily(tmp_path: Path) -> None:
    daily = '\n[[sampling]]\nwhat = "gut fill"\nlabel = "Gut fill"\nevery = "1 d"\ndph = [20, 60]\n'
    monthly = '\n[[sampling]]\nwhat = "bones"\nlabel = "Bones"\nevery = "30 d"\n'
    with opened(tmp_path, FED + daily + monthly) as site:
        assert samples_at(site, "2026-05-10T10:00") == [
            ("Sample: Bones", "T01 T02 T03 T04, due today, none yet")
        ]
        for tank in site.plan.tanks:
            sampled(site, tank.code, "bones", "2026-06-01T09:00")
        assert samples_at(site, "2026-07-11T10:00") == [
            ("Sample: Bones", "T01 T02 T03 T04, overdue 10 d, last Mon 1 Jun")
        ]
        assert samples_at(site, "2026-08-29T10:00") == [
            ("Sample: Bones", "T01 T02 T03 T04, overdue 59 d, last Mon 1 Jun")
        ]


def test_the_first_sample_is_due_at_its_age_and_the_next_so_many_days_after(tmp_path: Path) -> None:
    with opened(tmp_path, SAMPLING) as site:
        assert samples_at(site, "2026-05-05T10:00") == [], "4 dph"
        both = "Sample: Length, Mass"
        everybody = "T01 T02 T03 T04"
        assert samples_at(site, "2026-05-06T10:00") == [(both, f"{everybody}, due today, none yet")]
        assert samples_at(site, "2026-05-08T10:00") == [
            (both, f"{everybody}, overdue 2 d, none yet")
        ]
        for place in ("T01", "T02", "T03", "T04"):
            for what in ("length", "mass"):
                sampled(site, place, what, "2026-05-08T13:00")
        assert samples_at(site, "2026-05-14T23:00") == []
        sampled(site, "T01", "length", "2026-05-09T13:00")
        assert samples_at(site, "2026-05-16T10:00") == [
            ("Sample: Length", "T01, due today, last Sat 9 May"),
            ("Sample: Length", "T02 T03 T04, overdue 1 d, last Fri 8 May"),
            (both.replace("Length, ", ""), f"{everybody}, overdue 1 d, last Fri 8 May"),
        ]


def test_many_tanks_that_owe_a_sample_are_counted(tmp_path: Path) -> None:
    with opened(tmp_path, tanks(SAMPLING, "T05", "T06", "T07")) as site:
        assert samples_at(site, "2026-05-06T10:00")[0][1] == "7 tanks, due today, none yet"


# ---- what age brings


def changes_at(plan: Plan, when: str) -> Said:
    return due_said(owed.changes(plan, moment(when)), moment(when))


def test_a_feed_that_starts_or_ends_is_told_the_day_before_and_on_the_day(site: Site) -> None:
    def told(when: str) -> Said:
        return [(what, words) for what, words in changes_at(site.plan, when) if "stage" not in what]

    assert told("2026-05-07T10:00") == []
    assert told("2026-05-08T10:00") == [("E8 starts dry feed D1", "tomorrow (8 dph): T01 T03")]
    assert told("2026-05-09T10:00") == [("E8 starts dry feed D1", "today (8 dph): T01 T03")]
    assert told("2026-05-15T10:00") == [("E8 ends Art nauplii", "tomorrow (15 dph): T01 T03")]
    assert told("2026-05-13T00:30") == [("M12 starts dry feed D1", "today (12 dph): T02 T04")]


def test_a_feed_planned_in_two_stretches_that_meet_neither_ends_nor_starts_between() -> None:
    two = FED.replace("dph = [4, 14]", "dph = [4, 9]") + (
        '[[feed]]\ncode = "Art"\nlabel = "nauplii"\ntreatment = "E8"\ndph = [10, 14]\n'
    )
    assert changes_at(read_plan(two), "2026-05-11T09:00") == []


def test_what_changes_by_age_is_never_late() -> None:
    found = owed.changes(read_plan(FED), moment("2026-05-15T10:00"))
    assert found
    assert {one.late_hours for one in found} == {-14.0}, "tomorrow"
    today = owed.changes(read_plan(FED), moment("2026-05-16T10:00"))
    assert [one.late_hours for one in today] == [0.0] * len(today) != []


def test_a_new_stage_of_life_is_told_by_lot() -> None:
    plan = read_plan(FED)
    assert changes_at(plan, "2026-05-15T10:00")[0] == (
        "E8 ends Art nauplii", "tomorrow (15 dph): T01 T03",
    )  # fmt: skip
    assert ("YOUNG enters the live feed stage", "tomorrow (13 dph): T01 T02 T03 T04") in changes_at(
        plan, "2026-05-13T10:00"
    )


# ---- whether anybody is there

EVENING = '\n[[checklist]]\ncode = "ev"\nlabel = "Evening look"\nat = "21:00"\nglance = "glance"\n'
WEEKDAYS = 'weekdays = ["Mon", "Tue", "Wed", "Thu", "Fri"]\n'


def gap_at(plan: str, when: str) -> Said:
    return due_said(attendance.gap(read_plan(plan), moment(when)), moment(when))


def test_the_long_gap_of_a_weekend_is_told_from_a_day_before_until_it_ends() -> None:
    plan = SMALL + EVENING + WEEKDAYS
    saturday = [("No check scheduled", "from Sat 15:00 to Sun 07:00, 16 h")]
    sunday = [("No check scheduled", "from Sun 15:00 to Mon 07:00, 16 h")]
    assert gap_at(plan, "2026-05-08T14:59") == []
    assert gap_at(plan, "2026-05-08T15:00") == saturday
    assert gap_at(plan, "2026-05-09T23:00") == saturday
    assert gap_at(plan, "2026-05-10T06:59") == saturday
    assert gap_at(plan, "2026-05-10T07:00") == sunday
    assert gap_at(plan, "2026-05-11T07:00") == []


def test_a_night_that_is_like_all_others_is_not_told() -> None:
    assert gap_at(SMALL, "2026-05-08T15:00") == []
    assert gap_at(SMALL + EVENING, "2026-05-08T15:00") == []


@pytest.mark.parametrize(("evening", "told"), [
    ("21:00", []),
    ("19:00", [("No check scheduled", "from Fri 19:00 to Sat 07:00, 12 h")]),
])  # fmt: skip
def test_a_gap_of_less_than_twelve_hours_is_a_night_though_others_are_shorter(
    evening: str, told: Said
) -> None:
    night = (EVENING + WEEKDAYS).replace('"ev"', '"nt"').replace("21:00", "02:00")
    plan = SMALL + EVENING.replace("21:00", evening) + night
    assert gap_at(plan, "2026-05-08T21:30") == told


def test_a_round_that_looks_at_no_tank_is_no_look() -> None:
    site_only = EVENING.replace('glance = "glance"', 'site = ["alarm"]')
    plan = SMALL + EVENING + WEEKDAYS + site_only.replace('"ev"', '"lock"')
    assert gap_at(plan, "2026-05-08T15:00") != []


def nobody_at(site: Site, when: str) -> Said:
    clock_shows(site, when)
    return due_said(attendance.unattended(site, site.now()), site.now())


def test_a_room_that_nobody_entered_anything_in_for_a_day_says_so_with_what_was_missed(
    site: Site,
) -> None:
    assert nobody_at(site, "2026-05-12T07:00") == [], "a new record waits for its first entry"
    cone(site, "2026-05-10T16:10", "C1", "set", "2026-05-11T08:30")
    assert nobody_at(site, "2026-05-11T16:10") == []
    assert nobody_at(site, "2026-05-11T16:11") == [
        ("Nobody entered anything", "for 24 h 01 min, since Sun 10 May 16:10 (by AB)"),
        ("Missed meanwhile", "2 rounds, 4 meals, 1 harvest"),
    ]
    assert nobody_at(site, "2026-05-17T18:30") == [
        ("Nobody entered anything", "for 7 d 2 h, since Sun 10 May 16:10 (by AB)"),
        ("Missed meanwhile", "14 rounds, 24 meals, 1 harvest"),
    ]


def test_a_site_that_was_closed_for_a_season_missed_nothing_meanwhile(site: Site) -> None:
    fed(site, "T01", "2026-05-10T08:00")
    assert [what for what, _ in nobody_at(site, "2026-07-09T08:00")][1:] == ["Missed meanwhile"]
    assert [what for what, _ in nobody_at(site, "2070-05-10T08:00")] == ["Nobody entered anything"]


def test_after_days_the_last_handover_is_told_as_it_was_kept_and_an_old_one_says_nothing(
    site: Site,
) -> None:
    open_altered(site, "AB", "T09 STOCK\nlid   off", "T02")
    give(site, "AB")
    clock_shows(site, "2026-05-10T08:00")
    told = nobody_at(site, "2026-05-12T07:00")[-1]
    assert told == (
        "The last handover said",
        "not looked at for a day or longer: T01, T02, T03, T04; T02 T09 STOCK lid off (no end set, "
        "new from AB); nothing special expected (AB, Sun 10 May 07:00)",
    )
    now = site.now()
    site.record(Entry("handover", "CD", now, now, "site"), Handover("give", "STOCK\n  T01 hangs"))
    assert [what for what, _ in nobody_at(site, "2026-05-14T07:00")] == [
        "Nobody entered anything", "Missed meanwhile",
    ]  # fmt: skip


def test_what_is_entered_late_counts_when_it_is_entered(site: Site) -> None:
    fed(site, "T01", "2026-05-08T08:00")  # the record has it as entered then
    assert nobody_at(site, "2026-05-10T08:00") != []
    seen_before(site, "T01", "temp", 16.0, "2026-05-10T07:50")
    assert nobody_at(site, "2026-05-10T08:00") == []


# ---- all of it


def test_what_is_overdue_comes_first_by_what_it_is_then_by_time() -> None:
    when = moment("2026-05-10T07:00")
    gap = Due(0.0, GapAhead(when, when))
    check = Due(90.0, CheckDue("Generator", "site", DueState.OVERDUE))
    late_meal = Due(2.0, MealsOwed((when,), ("T01",), DueState.OVERDUE, 2.0))
    later_meal = Due(3.0, MealsOwed((when,), ("T02",), DueState.OVERDUE, 3.0))
    soon = Due(-0.5, RoundDue("Morning round", when, DueState.NOW, 0.5))
    harvest = Due(0.1, HarvestDue("C1", when, DueState.OVERDUE, 2.0))
    to_come = Due(-9.0, HarvestDue("C2", when, DueState.TO_COME, -7.0))
    nobody = Due(1.0, NobodyThere(25.0, when, "AB"))
    found = [gap, check, late_meal, later_meal, soon, harvest, to_come, nobody]
    assert tasks.worst_first(found) == [
        nobody, harvest, later_meal, late_meal, check, gap, soon, to_come,
    ]  # fmt: skip


def test_the_board_and_the_handover_tell_all_of_it(site: Site) -> None:
    cone(site, "2026-05-09T09:30", "C1", "set", "2026-05-10T08:30")
    all_fed(site, "2026-05-10T08:05", but="T03")
    now = at(site, "2026-05-10T10:45").now()
    everything = all_due.everything(site, now, site.reader.readings.newest_of_all())
    assert [due_words.what(one) for one in everything][:3] == [
        "Cone C1 harvest", "T03 feed", "07:00 Morning round",
    ]  # fmt: skip
    assert board(site).due == tuple(everything)
    assert section(site, "TASKS")[:2] == [
        "Cone C1 harvest: overdue 2 h 15 min: expect instar II",
        "T03 feed: overdue 2 h 45 min (08:00)",
    ]


def test_every_kind_of_fact_is_of_a_kind_of_due_thing_and_none_of_them_is_without_facts() -> None:
    assert set(tasks.KIND_OF) == set(get_args(tasks.Facts))
    assert set(tasks.KIND_OF.values()) == set(DueKind)


def test_a_room_without_plans_for_feed_shows_what_it_showed_before(tmp_path: Path) -> None:
    with opened(tmp_path, SMALL) as site:
        sign(walking(site))
        now = site.now()
        found = all_due.everything(site, now, site.reader.readings.newest_of_all())
        assert due_said(found, now) == [("15:00 Afternoon round", "in 8 h")]
