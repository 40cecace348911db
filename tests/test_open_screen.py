"""The handover and the open list as a person finds them: keys of the pad, at the screen."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import opened, with_a_crew_of_twelve
from page_support import section_of
from site_support import BRACKETS
from tankwalk.clock import FixedClock
from tankwalk.ledger.follow_up_kinds import MayClose
from tankwalk.pages import open_list as open_page
from tankwalk.practice import open_list
from tankwalk.practice.site import Site
from tankwalk.screens.handover import HandoverScreen
from test_screens import Room, at_the_screen, newest

SIZES = [(80, 24), (60, 20)]

READ = ("right",) * 4
"""To the end of the page, before it may be taken."""

ON_THE_PAD = {*"0123456789", "enter", "escape", "plus", "minus", "asterisk", "slash", "full_stop",
              "up", "down", "left", "right"}  # fmt: skip


class Pad(Room):
    """A person in gloves: anything but the pad is a fault of the test."""

    count = 0

    async def press(self, *keys: str) -> None:
        assert set(keys) <= ON_THE_PAD, keys
        self.count += len(keys)
        await super().press(*keys)


def with_the_pad(room: Room) -> Pad:
    return Pad(room.app, room.pilot)


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = opened(tmp_path)
    yield site
    site.close()


def number(site: Site, words: str) -> str:
    """The number of a row of the open list."""
    rows = open_list.open_list(site).rows
    return str(next(n for n, row in enumerate(rows, 1) if words in open_page.said(row)))


# ---- giving and taking


@pytest.mark.parametrize("size", SIZES)
def test_a_whole_giving_and_taking_is_a_dozen_keys_of_the_pad(
    demo: Site, size: tuple[int, int]
) -> None:
    async def act(room: Room) -> None:
        pad = with_the_pad(room)
        await pad.press("3", "slash", "1", "5", "4")
        assert "Kept under STOCK, as PB adds it" in pad.flowing
        await pad.press("plus", "5")
        assert "Given by PB." in pad.text
        await pad.press(*READ, "asterisk", "1", "1")
        await pad.say_back()
        assert "Responsibility passed 06:50, PB to JQ." in pad.text
        assert "PB to JQ, in person. Said back: 3 answers, right at the first try." in pad.flowing
        assert pad.count <= 15 + len(READ)

    at_the_screen(demo, act, size)
    assert "PB adds: siphoned late" in newest_page(demo)


def newest_page(site: Site) -> str:
    found = site.reader.handovers.last()
    assert found is not None
    return found.text


@pytest.mark.parametrize("size", SIZES)
def test_a_wrong_answer_shows_the_section_again_and_asks_again(
    demo: Site, size: tuple[int, int]
) -> None:
    async def act(room: Room) -> None:
        await room.press("3", *READ, "asterisk", "5", "3")
        page = room.page
        assert isinstance(page, HandoverScreen)
        first = page.draft.asks[0]
        assert first.ask in room.text
        assert "From memory. The page is out of sight until all 3" in room.flowing
        assert "Water below rim" not in room.text
        wrong = next(c for c in first.choices if c != first.right)
        await room.press(str(first.choices.index(wrong) + 1))
        assert f"Not {wrong}. Read STOCK again:" in room.text
        assert "! WATCH T07 Water below" in room.flowing
        assert first.ask in room.text
        await room.press("question_mark")
        assert "Keys here" in room.text
        await room.press("escape")
        assert first.ask in room.text
        await room.say_back()
        assert "Responsibility passed 06:50, RO to PB." in room.text
        assert "Said back: 3 answers, 1 not at the first try." in room.flowing

    at_the_screen(demo, act, size)
    last = demo.reader.handovers.last()
    assert last is not None
    assert sorted(s.tries for s in last.said) == [1, 1, 2]


def test_esc_in_the_middle_of_saying_back_takes_nothing(demo: Site) -> None:
    async def act(room: Room) -> None:
        before = newest(demo, "entries", "n")
        await room.press("3", *READ, "asterisk", "5", "3", "escape")
        assert "Back: nothing was kept." in room.text
        assert newest(demo, "entries", "n") == before
        await room.press("b")
        assert "not taken over: RO gave it" in room.text

    at_the_screen(demo, act)


def test_the_one_who_gave_is_asked_before_taking_it_back(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("3", *READ, "asterisk", "2")
        assert "RO gave this handover: nobody else has read it." in room.text
        await room.press("1", "3")
        await room.say_back()
        assert "RO to RO, read alone, by the one who gave it." in room.flowing

    at_the_screen(demo, act)


# ---- lines of one's own


@pytest.mark.parametrize("words", [*BRACKETS, "T07 hangs", "+ 2 * 3 / 4 - 1"])
def test_a_line_is_written_key_by_key_shown_as_it_is_and_taken_back(demo: Site, words: str) -> None:
    async def act(room: Room) -> None:
        await room.press("3", "slash", "5", "2", "0")
        await room.press(*words)
        assert words + "_" in room.text
        await room.press("enter")
        assert "Kept under EXPECT, as RO adds it" in room.text
        page = room.page
        assert isinstance(page, HandoverScreen)
        assert f"RO adds: {words}" in section_of(page.draft, "EXPECT")
        await room.press("slash", "0")
        assert f"Taken back: {words}" in room.text
        assert f"RO adds: {words}" not in section_of(page.draft, "EXPECT")
        await room.press("u")
        assert "No line of one's own is on this page" in room.text

    at_the_screen(demo, act)


def test_a_page_just_given_can_be_added_to_and_shows_it_below(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("3", "plus", "5", "slash")
        assert "6 add to the page PB gave at 06:50" in room.text
        await room.press("6", "5", *"key in the feed room", "enter")
        assert "Added under the page, 06:50 PB." in room.text
        await room.press(*["down"] * 60)
        assert "ADDED AFTER GIVING" in room.text
        assert "Sun 10 May 06:50 PB: key in the feed room" in room.text
        demo.clock = FixedClock(demo.now()._replace(utc=demo.now().utc + 31 * 60))
        await room.press("slash")
        assert "6 add to the page" not in room.text

    at_the_screen(demo, act)


@pytest.mark.parametrize("size", SIZES)
def test_the_lead_notes_on_the_pad_that_a_handover_was_never_taken(
    demo: Site, size: tuple[int, int]
) -> None:
    async def act(room: Room) -> None:
        pad = with_the_pad(room)
        assert "Never taken: handover Sun 3 May 16:10 by PB" in pad.text
        await pad.press("3", "down", "down", "down")
        assert "handover Sun 3 May 16:10 by PB was" in pad.text
        await pad.press("full_stop", "5", "1")
        assert "The lead notes this (MV), not PB: nothing was kept." in pad.flowing
        await pad.press("full_stop", "4", "1")
        assert "Noted by MV: the board no longer says so." in pad.text
        await pad.press("down", "down")
        assert "by MV: spoken with both" in pad.flowing
        await pad.press("full_stop")
        assert "there is nothing to note" in pad.flowing
        await pad.press("escape")
        assert "Never taken" not in pad.text

    at_the_screen(demo, act, size)


def test_the_page_moves_with_the_arrows_while_it_asks(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("3", "plus")
        assert "EXPECT" not in room.text
        await room.press(*["down"] * 60)
        assert "Drafted from the record up to entry" in room.text
        assert "Who gives the room?" in room.text
        await room.press("up", "left", "left", "left")
        assert "STOCK" in room.text
        await room.press("home")
        assert "Num Lock?" in room.text
        await room.press("5")
        assert "Given by PB." in room.text

    at_the_screen(demo, act)


# ---- the open list


@pytest.mark.parametrize("size", SIZES)
def test_an_action_is_closed_on_the_pad_and_taken_up_again(
    demo: Site, size: tuple[int, int]
) -> None:
    async def act(room: Room) -> None:
        pad = with_the_pad(room)
        await pad.press("5")
        assert "FLAGS  1" in pad.text
        await pad.press(number(demo, "Drum"), "2", "4", "1")
        assert "Closed by MV: done and seen." in pad.text
        assert "TO DO  2" in pad.text or "more lines below" in pad.text
        await pad.press(number(demo, "Drum"), "1", "2")
        assert "Open again (JQ): it came back." in pad.text
        await pad.press("minus", "2", "1", "7", "enter", "3", "1")
        assert "Kept under ALTERED. RO wrote it." in pad.text
        await pad.press(*["down"] * 8)
        assert "T07 valve throttled" in pad.flowing
        await pad.press("plus", "2", "1", "2", "4", "2", "enter")
        assert "Kept under TO DO. RO wrote it." in pad.text

    at_the_screen(demo, act, size)
    [*_, altered, action] = sorted(demo.reader.follow_ups.open(), key=lambda f: f.opened)
    assert (altered.text, altered.place, altered.rule) == (
        "valve throttled",
        "T07",
        MayClose.SAFETY,
    )
    assert (action.text, action.place, action.owner) == ("clean the screen", "T12", "MV")


def test_the_list_is_reached_from_board_walk_and_handover_and_leads_back(demo: Site) -> None:
    async def act(room: Room) -> None:
        for keys, there in (
            ([], "TANKS  oxygen"), (["3"], "HANDOVER"), (["escape", "enter", "5"], "stop 1 of")
        ):  # fmt: skip
            await room.press(*keys)
            assert there in room.text
            for key in ("o", "5") if there != "stop 1 of" else ("o",):
                await room.press(key)
                assert "OPEN  Alder Rapids" in room.text
                await room.press("escape")
                assert there in room.text

    at_the_screen(demo, act)


def test_a_number_that_is_not_in_the_list_is_told(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("5", "9")
        assert "There is no number 9 in the list." in room.text
        await room.press("0")
        assert room.text.startswith(" PAGES")
        await room.press("escape", "enter")
        assert "Choose by number what is done, closed, or put back." in room.text
        await room.press("x", "\u00b2")
        assert "OPEN" in room.text

    at_the_screen(demo, act)


def test_a_long_list_takes_two_digits_or_enter_and_esc_clears_the_first(demo: Site) -> None:
    from tankwalk.practice.doing.follow_ups import open_action

    for k in range(6):
        open_action(demo, "MV", f"task {k}")

    async def act(room: Room) -> None:
        await room.press("5", "1")
        assert "Number 1_  then Enter" in room.text
        await room.press("escape")
        assert "Number 1_" not in room.text
        assert "OPEN" in room.text
        assert len(number(demo, "task 5")) == 2
        await room.press(*number(demo, "task 5"))
        assert "task 5" in room.text
        assert "1 done   2 close" in room.text
        await room.press("escape", "1", "backspace", number(demo, "Drum"), "enter")
        assert "1 done   2 close" in room.text

    at_the_screen(demo, act)


def test_a_crew_of_twelve_is_chosen_from_by_two_digits(tmp_path: Path) -> None:
    site = opened(tmp_path, with_a_crew_of_twelve)

    async def act(room: Room) -> None:
        await room.press("5", number(site, "Drum"), "2", "1")
        assert "Number, then Enter: 1_" in room.text
        await room.press("2", "1")
        assert "Closed by XL: done and seen." in room.text

    try:
        at_the_screen(site, act)
    finally:
        site.close()


def test_every_step_of_the_open_list_fits_the_smallest_screen(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("5")
        for keys in (["plus", "2", "1", "1", "4", "8", "6"], ["minus", "1", "1", "1", "enter"],
                     ["1", "1", "4", "5"], ["2", "2", "1"]):  # fmt: skip
            for key in keys:
                await room.press(key)
                rows = room.text.split("\n")
                assert len(rows) == 20
                assert all(len(row) == 60 for row in rows)
            await room.press("escape")

    at_the_screen(demo, act, (60, 20))
