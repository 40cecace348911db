"""What a second reading confirmed stays: a later look is a look, and a name takes a value back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager
from pathlib import Path

import pytest

from site_support import (
    NOW,
    SMALL,
    clock_shows,
    entries,
    go_to,
    opened,
    readings,
    seen_before,
    standing_at,
    walk_drawn,
    walking,
)
from tankwalk.pages import board as board_page
from tankwalk.pages import handover
from tankwalk.practice.board import board
from tankwalk.practice.handover.drafting import draft
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round.questions import AskAgain, AskCorrection, AskName, AskReason, AskWords
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """Two tanks whose oxygen was good yesterday evening."""
    with opened(tmp_path) as site:
        for tank in ("T01", "T02"):
            seen_before(site, tank, "do", 7.6, "2026-05-09T19:00")
            seen_before(site, tank, "temp", 16.4, "2026-05-09T19:00")
            seen_before(site, tank, "flow", 2.5, "2026-05-09T19:00")
        yield site


def typed(walk: Walk, *answers: str) -> Walk:
    """What a person types, one answer after the other; "up" is the arrow, "u" takes back."""
    for answer in answers:
        if answer == "up":
            walk.move("up")
        elif answer == "u":
            walk.undo()
        else:
            walk.answer(answer)
    return walk


def oxygen(site: Site) -> list[tuple[object, ...]]:
    """Today's oxygen readings that stand."""
    rows = readings(site, "round, item, value, flag, recheck, reason, who")
    return [row[2:] for row in rows if row[0] is not None and row[1] == "do"]


def low_twice(site: Site) -> Walk:
    """Oxygen 4.2 and 4.2 in T01, and the arrow back to it."""
    return typed(standing_at(site, "T01", "do"), "4.2", "4.2", "up")


def test_a_later_look_in_band_takes_nothing_back(site: Site) -> None:
    walk = low_twice(site)
    clock_shows(site, "2026-05-10T07:05")
    reply = typed(walk, "*", "7.5").said
    assert "First reading" not in reply.sentence
    assert reply.sentence.endswith("A later look: 4.2 mg/L stands until it is dealt with.")
    [wrong] = board(site).wrong
    assert (wrong.place, wrong.flag, wrong.state) == ("T01", Flag.URGENT, "in band once")
    [(slot, seen)] = walk.flags()
    assert (slot.item.code, seen.value) == ("do", 4.2)


def test_two_looks_in_band_at_different_times_clear_it(site: Site) -> None:
    walk = low_twice(site)
    for minute, stands in ((5, True), (6, True), (10, False)):
        clock_shows(site, f"2026-05-10T07:{minute:02d}")
        typed(go_to(walk, "T01", "do"), "*", "7.5")
        assert bool(board(site).wrong) == stands
    assert [seen.value for _, seen in walk.flags()] == [4.2]  # the round still tells of it


def test_a_later_look_out_of_band_is_believed_at_once(site: Site) -> None:
    walk = typed(low_twice(site), "*", "4.4")
    assert not isinstance(walk.question, AskAgain)
    assert walk.slot.item.code == "flow"


def test_a_look_that_goes_out_after_one_in_band_is_read_a_second_time(site: Site) -> None:
    walk = typed(standing_at(site, "T01", "do"), "8.0", "*", "6.1")
    assert isinstance(walk.question, AskAgain)
    typed(walk, "6.2")
    assert [seen.value for _, seen in walk.flags()] == [6.2]


def test_a_correction_of_a_confirmed_value_asks_a_reason_and_a_name(site: Site) -> None:
    walk = typed(low_twice(site), "8.2")
    assert isinstance(walk.question, AskCorrection)
    assert walk.question.words == "Oxygen was 4.2 (07:00 AB), confirmed; 8.2 instead. Why?"
    typed(walk, "1")
    assert isinstance(walk.question, AskName)
    assert walk.question.options() == [("1", "AB"), ("2", "CD"), ("3", "EF")]
    assert len(oxygen(site)) == 2
    reply = typed(walk, "2").said
    assert oxygen(site) == [(8.2, "ok", 0, "mis-keyed", "CD")]
    assert reply.sentence.endswith("4.2 stays listed as withdrawn: mis-keyed.")
    assert board(site).wrong == ()


@pytest.mark.parametrize("key", ["", "0", "4", "+", "8.2"])
def test_nobody_named_takes_nothing_back(site: Site, key: str) -> None:
    walk = typed(low_twice(site), "8.2", "1", key)
    assert isinstance(walk.question, AskName)
    assert [row[0] for row in oxygen(site)] == [4.2, 4.2]


def test_a_correction_that_is_as_bad_takes_nothing_back_and_needs_no_name(site: Site) -> None:
    walk = typed(low_twice(site), "4.4", "1")
    assert not isinstance(walk.question, AskName)
    assert oxygen(site) == [(4.2, "urgent", 0, None, "AB"), (4.4, "urgent", 1, "mis-keyed", "AB")]
    assert [seen.value for _, seen in walk.flags()] == [4.4]


@pytest.mark.parametrize("way", [("/",), ("u",)])
def test_taking_a_confirmed_value_back_asks_a_reason_and_a_name_and_it_is_asked_again(
    site: Site, way: tuple[str, ...]
) -> None:
    walk = typed(low_twice(site), *way)
    assert isinstance(walk.question, AskCorrection)
    assert walk.question.words == "Oxygen 4.2 (07:00 AB), confirmed, taken back. Why?"
    assert len(oxygen(site)) == 2
    said = typed(walk, "4", "3").said.sentence
    assert said == (
        "T01 Oxygen 4.2 is withdrawn and stays listed: meter fault, EF. Measure it again."
    )
    assert oxygen(site) == []
    voided = [row for row in entries(site, "kind, reason, who") if row[0] == "void"]
    assert voided == [("void", "meter fault", "EF")] * 2
    assert walk.slot.item.code == "do"


def test_a_first_reading_is_taken_back_without_a_name(site: Site) -> None:
    walk = typed(standing_at(site, "T01", "do"), "4.2", "u")
    assert walk.said.sentence == "Undone: T01 Oxygen 4.2."
    assert oxygen(site) == []


# ---- not taken


def test_other_is_a_reason_in_words(site: Site) -> None:
    walk = typed(standing_at(site, "T01", "do"), "/", "7")
    assert isinstance(walk.question, AskWords)
    assert typed(walk, "").said.sentence.startswith("Nothing was typed, so nothing is kept")
    typed(walk, "probe is in the autoclave")
    rows = readings(site, "item, qualifier, reason")
    assert ("do", "could not", "probe is in the autoclave") in rows


def test_a_reason_not_to_take_fits_what_is_asked(site: Site) -> None:
    alarm = typed(go_to(walking(site), "site", "alarm"), "/").question
    assert isinstance(alarm, AskReason)
    assert [words for _, words in alarm.options()] == [
        "not due today", "not checked, no time", "could not: no access, out of order",
        "unsafe, or the fish come first", "other, in words",
    ]  # fmt: skip


def test_a_whole_stop_is_left_with_one_reason(site: Site) -> None:
    walk = typed(standing_at(site, "T01", "temp"), "16.5", "/", "/")
    assert walk.question is not None
    assert walk.question.words == "Not taken: all 4 still open here. Why?"
    assert typed(walk, "5").said.sentence.startswith("4 not taken: unsafe.")
    rows = [row for row in readings(site, "place, item, qualifier") if row[2]]
    assert {row[0] for row in rows} == {"T01"}
    assert len(rows) == 4
    assert (walk.slot.place, walk.slot.item.code) == ("T02", "temp")


# ---- a filled line


def test_enter_on_a_filled_line_keeps_what_stands_and_goes_on(site: Site) -> None:
    walk = typed(standing_at(site, "T01", "do"), "8.25", "up", "")
    assert walk.said.sentence == "T01 Oxygen 8.25 mg/L stands; nothing was changed."
    assert walk.slot.item.code == "flow"
    assert [row[0] for row in oxygen(site)] == [8.25]


def test_what_is_said_back_has_the_digits_that_were_typed(site: Site) -> None:
    said = typed(standing_at(site, "T01", "temp"), "16.25").said.sentence
    assert said.startswith("T01 Temperature 16.25 degC kept.")


@pytest.mark.parametrize(("answer", "told"), [
    ("17.54", "17.54 degC"),
    ("63.55f", "17.53 degC"),  # 17.528: with one decimal it would read as the limit itself
])  # fmt: skip
def test_a_value_beyond_its_limit_never_reads_as_if_it_were_inside(
    site: Site, answer: str, told: str
) -> None:
    walk = typed(standing_at(site, "T01", "temp"), answer)
    assert walk.question is not None
    assert f"Temperature {told}, band 15.5 - 17.5" in walk.question.words
    typed(walk, answer)
    [wrong] = board(site).wrong
    assert wrong.sentence == f"Temperature {told}"


# ---- thousands


LIGHT = (
    '[[item]]\ncode = "glow"\nlabel = "Light"\nunit = "lux"\ndecimals = 0\nplausible = [0, 5000]\n'
)


def test_what_could_be_thousands_is_asked_with_both_readings(tmp_path: Path) -> None:
    with lit(tmp_path) as site:
        walk = typed(standing_at(site, "T01", "glow"), "1,200")
        assert walk.question is not None
        assert walk.question.words == (
            "1,200 can be read two ways. Which is it? Nothing is kept yet."
        )
        assert [words for key, words in walk.question.options() if key.isdigit()] == [
            "1.20 lux with a decimal mark: ok", "1200 lux in thousands: ok"
        ]  # fmt: skip
        for easy in ("", "+"):
            assert "None is taken by that key" in typed(walk, easy).said.sentence
        typed(walk, "2")
        assert ("T01", "glow", 1200.0) in readings(site)


@pytest.mark.parametrize("answer", ["7.125", "7,125"])
def test_thousands_above_what_is_plausible_are_not_asked_about(tmp_path: Path, answer: str) -> None:
    with lit(tmp_path) as site:
        typed(standing_at(site, "T01", "glow"), answer)
        assert ("T01", "glow", 7.125) in readings(site)


def lit(tmp_path: Path) -> AbstractContextManager[Site]:
    """The small site with a light meter that reads up to 5000 lux."""
    plan = SMALL.replace("[[checklist]]", LIGHT + "[[checklist]]", 1).replace(
        'tank = ["temp", "do", "flow"', 'tank = ["glow", "temp", "do", "flow"'
    )
    return opened(tmp_path / "lit", plan, NOW)


# ---- taken back, and still listed


def test_what_was_taken_back_is_listed_on_the_end_page_the_handover_and_the_board(
    site: Site,
) -> None:
    typed(low_twice(site), "8.2", "1", "2")
    told = "T01 Oxygen 4.2 mg/L, URGENT at 07:00, withdrawn 07:00 by CD: mis-keyed"
    walk = walking(site)
    while not walk.at_end:
        walk.move("right")
    end = " ".join(span.text for row in walk_drawn(walk, "", 120, 40) for span in row)
    assert told in " ".join(end.split())
    assert told in handover.text_of(draft(site))
    assert [one.seen.value for one in board(site).withdrawn] == [4.2]
    page = " ".join(span.text for row in board_page.draw(board(site), 120, 40) for span in row)
    assert told in " ".join(page.split())


@pytest.mark.parametrize("taken_back", [("6.1", "u"), ("6.1", "7.4", "up", "7.6", "1")])
def test_what_was_never_confirmed_is_not_listed_as_withdrawn(
    site: Site, taken_back: tuple[str, ...]
) -> None:
    typed(standing_at(site, "T01", "do"), *taken_back)
    assert board(site).withdrawn == ()


# ---- where one stands


def test_an_arrow_to_another_stop_lands_on_what_is_open_there_and_says_where(site: Site) -> None:
    walk = typed(standing_at(site, "T01", "temp"), "16.5")
    walk.move("right")
    assert walk.said.sentence.startswith("T02, stop 5 of 5: Temperature.")
    walk.move("left")
    assert (walk.slot.place, walk.slot.item.code) == ("T01", "do")
    assert walk.said.sentence.startswith("T01, stop 4 of 5: Oxygen.")
    walk.move("down")
    assert walk.said.sentence == ""


def test_another_meter_between_two_tanks_is_said(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    assert typed(walk, "16.5").said.sentence == "T01 Temperature 16.5 degC kept."
    said = go_to(walk, "T02", "temp").said.sentence
    assert said == "T02, stop 5 of 5: Temperature. Here it is oxygen meter B, not A."


def test_what_somebody_else_read_meanwhile_stands_at_the_prompt(site: Site, tmp_path: Path) -> None:
    walk = standing_at(site, "T01", "do", "AB")
    with opened(tmp_path, laptop="office") as other:
        standing_at(other, "T01", "temp", "CD").answer("16.6")
    clock_shows(site, "2026-05-10T07:02")
    walk.move("up")
    page = " ".join(span.text for row in walk_drawn(walk, "", 80, 24) for span in row)
    assert "CD read 16.6 degC 2 min ago, in this round." in page
