"""A meal walked tank by tank: as listed, other amounts, not fed, the wrong arm stopped."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from demo_support import opened as opened_demo
from fed_support import FED
from site_support import clock_shows, moment, opened
from tankwalk.ledger.entries import Entry, Meal, Served
from tankwalk.ledger.feeding import MealSeen
from tankwalk.pages import feed_asks, feed_tank
from tankwalk.pages.lines import plain
from tankwalk.practice.meal.feed_walk import FeedWalk
from tankwalk.practice.meal.questions import AskDoubt, AskInstead
from tankwalk.practice.meal.view import EndView
from tankwalk.practice.site import Site
from test_screens import Room, at_the_screen

ASKED = """
[[item]]
code = "left"
label = "Left over"
kind = "choice"
choices = ["none", "some", "much"]
watch_on = ["much"]
[[item]]
code = "went"
label = "Feeding response"
kind = "choice"
choices = ["eager", "fair", "poor", "none"]
watch_on = ["poor"]
act_on = ["none"]
"""

PLAN = FED.replace(
    '[[meal]]\nat = "12:00"', '[[meal]]\nat = "12:00"\nbefore = ["left"]\nafter = ["went"]'
).replace("[[checklist]]", f"{ASKED}\n[[checklist]]", 1)
"""At the noon meal left over and response are asked; T01 and T03 get both feeds."""

NOON = "2026-05-10T12:04"


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, PLAN) as found:
        clock_shows(found, NOON)
        yield found


def at_noon(site: Site, who: str = "AB") -> FeedWalk:
    return FeedWalk(site, moment("2026-05-10T12:00"), who)


def kept(site: Site) -> list[MealSeen]:
    return site.reader.feeding.meals(moment("2026-05-10T00:00").utc)


def answer(walk: FeedWalk, *keys: str) -> FeedWalk:
    for key in keys:
        walk.answer(key)
    return walk


def asked(walk: FeedWalk) -> str:
    return "" if walk.question is None else feed_asks.words(walk.question)


def test_a_tank_is_asked_what_is_left_then_fed_then_how_they_went_for_it(site: Site) -> None:
    walk = answer(at_noon(site), "+", "12", "0.5", "1")
    assert [(one.place, one.feed, one.amount) for one in kept(site)] == [
        ("T01", "Art", 12.0), ("T01", "D1", 0.5),
    ]  # fmt: skip
    assert {one.meal_at for one in kept(site)} == {moment("2026-05-10T12:00").utc}
    assert walk.stop.tank.code == "T02"
    newest = site.reader.readings.newest_of_all()
    assert [newest["T01", code].typed for code in ("left", "went")] == ["none", "eager"]


def test_a_wide_page_says_what_every_jug_should_still_hold(tmp_path: Path) -> None:
    def jugs(walk: FeedWalk) -> dict[str, tuple[str, str]]:
        drawn = feed_tank.draw(walk.view(), "", 120, 40)
        below = plain(drawn).split("Still to give")[1].split("\n")[1:3]
        return {row[80:101].strip(): (row[101:112].strip(), row[112:].strip()) for row in below}

    with closing(opened_demo(tmp_path)) as site:
        clock_shows(site, "2026-05-10T07:52")
        walk = FeedWalk(site, moment("2026-05-10T08:20"), "PB")
        cups = [one for stop in walk.stops for one in stop.portions if not one.live]
        listed = [one.listed or 0.0 for one in cups]
        jug = sum(one.ml or 0.0 for stop in walk.stops for one in stop.portions)
        assert jugs(walk) == {
            "dry feed D1": (f"{sum(listed):.2f} g", "-"),
            "Artemia nauplii": (f"{jug:,.0f} mL", "-"),
        }
        while walk.stop.tank.code == "T01":
            walk.answer("+")
        assert jugs(walk)["dry feed D1"] == (
            f"{sum(listed[1:]):.2f} g", f"{listed[0]:.2f} g",
        )  # fmt: skip


def test_a_feed_the_plan_does_not_give_is_stopped_in_words_and_plus_is_the_safe_way(
    site: Site,
) -> None:
    walk = at_noon(site)
    walk.move("right")
    answer(walk, "+", "/", "5", "1", "0.4")
    assert isinstance(walk.question, AskDoubt)
    assert asked(walk) == "T02 M12: dry feed D1 starts at 12 dph, today 9. Continue?"
    answer(walk, "+")
    assert kept(site) == []
    # What did not go in is off the list again, and the listed feed is asked.
    assert [one.feed for one in walk.stop.portions] == ["Art"]
    assert walk.line == walk.stop.portions[0]
    answer(walk, "/", "5", "1", "0.4", "1")
    [one] = kept(site)
    assert (one.place, one.feed, one.amount, one.planned) == ("T02", "D1", 0.4, 0.0)


def test_what_was_given_is_corrected_with_a_reason_and_both_stay(site: Site) -> None:
    walk = answer(at_noon(site), "+", "12", "0.5")
    answer(walk, "*")
    assert walk.line is not None
    answer(walk, "0.6")
    assert isinstance(walk.question, AskInstead)
    answer(walk, "+")
    assert [one.amount for one in kept(site) if one.feed == "D1"] == [0.5]
    answer(walk, "0.6", "1")
    assert [one.amount for one in kept(site) if one.feed == "D1"] == [0.6]
    amended = site.ledger.db.execute("SELECT reason FROM entry WHERE amends IS NOT NULL").fetchall()
    assert amended == [("mis-keyed",)]


def test_a_person_who_comes_back_stands_at_the_same_tank(site: Site) -> None:
    walk = answer(at_noon(site), "+", "12", "0.5", "1", "+")
    again = at_noon(site, "CD")
    assert (again.stop.tank.code, again.line) == (walk.stop.tank.code, walk.line)


def test_a_person_who_skipped_a_tank_comes_back_to_where_they_were_and_then_to_it(
    site: Site,
) -> None:
    walk = at_noon(site)
    walk.move("right")
    answer(walk, "+", "12", "1")
    again = at_noon(site)
    assert again.stop.tank.code == walk.stop.tank.code == "T03"
    answer(again, "+", "12", "0.5", "1", "+", "12", "1")
    assert again.stop.tank.code == "T01", "what was passed over is asked in the end"


def test_undo_takes_the_newest_back_and_asks_it_again(site: Site) -> None:
    walk = answer(at_noon(site), "+", "12", "0.5", "1")
    assert walk.undo().sentence.startswith("Undone: T01 Feeding response: eager")
    assert walk.undo().sentence == "Undone: T01 dry feed D1 0.50 g."
    assert [one.feed for one in kept(site)] == ["Art"]


def test_a_tank_that_is_not_fed_says_why_and_is_asked_no_more(site: Site) -> None:
    walk = answer(at_noon(site), "+", "/", "/", "1")
    assert [(one.feed, one.event) for one in kept(site)] == [
        ("Art", "missed: no time"), ("D1", "missed: no time"),
    ]  # fmt: skip
    assert walk.stop.tank.code == "T02"


def test_where_the_plan_has_no_other_feed_a_note_is_the_way(site: Site) -> None:
    walk = answer(at_noon(site), "+", "/", "5")
    assert walk.question is None
    assert walk.said.sentence.startswith("The plan has no other feed")


def test_the_same_feed_a_moment_later_is_asked_about(site: Site) -> None:
    late, morning = moment("2026-05-10T11:50"), moment("2026-05-10T08:00")
    site.record(Entry("meal", "CD", late, late, "T02"), Meal("Art", 20.0, "g"), Served(morning.utc))
    walk = at_noon(site)
    walk.move("right")
    answer(walk, "+", "20")
    assert asked(walk) == "T02 got Art nauplii at 11:50 by CD, 14 min ago. Give it again?"
    answer(walk, "+")
    assert len(kept(site)) == 1


def test_a_whole_meal_ends_and_says_so(site: Site) -> None:
    walk = at_noon(site)
    for _ in range(4):
        both = len(walk.stop.portions) == 2
        answer(walk, "+", "12", *(["0.5"] if both else []), "1")
    view = walk.view()
    assert isinstance(view.here, EndView)
    assert (view.fed, view.of) == (4, 4)


def test_from_the_board_by_two_and_enter_to_the_first_tank(tmp_path: Path) -> None:
    async def act(room: Room) -> None:
        await room.press("2")
        assert room.text.startswith(" FEED  Meal 08:20, in 1 h 30 min: 12 of 12 tanks")
        await room.press("enter")
        assert "Meal 08:20, in 1 h 30 min. Give it now?" in room.text
        await room.press("1", "5")
        assert " FEED  Meal 08:20, PB " in room.text
        await room.press("escape")
        assert "12 of 12 tanks" in room.text
        await room.press("escape")
        assert room.page.scope == "board"

    with closing(opened_demo(tmp_path)) as demo:
        at_the_screen(demo, act)
