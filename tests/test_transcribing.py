"""A paper round typed in: as it was then, by whom, twice where it matters, and no alarm of now."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import ANSWERS, ASKED_AGAIN, STATION, demo_in
from sheet_support import typed_in
from site_support import GOOD, SMALL, clock_shows, finish, moment, opened, seen_before, walking
from tankwalk import plain_sheet
from tankwalk.errors import Refusal
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.readings import Seen
from tankwalk.pages import story_words
from tankwalk.pages.sheet_words import twice_words
from tankwalk.plan.load import PlanFaults, read_plan
from tankwalk.practice.board import board
from tankwalk.practice.dialog import Hand
from tankwalk.practice.due.all_due import due_rounds
from tankwalk.practice.incidents.incident import CallState, incident
from tankwalk.practice.incidents.owed import looks_due
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.open_rounds import from_paper
from tankwalk.practice.past.view import place_view
from tankwalk.practice.round import rounds
from tankwalk.practice.round.paper_questions import AskSecond, AskStopTime, AskWalker, AskWhich
from tankwalk.practice.round.questions import AskAgain, AskSign
from tankwalk.practice.round.view import StopView
from tankwalk.practice.site import Site, open_site
from tankwalk.practice.tasks import LookDue
from tankwalk.practice.transcribing import beginning
from tankwalk.practice.transcribing.sheet_walk import AS_TYPED, SheetWalk
from terminal import Terminal
from test_screens import Room, at_the_screen

DESK = "2026-05-10T11:00"
"""When the sheet is typed in; the round on it began at 07:00."""


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, SMALL, DESK) as site:
        yield site


def sheet(site: Site, began: str = "2026-05-10T07:00", walker: str = "AB") -> SheetWalk:
    """CD types in the morning round that AB walked on paper."""
    checklist = site.plan.checklist("am")
    found = beginning.begin(site, checklist, walker, "CD", moment(began))
    return SheetWalk(site, found, walker, "CD")


def again(walk: SheetWalk) -> SheetWalk:
    """The same sheet in a program that knows only the record."""
    (found,) = from_paper(walk.desk)
    return beginning.go_on(walk.desk, found, "CD")


def good(walk: SheetWalk) -> dict[tuple[str, str], str]:
    """A sheet on which all is well."""
    return {(s.place, s.item.code): GOOD.get(s.item.code, "+") for s in walk.slots}


def to(walk: SheetWalk, place: str, item: str) -> SheetWalk:
    """Type on, all good, until one item of one place is asked."""
    for _ in typed_in(walk, good(walk), lambda _: "+"):
        if walk.question is None and (walk.slot.place, walk.slot.item.code) == (place, item):
            return walk
    raise AssertionError("not asked")


def through(walk: SheetWalk) -> SheetWalk:
    """Type in the whole sheet, all good."""
    for _ in typed_in(walk, good(walk), lambda _: "+"):
        pass
    return walk


def newest(site: Site, place: str, item: str) -> Seen:
    seen = site.reader.readings.newest(place, item, site.plan.item(item).unit)
    assert seen is not None
    return seen


def test_a_value_from_paper_has_both_times_and_both_people(room: Site) -> None:
    walk = sheet(room)
    assert isinstance(walk.question, AskStopTime)
    walk.answer("0704")
    walk.answer("1")
    seen = newest(room, "T01", "glance")
    assert (seen.who, seen.typist) == ("AB", "CD")
    assert seen.at == moment("2026-05-10T07:04")
    assert seen.late_s == (3 * 60 + 56) * 60
    assert inspect(room.ledger.path).sound


def test_each_stop_has_the_time_of_its_column_or_that_of_the_stop_before(room: Site) -> None:
    walk = to(sheet(room), "site", "alarm")
    walk.answer("1")
    assert isinstance(walk.question, AskStopTime)
    walk.answer("0711")
    walk.answer("0.1")
    assert newest(room, "L1", "tan").at == moment("2026-05-10T07:11")
    assert newest(room, "site", "alarm").at == moment("2026-05-10T07:00")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("2575", "no time of day"),
        ("1101", "still to come"),
        ("0659", "Type it again if the sheet says so"),
        ("", "Nothing was typed"),
    ],
)
def test_a_time_that_can_hardly_be_is_not_taken(room: Site, typed: str, said: str) -> None:
    walk = sheet(room)
    assert said in walk.answer(typed).sentence
    assert isinstance(walk.question, AskStopTime)
    assert not room.reader.paper.stops(walk.round.number)


def test_a_time_before_the_last_one_is_taken_where_it_is_typed_again(room: Site) -> None:
    walk = sheet(room)
    walk.answer("0655")
    walk.answer("0655")
    assert walk.question is None
    assert walk.site.now() == moment("2026-05-10T06:55")


def test_a_round_that_goes_over_midnight_goes_on_on_the_next_day(room: Site) -> None:
    walk = sheet(room, "2026-05-09T23:50")
    walk.answer("+")
    to(walk, "site", "alarm")
    walk.answer("1")
    walk.answer("0005")
    assert walk.site.now() == moment("2026-05-10T00:05")


def test_another_one_s_initials_at_a_stop_are_theirs_from_there_on(room: Site) -> None:
    walk = to(sheet(room), "site", "alarm")
    walk.answer("1")
    walk.answer("-")
    assert isinstance(walk.question, AskWalker)
    walk.answer("3")
    walk.answer("0711")
    walk.answer("0.1")
    assert newest(room, "L1", "tan").who == "EF"
    assert newest(room, "site", "alarm").who == "AB"
    assert again(walk).who == "EF"


def test_what_matters_is_typed_twice_before_one_goes_on_and_nothing_else(room: Site) -> None:
    walk = to(sheet(room), "T01", "morts")
    walk.answer("3")
    assert walk.question == AskSecond(walk.slot, newest(room, "T01", "do"))
    walk.answer("8.4")
    assert walk.question == AskSecond(walk.slot, newest(room, "T01", "morts"))
    walk.answer("3")
    assert isinstance(walk.question, AskStopTime)
    through(walk)
    both = {s.n for s in room.reader.readings.of_round(walk.round.number, walk.round.first)
            if s.item in ("do", "morts", "tan")}  # fmt: skip
    assert room.reader.paper.typed_twice(both | {1, 2, 3}) == both


def test_the_plan_says_what_is_typed_twice(tmp_path: Path) -> None:
    plan = SMALL.replace('code = "temp"', 'code = "temp"\ntwice = true').replace(
        'code = "do"', 'code = "do"\ntwice = false'
    )
    with opened(tmp_path, plan, DESK) as site:
        walk = to(sheet(site), "T01", "morts")
        walk.answer("3")
        assert walk.question == AskSecond(walk.slot, newest(site, "T01", "temp"))
        assert "twice = true" in walk.question.why
        walk.answer(newest(site, "T01", "temp").typed)
        assert walk.question == AskSecond(walk.slot, newest(site, "T01", "morts"))
        walk.answer("3")
        assert isinstance(walk.question, AskStopTime)
        assert twice_words(site.plan).endswith(": Temperature, Morts, TAN.")


def test_what_is_typed_twice_is_said_by_line_where_the_plan_says_it_wrong() -> None:
    plan = SMALL.replace('code = "do"', 'code = "do"\ntwice = "yes"')
    with pytest.raises(PlanFaults) as refused:
        read_plan(plan)
    (fault,) = refused.value.faults
    assert fault.line == plan[: plan.index("twice")].count("\n") + 1
    assert "true or false" in str(fault)
    words = SMALL.replace('code = "screen"', 'code = "screen"\ntwice = true')
    with pytest.raises(PlanFaults, match="twice means nothing for a choice"):
        read_plan(words)


def test_the_first_entry_is_out_of_sight_while_the_second_is_asked(room: Site) -> None:
    walk = to(sheet(room), "T01", "morts")
    walk.answer("3")
    here = walk.view(past=9).here
    assert isinstance(here, StopView)
    assert here.lines[here.at].held == () == here.entry.line.held
    assert newest(room, "T01", "do").n not in {one.n for one in here.entry.past or ()}


def test_a_second_entry_that_differs_is_asked_about_and_corrects_where_it_is_right(
    room: Site,
) -> None:
    walk = to(sheet(room), "T01", "morts")
    walk.answer("3")
    walk.answer("8.5")
    assert isinstance(walk.question, AskWhich)
    assert "8.4, then 8.5" in walk.question.words
    walk.answer("9")
    assert isinstance(walk.question, AskWhich), "no number of the list"
    walk.answer("2")
    seen = newest(room, "T01", "do")
    old = room.reader.readings.seen(seen.amends or 0)
    assert old is not None
    assert (old.value, seen.value, seen.reason, seen.typist) == (8.4, 8.5, "mis-keyed", "CD")
    assert room.reader.paper.typed_twice([seen.n]) == {seen.n}


def test_neither_of_two_entries_is_typed_again(room: Site) -> None:
    walk = to(sheet(room), "T01", "morts")
    for typed in ("3", "8.5", "*"):
        walk.answer(typed)
    assert isinstance(walk.question, AskSecond)
    walk.answer("8.4")
    assert newest(room, "T01", "do").value == 8.4


def test_a_sheet_goes_on_where_it_was_left(room: Site) -> None:
    walk = to(sheet(room), "T01", "morts")
    walk.answer("3")
    walk.answer("8.4")
    resumed = again(walk)
    assert resumed.question == walk.question
    assert resumed.slot.item.code == "morts"
    assert resumed.site.now() == walk.site.now()
    resumed.answer("3")
    assert isinstance(resumed.question, AskStopTime)


def test_what_was_seen_later_is_no_part_of_its_past(room: Site) -> None:
    seen_before(room, "T01", "do", 8.2, "2026-05-09T16:00")
    seen_before(room, "T01", "do", 6.5, "2026-05-10T10:00")
    walk = to(sheet(room), "T01", "do")
    here = walk.view(past=9).here
    assert isinstance(here, StopView)
    assert here.entry.line.before is not None
    assert here.entry.line.before.value == 8.2
    assert [one.value for one in here.entry.past or ()] == [8.2]
    assert walk.answer("8.3").flag == Flag.OK, "no rise of 1.8 since a time to come"


def test_an_urgent_value_of_then_calls_nobody_now_and_is_looked_at_from_now_on(room: Site) -> None:
    walk = to(sheet(room), "T01", "do")
    walk.answer("4.2")
    assert isinstance(walk.question, AskAgain)
    reply = walk.answer("4.1")
    assert "Typed in from paper: it was so at 07:00." in reply.sentence
    assert "Open the oxygen" not in reply.sentence
    assert walk.pinned == ()
    found = incident(room, Key("place", "T01", "do"))
    assert found is not None
    assert (found.flag, found.call.state) == (Flag.URGENT, CallState.NOT_WANTED)
    (due,) = looks_due(room.plan, [found], room.now())
    assert isinstance(due.facts, LookDue)
    assert due.facts.at == moment(DESK)


def test_a_look_of_now_that_is_as_bad_is_to_be_called_about(room: Site) -> None:
    walk = to(sheet(room), "T01", "do")
    for typed in ("4.2", "4.1"):
        walk.answer(typed)
    clock_shows(room, "2026-05-10T11:05")
    live = walking(room, "EF", "pm")
    for typed in ("16.5", "4.0", "4.0"):
        live.answer(typed)
    found = incident(room, Key("place", "T01", "do"))
    assert found is not None
    assert found.call.state is CallState.NOT_CALLED


def test_looks_that_followed_on_the_day_have_ended_its_flag(room: Site) -> None:
    for when in ("2026-05-10T09:00", "2026-05-10T10:00"):
        seen_before(room, "T01", "do", 8.4, when)
    walk = to(sheet(room), "T01", "do")
    for typed in ("6.5", "6.5"):
        walk.answer(typed)
    assert not [one for one in board(room).wrong if one.key.item == "do"]


def test_a_second_value_that_is_not_on_the_sheet_is_said_by_one_key(room: Site) -> None:
    walk = to(sheet(room), "T01", "do")
    walk.answer("6.5")
    assert isinstance(walk.question, AskAgain)
    walk.answer("/")
    assert walk.question is None
    assert walk.slot.item.code == "flow"


def test_the_signature_says_that_it_was_typed_in_and_by_whom(room: Site) -> None:
    walk = through(sheet(room))
    assert isinstance(walk.question, AskSign)
    assert AS_TYPED in walk.question.words
    assert "Sign as CD" in walk.question.words
    assert walk.answer("+").sentence == "Signed by CD at 11:00."
    (found,) = room.reader.rounds.newest()
    assert (found.who, found.signed_by, found.typist) == ("AB", "CD", "CD")
    row = room.ledger.db.execute("SELECT meaning FROM round WHERE event = 'sign'").fetchone()
    assert row == (AS_TYPED,)


def test_it_cannot_be_signed_before_everything_that_matters_was_typed_twice(room: Site) -> None:
    walk = to(sheet(room), "T02", "morts")
    walk.answer("3")
    while walk.question is None or not walk.at_end:
        walk.move("right")
        if isinstance(walk.question, AskSecond):
            break
    assert isinstance(walk.question, AskSecond)
    assert not walk.signed


def test_the_round_of_its_day_is_done_late_and_no_longer_due(room: Site) -> None:
    assert "Morning round" in {one.facts.label for one in due_rounds(room, room.now())}  # type: ignore[union-attr]
    through(sheet(room)).answer("+")
    assert "Morning round" not in {one.facts.label for one in due_rounds(room, room.now())}  # type: ignore[union-attr]


def test_nobody_who_walks_now_is_led_into_a_sheet(room: Site) -> None:
    sheet(room)
    assert rounds.unsigned(room, room.plan.checklist("am"), room.now()) is None


def test_who_is_about_to_walk_a_round_is_told_that_it_is_typed_in(room: Site) -> None:
    async def act(screen: Room) -> None:
        await screen.press("plus")
        assert "Choose yourself by number" not in screen.flowing
        assert (
            "This round is being typed in from paper by CD, begun 07:00: - goes on there."
            in screen.flowing
        )
        await screen.press("minus")
        assert "walked by AB: 0 typed in, not signed." in screen.flowing
        await screen.press("enter", "2")
        assert screen.page.scope == "walk"
        assert "its time on the sheet" in screen.text
        await screen.press("escape")
        assert screen.page.scope == "board"

    sheet(room)
    at_the_screen(room, act)


def setup(site: Site, *answers: str) -> tuple[SheetWalk | None, list[str]]:
    """The questions before a sheet, answered line by line."""
    said: list[str] = []
    begun: list[SheetWalk] = []

    def talk() -> beginning.Setup:
        walk = yield from beginning.setup(site, Hand(), site.plan.checklist("am"))
        assert isinstance(walk, SheetWalk)
        begun.append(walk)
        return walk

    from tankwalk.plain_flag import talked

    talked(talk(), iter(answers), said.append)  # type: ignore[arg-type]
    return (begun[0] if begun else None), said


def test_a_sheet_is_begun_by_round_walker_typist_and_time(room: Site) -> None:
    finish(walking(room, "EF", "am")).answer("+")
    walk, said = setup(room, "1", "1", "2", "2500", "0702")
    assert walk is not None
    assert said[0].startswith(
        "Which round is on the sheet? None of these is signed. "
        "1 Morning round, yesterday, Sat 9 May; 2 Morning round, Fri 8 May;"
    )
    assert walk.round.opened == moment("2026-05-09T07:02")
    assert (walk.who, walk.typist) == ("AB", "CD")
    assert any("no time of day" in one for one in said)


def test_a_time_long_before_that_of_the_round_is_asked_for_once_more(room: Site) -> None:
    walk, said = setup(room, "1", "1", "2", "0130", "0130")
    assert walk is not None
    assert walk.round.opened == moment("2026-05-10T01:30")
    assert sum("is long before" in one for one in said) == 1


def test_a_sheet_that_was_begun_is_offered_first(room: Site) -> None:
    walk = to(sheet(room), "site", "alarm")
    resumed, said = setup(room, "", "2")
    assert resumed is not None
    assert resumed.round.number == walk.round.number
    assert "walked by AB: 2 typed in, not signed." in said[0]


def test_a_round_begun_at_the_laptop_goes_on_from_its_sheet(tmp_path: Path) -> None:
    with opened(tmp_path, SMALL, "2026-05-10T07:00") as site:
        live = walking(site, "AB")
        live.answer("1")
        clock_shows(site, DESK)
        walk, said = setup(site, "1", "", "3", "2")
        assert walk is not None
        assert walk.round.number == live.round.number
        assert "begun at the laptop at 07:00 by AB" in said[1]
        through(walk).answer("+")
        assert newest(site, "T01", "glance").typist is None
        assert newest(site, "T02", "glance").typist == "CD"
        assert newest(site, "T02", "glance").who == "EF"


def test_only_rounds_that_may_have_been_walked_and_nobody_signed_are_offered(room: Site) -> None:
    labels = [(one.label, day.day) for one, day in beginning.missing(room)]
    assert labels[:3] == [("Morning round", 10), ("Afternoon round", 9), ("Morning round", 9)]
    clock_shows(room, "2026-05-10T12:00")
    assert beginning.missing(room)[0][0].label == "Afternoon round", "three hours before its time"


def test_a_round_that_is_signed_takes_no_sheet(tmp_path: Path) -> None:
    with opened(tmp_path, SMALL, "2026-05-10T07:00") as site:
        finish(walking(site, "AB")).answer("+")
        with pytest.raises(Refusal, match="is signed, 07:00 by AB"):
            beginning.begun_that_day(site, site.plan.checklist("am"), site.now().day)


def test_a_note_and_what_was_taken_back_are_marked_as_well(room: Site) -> None:
    walk = to(sheet(room), "T01", "temp")
    walk.note()
    walk.answer("on the back: lid cracked")
    walk.answer("16.4")
    walk.undo()
    marked = room.ledger.db.execute(
        "SELECT kind, who, typist FROM transcriptions WHERE kind IN ('note', 'void') ORDER BY n"
    ).fetchall()
    assert marked == [("note", "AB", "CD"), ("void", "AB", "CD")]


def test_a_round_of_the_demo_is_typed_in_whole(tmp_path: Path) -> None:
    site = open_site(demo_in(tmp_path), STATION, "2026-05-10T09:30")
    site.ledger.db.execute("PRAGMA synchronous = OFF")
    checklist = site.plan.checklist("am")
    began = moment("2026-05-10T06:50")
    walk = SheetWalk(site, beginning.begin(site, checklist, "PB", "JQ", began), "PB", "JQ")
    typed = sum(1 for _ in typed_in(walk, dict(ANSWERS), lambda _: "+"))
    assert walk.answer("+").sentence == "Signed by JQ at 09:30."
    twice = {"do", "morts", "tan", "no2n"}
    wanted = sum(1 for (_, item), answer in ANSWERS if item in twice and answer[0] != "/")
    why = sum(answer[0] == "/" for _, answer in ANSWERS)
    stops = len(walk.agenda.pages)
    assert typed == len(ANSWERS) + why + stops + wanted + len(ASKED_AGAIN)
    assert inspect(site.ledger.path).sound
    site.close()


def test_a_sheet_line_by_line(tmp_path: Path) -> None:
    with opened(tmp_path, SMALL, DESK) as site:
        said: list[str] = []
        answers = ["1", "1", "2", "0700", "0704", "1", "1", "end"]
        assert plain_sheet.transcribe(site, iter(answers), said.append, "am", None) == 1
        assert "Morning round of Sun 10 May 07:00 from paper" in "\n".join(said)
        assert "typed in by CD" in "\n".join(said)
        assert any("what time does the sheet say?" in one for one in said)
        assert said[-1].startswith("Stopped. 2 of 14 are kept.")


def test_a_sheet_that_was_cut_off_loses_nothing_and_goes_on_there(tmp_path: Path) -> None:
    site = demo_in(tmp_path)
    program = [sys.executable, "-m", "tankwalk", "--site", str(site), "--now", "2026-05-10T09:30"]
    program += ["transcribe", "am", "--who", "JQ"]
    env = {"TANKWALK_HOME": str(tmp_path)}
    with Terminal(program, env, (80, 24)) as terminal:
        terminal.wait("Which round is on the sheet?", 60)
        terminal.press("1", "5", *"0650", "enter")
        terminal.wait("its time on the sheet")
        terminal.press(*"0651", "enter", "+", "+")
        terminal.wait("T02 Glance: ok kept.")
        terminal.kill(signal.SIGKILL)
    with Terminal(program, env, (80, 24)) as terminal:
        terminal.wait("walked by PB: 2 typed in, not signed.", 60)
        terminal.press("enter")
        terminal.wait("2 of 12 seen")
        assert "FROM PAPER  PB, typed in by JQ" in terminal.text()
        assert "Sun 10 May  06:51" in terminal.text()


def test_a_round_on_paper_is_found_on_the_list_of_pages_and_esc_leads_back_there(
    room: Site,
) -> None:
    async def act(pad: Room) -> None:
        await pad.press("0", "minus")
        assert pad.text.startswith(" FROM PAPER")
        await pad.press("escape")
        assert pad.text.startswith(" PAGES")
        await pad.press("plus", "minus")
        assert pad.text.startswith(" FROM PAPER")
        await pad.press("escape")
        assert "Who is doing this round?" in pad.text

    at_the_screen(room, act)


# ---- a dose that stands on a sheet

SALTED = (
    SMALL
    + """
[[product]]
code = "SALT"
label = "salt"
kind = "salt"
"""
)


@pytest.fixture
def salted(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, SALTED, DESK) as site:
        yield site


def dosed(site: Site, *answers: str) -> list[str]:
    """A dose typed in line by line: no round, CD types, today, AB gave it, 07:30, salt, T01, g."""
    said: list[str] = []
    before = ("0", "2", "1", "1", "0730", "1", "1", "1")
    plain_sheet.transcribe(site, iter((*before, *answers)), said.append, None, None)
    return said


def test_a_dose_from_paper_is_typed_twice_and_marked_with_both_times_and_people(
    salted: Site,
) -> None:
    said = dosed(salted, "300", "300")
    assert said[-1] == "Kept: 300 g salt into T01, 07:30, AB; both entries agree (CD)."
    (seen,) = salted.reader.doses.newest("salt", "T01")
    assert (seen.amount, seen.unit, seen.who, seen.typist) == (300, "g", "AB", "CD")
    assert seen.at == moment("2026-05-10T07:30")
    assert salted.reader.paper.typed_twice([seen.n]) == {seen.n}
    told = [story_words.told(one, "T01").whole for one in place_view(salted, "T01", 14).story]
    assert any("300 g salt in, transcribed by CD" in one for one in told), told
    assert inspect(salted.ledger.path).sound
    assert "the amount of a dose" in twice_words(salted.plan)


def test_two_amounts_that_differ_are_asked_about(salted: Site) -> None:
    said = dosed(salted, "300", "30", "0", "300", "3000", "1")
    assert any("300, then 30. Look at the sheet: which?" in one for one in said)
    assert [one.amount for one in salted.reader.doses.newest("salt", "T01")] == [300]


def test_an_amount_unlike_the_usual_is_kept_only_where_the_sheet_says_so(salted: Site) -> None:
    dosed(salted, "300", "300")
    said = dosed(salted, "3000", "3000", "1")
    assert any("this is 10 times as much" in one for one in said), said
    assert [one.amount for one in salted.reader.doses.newest("salt", "T01")] == [300]
    dosed(salted, "3000", "3000", "2")
    assert [one.amount for one in salted.reader.doses.newest("salt", "T01")] == [3000, 300]


def test_a_dose_is_typed_in_by_the_number_pad_alone(salted: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("plus", "minus", "0", "2", "1", "1", *"0730", "enter", "1", "1", "1")
        await room.press(*"300", "enter", *"300", "enter")
        assert "Kept: 300 g salt into T01, 07:30, AB" in room.flowing

    at_the_screen(salted, act)
    assert [one.typist for one in salted.reader.doses.newest("salt", "T01")] == ["CD"]
