"""Keys in bursts, keys too early, windows too small: nothing a person types ends the program."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import opened
from tankwalk.pages.actions import ACTIONS
from tankwalk.practice.site import Site
from tankwalk.screens.palette import LEAST, Palette
from tankwalk.screens.tones import after
from test_screens import Room, at_the_screen


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = opened(tmp_path)
    yield site
    site.close()


@pytest.mark.parametrize("word", ["help", "night"])
def test_enter_held_on_an_act_by_name_does_the_act_once(demo: Site, word: str) -> None:
    async def act(room: Room) -> None:
        before = room.app.look
        [called] = [a.word for a in ACTIONS if a.name == word and "board" in a.scopes]
        await room.press("p", *(c for c in called if c.isalpha()))
        await room.pilot.pause(0.6)
        await room.press(*["enter"] * 8)
        await room.pilot.pause(0.3)
        if word == "help":
            assert "HELP" in room.text
            await room.press("escape")
        else:
            assert room.app.look == after(before, room.app.looks)
        assert room.page.scope == "board"

    at_the_screen(demo, act)


@pytest.mark.parametrize("key", ["pagedown", "pageup"])
@pytest.mark.parametrize("walking", [False, True])
def test_a_page_key_right_after_p_does_nothing(demo: Site, key: str, walking: bool) -> None:
    async def act(room: Room) -> None:
        if walking:
            await room.begin()
        await room.press("p", key, key)
        await room.pilot.pause(0.4)
        await room.press(key, "escape")
        await room.pilot.pause(0.2)
        assert room.page.scope == ("walk" if walking else "board")

    at_the_screen(demo, act)


def test_help_left_twice_is_left_once(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.begin()
        await room.press("question_mark")
        help_page = room.page
        help_page.do("board")
        help_page.do("help")
        await room.pilot.pause()
        assert "stop 1 of" in room.text
        await room.press(*["question_mark"] * 7, "escape")
        assert "stop 1 of" in room.text

    at_the_screen(demo, act)


def test_any_window_draws_help_and_takes_p(demo: Site) -> None:
    async def act(room: Room) -> None:
        wide, high = LEAST
        narrow = [(width, 12) for width in (1, 2, 4, 8, wide - 1, wide, wide + 1, 20, 40)]
        low = [(40, height) for height in (1, 2, high - 1, high)]
        for width, height in [*narrow, *low, (1, 1), (wide - 1, high), (wide, high)]:
            await room.pilot.resize_terminal(width, height)
            await room.press("question_mark")
            assert room.page.scope == "help"
            assert len(room.text.split("\n")) == height
            await room.press("escape", "p")
            await room.pilot.pause(0.02)
            fits = width >= wide and height >= high
            assert isinstance(room.app.screen, Palette) == fits
            if fits:
                await room.press("escape")
                await room.pilot.pause(0.02)

    at_the_screen(demo, act)


def test_a_window_made_too_small_for_the_acts_by_name_shows_the_page_again(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("p")
        await room.pilot.pause(0.3)
        assert isinstance(room.app.screen, Palette)
        await room.pilot.resize_terminal(4, 3)
        await room.pilot.pause(0.2)
        assert room.page.scope == "board"

    at_the_screen(demo, act)
