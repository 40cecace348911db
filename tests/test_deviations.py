"""Deviations from a trial's plan: drafted from the record, kept for the study owner, once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fed_support import FED, all_fed, fed, no_feed, served, tanks
from page_support import due_said
from site_support import SMALL, clock_shows, go_to, moment, opened, sign, walking
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry
from tankwalk.ledger.follow_up_kinds import FollowUpWhat, MayClose
from tankwalk.pages import open_list as page
from tankwalk.pages.feed_words import deviation
from tankwalk.practice import open_list
from tankwalk.practice.board import board
from tankwalk.practice.dialog import Asking, Hand
from tankwalk.practice.doing import deviations
from tankwalk.practice.doing.deviations import DeviationKind, DraftDeviation, WrongFeed
from tankwalk.practice.feeding.meals import FeedDoubt, FeedFault
from tankwalk.practice.open_list import OpenSection
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import DueKind

OWNED = FED.replace('initials = "CD"', 'initials = "CD"\nduty = "study owner"')


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, OWNED) as found:
        yield found


def drafted(site: Site, now: str, since: str = "2026-05-10T00:00") -> tuple[DraftDeviation, ...]:
    clock_shows(site, now)
    return deviations.drafts(site, site.now(), moment(since))


def abouts(site: Site, now: str, since: str = "2026-05-10T00:00") -> list[str]:
    return [one.about for one in drafted(site, now, since)]


def test_feed_that_was_not_for_this_treatment_at_this_age_is_drafted(site: Site) -> None:
    all_fed(site, "2026-05-10T08:00")
    fed(site, "T02", "2026-05-10T08:06", "D1", 0.2)
    fed(site, "T01", "2026-05-10T08:07", "D1", 0.2)
    assert drafted(site, "2026-05-10T09:00") == (
        DraftDeviation(
            DeviationKind.WRONG_FEED,
            "wrong-feed T02 D1 2026-05-10T08:06",
            "T02",
            "M12",
            moment("2026-05-10T08:06"),
            WrongFeed(
                FeedDoubt("T02", "M12", FeedFault.TOO_EARLY, "dry feed D1", 9, 12), 0.2, "g", "AB"
            ),
        ),
    )
    [one] = drafted(site, "2026-05-10T09:00")
    assert one.rule is MayClose.DEVIATION
    assert deviation(one) == (
        "T02 M12: dry feed D1 starts at 12 dph, that day 9; got 0.2 g Sun 10 May 08:06 (AB)"
    )


def test_a_meal_is_missed_where_half_of_the_sisters_had_it_and_not_where_fewer_had(
    tmp_path: Path,
) -> None:
    with opened(tmp_path / "five", tanks(OWNED, "T05")) as five:
        fed(five, "T01", "2026-05-10T08:05")
        assert abouts(five, "2026-05-10T10:30") == []
        fed(five, "T02", "2026-05-10T08:05")
        assert abouts(five, "2026-05-10T10:30") == [
            f"missed-feed {tank} 2026-05-10T08:00" for tank in ("T03", "T04", "T05")
        ]


def test_a_planned_meal_is_missed_after_two_hours_where_the_sisters_had_it(site: Site) -> None:
    all_fed(site, "2026-05-10T08:05", but="T03")
    assert abouts(site, "2026-05-10T10:00") == []
    [one] = drafted(site, "2026-05-10T10:01")
    assert (one.about, one.rule) == (
        "missed-feed T03 2026-05-10T08:00", MayClose.DEVIATION,
    )  # fmt: skip
    assert deviation(one) == (
        "T03 E8: no feed at Sun 10 May 08:00 (Art nauplii, dry feed D1 planned); "
        "3 other tanks were fed"
    )
    fed(site, "T03", "2026-05-10T10:30")
    assert abouts(site, "2026-05-10T10:40") == [], "it was late, and it was given"


def test_a_meal_that_nobody_in_the_room_got_or_a_pause_covers_is_no_deviation(site: Site) -> None:
    assert abouts(site, "2026-05-10T18:00") == []
    no_feed(site, "T03", "2026-05-10T07:50", "no feed until 13:00, sampling")
    all_fed(site, "2026-05-10T08:05", but="T03")
    assert abouts(site, "2026-05-10T11:00") == []


def test_half_of_the_others_have_to_have_been_fed(site: Site) -> None:
    fed(site, "T01", "2026-05-10T08:05")
    assert abouts(site, "2026-05-10T11:00") == []
    fed(site, "T02", "2026-05-10T08:06")
    assert abouts(site, "2026-05-10T11:00") == [
        "missed-feed T03 2026-05-10T08:00", "missed-feed T04 2026-05-10T08:00",
    ]  # fmt: skip


MEAL = "2026-05-10T"


def test_a_meal_that_was_entered_as_missed_is_one_draft_for_all_that_missed_it(site: Site) -> None:
    for place in ("T03", "T01"):
        served(site, place, f"{MEAL}08:40", f"{MEAL}08:00", 0.0, event="missed: no nauplii")
    served(site, "T02", f"{MEAL}08:41", f"{MEAL}08:00", 0.0, event="missed: pump off")
    served(site, "T04", f"{MEAL}08:41", f"{MEAL}08:00", 0.0, event="pause: sampling")
    together, alone = drafted(site, f"{MEAL}09:00")
    assert (together.about, together.place, together.tanks, together.at) == (
        "missed-feed 2026-05-10T08:00 no nauplii", "L1", ("T01", "T03"), moment(f"{MEAL}08:00"),
    )  # fmt: skip
    assert deviation(together) == (
        "T01, T03: meal Sun 10 May 08:00 not given (Art nauplii): no nauplii (AB)"
    )
    assert (alone.place, alone.treatment, alone.tanks) == ("T02", "M12", ())
    assert deviation(alone).startswith("T02 M12: meal Sun 10 May 08:00 not given")
    assert len(abouts(site, f"{MEAL}12:00")) == 2, "what was entered is not drafted again as unseen"


def test_a_meal_missed_by_a_loop_names_the_tanks_of_it_that_are_fed(site: Site) -> None:
    served(site, "L1", f"{MEAL}08:40", f"{MEAL}08:00", 0.0, event="missed: power out")
    [one] = drafted(site, f"{MEAL}09:00")
    assert one.tanks == ("T01", "T02", "T03", "T04")


def test_a_meal_given_late_is_drafted_by_its_first_feed(site: Site) -> None:
    served(site, "T01", f"{MEAL}08:30", f"{MEAL}08:00")
    served(site, "T02", f"{MEAL}08:29", f"{MEAL}08:00")
    served(site, "T02", f"{MEAL}08:45", f"{MEAL}08:00", feed="D1")
    assert "late-feed" not in " ".join(abouts(site, f"{MEAL}08:50"))
    served(site, "T03", f"{MEAL}08:31", f"{MEAL}08:00")
    served(site, "T04", f"{MEAL}08:44", f"{MEAL}08:00")
    one = next(d for d in drafted(site, f"{MEAL}08:50") if d.kind is DeviationKind.LATE_FEED)
    assert (one.about, one.tanks) == ("late-feed 2026-05-10T08:00", ("T03", "T04"))
    assert deviation(one) == "T03, T04: meal Sun 10 May 08:00 given 44 min late (AB)"


def test_feed_that_names_no_meal_is_never_late(site: Site) -> None:
    all_fed(site, f"{MEAL}09:30")
    assert abouts(site, f"{MEAL}10:00") == []


def test_short_rations_of_a_day_are_one_draft_that_says_how_short(site: Site) -> None:
    served(site, "T01", f"{MEAL}08:01", f"{MEAL}08:00", 17.0, planned=20.0)
    assert abouts(site, f"{MEAL}08:10") == [], "15 percent less is not short"
    served(site, "T02", f"{MEAL}08:02", f"{MEAL}08:00", 11.6, planned=20.0)
    [one] = drafted(site, f"{MEAL}08:10")
    assert (one.about, one.place) == ("short-feed T02 Art 2026-05-10", "T02")
    served(site, "T03", f"{MEAL}08:03", f"{MEAL}08:00", 11.6, planned=20.0)
    served(site, "T03", f"{MEAL}12:03", f"{MEAL}12:00", 16.0, planned=20.0)
    [one] = [d for d in drafted(site, f"{MEAL}12:10") if d.kind is DeviationKind.SHORT_FEED]
    assert (one.about, one.tanks) == ("short-feed Art 2026-05-10", ("T02", "T03"))
    assert deviation(one) == (
        "T02, T03: short of Art nauplii, 58-80 % of the plan, Sun 10 May, 08:00, 12:00"
    )
    assert one.rule is MayClose.DEVIATION


def feed_the_day(site: Site, dry: tuple[str, ...]) -> None:
    for hour in ("08:00", "12:00", "16:00", "16:14"):
        all_fed(site, f"2026-05-10T{hour}")
    for place in dry:
        fed(site, place, "2026-05-10T12:02", "D1", 0.2)


def test_a_feed_that_makes_the_treatment_and_was_not_given_all_day_is_left_out(site: Site) -> None:
    feed_the_day(site, ("T01",))
    assert abouts(site, "2026-05-10T23:59") == [], "the day is not over"
    [one] = drafted(site, "2026-05-11T00:10")
    assert (one.rule, one.about) == (MayClose.TREATMENT, "missed-treatment T03 D1 2026-05-10")
    assert deviation(one) == "T03 E8: no dry feed D1 on Sun 10 May, planned at 9 dph; got Art"


def test_a_tank_that_was_not_fed_at_all_that_day_is_left_to_its_missed_meals(site: Site) -> None:
    fed(site, "T01", "2026-05-10T08:00")
    fed(site, "T01", "2026-05-10T08:01", "D1")
    assert abouts(site, "2026-05-11T00:10") == []


BANDED = OWNED.replace(
    '[[band]]\nitem = "flow"\n',
    '[[band]]\nitem = "flow"\ntreatment = "E8"\ntarget = 2.5\nwatch_within = 0.3\n'
    '[[band]]\nitem = "flow"\n',
    1,
)


def test_a_measure_of_the_treatment_that_a_signed_round_left_out_is_drafted(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, BANDED) as site:
        walk = walking(site)
        for place in ("T01", "T02"):
            go_to(walk, place, "flow").answer("/")
            walk.answer("3")
        go_to(walk, "L1", "tan")
        assert abouts(site, "2026-05-10T09:00") == [], "the round is still walked"
        clock_shows(site, "2026-05-10T07:00")
        sign(walk)
        found = [one for one in drafted(site, "2026-05-10T09:00") if one.rule is MayClose.TREATMENT]
        assert [(one.about, deviation(one)) for one in found] == [
            (
                "missed-treatment T01 flow 2026-05-10T07:00",
                "T01 E8: Flow not taken Sun 10 May 07:00 (could not)",
            )
        ]


def test_what_lies_before_the_stretch_that_is_asked_for_is_not_told_again(site: Site) -> None:
    fed(site, "T02", "2026-05-09T08:06", "D1", 0.2)
    assert abouts(site, "2026-05-10T09:00") == []
    assert abouts(site, "2026-05-10T09:00", "2026-05-09T00:00") == [
        "wrong-feed T02 D1 2026-05-09T08:06",
        "missed-treatment T02 Art 2026-05-09",
    ]


def test_a_kept_draft_is_an_open_action_of_the_study_owner_and_no_draft_any_more(
    site: Site,
) -> None:
    fed(site, "T02", "2026-05-10T08:06", "D1", 0.2)
    [one] = drafted(site, "2026-05-10T09:00")
    n = deviations.keep(site, one, deviation(one), "ab")
    [kept] = site.reader.follow_ups.open()
    assert (kept.opened, kept.what, kept.owner, kept.place, kept.who) == (
        n, FollowUpWhat.ACTION, "CD", "T02", "AB",
    )  # fmt: skip
    assert kept.text == f"Deviation: {deviation(one)}"
    assert (kept.rule, kept.about) == (MayClose.DEVIATION, one.about)
    assert abouts(site, "2026-05-10T09:00") == []
    with pytest.raises(Refusal, match="nothing more was kept"):
        deviations.keep(site, one, deviation(one), "AB")
    assert len(site.reader.follow_ups.open()) == 1


def test_the_board_says_that_there_are_drafts_until_they_are_kept(site: Site) -> None:
    all_fed(site, "2026-05-10T08:05", but="T03")
    fed(site, "T02", "2026-05-10T08:06", "D1", 0.2)
    clock_shows(site, "2026-05-10T10:15")

    def told() -> list[tuple[str, str]]:
        found = [one for one in board(site).due if one.kind is DueKind.DEVIATION]
        return due_said(found, site.now())

    assert told() == [("2 deviations drafted", "missed feed T03, wrong feed T02; for CD to decide")]
    for one in drafted(site, "2026-05-10T10:15"):
        deviations.keep(site, one, deviation(one), "AB")
    assert told() == []
    clock_shows(site, "2026-05-14T10:15")
    fed(site, "T02", "2026-05-10T16:06", "D1", 0.2)
    assert told() == [], "after some days the study owner looks in the record"


def test_a_draft_stands_on_the_open_list_and_is_kept_from_there_by_number(site: Site) -> None:
    fed(site, "T02", "2026-05-10T08:06", "D1", 0.2)
    clock_shows(site, "2026-05-10T09:00")
    seen = open_list.open_list(site)
    [row] = [r for r in seen.rows if r.section is OpenSection.DRAFTED]
    words = page.said(row)
    assert (words[:35], page.terms(row, seen)) == (
        "T02 M12: dry feed D1 starts at 12 d", "CD to decide",
    )  # fmt: skip
    assert not page.late(row)
    talk = Asking(open_list.about(site, Hand(), row, words))
    assert site.reader.follow_ups.open() == []
    for key in "11":
        talk.type(key)
    assert talk.said == "Kept under TO DO. AB wrote it; CD closes it."
    assert [r.section for r in open_list.open_list(site).rows] == [OpenSection.TO_DO]
    assert [f.text for f in site.reader.follow_ups.open()] == [f"Deviation: {words}"]


def test_an_action_that_was_taken_back_leaves_the_draft(site: Site) -> None:
    fed(site, "T02", "2026-05-10T08:06", "D1", 0.2)
    [one] = drafted(site, "2026-05-10T09:00")
    n = deviations.keep(site, one, deviation(one), "AB")
    now = site.now()
    site.record(Entry("void", "AB", now, now, "T02", amends=n, reason="keyed twice"))
    assert abouts(site, "2026-05-10T09:00") == [one.about]
    assert site.reader.follow_ups.drafted_from([one.about]) == {}


def test_without_a_study_owner_nobody_could_close_it_so_it_is_not_kept(tmp_path: Path) -> None:
    with opened(tmp_path, FED) as site:
        fed(site, "T02", "2026-05-10T08:06", "D1", 0.2)
        [one] = drafted(site, "2026-05-10T09:00")
        with pytest.raises(Refusal, match='duty = "study owner"'):
            deviations.keep(site, one, deviation(one), "AB")
        assert site.reader.follow_ups.open() == []


def test_a_plan_without_feeds_and_meals_drafts_nothing(tmp_path: Path) -> None:
    with opened(tmp_path, SMALL) as site:
        fed(site, "T01", "2026-05-10T08:06", "anything", 0.2)
        assert abouts(site, "2026-05-12T09:00") == []
