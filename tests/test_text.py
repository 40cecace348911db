"""The door for user text: what comes through, what does not, and how wide it is drawn."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from site_support import BRACKETS
from tankwalk.errors import Refusal
from tankwalk.text import Align, clean, fit, named, pad, width, wrap

FAMILY = "\U0001f469\u200d\U0001f469\u200d\U0001f467"
HEART = "\u2764\ufe0f"
FLAG = "\U0001f1eb\U0001f1f7"
FISH = "\U0001f41f"

# Whole words of trouble as well as single characters, so that joins are met often.
any_text = st.lists(
    st.one_of(
        st.characters(exclude_categories=()),
        st.sampled_from(
            (
                *(FAMILY, HEART, FLAG, FISH, "\u200d", "\ufe0f", "e", "\u0301", "\u0600"),
                *("\u0915\u094d", " ", "  ", "\n", "\t", "\u2028", "\ud83d", "\x1b[31m"),
                *("\u202e", "\u6c34", "word"),
            )
        ),
    ),
    max_size=40,
).map("".join)
user_text = any_text.map(clean)
some_cells = st.integers(min_value=0, max_value=30)


@pytest.mark.parametrize("note", BRACKETS)
def test_brackets_in_a_note_are_kept_as_typed(note: str) -> None:
    assert clean(note) == note


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("larvae at\nthe surface", "larvae at the surface"),
        ("cone 3\t \r\n cone 4", "cone 3 cone 4"),
        ("first\u2028second\u2029third", "first second third"),
        ("two  spaces stay", "two  spaces stay"),
        ("  flashing \n", "flashing"),
        ("\n", ""),
    ],
)
def test_a_note_of_several_lines_becomes_one_line(typed: str, kept: str) -> None:
    assert clean(typed) == kept


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("\x1b]0;owned\x07tank 4", "]0;ownedtank 4"),
        ("\x9b2Jtank 4", "2Jtank 4"),
        ("tank\x00 4\x7f", "tank 4"),
        ("\u202e4 knat\u202c", "4 knat"),
        ("\u2066a\u2069\u200e\u200f\u061c", "a"),
        ("T\u200b1\ufeff\u2060", "T1"),
    ],
)
def test_what_drives_a_terminal_or_hides_is_gone(typed: str, kept: str) -> None:
    assert clean(typed) == kept


def test_a_lone_surrogate_is_shown_as_a_replacement_character() -> None:
    assert clean("tank \ud83d 4") == "tank \ufffd 4"


def test_the_same_name_typed_on_two_keyboards_is_one_name() -> None:
    assert clean("Ren\u00e9e") == clean("Rene\u0301e") == clean("Rene\u200b\u0301e")


@pytest.mark.parametrize("sign", [FAMILY, HEART, FLAG, FISH, "\u0645\u06cc\u200c\u062e"])
def test_emoji_and_joined_letters_are_kept(sign: str) -> None:
    assert clean(sign) == sign


def test_a_text_over_the_limit_is_refused_and_says_by_how_much() -> None:
    assert clean("x" * 10_000) == "x" * 10_000
    with pytest.raises(Refusal, match=r"10001 characters long and the limit is 10000"):
        clean("x" * 10_001)
    with pytest.raises(Refusal, match="6 characters long and the limit is 5"):
        clean("tank 4", limit=5)


def test_a_text_that_unfolds_over_the_limit_is_refused_too() -> None:
    # U+0958 is excluded from composition (Unicode, CompositionExclusions.txt): NFC is two.
    with pytest.raises(Refusal, match="10 characters"):
        clean("\u0958" * 5, limit=5)


@given(any_text)
def test_clean_text_is_clean_for_good(text: str) -> None:
    kept = clean(text)
    assert clean(kept) == kept
    assert kept == kept.strip()
    assert unicodedata.is_normalized("NFC", kept)
    assert not any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in kept)
    assert not set(kept) & set("\u200b\ufeff\u061c\u200e\u200f")
    assert not any("\u202a" <= c <= "\u202e" or "\u2066" <= c <= "\u2069" for c in kept)
    kept.encode("utf-8")


@given(st.text(alphabet=st.characters(min_codepoint=33, max_codepoint=126)))
def test_plain_words_come_through_unchanged(text: str) -> None:
    assert clean(text) == text


@pytest.mark.parametrize(
    ("text", "cells"),
    [
        ("", 0),
        ("tank 4", 6),
        ("\u6c34\u69fd", 4),  # East Asian Wide, Unicode Standard Annex 11
        ("Rene\u0301e", 5),
        (FISH, 2),
        (FAMILY, 2),
        (HEART, 2),
        (FLAG, 2),
        ("a\u200db", 2),
        ("a\x1bb", 2),
    ],
)
def test_width_is_what_a_terminal_takes(text: str, cells: int) -> None:
    assert width(text) == cells


@pytest.mark.parametrize(
    ("text", "cells", "shown"),
    [
        ("Larval room", 11, "Larval room"),
        ("Larval room", 10, "Larval r.."),
        ("Larval room", 2, ".."),
        ("Larval room", 1, "."),
        ("Larval room", 0, ""),
        ("Larval room", -1, ""),
        ("\u6c34\u69fd\u6c34\u69fd", 7, "\u6c34\u69fd.."),
        ("\u6c34\u69fd\u6c34\u69fd", 5, "\u6c34.."),
        (FAMILY + "abcd", 5, FAMILY + "a.."),
        (FAMILY + "abcd", 3, ".."),
    ],
)
def test_a_name_too_long_is_cut_and_says_so(text: str, cells: int, shown: str) -> None:
    assert fit(text, cells) == shown


@pytest.mark.parametrize(("align", "shown"), [("<", "T4   "), (">", "   T4"), ("^", " T4  ")])
def test_a_short_name_is_filled_on_the_side_asked(align: Align, shown: str) -> None:
    assert pad("T4", 5, align) == shown


def test_a_long_note_is_wrapped_at_its_words() -> None:
    note = "Larvae at the surface, gulping; aeration turned down a quarter"
    assert wrap(note, 24) == [
        "Larvae at the surface,",
        "gulping; aeration turned",
        "down a quarter",
    ]
    assert wrap("", 24) == []
    assert wrap(note, 0) == []


def test_a_word_longer_than_the_line_is_broken() -> None:
    assert wrap("lot 2024-ATLANTIC-07 moved", 8) == ["lot", "2024-ATL", "ANTIC-07", "moved"]
    assert wrap("abcdefghij kl", 8) == ["abcdefgh", "ij kl"]
    assert wrap("\u6c34a", 1) == [".", "a"]


@given(user_text, some_cells)
def test_a_fitted_text_is_never_too_wide(text: str, cells: int) -> None:
    shown = fit(text, cells)
    assert width(shown) <= cells
    if width(text) <= cells:
        assert shown == text
    else:
        assert shown.endswith(".."[:cells])
        assert text.startswith(shown[: len(shown) - min(cells, 2)])


@given(user_text, some_cells, st.sampled_from(["<", ">", "^"]))
def test_a_padded_text_fills_its_column_exactly(text: str, cells: int, align: Align) -> None:
    assert width(pad(text, cells, align)) == cells


@given(user_text, st.integers(min_value=1, max_value=30))
def test_no_wrapped_line_is_too_wide_and_no_word_is_lost(text: str, cells: int) -> None:
    lines = wrap(text, cells)
    assert all(width(line) <= cells for line in lines)
    toned = any("\U0001f3fb" <= mark <= "\U0001f3ff" for mark in text)
    if cells >= 4 and not toned:  # wide enough for any character that wears no skin tones
        assert "".join("".join(lines).split()) == "".join(text.split())


@given(any_text, some_cells)
def test_text_that_was_never_cleaned_is_measured_too(text: str, cells: int) -> None:
    assert width(fit(text, cells)) <= cells
    assert all(width(line) <= max(cells, 0) for line in wrap(text, cells))


def test_few_tanks_are_named_and_many_are_counted() -> None:
    assert named(["T01", "T02"]) == "T01 T02"
    six = [f"T0{n}" for n in range(6)]
    assert named(six) == "T00 T01 T02 T03 T04 T05"
    assert named([*six, "T06"]) == "7 tanks"
    assert named(six, 5) == "6 tanks"
