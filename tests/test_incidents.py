"""Incidents: what was done about a flag has a place, looks come due, and calls are kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from page_support import due_said, section
from site_support import (
    SMALL,
    again,
    clock_shows,
    entries,
    finish,
    moment,
    opened,
    seen_before,
    sign,
    standing_at,
    tankwalk,
    typed_lines,
    walk_drawn,
    walking,
    write_plan,
)
from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.ledger.incidents import CallSeen, DoneSeen
from tankwalk.ledger.readings import Seen
from tankwalk.pages import incident as page
from tankwalk.pages import incident_words
from tankwalk.pages.lines import plain
from tankwalk.plan.faults import PlanFaults
from tankwalk.plan.load import read_plan
from tankwalk.practice.board import board
from tankwalk.practice.dialog import Asking, Hand
from tankwalk.practice.handover import drafting
from tankwalk.practice.handover.drafting import GivenPage
from tankwalk.practice.incidents import acting, looking
from tankwalk.practice.incidents.ended import ended
from tankwalk.practice.incidents.incident import CallState, Incident, incident
from tankwalk.practice.incidents.trend import trend
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.looks import LookWalk, asked_at
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import DueKind
from test_screens import Room, at_the_screen

CALLED = """
[[on_call]]
who = "CD"
from = "07:00"
to = "19:00"
weekdays = ["Sat", "Sun"]
[[on_call]]
who = "EF"
from = "19:00"
to = "07:00"
"""

PLAN = SMALL.replace(
    '[[person]]\ninitials = "CD"',
    '[[person]]\ninitials = "CD"\nphone = "555-0142"\nduty = "lead"',
).replace("[[lot]]", f"{CALLED}\n[[lot]]", 1)
"""The small room, where CD is on call at the weekend by day and EF by night."""
PLAN = PLAN.replace(
    'first_response = "Open the oxygen, stop the feed."',
    'when_low = ["clear the screen", "open the oxygen", "stop the feed"]\n'
    'when_high = ["close the oxygen"]',
).replace('first_response = "Brush it now."', 'when = { fouled = ["brush it"] }')

OXYGEN = Key("place", "T01", "do")
SCREEN = Key("place", "T01", "screen")


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path / "room", PLAN) as site:
        seen_before(site, "T01", "do", 8.3, "2026-05-09T15:04")
        yield site


def emergency(site: Site, first: str = "4.2", second: str = "4.2") -> Incident:
    """Oxygen at T01 out of band, and out again at its second reading."""
    walk = standing_at(site, "T01", "do")
    walk.answer(first)
    walk.answer(second)
    return told(site)


def told(site: Site, key: Key = OXYGEN) -> Incident:
    found = incident(site, key)
    assert found is not None
    return found


def look(site: Site, *typed: str, key: Key = OXYGEN) -> LookWalk:
    """AB looks again and types this."""
    walk = LookWalk(site, ((key.code, key.item),), "AB")
    for one in typed:
        walk.answer(one)
    return walk


def call(site: Site, one: Incident, *, reached: bool, said: str = "") -> None:
    acting.called(site, "AB", one, site.plan.people[1], reached=reached, said=said)


def story(one: Incident) -> list[str]:
    """The story as its page tells it, without the plot."""
    return [
        f"{line.at.hm()} {line.who} {incident_words.told(line, one.places)[0]}"
        for line in one.story
    ]


# ---- what the plan says


@pytest.mark.parametrize(
    ("at", "who"),
    [
        ("2026-05-10T07:00", "CD"),  # a Sunday
        ("2026-05-10T18:59", "CD"),
        ("2026-05-10T19:00", "EF"),
        ("2026-05-11T06:59", "EF"),
        ("2026-05-11T07:00", None),  # a Monday: nobody by day
    ],
)
def test_the_plan_says_who_is_on_call_at_each_hour(site: Site, at: str, who: str | None) -> None:
    clock_shows(site, at)
    found = site.plan.called_at(site.now().wall)
    assert (found.initials if found else None) == who


def test_a_stretch_over_midnight_belongs_to_the_day_it_begins_on() -> None:
    plan = read_plan(PLAN.replace('to = "07:00"\n', 'to = "07:00"\nweekdays = ["Fri"]\n'))
    with TemporaryDirectory() as folder, opened(Path(folder) / "room", plan.text) as site:
        for at, who in [
            ("2026-05-08T23:00", "EF"),  # Friday night
            ("2026-05-09T06:00", "EF"),  # and on into Saturday
            ("2026-05-09T23:00", None),
            ("2026-05-08T06:00", None),
        ]:
            clock_shows(site, at)
            found = site.plan.called_at(site.now().wall)
            assert (found.initials if found else None) == who, at


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('[[on_call]]\nwho = "XX"\nfrom = "07:00"\nto = "08:00"', "which the plan has not"),
        ('[[on_call]]\nwho = "CD"\nto = "08:00"', "from is missing"),
        ('[[on_call]]\nwho = "CD"\nfrom = "25:00"\nto = "08:00"', "not a time of day"),
        ("[looks]\nurgent = 0", "not between a minute and a week"),
        ('[looks]\nact = "9 d"', "not between a minute and a week"),
    ],
)
def test_what_the_plan_says_wrongly_of_calls_and_looks_is_a_fault_with_its_line(
    text: str, fault: str
) -> None:
    with pytest.raises(PlanFaults) as refused:
        read_plan(f"{SMALL}\n{text}\n")
    assert fault in str(refused.value)
    assert "line " in str(refused.value)


# ---- steps, looks and calls


def test_a_flag_has_the_steps_of_its_side_and_a_look_that_is_due(site: Site) -> None:
    one = emergency(site)
    assert [step.words for step in one.steps] == [
        "clear the screen",
        "open the oxygen",
        "stop the feed",
    ]
    assert one.flag is Flag.URGENT
    assert one.look is not None
    assert one.look.hm() == "07:05", "5 min after an URGENT"
    assert one.call.state is CallState.NOT_CALLED
    assert one.call.on_call is not None
    assert one.call.on_call.initials == "CD"


@pytest.mark.parametrize(
    ("value", "flag", "due"),
    [("6.5", Flag.WATCH, "09:00"), ("5.9", Flag.ACT, "07:30"), ("4.9", Flag.URGENT, "07:05")],
)
def test_the_look_comes_sooner_the_worse_it_is(
    site: Site, value: str, flag: Flag, due: str
) -> None:
    one = emergency(site, value, value)
    assert one.flag is flag
    assert one.look is not None
    assert one.look.hm() == due


def test_an_item_may_have_a_time_of_its_own_until_it_is_looked_at_again(tmp_path: Path) -> None:
    plan = PLAN.replace('code = "do"\n', 'code = "do"\nlook_urgent = 2\n', 1)
    with opened(tmp_path / "room", plan) as site:
        one = emergency(site)
        assert one.look is not None
        assert one.look.hm() == "07:02"


def test_the_next_look_counts_from_the_last_one(site: Site) -> None:
    emergency(site)
    clock_shows(site, "2026-05-10T07:04")
    look(site, "4.6")
    one = told(site)
    assert one.look is not None
    assert one.look.hm() == "07:09"


def test_what_is_in_band_once_may_wait_as_long_as_what_is_a_level_milder(site: Site) -> None:
    emergency(site)
    clock_shows(site, "2026-05-10T07:10")
    look(site, "8.0")
    one = told(site)
    assert one.standing is not None
    assert one.standing.state == "in band once"
    assert one.look is not None
    assert one.look.hm() == "07:40", "as after an ACT"


def test_the_look_at_what_several_tanks_share_counts_from_the_newest_at_any_of_them(
    site: Site,
) -> None:
    emergency(site)
    clock_shows(site, "2026-05-10T07:03")
    seen_before(site, "T02", "do", 4.5, "2026-05-10T07:03")
    newest, now = site.reader.readings.newest_of_all(), site.now()
    [one] = wrong_now(site, newest, now).wrong
    shared = one._replace(tanks=("T01", "T02"))
    assert [looking.due(site.plan, each, newest, now) for each in (one, shared)] == [
        moment("2026-05-10T07:05"),
        moment("2026-05-10T07:08"),
    ]


def test_a_step_that_was_done_has_its_name_and_minute(site: Site) -> None:
    one = emergency(site)
    clock_shows(site, "2026-05-10T07:01")
    acting.did(site, "EF", one, one.steps[0].words, 1)
    one = told(site)
    done = one.steps[0].done
    assert done is not None
    assert (done.who, done.at.hm(), done.step) == ("EF", "07:01", 1)
    assert one.next_step is one.steps[1]
    assert "1  Clear the screen" in plain(page.draw(one, 80, 24))
    assert "done 07:01  EF" in plain(page.draw(one, 80, 24))


def test_a_step_that_was_done_is_asked_about_before_it_is_kept_once_more(site: Site) -> None:
    """A reading typed on the flag's page would else be kept as steps: 1.1 is no brushing."""
    one = emergency(site)
    acting.did(site, "AB", one, one.steps[0].words, 1)
    clock_shows(site, "2026-05-10T07:04")
    one = told(site)
    hand = Hand()
    asking = Asking(acting.say_done(site, hand, one, 1))
    assert asking.step.ask == "clear the screen: done 07:00 (AB). Done again?"
    asking.type("1")
    assert asking.said == "Nothing more was kept."
    assert len(story(told(site))) == len(story(one))
    asking = Asking(acting.say_done(site, hand, one, 1))
    for key in ("2", "3"):
        asking.type(key)
    assert story(told(site))[-1] == "07:04 EF did: clear the screen"


def test_a_step_done_for_another_flag_of_the_tank_is_done_here_in_capitals_or_not(
    site: Site,
) -> None:
    """Saturation's own steps begin small, those of a plan may not: it is one deed."""
    one = emergency(site)
    acting.did(site, "AB", one, one.steps[0].words.swapcase())
    one = told(site)
    assert one.steps[0].done is not None
    assert one.others == ()


def test_what_was_done_in_other_words_stands_below_the_steps(site: Site) -> None:
    one = emergency(site)
    acting.did(site, "AB", one, "lifted 30 larvae out of the drain")
    assert [each.text for each in told(site).others] == ["lifted 30 larvae out of the drain"]
    with pytest.raises(Refusal, match="nothing is kept"):
        acting.did(site, "AB", one, "  ")


def test_an_urgent_says_that_nobody_was_called_until_somebody_was_reached(site: Site) -> None:
    one = emergency(site)
    assert "T01 call CD" in dict(due_said(board(site).due, site.now()))
    clock_shows(site, "2026-05-10T07:02")
    call(site, one, reached=False)
    assert told(site).call.state is CallState.NOT_REACHED
    assert "NOT REACHED" in plain(page.draw(told(site), 80, 24))
    assert "not reached" in dict(due_said(board(site).due, site.now()))["T01 call CD"]
    call(site, one, reached=True, said="comes at once")
    assert told(site).call.state is CallState.REACHED
    assert "T01 call CD" not in dict(due_said(board(site).due, site.now()))
    assert "CD reached: comes at once" in plain(page.draw(told(site), 80, 24))


def test_a_call_about_a_place_is_told_once_there_however_many_flags_it_has(site: Site) -> None:
    emergency(site)
    walk = standing_at(site, "T01", "screen")
    walk.answer("3")
    walk.note()
    walk.answer("3")
    call(site, told(site), reached=True, said="comes at once")
    assert told(site, SCREEN).call.newest is not None, "it is a call about the place"
    stock = section(site, "STOCK")
    assert sum("comes at once" in row for row in stock) == 1
    assert any("T01" in row and "screen fouled" in row for row in stock)
    at_stop = plain(walk_drawn(again(walk), "", 120, 40))
    assert at_stop.count("CD called 07:00") == 1
    finish(walk)
    end = plain(walk_drawn(walk, "", 80, 24))
    assert end.count("CD called 07:00") == 1
    for at, typed in (("07:30", "8.3"), ("07:40", "8.3")):
        clock_shows(site, f"2026-05-10T{at}")
        look(site, typed)
    acting.did(site, "AB", told(site, SCREEN), "brush it", 1)
    stock = section(site, "STOCK")
    assert any("over: 8.3" in row for row in stock)
    assert sum("comes at once" in row for row in stock) == 1, "over, and still standing"


def test_a_call_about_something_milder_is_no_call_about_the_urgent(site: Site) -> None:
    one = emergency(site, "5.9", "5.9")
    assert one.call.state is CallState.NOT_WANTED
    clock_shows(site, "2026-05-10T07:10")
    call(site, one, reached=True)
    clock_shows(site, "2026-05-10T07:20")
    look(site, "4.5", "4.5")
    assert told(site).flag is Flag.URGENT
    assert told(site).call.state is CallState.NOT_CALLED


def test_the_urgent_message_of_the_round_says_whom_to_call_until_they_were_reached(
    site: Site,
) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("4.2")
    walk.answer("4.2")
    for width, height in ((80, 24), (60, 20), (120, 40)):
        page_of_it = " ".join(plain(walk_drawn(walk, "", width, height)).split())
        assert "call CD 555-0142, NOT CALLED YET" in page_of_it, (width, height)
    call(site, told(site), reached=False)
    again_there = again(walk)
    again_there.answer("+")
    assert "call CD 555-0142, NOT REACHED YET" in plain(walk_drawn(again_there, "", 80, 24))
    call(site, told(site), reached=True)
    assert "call CD" not in plain(walk_drawn(again(walk), "", 80, 24))


def test_an_alarm_that_is_worked_out_stays_in_sight_and_says_whom_to_call(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.answer("15.5")  # 160 % of what this water holds
    walk.answer("2.5")
    shown = " ".join(plain(walk_drawn(walk, "", 80, 24)).split())
    assert "!!! URGENT T01 O2 saturation" in shown
    assert "call CD 555-0142, NOT CALLED YET" in shown
    assert "T01 NOT CALLED, look in 5 min" in shown
    walk.move("up")
    walk.move("up")
    walk.answer("*")
    walk.answer("8.4")
    assert "O2 saturation 1" not in plain(walk_drawn(walk, "", 80, 24)), "it was worked out anew"


def test_a_key_that_is_refused_leaves_the_first_response_in_sight(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("4.2")
    walk.answer("4.2")
    walk.answer("+")
    shown = plain(walk_drawn(walk, "", 80, 24))
    assert "does not stand for a number" in shown
    assert "Clear the screen, open the oxygen, stop the feed." in shown


def test_a_line_whose_flag_stands_keeps_its_mark_though_its_newest_value_is_in_band(
    site: Site,
) -> None:
    walk = standing_at(site, "T01", "do")
    for typed in ("4.2", "4.2"):
        walk.answer(typed)
    walk.move("up")
    for typed in ("*", "8.3"):
        walk.answer(typed)
    walk.move("up")
    rows = plain(walk_drawn(walk, "", 80, 24)).split("\n")
    oxygen = next(row for row in rows if row.startswith(" > Oxygen"))
    assert "8.3  mg/L" in oxygen
    assert "!!!" in oxygen
    assert "in band once, was 4.2 mg/L" in " ".join(rows)
    assert "call CD 555-0142" in " ".join(" ".join(rows).split())


def test_a_milder_look_that_is_long_overdue_hides_no_countdown_of_an_urgent(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("18.0")
    walk.answer("18.0")
    clock_shows(site, "2026-05-10T12:00")
    walk = standing_at(site, "T01", "do")
    walk.answer("4.2")
    walk.answer("4.2")
    assert "T01 NOT CALLED, look in 5 min" in plain(walk_drawn(walk, "", 80, 24)).split("\n")[0]


def test_what_is_beyond_the_action_limit_stays_as_bad_until_it_is_back_inside_it(
    site: Site,
) -> None:
    emergency(site)
    for at, value, flag in [
        ("07:05", "5.6", Flag.URGENT),
        ("07:10", "6.4", Flag.WATCH),
    ]:
        clock_shows(site, f"2026-05-10T{at}")
        look(site, value)
        assert told(site).flag is flag


def test_oxygen_that_is_told_by_its_saturation_keeps_its_own_steps_and_calls(site: Site) -> None:
    """What is worked out from a measurement is the same one: 5.6 mg/L is ACT, 59 % URGENT."""
    walk = standing_at(site, "T01", "temp")
    for typed in ("16.5", "4.2", "4.2"):
        walk.answer(typed)
    acting.did(site, "AB", told(site), "clear the screen", 1)
    call(site, told(site), reached=True)
    clock_shows(site, "2026-05-10T07:05")
    look(site, "5.6")
    assert not told(site).over
    assert told(site).call.state is CallState.REACHED
    worst = board(site).incidents[0]
    assert worst.item.code == "sat"
    assert worst.call.state is CallState.REACHED
    done = [step.words for step in worst.steps if step.done is not None]
    assert [*done, *(each.text for each in worst.others)] == ["clear the screen"]


# ---- looks


def test_a_look_asks_only_what_is_out_signs_itself_and_stands_in_no_list(site: Site) -> None:
    emergency(site)
    clock_shows(site, "2026-05-10T07:05")
    walk = LookWalk(site, (("T01", "do"),), "AB")
    assert len(walk.slots) == 1
    assert not walk.signed
    walk.answer("4.9")
    assert walk.signed
    found = board(site)
    assert found.unsigned is not None
    assert found.unsigned.checklist == "am"
    assert [one.facts for one in found.due if one.kind is DueKind.UNSIGNED] == []
    assert not any("Look again" in line for line in section(site, "TASKS"))
    assert ("look",) in entries(site)


def test_a_value_no_worse_than_the_last_one_is_not_asked_twice_and_a_worse_one_is(
    site: Site,
) -> None:
    emergency(site)
    assert look(site, "4.1").signed
    worse = look(site, "2.9")
    assert not worse.signed, "3.9 was not seen before: the probe is still in the water"
    worse.answer("2.9")
    assert worse.signed


def test_a_look_that_was_left_is_taken_up_again_and_not_begun_twice(site: Site) -> None:
    emergency(site)
    first = LookWalk(site, (("T01", "do"),), "AB")
    assert LookWalk(site, (("T01", "do"),), "CD").round.number == first.round.number
    first.answer("4.5")
    assert LookWalk(site, (("T01", "do"),), "CD").round.number != first.round.number


def test_a_look_has_a_number_no_round_has(site: Site) -> None:
    emergency(site)
    first = look(site, "4.5")
    walk = walking(site, code="pm")
    assert len({first.round.number, walk.round.number, look(site, "4.6").round.number}) == 3


def test_a_round_and_a_look_keep_their_readings_apart(site: Site) -> None:
    emergency(site)
    look(site, "4.4")
    walk = standing_at(site, "T01", "do")
    assert [seen.value for seen in walk.of(walk.slot)] == [4.2, 4.2]
    assert sign(again(walk)).signed


def test_one_can_look_at_a_whole_tank_or_at_some_items_of_it(site: Site) -> None:
    assert [code for _, code in asked_at(site, "T01")] == ["temp", "do", "flow", "screen", "morts"]
    assert asked_at(site, "T01", ["Oxygen", "temp"]) == (("T01", "do"), ("T01", "temp"))
    assert asked_at(site, "L1") == (("L1", "tan"),)
    emergency(site)
    asked = [slot.item.code for slot in LookWalk(site, asked_at(site, "T01"), "AB").slots]
    assert asked == ["do", "temp", "flow", "screen", "morts"], "what is out of band comes first"
    with pytest.raises(Refusal, match="is no place"):
        asked_at(site, "T99")
    with pytest.raises(Refusal, match="is not asked"):
        asked_at(site, "L1", ["do"])


# ---- the story


def test_a_fouled_screen_that_was_brushed_and_is_clean_is_told_as_it_happened(site: Site) -> None:
    clock_shows(site, "2026-05-10T06:58")
    walk = standing_at(site, "T01", "screen")
    walk.answer("3")
    one = told(site, SCREEN)
    clock_shows(site, "2026-05-10T07:01")
    acting.did(site, "AB", one, one.steps[0].words, 1)
    clock_shows(site, "2026-05-10T07:02")
    look(site, "+", key=SCREEN)
    one = told(site, SCREEN)
    assert one.over
    assert story(one) == [
        "06:58 AB Outlet screen fouled  !! ACT",
        "07:01 AB did: brush it",
        "07:02 AB Outlet screen clean",
    ]
    amended = site.ledger.db.execute("SELECT count(*) FROM entry WHERE amends IS NOT NULL")
    assert amended.fetchone() == (0,), "the fouled entry stays as it was"


def test_an_emergency_is_told_from_the_reading_before_it_to_its_end(site: Site) -> None:
    one = emergency(site)
    clock_shows(site, "2026-05-10T07:01")
    acting.did(site, "AB", one, "clear the screen", 1)
    clock_shows(site, "2026-05-10T07:02")
    call(site, one, reached=True, said="comes at once")
    for at, value in [("07:05", "5.6"), ("07:20", "7.6"), ("07:35", "7.8")]:
        clock_shows(site, f"2026-05-10T{at}")
        look(site, value)
    one = told(site)
    assert one.over
    assert story(one) == [
        "15:04 CD Oxygen 8.3 mg/L",
        "07:00 AB Oxygen 4.2 mg/L  !!! URGENT",
        "07:00 AB Oxygen 4.2 mg/L  !!! URGENT, confirmed",
        "07:01 AB did: clear the screen",
        "07:02 AB called CD reached: comes at once (555-0142)",
        "07:05 AB Oxygen 5.6 mg/L  !! ACT",
        "07:20 AB Oxygen 7.6 mg/L",
        "07:35 AB Oxygen 7.8 mg/L",
    ]
    assert wrong_now(site, site.reader.readings.newest_of_all(), site.now()).wrong == ()


def test_a_look_says_which_way_it_goes_and_when_it_is_back_at_that_rate(site: Site) -> None:
    emergency(site, "4.9", "4.9")
    clock_shows(site, "2026-05-10T07:10")
    look(site, "5.6")
    one = told(site)
    assert incident_words.found(one, trend(one)) == (
        "Oxygen 5.6 mg/L, rising; was 4.9 at 07:00. At this rate 7.0 in about 20 min. "
        "Stays !!! URGENT. Next look 07:15. Call CD: not called yet."
    )


def test_what_is_in_band_but_near_its_edge_says_that_it_does_not_count_yet(tmp_path: Path) -> None:
    wide = PLAN.replace('code = "do"', 'code = "do"\ndeadband = 0.3', 1)
    with opened(tmp_path / "wide", wide) as site:
        emergency(site)
        clock_shows(site, "2026-05-10T07:05")
        look(site, "7.2")
        one = told(site)
        found = incident_words.found(one, trend(one))
        assert "In band, too near its edge to count: stays !!! URGENT." in found
        clock_shows(site, "2026-05-10T07:10")
        look(site, "7.4")
        assert "In band once" in incident_words.found(told(site), None)


def test_the_end_of_the_round_says_what_a_later_look_found(site: Site) -> None:
    """Looks are rounds of their own; a flag that one of them ended is not signed as if it stood."""
    walk = standing_at(site, "T01", "do")
    for typed in ("4.2", "4.2"):
        walk.answer(typed)
    finish(walk)
    for at, value in [("07:20", "7.6"), ("07:35", "7.8")]:
        clock_shows(site, f"2026-05-10T{at}")
        look(site, value)
        rows = [plain([row]) for row in walk_drawn(again(walk), "", 80, 24)]
        [row] = [one for one in rows if "Oxygen 4.2 mg/L" in one and "URGENT" in one]
        assert f"Oxygen 4.2 mg/L at 07:00; {value} at {at}" in row
        assert row.rstrip().endswith(" over") == (value == "7.8")


EVENTS = st.lists(
    st.tuples(st.sampled_from(["read", "done", "call", "words", "late"]), st.integers(0, 30)),
    min_size=1, max_size=12,
)  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(EVENTS)
def test_whatever_happens_in_whatever_order_the_story_is_in_time_order_and_loses_nothing(
    events: list[tuple[str, int]],
) -> None:
    with TemporaryDirectory() as folder, opened(Path(folder) / "room", PLAN) as site:
        one = emergency(site)
        minutes, readings, done, calls = 0, 2, 0, 0
        for what, later in events:
            minutes += later
            clock_shows(site, f"2026-05-10T{7 + minutes // 60:02d}:{minutes % 60:02d}")
            if what == "read":
                look(site, "4.4")
                readings += 1
            elif what == "late":  # typed in now, seen some minutes after it began
                seen_before(site, "T01", "do", 4.3, f"2026-05-10T07:{later % 2:02d}")
                readings += 1
            elif what == "call":
                call(site, one, reached=bool(later % 2))
                calls += 1
            else:
                acting.did(site, "AB", one, one.steps[0].words if what == "done" else "other words")
                done += 1
        one = told(site)
        kinds = [type(line.about) for line in one.story]
        assert (kinds.count(Seen), kinds.count(DoneSeen), kinds.count(CallSeen)) == (
            readings, done, calls,
        )  # fmt: skip
        times = [(line.at.utc, line.n) for line in one.story]
        assert times == sorted(times)
        read = "read" in [what for what, _ in events]
        assert ("Oxygen 4.4 mg/L" in plain(page.draw(one, 80, None))) is read


@pytest.mark.parametrize(
    "size", [(80, 24), (60, 20), (120, 40), (40, 12), (20, 6), (10, 4), (3, 2), (1, 1)]
)
def test_the_page_fills_a_window_of_any_size_from_any_line_of_its_story(
    site: Site, size: tuple[int, int]
) -> None:
    one = emergency(site)
    for minute in range(1, 30):
        clock_shows(site, f"2026-05-10T07:{minute:02d}")
        acting.did(site, "AB", one, f"turned the valve once more, the {minute}. time")
    width, height = size
    for back in (0, 5, 500):
        rows = page.draw(told(site), width, height, back)
        assert [sum(text.width(span.text) for span in row) for row in rows] == [width] * height
    if height >= 24:
        newest = plain(page.draw(told(site), width, height, 0))
        assert "the 29. time" in newest
        assert "more above   up" in newest


# ---- at the screen


def test_an_emergency_is_dealt_with_by_the_number_pad_alone(site: Site) -> None:
    emergency(site)

    async def act(room: Room) -> None:
        await room.press("asterisk")
        assert "!!! URGENT  Oxygen 4.2 mg/L, confirmed, band" in room.text
        assert "NOT CALLED YET" in room.text
        await room.press("1", "1")
        assert "Done 07:00 (AB): clear the screen." in room.flowing
        await room.press("4", "1", "1", "1")
        assert "Call kept 07:00 (AB): CD reached, comes at once." in room.flowing
        clock_shows(site, "2026-05-10T07:05")
        await room.press("enter", *"5.6", "enter")
        assert "Oxygen 5.6 mg/L, rising; was 4.2 at 07:00." in room.flowing
        clock_shows(site, "2026-05-10T07:20")
        await room.press("enter", "1", *"7.6", "enter")
        assert "In band once; one more look in band ends the flag." in room.flowing
        clock_shows(site, "2026-05-10T07:30")
        await room.press("enter", *"7.8", "enter")
        assert "In band: the flag is over." in room.flowing
        assert "Enter back" in room.footer
        await room.press("enter")
        assert "Oxygen" not in room.text.split("TANKS")[0].split("Room")[-1]

    at_the_screen(site, act)
    assert wrong_now(site, site.reader.readings.newest_of_all(), site.now()).wrong == ()


def test_from_the_round_to_a_brushed_screen_and_back_by_the_number_pad(site: Site) -> None:
    standing_at(site, "T01", "flow").answer("2.5")  # the round goes on at the screen

    async def act(room: Room) -> None:
        await room.press("enter", "1")
        assert "Outlet screen \u2500\u2500" in room.text
        await room.press("3", "enter")
        assert "Brush it." in room.text, "the first response is in sight"
        await room.press("enter", "1")
        assert "Done 07:00 (AB): brush it." in room.flowing
        await room.press("enter", "1", "enter")
        assert "Outlet screen clean. In band: the flag is over." in room.flowing
        await room.press("escape")
        assert "Morts \u2500\u2500" in room.text, "back in the round, at what comes next"
        assert "Brush it." not in room.text

    at_the_screen(site, act)
    assert [line.split(" ", 2)[2] for line in story(told(site, SCREEN))] == [
        "Outlet screen fouled  !! ACT",
        "did: brush it",
        "Outlet screen clean",
    ]


def test_a_look_asked_for_by_its_place_says_back_what_it_kept_or_leads_to_its_flag(
    site: Site,
) -> None:
    async def act(room: Room) -> None:
        room.app.look_at(asked_at(site, "T01", ("do", "screen")), "AB", None)
        await room.pilot.pause()
        await room.press(*"8.2", "enter", "slash", "1")
        said = "Kept: T01 Oxygen 8.2 mg/L, in band; T01 Outlet screen not due."
        assert f"{said} Signed by AB at 07:00." in room.flowing
        assert room.page.scope == "board"
        room.app.look_at(asked_at(site, "T01", ("do",)), "AB", None)
        await room.pilot.pause()
        await room.press(*"4.2", "enter", *"4.2", "enter")
        assert room.page.scope == "flag"
        assert "!!! URGENT  Oxygen 4.2 mg/L, confirmed" in room.text

    at_the_screen(site, act)


def test_esc_from_a_look_leads_back_to_its_flag_and_keeps_nothing(site: Site) -> None:
    emergency(site)

    async def act(room: Room) -> None:
        await room.press("asterisk", "enter", "1")
        assert "Look again" in room.text
        await room.press("5", "escape", "escape")
        assert "FLAG  T01 Oxygen" in room.text

    at_the_screen(site, act)
    assert told(site).newest.value == 4.2


def test_a_step_said_by_mistake_is_taken_back_and_both_entries_stay(site: Site) -> None:
    emergency(site)

    async def act(room: Room) -> None:
        await room.press("asterisk", "2", "1", "u", "1")
        assert "Taken back: open the oxygen, 07:00." in room.flowing
        await room.press("u")
        assert "AB entered nothing about this that could be taken back." in room.flowing

    at_the_screen(site, act)
    assert all(step.done is None for step in told(site).steps)
    assert [kind for (kind,) in entries(site)][-2:] == ["done", "void"]


# ---- line by line


def test_a_look_line_by_line_signs_itself_and_then_asks_what_was_done(tmp_path: Path) -> None:
    folder = tmp_path / "room"
    with opened(folder, PLAN) as site:
        emergency(site)
    answers = ["4.4", "1", "4", "1", "1", "2", ""]
    done = tankwalk(
        tmp_path / "home", "look", "T01", "--item", "do", "--plain", "--who", "AB",
        "--site", str(folder), given=typed_lines(answers), now="2026-05-10T07:05",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    said = done.stdout.decode()
    assert "The look is over: 1 kept, signed by AB." in said
    assert "Done 07:05 (AB): clear the screen." in said
    assert "Call kept 07:05 (AB): CD reached, comes later." in said
    ended = tankwalk(
        tmp_path / "home", "look", "T01", "--item", "do", "--plain", "--who", "AB",
        "--site", str(folder), given=b"", now="2026-05-10T07:06",
    )  # fmt: skip
    assert ended.returncode == 1, "the answers ended before a value was given"


def test_in_a_round_line_by_line_a_word_leads_to_the_flag_here(tmp_path: Path) -> None:
    folder = write_plan(tmp_path / "room", PLAN)
    with opened(folder, PLAN) as site:
        emergency(site)
    done = tankwalk(
        tmp_path / "home", "walk", "--plain", "--who", "AB", "--site", str(folder),
        given=typed_lines(["flag", "1", "", "end"]), now="2026-05-10T07:05",
    )  # fmt: skip
    said = done.stdout.decode()
    assert "Done 07:05 (AB): clear the screen." in said
    assert "Go on with the same command." in said


# ---- over


def test_a_flag_that_is_over_is_told_once_more_and_one_that_came_and_went_is_not(
    site: Site,
) -> None:
    one = emergency(site)
    acting.did(site, "AB", one, "clear the screen", 1)
    walk = standing_at(site, "T02", "do")
    walk.answer("6.5")  # a WATCH that nobody read again
    walk.answer("/")
    walk.answer("2")
    for at in ("07:10", "07:30"):
        clock_shows(site, f"2026-05-10T{at}")
        look(site, "8.1")
        look(site, "8.2", key=Key("place", "T02", "do"))
    newest, now = site.reader.readings.newest_of_all(), site.now()
    flags = wrong_now(site, newest, now)
    assert flags.wrong == ()
    found = ended(site, flags, newest, now.utc - 86400, now)
    assert [(each.place, each.item.code, each.flag) for each in found] == [
        ("T01", "do", Flag.URGENT)
    ]
    assert [each.text for each in found[0].others] == ["clear the screen"]
    assert ended(site, flags, newest, now.utc - 60, now) == (), "it is told of one stretch alone"
    assert section(site, "STOCK")[0] == (
        "T01 Oxygen 4.2 mg/L 07:00, over: 8.1 07:30; done: clear the screen 07:00 (AB)"
    )
    over = section(site, "STOCK")[0]
    clock_shows(site, "2026-05-10T07:40")
    drafting.give(site, "AB", GivenPage("the page", ()))
    clock_shows(site, "2026-05-10T07:50")
    assert section(site, "STOCK")[0] == over, "given is not read: the next shift reads it too"
    untaken = site.reader.handovers.last()
    assert untaken is not None
    drafting.take(site, untaken, "CD", "in person")
    assert over not in section(site, "STOCK")


def test_the_page_in_front_is_drawn_once_with_the_bell_when_a_look_comes_due(site: Site) -> None:
    emergency(site)
    rung: list[str] = []

    async def act(room: Room) -> None:
        room.app.bell = lambda: rung.append("bell")  # type: ignore[method-assign]
        assert "in 5 min" in room.text
        room.app._falls_due()
        assert rung == [], "the clock stands still: nothing is due yet"
        room.app._next_moment = site.now()
        clock_shows(site, "2026-05-10T07:05")
        room.app._falls_due()
        await room.pilot.pause()
        assert rung == ["bell"]
        assert "again now" in room.text

    at_the_screen(site, act)
