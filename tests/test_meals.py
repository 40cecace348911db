"""Feeding by plan: which meal a feed was, what a tank may get today, and keeping it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fed_support import FED, fed, no_feed, served
from site_support import SMALL, clock_shows, moment, opened
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Poured
from tankwalk.ledger.feeding import MealSeen
from tankwalk.pages import feed_words
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Plan, Tank
from tankwalk.practice.feeding import giving, meals
from tankwalk.practice.feeding.meals import FeedDoubt, FeedFault
from tankwalk.practice.site import SITE, Site

SUNDAY = date(2026, 5, 10)
PLAN = read_plan(FED)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, FED) as found:
        yield found


def unserved(site: Site, place: str, first: str = "2026-05-10", last: str = "") -> list[str]:
    days = date.fromisoformat(first), date.fromisoformat(last or first)
    planned = meals.times(site.plan, *days)
    seen = meals.by_place(site.reader.feeding.meals(0))
    return [m.hm() for m in meals.not_served(site.plan, site.plan.tank(place), planned, seen)]


# ---- when meals are planned, and which of them was given


def test_meals_are_planned_by_the_wall_clock_on_their_weekdays() -> None:
    found = meals.times(PLAN, date(2026, 5, 10), date(2026, 5, 11))
    assert [when.short() for when in found] == [
        "Sun 10 May 08:00", "Sun 10 May 12:00", "Sun 10 May 16:00", "Sun 10 May 16:14",
        "Mon 11 May 08:00", "Mon 11 May 12:00", "Mon 11 May 16:00",
    ]  # fmt: skip


def test_a_meal_on_the_day_of_a_clock_change_keeps_its_wall_clock_time() -> None:
    before, after = (meals.times(PLAN, day, day)[0] for day in (date(2026, 3, 7), date(2026, 3, 8)))
    assert (before.hm(), after.hm(), after.hours_since(before)) == ("08:00", "08:00", 23.0)


def test_feed_given_a_little_early_or_late_is_that_meal(site: Site) -> None:
    assert unserved(site, "T01") == ["08:00", "12:00", "16:00", "16:14"]
    fed(site, "T01", "2026-05-10T07:31")
    fed(site, "T01", "2026-05-10T13:50")
    assert unserved(site, "T01") == ["16:00", "16:14"]
    assert unserved(site, "T02") == ["08:00", "12:00", "16:00", "16:14"]


def test_feed_long_before_a_meal_is_none_of_it(site: Site) -> None:
    fed(site, "T01", "2026-05-10T07:29")
    assert unserved(site, "T01")[0] == "08:00"


def test_a_meal_given_very_late_before_the_next_one_is_the_late_one(site: Site) -> None:
    fed(site, "T01", "2026-05-10T11:40")
    assert unserved(site, "T01") == ["08:00", "16:00", "16:14"]
    fed(site, "T01", "2026-05-10T12:10")
    assert unserved(site, "T01") == ["16:00", "16:14"]


def test_feed_given_twice_after_its_time_does_not_stand_for_the_meal_before(site: Site) -> None:
    fed(site, "T01", "2026-05-10T12:01")
    fed(site, "T01", "2026-05-10T12:40")
    assert unserved(site, "T01") == ["08:00", "16:00", "16:14"]


def test_live_and_dry_feed_at_one_time_are_one_meal(site: Site) -> None:
    fed(site, "T01", "2026-05-10T11:50")
    fed(site, "T01", "2026-05-10T11:51", "D1", 0.2)
    assert unserved(site, "T01") == ["08:00", "16:00", "16:14"]


def test_two_meals_close_together_are_told_apart_however_far_down_the_row_a_tank_is(
    site: Site,
) -> None:
    for first, second in (("16:01", "16:15"), ("16:12", "16:24")):
        place = "T01" if first == "16:01" else "T04"
        fed(site, place, f"2026-05-10T{first}")
        fed(site, place, f"2026-05-10T{second}")
        assert unserved(site, place) == ["08:00", "12:00"]


def test_a_meal_taken_back_was_not_given(site: Site) -> None:
    from tankwalk.ledger.entries import Entry

    n = fed(site, "T01", "2026-05-10T08:00")
    assert "08:00" not in unserved(site, "T01")
    clock_shows(site, "2026-05-10T08:10")
    now = site.now()
    site.record(Entry("void", "AB", now, now, "T01", amends=n, reason="wrong tank"))
    assert "08:00" in unserved(site, "T01")


def test_a_pause_of_a_tank_of_its_loop_or_of_the_site_covers_the_meals_it_says(site: Site) -> None:
    no_feed(site, "T01", "2026-05-10T11:30", "no feed for 40 min before sampling")
    assert unserved(site, "T01") == ["08:00", "16:00", "16:14"]
    assert unserved(site, "T02") == ["08:00", "12:00", "16:00", "16:14"]
    no_feed(site, "L1", "2026-05-10T07:59", "not fed until 13:00, pH")
    assert unserved(site, "T02") == ["16:00", "16:14"]
    no_feed(site, SITE, "2026-05-10T15:00", "feed off, oxygen low")
    assert unserved(site, "T03") == []
    assert unserved(site, "T03", "2026-05-11") == ["08:00", "12:00", "16:00"]


def test_a_pause_entered_just_after_the_time_of_a_meal_covers_that_meal(site: Site) -> None:
    no_feed(site, "T01", "2026-05-10T08:20", "2 h off")
    no_feed(site, "T02", "2026-05-10T09:20", "2 h off")
    assert "08:00" not in unserved(site, "T01")
    assert "08:00" in unserved(site, "T02")


@pytest.mark.parametrize(
    ("words", "hours"),
    [
        ("planned pause, 40 min before sampling", 2 / 3),
        ("1,5 h off", 1.5),
        ("feed off until 13:30", 2.5),
        ("feed off until 10:00, said too late", 13),
        ("feed off until the morning, pH", 13),
        ("until 99:99", 13),
    ],
)
def test_how_long_a_pause_lasts_stands_in_its_words_or_it_lasts_the_day(
    words: str, hours: float
) -> None:
    at = moment("2026-05-10T11:00")
    start, end = meals.covers(PLAN, MealSeen(1, "T01", "Art", 0, "g", None, None, words, at, "AB"))
    assert (start, end) == (at.utc - 3600, at.utc + round(hours * 3600))


@settings(max_examples=200)
@given(st.lists(st.integers(7 * 60, 17 * 60), max_size=8))
def test_no_feed_serves_more_meals_than_it_has_moments(minutes: list[int]) -> None:
    """However it was fed, what is served and not served add up, and one moment is one meal."""
    planned = meals.times(PLAN, SUNDAY, SUNDAY)
    start = moment("2026-05-10T00:00").utc
    seen = [
        MealSeen(n, "T01", "Art", 5.0, "g", None, None, None, Instant(start + 60 * m, -300), "AB")
        for n, m in enumerate(sorted(minutes), 1)
    ]
    missing = meals.not_served(PLAN, PLAN.tank("T01"), planned, meals.by_place(seen))
    assert len(planned) - len(missing) <= len(set(minutes))
    assert missing == sorted(missing)
    assert (missing == planned) == all(m < 7 * 60 + 30 for m in minutes)


# ---- where it was said which meal it was

MEAL = "2026-05-10T"


def test_feed_is_the_meal_it_was_said_to_be_whenever_it_was_given(site: Site) -> None:
    served(site, "T01", f"{MEAL}11:50", f"{MEAL}08:00")
    served(site, "T01", f"{MEAL}12:05", f"{MEAL}12:00")
    served(site, "T02", f"{MEAL}11:50", f"{MEAL}12:00")
    served(site, "T03", f"{MEAL}16:13", f"{MEAL}16:00")
    assert unserved(site, "T01") == ["16:00", "16:14"]
    assert unserved(site, "T02") == ["08:00", "16:00", "16:14"]
    assert unserved(site, "T03") == ["08:00", "12:00", "16:14"]


def test_meals_that_were_named_and_older_ones_that_were_not_stand_side_by_side(site: Site) -> None:
    served(site, "T01", f"{MEAL}08:02", f"{MEAL}08:00")
    fed(site, "T01", f"{MEAL}11:50")
    assert unserved(site, "T01") == ["16:00", "16:14"]
    fed(site, "T02", f"{MEAL}11:50")
    assert unserved(site, "T02") == ["08:00", "16:00", "16:14"], "it was the late one"


def test_a_meal_of_yesterday_given_this_morning_is_none_of_today(site: Site) -> None:
    served(site, "T01", f"{MEAL}07:50", "2026-05-09T16:14")
    assert unserved(site, "T01") == ["08:00", "12:00", "16:00", "16:14"]
    assert unserved(site, "T01", "2026-05-09") == ["08:00", "12:00", "16:00"]


def test_a_meal_whose_time_the_plan_has_changed_since_goes_by_when_it_was_given(
    site: Site,
) -> None:
    served(site, "T01", f"{MEAL}12:05", f"{MEAL}11:30")
    assert unserved(site, "T01") == ["08:00", "16:00", "16:14"]


@pytest.mark.parametrize("event", ["missed: nobody here", "pause: sampling", "feed off, pH"])
def test_what_names_its_meal_covers_that_one_alone(site: Site, event: str) -> None:
    served(site, "T01", f"{MEAL}11:40", f"{MEAL}08:00", 0.0, event=event)
    served(site, "L1", f"{MEAL}15:00", f"{MEAL}16:14", 0.0, event=event)
    assert unserved(site, "T01") == ["12:00", "16:00"]
    assert unserved(site, "T02") == ["08:00", "12:00", "16:00"]


def test_a_missed_meal_that_names_none_covers_nothing_to_come(site: Site) -> None:
    no_feed(site, "T01", f"{MEAL}08:40", "missed: nobody here")
    assert unserved(site, "T01") == ["12:00", "16:00", "16:14"]


def test_feed_on_ends_a_pause_for_its_place_and_what_lies_in_it(site: Site) -> None:
    no_feed(site, "L1", f"{MEAL}07:10", "feed off, oxygen low")
    no_feed(site, "T02", f"{MEAL}07:20", "feed off, not eating")
    no_feed(site, "T01", f"{MEAL}11:00", meals.FEED_ON)
    assert unserved(site, "T01") == ["12:00", "16:00", "16:14"]
    assert unserved(site, "T02") == []
    no_feed(site, "L1", f"{MEAL}15:00", meals.FEED_ON)
    assert unserved(site, "T02") == ["16:00", "16:14"]
    no_feed(site, "T02", f"{MEAL}16:10", "feed off, again")
    assert unserved(site, "T02") == []


def test_a_missed_meal_stays_covered_after_feed_on(site: Site) -> None:
    served(site, "T01", f"{MEAL}08:30", f"{MEAL}08:00", 0.0, event="missed: no nauplii")
    no_feed(site, "T01", f"{MEAL}09:00", meals.FEED_ON)
    assert unserved(site, "T01") == ["12:00", "16:00", "16:14"]


def test_the_pause_that_holds_now_is_told_with_its_words(site: Site) -> None:
    def held(place: str, when: str) -> str | None:
        seen = meals.by_place(site.reader.feeding.meals(0))
        found = meals.paused(site.plan, site.plan.tank(place), seen, moment(MEAL + when))
        return None if found is None else found.event

    no_feed(site, "L1", f"{MEAL}07:10", "40 min before sampling")
    served(site, "T01", f"{MEAL}07:12", f"{MEAL}08:00", 0.0, event="pause: sampling")
    no_feed(site, "T01", f"{MEAL}07:15", "feed off, oxygen low")
    assert held("T01", "07:09") is None
    assert held("T01", "07:14") == "40 min before sampling"
    assert held("T01", "07:20") == "feed off, oxygen low"
    assert held("T02", "07:49") == "40 min before sampling"
    assert held("T02", "07:50") is None
    no_feed(site, "T01", f"{MEAL}09:00", meals.FEED_ON)
    assert held("T01", "09:00") is None


# ---- what a tank may get


def test_what_a_tank_is_owed_follows_treatment_and_age() -> None:
    ages = {}
    for day in (5, 9, 13, 16, 20):
        on = date(2026, 5, day)
        ages[day - 1] = [
            " ".join(f.code for f in meals.owed(PLAN, PLAN.tank(t), on)) for t in ("T01", "T02")
        ]
    assert ages == {
        4: ["Art", "Art"], 8: ["Art D1", "Art"], 12: ["Art D1", "Art D1"], 15: ["D1", "Art D1"],
        19: ["D1", "D1"],
    }  # fmt: skip


def question(plan: Plan, tank: Tank, feed: str, on: date) -> str:
    """What is asked before the tank gets the feed; "" where nothing is."""
    doubt = meals.doubt(plan, tank, feed, on)
    return "" if doubt is None else feed_words.question(doubt)


@pytest.mark.parametrize(
    ("tank", "feed", "day", "asks"),
    [
        ("T01", "D1", 10, ""),
        ("T01", "d1", 10, ""),
        ("T02", "Art", 10, ""),
        ("T02", "D1", 10, "T02 M12: dry feed D1 starts at 12 dph, today 9. Continue?"),
        ("T02", "D1", 13, ""),
        ("T01", "Art", 16, "T01 E8: Art nauplii ended after 14 dph, today 15. Continue?"),
        ("T02", "D7", 10, "T02 M12: D7 is no feed of the plan (Art, D1). Continue?"),
    ],
)
def test_a_feed_that_is_not_planned_for_this_tank_today_is_asked_about(
    tank: str, feed: str, day: int, asks: str
) -> None:
    assert question(PLAN, PLAN.tank(tank), feed, date(2026, 5, day)) == asks


def test_a_feed_of_the_other_treatment_and_fish_without_an_age_are_asked_about() -> None:
    other = read_plan(FED + '\n[[feed]]\ncode = "D2"\ntreatment = "E8"\ndph = [8, 60]\n')
    asks = question(other, other.tank("T02"), "D2", SUNDAY)
    assert asks == "T02 M12: D2 is not planned for M12. Continue?"
    eggs = PLAN.tank("T01")._replace(lot="EGGS")
    assert "no fish of a known age" in question(PLAN, eggs, "D1", SUNDAY)


def test_a_plan_without_feeds_asks_nothing() -> None:
    plan = read_plan(SMALL)
    assert meals.doubt(plan, plan.tank("T01"), "anything", SUNDAY) is None
    assert meals.is_fed(plan, plan.tank("T01"), SUNDAY)
    assert not meals.is_fed(plan, plan.tank("T01")._replace(lot=None), SUNDAY)


# ---- keeping a meal


def test_a_meal_is_kept_as_it_was_given(site: Site) -> None:
    given_ = giving.give(site, "ab", "T01", "d1", 0.21, "g", planned=0.25, left_over=1)
    [seen] = site.reader.feeding.meals(0)
    assert seen == MealSeen(given_.n or 0, "T01", "D1", 0.21, "g", 0.25, 1, None, site.now(), "AB")


def test_a_wrong_cup_is_asked_about_and_kept_only_when_sure(site: Site) -> None:
    asked = giving.give(site, "AB", "T02", "D1", 0.2, "g")
    early = FeedDoubt("T02", "M12", FeedFault.TOO_EARLY, "dry feed D1", 9, 12)
    assert asked == giving.MealGiven(None, early)
    assert feed_words.question(early) == (
        "T02 M12: dry feed D1 starts at 12 dph, today 9. Continue?"
    )
    assert site.reader.feeding.meals(0) == []
    assert giving.give(site, "AB", "T02", "D1", 0.2, "g", sure=True).n is not None
    assert [m.place for m in site.reader.feeding.meals(0)] == ["T02"]


def test_the_same_feed_twice_in_a_few_minutes_is_asked_about(site: Site) -> None:
    giving.give(site, "AB", "T01", "Art", 30, "thousand")
    clock_shows(site, "2026-05-10T07:06")
    again = giving.give(site, "CD", "T01", "Art", 30, "thousand")
    assert again.doubt is not None
    words = feed_words.question(again.doubt)
    assert words == "T01 got Art at 07:00 by AB, 6 min ago. Give it again?"
    assert giving.give(site, "CD", "T01", "D1", 0.2, "g").doubt is None
    clock_shows(site, "2026-05-10T07:31")
    assert giving.give(site, "CD", "T01", "Art", 30, "thousand").n is not None


@pytest.mark.parametrize(
    ("place", "feed", "amount", "unit", "left", "says"),
    [
        ("T09", "Art", 1.0, "g", None, "'T09' is no tank"),
        ("L1", "Art", 1.0, "g", None, "'L1' is no tank"),
        ("T01", " ", 1.0, "g", None, "feed and its unit"),
        ("T01", "Art", 1.0, "\x1b", None, "feed and its unit"),
        ("T01", "Art", 0.0, "g", None, "enter a pause"),
        ("T01", "Art", -1.0, "g", None, "enter a pause"),
        ("T01", "Art", float("nan"), "g", None, "enter a pause"),
        ("T01", "Art", float("inf"), "g", None, "enter a pause"),
        ("T01", "Art", 1.0, "g", 4, "from 0 to 3"),
    ],
)
def test_what_cannot_be_a_meal_is_refused_and_nothing_is_kept(
    site: Site, place: str, feed: str, amount: float, unit: str, left: int | None, says: str
) -> None:
    with pytest.raises(Refusal, match="kept") as refused:
        giving.give(site, "AB", place, feed, amount, unit, left_over=left, sure=True)
    assert says in str(refused.value)
    assert site.reader.feeding.meals(0) == []


def test_somebody_the_plan_does_not_name_feeds_nothing(site: Site) -> None:
    with pytest.raises(Refusal):
        giving.give(site, "ZZ", "T01", "Art", 1.0, "g")


def test_a_pause_is_kept_with_its_reason_for_a_tank_a_loop_or_the_site(site: Site) -> None:
    for place in ("T01", "L1", SITE):
        giving.pause(site, "AB", place, "feed off, oxygen low")
    assert [(m.place, m.event) for m in site.reader.feeding.meals(0)] == [
        (place, "feed off, oxygen low") for place in ("T01", "L1", SITE)
    ]
    assert {(m.feed, m.amount) for m in site.reader.feeding.meals(0)} == {("Art", 0.0)}
    for place, words in (("T09", "feed off"), ("T01", " ")):
        with pytest.raises(Refusal, match="no pause was kept"):
            giving.pause(site, "AB", place, words)


def test_a_meal_is_kept_with_its_time_and_the_batches_it_came_from(site: Site) -> None:
    meal = moment(f"{MEAL}08:00")
    poured = [Poured("C1", 90.5, 337.0), Poured("C0", 20.0, 180.0)]
    giving.give(site, "AB", "T01", "Art", 34.1, "thousand", meal_at=meal, poured=poured)
    [seen] = site.reader.feeding.meals(0)
    assert seen.meal_at == meal.utc
    assert [(p.batch, p.ml, p.per_ml) for p in site.reader.feeding.poured(0)] == [
        ("C0", 20.0, 180.0), ("C1", 90.5, 337.0),
    ]  # fmt: skip


def test_a_missed_meal_is_kept_with_what_was_planned_and_feed_on_with_nothing(site: Site) -> None:
    meal = moment(f"{MEAL}08:00")
    why = f"{meals.MISSED}no nauplii"
    giving.pause(site, "AB", "T01", why, meal_at=meal, feed="Art", unit="thousand", planned=40.0)
    giving.feed_on(site, "AB", "L1")
    one, two = site.reader.feeding.meals(0)
    assert (one.amount, one.unit, one.planned, one.meal_at) == (0.0, "thousand", 40.0, meal.utc)
    assert (meals.missed_why(one), meals.missed_why(two)) == ("no nauplii", None)
    assert (two.place, two.event, two.meal_at) == ("L1", "feed on", None)
    with pytest.raises(Refusal, match="say why"):
        giving.pause(site, "AB", "T01", meals.MISSED, meal_at=meal)


def test_a_room_with_one_feed_or_none_can_be_paused_too(tmp_path: Path) -> None:
    one = '\n[[feed]]\ncode = "D1"\ndph = [4, 60]\n'
    for name, plan, feed in (("one", SMALL + one, "D1"), ("none", SMALL, "feed")):
        with opened(tmp_path / name, plan) as site:
            giving.pause(site, "AB", "T01", "sampling")
            assert [meal.feed for meal in site.reader.feeding.meals(0)] == [feed]
