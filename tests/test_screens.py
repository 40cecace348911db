"""The screens as a person finds them: what each key does, page by page, with words of all kinds."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input

from demo_support import HOSTILE_WORDS, opened, with_a_crew_of_twelve, with_hostile_words
from site_support import BRACKETS
from tankwalk.practice.site import Site
from tankwalk.screens.app import TankwalkApp
from tankwalk.screens.base import PageScreen
from tankwalk.screens.handover import HandoverScreen
from tankwalk.screens.tones import LOOKS

STRIPPED = (
    ("\x1b]0;owned\x07", "]0;owned"),
    ("\x1b[2Jgone", "[2Jgone"),
    ("turned \u202egnat\u202c", "turned gnat"),
    ("bell\x07 and back\x08", "bell and back"),
    ("a\r\nb\tc", "a b c"),
)
"""What could drive a terminal, and what is left of it."""

KEPT = ("a fish \U0001f41f here", "\u00e9tang n\u00b0 4, \u65e5\u672c", "5 \u00b5g/L")
"""Characters beyond ASCII that are words like any other."""

TYPES = {"plus": "+", "minus": "-", "asterisk": "*", "slash": "/", "question_mark": "?",
         "full_stop": ".", "enter": "\r", "escape": "\x1b", "backspace": "\x7f"}  # fmt: skip
"""What keys with a name type."""

At = Callable[["Room"], Awaitable[None]]


class Room:
    """A person at the screen."""

    def __init__(self, app: TankwalkApp, pilot: Pilot[str]) -> None:
        self.app = app
        self.pilot = pilot

    async def press(self, *keys: str) -> None:
        """Keys as a terminal sends them, as fast as it can."""
        for key in keys:
            self.app.post_message(events.Key(key, TYPES.get(key, key if len(key) == 1 else None)))
        await self.settle()

    async def settle(self) -> None:
        """Wait until the page in front has taken all that came; a key may have put it there.

        A pause waits for the page that was in front when it began, and the one that comes to the
        front still has to be told so and drawn: on a slow machine that is after the pause.
        """
        front = None
        while front is not self.app.screen:
            front = self.app.screen
            await self.pilot.pause()

    async def paste(self, words: str) -> None:
        self.app.post_message(events.Paste(words))
        await self.settle()

    async def begin(self) -> None:
        """From the board to the first stop, as PB."""
        await self.press("enter", "5")
        assert "stop 1 of" in self.text

    async def say_back(self) -> None:
        """Answer what the handover asks of the one who takes it, each at the first try."""
        assert isinstance(self.page, HandoverScreen)
        for asked in self.page.draft.asks:
            await self.press(str(asked.choices.index(asked.right) + 1))

    @property
    def page(self) -> PageScreen:
        front = self.app.screen
        assert isinstance(front, PageScreen)
        return front

    @property
    def text(self) -> str:
        return self.page.sheet.text()

    @property
    def flowing(self) -> str:
        """The page with its line ends taken out, to find words that were wrapped."""
        return " ".join(self.text.split())

    @property
    def footer(self) -> str:
        return self.text.split("\n")[-1]


def at_the_screen(site: Site, act: At, size: tuple[int, int] = (80, 24)) -> TankwalkApp:
    """Open the site on a screen, do something there, and leave."""

    async def whole() -> TankwalkApp:
        app = TankwalkApp(site, "board")
        async with app.run_test(size=size, notifications=True, tooltips=True) as pilot:
            await pilot.pause()
            await act(Room(app, pilot))
        assert app.crash is None
        return app

    return asyncio.run(whole())


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = opened(tmp_path)
    yield site
    site.close()


def newest(site: Site, view: str, columns: str) -> tuple[Any, ...]:
    last = "entry" if view == "follow_ups" else "n"
    found: tuple[Any, ...] = site.ledger.db.execute(
        f"SELECT {columns} FROM {view} ORDER BY {last} DESC LIMIT 1"
    ).fetchone()
    return found


# ---- words of all kinds


@pytest.mark.parametrize(("given", "left"), [*((w, w) for w in (*BRACKETS, *KEPT)), *STRIPPED])
def test_any_words_are_shown_as_they_are_on_every_page_that_shows_them(
    demo: Site, given: str, left: str
) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("n")
        await room.paste(given)
        assert left + "_" in room.text
        await room.press("enter")
        assert "Noted for T01." in room.text
        assert newest(demo, "notes", "text") == (left,)
        await room.press("b", "3", "minus", "1")
        await room.paste(given)
        assert left + "_" in room.text
        await room.press("enter")
        assert "Kept under TO DO." in room.text
        assert newest(demo, "follow_ups", "text") == (left,)
        seen = room.flowing
        for _ in range(6):
            await room.press(*["down"] * 10)
            seen += room.flowing
        assert left in seen
        await room.press("b")
        seen = room.flowing
        for _ in range(4):
            await room.press(*["down"] * 10)
            seen += room.flowing
        assert left in seen
        await room.press("question_mark")
        assert "HELP" in room.text

    at_the_screen(demo, act)


@pytest.mark.parametrize("words", [*BRACKETS, *(given for given, _ in STRIPPED), *KEPT])
def test_any_words_pasted_where_a_value_is_asked_are_refused_in_words_and_change_nothing(
    demo: Site, words: str
) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press(*["plus"] * 13)
        assert "Backup oxygen, bar" in room.text
        before = newest(demo, "entries", "n")
        await room.paste(words)
        await room.press("enter")
        assert newest(demo, "entries", "n") == before
        assert "Backup oxygen, bar" in room.text
        await room.press("escape", "1", "6", "2", "enter")
        assert "site Backup oxygen 162 bar kept." in room.text

    at_the_screen(demo, act)


@pytest.mark.parametrize("words", [BRACKETS[1], BRACKETS[6], "16 \u00b0C \u65e5"])
def test_words_typed_key_by_key_are_kept_as_typed(demo: Site, words: str) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("n")
        for character in words:
            room.app.post_message(events.Key(character, character))
        await room.pilot.pause()
        assert words + "_" in room.text
        await room.press("x", "backspace", "enter")
        assert newest(demo, "notes", "text") == (words,)

    at_the_screen(demo, act)


def test_a_note_may_be_very_long_and_only_what_is_beyond_all_measure_is_not_taken(
    demo: Site,
) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("n")
        await room.paste("long " * 1000)
        assert "long_" in room.text
        await room.press("enter")
        assert "Noted for T01." in room.text
        [kept] = newest(demo, "notes", "text")
        assert kept == ("long " * 1000).strip()
        await room.press("n")
        await room.paste("z" * 9_000)
        assert "No more than" not in room.flowing
        await room.paste("y" * 9_000)
        said = "No more than 10000 characters are taken here: the rest was not."
        assert said in room.flowing
        assert "yyy_" in room.text, "what was taken stands there to be read before it is kept"
        assert newest(demo, "notes", "text") == (kept,)
        await room.press("enter")
        assert newest(demo, "notes", "text") == ("z" * 9_000 + "y" * 1_000,)

    at_the_screen(demo, act)


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (120, 40)])
def test_a_plan_full_of_such_words_is_drawn_as_written_on_every_page(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    site = opened(tmp_path, with_hostile_words)
    seen = ""

    async def act(room: Room) -> None:
        nonlocal seen
        seen += room.text
        await room.press("question_mark")
        seen += room.text
        await room.press("escape", "enter")
        seen += room.text
        await room.press("slash")
        seen += room.text
        await room.press("escape", "5")
        for way in ["right"] * 16:
            seen += room.text
            await room.press("question_mark")
            seen += room.text
            await room.press("escape", "minus")
            seen += room.text
            await room.press("escape", way)
        seen += room.text
        await room.press("b", "3")
        assert "HANDOVER" in room.text
        for _ in range(5):
            seen += room.text
            await room.press(*["down"] * 10)
        await room.press("p")
        assert not isinstance(room.app.screen, PageScreen)
        await room.press("escape")

    try:
        at_the_screen(site, act, size)
    finally:
        site.close()
    assert all(c == "\n" or c.isprintable() for c in seen)
    flowing = " ".join(seen.split())
    for each in HOSTILE_WORDS:
        assert each in flowing


# ---- the board


def test_from_the_board_each_key_leads_where_the_footer_says(demo: Site) -> None:
    async def act(room: Room) -> None:
        asked = "Who is doing this round?"
        for key, words in (("enter", asked), ("plus", asked), ("2", "FEED"), ("3", "HANDOVER"),
                           ("h", "HANDOVER"), ("question_mark", "Keys here")):  # fmt: skip
            await room.press(key)
            assert words in room.text
            await room.press("escape")
            assert "TANKS  oxygen" in room.text
        await room.press("x", "z", "f5")
        assert "TANKS  oxygen" in room.text

    at_the_screen(demo, act)


def test_the_board_scrolls_to_its_last_line_and_back(demo: Site) -> None:
    async def act(room: Room) -> None:
        first = room.text
        assert demo.plan.emergency not in room.flowing
        await room.press(*["down"] * 60)
        assert demo.plan.emergency in room.flowing
        assert room.footer == first.split("\n")[-1]
        await room.press(*["up"] * 60)
        assert room.text == first

    at_the_screen(demo, act, (60, 20))


def test_each_look_follows_the_one_before_on_all_pages_and_tells_no_less(demo: Site) -> None:
    async def act(room: Room) -> None:
        words = room.text
        looks = [room.app.look]
        for _ in LOOKS:
            await room.press("d")
            looks.append(room.app.look)
            assert room.text == words
        assert looks == ["day", "night", "plain", "day"]
        await room.press("d", "3")
        assert room.page.styles.background.hex == "#0B0000"

    at_the_screen(demo, act)


def test_q_and_esc_on_the_board_leave_the_program(demo: Site) -> None:
    for key in ("q", "escape"):

        async def act(room: Room, key: str = key) -> None:
            await room.press(key)
            assert room.app.return_code == 0

        at_the_screen(demo, act)


# ---- who walks


def test_nobody_walks_by_silence(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("enter", "enter")
        assert "Choose yourself by number: nobody walks by silence." in room.text
        await room.press("9")
        assert "There is no number 9 in the list." in room.text
        await room.press("0")
        assert "There is no number 0 in the list." in room.text
        for other in ("\u00b2", "\u0663", "x"):
            room.app.post_message(events.Key(other, other))
            await room.pilot.pause()
        assert "Who is doing this round?" in room.text
        await room.press("5")
        assert "Morning round, PB" in room.text

    at_the_screen(demo, act)


def test_a_round_begun_is_gone_on_with_by_enter_or_by_someone_else_by_number(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("plus", "escape", "enter")
        assert "Begun by PB at 06:50, just now, not signed yet." in room.flowing
        assert "Enter go on as PB" in room.footer
        await room.press("enter")
        assert "1 of 12 seen" in room.text
        await room.press("b", "enter", "1")
        assert "JQ goes on from here, in place of PB? 1 again: yes." in room.flowing
        await room.press("1")
        assert "Morning round, JQ" in room.text
        await room.press("plus", "b", "enter")
        assert "Enter goes on as JQ" in room.flowing

    at_the_screen(demo, act)


def test_another_round_than_the_one_that_is_due_can_be_chosen(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("enter", "slash")
        assert "Which round?" in room.text
        await room.press("escape")
        assert "Who is doing this round?" in room.text
        await room.press("slash", "2", "5")
        assert "Afternoon round, PB" in room.text

    at_the_screen(demo, act)


def test_in_a_crew_of_more_than_nine_two_digits_choose(tmp_path: Path) -> None:
    site = opened(tmp_path, with_a_crew_of_twelve)

    async def act(room: Room) -> None:
        await room.press("enter", "1", "2")
        assert "Morning round, XL" in room.text
        await room.press("b", "enter", "3", "enter", "3", "enter")
        assert "Morning round, TS" in room.text
        await room.press("b", "3", "plus")
        assert "is not signed" in room.flowing
        await room.press("2", "1")
        assert "Number, then Enter: 1_" in room.text
        await room.press("1")
        assert "Given by XK." in room.text
        await room.press(*["right"] * 4, "asterisk", "2", "enter", "1")
        await room.say_back()
        assert "Responsibility passed 06:50, XK to RO." in room.text

    try:
        at_the_screen(site, act)
    finally:
        site.close()


# ---- the walk


def test_digits_build_the_entry_large_and_nothing_is_kept_before_enter(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press(*["plus"] * 13, "1", "6", "3", "backspace", "2")
        assert "162_" in room.text
        assert "\u2584\u2588  \u2588\u2580\u2580 \u2580\u2580\u2588" in room.text, (
            "1, 6 and 2, solid"
        )
        before = newest(demo, "entries", "n")
        await room.press("plus")
        assert "Enter keeps 162; + is for an empty entry." in room.text
        await room.press("down")
        assert "162 is not kept yet: Enter keeps it, Esc clears it." in room.text
        await room.press("minus", "asterisk", "slash")
        assert newest(demo, "entries", "n") == before
        await room.press("escape")
        assert "162_" not in room.text
        await room.press("enter")
        assert "Nothing was typed, so nothing is kept." in room.text
        assert newest(demo, "entries", "n") == before

    at_the_screen(demo, act)


def test_a_unit_may_follow_and_letters_at_the_start_are_acts(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        for _ in range(3):
            await room.press("right")
        assert "T01  Temperature" in room.text
        await room.press("6", "5", "f", "enter")
        assert "T01 Temperature 18.3 degC kept." in room.text
        await room.press("u")
        assert "Undone: T01 Temperature 65" in room.flowing
        assert newest(demo, "entries", "kind, reason") == ("void", "undone")
        await room.press("m")
        assert "oxygen meter" in room.text

    at_the_screen(demo, act)


def test_an_entry_takes_no_more_than_a_value_could_have(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("right", "down", *["1"] * 40)
        await room.press("enter")
        assert "1" * 25 not in room.text
        await room.press("escape")
        await room.paste("2" * 40)
        assert "2" * 25 not in room.text

    at_the_screen(demo, act)


def test_every_act_is_found_by_its_name(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("p")
        typed = room.app.screen.query_one(Input)
        assert typed.cursor_blink is False
        await room.press(*"note")
        await room.pilot.pause(0.2)
        await room.press("down", "enter")
        await room.pilot.pause(0.2)
        assert "Note for T01" in room.text or "Why?" in room.text
        await room.press("escape", "p", "escape")
        assert "stop 1 of" in room.text

    at_the_screen(demo, act)


# ---- the handover


def test_the_room_is_given_and_taken_and_the_minute_is_kept(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("3", "plus")
        assert "Who gives the room?" in room.text
        await room.press("9")
        assert "There is no number 9 in the list." in room.text
        await room.press("5")
        assert "Given by PB. Now the one who takes over presses *." in room.text
        await room.press("asterisk")
        assert "Read it to its end first. " in room.text
        await room.press(*["right"] * 4, "asterisk")
        assert "Who takes the room?" in room.text
        await room.press("1")
        assert "How is the handover received?" in room.text
        await room.press("1")
        assert "Which tank is worst?" in room.text
        await room.say_back()
        assert "Responsibility passed 06:50, PB to JQ." in room.text
        await room.press("asterisk")
        assert "There is no handover waiting to be taken" in room.flowing

    at_the_screen(demo, act)


def test_esc_leaves_each_question_of_the_handover_and_keeps_nothing(demo: Site) -> None:
    async def act(room: Room) -> None:
        before = newest(demo, "entries", "n")
        await room.press("3", *["right"] * 4)
        for keys in (["plus"], ["asterisk"], ["asterisk", "1"], ["minus"], ["minus", "1", "w"]):
            await room.press(*keys, "escape")
            assert "Back: nothing was kept." in room.text
            assert "add an action" in room.footer
        await room.press("minus", "1", "enter")
        assert "add an action" not in room.footer
        await room.press("escape", "escape")
        assert "TANKS" in room.text
        assert newest(demo, "entries", "n") == before

    at_the_screen(demo, act)


def test_a_figure_of_another_script_chooses_nobody(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("3", "plus")
        before = newest(demo, "entries", "n")
        for other in ("\u00b2", "\u0665", "\u2464"):
            room.app.post_message(events.Key(other, other))
            await room.pilot.pause()
        assert "Who gives the room?" in room.text
        assert newest(demo, "entries", "n") == before

    at_the_screen(demo, act)


def test_help_is_there_while_the_handover_asks_and_the_question_stays(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("3", "plus")
        assert "? help" in room.footer
        await room.press("question_mark")
        assert "Keys here" in room.text
        await room.press("escape")
        assert "Who gives the room?" in room.text

    at_the_screen(demo, act)


def test_the_handover_scrolls_to_its_end(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("3")
        assert "more lines below (down)" in room.text
        await room.press(*["down"] * 60)
        assert "Drafted from the record up to entry" in room.text
        assert "more lines below" not in room.text
        assert room.text.startswith(" HANDOVER"), "and what runs by the clock stays in sight"
        await room.press(*["up"] * 60)
        assert "HANDOVER" in room.text

    at_the_screen(demo, act)


# ---- help


def test_help_explains_the_item_that_is_asked_and_scrolls_to_its_end(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("question_mark")
        assert "Keys here" in room.text
        seen = ""
        while "more lines below" in room.flowing:
            seen += room.flowing
            await room.press("right")
        assert "T01 Glance" in seen
        assert "When odd, first: Look a minute more" in seen
        assert "certifies nothing." in room.flowing
        await room.press(*["left"] * 10, "question_mark")
        assert "stop 1 of" in room.text

    at_the_screen(demo, act)
