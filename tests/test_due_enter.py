"""Nothing is called due that cannot be entered: Enter on each kind of line leads to where it is.

Each kind stands alone on the board of the demo, as the facts of `tasks` have it; the page that
Enter opens is told by its first row.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import get_args

import pytest

from demo_support import opened
from eating_support import LISTED, room
from plan_texts import LIVE_AND_RATION
from site_support import clock_shows, moment
from site_support import opened as room_opened
from tankwalk.ledger.entries import Batch, BatchOf, Entry, Meal
from tankwalk.ledger.feeding import BatchKind
from tankwalk.pages import due_words
from tankwalk.practice import tasks
from tankwalk.practice.board import board, comes_next
from tankwalk.practice.due import live
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.tasks import (
    AHEAD,
    AgeChange,
    BackupDue,
    BatchDue,
    CallDue,
    ChangeDue,
    CheckDue,
    ConeOut,
    ConeToSet,
    ConeWater,
    CountLeft,
    DeviationsDrafted,
    Due,
    DueState,
    GapAhead,
    HarvestDue,
    LastSaid,
    LookDue,
    MealNext,
    MealsOwed,
    MetersDue,
    Missed,
    NextStep,
    NobodyThere,
    OrderDue,
    OutOfLimit,
    PoorHatch,
    RoundDue,
    RoundUnsigned,
    Runs,
    SampleLeft,
    SamplesDue,
    TimerDue,
)
from tankwalk.screens.board import BoardScreen
from test_screens import Room, at_the_screen

NOW = moment("2026-05-10T06:50")
MEAL = moment("2026-05-10T08:20")
LEVEL = Key("place", "T07", "level")


def leads(site: Site) -> list[tuple[tasks.Facts, str]]:
    """One of each kind of fact, and how the page begins on which it is entered."""
    meters = site.plan.instruments
    return [
        (NobodyThere(30.0, NOW, "AB"), " HANDOVER"),
        (Missed(1, 2, 3), " HANDOVER"),
        (LastSaid(("T07 is low",), "AB", NOW), " HANDOVER"),
        (CallDue(LEVEL, "T07", "Oxygen", None, False, NOW), " FLAG  T07"),
        (LookDue(LEVEL, "T07", ("Level",), (("T07", "level"),), 2, NOW, 1.0), " FLAG  T07"),
        (HarvestDue("A0509", NOW, DueState.NOW, 0.5), " LIVE FEED"),
        (ConeOut("A0509", (OutOfLimit(ConeWater.PH, 7.5, 8.0),), NOW), " LIVE FEED"),
        (PoorHatch("A0509", 46.0, 81.0, 43), " LIVE FEED"),
        (BatchDue("A0509", BatchKind.CONE, NextStep.CHECK, NOW, DueState.NOW, 0.5), " LIVE FEED"),
        (ConeToSet(MEAL, 10.8, 5.4, "AC-7", -1.5), " LIVE FEED"),
        (TimerDue(Runs.ENRICH, "A0509", NOW), " LIVE FEED"),
        (TimerDue(Runs.BATH, "A0509", NOW), " GUIDED"),
        (MealsOwed((MEAL,), ("T01",), DueState.NOW, 0.1), " FEED  Meal 08:20"),
        (MealNext(MEAL, 12, 1.5, NOW), " FEED  Meal 08:20"),
        (RoundDue("Morning round", NOW, DueState.NOW, 0.0), " Morning round"),
        (RoundUnsigned("Afternoon round", NOW, "AB"), " Afternoon round"),
        (MetersDue(meters[:1], DueState.NOW), " METER"),
        (MetersDue(meters, DueState.NOW), " METERS"),
        (CheckDue("Generator test run", "site", DueState.OVERDUE, 9.0, NOW), " Morning round"),
        (CheckDue("Morning round", "site", DueState.NOT_DONE, many=6), " Morning round"),
        (DeviationsDrafted(1, (), "TS"), " OPEN"),
        (SamplesDue(("Length of 20 fish",), ("T01",), DueState.NOW, 0.0, None), " SAMPLE"),
        (SampleLeft("T01", 11, 20, NOW, "AB"), " SAMPLE  T01"),
        (CountLeft("T01", "census", 4, NOW, "AB"), " STOCK  T01"),
        (BackupDue(4, second=False, there=True), " BOARD"),
        (OrderDue("D1", 2700.0, 11.0, NOW.day, DueState.NOW, 0.0), " LIVE FEED"),
    ]


def test_enter_on_every_kind_of_line_opens_the_page_where_it_is_entered(tmp_path: Path) -> None:
    wrong: list[str] = []

    async def act(here: Room) -> None:
        front = here.page
        assert isinstance(front, BoardScreen)
        for facts, begins in leads(here.app.site):
            assert front.board is not None
            front.board = front.board._replace(due=(Due(1.0, facts),))
            front.at = 0
            front.draw()
            words = due_words.told(Due(1.0, facts), NOW)[0]
            assert words.split()[0] in here.text
            await here.press("enter")
            first = here.text.split("\n")[0]
            if not first.casefold().startswith(begins.casefold()):
                wrong.append(f"{words!r}: {first!r}, and not {begins!r}")
            for _ in range(6):
                if here.page is front:
                    break
                await here.press("escape")
            assert here.page is front, words

    with closing(opened(tmp_path)) as site:
        at_the_screen(site, act)
    assert wrong == []


def test_every_kind_of_fact_is_walked_or_comes_by_itself(tmp_path: Path) -> None:
    with closing(opened(tmp_path)) as site:
        walked = {type(facts) for facts, _ in leads(site)}
    apart = {kind for kind in get_args(tasks.Facts) if tasks.KIND_OF[kind] in AHEAD}
    assert walked | apart == set(get_args(tasks.Facts))
    assert not walked & apart


def test_what_comes_by_itself_is_no_line_to_do() -> None:
    age = ChangeDue(AgeChange.STAGE, "LOT", "feeding", False, 5, ("T01",))
    assert comes_next([Due(0.0, age), Due(0.0, GapAhead(NOW, MEAL))]) == []


# ---- live feed


PLAN = (
    room(LISTED).replace("dph = [2, 40]\n", 'dph = [2, 40]\nkind = "live"\n', 1)
    + LIVE_AND_RATION
    + """
[[culture]]
code = "R1"
kind = "rotifers"
volume = "60 L"
count_at = "09:00"
"""
)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with room_opened(tmp_path, PLAN) as found:
        yield found


def event(site: Site, when: str, batch: str, what: str, *more: object, **of: float) -> None:
    then = moment(f"2026-05-{when}")
    detail = Batch(batch, what, **of)  # type: ignore[arg-type]
    site.record(Entry("batch", "AB", then, then, SITE), detail, *more)  # type: ignore[arg-type]


def told(site: Site, when: str) -> list[tuple[str, str]]:
    clock_shows(site, f"2026-05-{when}")
    now = site.now()
    found = [*live.batches_due(site, now), *live.cones_to_set(site, now)]
    return [due_words.told(one, now) for one in found]


def harvested(site: Site) -> None:
    due = moment("2026-05-10T08:30").utc
    event(site, "09T09:30", "A0509", "set", BatchOf("cone", "C7"), grams=10.0, litres=5.0,
          due_at=due)  # fmt: skip
    event(site, "10T08:30", "A0509", "harvest", litres=4.0, per_ml=400.0, hatch_percent=80.0)


def steps(site: Site, when: str) -> list[tuple[str, str]]:
    return [one for one in told(site, when) if not one[0].startswith("Set a cone")]


def test_a_cone_is_checked_in_the_evening_and_not_when_its_harvest_is_near(site: Site) -> None:
    due = moment("2026-05-10T08:30").utc
    event(site, "09T09:30", "A0509", "set", BatchOf("cone", "C7"), grams=10.0, due_at=due)
    assert steps(site, "09T13:59") == []
    assert steps(site, "09T14:00") == [("Cone A0509, check, 16:00", "in 2 h")]
    assert steps(site, "09T17:01") == [("Cone A0509, check", "overdue 1 h 01 min")]
    assert steps(site, "10T06:30") == []


def test_nauplii_are_chilled_then_used_by_then_too_old(site: Site) -> None:
    harvested(site)
    assert ("Nauplii A0509, chill, 09:30", "in 1 h") in steps(site, "10T08:30")
    event(site, "10T09:00", "A0509", "chill", litres=2.0)
    assert steps(site, "11T06:29") == []
    assert steps(site, "11T06:30") == [("Nauplii A0509, use by 08:30", "in 2 h")]
    assert steps(site, "11T08:31") == [
        ("Nauplii A0509, over a day old, use first", "overdue 1 min")
    ]
    assert steps(site, "12T08:31") == [("Nauplii A0509, too old, discard", "overdue 24 h")]
    event(site, "11T08:40", "A0509", "discard", litres=2.0)
    assert steps(site, "11T09:00") == []


def test_a_culture_is_counted_at_its_hour(site: Site) -> None:
    event(site, "08T09:00", "R1", "set", BatchOf("rotifers"), per_ml=200.0)
    assert steps(site, "10T06:59") == []
    assert steps(site, "10T07:00") == [("Rotifers R1, count, 09:00", "in 2 h")]
    assert steps(site, "10T10:01") == [("Rotifers R1, count", "overdue 1 h 01 min")]
    event(site, "10T10:05", "R1", "count", per_ml=210.0)
    assert not any("count" in words for words, _ in steps(site, "10T10:10"))


def test_tomorrow_s_cone_is_due_from_the_evening_on_until_it_is_set(site: Site) -> None:
    harvested(site)
    event(site, "10T09:30", "A0510", "set", BatchOf("cone", "C7"), grams=40.0, litres=20.0,
          due_at=moment("2026-05-11T08:30").utc)  # fmt: skip
    assert not any(words.startswith("Set") for words, _ in told(site, "10T15:59"))
    [(words, when)] = [one for one in told(site, "10T16:00") if one[0].startswith("Set")]
    assert words.startswith("Set a cone: ")
    assert " g of C7 in " in words
    assert when.startswith("by Mon ")
    [(_, when)] = [one for one in told(site, "11T05:00") if one[0].startswith("Set")]
    assert when.startswith("by ")
    event(site, "11T05:30", "A0511", "set", BatchOf("cone", "C7"), grams=80.0, litres=40.0,
          due_at=moment("2026-05-12T05:30").utc)  # fmt: skip
    assert not any(words.startswith("Set") for words, _ in told(site, "11T05:31"))


def test_the_hour_of_the_evening_is_the_plan_s(tmp_path: Path) -> None:
    with room_opened(tmp_path, PLAN + '[hatching]\nevening = "18:30"\n') as site:
        event(site, "10T09:30", "A0510", "set", BatchOf("cone", "C7"), grams=40.0, litres=20.0)
        assert not any(words.startswith("Set") for words, _ in told(site, "10T18:29"))
        assert any(words.startswith("Set") for words, _ in told(site, "10T18:30"))


def test_a_tank_whose_feed_is_off_is_not_waited_for_and_is_named(tmp_path: Path) -> None:
    with room_opened(tmp_path, PLAN) as site:
        then = moment("2026-05-10T07:10")
        off = Meal("Art", 0.0, "thousand", event="feed off until 14:00, oxygen")
        site.record(Entry("meal", "AB", then, then, "T07"), off)
        clock_shows(site, "2026-05-10T07:20")
        lines = [due_words.told(one, site.now())[0] for one in board(site).next]
        assert "Feed 08:00, 11 tanks (T07 off); count from 07:30" in lines
        clock_shows(site, "2026-05-10T08:40")
        owed = [one.facts for one in board(site).next if isinstance(one.facts, MealsOwed)]
        assert [len(one.tanks) for one in owed] == [11]
