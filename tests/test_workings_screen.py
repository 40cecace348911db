"""The Workings as a person finds them: each key, page by page, and where Esc leads."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from textual import events

from demo_support import opened, with_a_crew_of_twelve
from site_support import BRACKETS
from tankwalk.errors import Refusal
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site
from tankwalk.screens.walk import WalkScreen
from test_screens import Room, at_the_screen, newest
from test_workings import kept, measured

CALCULATORS = "Find: _"


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = opened(tmp_path)
    yield site
    site.close()


async def typed(room: Room, words: str) -> None:
    """Characters as the main rows send them."""
    for character in words:
        room.app.post_message(events.Key(character, character))
    await room.pilot.pause()


async def bicarbonate(room: Room, *fields: str) -> None:
    """From the board to the dose of bicarbonate, with fields filled from the top."""
    await room.press("4")
    await typed(room, "bicarbonate-d")
    await room.press("enter")
    for words in fields:
        await typed(room, words)
        await room.press("enter")


def test_w_and_4_open_the_list_and_esc_leads_back_where_one_was(demo: Site) -> None:
    async def act(room: Room) -> None:
        for key in ("4", "w"):
            await room.press(key)
            assert CALCULATORS in room.text
            await room.press("escape")
            assert "TANKS  oxygen" in room.text
        await room.press("3", "w")
        assert CALCULATORS in room.text
        await room.press("enter", "escape", "escape")
        assert "HANDOVER" in room.text
        await room.press("4", "question_mark")
        assert "Every sum of the trade" in room.flowing
        await room.press("escape")
        assert CALCULATORS in room.text

    at_the_screen(demo, act)


def test_from_a_walk_one_comes_back_to_the_same_tank_and_field(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("right", "right", "right", "down", "w")
        assert "at T01" in room.text
        await typed(room, "exch")
        await room.press("enter", "escape", "escape", "escape")
        assert "T01  Oxygen" in room.text
        await room.press("8", ".", "3", "enter")
        assert "8.3 mg/L kept." in room.text

    at_the_screen(demo, act)


def test_letters_find_and_arrows_choose(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("w")
        await typed(room, "bic")
        assert "Find: bic_" in room.text
        assert "bicarbonate-rise" in room.text
        assert "tank-volume" not in room.text
        await room.press("down", "down", "up", "down", "enter")
        assert "Alkalinity from bicarbonate" in room.text.split("\n")[0]
        await room.press("escape", "backspace", "backspace")
        assert "Find: b_" in room.text
        await typed(room, "zzz")
        assert "No calculator has these letters" in room.text
        await room.press("enter")
        assert "Esc clears it." in room.text
        await room.press("escape")
        assert CALCULATORS in room.text
        await room.paste("[red]brine[/]")
        assert "Find: [red]brine[/]_" in room.text

    at_the_screen(demo, act)


def test_the_whole_list_is_walked_with_arrows_alone(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("4")
        await room.press(*["down"] * 200)
        assert "alkalinity-units" in room.text
        await room.press("enter")
        assert "Alkalinity, unit to unit" in room.text.split("\n")[0]
        await room.press("escape", *["pageup"] * 20)
        assert " > " in room.text

    at_the_screen(demo, act, (60, 20))


def test_the_answer_follows_as_one_types(demo: Site) -> None:
    async def act(room: Room) -> None:
        await bicarbonate(room, "3600", "80")
        assert "still to type: alkalinity wanted" in room.flowing
        await typed(room, "120,")
        await typed(room, "9")
        assert "rise 40.9 mg/L as CaCO3" in room.flowing
        await room.press("backspace", "backspace")
        assert "rise 40.0 mg/L as CaCO3" in room.flowing
        await typed(room, "x")
        assert "to: " in room.flowing
        await room.press("escape")
        assert "still to type: alkalinity wanted" in room.flowing
        await room.press("escape")
        assert "Find: bicarbonate-d_" in room.text
        await room.press("enter")
        assert "3600" in room.text

    at_the_screen(demo, act)


def test_star_takes_readings_and_slash_goes_to_the_next_place(demo: Site) -> None:
    measured(demo, "L1", "alk", 80, "2026-05-10T06:25")

    async def act(room: Room) -> None:
        await bicarbonate(room)
        assert "at L1" in room.text
        await room.press("asterisk")
        assert "Taken: volume, Alkalinity." in room.text
        assert "L1, 25 min old" in room.text
        assert " >  alkalinity wanted" in room.text, "what is open still comes next"
        await room.press("slash")
        assert "At T01 now" in room.text
        assert "25 min old" not in room.text
        await room.press("left")
        assert "At L1 now" in room.text
        await typed(room, "1 g")
        await room.press("slash")
        await typed(room, "L")
        assert "1 g/L_" in room.text

    at_the_screen(demo, act)


def test_a_digit_types_a_field_anew_and_a_unit_goes_behind_what_stands_there(demo: Site) -> None:
    async def act(room: Room) -> None:
        await bicarbonate(room, "3600", "80")
        await room.press("up", "up")
        assert "3600_" in room.text
        await typed(room, "220")
        assert "220_" in room.text
        await room.press("down", "up")
        await typed(room, " gal")
        assert "220 gal_" in room.text

    at_the_screen(demo, act)


def test_a_stale_reading_is_refused_in_words(demo: Site) -> None:
    measured(demo, "L1", "alk", 80, "2026-05-10T01:50")

    async def act(room: Room) -> None:
        await bicarbonate(room)
        await room.press("asterisk")
        assert "Alkalinity is 5 h old: measure it, or type it." in room.flowing

    at_the_screen(demo, act)


def test_a_note_is_kept_by_number_and_nothing_by_silence(demo: Site) -> None:
    async def act(room: Room) -> None:
        await bicarbonate(room, "3600", "80")
        await room.press("plus")
        assert "There is no answer to keep yet. Still to type: alkalinity wanted." in room.flowing
        await typed(room, "110")
        await room.press("plus", "enter", "x")
        assert "x is no choice here" in room.text
        await room.press("1")
        assert "Who keeps it?" in room.text
        await room.press("escape")
        assert "Back: nothing was kept." in room.text
        await room.press("plus", "1", "5")
        assert "Noted at L1 (PB)." in room.text
        assert kept(demo, "note")[-1][1:] == ("PB", None, "L1")

    at_the_screen(demo, act)


def test_a_dose_ten_times_the_usual_is_decided_and_typed_twice_before_it_is_kept(
    demo: Site,
) -> None:
    async def act(room: Room) -> None:
        await room.press("w")
        await typed(room, "bicarbonate-r")
        await room.press("enter")
        await typed(room, "3600")
        await room.press("enter")
        await typed(room, "2500")
        before = kept(demo, "dose")
        await room.press("plus", "2", "4")
        assert "Usual here 250 g, +41 mg/L: this is 10 times as much." in room.flowing
        assert "rise of alkalinity in a day 413.7 mg/L as CaCO3, above 50" in room.flowing
        assert "volume 3600 L, mass 2500 g, purity 1 fraction: 2500 g" in room.flowing
        assert "Who decided" in room.text
        await room.press("question_mark")
        assert "HELP" in room.text
        await room.press("escape", "3")
        assert "1 order of the veterinarian" in room.text
        await room.press("enter", "3", "enter")
        assert "To keep it, type the dose again" in room.text
        assert "Enter keep this amount" in room.footer
        await room.press("enter", "plus", "enter")
        await room.press("backspace")
        assert kept(demo, "dose") == before
        await typed(room, "2600")
        await room.press("enter")
        assert "2600 g is another amount: nothing was kept." in room.flowing
        assert kept(demo, "dose") == before
        await room.press("escape")
        assert "Back: nothing was kept." in room.text
        await room.press("plus", "2", "3")
        await typed(room, "the vet phoned")
        await room.press("enter")
        await room.paste("2500")
        await room.press("enter")
        assert "Now look at the pH and NH3-N in 15 to 30 min" in room.flowing
        assert kept(demo, "dose")[-1][1] == 2500
        assert "Decided by TS: the vet phoned" in str(kept(demo, "note")[-1][0])
        await room.press("escape", "escape", "escape", "escape", "5")
        await room.press(*["down"] * 12)
        assert "look at the pH and NH3-N after 2500 g" in room.flowing

    at_the_screen(demo, act)


def test_from_a_walk_the_one_who_walks_keeps_it_in_that_round(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("w")
        await typed(room, "bicarbonate-d")
        await room.press("enter", "slash", "right")
        for words in ("3600", "80", "110"):
            await typed(room, words)
            await room.press("enter")
        place = "T03"
        assert f"at {place}" in room.text
        await room.press("plus", "1")
        assert f"Noted at {place} (PB)." in room.text
        number = newest(demo, "notes", "round")[0]
        assert number is not None
        assert kept(demo, "note")[-1][1:] == ("PB", number, place)

    at_the_screen(demo, act)


def test_in_a_crew_of_more_than_nine_two_digits_say_who(tmp_path: Path) -> None:
    site = opened(tmp_path, with_a_crew_of_twelve)

    async def act(room: Room) -> None:
        await bicarbonate(room, "3600", "80", "110")
        await room.press("plus", "1", "1", "2")
        assert "Noted at L1 (XL)." in room.text
        await room.press("escape", "escape", "escape", "4", "enter", "plus", "1", "3", "enter")
        assert "Noted at L1 (TS)." in room.text

    try:
        at_the_screen(site, act)
    finally:
        site.close()


@pytest.mark.parametrize("words", [*BRACKETS, "\x1b[2Jgone", "\u202egnat", "5 \u00b5g/L", "日本"])
@pytest.mark.parametrize("size", [(80, 24), (60, 20), (120, 40)])
def test_rubbish_in_a_field_is_data_and_a_sentence(
    demo: Site, words: str, size: tuple[int, int]
) -> None:
    async def act(room: Room) -> None:
        await bicarbonate(room)
        await room.paste(words)
        assert room.app.is_running
        assert "\x1b" not in room.text
        assert "volume: " in room.flowing
        await room.paste("9" * 300)
        assert "at most 40 characters" in room.flowing
        await room.paste("9" * 9000)
        assert "No more than 400 characters are taken here" in room.flowing
        await room.paste("9" * 20_000)
        assert "the limit is 10000" in room.flowing
        await room.press("escape", "escape")
        assert "Find:" in room.text

    at_the_screen(demo, act, size)


def test_pad_keys_without_num_lock_say_so(demo: Site) -> None:
    async def act(room: Room) -> None:
        await bicarbonate(room, "3600")
        for key in ("home", "end", "insert", "delete"):
            await room.press(key)
            assert "Num Lock?" in room.text
        await room.press("pagedown", "pageup")
        room.app.post_message(events.Key("x", "\ufffd"))
        await room.pilot.pause()
        assert "not UTF-8" in room.text

    at_the_screen(demo, act)


def test_the_app_opens_a_calculator_with_its_fields_filled_and_esc_leads_back(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        front = room.page
        assert isinstance(front, WalkScreen)
        at = front.walk.at
        room.app.work("exchange", "T03", {"flow": "3.5", "volume": "220"})
        await room.pilot.pause()
        assert "at T03" in room.text
        assert "exchanges" in room.flowing.lower() or "Tank volumes" in room.flowing
        await room.press("escape")
        assert room.page is front
        assert isinstance(front.walk, Walk)
        assert front.walk.at == at
        for wrong in (("nothing", ""), ("exchange", "T99")):
            with pytest.raises(Refusal):
                room.app.work(*wrong)
        await room.press("plus")
        assert "T01" in room.text

    at_the_screen(demo, act)


def test_the_working_is_read_to_its_end_on_the_smallest_page(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("w")
        await typed(room, "decapsulation")
        await room.press("enter")
        seen = room.flowing
        assert "more lines below" in seen
        for _ in range(12):
            await room.press("pagedown")
            seen += room.flowing
        assert "published recipes use" in seen
        assert "more lines below" not in room.text

    at_the_screen(demo, act, (60, 20))
