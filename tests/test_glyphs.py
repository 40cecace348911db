"""Drawn signs: the past as a strip, and every sign as ASCII where a terminal has no better."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tankwalk.pages.glyphs import STEPS, in_ascii, printable, strip
from tankwalk.pages.lines import Span


def test_a_strip_shows_the_place_in_the_band_low_to_high_and_what_lies_outside() -> None:
    assert strip([0.0, 0.49, 0.51, 1.0], 4) == "\u2581\u2584\u2585\u2588"
    assert strip([-0.01, 1.01, None], 4) == " \u25bc\u25b2\u00b7"
    assert strip([0.0] * 9 + [1.0], 3) == "\u2581\u2581\u2588", "the newest stay"


@given(st.floats(0, 1), st.floats(0, 1))
def test_what_lies_higher_in_the_band_is_never_drawn_lower(one: float, other: float) -> None:
    low, high = sorted((one, other))
    drawn = strip([low, high], 2)
    assert STEPS.index(drawn[0]) <= STEPS.index(drawn[1])


def test_in_ascii_the_past_is_digits_and_large_figures_are_solid() -> None:
    row = in_ascii((Span("\u2581\u2584\u2588\u25bc", "past"), Span("\u2580\u2584\u2588", "entry")))
    assert [span.text for span in row] == ["148v", '"_#']
    assert all(span.text.isascii() for span in row)


def test_a_page_that_cannot_be_written_in_a_character_set_is_written_all_the_same() -> None:
    assert (
        printable("T01 8.2 \u2585\u2584 M\u00fcller", "utf-8") == "T01 8.2 \u2585\u2584 M\u00fcller"
    )
    page = "T01 8.2 \u2585\u2584 M\u00fcller"
    assert printable(page, "utf-8") == page
    assert printable(page, "latin-1") == "T01 8.2 54 M\u00fcller"
    assert printable(page, "ascii") == "T01 8.2 54 M?ller"
