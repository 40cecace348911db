"""How fish go for their feed: what fell in one tank, and what is poor in most tanks of a batch.

How far is far, and how many are most, is common practice without a source.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

import chance_meals
from eating_support import LISTED, TWELVE, meal, room, settled, standing, wrong
from site_support import clock_shows, moment, opened, seen_before
from tankwalk.ledger.entries import Entry, JudgedAs, Reading
from tankwalk.plan.advice import advice
from tankwalk.plan.load import read_plan
from tankwalk.practice.incidents.incident import incident, incidents
from tankwalk.practice.judging import eating
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site

TODAY = "2026-05-10T08:00"
NEXT = "2026-05-10T12:00"


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """No word of the list is flagged by itself."""
    with opened(tmp_path, room()) as found:
        settled(found)
        yield found


@pytest.fixture
def listed(tmp_path: Path) -> Iterator[Site]:
    """The plan flags "poor", and acts on "none"."""
    with opened(tmp_path, room(LISTED)) as found:
        settled(found)
        yield found


def words(of: str, *odd: tuple[str, str]) -> list[str]:
    """One word for all tanks but some."""
    return [dict(odd).get(tank, of) for tank in TWELVE]


# ---- one tank


def test_a_response_that_falls_in_one_tank_is_a_flag_though_no_list_has_its_word(
    site: Site,
) -> None:
    found = meal(site, TODAY, words("eager", ("T07", "poor")))
    assert {place for place, one in found.items() if one.flag} == {"T07"}
    assert found["T07"].flag is Flag.WATCH
    assert found["T07"].rule is Rule.RESPONSE
    assert found["T07"].sentence == (
        "Feeding response poor: usual here is eager; 6 other tanks did not fall"
    )
    assert found["T07"].first == "Measure oxygen, look at guts."
    assert [place for place, _ in wrong(site)] == ["T07"]


def test_one_word_below_the_usual_is_no_fall_and_two_are(tmp_path: Path) -> None:
    with opened(tmp_path, room()) as site:
        settled(site, words("eager", ("T02", "fair")))
        found = meal(site, TODAY, words("eager", ("T01", "fair"), ("T02", "poor")))
        assert not any(one.flag for one in found.values())
        again = meal(site, NEXT, words("eager", ("T01", "poor"), ("T02", "none")))
        assert [place for place, one in again.items() if one.flag] == ["T01", "T02"]


def test_two_meals_are_no_usual_yet(tmp_path: Path) -> None:
    with opened(tmp_path, room()) as site:
        meal(site, "2026-05-09T12:00")
        meal(site, "2026-05-09T16:00")
        assert not meal(site, TODAY, words("eager", ("T05", "none")))["T05"].flag
        meal(site, NEXT)
        assert meal(site, "2026-05-10T16:00", words("eager", ("T05", "none")))["T05"].flag


def test_a_tank_that_stays_poor_stays_flagged_until_it_eats_again(site: Site) -> None:
    for hour in ("08:00", "10:00", "12:00", "14:00", "16:00", "18:00"):
        assert meal(site, f"2026-05-10T{hour}", words("eager", ("T07", "poor")))["T07"].flag
    [one] = standing(site)
    assert one.raised.short() == "Sun 10 May 08:06"
    assert not meal(site, "2026-05-11T08:00")["T07"].flag
    assert wrong(site) == []


def test_a_fall_is_looked_at_again_at_the_next_meal(site: Site) -> None:
    meal(site, TODAY, words("eager", ("T07", "poor")))
    clock_shows(site, "2026-05-10T09:00")
    newest = site.reader.readings.newest_of_all()
    [one] = incidents(site, wrong_now(site, newest, site.now()), newest, site.now())
    assert one.look is not None
    assert one.look.short() == "Sun 10 May 12:00"


def test_a_fall_at_a_meal_given_early_is_looked_at_at_the_meal_after_it(site: Site) -> None:
    meal(site, "2026-05-10T11:45", words("eager", ("T07", "poor")))
    clock_shows(site, "2026-05-10T12:30")
    newest = site.reader.readings.newest_of_all()
    [one] = incidents(site, wrong_now(site, newest, site.now()), newest, site.now())
    assert one.look is not None
    assert one.look.short() == "Sun 10 May 16:00"


# ---- a batch


def test_what_most_tanks_of_a_batch_eat_poorly_is_one_flag_that_names_the_batch(
    listed: Site,
) -> None:
    poor = [("T01", "poor"), *((tank, "poor") for tank in TWELVE[3:9]), ("T11", "none")]
    found = meal(listed, TODAY, words("fair", *poor))
    assert found["T06"].rule is Rule.BATCH
    assert found["T06"].sentence == (
        "Feeding response poor: 4 of 6 tanks fed from A0503 are poor or none"
    )
    [one] = standing(listed)
    assert (one.place, one.sentence) == ("A0503", "Feeding response poor or none, 8 of 12 tanks")
    assert one.flag is Flag.ACT
    assert one.key == ("batch", "A0503", "response")
    assert len(one.tanks) == 8


@pytest.mark.parametrize(("poor", "one_flag"), [(7, False), (8, True)])
def test_most_are_more_than_sixty_in_a_hundred(listed: Site, poor: int, one_flag: bool) -> None:
    """7 of 12 are 58 %, 8 are 67 %; the good ones eat first, so that no tank tips it early."""
    meal(listed, TODAY, ["eager"] * (12 - poor) + ["poor"] * poor)
    assert len(standing(listed)) == (1 if one_flag else poor)


def test_two_tanks_are_no_batch(tmp_path: Path) -> None:
    with opened(tmp_path, room(LISTED, TWELVE[:3])) as site:
        settled(site)
        meal(site, TODAY, ["poor", "poor", "eager"])
        assert [place for place, _ in wrong(site)] == ["T01", "T02"]
        meal(site, NEXT, ["poor", "poor", "poor"])
        assert [place for place, _ in wrong(site)] == ["A0503"]


def test_the_flag_of_a_batch_ends_when_the_next_meals_are_right(listed: Site) -> None:
    meal(listed, TODAY, "poor")
    assert wrong(listed) == [("A0503", "Feeding response poor or none, 12 of 12 tanks")]
    meal(listed, NEXT, "eager", "A0504", TWELVE[:10])
    assert wrong(listed) == [
        ("A0503", "Feeding response poor or none, 12 of 12 tanks, not right yet in 2")
    ]
    meal(listed, "2026-05-10T12:10", "fair", "A0504", TWELVE[10:])
    assert wrong(listed) == []


def test_a_tank_that_stays_poor_on_the_next_batch_is_told_by_itself(listed: Site) -> None:
    meal(listed, TODAY, "poor")
    meal(listed, NEXT, words("eager", ("T04", "poor")), "A0504")
    assert [place for place, _ in wrong(listed)] == ["T04"]


def test_a_second_poor_meal_of_a_batch_is_the_same_flag(listed: Site) -> None:
    meal(listed, TODAY, "poor")
    meal(listed, NEXT, "poor")
    [one] = standing(listed)
    assert (one.place, one.raised.short()) == ("A0503", "Sun 10 May 08:00")
    meal(listed, "2026-05-10T16:00", "poor", tanks=TWELVE[:2])
    assert [one.place for one in standing(listed)] == ["A0503"]


def test_with_no_word_flagged_a_batch_is_found_by_the_fall_of_its_tanks(site: Site) -> None:
    found = meal(site, TODAY, "poor")
    assert [one.rule for one in found.values()][:4] == [
        Rule.RESPONSE, Rule.RESPONSE, Rule.BATCH, Rule.BATCH,
    ]  # fmt: skip
    assert wrong(site) == [("A0503", "Feeding response poor or none, 12 of 12 tanks")]


def test_only_the_tanks_fed_from_the_batch_are_counted_to_it(listed: Site) -> None:
    meal(listed, TODAY, "eager", None, TWELVE[:8])
    meal(listed, "2026-05-10T08:08", "poor", "A0503", TWELVE[8:])
    assert wrong(listed) == [("A0503", "Feeding response poor or none, 4 of 4 tanks")]


def test_where_tanks_fed_without_it_eat_as_poorly_it_is_the_water_and_not_the_batch(
    listed: Site,
) -> None:
    meal(listed, TODAY, "poor", None, TWELVE[:8])
    meal(listed, "2026-05-10T08:08", "poor", "A0503", TWELVE[8:])
    assert wrong(listed) == [("L1", "Feeding response poor, 12 of 12 tanks")]


def test_dry_feed_that_most_tanks_of_a_loop_leave_is_one_flag_of_the_loop(site: Site) -> None:
    found = meal(site, TODAY, "none", None)
    assert found["T05"].rule is Rule.LOOP_DOWN
    assert found["T05"].sentence == "Feeding response none: 5 of 5 tanks of L1 are poor or none"
    assert wrong(site) == [("L1", "Feeding response none, 12 of 12 tanks")]


def test_two_loops_fed_from_one_batch_are_told_of_the_batch(tmp_path: Path) -> None:
    with opened(tmp_path, room(LISTED, TWELVE, TWELVE[6:])) as site:
        settled(site)
        meal(site, TODAY, "poor")
        assert [place for place, _ in wrong(site)] == ["A0503"]


def test_a_response_long_after_the_feed_is_of_no_batch(listed: Site) -> None:
    """Two hours to the minute are still of it."""
    for seconds, named in ((7200, True), (7260, False)):
        pourings = eating.Pourings(listed.reader.feeding.poured(0))
        last = max(pourings.fed[meal]["T01"] for meal in pourings.fed)
        assert bool(pourings.before("T01", last + seconds)) is named


def test_prey_that_most_tanks_of_a_loop_have_eaten_up_is_one_flag_until_two_are_left(
    tmp_path: Path,
) -> None:
    prey = """
[[item]]
code = "prey"
label = "Prey left"
kind = "choice"
choices = ["some left", "none left"]
watch_on = ["none left"]
"""
    plan = room(LISTED).replace('at = "08:00"', 'at = "08:00"\nbefore = ["prey"]') + prey
    with opened(tmp_path, plan, "2026-05-10T08:00") as site:
        for tank in TWELVE:
            seen_before(site, tank, "prey", 0, "2026-05-09T08:00")
        for tank in TWELVE[:8]:
            flagged(site, tank, "2026-05-10T07:50")
        assert wrong(site) == [("L1", "Prey left none left, 8 of 12 tanks")]
        for tank in TWELVE[:6]:
            seen_before(site, tank, "prey", 0, "2026-05-10T07:55")
        assert [place for place, _ in wrong(site)] == ["T07", "T08"]


def flagged(site: Site, tank: str, when: str) -> None:
    at = moment(when)
    why = JudgedAs(Rule.SETTING, "Prey left: none left")
    entry = Entry("reading", "AB", at, at, tank, "prey", "")
    site.record(entry, Reading(1.0, "none left", flag=int(Flag.WATCH)), why)


# ---- what people do about it


def test_a_batch_s_flag_has_its_page_and_is_closed_for_all_its_tanks(listed: Site) -> None:
    meal(listed, TODAY, "poor")
    [one] = standing(listed)
    found = incident(listed, one.key)
    assert found is not None
    assert found.place == "A0503"
    assert [step.words for step in found.steps] == ["Measure oxygen", "look at guts"]
    flags.close(listed, one, "AB", "a new batch goes in")
    assert wrong(listed) == []
    meal(listed, NEXT, "poor")
    assert [place for place, _ in wrong(listed)] == ["A0503"]


def test_words_are_poor_from_the_first_that_the_plan_flags_else_from_the_middle() -> None:
    def bar(flagged: str, choices: str = '["eager", "fair", "poor", "none"]') -> int:
        text = room(flagged).replace('["eager", "fair", "poor", "none"]', choices)
        lines = [line for line in text.split("\n") if not line.startswith("when.")]
        return eating.poor_from(read_plan("\n".join(lines)).item("response"))

    assert bar("") == 2
    assert bar('watch_on = ["fair"]') == 1
    assert bar('act_on = ["none"]') == 3
    assert bar("", '["eat", "do not"]') == 1
    assert bar("", '["eager", "slow", "none"]') == 2


def test_in_six_seasons_by_chance_the_sick_tank_and_the_bad_batch_are_told_and_no_good_batch() -> (
    None
):
    """Bounds set before looking: two quiet words in a hundred tanks and meals that are poor."""
    found = chance_meals.seasons(6)
    days = len(found) * chance_meals.DAYS
    assert sum(one.alone for one in found) / days <= 4
    assert sum(one.batches + one.loops for one in found) <= 1
    assert sum(one.sick_found for one in found) >= 5
    assert sum(one.bad_found and one.bad_lines <= 2 for one in found) >= 5


def test_a_plan_with_rations_that_never_asks_how_they_eat_is_advised_to() -> None:
    ration = """
[[ration]]
feed = "Art"
by = "tank"
points = [{dph = 2, amount = 300}, {dph = 40, amount = 300}]
"""
    unasked = (
        room()
        .replace('tank = ["response"]', 'tank = ["temp"]')
        .replace(
            "[[checklist]]",
            '[[item]]\ncode = "temp"\nlabel = "Temperature"\nunit = "degC"\n[[checklist]]',
        )
    )

    def said(plan: str) -> bool:
        return any("how the fish go for it" in str(one) for one in advice(read_plan(plan)))

    assert said(unasked + ration)
    assert not said(unasked)
    assert not said(room() + ration)
    meal_asks = unasked.replace('at = "08:00"', 'at = "08:00"\nafter = ["response"]')
    assert not said(meal_asks + ration)
