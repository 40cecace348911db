"""Walking a round: what is typed at a tank, what is asked back, and what the record then holds."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from site_support import (
    BRACKETS,
    again,
    clock_shows,
    entries,
    finish,
    go_to,
    good_answer,
    moment,
    newest_round,
    opened,
    readings,
    seen_before,
    sign,
    standing_at,
    walking,
)
from tankwalk.ledger.readings import Seen
from tankwalk.practice.board import board
from tankwalk.practice.judging.standing.life import looks_of
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round import rounds
from tankwalk.practice.round.questions import (
    WRONG_TANK,
    AskAgain,
    AskCorrection,
    AskLimit,
    AskProblem,
    AskReason,
    AskSign,
    AskSlip,
    AskWords,
    menu,
)
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site

EVENING = "2026-05-09T19:00"


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """Two tanks as they were seen yesterday evening, and nothing of today."""
    with opened(tmp_path) as site:
        for tank in ("T01", "T02"):
            seen_before(site, tank, "temp", 16.4, EVENING)
            seen_before(site, tank, "do", 7.6, EVENING)
            seen_before(site, tank, "flow", 2.5, EVENING)
        yield site


def asked(walk: Walk) -> str:
    """The words of what is asked now; "" where simply the next value is wanted."""
    return "" if walk.question is None else walk.question.words


def today(site: Site, columns: str = "place, item, value, typed") -> list[tuple[object, ...]]:
    """Readings of rounds that hold now, without those of yesterday evening."""
    return [row[1:] for row in readings(site, f"round, {columns}") if row[0] is not None]


def here(walk: Walk) -> tuple[str, str]:
    return walk.slot.place, walk.slot.item.code


# ---- a value


def test_a_good_value_is_kept_said_and_the_next_item_asked(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    reply = walk.answer("16.5")
    assert reply.sentence == "T01 Temperature 16.5 degC kept."
    assert reply.understood
    assert reply.flag is Flag.OK
    assert today(site) == [("T01", "temp", 16.5, "16.5")]
    assert here(walk) == ("T01", "do")
    assert walk.question is None


def test_a_reading_is_kept_with_its_meter_band_round_and_both_times(site: Site) -> None:
    standing_at(site, "T02", "temp").answer("16.5")
    [row] = today(site, "instrument, band, who, round, observed_local, flag, recheck")
    assert row[0] == "B"
    assert '"watch_above":17.5' in str(row[1])
    assert '"source":"our plan"' in str(row[1])
    assert row[2:] == ("AB", 1, "2026-05-10 07:00:00", "ok", 0)


def test_the_plan_that_judged_is_in_the_record_before_the_first_reading(site: Site) -> None:
    standing_at(site, "T01", "temp").answer("16.5")
    kinds = [kind for (kind,) in entries(site)]
    assert kinds.count("plan") == 1
    assert kinds.index("plan") < kinds.index("reading")


def test_a_decimal_comma_is_a_decimal_point(site: Site) -> None:
    standing_at(site, "T01", "temp").answer("16,6")
    assert today(site) == [("T01", "temp", 16.6, "16,6")]


def test_a_unit_typed_after_the_number_is_turned_and_kept_as_typed(site: Site) -> None:
    standing_at(site, "T01", "temp").answer("62f")
    [row] = today(site, "value, typed, typed_unit")
    assert row == (pytest.approx(16.667, abs=0.001), "62f", "degF")


def test_the_items_own_unit_typed_after_the_number_is_kept_with_the_words_alone(
    site: Site,
) -> None:
    standing_at(site, "T01", "temp").answer("16.6 degC")
    assert today(site, "value, typed, typed_unit") == [(16.6, "16.6 degC", None)]


def test_68f_is_20_degrees_and_out_of_band(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    reply = walk.answer("68f")
    assert today(site, "value, typed, typed_unit, flag") == [(20.0, "68f", "degF", "act")]
    assert reply.flag is Flag.ACT
    assert isinstance(walk.question, AskAgain)


def test_an_empty_enter_keeps_nothing_and_says_so(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    for typed in ("", "   ", "\t"):
        reply = walk.answer(typed)
        assert reply.sentence.startswith("Nothing was typed, so nothing is kept.")
        assert here(walk) == ("T01", "temp")
    assert today(site) == []


@pytest.mark.parametrize(
    "typed", ["sixteen", "1.6.5", "16 5", "16.5 mg/L", "1e400", "--16", "[red]16", "16;"]
)
def test_what_is_no_number_stays_on_the_line_to_be_mended(site: Site, typed: str) -> None:
    walk = standing_at(site, "T01", "temp")
    reply = walk.answer(typed)
    assert not reply.understood
    assert reply.sentence.endswith(".")
    assert reply.flag is Flag.CHECK
    assert here(walk) == ("T01", "temp")
    assert today(site) == []


def test_plus_does_not_stand_for_a_number(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    assert walk.answer("+").sentence == (
        "+ does not stand for a number: type Temperature, or / if it was not taken."
    )
    assert today(site) == []


def test_a_count_is_whole_and_not_below_zero(site: Site) -> None:
    walk = standing_at(site, "T01", "morts")
    assert not walk.answer("2.5").understood
    assert not walk.answer("-2").understood
    assert today(site) == []
    walk.answer("2")
    assert today(site) == [("T01", "morts", 2.0, "2")]


# ---- a slip


IN_F = "62.1 degC cannot be Temperature: it is -1 to 35 degC. Nothing is kept yet."


def test_a_temperature_in_fahrenheit_is_met_by_name_and_kept_as_meant_by_its_number(
    site: Site,
) -> None:
    walk = standing_at(site, "T01", "temp")
    before = len(entries(site))
    walk.answer("62.1")
    assert asked(walk) == IN_F
    assert isinstance(walk.question, AskSlip)
    assert walk.question.options()[0] == (
        "2", "16.7 degC if it was read in degF: ok, in 15.5 - 17.5"
    )  # fmt: skip
    assert len(entries(site)) == before
    walk.answer("2")
    [row] = today(site, "value, typed, typed_unit, flag")
    assert row == (pytest.approx(16.72, abs=0.005), "62.1", "degF", "ok")
    assert here(walk) == ("T01", "do")


def test_star_and_the_number_again_after_what_cannot_be_keeps_that_instead(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("62.1")
    assert walk.answer("*").sentence == "Not kept. Measure again, and type it in degC."
    walk.answer("16.7")
    assert today(site, "value, typed, typed_unit") == [(16.7, "16.7", None)]


@pytest.mark.parametrize("item", ["temp", "flow"])
def test_the_easy_keys_choose_nothing_at_a_slip_and_say_so(site: Site, item: str) -> None:
    walk = standing_at(site, "T01", item)
    walk.answer("62.1" if item == "temp" else "0.66")
    asks = asked(walk)
    for typed in ("", "+", "-"):
        assert walk.answer(typed).sentence.startswith("None is taken by that key: press ")
        assert asked(walk) == asks
    assert today(site) == []


@pytest.mark.parametrize("typed", ["3", "9", "0", "16.7", "x", "62.1"])
def test_at_a_slip_a_number_is_typed_only_after_star(site: Site, typed: str) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("62.1")
    assert walk.answer(typed).sentence.endswith("A number is typed after *.")
    assert asked(walk) == IN_F
    assert today(site) == []


def test_what_cannot_be_is_not_kept_however_often_it_is_typed(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    for typed in ("62.1", "1", "*", "62.1", "*", "62.1"):
        walk.answer(typed)
        assert isinstance(walk.question, AskSlip) is (typed != "*")
    assert today(site) == []


def test_the_keys_offered_at_a_slip_are_those_that_answer_it(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("62.1")
    assert isinstance(walk.question, AskSlip)
    assert [key for key, _ in walk.question.options()] == ["2", "*", "/"]
    go_to(walk, "T01", "flow").answer("0.66")
    assert isinstance(walk.question, AskSlip)
    assert [key for key, _ in walk.question.options()] == ["1", "2", "*", "/"]


def test_a_slip_may_end_as_not_taken(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("62.1")
    walk.answer("/")
    walk.answer("3")
    assert today(site, "value, qualifier") == [(None, "could not")]
    assert here(walk) == ("T01", "do")


def test_a_flow_in_gallons_shows_both_readings_and_what_each_would_mean(site: Site) -> None:
    walk = standing_at(site, "T01", "flow")
    walk.answer("0.66")
    assert asked(walk) == (
        "0.66 L/min is far from its last, 2.5. Which is it? Nothing is kept yet."
    )
    assert isinstance(walk.question, AskSlip)
    assert walk.question.options() == [
        ("1", "0.66 L/min as typed: below 1.75, ACT"),
        ("2", "2.5 L/min if it was read in gal/min: ok, in 2.1 - 2.9 (measure again first)"),
        ("*", "measure again"),
        ("/", "not taken"),
    ]
    assert today(site) == []


@pytest.mark.parametrize("key", ["2", "*"])
def test_a_guess_that_would_clear_a_flag_is_never_kept_by_its_key_but_measured_again(
    site: Site, key: str
) -> None:
    walk = standing_at(site, "T01", "flow")
    walk.answer("0.66")
    reply = walk.answer(key)
    assert reply.sentence == (
        "0.66 L/min is kept as the first reading. Measure again, and type it in L/min."
    )
    assert reply.flag is Flag.ACT
    assert today(site, "value, typed, typed_unit, flag") == [(0.66, "0.66", None, "act")]
    assert isinstance(walk.question, AskAgain)
    assert walk.answer("2.5").sentence == (
        "T01 Flow 2.5 L/min kept. First reading 0.66; both recorded."
    )
    assert walk.flags() == ()


def test_as_typed_at_a_slip_is_kept_and_asks_a_second_reading(site: Site) -> None:
    walk = standing_at(site, "T01", "flow")
    walk.answer("0.66")
    reply = walk.answer("1")
    assert today(site, "value, typed, typed_unit, flag") == [(0.66, "0.66", None, "act")]
    assert reply.flag is Flag.ACT
    assert asked(walk) == ("!! ACT Flow 0.66 L/min, band 2.1 - 2.9. Measure again.")
    assert isinstance(walk.question, AskAgain)


def test_a_second_reading_that_agrees_is_not_asked_about_the_slip_again(site: Site) -> None:
    walk = standing_at(site, "T01", "flow")
    for typed in ("0.66", "*", "0.7"):
        walk.answer(typed)
    assert today(site, "value, recheck") == [(0.66, 0), (0.7, 1)]
    assert here(walk) == ("T01", "screen")


def test_a_first_value_that_is_out_of_band_has_nothing_to_be_a_slip_of(site: Site) -> None:
    walk = standing_at(site, "L1", "tan")
    walk.answer("0.7")
    assert isinstance(walk.question, AskAgain)
    assert today(site, "value, flag") == [(0.7, "watch")]


def test_percent_typed_for_oxygen_is_met_with_what_it_means_at_this_temperature(
    site: Site,
) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.answer("81")
    # EN 25814 gives 9.78 mg/L at 16.5 degC; at 260 m (737 mmHg) 81 % of it is 7.67.
    assert isinstance(walk.question, AskSlip)
    assert walk.question.options()[0] == (
        "2", "7.7 mg/L if it was % of saturation: ok, in >= 7.0"
    )  # fmt: skip
    walk.answer("2")
    assert today(site, "item, value, typed")[1] == ("do", pytest.approx(7.67, abs=0.02), "81")


def test_a_limit_of_the_kit_that_cannot_be_is_asked_and_stays_a_limit(site: Site) -> None:
    seen_before(site, "L1", "tan", 0.2, EVENING)
    walk = standing_at(site, "L1", "tan")
    walk.answer("<20")
    assert isinstance(walk.question, AskSlip)
    assert walk.question.options()[0] == (
        "2", "< 0.20 mg/L as N if the decimal point is misplaced: ok, in <= 0.50"
    )  # fmt: skip
    assert today(site) == []
    walk.answer("2")
    assert today(site, "value, qualifier") == [(0.2, "<")]


# ---- a second reading


def test_low_oxygen_asks_a_second_reading_and_keeps_both(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    reply = walk.answer("6.1")
    assert reply.flag is Flag.WATCH
    assert asked(walk) == (
        "! WATCH Oxygen 6.1 mg/L, band >= 7.0, fell 1.5 since last (12 h, 0.12/h); "
        "at this rate 6.0 in about 48 min. Measure again."
    )
    assert here(walk) == ("T01", "do")
    second = walk.answer("6.2")
    assert today(site, "value, flag, recheck") == [(6.1, "watch", 0), (6.2, "watch", 1)]
    assert second.sentence == (
        "! WATCH T01 Oxygen 6.2 mg/L, band >= 7.0, fell 1.4 since last (12 h, 0.12/h); "
        "at this rate 6.0 in about 1 h 43 min. "
        "First reading 6.1; both recorded. First: Open the oxygen, stop the feed."
    )
    assert here(walk) == ("T01", "flow")


def test_a_second_reading_in_band_says_what_the_first_was(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("6.1")
    reply = walk.answer("7.4")
    assert reply.sentence == "T01 Oxygen 7.4 mg/L kept. First reading 6.1; both recorded."
    assert today(site, "value, flag, recheck") == [(6.1, "watch", 0), (7.4, "ok", 1)]
    assert walk.flags() == ()


def test_an_empty_enter_does_not_stand_for_the_second_reading(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("6.1")
    assert walk.answer("").sentence.startswith("Nothing was typed: the second reading is still")
    assert isinstance(walk.question, AskAgain)
    assert len(today(site)) == 1


def test_no_second_reading_needs_a_reason_and_leaves_the_flag(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("6.1")
    walk.answer("/")
    assert asked(walk) == "No second reading: Oxygen. Why?"
    walk.answer("3")
    assert today(site, "value, qualifier, recheck") == [(6.1, None, 0), (None, "could not", 1)]
    assert here(walk) == ("T01", "flow")
    [(slot, seen)] = walk.flags()
    assert (slot.place, seen.value) == ("T01", 6.1)


def test_esc_does_not_leave_a_second_reading_that_is_wanted(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("6.1")
    assert walk.back() is False
    assert isinstance(walk.question, AskAgain)
    walk.answer("/")
    assert walk.back() is True
    assert isinstance(walk.question, AskAgain)


def test_coming_back_to_a_wanted_second_reading_asks_for_it_again(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("6.1")
    walk.move("down")
    assert walk.question is None
    walk.move("up")
    assert isinstance(walk.question, AskAgain)


def test_many_dead_are_counted_again(site: Site) -> None:
    walk = standing_at(site, "T01", "morts")
    walk.answer("14")
    assert asked(walk) == "! WATCH Morts 14, band <= 10. Count again."


def test_a_second_reading_may_be_a_slip_too(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("19.5")
    walk.answer("62.1")
    assert asked(walk) == IN_F
    walk.answer("2")
    assert today(site, "typed, typed_unit, recheck") == [("19.5", None, 0), ("62.1", "degF", 1)]


def test_star_measures_the_last_item_again_and_keeps_both(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("8.0")
    walk.answer("*")
    assert asked(walk) == "Oxygen was 8.0. Measure again; both are kept."
    assert here(walk) == ("T01", "do")
    walk.answer("8.1")
    assert today(site, "value, recheck") == [(8.0, 0), (8.1, 1)]
    assert here(walk) == ("T01", "flow")


def test_star_before_anything_was_measured_has_nothing_to_measure_again(site: Site) -> None:
    walk = walking(site)
    assert walk.answer("*").sentence == "There is nothing to measure again yet."


def test_star_on_a_ticked_item_takes_a_later_look_and_keeps_both(site: Site) -> None:
    walk = standing_at(site, "T01", "screen")
    walk.answer("3")
    walk.answer("*")
    assert here(walk) == ("T01", "screen")
    assert isinstance(walk.question, AskAgain)
    walk.answer("1")
    assert today(site, "typed, flag, recheck") == [("fouled", "act", 0), ("clean", "ok", 1)]
    [(slot, seen)] = walk.flags()
    assert (slot.item.code, seen.typed) == ("screen", "fouled")


# ---- a choice


def test_plus_takes_the_word_that_is_all_right(site: Site) -> None:
    walk = standing_at(site, "T01", "screen")
    assert walk.answer("+").sentence == "T01 Outlet screen: clean kept."
    assert today(site, "value, typed, flag") == [(0.0, "clean", "ok")]


@pytest.mark.parametrize(
    ("typed", "word"), [("1", "clean"), ("2", "cleaned"), ("3", "fouled"), ("Fouled", "fouled")]
)
def test_a_choice_is_made_by_its_number_or_its_word(site: Site, typed: str, word: str) -> None:
    standing_at(site, "T01", "screen").answer(typed)
    assert today(site, "typed") == [(word,)]


def test_a_bad_word_is_flagged_with_its_first_response_and_not_asked_twice(site: Site) -> None:
    walk = standing_at(site, "T01", "screen")
    reply = walk.answer("3")
    assert reply.flag is Flag.ACT
    assert reply.sentence == "!! ACT T01 Outlet screen: fouled. First: Brush it now."
    assert here(walk) == ("T01", "morts")


@pytest.mark.parametrize("typed", ["0", "4", "17", "foul", "1.0", "\u0661", "9" * 5000])
def test_what_is_no_word_of_the_choice_is_refused_with_the_list(site: Site, typed: str) -> None:
    walk = standing_at(site, "T01", "screen")
    reply = walk.answer(typed)
    assert reply.sentence == ("Outlet screen takes one of: 1 clean, 2 cleaned, 3 fouled; + is 1.")
    assert not reply.understood
    assert today(site) == []


def test_minus_lists_what_can_be_wrong_and_the_notes_each_with_a_number(site: Site) -> None:
    walk = standing_at(site, "T01", "screen")
    walk.answer("-")
    assert isinstance(walk.question, AskProblem)
    assert walk.question.options() == [
        ("1", "clean"),
        ("2", "cleaned"),
        ("3", "fouled"),
        ("4", 'note "siphoned late"'),
        ("5", 'note "feeder refilled"'),
        ("0", "write a note"),
    ]
    walk.answer("3")
    assert today(site, "typed, flag") == [("fouled", "act")]


@pytest.mark.parametrize("typed", ["", "7", "+", "-", "x", "9" * 5000])
def test_a_key_that_is_not_in_the_list_of_problems_keeps_nothing(site: Site, typed: str) -> None:
    walk = standing_at(site, "T01", "screen")
    walk.answer("-")
    assert walk.answer(typed).sentence.startswith("Press one of the numbers listed")
    assert isinstance(walk.question, AskProblem)
    assert today(site) == []


# ---- five different things


def test_zero_not_looked_not_due_could_not_and_below_detection_are_five_things(
    site: Site,
) -> None:
    walk = standing_at(site, "L1", "tan")
    for typed in ("/", "6", "0.05"):
        walk.answer(typed)
    go_to(walk, "T01", "temp")
    for typed in ("/", "2"):
        walk.answer(typed)
    go_to(walk, "T01", "flow")
    for typed in ("/", "3"):
        walk.answer(typed)
    go_to(walk, "T01", "screen")
    for typed in ("/", "1"):
        walk.answer(typed)
    go_to(walk, "T01", "morts").answer("0")
    assert today(site, "item, value, qualifier") == [
        ("tan", 0.05, "<"),
        ("temp", None, "not looked"),
        ("flow", None, "could not"),
        ("screen", None, "not due"),
        ("morts", 0.0, None),
    ]


@pytest.mark.parametrize(
    ("key", "word"),
    [
        ("1", "not due"),
        ("2", "not looked"),
        ("3", "could not"),
        ("4", "no fish"),
        ("5", "unsafe"),
    ],
)
def test_not_taken_has_a_reason_by_number(site: Site, key: str, word: str) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("/")
    assert asked(walk) == "Not taken: Temperature. Why?"
    assert menu(walk.question)
    assert walk.answer(key).sentence == f"T01 Temperature not taken: {word}."
    assert today(site, "value, qualifier") == [(None, word)]
    assert here(walk) == ("T01", "do")


@pytest.mark.parametrize("typed", ["", "0", "8", "+", "16.5"])
def test_a_reason_is_one_of_the_numbers_listed(site: Site, typed: str) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("/")
    assert walk.answer(typed).sentence.startswith("Press one of the numbers listed")
    assert isinstance(walk.question, AskReason)
    assert today(site) == []


def test_below_detection_asks_what_the_kit_can_see_and_keeps_the_limit(site: Site) -> None:
    walk = standing_at(site, "L1", "tan")
    walk.answer("/")
    walk.answer("6")
    assert isinstance(walk.question, AskLimit)
    assert not walk.answer("").understood
    assert today(site) == []
    assert walk.answer("0,05").sentence == "L1 TAN < 0.05 mg/L as N kept."
    assert today(site, "value, typed, qualifier") == [(0.05, "0,05", "<")]


@pytest.mark.parametrize("typed", ["0", "-1", "<0"])
def test_a_kit_that_sees_below_nothing_is_refused(site: Site, typed: str) -> None:
    walk = standing_at(site, "L1", "tan")
    walk.answer("/")
    walk.answer("6")
    assert not walk.answer(typed).understood
    assert isinstance(walk.question, AskLimit)
    assert today(site) == []


def test_below_detection_may_be_typed_as_it_is_written(site: Site) -> None:
    standing_at(site, "L1", "tan").answer("<0.05")
    assert today(site, "value, typed, qualifier, flag") == [(0.05, "0.05", "<", "ok")]


def test_a_ticked_item_has_no_detection_limit(site: Site) -> None:
    walk = standing_at(site, "T01", "screen")
    walk.answer("/")
    assert isinstance(walk.question, AskReason)
    assert "6" not in [key for key, _ in walk.question.options()]
    assert walk.answer("6").sentence.startswith("Press one of the numbers listed")


# ---- corrections and undo


def test_arrow_up_value_and_reason_correct_and_the_old_value_stays(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    clock_shows(site, "2026-05-10T07:04")
    walk.move("up")
    walk.answer("16.8")
    assert asked(walk) == "Temperature was 16.5 (07:00 AB); 16.8 instead. Why?"
    assert len(today(site)) == 1
    walk.answer("1")
    assert today(site, "value, reason, observed_local") == [
        (16.8, "mis-keyed", "2026-05-10 07:00:00")
    ]
    ever = [
        row[1:]
        for row in readings(site, "round, value, amended, reason", "readings_ever")
        if row[0] is not None
    ]
    assert ever == [(16.5, 1, None), (16.8, 0, "mis-keyed")]
    assert here(walk) == ("T01", "do")


@pytest.mark.parametrize(
    ("key", "reason"),
    [
        ("1", "mis-keyed"),
        ("3", "wrong unit"),
        ("4", "meter fault"),
        ("5", "other"),
    ],
)
def test_a_correction_names_its_reason(site: Site, key: str, reason: str) -> None:
    walk = standing_at(site, "T01", "temp")
    for typed in ("16.5", "up", "16.8", key):
        walk.move("up") if typed == "up" else walk.answer(typed)
    assert today(site, "value, reason") == [(16.8, reason)]


@pytest.mark.parametrize("typed", ["", "0", "6", "+", "16.8"])
def test_a_correction_without_a_reason_is_not_kept(site: Site, typed: str) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.move("up")
    walk.answer("16.8")
    assert walk.answer(typed).sentence.startswith("Press one of the numbers listed")
    assert isinstance(walk.question, AskCorrection)
    assert today(site, "value") == [(16.5,)]


def test_star_at_a_correction_keeps_both_as_two_measurements(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.move("up")
    walk.answer("16.8")
    walk.answer("*")
    assert today(site, "value, recheck, amends") == [(16.5, 0, None), (16.8, 1, None)]


def test_a_corrected_second_reading_is_still_the_second_reading(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    for typed in ("6.1", "6.2"):
        walk.answer(typed)
    walk.move("up")
    walk.answer("6.3")
    walk.answer("1")
    assert today(site, "value, recheck, reason") == [(6.1, 0, None), (6.3, 1, "mis-keyed")]
    assert here(walk) == ("T01", "flow")


def test_esc_at_a_correction_leaves_the_old_value(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.move("up")
    walk.answer("16.8")
    assert walk.back()
    assert walk.said.sentence == "Back: nothing was kept."
    assert today(site, "value") == [(16.5,)]


def test_a_correction_that_cannot_be_is_asked_and_still_amends_when_mended(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.move("up")
    walk.answer("62.1")
    walk.answer("3")
    assert asked(walk) == IN_F
    walk.answer("2")
    [row] = today(site, "value, typed_unit, reason")
    assert row == (pytest.approx(16.72, abs=0.005), "degF", "wrong unit")


def test_a_ticked_item_is_corrected_with_a_reason(site: Site) -> None:
    walk = standing_at(site, "T01", "screen")
    walk.answer("+")
    walk.move("up")
    walk.answer("3")
    assert isinstance(walk.question, AskCorrection)
    walk.answer("5")
    assert today(site, "typed, reason, flag") == [("fouled", "other", "act")]


def test_a_value_for_what_was_not_taken_says_what_stood_there(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("/")
    walk.answer("2")
    walk.move("up")
    walk.answer("16.5")
    assert asked(walk) == "Temperature was not checked (07:00 AB); 16.5 instead. Why?"
    walk.answer("5")
    assert today(site, "value, qualifier") == [(16.5, None)]


def test_not_taken_after_a_value_amends_it(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.move("up")
    walk.answer("/")
    walk.answer("3")
    assert today(site, "value, qualifier") == [(None, "could not")]


def test_below_detection_after_a_value_amends_it(site: Site) -> None:
    walk = standing_at(site, "L1", "tan")
    walk.answer("0.2")
    walk.move("up")
    for typed in ("/", "6", "0.05"):
        walk.answer(typed)
    assert today(site, "value, qualifier") == [(0.05, "<")]
    assert len(readings(site, "n", "readings_ever")) == len(readings(site, "n")) + 1


def test_undo_is_an_entry_of_its_own_and_the_old_one_stays(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    [old] = today(site, "n")
    assert walk.undo().sentence == "Undone: T01 Temperature 16.5."
    assert today(site) == []
    assert entries(site, "kind, amends, reason")[-1] == ("void", old[0], "undone")
    assert (16.5, 1) in readings(site, "value, amended", "readings_ever")
    assert here(walk) == ("T01", "temp")
    assert walk.question is None


def test_undo_goes_back_step_by_step_and_then_has_nothing_left(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    walk.answer("6.1")
    walk.answer("7.4")
    assert walk.undo().sentence == "Undone: T01 Oxygen 7.4."
    assert isinstance(walk.question, AskAgain)
    assert walk.undo().sentence == "Undone: T01 Oxygen 6.1."
    assert walk.undo().sentence == "Undone: T01 Temperature 16.5."
    assert walk.undo().sentence == "There is nothing of yours to undo in this round."
    assert today(site) == []


def test_undo_takes_back_a_not_taken_too(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("/")
    walk.answer("2")
    assert walk.undo().sentence == "Undone: T01 Temperature not checked."
    assert today(site) == []


def test_undo_leaves_what_somebody_else_entered(site: Site) -> None:
    standing_at(site, "T01", "temp", "CD").answer("16.5")
    walk = walking(site, "AB")
    assert walk.undo().sentence == "There is nothing of yours to undo in this round."
    assert today(site, "value, who") == [(16.5, "CD")]


# ---- notes


def noted(site: Site) -> list[tuple[object, ...]]:
    return readings(site, "place, item, text", "notes")


def test_a_ready_note_is_one_number_away_and_the_item_is_still_asked(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("-")
    assert isinstance(walk.question, AskProblem)
    assert walk.question.options()[:2] == [
        ("1", 'note "siphoned late"'),
        ("2", 'note "feeder refilled"'),
    ]
    assert walk.answer("2").sentence == "Noted for T01."
    assert noted(site) == [("T01", "temp", "feeder refilled")]
    assert here(walk) == ("T01", "temp")
    assert walk.question is None


@pytest.mark.parametrize("words", [*BRACKETS, "fish \U0001f41f \U0001f469\u200d\U0001f52c", "=1+1"])
def test_own_words_are_kept_as_typed(site: Site, words: str) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("-")
    walk.answer("0")
    assert isinstance(walk.question, AskWords)
    walk.answer(words)
    assert noted(site) == [("T01", "temp", words)]


def test_what_could_drive_a_terminal_or_turn_the_text_is_stripped(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.note()
    walk.answer("\x1b[2Jlarvae \u202eat\u202c the\x07 surface\x1b]0;x\x07")
    assert noted(site) == [("T01", "temp", "[2Jlarvae at the surface]0;x")]


def test_a_note_of_5000_characters_is_kept_whole(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.note()
    walk.answer("larva" * 1000)
    assert noted(site) == [("T01", "temp", "larva" * 1000)]


def test_a_note_too_long_is_refused_whole_and_stays_on_the_line(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.note()
    reply = walk.answer("x" * 10_001)
    assert not reply.understood
    assert "nothing was kept" in reply.sentence
    assert isinstance(walk.question, AskWords)
    assert noted(site) == []


@pytest.mark.parametrize("words", ["", "  ", "\x1b\x07", "\u202e"])
def test_a_note_of_nothing_is_not_kept(site: Site, words: str) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.note()
    assert walk.answer(words).sentence.startswith("Nothing was typed, so no note is kept.")
    assert isinstance(walk.question, AskWords)
    assert noted(site) == []


def test_signs_of_the_pad_are_words_in_a_note(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.note()
    walk.answer("+")
    assert noted(site) == [("T01", "temp", "+")]


def test_a_note_at_a_wanted_second_reading_still_asks_for_it(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("6.1")
    walk.answer("-")
    walk.answer("1")
    assert len(noted(site)) == 1
    assert isinstance(walk.question, AskAgain)


# ---- moving


def test_arrows_move_by_item_and_by_stop_and_stop_at_the_ends(site: Site) -> None:
    walk = walking(site)
    walk.move("up")
    assert walk.at == 0
    walk.move("right")
    assert here(walk) == ("site", "alarm")
    walk.move("right")
    walk.move("right")
    assert here(walk) == ("T01", "temp")
    walk.move("down")
    walk.move("left")
    assert here(walk) == ("L1", "tan")
    for _ in range(9):
        walk.move("right")
    assert walk.at_end
    walk.move("down")
    assert walk.at_end
    walk.move("left")
    assert here(walk) == ("T02", "temp")
    assert today(site) == []


def test_moving_away_from_a_question_keeps_nothing(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("62.1")
    walk.move("down")
    assert walk.question is None
    assert today(site) == []


def test_after_the_last_item_what_was_passed_by_is_asked(site: Site) -> None:
    walk = standing_at(site, "T02", "morts")
    walk.answer("3")
    assert walk.at == 0
    finish(walk)
    assert walk.open_slots() == ()


def test_another_meter_is_taken_for_the_readings_that_follow(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    assert walk.next_meter().sentence == "Readings that follow are taken with oxygen meter B."
    walk.answer("16.5")
    walk.next_meter()
    walk.answer("8.0")
    assert today(site, "instrument") == [("B",), ("A",)]
    go_to(walk, "T01", "morts")
    assert walk.next_meter().sentence == "There is no other meter for this."


# ---- the end


def test_a_round_is_signed_only_when_nothing_is_open(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    while not walk.at_end:
        walk.move("right")
    assert asked(walk) == "13 still open: go back to them, or give one reason for all."
    assert walk.answer("+").sentence == "13 still open: the round cannot be signed yet."
    assert not walk.signed
    finish(go_to(walk, "T01", "do"))
    assert asked(walk) == 'Sign as AB: "I took these readings, and they are what I saw."'
    assert walk.answer("").sentence == "Press + to sign, or the up arrow to go back."
    assert not walk.signed
    assert walk.answer("+").sentence == "Signed by AB at 07:00."
    assert walk.signed
    [signed] = site.ledger.db.execute("SELECT meaning FROM round WHERE event = 'sign'").fetchall()
    assert signed == (rounds.SIGNING,)


def test_one_reason_for_all_that_is_open_is_kept_for_each_and_then_signed(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    while not walk.at_end:
        walk.move("right")
    walk.answer("/")
    assert asked(walk) == "Not taken, all that is still open. Why?"
    assert walk.answer("2").sentence == "13 not taken: not looked."
    assert walk.open_slots() == ()
    assert [q for (q,) in today(site, "qualifier")] == [None] + ["not looked"] * 13
    walk.answer("+")
    assert walk.signed


def test_a_signed_round_refuses_more(site: Site) -> None:
    walk = sign(walking(site))
    before = len(entries(site))
    go_to(walk, "T01", "temp")
    for typed in ("16.9", "+", "/", "2", "*", "-", "0"):
        assert walk.answer(typed).sentence == "This round is signed."
    assert walk.undo().sentence == "There is nothing of yours to undo in this round."
    assert walk.note().sentence == "This round takes no more notes."
    assert walk.answer("late words").sentence == "This round is signed."
    assert len(entries(site)) == before


def test_a_round_signed_at_another_terminal_refuses_more_here(site: Site, tmp_path: Path) -> None:
    here_walk = standing_at(site, "T01", "temp")
    with opened(tmp_path, laptop="office") as other:
        sign(walking(other, "CD"))
    before = len(entries(site))
    for typed in ("16.9", "/", "2"):
        reply = here_walk.answer(typed)
    assert "signed" in reply.sentence
    assert here_walk.signed
    assert len(entries(site)) == before


def test_a_round_is_signed_once_however_many_terminals_stand_at_its_end(
    site: Site, tmp_path: Path
) -> None:
    finish(walking(site))
    walk = again(walking(site))
    with opened(tmp_path, laptop="office") as other:
        assert walking(other, "CD").answer("+").sentence == "Signed by CD at 07:00."
    assert "signed" in walk.answer("+").sentence
    assert [kind for kind in entries(site, "kind, who") if kind[0] == "round"].count(
        ("round", "AB")
    ) == 1
    assert newest_round(site, walk.round.number).signed_by == "CD"


def test_what_another_terminal_opened_again_must_be_answered_before_the_signature(
    site: Site, tmp_path: Path
) -> None:
    walk = finish(walking(site))
    with opened(tmp_path, laptop="office") as other:
        assert walking(other, "AB").undo().sentence.startswith("Undone")
    assert walk.answer("+").sentence == "1 open again: the round is not signed."
    assert asked(walk) == "1 still open: go back to them, or give one reason for all."
    finish(go_to(walk, "T02", "morts")).answer("+")
    assert walk.signed


def test_flags_are_listed_worst_first_at_the_end(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    for typed in ("6.5", "6.6"):
        walk.answer(typed)
    go_to(walk, "T02", "do")
    for typed in ("4.4", "4.5"):
        walk.answer(typed)
    assert [(s.place, seen.value) for s, seen in walk.flags()] == [("T02", 4.5), ("T01", 6.6)]


# ---- taking a round up again


def test_a_round_taken_up_again_stands_at_the_next_open_item(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    assert here(again(walk)) == ("T01", "do")


def test_a_round_taken_up_again_still_wants_the_second_reading(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("6.1")
    fresh = again(walk)
    assert here(fresh) == ("T01", "do")
    assert isinstance(fresh.question, AskAgain)


def test_another_person_takes_up_the_round_where_it_stands(site: Site) -> None:
    standing_at(site, "T01", "temp").answer("16.5")
    walk = walking(site, "CD")
    assert here(walk) == ("T01", "do")
    walk.answer("8.0")
    assert today(site, "who") == [("AB",), ("CD",)]


def test_a_finished_round_taken_up_again_stands_at_the_signature(site: Site) -> None:
    fresh = again(finish(walking(site)))
    assert isinstance(fresh.question, AskSign)


# What a person, a child or a cat may do at the keys; "good" answers whatever is asked well.
RUBBISH = st.text(max_size=8) | st.sampled_from(["[/]", "\x1b[A", "\u202e9", "9" * 400, "<", "<0"])
VALUES = st.sampled_from(
    "16.4 16,9 62.1 68f 0.66 2.5 6.1 4.2 7.4 0 12 120 <0.05 -1 19.5 200".split()
)
KEYS = st.sampled_from(["", "+", "-", "*", "/", *"0123456789"])
STEPS = st.one_of(
    st.tuples(st.just("good"), st.just("")),
    st.tuples(st.just("answer"), KEYS),
    st.tuples(st.just("answer"), KEYS),
    st.tuples(st.just("answer"), VALUES),
    st.tuples(st.just("answer"), RUBBISH),
    st.tuples(st.just("move"), st.sampled_from(["up", "down", "left", "right"])),
    st.tuples(st.sampled_from(["undo", "back", "note", "meter", "finish"]), st.just("")),
)


def do(walk: Walk, step: tuple[str, str]) -> None:
    """One thing a person does at the keys."""
    what, typed = step
    if what == "good":
        walk.answer(good_answer(walk))
    elif what == "answer":
        walk.answer(typed)
    elif what == "move":
        walk.move(typed)
    elif what == "undo":
        walk.undo()
    elif what == "back":
        walk.back()
    elif what == "note":
        walk.note()
    elif what == "meter":
        walk.next_meter()
    else:
        while not walk.at_end:
            walk.move("right")


def kept(walk: Walk) -> list[Seen]:
    return sorted((s for seen in walk.kept.values() for s in seen), key=lambda s: s.n)


def stands_after(walk: Walk) -> int:
    """Where the record says one stands: at a wanted second reading, else the next open item."""
    slots = [(s.place, s.item.code) for s in walk.slots]
    held = kept(walk)
    if held and held[-1].amends is not None and held[-1].reason == WRONG_TANK:
        return walk.where_it_ends()  # at the tank that values were moved from
    index = slots.index((held[-1].place, held[-1].item)) if held else -1
    if index >= 0:
        mine = [s for s in held if (s.place, s.item) == slots[index]]
        number = walk.slots[index].item.kind.read_twice
        last = mine[-1]
        looks = looks_of(walk.slots[index].item, [s for s in mine if s.value is not None])
        again_wanted = last.value is not None and last.flag >= Flag.WATCH
        answered = bool(looks) and looks[-1].first is not None
        if number and again_wanted and not answered and not any(s.confirmed for s in looks):
            return index
    still = [i for i, s in enumerate(slots) if not any((k.place, k.item) == s for k in held)]
    after = [i for i in still if i > index]
    return after[0] if after else still[0] if still else len(slots)


@settings(deadline=None, max_examples=80)
@given(st.lists(STEPS, max_size=24))
def test_whatever_is_answered_the_round_can_be_taken_up_again_with_nothing_lost(
    steps: list[tuple[str, str]],
) -> None:
    with tempfile.TemporaryDirectory() as folder, opened(Path(folder)) as site:
        for tank in ("T01", "T02"):
            seen_before(site, tank, "temp", 16.4, EVENING)
            seen_before(site, tank, "flow", 2.5, EVENING)
        walk = walking(site)
        ever = readings(site, "*", "readings_ever")
        for minute, step in enumerate(steps):
            clock_shows(site, f"2026-05-10T07:{minute:02d}")
            had = {s.n for s in kept(walk)}
            do(walk, step)
            fresh = again(walk)
            assert kept(fresh) == kept(walk)
            assert fresh.kept == {k: v for k, v in walk.kept.items() if v}
            assert fresh.signed == walk.signed
            assert fresh.at == stands_after(fresh)
            if {s.n for s in kept(walk)} - had:
                assert walk.at == fresh.at
                assert type(walk.question) is type(fresh.question)
            # The record holds what the walk holds, and its past only grows.
            held = [(s.n, s.place, s.item, s.value, s.typed, s.qualifier) for s in kept(walk)]
            shown = readings(site, "round, n, place, item, value, typed, qualifier")
            assert [r[1:] for r in shown if r[0] == walk.round.number] == held
            now_ever = readings(site, "*", "readings_ever")
            assert [r[0] for r in now_ever[: len(ever)]] == [r[0] for r in ever]
            ever = now_ever


# ---- two at once


def test_two_terminals_at_the_same_item_lose_nothing(site: Site, tmp_path: Path) -> None:
    mine = standing_at(site, "T01", "temp", "AB")
    with opened(tmp_path, laptop="office") as other:
        theirs = standing_at(other, "T01", "temp", "CD")
        theirs.answer("16.5")
        reply = mine.answer("16.7")
    assert reply.sentence == (
        "T01 Temperature 16.7 degC kept. CD entered 16.5 at 07:00: both are kept."
    )
    assert today(site, "value, who, recheck, amends") == [
        (16.5, "CD", 0, None),
        (16.7, "AB", 1, None),
    ]
    assert [s.value for s in mine.of(mine.slots[mine.at - 1])] == [16.5, 16.7]


def test_two_terminals_share_one_round_and_its_rest(site: Site, tmp_path: Path) -> None:
    mine = standing_at(site, "T01", "temp", "AB")
    with opened(tmp_path, laptop="office") as other:
        theirs = standing_at(other, "T02", "temp", "CD")
        assert theirs.round.number == mine.round.number
        theirs.answer("16.5")
        mine.answer("16.6")
        theirs.answer("8.0")
    mine.reload()
    assert len(kept(mine)) == 3
    assert {station for (station,) in entries(site, "station")} == {"trolley", "office"}


def test_a_reading_of_another_round_is_not_taken_for_this_ones(site: Site, tmp_path: Path) -> None:
    morning = standing_at(site, "T01", "temp", "AB")
    with opened(tmp_path, laptop="office") as other:
        walking(other, "CD", "pm").answer("16.5")
    reply = morning.answer("16.7")
    assert reply.sentence == "T01 Temperature 16.7 degC kept."
    assert today(site, "value, round, recheck") == [(16.5, 2, 0), (16.7, 1, 0)]
    assert kept(again(morning)) == kept(morning)


# ---- when the disk or the record refuses


def fill(site: Site) -> None:
    """Let the disk be full: the record may not grow by another page."""
    pages = site.ledger.db.execute("PRAGMA page_count").fetchone()[0]
    site.ledger.db.execute(f"PRAGMA max_page_count = {pages}")


def free(site: Site) -> None:
    """Let there be space again."""
    site.ledger.db.execute("PRAGMA max_page_count = 1000000")


def full_at(site: Site, walk: Walk) -> str:
    """Answer until the full disk refuses; returns what was typed then."""
    fill(site)
    for _ in range(400):
        typed = good_answer(walk)
        if not walk.answer(typed).understood:
            return typed
        walk.undo()
    raise AssertionError("the disk never was full")


def test_a_full_disk_keeps_nothing_says_so_and_takes_the_same_answer_later(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    typed = full_at(site, walk)
    assert walk.said.sentence == (
        "The disk is full: this was not kept, all before it is. "
        "Free some space, then enter it again."
    )
    held, place = readings(site, "*", "readings_ever"), here(walk)
    assert not walk.answer(typed).understood
    assert readings(site, "*", "readings_ever") == held
    assert here(walk) == place
    assert kept(again(walk)) == kept(walk)
    free(site)
    assert walk.answer(typed).understood
    assert len(readings(site, "n", "readings_ever")) == len(held) + 1
    assert kept(again(walk)) == kept(walk)


def test_a_full_disk_at_a_note_leaves_the_words_to_be_kept_later(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    words = "the words that must not be lost " * 300
    walk.note()
    fill(site)
    assert not walk.answer(words).understood
    assert noted(site) == []
    free(site)
    assert walk.answer(words).sentence == "Noted for T01."
    assert noted(site) == [("T01", "temp", words.strip())]


def test_a_full_disk_at_a_problem_does_not_turn_it_into_all_right(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    full_at(site, walk)
    go_to(walk, "T01", "screen")
    walk.answer("-")
    assert not walk.answer("3").understood
    assert isinstance(walk.question, AskProblem)
    free(site)
    walk.answer("3")
    assert ("screen", "fouled") in today(site, "item, typed")


def test_a_full_disk_at_a_second_measurement_still_keeps_it_as_one_later(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    go_to(walk, "T01", "do")
    full_at(site, walk)
    go_to(walk, "T01", "temp")
    walk.answer("16.8")
    assert not walk.answer("*").understood
    assert isinstance(walk.question, AskCorrection)
    free(site)
    walk.answer("*")
    assert [r[1:] for r in today(site, "item, value, recheck") if r[0] == "temp"] == [
        (16.5, 0),
        (16.8, 1),
    ]


def test_a_full_disk_at_the_signature_leaves_the_round_open(site: Site) -> None:
    walk = finish(walking(site))
    go_to(walk, "T01", "temp")
    walk.note()
    fill(site)
    while walk.answer("x").understood:
        walk.note()
    walk.back()
    while not walk.at_end:
        walk.move("right")
    assert not walk.answer("+").understood
    assert not walk.signed
    assert newest_round(site, walk.round.number).signed is None
    free(site)
    walk.answer("+")
    assert newest_round(site, walk.round.number).signed is not None


def test_a_record_held_by_another_program_is_said_and_nothing_escapes(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.answer("16.5")
    held = len(entries(site))
    site.ledger.db.execute("PRAGMA busy_timeout = 1")
    other = sqlite3.connect(site.ledger.path, isolation_level=None)
    try:
        other.execute("BEGIN EXCLUSIVE")
        for typed in ("8.0", "*", "8.1"):
            assert walk.answer(typed) is walk.said
        assert not walk.undo().sentence.startswith("Undone")
        assert not go_to(walk, "T01", "do").answer("8.0").understood
        assert walk.said.sentence == (
            "Another program holds the record: this was not kept. "
            "Wait a moment, then enter it again."
        )
        other.execute("ROLLBACK")
    finally:
        other.close()
    assert len(entries(site)) == held
    assert walk.answer("8.0").understood
    assert today(site, "value") == [(16.5,), (8.0,)]


def test_the_board_sees_at_once_what_was_kept(site: Site) -> None:
    walk = standing_at(site, "T01", "do")
    walk.answer("4.4")
    walk.answer("4.5")
    [wrong] = board(site).wrong
    assert (wrong.place, wrong.flag, wrong.sentence) == ("T01", Flag.URGENT, "Oxygen 4.5 mg/L")
    assert site.reader.readings.newest("T01", "do", "mg/L") == kept(walk)[-1]
    assert wrong.at == moment("2026-05-10T07:00")
