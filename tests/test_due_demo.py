"""What the demo's season says is due, at the hours its incidents happen.

The season (job.md section 8) is invented; what is expected here is what its story says should be
told, by the record as it stood at that minute.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from demo_support import STATION, until
from page_support import Said, due_said
from tankwalk.clock import FixedClock, Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.follow_up_kinds import FollowUpState, MayClose
from tankwalk.pages import board as board_page
from tankwalk.pages import due_words, feed_words
from tankwalk.pages.handover import text_of
from tankwalk.pages.lines import plain
from tankwalk.practice.board import board
from tankwalk.practice.doing import deviations, follow_ups
from tankwalk.practice.doing.follow_ups import Effect
from tankwalk.practice.due import all_due
from tankwalk.practice.feeding import giving
from tankwalk.practice.handover import drafting
from tankwalk.practice.site import Site, open_site
from tankwalk.practice.tasks import Due, DueKind
from tankwalk_demo.days import moment

At = Callable[[int, str], Site]

OF_THE_FISH = (DueKind.MEAL, DueKind.HARVEST, DueKind.CONE)


@pytest.fixture
def at(tmp_path: Path) -> Iterator[At]:
    """The demo as it stood on a numbered day at a time, open, a copy of its own."""
    open_ones: list[Site] = []

    def when(day: int, wall: str) -> Site:
        now = moment(day, wall)
        copy = shutil.copytree(until(now), tmp_path / f"day {day} {wall.replace(':', '')}")
        open_ones.append(open_site(copy, STATION, now.iso()))
        return open_ones[-1]

    yield when
    for site in open_ones:
        site.close()


def told(site: Site, *kinds: DueKind) -> Said:
    """What is due of some kinds, as the board has it."""
    return due_said([one for one in everything(site) if one.kind in kinds], site.now())


def everything(site: Site) -> list[Due]:
    return all_due.everything(site, site.now(), site.reader.readings.newest_of_all())


def drafts(site: Site, hours: float = 24.0) -> tuple[deviations.DraftDeviation, ...]:
    now = site.now()
    since = Instant(now.utc - int(hours * 3600), now.offset)
    return deviations.drafts(site, now, since)


# ---- incident 3: the cups of T04 and T05 are swapped


def test_the_cup_that_went_into_the_wrong_tank_is_asked_about_at_the_tank(at: At) -> None:
    site = at(8, "08:10")
    asked = giving.give(site, "PB", "T05", "D1", 0.1, "g")
    assert asked.n is None
    assert asked.doubt is not None
    assert (
        feed_words.question(asked.doubt)
        == "T05 M14: dry feed D1 starts at 14 dph, today 11. Continue?"
    )


def test_the_tank_that_missed_its_feed_is_overdue_two_hours_later(at: At) -> None:
    site = at(8, "10:15")
    assert told(site, DueKind.MEAL) == [
        ("T04 feed", "overdue 2 h 15 min (08:00, 10:00)"),
        ("Feed 12:00", "12 tanks; weigh and count from 11:30, in 1 h 45 min"),
    ]
    assert due_words.what(everything(site)[0]) == "T04 feed", "it is the first thing of all"
    assert any(
        "Feed 08:00, 10:00, T04" in line and "overdue 2 h" in line
        for line in plain(board_page.draw(board(site), 80, 24)).splitlines()
    )


def test_both_tanks_are_drafted_as_deviations_for_the_study_owner(at: At) -> None:
    site = at(8, "10:15")
    assert [(one.about, feed_words.deviation(one)) for one in drafts(site)] == [
        (
            "missed-feed T04 2026-04-27T08:00",
            "T04 E10: no feed at Mon 27 Apr 08:00 (Artemia nauplii, dry feed D1 planned); "
            "11 other tanks were fed",
        ),
        (
            "wrong-feed T05 D1 2026-04-27T08:10",
            "T05 M14: dry feed D1 starts at 14 dph, that day 11; got 0.09 g Mon 27 Apr 08:10 (PB)",
        ),
    ]
    assert told(site, DueKind.DEVIATION) == [
        ("2 deviations drafted", "missed feed T04, wrong feed T05; for TS to decide")
    ]


def test_a_kept_deviation_is_closed_by_the_study_owner_alone_and_with_its_effect(at: At) -> None:
    site = at(8, "10:15")
    opened = [deviations.keep(site, one, feed_words.deviation(one), "JQ") for one in drafts(site)]
    assert drafts(site) == ()
    assert told(site, DueKind.DEVIATION) == []
    with pytest.raises(Refusal, match="study owner"):
        follow_ups.close(site, "MV", opened[1], "No effect was seen.")
    with pytest.raises(Refusal, match="closed with its effect"):
        follow_ups.close(site, "TS", opened[1], "One meal, no effect seen in gut fill.")
    follow_ups.close(site, "TS", opened[1], "one meal, gut fill as ever", Effect.NONE_SEEN)
    assert opened[1] not in [one.opened for one in site.reader.follow_ups.open()]
    assert drafts(site) == (), "what was decided is not drafted again"


def drafted_from(site: Site) -> dict[str, int]:
    """What follow-ups were drafted from, and the entry that opened each."""
    sql = "SELECT about, entry FROM closing WHERE about IS NOT NULL ORDER BY entry"
    return dict(site.ledger.db.execute(sql).fetchall())


def test_in_thirty_days_the_swapped_cups_and_the_poor_hatch_depart_from_the_plan(at: At) -> None:
    site = at(31, "07:00")
    assert [(short.about, feed_words.deviation(short)) for short in drafts(site, 31 * 24)] == [
        (
            "short-feed Artemia 2026-05-04",
            "T01, T03, T05, T06, T07, T08, T10, T11: short of Artemia nauplii, 57-58 % of the "
            "plan, Mon 4 May, 10:00, 12:00, 14:00, 15:43, 18:00, 20:30",
        ),
        (
            "short-feed Artemia 2026-05-05",
            "T01, T03, T05, T06, T07, T08, T10, T11: short of Artemia nauplii, 58 % of the plan, "
            "Tue 5 May, 08:00",
        ),
    ]
    kept = drafted_from(site)
    assert {about for about in kept if about.split(" ")[0] in ("missed-feed", "wrong-feed")} == {
        "missed-feed T04 2026-04-27T08:00",
        "missed-feed T04 2026-04-27T10:00",
        "wrong-feed T05 D1 2026-04-27T08:10",
    }


def test_the_study_owner_of_the_story_closed_each_deviation_with_its_effect(at: At) -> None:
    site = at(11, "10:30")
    closed = [
        one
        for number in drafted_from(site).values()
        if (one := site.reader.follow_ups.opened_by(number)) is not None
        and one.rule is MayClose.DEVIATION
    ]
    assert [(one.place, one.state, one.turns[-1].who) for one in closed] == [
        ("T05", FollowUpState.CLOSED, "TS"),
        ("T04", FollowUpState.CLOSED, "TS"),
        ("T04", FollowUpState.CLOSED, "TS"),
    ]
    for one in closed:
        assert one.turns[-1].text.startswith(f"{Effect.NONE_SEEN.value}; ")


# ---- incident 4: a cone that hatched late and poorly


def test_the_cone_is_out_of_band_from_its_evening_check_on(at: At) -> None:
    site = at(14, "21:30")
    assert told(site, DueKind.CONE) == [
        (
            "Cone A0503 out of band",
            "23.0 degC under 25, pH 7.6 under 8, since 21:00",
        )
    ]


def test_the_harvest_is_overdue_and_instar_ii_is_to_be_expected(at: At) -> None:
    site = at(15, "10:35")
    found = everything(site)
    assert due_said(found[:2], site.now()) == [
        ("Cone A0503 harvest", "overdue 2 h 05 min: expect instar II"),
        (
            "Cone A0503 out of band",
            "23.0 degC under 25, pH 7.6 under 8, since Sun 21:00",
        ),
    ]
    site.clock = FixedClock(moment(15, "10:25"))
    assert told(site, DueKind.HARVEST)[0] == ("Cone A0503 harvest", "due 1 h 55 min ago")


def test_after_the_poor_harvest_every_live_fed_tank_is_two_fifths_short(at: At) -> None:
    [(what, words)] = told(at(15, "13:30"), DueKind.HATCH, DueKind.CONE)
    assert what == "Cone A0503"
    assert words.startswith("46 % hatched, usual 8")
    assert words.endswith("% short for every live-fed tank; chilled reserve, extra cone")
    share = int(words.split("about ")[1].split(" %")[0])
    assert share == pytest.approx(42, abs=2)


# ---- incident 2: a meter whose check was left out


def test_the_check_of_meter_b_is_overdue_on_the_second_day_it_was_left_out(at: At) -> None:
    assert told(at(11, "07:30"), DueKind.METER) == [
        ("oxygen meter B moist air check", "due today, last Wed 29 Apr 06:40")
    ]
    assert told(at(12, "07:30"), DueKind.METER) == [
        ("oxygen meter B moist air check", "overdue 1 d, last Wed 29 Apr 06:40")
    ]


# ---- the calendar, and a room nobody enters


def test_the_day_before_dry_feed_starts_the_page_names_its_tanks(at: At) -> None:
    site = at(6, "16:00")
    assert told(site, DueKind.CHANGE) == [
        ("E10 starts dry feed D1", "tomorrow (10 dph): T02 T04 T09 T12")
    ]
    page = text_of(drafting.draft(site))
    assert "E10 starts dry feed D1: tomorrow (10 dph): T02 T04 T09 T12" in page


def test_the_weekend_s_long_gap_is_told_before_and_while_it_lasts(at: At) -> None:
    gap = ("No check scheduled", "from Sat 15:00 to Sun 06:50, 15 h 50 min")
    assert told(at(6, "16:00"), DueKind.GAP) == [gap]
    assert told(at(8, "10:15"), DueKind.GAP) == []


def test_samples_are_due_a_week_after_the_last_ones(at: At) -> None:
    site = at(11, "10:30")
    assert told(site, DueKind.SAMPLE) == [
        (
            "Sample: Length of 20 fish, Mass of 30 fish, Gut fill of 20 fish, "
            "Swim bladder of 20 fish",
            "12 tanks, due today, last Thu 23 Apr",
        )
    ]
    assert told(at(11, "16:00"), DueKind.SAMPLE) == []


def test_a_room_that_was_left_for_a_week_says_since_when_and_what_was_missed(at: At) -> None:
    site = at(21, "06:50")
    assert told(site, DueKind.UNATTENDED) == []
    site.clock = FixedClock(moment(28, "08:50"))
    found = everything(site)
    assert due_said(found[:2], site.now()) == [
        ("Nobody entered anything", "for 7 d 2 h, since Sun 10 May 06:47 (by PB)"),
        ("Missed meanwhile", "21 rounds, 48 meals, 1 harvest"),
    ]
    [(what, last)] = due_said(found[2:3], site.now())
    assert what == "The last handover said"
    assert last.startswith(
        "T07 ! WATCH Water below rim 4.5 cm; Outlet screen not checked (15:05) at 15:05; "
        "T12 Inlet valve throttled to 3.1 L/min, fitting weeps"
    )
    assert last.endswith("(RO, Sat 9 May 16:05)")
    said = [due_words.what(one) for one in found]
    assert "Cone A0509 harvest" in said
    assert "Meter checks A, B, P1, S1" in said
    assert "Nobody entered anything" in plain(board_page.draw(board(site), 80, 24))


def test_a_full_board_keeps_what_is_late_on_the_smallest_screen_too(at: At) -> None:
    site = at(15, "10:35")
    for width, height in ((80, 24), (60, 20)):
        page = plain(board_page.draw(board(site), width, height))
        for words in ("Cone A0503, harvest", "expect", "Cone A0503: "):
            assert words in page
        assert page.index("Cone A0503, harvest") < page.index("Cone A0503: ")
        assert len(page.splitlines()) <= height


def test_every_evening_of_the_season_is_quiet_of_late_meals_and_harvests(at: At) -> None:
    """At 16:30 of an ordinary day nothing of the fish is overdue."""
    for day in (5, 9, 13, 20, 22):
        found = [one for one in everything(at(day, "16:30")) if one.overdue]
        assert [one for one in found if one.kind in OF_THE_FISH] == []
