"""Every key of the program: one act a key, a method behind each, room in the footer, told in help
and in the README."""

from __future__ import annotations

import importlib
import itertools
import pkgutil
import re
from pathlib import Path

import pytest

from tankwalk import text
from tankwalk.pages import help as help_page
from tankwalk.pages.actions import ACTIONS, EVERYWHERE, by_key, in_scope
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, plain
from tankwalk.practice.round.questions import REASONS
from tankwalk.screens.base import PAD_NAMES, PAD_WITHOUT_NUM_LOCK, PageScreen
from tankwalk.screens.by_name import SCREENS as BY_NAME

README = Path(__file__).parents[1] / "README.md"


def _screens() -> dict[str, type[PageScreen]]:
    """Every screen there is that keys reach, by its scope: a new one is found by itself."""
    import tankwalk.screens as room

    found: dict[str, type[PageScreen]] = {}
    for module in pkgutil.iter_modules(room.__path__, "tankwalk.screens."):
        for one in vars(importlib.import_module(module.name)).values():
            concrete = isinstance(one, type) and issubclass(one, PageScreen)
            if concrete and one.__module__ == module.name and "scope" in vars(one):
                if one is not PageScreen:
                    assert one.scope not in found, f"two screens of the scope {one.scope}"
                    found[one.scope] = one
    return found


SCREENS = _screens()

PAGES = tuple(scope for scope in SCREENS if scope != "help")
"""Scopes that help explains."""


def words(shown: Line) -> list[tuple[str, str]]:
    """The footer as keys and words: each key in its tone, its word right after it."""
    spans = list(shown)
    return [
        (one.text, after.text.strip())
        for one, after in itertools.pairwise(spans)
        if one.tone == "key"
    ]


def test_every_screen_is_a_scope_and_every_scope_is_known() -> None:
    assert set(SCREENS) <= set(EVERYWHERE)
    assert {screen.scope for screen in SCREENS.values()} == set(SCREENS)
    assert {scope for action in ACTIONS for scope in action.scopes} == set(EVERYWHERE)


def test_the_app_opens_each_screen_by_its_scope_and_the_others_with_what_they_are_about() -> None:
    homes = {
        scope: f"{screen.__module__.removeprefix('tankwalk.screens.')}.{screen.__qualname__}"
        for scope, screen in SCREENS.items()
        if scope not in ("walk", "feeding", "batch", "meter", "help", "flag", "clock", "stocktank")
    }
    assert homes == BY_NAME


def test_every_screen_has_words_of_its_own_in_help() -> None:
    assert set(PAGES) <= set(help_page.WORK)


@pytest.mark.parametrize("scope", SCREENS)
def test_every_act_of_a_screen_has_its_method_there(scope: str) -> None:
    wanted = {f"do_{action.name}" for action in in_scope(scope) if action.keys}
    assert wanted
    assert [
        name for name in sorted(wanted) if not callable(getattr(SCREENS[scope], name, None))
    ] == []


@pytest.mark.parametrize("scope", SCREENS)
def test_every_method_that_does_an_act_is_reached_by_a_key(scope: str) -> None:
    own = {name for name in vars(SCREENS[scope]) if name.startswith("do_")}
    assert own - {f"do_{action.name}" for action in in_scope(scope)} == set()


@pytest.mark.parametrize("scope", EVERYWHERE)
def test_a_key_stands_for_one_act_in_each_scope(scope: str) -> None:
    keys = [key for action in in_scope(scope) for key in action.keys]
    assert sorted(keys) == sorted(set(keys))
    for action in in_scope(scope):
        for key in action.keys:
            assert by_key(scope, key) is action


@pytest.mark.parametrize("scope", [*EVERYWHERE, "done", "none"])
@pytest.mark.parametrize("width", [40, 60, 80, 120, 200])
def test_the_footer_of_every_scope_fits_its_line_and_nothing_in_it_is_cut(
    scope: str, width: int
) -> None:
    shown = plain([footer(scope, width, [("Enter", "go on as PB")])])
    row = footer(scope, width, [("Enter", "go on as PB")])
    assert sum(text.width(span.text) for span in row) == width
    assert ".." not in shown
    known = {
        (action.shown, word)
        for action in in_scope(scope)
        if action.in_footer
        for word in (action.word, action.narrow)
    }
    assert set(words(row)) <= known | {("Enter", "go on as PB")}
    assert words(row)[0] == ("Enter", "go on as PB")


def test_at_eighty_columns_every_key_meant_for_the_footer_is_in_it_but_the_look() -> None:
    for scope in EVERYWHERE:
        shown = plain([footer(scope, 80)])
        missing = [
            a.word
            for a in in_scope(scope)
            if a.in_footer
            and a.word not in shown
            and f"{a.shown} {a.narrow or a.word}" not in shown
        ]
        assert missing == [], scope


def test_at_sixty_columns_the_keys_of_the_round_stay_in_the_footer_with_the_way_back() -> None:
    """Set closer, they all fit: a person in trouble looks for "back" and "help"."""
    shown = plain([footer("walk", 60)])
    assert shown.split() == ("Enter keep + OK - problem * again / none Esc back ? help".split())


@pytest.mark.parametrize("scope", PAGES)
@pytest.mark.parametrize("width", [60, 80, 120])
def test_help_tells_every_act_of_its_page_with_its_key(scope: str, width: int) -> None:
    told = plain(help_page.draw(scope, None, width))
    flowing = " ".join(told.split())
    for action in in_scope(scope):
        row = rf" {re.escape(action.shown)}( or [a-z])? {re.escape(action.does)}"
        assert re.search(row, flowing), action.name
        for letter in filter(re.compile("[a-z]").fullmatch, action.keys):
            assert re.search(rf"^   (\S+ or )?{letter}\s", told, re.M), letter


def test_the_acts_of_a_round_are_on_the_pad_and_the_readme_tells_each_of_its_keys() -> None:
    table = [row for row in README.read_text("utf-8").split("\n") if row.startswith("| ")]
    pad = [action.shown for action in in_scope("walk") if action.shown in ("Enter", *"+-*/")]
    assert pad == ["Enter", "+", "-", "*", "/"]
    for key in pad:
        assert any(re.match(rf"\| `?{re.escape(key)}`? \|", row) for row in table), key
    for other in ("digits, `.` or `,`", "arrows"):
        assert any(row.startswith(f"| {other} |") for row in table)


def test_the_readme_names_every_letter_of_a_round() -> None:
    told = " ".join(README.read_text("utf-8").split())
    for action in in_scope("walk"):
        if re.fullmatch("[a-z]|[?]|Esc", action.shown) and action.name != "board1":
            assert f"`{action.shown}` " in told or f"{action.shown} goes back" in told, action.name


def test_each_pad_key_that_is_told_apart_means_what_its_twin_on_the_main_rows_means() -> None:
    twins = {"add": "plus", "subtract": "minus", "multiply": "asterisk", "divide": "slash"}
    for pad, main in twins.items():
        assert by_key("walk", pad) is by_key("walk", main) is not None
        assert pad in PAD_NAMES
    assert PAD_NAMES["decimal"] == "."
    assert PAD_NAMES["separator"] == ","


def test_what_the_pad_sends_without_num_lock_is_no_act_of_a_round() -> None:
    assert {
        key for action in in_scope("walk") for key in action.keys
    } & PAD_WITHOUT_NUM_LOCK == set()


def test_the_reasons_are_on_the_digits_in_order() -> None:
    assert [one.key for one in REASONS] == ["1", "2", "3", "4", "5"]


@pytest.mark.parametrize("scope", EVERYWHERE)
def test_keys_of_a_footer_stand_three_blanks_apart_at_eighty_columns(scope: str) -> None:
    row = plain([footer(scope, 80)]).rstrip()
    assert row.endswith("? help")
    assert len(row) <= 79, "one cell of margin"
    apart = re.findall(r" {2,}", row.strip())
    assert min(map(len, apart), default=3) >= 3, row


@pytest.mark.parametrize("scope", EVERYWHERE)
@pytest.mark.parametrize("width", [60, 80])
def test_no_word_of_a_footer_is_cut_and_help_stays(scope: str, width: int) -> None:
    shown = words(footer(scope, width))
    known = {(a.shown, word) for a in in_scope(scope) for word in (a.word, a.narrow)}
    assert set(shown) <= known
    assert ("?", "help") in shown


PLACES = {
    "1": {"tank"},
    "2": {"feed", "week"},  # from a tank its own meals
    "3": {"handover"},
    "4": {"workings"},
    "5": {"open"},
    "6": {"meters"},
    "7": {"livefeed"},
    "8": {"stock"},
    "9": {"trial"},
    "0": {"pages"},
    "f": {"find"},
    "e": {"season"},
    "c": {"count"},
    "s": {"samples"},
    "d": {"night"},
    "q": {"quit"},
}
"""Each page by the key that leads to it."""


def test_a_digit_leads_to_the_same_page_wherever_it_leads_to_one() -> None:
    found: dict[str, set[str]] = {}
    for action in ACTIONS:
        for key in set(action.keys) & set(PLACES):
            found.setdefault(key, set()).add(action.name)
    assert found == PLACES


def test_the_list_of_pages_offers_each_of_them_and_the_board_too() -> None:
    listed = {key for action in in_scope("pages") for key in action.keys}
    assert set(PLACES) - {"0"} <= listed
    at_the_board = {key for action in in_scope("board") for key in action.keys}
    assert set(PLACES) <= at_the_board
