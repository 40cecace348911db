"""The handover: five sections from the record, given by one person and taken by another."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

import demo_support
from page_support import give, section, section_of
from site_support import (
    SEAL,
    SMALL,
    clock_shows,
    entries,
    finish,
    go_to,
    moment,
    opened,
    seen_before,
    sign,
    standing_at,
    walking,
)
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, FollowUp, JudgedAs, Reading
from tankwalk.ledger.follow_up_kinds import FollowUpEvent
from tankwalk.ledger.handovers import HandoverSeen
from tankwalk.pages import paper
from tankwalk.pages.handover import room, said, text_of, under
from tankwalk.pages.room_words import with_whom
from tankwalk.practice.board import board
from tankwalk.practice.doing.follow_ups import open_action
from tankwalk.practice.handover.drafting import HandoverDraft, draft, take
from tankwalk.practice.handover.handover_notes import (
    SECTIONS,
    add_after,
    add_line,
    note_untaken,
    take_back,
)
from tankwalk.practice.judging.standing import flags
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.round.looks import LookWalk
from tankwalk.practice.site import Site
from weighing_support import PLAN as TWELVE

WITH_A_LEAD = SMALL.replace('initials = "CD"\n', 'initials = "CD"\nduty = "lead"\n', 1)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, SMALL) as site:
        yield site


def last(site: Site) -> HandoverSeen:
    found = site.reader.handovers.last()
    assert found is not None
    return found


# ---- the five sections


def test_an_untouched_room_has_all_five_sections(site: Site) -> None:
    page = draft(site)
    assert tuple(s.name for s in page.sections) == SECTIONS
    assert SECTIONS == ("STOCK", "TASKS", "ALTERED", "TO DO", "EXPECT")
    assert section(site, "ALTERED") == ["nothing altered"]
    assert section(site, "TO DO") == ["no open action"]
    assert section(site, "EXPECT") == ["nothing special expected"]
    assert page.last is None


def test_a_quiet_day_says_that_all_tanks_are_steady(site: Site) -> None:
    seen_before(site, "site", "generator", 0, "2026-05-09T19:00")
    sign(walking(site))
    assert section(site, "STOCK") == ["2 of 2 tanks steady"]
    assert section(site, "TASKS") == [
        "15:00 Afternoon round: in 8 h",
        "Morning round signed 07:00 by AB",
    ]


def test_a_tank_nobody_looked_at_is_not_called_steady(site: Site) -> None:
    seen_before(site, "T01", "temp", 16.5, "2026-05-10T06:00")
    seen_before(site, "T02", "temp", 16.5, "2026-05-09T06:00")
    assert section(site, "STOCK") == [
        "not looked at for a day or longer: T02",
        "1 of 2 tanks steady",
    ]


def test_stock_names_the_tanks_that_are_not_steady_worst_first_and_the_notes(
    site: Site,
) -> None:
    walk = standing_at(site, "T01", "do")
    for typed in ("6.6", "6.7"):
        walk.answer(typed)
    go_to(walk, "T02", "do")
    for typed in ("4.4", "4.5"):
        walk.answer(typed)
    walk.note()
    walk.answer("larvae at [the] surface")
    finish(walk)
    assert section(site, "STOCK") == [
        "T02 !!! URGENT  Oxygen 4.5 mg/L at 07:00",
        "T02 nobody is on call by the plan: NOT CALLED YET; Oxygen at T02 again by 07:05, in 5 min",
        "T01 ! WATCH  Oxygen 6.7 mg/L at 07:00",
        "T02 note 07:00 AB: larvae at [the] surface",
        "0 of 2 tanks steady",
    ]


def test_expect_says_what_to_do_if_it_is_still_out_and_whom_to_phone(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    for typed in ("18.0", "18.1"):
        walk.answer(typed)
    assert section(site, "EXPECT") == ["if T01 Temperature is still out: Check the heater."]
    go_to(walk, "T02", "do")
    for typed in ("4.4", "4.5"):
        walk.answer(typed)
    assert section(site, "EXPECT") == [
        "if T02 Oxygen is still out: Open the oxygen, stop the feed.",
        "if T01 Temperature is still out: Check the heater.",
        "Phone Ruth, 555-0100, day and night",
    ]


def test_tasks_name_each_gap_once_with_its_places_and_reason(site: Site) -> None:
    seen_before(site, "site", "generator", 0, "2026-05-09T19:00")
    walk = walking(site)
    for tank in ("T01", "T02"):
        go_to(walk, tank, "flow")
        walk.answer("/")
        walk.answer("3")
    go_to(walk, "T01", "do")
    for typed in ("6.1", "/", "5"):
        walk.answer(typed)
    assert section(site, "TASKS") == [
        "07:00 Morning round: begun 07:00 by AB, not signed",
        "T01 look at Oxygen again: 09:00, in 2 h",
        "15:00 Afternoon round: in 8 h",
        "not taken: Flow, T01, T02 (could not)",
        "not taken: Oxygen second reading, T01 (unsafe)",
    ]
    clock_shows(site, "2026-05-10T07:20")
    LookWalk(site, (("T02", "flow"),), "AB").answer("3.3")
    assert "not taken: Flow, T01 (could not)" in section(site, "TASKS"), "T02 was read since"


def test_tasks_tell_what_is_overdue_and_what_was_never_signed(site: Site) -> None:
    walking(site)
    clock_shows(site, "2026-05-11T09:30")
    nobody, *rest = section(site, "TASKS")
    assert nobody.startswith("Nobody entered anything: for 26 h 30 min")
    assert [line for line in rest if not line.startswith("Missed")] == [
        "07:00 Morning round: overdue 2 h 30 min",
        "Morning round: begun Sun 10 May 07:00 by AB, never signed",
        "15:00 Afternoon round: in 5 h 30 min",
    ]


def test_altered_says_where_what_and_until_when(site: Site) -> None:
    now = site.now()
    ends = moment("2026-05-10T06:00").utc
    site.record(
        Entry("follow-up", "AB", now, now, "T01"),
        FollowUp("altered", "open", "lid off", due_at=ends),
    )
    site.record(
        Entry("follow-up", "AB", now, now, "site"), FollowUp("altered", "open", "lights on")
    )
    assert section(site, "ALTERED") == [
        "T01 lid off (put back by Sun 10 May 06:00, overdue 1 h, new from AB)",
        "lights on (no end set, new from AB)",
    ]


def test_to_do_says_who_by_when_and_for_how_many_shifts_it_was_carried(site: Site) -> None:
    now = site.now()
    opened_n = open_action(site, "ab", "order the part")
    ends = moment("2026-05-10T12:00").utc
    site.record(
        Entry("follow-up", "AB", now, now, "T02"),
        FollowUp("action", "open", "change the probe", owner="CD", due_at=ends),
    )
    assert section(site, "TO DO") == [
        "order the part (next shift lead, new from AB)",
        "T02 change the probe (CD, by Sun 10 May 12:00, new from AB)",
    ]
    give(site, "AB")
    take(site, last(site), "CD", "in person")
    clock_shows(site, "2026-05-11T07:00")
    assert section(site, "TO DO") == [
        "order the part (next shift lead, open 3 shifts; the lead to decide)",
        "T02 change the probe (CD, by Sun 10 May 12:00, overdue 19 h, open 3 shifts; "
        "the lead to decide)",
    ]
    later = site.now()
    site.record(
        Entry("follow-up", "CD", later, later, "site"),
        FollowUp("action", "close", "done", opened=opened_n),
    )
    assert len(section(site, "TO DO")) == 1


@pytest.mark.parametrize("words", ["", "  ", "\x1b\x07", "\u202e"])
def test_an_action_of_nothing_is_not_kept(site: Site, words: str) -> None:
    with pytest.raises(Refusal, match="Nothing was typed, so no action is kept"):
        open_action(site, "AB", words)
    assert entries(site) == []


def test_an_action_is_kept_without_what_could_drive_a_terminal(site: Site) -> None:
    open_action(site, "AB", "order \x1b[31m[red]the\u202e part\n", "T01")
    assert section(site, "TO DO") == ["T01 order [31m[red]the part (next shift lead, new from AB)"]


def tones(site: Site, name: str) -> list[str]:
    page = draft(site)
    return [one.tone for one in said(page.section(name), page.now)]


def test_a_line_stands_out_by_its_flag_and_its_lateness_and_by_no_word_of_a_person(
    site: Site,
) -> None:
    walk = standing_at(site, "T01", "do")
    for typed in ("4.4", "4.5"):
        walk.answer(typed)
    walk.note()
    walk.answer("LATE feed, !! look")
    add_line(site, "AB", "STOCK", "! LATE was never taken")
    add_line(site, "AB", "TO DO", "the LATE shift was never taken into account")
    assert tones(site, "STOCK") == ["urgent", "plain", "plain", "plain", "plain", "plain"]
    assert tones(site, "TO DO") == ["plain"]
    open_action(site, "AB", "look again", due_at=moment("2026-05-10T06:00").utc)
    assert tones(site, "TO DO") == ["plain", "watch"]
    give(site, "AB")
    give(site, "CD")
    assert tones(site, "TASKS")[0] == "watch", "a handover that nobody took"
    html = paper.handover(draft(site), SEAL)
    assert "<li>T01 note 07:00 AB: LATE feed, !! look</li>" in html
    assert '<li class="flag"><span class="box"></span>look again (' in html


# ---- how far back


def test_a_draft_goes_back_a_day_or_to_the_last_handover_if_that_is_longer_ago(
    site: Site,
) -> None:
    assert draft(site).since == moment("2026-05-09T07:00")
    give(site, "AB")
    clock_shows(site, "2026-05-10T15:00")
    assert draft(site).since == moment("2026-05-09T15:00")
    clock_shows(site, "2026-05-12T07:00")
    assert draft(site).since == moment("2026-05-10T07:00")


def test_a_note_from_before_the_draft_begins_is_not_told_again(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.note()
    walk.answer("larvae on the wall")
    assert any("larvae on the wall" in line for line in section(site, "STOCK"))
    clock_shows(site, "2026-05-11T07:01")
    assert not any("larvae on the wall" in line for line in section(site, "STOCK"))


# ---- giving and taking


def test_what_is_given_is_the_page_as_it_was_read(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    page = draft(site)
    walk.answer("8.0")
    give(site, "ab", page)
    given = last(site)
    assert given.text == text_of(page)
    assert given.text.startswith(
        "HANDOVER Test room, 2026-05-10T07:00-05:00, since Sat 9 May 07:00\nSTOCK\n  "
    )
    assert [line for line in given.text.splitlines() if line in SECTIONS] == list(SECTIONS)
    assert dict(given.gist) == {
        name: section_of(page, name)[0] for name in ("STOCK", "ALTERED", "EXPECT")
    }
    assert (given.who, given.taken) == ("AB", None)


def test_a_handover_says_how_long_it_waits_on_its_page_and_on_the_board(site: Site) -> None:
    give(site, "AB")
    for when, waits, late in (
        ("07:00", "not accepted yet", ""),
        ("07:45", "NOT ACCEPTED for 45 min", ", 45 min ago"),
    ):
        clock_shows(site, f"2026-05-10T{when}")
        assert room(draft(site)) == f"Given Sun 10 May 07:00 by AB, {waits}."
        seen = board(site)
        told = with_whom(seen.handover, seen.now).text
        assert told == f"not taken over: AB gave it 07:00{late}"


def test_the_minute_responsibility_passed_is_kept_with_who_and_how(site: Site) -> None:
    give(site, "AB")
    clock_shows(site, "2026-05-10T07:12")
    assert take(site, last(site), "cd", "face to face") == moment("2026-05-10T07:12")
    taken = last(site)
    assert (taken.who, taken.taken_by, taken.how) == ("AB", "CD", "face to face")
    assert taken.taken == moment("2026-05-10T07:12")


def test_a_handover_is_taken_once(site: Site) -> None:
    give(site, "AB")
    waiting = last(site)
    take(site, waiting, "CD", "face to face")
    before = len(entries(site))
    for given in (waiting, last(site)):  # as seen before, and as it is now
        with pytest.raises(Refusal, match=r"^CD took this handover at Sun 10 May 07:00 already"):
            take(site, given, "EF", "by phone")
    assert len(entries(site)) == before
    assert last(site).taken_by == "CD"


def test_two_terminals_that_take_the_room_at_once_give_it_to_one(
    site: Site, tmp_path: Path
) -> None:
    give(site, "AB")
    waiting = last(site)
    with opened(tmp_path, laptop="office") as other:
        take(other, last(other), "EF", "by phone")
    with pytest.raises(Refusal, match="EF took this handover"):
        take(site, waiting, "CD", "face to face")


def test_an_older_handover_is_not_taken_when_a_newer_one_was_given(site: Site) -> None:
    give(site, "AB")
    old = last(site)
    clock_shows(site, "2026-05-10T07:30")
    give(site, "CD")
    with pytest.raises(Refusal, match=r"CD gave a newer handover at Sun 10 May 07:30"):
        take(site, old, "EF", "by phone")
    take(site, last(site), "EF", "by phone")


def test_a_new_handover_after_a_taken_one_waits_to_be_taken(site: Site) -> None:
    give(site, "AB")
    take(site, last(site), "CD", "face to face")
    give(site, "CD")
    assert last(site).taken is None
    take(site, last(site), "AB", "face to face")
    assert last(site).taken_by == "AB"


def test_nobody_outside_the_plan_gives_or_takes_the_room(site: Site) -> None:
    with pytest.raises(Refusal, match="'ZZ' is not among the people of the plan"):
        give(site, "ZZ")
    give(site, "AB")
    with pytest.raises(Refusal, match="'ZZ' is not among the people of the plan"):
        take(site, last(site), "ZZ", "by phone")
    assert last(site).taken is None


def test_the_same_record_drafts_the_same_page(site: Site, tmp_path: Path) -> None:
    sign(walking(site))

    def read() -> HandoverDraft:
        with opened(tmp_path, laptop="office") as other:
            return draft(other)

    assert read() == draft(site)
    assert text_of(read()) == text_of(draft(site))


# ---- lines of one's own


@pytest.mark.parametrize("name", ["STOCK", "TASKS", "EXPECT"])
def test_a_line_of_ones_own_stands_in_its_section_and_in_what_is_given(
    site: Site, name: str
) -> None:
    add_line(site, "ab", name, "look at the [blue] hose")
    assert "AB adds: look at the [blue] hose" in section(site, name)
    assert sum("hose" in line for name in SECTIONS for line in section(site, name)) == 1
    give(site, "AB")
    assert f"{name}\n" in last(site).text
    assert "  AB adds: look at the [blue] hose" in last(site).text.split("\n")
    assert not any("hose" in line for line in section(site, "STOCK") if "note" in line)


def test_a_line_under_stock_stands_above_the_count_of_steady_tanks(site: Site) -> None:
    add_line(site, "AB", "STOCK", "T01 hangs at the wall")
    assert section(site, "STOCK")[-2:] == ["AB adds: T01 hangs at the wall", "0 of 2 tanks steady"]


def test_a_line_under_to_do_or_altered_is_carried_over_until_it_is_closed(site: Site) -> None:
    add_line(site, "AB", "TO DO", "order the part")
    add_line(site, "AB", "ALTERED", "lid off", moment("2026-05-10T12:00").utc)
    assert section(site, "TO DO") == ["order the part (next shift lead, new from AB)"]
    assert section(site, "ALTERED") == ["lid off (put back by Sun 10 May 12:00, new from AB)"]
    give(site, "AB")
    take(site, last(site), "CD", "in person")
    clock_shows(site, "2026-05-12T07:00")
    assert section(site, "TO DO") == [
        "order the part (next shift lead, open 6 shifts; the lead to decide)"
    ]


def test_a_line_stays_on_the_page_until_somebody_takes_it(site: Site) -> None:
    add_line(site, "AB", "EXPECT", "if the drum stops: restart it")
    give(site, "AB")
    clock_shows(site, "2026-05-11T07:00")
    assert "AB adds: if the drum stops: restart it" in section(site, "EXPECT")
    give(site, "CD")
    assert "AB adds: if the drum stops: restart it" in last(site).text, "nobody read it yet"
    take(site, last(site), "EF", "read alone")
    assert not any("adds" in line for line in section(site, "EXPECT"))
    words = "EXPECT: AB adds: if the drum stops: restart it"
    assert under(draft(site)) == [("ON THE PAGE THAT WAS TAKEN", [words])], (
        "the one who took the page can read it again"
    )
    assert text_of(draft(site)).endswith(f"ON THE PAGE THAT WAS TAKEN\n  {words}")
    give(site, "EF")
    assert draft(site).read == ()


def test_the_last_line_is_taken_back_and_the_record_keeps_both(site: Site) -> None:
    add_line(site, "AB", "STOCK", "one")
    add_line(site, "AB", "TO DO", "two")
    add_line(site, "AB", "EXPECT", "three")
    assert [take_back(site, "AB") for _ in range(3)] == ["three", "two", "one"]
    assert section(site, "TO DO") == ["no open action"]
    assert not any("adds" in line for name in SECTIONS for line in section(site, name))
    before = len(entries(site))
    with pytest.raises(Refusal, match="No line of one's own is on this page"):
        take_back(site, "AB")
    assert len(entries(site)) == before
    kinds = [kind for (kind,) in entries(site)]
    assert (kinds.count("note"), kinds.count("void"), kinds.count("follow-up")) == (2, 2, 2)
    assert [t.event for f in site.reader.follow_ups.ended(0) for t in f.turns] == [
        FollowUpEvent.OPEN, FollowUpEvent.DROP,
    ]  # fmt: skip


def test_a_line_of_a_page_that_was_given_is_not_taken_back(site: Site) -> None:
    add_line(site, "AB", "STOCK", "one")
    give(site, "AB")
    with pytest.raises(Refusal, match="No line of one's own"):
        take_back(site, "AB")


@pytest.mark.parametrize(
    ("name", "words", "told"),
    [
        ("WEATHER", "rain", "The page has no section 'WEATHER'"),
        ("STOCK", " \x1b", "Nothing was typed, so no line is kept"),
        ("TO DO", "", "Nothing was typed, so no action is kept"),
    ],
)
def test_a_line_of_nothing_or_for_no_section_is_not_kept(
    site: Site, name: str, words: str, told: str
) -> None:
    with pytest.raises(Refusal, match=told):
        add_line(site, "AB", name, words)
    assert entries(site) == []


# ---- what is added after giving


def test_for_half_an_hour_the_giver_adds_under_the_page_with_time_and_initials(
    site: Site,
) -> None:
    give(site, "AB")
    clock_shows(site, "2026-05-10T07:30")
    add_after(site, "ab", "the key hangs in the feed room")
    words = "Sun 10 May 07:30 AB: the key hangs in the feed room"
    assert under(draft(site)) == [("ADDED AFTER GIVING", [words])]
    assert last(site).text.count("key") == 0, "what was given is as it was given"
    assert text_of(draft(site)).endswith(f"ADDED AFTER GIVING\n  {words}")
    clock_shows(site, "2026-05-10T07:31")
    before = len(entries(site))
    with pytest.raises(Refusal, match="Only for 30 min after giving"):
        add_after(site, "AB", "and the lamp")
    assert len(entries(site)) == before


def test_only_the_one_who_gave_the_page_adds_to_it(site: Site) -> None:
    with pytest.raises(Refusal, match="Only for 30 min after giving"):
        add_after(site, "AB", "too early")
    give(site, "AB")
    with pytest.raises(Refusal, match="AB gave this page, so AB adds to it"):
        add_after(site, "CD", "me too")
    assert draft(site).added == ()


def test_what_was_added_is_there_for_the_one_who_took_the_room(site: Site) -> None:
    give(site, "AB")
    take(site, last(site), "CD", "in person")
    clock_shows(site, "2026-05-10T07:10")
    add_after(site, "AB", "the key hangs in the feed room")
    assert len(draft(site).added) == 1
    clock_shows(site, "2026-05-10T15:00")
    give(site, "CD")
    assert "the key hangs in the feed room" in last(site).text
    take(site, last(site), "EF", "in person")
    assert draft(site).added == ()


def test_what_was_added_can_be_taken_back(site: Site) -> None:
    give(site, "AB")
    add_after(site, "AB", "the key hangs in the feed room")
    assert take_back(site, "AB") == "the key hangs in the feed room"
    assert draft(site).added == ()


# ---- handovers nobody took


def never_taken(site: Site) -> list[str]:
    return [line for line in section(site, "TASKS") if "was never taken" in line]


def test_a_handover_that_nobody_took_is_listed_when_the_next_one_was_given(site: Site) -> None:
    give(site, "AB")
    assert never_taken(site) == [], "it waits"
    clock_shows(site, "2026-05-10T15:00")
    give(site, "CD")
    assert never_taken(site) == ["handover Sun 10 May 07:00 by AB was never taken"]
    assert [u.given.who for u in board(site).never_taken] == ["AB"]
    clock_shows(site, "2026-05-24T07:00")
    assert len(never_taken(site)) == 1
    clock_shows(site, "2026-05-24T07:01")
    assert never_taken(site) == [], "fourteen days on it is no longer listed"


def test_the_lead_notes_it_and_the_board_no_longer_says_so(tmp_path: Path) -> None:
    with opened(tmp_path, WITH_A_LEAD) as site:
        give(site, "AB")
        clock_shows(site, "2026-05-10T15:00")
        give(site, "AB")
        with pytest.raises(Refusal, match=r"The lead notes this \(CD\), not EF"):
            note_untaken(site, "EF", "spoken")
        clock_shows(site, "2026-05-11T09:00")
        note_untaken(site, "cd", "spoken with both")
        assert never_taken(site) == [
            "handover Sun 10 May 07:00 by AB was never taken; noted Mon 11 May 09:00 by CD: "
            "spoken with both"
        ]
        assert board(site).never_taken == ()
        with pytest.raises(Refusal, match="There is no handover that nobody took"):
            note_untaken(site, "CD", "again")
        give(site, "EF")
        clock_shows(site, "2026-05-11T15:00")
        give(site, "AB")
        assert [u.given.who for u in board(site).never_taken] == ["AB", "EF"], "new ones"


def test_where_the_plan_names_no_lead_anyone_notes_it(site: Site) -> None:
    give(site, "AB")
    give(site, "AB")
    note_untaken(site, "EF", "spoken")
    assert board(site).never_taken == ()


def test_the_demo_lists_the_sunday_that_was_never_taken(tmp_path: Path) -> None:
    demo = demo_support.opened(tmp_path)
    try:
        assert never_taken(demo) == ["handover Sun 3 May 16:10 by PB was never taken"]
        assert [u.given.at.short() for u in board(demo).never_taken] == ["Sun 3 May 16:10"]
        note_untaken(demo, "MV", "spoken with both")
        assert board(demo).never_taken == ()
    finally:
        demo.close()


# ---- what else stands on the page


def test_a_shelved_flag_stands_under_altered_with_its_end_and_its_reason(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    for typed in ("6.5", "6.5"):
        walk.answer(typed)
    [flag] = wrong_now(site, site.reader.readings.newest_of_all(), site.now()).wrong
    flags.shelve(site, flag, "CD", moment("2026-05-10T12:00"), "the probe is old")
    assert section(site, "ALTERED") == [
        "T01 flag shelved until Sun 10 May 12:00: Oxygen 6.5 mg/L, the probe is old (CD)"
    ]
    assert section(site, "STOCK")[-1] == "0 of 2 tanks steady", "out of sight is not steady"


def test_no_more_than_ten_things_are_told_to_be_expected(tmp_path: Path) -> None:
    with opened(tmp_path / "twelve", TWELVE) as site:
        at = site.now()

        def read(tank: str, item: str, value: float, flag: int = 0) -> None:
            entry = Entry("reading", "AB", at, at, tank, item, site.plan.item(item).unit)
            site.record(entry, Reading(value, f"{value:g}", flag=flag))

        for tank in site.plan.tanks:
            read(tank.code, "do", 8.6)
            read(tank.code, "level", 8.0)
        for nth, tank in enumerate(site.plan.tanks):
            read(tank.code, *(("do", 6.5), ("level", 10.5))[nth % 2], flag=2)
            assert len(section(site, "EXPECT")) == min(nth + 1, 10)


def test_a_value_that_was_asked_about_as_copied_stands_on_the_page_until_it_is_read_again(
    site: Site,
) -> None:
    walk = walking(site)
    now = site.now()
    entry = Entry("reading", "AB", now, now, "T01", "flow", "L/min", walk.round.number)
    alike = JudgedAs("unchanged", "the same to the last digit 4 times: is it really read?")
    site.record(entry, Reading(3.5, "3.5", flag=1), alike)
    asked = "the same to the last digit, not read again since: T01 Flow 3.5 L/min"
    assert asked in section(site, "TASKS")
    site.record(entry, Reading(3.6, "3.6", recheck=True))
    assert not [line for line in section(site, "TASKS") if "same to the last digit" in line]


def test_another_question_about_a_value_is_no_question_of_copying(site: Site) -> None:
    now = site.now()
    entry = Entry("reading", "AB", now, now, "T01", "flow", "L/min", walking(site).round.number)
    site.record(entry, Reading(3.5, "3.5", flag=1), JudgedAs("tank up", "Flow up 0.5"))
    assert not [line for line in section(site, "TASKS") if "same to the last digit" in line]
