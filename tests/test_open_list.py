"""What is open, by number: the talk about each thing, on the number pad alone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from page_support import give
from site_support import clock_shows, entries, moment, opened, standing_at
from tankwalk.errors import Refusal
from tankwalk.ledger.follow_up_kinds import FollowUpState, FollowUpWhat, MayClose
from tankwalk.pages import open_list as page
from tankwalk.pages.lines import plain
from tankwalk.practice import open_list, times
from tankwalk.practice.dialog import Asking, Hand
from tankwalk.practice.doing.follow_ups import close, done, open_action, open_altered
from tankwalk.practice.handover import handover_notes
from tankwalk.practice.handover.drafting import take
from tankwalk.practice.open_list import OpenRow, OpenSection
from tankwalk.practice.site import Site
from test_followups import CREW, one
from test_handover import last

FLAGS, ALTERED, DRAFTED, TO_DO, _, ENDED = OpenSection

AB, CD, EF, GH = "1234"
"""The crew by number: technician, lead, study owner, veterinarian."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, CREW) as site:
        yield site


def rows(site: Site) -> list[tuple[OpenSection, str, str]]:
    """The list as the page says it: section, words, terms."""
    seen = open_list.open_list(site)
    return [(r.section, page.said(r), page.terms(r, seen)) for r in seen.rows]


def row(site: Site, words: str) -> OpenRow:
    return next(r for r in open_list.open_list(site).rows if words in page.said(r))


def talk(site: Site, words: str, keys: str) -> Asking:
    """Choose the row with these words, then press these keys; "=" is Enter."""
    chosen = row(site, words)
    return pressed(Asking(open_list.about(site, Hand(), chosen, page.said(chosen))), keys)


def pressed(asking: Asking, keys: str) -> Asking:
    for key in keys:
        assert not asking.over, asking.said
        if key == "=":
            asking.enter()
        else:
            asking.type(key)
    return asking


# ---- the list


def test_the_list_has_flags_then_altered_then_to_do_with_their_terms(site: Site) -> None:
    open_action(site, "AB", "order the part", owner="EF")
    open_altered(site, "AB", "lid off", "T01", moment("2026-05-10T12:00").utc)
    walk = standing_at(site, "T02", "do")
    for typed in ("4.4", "4.5"):
        walk.answer(typed)
    assert rows(site) == [
        (FLAGS, "T02 Oxygen 4.5 mg/L", "standing, since Sun 10 May 07:00"),
        (ALTERED, "T01 lid off", "put back by Sun 10 May 12:00"),
        (TO_DO, "order the part", "EF"),
    ]
    shown = plain(page.draw(open_list.open_list(site), 80))
    assert "  1 !!! URGENT T02 Oxygen 4.5 mg/L" in shown
    assert "  3 order the part" in shown


def test_an_empty_list_says_so_under_each_heading(site: Site) -> None:
    assert rows(site) == []
    shown = plain(page.draw(open_list.open_list(site), 80))
    for words in ("nothing is out of band", "nothing altered", "no open action"):
        assert words in shown
    assert "ENDED" not in shown


def test_what_ended_can_be_taken_up_again_for_a_day(site: Site) -> None:
    n = open_action(site, "AB", "order the part")
    close(site, "AB", n, "it came")
    assert rows(site) == [(ENDED, "order the part", "closed Sun 10 May 07:00 by AB: it came")]
    clock_shows(site, "2026-05-11T07:00")
    assert talk(site, "order", CD + "1").said == "Open again (CD): closed in error."
    assert rows(site) == [(TO_DO, "order the part", "next shift lead, open 3 shifts; CD to decide")]
    close(site, "AB", n, "it came")
    clock_shows(site, "2026-05-12T07:01")
    assert rows(site) == []


def test_what_a_person_wrote_colours_no_row_and_what_is_late_does(
    site: Site,
) -> None:
    open_action(site, "AB", "LATE shift decides: order the part")
    altered = open_altered(site, "AB", "lid off")
    close(site, "AB", altered, "LATE but seen, MV decides")
    walk = standing_at(site, "T02", "do")
    for typed in ("6.5", "6.5"):
        walk.answer(typed)
    talk(site, "T02", "1" + AB + "1" + "0LATE part, MV decides=")
    assert not any(page.late(one) for one in open_list.open_list(site).rows)
    for width in (80, 40):  # the terms beside the words, and below them
        drawn = page.draw(open_list.open_list(site), width)
        assert not any(
            "overdue" in span.text and span.tone == "watch" for row in drawn for span in row
        )
    open_action(site, "AB", "look again", due_at=moment("2026-05-10T06:00").utc)
    assert [page.said(one) for one in open_list.open_list(site).rows if page.late(one)] == [
        "look again"
    ]
    [late] = [
        span
        for row in page.draw(open_list.open_list(site), 80)
        for span in row
        if "overdue 1 h" in span.text
    ]
    assert late.tone == "watch"
    clock_shows(site, "2026-05-11T07:00")
    carried = [one for one in open_list.open_list(site).rows if one.section is TO_DO]
    seen = open_list.open_list(site)
    assert all("; CD to decide" in page.terms(one, seen) for one in carried)
    assert [page.said(one) for one in carried if page.late(one)] == ["look again"]


# ---- an action


def test_an_action_is_done_closed_dropped_given_or_put_off_by_number(site: Site) -> None:
    done_, closed, dropped, given, later = (
        open_action(site, "AB", f"task {word}") for word in ("one", "two", "three", "four", "five")
    )
    assert talk(site, "task one", "1" + AB + "1").said == (
        "Done, says AB. It stays until it is closed."
    )
    assert (one(site, done_).state, one(site, done_).done_by) == (FollowUpState.DONE, "AB")
    assert talk(site, "task two", "2" + AB + "1").said == "Closed by AB: done and seen."
    assert one(site, closed).state is FollowUpState.CLOSED
    assert talk(site, "task three", "3" + CD + "1").said == "Dropped by CD: no longer needed."
    assert one(site, dropped).state is FollowUpState.DROPPED
    assert talk(site, "task four", "4" + AB + EF).said == "It is EF's now."
    assert one(site, given).owner == "EF"
    assert talk(site, "task five", "5" + AB + "2").said == "By Sun 10 May 09:00, set by AB."
    assert one(site, later).due_at == moment("2026-05-10T09:00").utc


def test_what_is_done_can_be_said_not_to_be(site: Site) -> None:
    n = open_action(site, "AB", "clean the drum")
    done(site, "AB", n, "clean")
    assert talk(site, "drum", "1" + CD + "2").said == "Open again (CD): it came back."
    assert one(site, n).state is FollowUpState.NEW


def test_a_reason_may_be_written_with_0_or_begun_with_a_letter(site: Site) -> None:
    n = open_action(site, "AB", "clean the drum")
    talk(site, "drum", "1" + AB + "0 2 brushes worn=")
    assert one(site, n).turns[-1].text == "2 brushes worn"
    talk(site, "drum", "2" + CD + "seen, it turns=")
    assert one(site, n).turns[-1].text == "seen, it turns"


def test_one_who_may_not_close_is_told_who_may_before_any_words(site: Site) -> None:
    n = open_action(site, "AB", "meter B reads high", rule=MayClose.METER)
    before = len(entries(site))
    asking = talk(site, "meter B", "2" + AB)
    assert asking.said == (
        "AB opened it, and a meter matter is closed by somebody else: CD, EF, GH. It stays open."
    )
    assert len(entries(site)) == before
    assert talk(site, "meter B", "2" + CD + "1").said == "Closed by CD: passed its check."
    assert one(site, n).state is FollowUpState.CLOSED


def test_one_who_may_not_close_may_not_let_it_go_either_and_is_told_before_any_words(
    site: Site,
) -> None:
    n = open_action(site, "AB", "meter B reads high", rule=MayClose.METER)
    assert talk(site, "meter B", "3" + AB).said.startswith("AB opened it, and a meter matter")
    assert talk(site, "meter B", "3" + CD + "1").said == "Dropped by CD: no longer needed."
    assert one(site, n).state is FollowUpState.DROPPED


@pytest.mark.parametrize(
    ("keys", "kept"),
    [
        ("1", "no effect seen"),
        ("2", "small effect: the tank stays in"),
        ("3", "an effect: the tank leaves the trial"),
        ("01one meal, guts full=", "no effect seen; one meal, guts full"),
        ("03seen in the census=", "an effect: the tank leaves the trial; seen in the census"),
    ],
)
def test_a_deviation_is_asked_for_its_effect_by_number_and_for_more_only_after_it(
    site: Site, keys: str, kept: str
) -> None:
    n = open_action(site, "AB", "wrong cup in T01", rule=MayClose.DEVIATION)
    assert talk(site, "wrong cup", "2" + CD).over
    asking = talk(site, "wrong cup", "2" + EF)
    asking.type("s")
    assert "s is no choice here" in asking.said, "no words stand for an effect"
    pressed(asking, keys)
    assert asking.said == f"Closed by EF: {kept}."
    assert one(site, n).state is FollowUpState.CLOSED
    assert one(site, n).turns[-1].text == kept


def test_a_time_is_chosen_or_typed_on_the_pad_and_a_wrong_one_asked_again(site: Site) -> None:
    n = open_action(site, "AB", "look again")
    asking = talk(site, "look again", "5" + AB + "02575=")
    assert "'2575' is no time of day" in asking.step.told
    assert pressed(asking, "01630=").said == "By Sun 10 May 16:30, set by AB."
    assert one(site, n).due_at == moment("2026-05-10T16:30").utc


@pytest.mark.parametrize(
    ("typed", "at"),
    [
        ("1630", "2026-05-10T16:30"),
        ("16.30", "2026-05-10T16:30"),
        ("16,30", "2026-05-10T16:30"),
        ("16:30", "2026-05-10T16:30"),
        ("16", "2026-05-10T16:00"),
        ("930", "2026-05-10T09:30"),
        ("0630", "2026-05-11T06:30"),
        ("7", "2026-05-11T07:00"),
        ("700", "2026-05-11T07:00"),
    ],
)
def test_a_typed_time_is_the_next_one_of_that_name(site: Site, typed: str, at: str) -> None:
    assert times.typed(site, typed) == moment(at)


@pytest.mark.parametrize("typed", ["24", "1260", "noon", "16.3", "-1", "12345", "\u0661\u0662"])
def test_what_is_no_time_of_day_is_refused(site: Site, typed: str) -> None:
    with pytest.raises(Refusal, match="is no time of day: type it as 1630"):
        times.typed(site, typed)


def test_times_are_offered_in_hours_at_the_next_round_and_on_later_days(site: Site) -> None:
    assert [words for words, _ in times.choices(site)] == [
        "in 1 h, 08:00", "in 2 h, 09:00", "in 4 h, 11:00", "in 8 h, 15:00",
        "15:00 Afternoon round", "Mon 11 May 12:00", "Tue 12 May 12:00", "Sun 17 May 12:00",
    ]  # fmt: skip
    assert all(when.utc > site.now().utc for _, when in times.choices(site))


# ---- what is altered


def test_what_is_altered_is_put_back_and_closed_at_once(site: Site) -> None:
    n = open_altered(site, "AB", "lid off", "T01")
    assert talk(site, "lid off", "1" + AB + "1").said == "Put back and closed by AB."
    assert one(site, n).state is FollowUpState.CLOSED


def test_what_safety_leans_on_is_put_back_by_one_and_closed_by_another(site: Site) -> None:
    n = open_altered(site, "AB", "alarm shelved", rule=MayClose.SAFETY)
    assert talk(site, "alarm", "1" + CD + "1").said == (
        "Put back, says CD. It stays until it is closed; safety: somebody else than CD closes it."
    )
    assert one(site, n).state is FollowUpState.DONE
    assert talk(site, "alarm", "1" + CD).said.startswith("CD said that it is done")
    assert talk(site, "alarm", "1" + AB + "1").said == "Closed by AB: tested, back in service."
    assert one(site, n).state is FollowUpState.CLOSED


def test_another_undo_by_is_set_and_a_change_may_stay(site: Site) -> None:
    n, m = open_altered(site, "AB", "lid off"), open_altered(site, "AB", "lights on")
    assert talk(site, "lid off", "2" + AB + "1").said == "By Sun 10 May 08:00, set by AB."
    assert one(site, n).due_at == moment("2026-05-10T08:00").utc
    assert talk(site, "lights", "3" + CD + "1").said == "Dropped by CD: it stays so from now on."
    assert one(site, m).state is FollowUpState.DROPPED


# ---- flags


def flagged(site: Site, value: str) -> None:
    walk = standing_at(site, "T02", "do")
    for _ in range(2):
        walk.answer(value)


def test_a_flag_is_shelved_for_a_shift_at_most_and_comes_back_by_hand(site: Site) -> None:
    flagged(site, "6.5")
    asking = talk(site, "T02", "1" + AB)
    assert asking.step.choices == ("1 h", "2 h", "4 h", "8 h"), "days are the lead's"
    pressed(asking, "31")
    assert asking.said == "Shelved until Sun 10 May 11:00 by AB; it comes back by itself."
    assert rows(site) == [
        (FLAGS, "T02 Oxygen 6.5 mg/L", "shelved until Sun 10 May 11:00, known, and worked on (AB)")
    ]
    assert talk(site, "T02", "1" + CD).said == "Back from the shelf (CD)."
    assert rows(site)[0][2] == "standing, since Sun 10 May 07:00"
    assert "7 d" in talk(site, "T02", "1" + CD).step.choices


def test_an_urgent_flag_is_not_shelved(site: Site) -> None:
    flagged(site, "4.4")
    assert "cannot be shelved" in talk(site, "T02", "1" + AB + "11").said


def test_a_flag_is_closed_with_a_reason(site: Site) -> None:
    flagged(site, "6.5")
    assert talk(site, "T02", "2" + AB + "1").said == (
        "Closed by AB: looked: all is well. A new reading out of band raises it again."
    )
    assert rows(site) == []


def test_a_flag_becomes_an_action_and_stands_on(site: Site) -> None:
    flagged(site, "6.5")
    asking = talk(site, "T02", "3" + AB + "=" + "=")
    assert asking.said == "Kept under TO DO. AB wrote it; the flag stands on."
    assert [(s, w) for s, w, _ in rows(site)] == [
        (FLAGS, "T02 Oxygen 6.5 mg/L"), (TO_DO, "T02 Oxygen 6.5 mg/L"),
    ]  # fmt: skip


# ---- new ones


def test_a_new_action_is_written_by_number_alone(site: Site) -> None:
    asking = pressed(Asking(open_list.new_action(site, Hand())), AB + "2" + "1" + EF + "2" + "3")
    assert asking.said == "Kept under TO DO. AB wrote it."
    [kept] = site.reader.follow_ups.open()
    assert (kept.text, kept.place, kept.owner, kept.rule, kept.who) == (
        "clean the screen", "T01", "EF", MayClose.SAFETY, "AB",
    )  # fmt: skip
    assert kept.due_at == moment("2026-05-10T09:00").utc


def test_a_note_of_the_last_day_can_be_made_an_action_where_it_was_made(site: Site) -> None:
    walk = standing_at(site, "T02", "temp")
    for words in ("spray hangs", "lid cracked"):
        walk.note()
        walk.answer(words)
    handover_notes.add_line(site, "AB", "STOCK", "no note of a tank")
    asking = pressed(Asking(open_list.new_action(site, Hand())), AB)
    assert asking.step.choices[6:] == ("note: T02 lid cracked", "note: T02 spray hangs")
    pressed(asking, "8" + CD + "=" + "=")
    assert asking.said == "Kept under TO DO. AB wrote it."
    [kept] = site.reader.follow_ups.open()
    assert (kept.text, kept.place, kept.owner) == ("spray hangs", "T02", "CD")
    assert (kept.about or "").startswith("note ")
    clock_shows(site, "2026-05-11T07:01")
    asking = pressed(Asking(open_list.new_action(site, Hand())), AB)
    assert len(asking.step.choices) == 6, "older notes are not offered"


def test_enter_leaves_place_owner_time_and_kind_open(site: Site) -> None:
    asking = pressed(Asking(open_list.new_action(site, Hand())), AB + "wipe it=====")
    assert asking.said == "Kept under TO DO. AB wrote it."
    [kept] = site.reader.follow_ups.open()
    assert (kept.text, kept.place, kept.owner, kept.due_at, kept.rule) == (
        "wipe it", "site", None, None, MayClose.TASK,
    )  # fmt: skip


def test_a_new_change_says_where_until_when_and_whether_safety_leans_on_it(site: Site) -> None:
    for keys, rule in (("2231", MayClose.SAFETY), ("223=", MayClose.TASK)):
        pressed(Asking(open_list.new_altered(site, Hand())), AB + keys)
        kept = site.reader.follow_ups.open()[-1]
        assert (kept.what, kept.text, kept.place, kept.rule) == (
            FollowUpWhat.ALTERED, "alarm shelved", "T02", rule,
        )  # fmt: skip
        assert kept.due_at == moment("2026-05-10T11:00").utc


# ---- how a talk listens


def test_the_one_who_writes_is_not_asked_again_for_ten_minutes(site: Site) -> None:
    hand = Hand()
    pressed(Asking(open_list.new_action(site, hand)), CD + "1====")
    pressed(Asking(open_list.new_action(site, hand)), "1====")
    clock_shows(site, "2026-05-10T07:11")
    asking = pressed(Asking(open_list.new_action(site, hand)), AB + "1====")
    assert asking.over
    assert [f.who for f in site.reader.follow_ups.open()] == ["CD", "CD", "AB"]


def test_a_signature_is_asked_for_each_time(site: Site) -> None:
    hand = Hand()
    for word in ("one", "two"):
        open_action(site, "AB", f"task {word}")
        about = open_list.about(site, hand, row(site, f"task {word}"), f"task {word}")
        asking = pressed(Asking(about), "2")
        assert asking.step.ask == "Who closes it?"
        pressed(asking, CD + "1")


def test_a_key_that_chooses_nothing_is_told_and_keeps_nothing(site: Site) -> None:
    open_action(site, "AB", "task")
    before = len(entries(site))
    asking = talk(site, "task", "")
    for keys, words in (
        ("9", "There is no number 9 in the list."), ("0", "There is no number 0 in the list."),
        ("x", "x is no choice here: choose by number, or Esc goes back."),
        ("\u00b2", "\u00b2 is no choice here"), ("\u0663", "\u0663 is no choice here"),
        ("=", "Choose by number: nothing is kept by silence."),
    ):  # fmt: skip
        pressed(asking, keys)
        assert words in asking.said
    pressed(asking, "1" + AB + "0=")
    assert asking.said == "Nothing was typed, so nothing is kept."
    assert len(entries(site)) == before


def test_how_a_row_stands_has_a_column_of_its_own_where_the_page_is_wide(site: Site) -> None:
    open_action(site, "AB", "order the part", due_at=moment("2026-05-10T12:00").utc)
    open_action(site, "AB", "T01 " + "look at the screen and the flow " * 3)
    wide = plain(page.draw(open_list.open_list(site), 80)).split("\n")
    at = [row.index("next shift lead") for row in wide if "next shift lead" in row]
    assert len(at) == 2
    assert len(set(at)) == 1
    narrow = plain(page.draw(open_list.open_list(site), 60)).split("\n")
    assert [row for row in narrow if row.startswith("      next shift lead")]


def test_enter_closes_as_the_one_who_has_the_room_and_any_other_by_number(site: Site) -> None:
    give(site, "CD")
    take(site, last(site), "AB", "in person")
    n = open_action(site, "EF", "order the part")
    row = next(r for r in open_list.open_list(site).rows if r.section is TO_DO)
    talk = Asking(open_list.about(site, Hand(), row, page.said(row)))
    talk.type("2")
    assert talk.step.ask == "Who closes it?"
    assert talk.step.enter == "AB, who has the room"
    talk.enter()
    talk.type("1")
    assert talk.said.startswith("Closed by AB")
    assert n not in {one.opened for one in site.reader.follow_ups.open()}
