"""What a handover says of feed: on hand, hatching, the next meal, not given, eaten, feed off."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from eating_support import LISTED, TWELVE, fed, later, meal, responds, room, settled
from page_support import section
from plan_texts import LIVE_AND_RATION
from site_support import clock_shows, moment, opened
from tankwalk.ledger.entries import Batch, BatchOf, Entry, Meal, Served
from tankwalk.pages import handover as page
from tankwalk.pages.lines import plain
from tankwalk.practice.feeding import giving, meals
from tankwalk.practice.handover.drafting import draft
from tankwalk.practice.site import SITE, Site

LIVE = LIVE_AND_RATION + '[[treatment]]\ncode = "ALL"\n'


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    plan = room(LISTED).replace("dph = [2, 40]\n", 'dph = [2, 40]\nkind = "live"\n', 1) + LIVE
    plan = plan.replace('lot = "YOUNG"\n', 'lot = "YOUNG"\ntreatment = "ALL"\n')
    with opened(tmp_path, plan) as found:
        settled(found)
        yield found


def at(site: Site, when: str) -> Site:
    clock_shows(site, f"2026-05-10T{when}")
    return site


def shown(site: Site) -> str:
    return " ".join(plain(page.draw(draft(site), 80)).split())


def event(site: Site, when: str, batch: str, what: str, *more: object, **of: float) -> None:
    then = moment(f"2026-05-{when}")
    detail = Batch(batch, what, **of)  # type: ignore[arg-type]
    site.record(Entry("batch", "AB", then, then, SITE), detail, *more)  # type: ignore[arg-type]


def not_given(site: Site, place: str, when: str, words: str, meal_at: str | None = None) -> None:
    then = moment(f"2026-05-10T{when}")
    more = () if meal_at is None else (Served(moment(f"2026-05-10T{meal_at}").utc),)
    detail = Meal("Art", 0.0, "thousand", event=words)
    site.record(Entry("meal", "AB", then, then, place), detail, *more)


def test_meals_given_are_counted_with_the_rounds(site: Site) -> None:
    meal(site, "2026-05-10T08:00")
    assert "Meals 3 of 3 given." in shown(at(site, "08:30"))  # two of the day before
    assert "Meals 2 of 3 given." in shown(at(site, "12:40"))


def test_the_next_meal_says_for_whom_and_who_gave_it_last(site: Site) -> None:
    meal(site, "2026-05-09T12:00")
    assert "Next meal 12:00, 12 tanks last AB" in shown(at(site, "10:00"))
    assert "next meal" not in " ".join(section(site, "TASKS"))


def test_a_meal_given_before_its_time_is_not_the_next_one_any_more(site: Site) -> None:
    for tank in TWELVE[:11]:
        fed(site, moment("2026-05-10T11:45"), tank)
    assert "Next meal 12:00, 12 tanks" in shown(at(site, "11:50"))
    fed(site, moment("2026-05-10T11:50"), TWELVE[11])
    assert "Next meal 16:00, 12 tanks" in shown(at(site, "11:52"))


def test_feed_off_stands_under_altered_with_whom_why_and_by_whom(site: Site) -> None:
    not_given(site, "T07", "09:10", "feed off until 14:00, oxygen")
    found = shown(at(site, "10:00"))
    assert "FEED OFF T07: until 14:00, oxygen AB since 09:10" in found
    assert "Next meal 12:00, 11 tanks" in found


def test_a_meal_that_was_missed_or_late_or_short_is_told_in_a_line(site: Site) -> None:
    for tank in TWELVE[:6]:
        fed(site, moment("2026-05-10T08:05"), tank, planned=moment("2026-05-10T08:00").utc)
    not_given(site, "T07", "08:10", "missed: no time", "08:00")
    late = moment("2026-05-10T09:10")
    fed(site, late, "T08", planned=moment("2026-05-10T08:00").utc)
    short = Meal("Art", 50.0, "thousand", 100.0)
    served = Served(moment("2026-05-10T08:00").utc)
    site.record(Entry("meal", "AB", late, late, "T09"), short, served)
    tasks = section(at(site, "11:30"), "TASKS")
    assert any(one.startswith("T07 ALL: meal") and "no time" in one for one in tasks)
    assert any("given 1 h 10 min late" in one for one in tasks)
    assert any("short of" in one and "50 % of the plan" in one for one in tasks)


def test_what_is_on_hand_and_what_hatches_is_told_with_its_hours(site: Site) -> None:
    event(site, "08T09:30", "A0508", "set", BatchOf("cone", "C7"), grams=10.0, litres=5.0)
    event(site, "09T08:30", "A0508", "harvest", litres=4.0, per_ml=400.0, hatch_percent=80.0)
    event(site, "09T09:00", "A0508", "chill", litres=2.0)
    due = moment("2026-05-10T08:30").utc
    event(site, "09T09:30", "A0509", "set", BatchOf("cone", "C7"), grams=10.0, litres=5.0,
          due_at=due)  # fmt: skip
    clock_shows(site, "2026-05-09T20:00")
    found = shown(site)
    assert "Nauplii: A0508 800 thousand, use by Sun 08:30; A0509 ready Sun 09:30" in found


@pytest.mark.parametrize(
    ("order_at", "said"), [("", "On hand: C7 400 g"), ("500 g", "On hand: C7 400 g, order now")]
)
def test_what_is_in_stock_is_told_and_what_is_to_be_ordered(
    tmp_path: Path, order_at: str, said: str
) -> None:
    more = f'\norder_at = "{order_at}"' if order_at else ""
    with opened(
        tmp_path, room(LISTED) + LIVE.replace('hatch = "80 %"', f'hatch = "80 %"{more}')
    ) as site:
        then = moment("2026-05-01T09:00")
        tin = Batch("C7-1", "received", lot="C7", grams=400.0)
        site.record(Entry("batch", "AB", then, then, SITE), tin, BatchOf("cysts", "C7"))
        assert said in section(at(site, "10:00"), "TASKS")


def test_responses_below_the_best_are_named_and_flags_stand_by_themselves(site: Site) -> None:
    words = ["fair" if t in ("T02", "T09") else "poor" if t == "T05" else "eager" for t in TWELVE]
    meal(site, "2026-05-10T08:00", words)
    stock = section(at(site, "09:00"), "STOCK")
    assert "Feeding response: fair T02 T09" in stock
    assert sum("Feeding response" in one for one in stock) == 2
    assert any("T05" in one and "Feeding response poor" in one for one in stock)


def test_a_response_of_yesterday_says_nothing_of_today(site: Site) -> None:
    responds(site, moment("2026-05-09T18:10"), "T02", "fair")
    assert "Feeding response: fair T02" in section(at(site, "18:00"), "STOCK")
    assert "Feeding response: fair T02" not in section(at(site, "18:30"), "STOCK")


def test_a_shortage_to_come_is_expected_with_what_can_be_done(site: Site) -> None:
    event(site, "09T10:00", "A0509", "set", BatchOf("cone", "C7"), grams=10.0, litres=5.0)
    event(site, "10T07:00", "A0509", "harvest", litres=5.0, per_ml=100.0, hatch_percent=25.0)
    expect = section(at(site, "07:30"), "EXPECT")
    assert any(one.startswith("Nauplii") and "% short, meals" in one for one in expect)


def test_the_page_keeps_its_width_with_all_of_it(site: Site) -> None:
    meal(site, "2026-05-10T08:00", ["fair", "poor"] * 6)
    not_given(site, "L1", "09:10", "feed off until 14:00, " + "a long word " * 8)
    for width in (60, 80, 120):
        for row in page.draw(draft(at(site, "10:00")), width):
            assert sum(len(span.text) for span in row) == width


def test_a_room_without_meals_says_nothing_of_feed(tmp_path: Path) -> None:
    plan = room().split("[[meal]]")[0] + room().split('at = "16:00"\n')[1]
    with opened(tmp_path, plan) as site:
        assert "Meals" not in shown(site)
        assert meals.next_meal(site.plan, site.now()) is None
    assert later("2026-05-10T08:00", 60).hm() == "08:01"


def test_feed_that_was_turned_off_days_ago_is_told_until_it_is_turned_on(site: Site) -> None:
    not_given(site, "T07", "09:10", "pause: feed off, not eating")
    clock_shows(site, "2026-05-13T10:00")
    assert "FEED OFF T07: not eating AB since Sun 09:10" in shown(site)
    assert "Next meal 12:00, 11 tanks" in shown(site)
    giving.feed_on(site, "AB", "T07")
    assert "FEED OFF" not in shown(site)
