"""A week's feed: planned beside given, of one tank and of a treatment, as numbers and a picture."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from demo_support import STATION, until
from demo_support import opened as demo_opened
from fed_support import FED, no_feed
from site_support import clock_shows, moment, opened, seen_before, tankwalk
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, Meal
from tankwalk.pages import feed_week as page
from tankwalk.pages import week_html
from tankwalk.pages.glyphs import in_ascii
from tankwalk.pages.lines import plain
from tankwalk.practice.feeding.week import Day, Week, as_json, week
from tankwalk.practice.site import Site, open_site
from tankwalk_demo.days import moment as demo_moment
from test_screens import Room, at_the_screen

ASKED = """
[[item]]
code = "response"
label = "Feeding response"
kind = "choice"
choices = ["eager", "fair", "poor", "none"]
watch_on = ["poor"]
"""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """T02 and T04 are of M12, T01 and T03 of E8; meals at 08:00, 12:00 and 16:00."""
    with opened(tmp_path, FED + ASKED, "2026-05-08T20:00") as found:
        yield found


def gave(
    site: Site, place: str, when: str, amount: float, planned: float | None, feed: str = "Art"
) -> None:
    at = moment(f"2026-05-{when}")
    meal = Meal(feed, amount, "thousand", planned)
    site.record(Entry("meal", "AB", at, at, place), meal)


def whole_day(site: Site, place: str, day: str, amount: float, planned: float) -> None:
    for hour in ("08:05", "12:05", "16:05"):
        gave(site, place, f"{day}T{hour}", amount, planned)


def drawn(site: Site, whom: str, days: int = 2, width: int = 80) -> str:
    return plain(page.draw(week(site, whom, days), width))


def row(text: str, starts: str) -> str:
    return next(one for one in text.split("\n") if one.startswith(f" {starts}"))


# ---- the numbers, worked by hand


def test_a_day_is_the_sum_of_its_meals_beside_the_sum_of_their_plan(site: Site) -> None:
    whole_day(site, "T02", "08", 40, 50)
    [day] = week(site, "T02", 1).days
    [nauplii] = day.feeds
    assert nauplii is not None
    assert (nauplii.planned, nauplii.given) == (150, 120)
    assert nauplii.short == 3  # 40 of 50 are 80 %
    assert day.age == (7, 7)


@pytest.mark.parametrize(("amount", "short"), [(85, 0), (84.9, 1)])
def test_short_is_more_than_fifteen_in_a_hundred_less(
    site: Site, amount: float, short: int
) -> None:
    """Common practice, no source."""
    gave(site, "T02", "08T08:05", amount, 100)
    [nauplii] = week(site, "T02", 1).days[0].feeds
    assert nauplii is not None
    assert nauplii.short == short


def test_a_meal_that_nobody_gave_counts_as_planned_like_the_others_of_its_day(site: Site) -> None:
    gave(site, "T02", "08T08:05", 50, 50)
    gave(site, "T02", "08T16:05", 60, 60)
    [day] = week(site, "T02", 1).days
    [nauplii] = day.feeds
    assert nauplii is not None
    assert (nauplii.planned, nauplii.given) == (165, 110)  # 50 + 60, and their mean for 12:00
    assert [(one.tank, one.at.hm()) for one in day.missed] == [("T02", "12:00")]


def test_a_tank_that_got_nothing_was_planned_like_the_tanks_beside_it(site: Site) -> None:
    whole_day(site, "T02", "08", 50, 60)
    [nauplii] = week(site, "M12", 1).days[0].feeds
    assert nauplii is not None
    assert (nauplii.planned, nauplii.given) == (180, 75)  # T04: three meals of 60, none given


def test_a_tank_that_waits_for_a_meal_has_nothing_planned_yet(site: Site) -> None:
    gave(site, "T02", "08T08:05", 50, 60)
    clock_shows(site, "2026-05-08T08:20")
    [nauplii] = week(site, "M12", 1).days[0].feeds
    assert nauplii is not None
    assert (nauplii.planned, nauplii.given) == (30, 25)


def test_a_meal_entered_as_missed_says_why_and_a_pause_is_no_missed_meal(site: Site) -> None:
    gave(site, "T02", "08T08:05", 50, 50)
    no_feed(site, "T02", "2026-05-08T12:10", "missed: no time")
    no_feed(site, "L1", "2026-05-08T15:50", "no feed until 17:00, sampling")
    text = drawn(site, "T02", 1)
    assert "Fri 8 May   missed 12:10: no time" in text
    assert "Fri 8 May   no feed until 17:00, sampling" in text
    assert "16:00" not in text


def test_a_meal_is_missed_half_an_hour_after_its_time_and_not_before(site: Site) -> None:
    for clock, many in (("08:30", 0), ("08:31", 1)):
        clock_shows(site, f"2026-05-08T{clock}")
        assert len(week(site, "T02", 1).days[0].missed) == many


def test_a_treatment_is_the_mean_of_its_tanks_with_lowest_and_highest(site: Site) -> None:
    whole_day(site, "T02", "08", 50, 50)
    whole_day(site, "T04", "08", 30, 50)
    whole_day(site, "T01", "08", 999, 999)
    [nauplii] = week(site, "M12", 1).days[0].feeds
    assert nauplii is not None
    assert (nauplii.planned, nauplii.given, nauplii.low, nauplii.high) == (150, 120, 90, 150)
    assert (nauplii.tanks, nauplii.short) == (2, 3)
    text = drawn(site, "M12", 1)
    assert "Mean of 2 tanks: T02 T04; lowest to highest." in text
    assert "150     120 90-150" in row(text, "Fri 8 May")


def test_what_was_planned_is_not_made_up_where_the_record_does_not_say(site: Site) -> None:
    gave(site, "T02", "08T08:05", 50, None)
    found = week(site, "T02", 1)
    assert found.total(0) == (None, 50)
    assert "?" in row(plain(page.draw(found, 80)), "Fri 8 May")


def test_a_feed_that_ended_the_day_before_is_no_part_of_the_week(site: Site) -> None:
    gave(site, "T02", "07T16:05", 0.5, 0.5, "D1")
    assert [one.code for one in week(site, "T02", 1).feeds] == ["Art"]
    assert drawn(site, "T02", 1)


def test_feed_that_the_plan_did_not_give_is_marked(site: Site) -> None:
    whole_day(site, "T02", "08", 50, 50)
    gave(site, "T02", "08T08:06", 0.5, 0.0, "D1")
    text = drawn(site, "T02", 1)
    assert text.count("1 not planned") == 1


def test_all_days_together_are_a_share_of_the_plan(site: Site) -> None:
    whole_day(site, "T02", "07", 50, 50)
    whole_day(site, "T02", "08", 40, 50)
    assert "300     270   90 % of the plan" in row(drawn(site, "T02"), "2 days")


# ---- the picture


def test_bars_begin_at_zero_and_show_what_was_planned_and_not_given(site: Site) -> None:
    whole_day(site, "T02", "07", 50, 50)
    whole_day(site, "T02", "08", 20, 50)
    text = drawn(site, "T02")
    assert row(text, "Thu 7 May").count("\u2588") == 30
    short = row(text, "Fri 8 May")
    assert (short.count("\u2588"), short.count("\u00b7")) == (12, 18)
    assert " ! " in short
    assert "3 short" in short
    lines = [in_ascii(one) for one in page.draw(week(site, "T02", 2), 80)]
    assert plain(lines).isascii()


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_no_row_is_wider_than_the_window(site: Site, width: int) -> None:
    whole_day(site, "T02", "08", 40, 50)
    whole_day(site, "T04", "08", 50, 50)
    for whom in ("T02", "M12"):
        for line in page.draw(week(site, whom), width):
            assert sum(len(span.text) for span in line) == width


def test_responses_stand_a_letter_a_meal(site: Site) -> None:
    whole_day(site, "T02", "08", 50, 50)
    for hour, value in (("08:06", 0), ("12:06", 2), ("16:06", 1)):
        seen_before(site, "T02", "response", value, f"2026-05-08T{hour}")
    text = drawn(site, "T02", 1)
    assert "Feeding response   e eager  f fair  p poor  n none" in text
    assert text.split("Feeding response")[1].split("\n")[1] == " Fri 8 May   epf"


def test_words_that_begin_alike_have_numbers_for_letters(tmp_path: Path) -> None:
    plan = FED + ASKED.replace('["eager", "fair", "poor"', '["eager", "even", "poor"')
    with opened(tmp_path, plan, "2026-05-08T20:00") as site:
        assert page.letters_of(site.plan.item("response")) == ("1", "2", "3", "4")


# ---- as data and on paper


def test_the_same_days_as_data_and_on_paper(site: Site) -> None:
    whole_day(site, "T02", "08", 40, 50)
    found = week(site, "T02", 1)
    [day] = json.loads(json.dumps(as_json(found)))["days"]
    assert day["feeds"]["Art"]["given"] == 120
    paper = week_html.week(found, "7-ABCD-EFGH")
    assert "FEED T02" in paper
    assert 'width="200.0"' in paper  # what was planned is the largest
    assert 'width="160.0"' in paper
    assert "3 short" in paper


def test_only_a_tank_or_treatment_and_one_to_thirty_one_days(site: Site) -> None:
    with pytest.raises(Refusal, match="'T99' is no tank of the plan, nor a treatment"):
        week(site, "T99")
    for days in (0, 32):
        with pytest.raises(Refusal, match="1 to 31 days"):
            week(site, "T02", days)
    assert len(week(site, "T02", 31).days) == 31


def test_the_demo_s_swapped_cups_and_poor_hatch_are_seen(tmp_path: Path) -> None:
    now = demo_moment(15, "21:00")
    copy = shutil.copytree(until(now), tmp_path / "site")
    with closing(open_site(copy, STATION, now.iso())) as site:
        swapped = _day(week(site, "T04", 9), "2026-04-27")
        assert [one.at.hm() for one in swapped.missed] == ["08:00", "10:00"]
        poor = _day(week(site, "L18", 9), "2026-05-04")
        assert poor.feeds[0] is not None
        assert poor.feeds[0].short > 0


def _day(found: Week, day: str) -> Day:
    return next(one for one in found.days if one.day.isoformat() == day)


def test_from_the_list_of_a_meal_one_key_opens_it_and_another_its_treatment(
    tmp_path: Path,
) -> None:
    async def act(here: Room) -> None:
        await here.press("2", "down", "down", "full_stop")
        assert here.text.startswith(" FEED  T03  L18 ")
        await here.press("plus")
        assert here.text.startswith(" FEED  L18 ")
        assert "Mean of 4 tanks: T03 T06 T07 T11" in here.text
        await here.press("right")
        assert here.text.startswith(" FEED  E10 "), "the treatment of the next tank, T04"
        await here.press("plus", "left")
        assert here.text.startswith(" FEED  T03 ")
        await here.press("escape")
        assert here.text.startswith(" FEED  Meal")

    with closing(demo_opened(tmp_path)) as site:
        at_the_screen(site, act)


def test_the_command_prints_it(tmp_path: Path) -> None:
    with opened(tmp_path / "site", FED):
        pass
    site = str(tmp_path / "site")
    done = tankwalk(tmp_path / "home", "--site", site, "feed", "--week", "M12")
    assert done.returncode == 0
    assert done.stdout.startswith(b" FEED  M12")
    done = tankwalk(tmp_path / "home", "--site", site, "feed", "--week", "M9")
    assert done.returncode == 2
