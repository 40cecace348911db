"""Where a value lies in its band: the strip of nine cells and the long scale, point by point."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tankwalk.pages.lines import Line
from tankwalk.pages.strips import (
    LAST,
    LONG,
    NARROW,
    NOW,
    SHORT,
    STRIP,
    Scale,
    Size,
    long_scale,
    place,
    scale_of,
    strip,
)
from tankwalk.plan.kinds import NUMBER
from tankwalk.plan.model import Item, Limits
from tankwalk.practice.judging.verdict import Flag, level

OXYGEN = Item("do", "Oxygen", NUMBER, unit="mg/L", plausible=(0, 20))
COLD = Item("temp", "Temperature", NUMBER, unit="degC", plausible=(-1, 35))
BAND = Limits(watch_below=7.0, watch_above=10.0, act_below=6.0)


def drawn(spans: Line | list) -> str:  # type: ignore[type-arg]
    return "".join(span.text for span in spans)


def short(value: float, limits: Limits = BAND, item: Item = OXYGEN) -> str:
    return drawn(strip(scale_of(item, limits), value, "act"))


def long(value: float, limits: Limits = BAND, size: Size = LONG) -> str:
    scale = scale_of(OXYGEN, limits)
    assert scale is not None
    return drawn(long_scale(scale, {NOW: value}, size, {}))


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (8.3, " [\u00b7\u00b7\u00b7\u25cf\u00b7\u00b7\u00b7\u00b7\u00b7] "),
        (7.0, " [\u25cf\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7] "),
        (10.0, " [\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u25cf] "),
        (6.9, "\u25c4[\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7] "),
        (10.1, " [\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7\u00b7]\u25ba"),
    ],
)
def test_a_value_stands_in_its_cell_and_leaves_the_brackets_where_it_is_out(
    value: float, said: str
) -> None:
    assert short(value) == said


def test_the_action_limit_stands_six_cells_outside_and_what_is_beyond_it_beyond() -> None:
    whole = long(8.3)
    assert whole.index("[") - whole.index("\u251c") == 6
    assert "\u2524" not in whole, "this band has no action limit above"
    assert long(6.1).index(NOW) == whole.index("\u251c") + 1
    assert long(4.8).index(NOW) == whole.index("\u251c") - 1
    assert long(12.0).index(NOW) > whole.index("]")


def test_what_was_last_gives_way_to_what_is_now_and_both_show_where_they_differ() -> None:
    scale = scale_of(OXYGEN, BAND)
    assert scale is not None
    both = drawn(long_scale(scale, {LAST: 9.0, NOW: 8.3}, LONG, {}))
    assert both.count(LAST) == both.count(NOW) == 1
    same = drawn(long_scale(scale, {LAST: 8.3, NOW: 8.3}, LONG, {}))
    assert (same.count(LAST), same.count(NOW)) == (0, 1)


@pytest.mark.parametrize(
    ("limits", "item", "said"),
    [
        (Limits(watch_above=25), OXYGEN, " [\u25cf\u00b7\u00b7"),
        (Limits(watch_above=25), COLD, " \u00b7"),
        (Limits(watch_below=7), OXYGEN, "\u25c4["),
    ],
)
def test_a_side_without_a_limit_ends_at_nothing_or_stands_open(
    limits: Limits, item: Item, said: str
) -> None:
    assert short(0.5, limits, item).startswith(said)


def test_an_item_without_limits_has_no_strip() -> None:
    assert scale_of(OXYGEN, Limits()) is None
    assert drawn(strip(None, 8.3, "ok")) == drawn(strip(scale_of(OXYGEN, BAND), None, "ok"))


# ---- for any band and any value

SMALL = st.integers(0, 20_000).map(lambda n: n / 100)


@st.composite
def limited(draw: st.DrawFn) -> Limits:
    """A band of one or two limits, with action limits outside them or without."""
    ends = sorted(draw(st.lists(SMALL, min_size=4, max_size=4, unique=True)))
    act_low, low, high, act_high = ends
    sides = draw(st.sampled_from(("both", "low", "high")))
    acts = draw(st.booleans())
    return Limits(
        watch_below=low if sides != "high" else None,
        watch_above=high if sides != "low" else None,
        act_below=act_low if acts and sides != "high" else None,
        act_above=act_high if acts and sides != "low" else None,
    )


def out(limits: Limits, value: float) -> bool:
    return level(value, limits) >= Flag.WATCH


@given(limited(), SMALL)
def test_a_point_is_outside_the_brackets_just_where_judging_says_it_is_out(
    limits: Limits, value: float
) -> None:
    said = short(value, limits)
    assert len(said) == STRIP == SHORT + 4
    assert (NOW in said) == (not out(limits, value))
    assert ("\u25c4" in said or "\u25ba" in said) == out(limits, value)
    for size in (LONG, NARROW):
        scale = scale_of(OXYGEN, limits)
        assert scale is not None
        at = place(scale, value, size)
        assert 0 <= at < size.cells
        assert (size.opens < at < size.closes) == (not out(limits, value))
        assert len(long(value, limits, size)) == size.cells


@given(limited(), SMALL, SMALL)
def test_of_two_values_the_larger_never_stands_to_the_left(
    limits: Limits, one: float, other: float
) -> None:
    assume(one < other)
    scale = scale_of(OXYGEN, limits)
    assert scale is not None
    for size in (LONG, NARROW):
        assert place(scale, one, size) <= place(scale, other, size)


@given(limited(), SMALL)
def test_what_is_beyond_an_action_limit_stands_beyond_it_and_nothing_else_does(
    limits: Limits, value: float
) -> None:
    scale = scale_of(OXYGEN, limits)
    assert scale is not None
    for size in (LONG, NARROW):
        at = place(scale, value, size)
        if limits.act_below is not None:
            assert (at == 0) == (value < limits.act_below)
        if limits.act_above is not None:
            assert (at == size.cells - 1) == (value > limits.act_above)
        assert at not in (size.opens, size.closes), "a bracket is never hidden"


def test_a_band_of_one_value_has_its_point_in_the_middle() -> None:
    assert Scale(5.0, 5.0).cell(5.0, SHORT) == SHORT // 2
