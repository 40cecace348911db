"""Is this number right? Possible, likely slip, band, change: in this order, to the last digit."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from site_support import NOW, moment
from tankwalk.clock import Instant
from tankwalk.ledger.readings import Seen
from tankwalk.plan import kinds
from tankwalk.plan.model import Band, Item, Limits
from tankwalk.practice.judging.rules import Rule, recorded
from tankwalk.practice.judging.slips import Around
from tankwalk.practice.judging.verdict import Flag, Judged, band_text, judge, level, spread_words

OXYGEN = Item("do", "Oxygen", unit="mg/L", plausible=(0, 20))
TEMPERATURE = Item("temp", "Temperature", unit="degC", plausible=(-1, 35))
FLOW = Item("flow", "Flow", unit="L/min", plausible=(0, 60))
SCREEN = Item(
    "screen",
    "Outlet screen",
    kinds.CHOICE,
    choices=("clean", "slimy", "fouled"),
    watch_on=("slimy",),
    act_on=("fouled",),
)

WANTED = Limits(
    watch_below=7.0,
    act_below=6.0,
    urgent_below=5.0,
    watch_above=12.0,
    act_above=14.0,
    urgent_above=16.0,
)
FALLS = Limits(
    watch_below=7.0,
    act_below=6.0,
    urgent_below=5.0,
    watch_change=1.0,
    act_change=2.0,
    change_way="fall",
)
RIGHT_NOW = moment(NOW)


def band(limits: Limits = WANTED) -> Band:
    return Band(limits, None, "our plan", "CD")


def last(value: float | None, hours: float) -> Seen:
    """The last oxygen of a tank, so many hours ago."""
    at = Instant(RIGHT_NOW.utc - round(hours * 3600), RIGHT_NOW.offset)
    qualifier = "not looked" if value is None else None
    return Seen(1, "T01", "do", "mg/L", value, "", qualifier, None, at, "CD", None, 0, False, None)


def judged(
    value: float,
    limits: Limits | None = WANTED,
    before: Seen | None = None,
    item: Item = OXYGEN,
    *,
    sure: bool = False,
) -> Judged:
    around = Around(None if before is None else before.value)
    wanted = None if limits is None else band(limits)
    return judge(item, value, f"{value:g}", wanted, before, RIGHT_NOW, around, sure=sure)


@pytest.mark.parametrize(
    ("value", "flag"),
    [
        (7.0, Flag.OK),
        (6.9, Flag.WATCH),
        (6.0, Flag.WATCH),
        (5.9, Flag.ACT),
        (5.0, Flag.ACT),
        (4.9, Flag.URGENT),
        (12.0, Flag.OK),
        (12.1, Flag.WATCH),
        (14.0, Flag.WATCH),
        (14.1, Flag.ACT),
        (16.0, Flag.ACT),
        (16.1, Flag.URGENT),
    ],
)
def test_a_value_on_a_limit_is_inside_and_one_tenth_past_it_is_not(
    value: float, flag: Flag
) -> None:
    assert level(value, WANTED) is flag
    assert judged(value, sure=True).flag is flag


def test_a_limit_that_is_not_exact_in_binary_still_counts_its_own_value_as_inside() -> None:
    limits = Limits(watch_below=0.1 + 0.2, watch_above=18.2 - 1.2)
    assert level(0.3, limits) is Flag.OK
    assert level(17.0, limits) is Flag.OK
    assert level(0.29, limits) is Flag.WATCH
    assert level(17.01, limits) is Flag.WATCH


def test_without_a_limit_on_a_side_nothing_is_flagged_there() -> None:
    assert level(-1e9, Limits(watch_above=1.0)) is Flag.OK
    assert level(1e9, Limits(watch_below=1.0)) is Flag.OK
    assert level(1e9, Limits()) is Flag.OK


def test_a_value_out_of_band_says_what_it_is_and_what_is_wanted() -> None:
    assert judged(6.5).sentence == "Oxygen 6.5 mg/L, band 7.0 - 12.0"
    assert judged(8.0) == Judged(Flag.OK)


def test_what_cannot_be_is_asked_before_any_band_is_looked_at() -> None:
    found = judged(85.0)
    assert found.asks
    assert found.impossible
    assert found.flag is Flag.CHECK


def test_nobody_can_be_sure_of_what_cannot_be() -> None:
    assert judged(85.0, sure=True).impossible
    assert judged(-0.1, sure=True).impossible


@pytest.mark.parametrize("value", [0.0, 20.0])
def test_the_ends_of_what_nature_allows_are_possible(value: float) -> None:
    assert not judged(value, sure=True).asks


def test_what_cannot_be_and_is_no_known_slip_says_what_could_be() -> None:
    found = judged(123456.0)
    assert found.slip is None
    assert found.question == "123456 mg/L cannot be Oxygen: it is 0 to 20 mg/L."


def test_a_likely_slip_is_asked_before_the_band_alarms() -> None:
    around = Around(2.5)
    limits = Limits(act_below=1.75, act_above=3.25)
    found = judge(FLOW, 0.66, "0.66", band(limits), None, RIGHT_NOW, around)
    assert found.question == "0.66 L/min is far from its last, 2.5."
    assert found.flag is Flag.CHECK
    assert not found.impossible


def test_who_is_sure_of_a_possible_value_gets_the_bands_own_flag() -> None:
    limits = Limits(act_below=1.75, act_above=3.25)
    found = judge(FLOW, 0.66, "0.66", band(limits), None, RIGHT_NOW, Around(2.5), sure=True)
    assert not found.asks
    assert found.flag is Flag.ACT


def test_a_value_in_band_is_never_called_a_slip() -> None:
    limits = Limits(act_above=60.0)
    found = judge(FLOW, 0.66, "0.66", band(limits), None, RIGHT_NOW, Around(2.5))
    assert found == Judged(Flag.OK)


def test_a_value_near_the_last_one_is_a_trend_and_no_slip() -> None:
    found = judge(FLOW, 1.4, "1.4", band(Limits(act_below=1.75)), None, RIGHT_NOW, Around(2.0))
    assert not found.asks
    assert found.flag is Flag.ACT


def test_a_fall_is_said_with_its_length_and_its_rate_an_hour() -> None:
    found = judged(7.9, FALLS, last(9.4, 3))
    assert found.flag is Flag.WATCH
    assert found.sentence == "Oxygen 7.9 mg/L fell 1.5 since last (3 h, 0.50/h)"


def test_band_and_change_are_said_in_one_sentence_under_the_worse_flag() -> None:
    found = judged(6.5, FALLS, last(9.5, 2))
    assert found.flag is Flag.ACT
    assert found.sentence == "Oxygen 6.5 mg/L, band >= 7.0, fell 3.0 since last (2 h, 1.50/h)"
    worse = judged(4.0, FALLS, last(5.5, 2))
    assert worse.flag is Flag.URGENT


@pytest.mark.parametrize(
    ("now", "flag"), [(8.4, Flag.OK), (8.3, Flag.WATCH), (7.4, Flag.WATCH), (7.3, Flag.ACT)]
)
def test_a_change_as_large_as_its_limit_is_inside(now: float, flag: Flag) -> None:
    assert judged(now, FALLS, last(9.4, 2)).flag is flag


def test_a_change_counts_only_the_way_the_band_names() -> None:
    rises = Limits(watch_change=1.0, change_way="rise")
    either = Limits(watch_change=1.0)
    assert judged(11.0, FALLS, last(8.0, 2)).flag is Flag.OK
    assert judged(8.0, rises, last(11.0, 2)).flag is Flag.OK
    assert judged(11.0, rises, last(8.0, 2)).flag is Flag.WATCH
    assert judged(11.0, either, last(8.0, 2)).flag is Flag.WATCH
    assert judged(8.0, either, last(11.0, 2)).flag is Flag.WATCH


def test_within_half_an_hour_a_change_is_said_without_a_rate() -> None:
    assert judged(7.9, FALLS, last(9.4, 0.4)).sentence == (
        "Oxygen 7.9 mg/L fell 1.5 since last (24 min)"
    )
    assert "(30 min, 3.00/h)" in judged(7.9, FALLS, last(9.4, 0.5)).sentence
    assert "since last (now)" in judged(7.9, FALLS, last(9.4, 0)).sentence


def test_a_change_is_judged_only_against_a_value_of_the_last_36_hours() -> None:
    assert judged(7.9, FALLS, last(9.4, 36)).flag is Flag.WATCH
    assert judged(7.9, FALLS, last(9.4, 36.1)).flag is Flag.OK


def test_a_last_value_from_a_clock_set_back_since_is_not_compared() -> None:
    assert judged(7.9, FALLS, last(9.4, -1)).flag is Flag.OK


def test_a_last_look_that_took_no_value_is_not_compared() -> None:
    assert judged(7.9, FALLS, last(None, 3)).flag is Flag.OK


def test_without_a_band_a_possible_number_is_neither_good_nor_bad() -> None:
    assert judged(0.5, None, last(9.4, 1)) == Judged(Flag.OK)


def test_without_what_nature_allows_nothing_is_impossible() -> None:
    anything = Item("x", "Anything")
    assert judged(1e9, None, item=anything) == Judged(Flag.OK)


def test_words_are_judged_by_the_plans_lists() -> None:
    assert judged(0, None, item=SCREEN) == Judged(Flag.OK)
    assert judged(1, None, item=SCREEN) == Judged(
        Flag.WATCH, "Outlet screen: slimy", rule=Rule.SETTING
    )
    assert judged(2, None, item=SCREEN) == Judged(
        Flag.ACT, "Outlet screen: fouled", rule=Rule.SETTING
    )


def test_a_flag_is_a_mark_and_a_word() -> None:
    assert [f.mark for f in Flag] == ["ok", "? CHECK", "! WATCH", "!! ACT", "!!! URGENT"]
    assert [f.short for f in Flag] == ["", "?", "!", "!!", "!!!"]


def test_the_band_is_kept_with_its_limits_and_its_source() -> None:
    kept = band_text(band(FALLS))
    assert kept is not None
    assert json.loads(kept) == {
        "watch_below": 7.0,
        "act_below": 6.0,
        "urgent_below": 5.0,
        "watch_change": 1.0,
        "act_change": 2.0,
        "change_way": "fall",
        "source": "our plan",
    }
    assert band_text(None) is None
    assert "change_way" not in json.loads(band_text(band(WANTED)) or "")


numbers = st.floats(allow_nan=False, allow_infinity=False, width=32)
optional = st.none() | numbers
any_limits = st.builds(
    Limits,
    watch_below=optional,
    watch_above=optional,
    act_below=optional,
    act_above=optional,
    urgent_below=optional,
    urgent_above=optional,
    watch_change=optional,
    act_change=optional,
    change_way=st.sampled_from(["either", "fall", "rise"]),
)
any_last = st.none() | st.builds(last, optional, st.floats(-100, 100))
any_item = st.sampled_from([OXYGEN, TEMPERATURE, FLOW, Item("x", "X")]) | st.just(
    Item("morts", "Morts", kinds.COUNT, plausible=(0, 20000))
)


@given(any_item, numbers, any_limits, any_last, st.booleans())
def test_a_judgement_never_raises_and_an_ok_needs_no_words(
    item: Item, value: float, limits: Limits, before: Seen | None, sure: bool
) -> None:
    found = judged(value, limits, before, item, sure=sure)
    assert (found.sentence == "") == (found.flag is Flag.OK) or found.asks
    assert not (found.asks and found.flag is not Flag.CHECK)
    assert not (sure and found.asks and not found.impossible)


@st.composite
def bands_in_order(draw: st.DrawFn) -> Limits:
    """Limits as a plan may state them: watch inside act inside urgent, and a largest change."""
    steps = st.floats(0, 5)
    low, high = draw(st.floats(5, 10)), draw(st.floats(10, 15))
    a, b, c, d = (draw(steps) for _ in range(4))
    watch = draw(st.none() | st.floats(0, 5))
    return Limits(
        watch_below=low,
        act_below=low - a,
        urgent_below=low - a - b,
        watch_above=high,
        act_above=high + c,
        urgent_above=high + c + d,
        watch_change=watch,
        act_change=None if watch is None else watch + draw(steps),
        change_way=draw(st.sampled_from(["either", "fall", "rise"])),
    )


def test_a_band_is_kept_in_one_way_of_writing_it() -> None:
    kept = band_text(band(Limits(watch_below=7.0, act_below=6.0, change_way="fall")))
    assert kept == ('{"act_below":6.0,"change_way":"fall","source":"our plan","watch_below":7.0}')


def test_where_band_and_change_are_as_serious_it_is_the_band_that_is_named() -> None:
    def rule(value: float, before: float) -> Rule | None:
        return judged(value, FALLS, last(before, 4)).rule

    assert rule(6.9, 8.0) is Rule.BAND
    assert rule(6.9, 9.0) is Rule.CHANGE
    assert rule(5.9, 7.0) is Rule.BAND


def test_a_rules_word_in_the_record_is_known_or_another_programs_and_none_is_none() -> None:
    assert recorded("slope") is Rule.SLOPE
    assert recorded("a rule to come") is Rule.OTHER
    assert recorded(None) is None


def test_the_spread_of_several_values_begins_at_one_that_is_nothing() -> None:
    seen = [last(value, 0.0) for value in (0.4, 0.0, 0.2)]
    assert spread_words(OXYGEN, seen) == "0.0 to 0.4 mg/L"
    assert spread_words(OXYGEN, seen[1:2]) == "0.0 mg/L"


@given(
    bands_in_order(),
    st.floats(0, 1),
    st.lists(st.floats(0, 10), min_size=2, max_size=2).map(sorted),
    st.sampled_from([-1, 1]),
    st.floats(0, 40),
)
def test_the_farther_from_the_band_the_worse_the_flag(
    limits: Limits, within: float, apart: list[float], way: int, hours: float
) -> None:
    low, high = limits.watch_below or 0.0, limits.watch_above or 0.0
    before = last(low + within * (high - low), hours)
    edge = high if way > 0 else low
    item = Item("x", "X")
    near, far = (judged(edge + way * by, limits, before, item, sure=True) for by in apart)
    assert near.flag <= far.flag
